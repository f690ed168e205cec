package webhook

import (
	"context"
	"errors"
	"sync"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
)

// QueueStore is what sending needs kept, seen for one academy.
type QueueStore interface {
	domain.EventLog
	academy.Listing
	// LastEvent is the number of the latest event, 0 before the first.
	LastEvent(ctx context.Context) (int64, error)
	// Events gives the events after a number, in order, at most limit.
	Events(ctx context.Context, after int64, limit int) ([]domain.Event, error)
	// Lease takes an endpoint that is on and that nobody else holds at now, until an
	// instant; held is false when there is none.
	Lease(ctx context.Context, id domain.ID, now, until time.Time) (e Endpoint, held bool, err error)
	// Keep keeps what the worker knows of an endpoint that it holds until an instant,
	// and holds it until another from then on. It reports false, and changes nothing,
	// when it holds the endpoint no more.
	Keep(ctx context.Context, e Endpoint, until, next time.Time) (held bool, err error)
	SaveDelivery(ctx context.Context, d Delivery) error
	// Due gives the waiting deliveries that are due at an instant, the longest due
	// first, in order of event, at most limit.
	Due(ctx context.Context, endpoint domain.ID, now time.Time, limit int) ([]Delivery, error)
	// ForgetDeliveries drops those that are over and were last tried before an
	// instant.
	ForgetDeliveries(ctx context.Context, endpoint domain.ID, before time.Time) error
}

// Sender sends a delivery to an endpoint.
type Sender interface {
	// Send makes one try, within a time limit of its own.
	Send(ctx context.Context, academy domain.ID, e Endpoint, d Delivery, at time.Time) Result
}

// Task names an endpoint that may have something to do.
type Task struct{ Academy, Endpoint domain.ID }

// Worker sends what is due. Any number of them, in any number of processes, share
// the work by leases of endpoints.
type Worker struct {
	Store domain.Transactor[QueueStore]
	// Tasks lists endpoints of all academies that have something to do at an instant
	// and that nobody holds, those held longest ago first, at most limit.
	Tasks  func(ctx context.Context, now time.Time, limit int) ([]Task, error)
	Sender Sender
	Env    domain.Env
	// Begin, if there is one, is told that an endpoint is served; it gives the context
	// for that, and end is told what came of it.
	Begin func(ctx context.Context) (inside context.Context, end func(error))
}

// How much is done at once.
const (
	// leased is for how long an endpoint is held at a time: longer than one try.
	leased = 2 * time.Minute
	// atOnce is how many endpoints are served side by side, and inRound how many
	// deliveries of each in one round, so that a slow one holds up no other.
	atOnce  = 16
	inRound = 20
	// lookAt is how many events of the log are looked at in one round.
	lookAt = 200
)

// Round serves every endpoint that has something to do, once, and says how many
// tries that made.
func (w Worker) Round(ctx context.Context) (tries int, err error) {
	tasks, err := w.Tasks(ctx, w.Env.Now(), 10*atOnce)
	if err != nil {
		return 0, err
	}
	var mu sync.Mutex
	var all sync.WaitGroup
	slots := make(chan struct{}, atOnce)
	for _, task := range tasks {
		slots <- struct{}{}
		all.Go(func() {
			defer func() { <-slots }()
			n, failed := w.told(ctx, task)
			mu.Lock()
			defer mu.Unlock()
			tries, err = tries+n, errors.Join(err, failed)
		})
	}
	all.Wait()
	return tries, err
}

// told serves an endpoint, and tells of it.
func (w Worker) told(ctx context.Context, t Task) (tries int, err error) {
	if w.Begin != nil {
		inside, end := w.Begin(ctx)
		defer func() { end(err) }()
		ctx = inside
	}
	return w.serve(ctx, t)
}

