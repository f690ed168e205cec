package domaintest

import (
	"cmp"
	"context"
	"maps"
	"slices"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/estimate"
)

// Fades implements academy.ProposalStore.
func (t *tx) Fades(_ context.Context, skills []domain.ID) (map[domain.ID]estimate.Fade, error) {
	fades := map[domain.ID]estimate.Fade{}
	for _, skill := range skills {
		if i, ok := t.insights.of[skill]; ok {
			fades[skill] = i.Fade
		}
	}
	return fades, t.call()
}

// Refusals implements academy.ProposalStore.
func (t *tx) Refusals(_ context.Context, students []domain.ID) ([]academy.Refusal, error) {
	found := slices.DeleteFunc(slices.Collect(maps.Values(t.refusals)), func(r academy.Refusal) bool { return !slices.Contains(students, r.Student) })
	slices.SortFunc(found, func(a, b academy.Refusal) int {
		return cmp.Or(cmp.Compare(a.Student, b.Student), cmp.Compare(a.Skill, b.Skill), cmp.Compare(a.Kind, b.Kind))
	})
	return found, t.call()
}

// SaveRefusal implements academy.ProposalStore.
func (t *tx) SaveRefusal(_ context.Context, r academy.Refusal) error {
	if err := t.change(); err != nil {
		return err
	}
	if err := t.known(r.Student); err != nil {
		return err
	}
	if _, ok := t.skills[r.Skill]; !ok {
		return domain.ErrNotFound("skill")
	}
	t.refusals[r.RefusalKey] = r
	return nil
}

// DropRefusal implements academy.ProposalStore.
func (t *tx) DropRefusal(_ context.Context, k academy.RefusalKey) error {
	if err := t.change(); err != nil {
		return err
	}
	delete(t.refusals, k)
	return nil
}
