package domaintest

import (
	"context"
	"slices"

	"fringework/domain"
	"fringework/domain/academy"
)

// Adjustments implements academy.Adjusting.
func (t *tx) Adjustments(_ context.Context, student domain.ID, standing bool) ([]academy.Adjustment, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	return t.adjusted(func(a academy.Adjustment) bool { return a.Student == student && (!standing || a.EndedAt.IsZero()) }), nil
}

// adjusted gives those that are asked for, latest first.
func (t *tx) adjusted(wanted func(academy.Adjustment) bool) (all []academy.Adjustment) {
	for _, a := range t.adjustments {
		if wanted(a) {
			all = append(all, copied(a))
		}
	}
	slices.SortFunc(all, func(a, b academy.Adjustment) int { return compareIDs(b.ID, a.ID) })
	return all
}

// Adjustment implements academy.AdjustmentStore.
func (t *tx) Adjustment(_ context.Context, id domain.ID) (academy.Adjustment, error) {
	a, ok := t.adjustments[id]
	if err := t.call(); err != nil || ok {
		return copied(a), err
	}
	return a, domain.ErrNotFound("adjustment")
}

// SaveAdjustment implements academy.Adjusting.
func (t *tx) SaveAdjustment(_ context.Context, a academy.Adjustment) error {
	if err := t.change(); err != nil {
		return err
	}
	if err := t.known(a.Student); err != nil {
		return err
	}
	if _, ok := t.assignments[a.Assignment]; !ok {
		return domain.ErrNotFound("assignment")
	}
	if err := next("adjustment", a.Revision, t.adjustments[a.ID].Revision); err != nil {
		return err
	}
	t.adjustments[a.ID] = copied(a)
	return nil
}
