package domaintest

import (
	"context"
	"maps"
	"slices"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/course"
)

// Round implements academy.RoundStore.
func (t *tx) Round(_ context.Context, id domain.ID) (course.Round, error) {
	if err := t.call(); err != nil {
		return course.Round{}, err
	}
	r, ok := t.rounds[id]
	if !ok {
		return course.Round{}, domain.ErrNotFound("round")
	}
	return copied(r), nil
}

// Rounds implements academy.RoundStore.
func (t *tx) Rounds(_ context.Context, f academy.RoundFilter) ([]course.Round, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	all := slices.DeleteFunc(t.roundsOf(f.Student), func(r course.Round) bool {
		at := r.PlayedAt.Compare(f.Before)
		return !f.Before.IsZero() && (at > 0 || at == 0 && r.ID >= f.BeforeID) || r.ReceivedAt.Before(f.UpdatedSince)
	})
	return all[:min(len(all), f.Limit)], nil
}

// roundsOf lists a student's rounds that are not deleted, latest first.
func (t *tx) roundsOf(student domain.ID) (all []course.Round) {
	for r := range maps.Values(t.rounds) {
		if r.Student == student && !r.Deleted() {
			all = append(all, copied(r))
		}
	}
	course.Latest(all)
	return all
}

// tallies counts the latest rounds of students.
func (t *tx) tallies(students []domain.ID) map[domain.ID]course.Tally {
	found := map[domain.ID]course.Tally{}
	for _, id := range students {
		if all := t.roundsOf(id); len(all) > 0 {
			found[id] = course.TallyOf(all[:min(len(all), academy.TallyRounds)]...)
		}
	}
	return found
}

// SaveRound implements academy.RoundStore.
func (t *tx) SaveRound(_ context.Context, r course.Round) error {
	if err := t.change(); err != nil {
		return err
	}
	stands, known := t.rounds[r.ID]
	if known && (stands.Student != r.Student || stands.Revision >= r.Revision) {
		return domain.Errorf(domain.Stale, "stale", "The round has changed meanwhile.")
	}
	who := []domain.ID{r.Student}
	if r.By != "" {
		who = append(who, r.By)
	}
	if err := t.known(who...); err != nil {
		return err
	}
	t.rounds[r.ID] = copied(r)
	return nil
}