// serve leases an endpoint, finds what it is to be told, and tells it.
func (w Worker) serve(ctx context.Context, t Task) (tries int, err error) {
	until := w.Env.Now().Add(leased)
	e, due, held, err := w.open(ctx, t, until)
	if err != nil || !held {
		return 0, err
	}
	for _, d := range due {
		if ctx.Err() != nil {
			break
		}
		result := w.Sender.Send(ctx, t.Academy, e, d, w.Env.Now())
		tries++
		next := w.Env.Now().Add(leased)
		held, err := w.settled(ctx, t, &e, d, result, until, next)
		if err != nil || !held {
			return tries, err
		}
		if until = next; !e.On() || w.Env.Now().Before(e.HoldUntil) {
			break
		}
	}
	// Given back, for the next round.
	return tries, w.Store.Write(context.WithoutCancel(ctx), t.Academy, func(tx QueueStore) error {
		_, err := tx.Keep(ctx, e, until, time.Time{})
		return err
	})
}

// open leases an endpoint, makes deliveries of the events that it was not told of
// yet, and gives those that are due.
func (w Worker) open(ctx context.Context, t Task, until time.Time) (e Endpoint, due []Delivery, held bool, err error) {
	err = w.Store.Write(ctx, t.Academy, func(tx QueueStore) error {
		now := w.Env.Now()
		due = nil
		if e, held, err = tx.Lease(ctx, t.Endpoint, now, until); err != nil || !held {
			return err
		}
		last, err := tx.LastEvent(ctx)
		if err != nil {
			return err
		}
		withheld, err := academy.WithheldFromSoftware(ctx, tx)
		if err != nil {
			return err
		}
		if last > e.Position {
			if err := w.spread(ctx, tx, &e, withheld); err != nil {
				return err
			}
			if _, err := tx.Keep(ctx, e, until, until); err != nil {
				return err
			}
		}
		if err := tx.ForgetDeliveries(ctx, e.ID, now.Add(-KeptFor)); err != nil || now.Before(e.HoldUntil) {
			return err
		}
		due, err = w.due(ctx, tx, e.ID, withheld)
		return err
	})
	return e, due, held, err
}

// due gives the deliveries that are due. Those about juniors whose guardians have
// agreed to no apps since they were made are given up.
func (w Worker) due(ctx context.Context, tx QueueStore, endpoint domain.ID, withheld academy.Withheld) (due []Delivery, err error) {
	now := w.Env.Now()
	all, err := tx.Due(ctx, endpoint, now, inRound)
	for _, d := range all {
		if !withheld.About(domain.Event{Subject: d.Subject, Student: d.Student}) {
			due = append(due, d)
			continue
		}
		d.State, d.LastAt, d.Failure = Failed, now, "Not sent: it is about a junior whose guardian does not agree that other software reads their data."
		err = errors.Join(err, tx.SaveDelivery(ctx, d))
	}
	return due, err
}

// spread makes deliveries of the events after the endpoint's position. A number of
// the log's that is not kept any more is passed over, and so is what is withheld from
// software.
func (w Worker) spread(ctx context.Context, tx QueueStore, e *Endpoint, withheld academy.Withheld) error {
	events, err := tx.Events(ctx, e.Position, lookAt)
	for _, x := range events {
		e.Position = x.Seq
		if err != nil || !e.Wants(x.Kind) || withheld.About(x) {
			continue
		}
		err = tx.SaveDelivery(ctx, Delivery{
			ID: w.Env.NewID(), Endpoint: e.ID, Event: x.Seq, Kind: x.Kind, Subject: x.Subject, Student: x.Student, At: x.At,
			State: Waiting, Due: w.Env.Now(),
		})
	}
	return err
}

// settled keeps what came of a try, unless the endpoint was taken away meanwhile;
// then whoever has it tries again. An endpoint that is switched off is told of in
// the log.
func (w Worker) settled(ctx context.Context, t Task, e *Endpoint, d Delivery, r Result, until, next time.Time) (held bool, err error) {
	// A process that is told to stop keeps what it did.
	ctx = context.WithoutCancel(ctx)
	now := w.Env.Now()
	off := settle(e, &d, r, now)
	err = w.Store.Write(ctx, t.Academy, func(tx QueueStore) error {
		if held, err = tx.Keep(ctx, *e, until, next); err != nil || !held {
			return err
		}
		if err := tx.SaveDelivery(ctx, d); err != nil || !off {
			return err
		}
		return tx.Record(ctx, domain.Event{At: now, Kind: "webhook.disabled", Subject: e.ID, Data: map[string]any{"name": e.Name, "reason": string(e.Disabled)}})
	})
	return held, err
}
