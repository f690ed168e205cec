package academy

import (
	"context"
	"slices"
	"strings"
	"time"

	"fringework/domain"
)

// EventStore reads an academy's ordered log.
type EventStore interface {
	// Events gives the events after a number, in order, at most limit.
	Events(ctx context.Context, after int64, limit int) ([]domain.Event, error)
	// EventsBefore gives the events before a number, the latest first, at most
	// limit; a number of 0 asks for the end of the log.
	EventsBefore(ctx context.Context, before int64, limit int) ([]domain.Event, error)
	// LastEvent is the number of the latest event, 0 before the first.
	LastEvent(ctx context.Context) (int64, error)
}

// ChangeStore reads the log and whom it may be told to.
type ChangeStore interface {
	EventStore
	Listing
}

// RetentionStore drops the beginning of the log.
type RetentionStore interface {
	// DropEvents forgets the events, oldest first, up to the first one that is not
	// older than an instant, at most limit, and says how many that were. The latest
	// event always stays.
	DropEvents(ctx context.Context, before time.Time, limit int) (int, error)
}

// EventService reads the log, which is the audit trail. The edge lets owners
// and keys with the scope for it through; both see all of it, but keys nobody in
// what is about juniors whose guardians agreed to no apps. Everybody may follow
// what changed of what they may see.
type EventService struct {
	Store    domain.Transactor[EventStore]
	Changing domain.Transactor[ChangeStore]
}

// Events gives the events after a number, in order, at most limit. It is Gone
// when the next one is not kept any more.
func (s EventService) Events(ctx context.Context, a domain.Actor, after int64, limit int) ([]domain.Event, error) {
	return s.read(ctx, a, func(tx EventStore) ([]domain.Event, error) { return following(ctx, tx, after, limit) })
}

// Latest gives the events before a number, the latest first, at most limit; a
// number of 0 asks for the end of the log.
func (s EventService) Latest(ctx context.Context, a domain.Actor, before int64, limit int) ([]domain.Event, error) {
	return s.read(ctx, a, func(tx EventStore) ([]domain.Event, error) { return tx.EventsBefore(ctx, before, limit) })
}

// read reads events. Software gets no more than number, time and kind of those about
// juniors whose guardians agreed to no apps.
func (s EventService) read(ctx context.Context, a domain.Actor, fn func(EventStore) ([]domain.Event, error)) (events []domain.Event, err error) {
	switch {
	case !a.SeesAll():
		err = domain.Errorf(domain.Forbidden, "owner_only", "Only an owner may read the academy's log. Ask an owner.")
	case a.ByApp():
		err = s.Changing.Read(ctx, a.Academy, func(tx ChangeStore) error {
			withheld, err := WithheldFromSoftware(ctx, tx)
			if err != nil {
				return err
			}
			events, err = fn(tx)
			for i, e := range events {
				events[i] = withheld.bare(e)
			}
			return err
		})
	default:
		err = s.Store.Read(ctx, a.Academy, func(tx EventStore) error {
			events, err = fn(tx)
			return err
		})
	}
	return events, err
}

// Changes is a stretch of what changed.
type Changes struct {
	// Events are without their data, in order. Of several about one thing only the
	// latest is there, since whoever follows reads the thing itself.
	Events []domain.Event
	// Last is the number up to which the log was looked at, and Newest that of its
	// latest event.
	Last, Newest int64
}

// Changes gives what changed of what the actor may see among the next limit events
// after a number; sees says which kinds of events may be told. It is Gone when the
// next event is not kept any more, or the number is not reached yet, as after a
// return to a backup.
//
// The log is numbered by a counter in the academy's row, which the writer holds
// locked until its transaction ends. So an event is never seen before one with a
// lower number, whatever the order of commits, and the last number seen is a place
// from which nothing is missed.
func (s EventService) Changes(ctx context.Context, a domain.Actor, after int64, limit int, sees func(kind string) bool) (c Changes, err error) {
	err = s.Changing.Read(ctx, a.Academy, func(tx ChangeStore) error {
		newest, err := tx.LastEvent(ctx)
		if err != nil {
			return err
		}
		if after > newest {
			return gone("The number %d is after the latest event, %d: the service may have been restored from a backup.", after, newest)
		}
		events, err := following(ctx, tx, after, limit)
		if err != nil {
			return err
		}
		c = Changes{Last: after, Newest: newest}
		if len(events) == 0 {
			return nil
		}
		c.Last = events[len(events)-1].Seq
		visible, err := visibleTo(ctx, tx, a)
		if err != nil {
			return err
		}
		var withheld Withheld
		if a.ByApp() {
			if withheld, err = WithheldFromSoftware(ctx, tx); err != nil {
				return err
			}
		}
		for _, e := range latestOfEach(events) {
			if sees(e.Kind) && visible(e) && !withheld.About(e) {
				e.Data = nil
				c.Events = append(c.Events, e)
			}
		}
		return nil
	})
	return c, err
}

// following gives the events after a number, at most limit, and is an error when
// the next one is not kept. The first that is read tells: numbers have no gaps, and
// the latest event always stays. A number of 0 asks for the oldest that are kept.
func following(ctx context.Context, tx EventStore, after int64, limit int) ([]domain.Event, error) {
	events, err := tx.Events(ctx, after, limit)
	if err == nil && after > 0 && len(events) > 0 && events[0].Seq > after+1 {
		return nil, gone("Events up to number %d are not kept any more.", events[0].Seq-1)
	}
	return events, err
}

func gone(why string, args ...any) error {
	return domain.Errorf(domain.Gone, "cursor_gone", why+" Ask GET /v1/changes?limit=1 without after for newest, read the lists again, and go on after that number.", args...)
}

// Noun is what a kind of event is about: "session" of "session.stored".
func Noun(kind string) string {
	noun, _, _ := strings.Cut(kind, ".")
	return noun
}

// latestOfEach leaves of the events about one thing only the latest.
func latestOfEach(events []domain.Event) []domain.Event {
	type thing struct {
		noun             string
		subject, student domain.ID
	}
	seen := map[thing]bool{}
	var latest []domain.Event
	for _, e := range slices.Backward(events) {
		of := thing{Noun(e.Kind), e.Subject, e.Student}
		if !seen[of] {
			seen[of] = true
			latest = append(latest, e)
		}
	}
	slices.Reverse(latest)
	return latest
}

// visibleTo gives whether an actor may be told of an event: those who see all, of
// everything; anybody else of what is about students they may see or saw until the
// student left, and about themselves; and a coach of skills and programmes.
func visibleTo(ctx context.Context, tx Listing, a domain.Actor) (func(domain.Event) bool, error) {
	if a.SeesAll() {
		return func(domain.Event) bool { return true }, nil
	}
	members, err := tx.Members(ctx, MemberFilter{Role: domain.Student, VisibleTo: Scope(a), Removed: true}, domain.Page{Limit: maxStudents})
	if err != nil {
		return nil, err
	}
	students := map[domain.ID]bool{}
	for _, m := range members {
		students[m.ID] = true
	}
	return func(e domain.Event) bool {
		switch {
		case e.Student != "":
			return students[e.Student] || e.Subject == a.Member
		case a.Role == domain.Coach && (Noun(e.Kind) == "skill" || Noun(e.Kind) == "programme"):
			return true
		}
		return e.Subject == a.Member
	}, nil
}
