package domaintest

import (
	"cmp"
	"context"
	"slices"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/greenside"
)

// Bags gives the service of students' own clubs.
func (m *Memory) Bags() academy.BagService {
	return academy.BagService{Store: opener[academy.BagStore]{m}, Env: m.Env()}
}

// Bag implements academy.Bagging.
func (t *tx) Bag(_ context.Context, student domain.ID) (greenside.Bag, error) {
	return copied(t.bags[student]), t.call()
}

// Landed implements academy.Bagging.
func (t *tx) Landed(_ context.Context, student domain.ID, sessions int) ([]greenside.Landed, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	var said []stored
	for _, s := range t.sessions {
		if s.Student == student && !s.Deleted() && s.Green != (greenside.Green{}) && !s.Surface.Off() {
			said = append(said, s)
		}
	}
	slices.SortFunc(said, func(a, b stored) int { return cmp.Or(b.StartedAt.Compare(a.StartedAt), compareIDs(b.ID, a.ID)) })
	var all []greenside.Landed
	for _, s := range said[:min(len(said), sessions)] {
		all = append(all, s.Landed()...)
	}
	return all, nil
}

// SaveBag implements academy.BagStore.
func (t *tx) SaveBag(_ context.Context, student domain.ID, b greenside.Bag) error {
	if err := t.change(); err != nil {
		return err
	}
	if err := t.known(student); err != nil {
		return err
	}
	t.bags[student] = copied(b)
	return nil
}
