package academy

import (
	"context"

	"fringework/domain"
)

// LiveStore reads the end of the log, and whom it may be told to.
type LiveStore interface {
	EventStore
	// LastEvent is the number of the latest event, 0 before the first.
	LastEvent(ctx context.Context) (int64, error)
	Members(ctx context.Context, f MemberFilter, page domain.Page) ([]Member, error)
}

// LiveService tells people what happens while they look: a session in progress
// appears to the coach ball by ball. It reads the same log as everything else,
// so it works across the replicas that share a database.
type LiveService struct {
	Store domain.Transactor[LiveStore]
}

// liveBatch is how many events are looked at in one step.
const liveBatch = 200

// Last is the number of the latest event, from which to follow.
func (s LiveService) Last(ctx context.Context, a domain.Actor) (last int64, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx LiveStore) error {
		last, err = tx.LastEvent(ctx)
		return err
	})
	return last, err
}

// After gives the events after a number that are about students whom the actor
// may see, without the data of each, and the number to go on from.
func (s LiveService) After(ctx context.Context, a domain.Actor, after int64) (events []domain.Event, last int64, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx LiveStore) error {
		events, last = nil, after // the database may ask for another try
		all, err := tx.Events(ctx, after, liveBatch)
		if err != nil || len(all) == 0 {
			return err
		}
		last = all[len(all)-1].Seq
		visible, err := Students(ctx, tx, a, MemberFilter{})
		if err != nil {
			return err
		}
		seen := map[domain.ID]bool{}
		for _, m := range visible {
			seen[m.ID] = true
		}
		for _, e := range all {
			if seen[e.Student] {
				e.Data = nil
				events = append(events, e)
			}
		}
		return nil
	})
	return events, last, err
}
