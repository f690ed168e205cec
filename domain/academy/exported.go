package academy

import (
	"context"

	"fringework/domain"
)

// Exported notes in the log that an actor takes data out of the academy: what says
// which, in the words of the address that gives it.
func (s Service) Exported(ctx context.Context, a domain.Actor, what string) error {
	return s.Store.Write(ctx, a.Academy, func(tx Store) error {
		return tx.Record(ctx, s.event(a, "export.made", a.Academy, "", map[string]any{"what": what}))
	})
}
