package domaintest

import (
	"cmp"
	"context"
	"slices"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/progress"
)

// States implements practice.ReadStore.
func (t *tx) States(_ context.Context, students []domain.ID) ([]progress.State, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	var found []progress.State
	for key, s := range t.states {
		if slices.Contains(students, key.student) {
			found = append(found, copied(s))
		}
	}
	slices.SortFunc(found, func(a, b progress.State) int {
		return cmp.Or(cmp.Compare(a.Student, b.Student), cmp.Compare(a.Skill, b.Skill))
	})
	return found, nil
}

// Stored implements academy.ReadStore.
func (t *tx) Stored(ctx context.Context, students []domain.ID) (stored academy.Stored, err error) {
	if stored.States, err = t.States(ctx, students); err != nil {
		return stored, err
	}
	stored.Priors = clonePriors(t.priors)
	stored.Habits = map[domain.ID]progress.Habit{}
	for _, id := range students {
		stored.Habits[id] = progress.Habit{Student: id}
		if h, ok := t.habits[id]; ok {
			stored.Habits[id] = copied(h)
		}
	}
	for _, a := range t.assignments {
		if slices.Contains(students, a.Student) && a.EndedAt.IsZero() {
			stored.Assignments = append(stored.Assignments, copied(a))
		}
	}
	slices.SortFunc(stored.Assignments, func(a, b academy.Assignment) int { return compareIDs(a.ID, b.ID) })
	for _, k := range t.silences {
		if slices.Contains(students, k.Student) {
			stored.Acknowledgements = append(stored.Acknowledgements, k)
		}
	}
	slices.SortFunc(stored.Acknowledgements, func(a, b academy.Acknowledgement) int {
		return cmp.Or(cmp.Compare(a.Student, b.Student), cmp.Compare(a.Skill, b.Skill), cmp.Compare(a.Reason, b.Reason))
	})
	stored.Adjustments = t.adjusted(func(a academy.Adjustment) bool { return slices.Contains(students, a.Student) && a.EndedAt.IsZero() })
	return stored, nil
}

// VersionsOf implements academy.ReadStore.
func (t *tx) VersionsOf(_ context.Context, as []academy.Assignment) (map[academy.VersionKey]curriculum.Version, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	found := map[academy.VersionKey]curriculum.Version{}
	for _, a := range as {
		if v, ok := t.versions[a.Pins()]; ok {
			found[a.Pins()] = copied(v)
		}
	}
	return found, nil
}

// DoneInWeek implements academy.ReadStore.
func (t *tx) DoneInWeek(_ context.Context, assignment domain.ID, week int) (map[int]int, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	done := map[int]int{}
	for _, s := range t.sessions {
		if s.Assignment == assignment && s.Week == week && !s.Deleted() {
			done[s.Plan]++
		}
	}
	return done, nil
}

// Freshness implements academy.FreshStore. Every change here is an event or
// counts as practice.
func (t *tx) Freshness(_ context.Context, student, member domain.ID) (academy.Freshness, error) {
	f := academy.Freshness{Event: int64(len(t.events)), Practice: int64(t.changes), Priors: int64(t.learned)}
	if student != "" {
		m, ok := t.members[student]
		if !ok {
			return f, domain.ErrNotFound("student")
		}
		f.Student, f.Linked, f.Zones = m, t.links[link{member, student}], []string{m.TimeZone}
		return f, t.call()
	}
	for _, m := range t.members {
		if m.Role == domain.Student && !slices.Contains(f.Zones, m.TimeZone) {
			f.Zones = append(f.Zones, m.TimeZone)
		}
	}
	slices.Sort(f.Zones)
	return f, t.call()
}
