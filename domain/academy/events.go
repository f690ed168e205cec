package academy

import (
	"context"

	"fringework/domain"
)

// EventStore reads an academy's ordered log.
type EventStore interface {
	// Events gives the events after a number, in order, at most limit.
	Events(ctx context.Context, after int64, limit int) ([]domain.Event, error)
}

// EventService reads the log, which is the audit trail. The edge lets owners
// and keys with the scope for it through; both see all of it.
type EventService struct {
	Store domain.Transactor[EventStore]
}

// Events gives the events after a number, in order, at most limit.
func (s EventService) Events(ctx context.Context, a domain.Actor, after int64, limit int) (events []domain.Event, err error) {
	if !a.SeesAll() {
		return nil, domain.Errorf(domain.Forbidden, "owner_only", "Only an owner may read the academy's log. Ask an owner.")
	}
	err = s.Store.Read(ctx, a.Academy, func(tx EventStore) error {
		events, err = tx.Events(ctx, after, limit)
		return err
	})
	return events, err
}
