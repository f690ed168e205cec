package domaintest

import (
	"cmp"
	"context"
	"slices"

	"fringework/domain"
	"fringework/domain/academy"
)

// Quiet gives the service of quiet tests.
func (m *Memory) Quiet() academy.QuietService {
	return academy.QuietService{Store: opener[academy.QuietStore]{m}, Env: m.Env()}
}

// QuietWords implements academy.Quieting.
func (t *tx) QuietWords(_ context.Context, student domain.ID) ([]academy.QuietWord, error) {
	return slices.Clone(t.quiet[student]), t.call()
}

// SaveQuietWord implements academy.QuietStore.
func (t *tx) SaveQuietWord(_ context.Context, w academy.QuietWord) error {
	if err := t.change(); err != nil {
		return err
	}
	if err := t.known(w.Student); err != nil {
		return err
	}
	order := func(a, b academy.QuietWord) int { return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Side, b.Side)) }
	words := slices.DeleteFunc(slices.Clone(t.quiet[w.Student]), func(o academy.QuietWord) bool { return order(o, w) == 0 })
	words = append(words, w)
	slices.SortFunc(words, order)
	t.quiet[w.Student] = words
	return nil
}
