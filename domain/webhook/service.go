package webhook

import (
	"context"
	"slices"
	"time"

	"fringework/domain"
)

// Store keeps an academy's endpoints and deliveries. What is absent gives a
// domain.NotFound error; a save with a revision that is not one above the stored
// one gives domain.Stale.
type Store interface {
	domain.EventLog
	// LastEvent is the number of the latest event, 0 before the first.
	LastEvent(ctx context.Context) (int64, error)
	// Endpoints lists them in order of identity.
	Endpoints(ctx context.Context) ([]Endpoint, error)
	Endpoint(ctx context.Context, id domain.ID) (Endpoint, error)
	// SaveEndpoint keeps all of an endpoint, and takes the lease from whoever holds
	// it.
	SaveEndpoint(ctx context.Context, e Endpoint) error
	// DeleteEndpoint forgets an endpoint and its deliveries.
	DeleteEndpoint(ctx context.Context, id domain.ID) error
	// Deliveries lists those of an endpoint, the latest first.
	Deliveries(ctx context.Context, endpoint domain.ID, page domain.Page) ([]Delivery, error)
	Delivery(ctx context.Context, endpoint, id domain.ID) (Delivery, error)
	// SaveDelivery keeps a delivery, a new one or one that is there.
	SaveDelivery(ctx context.Context, d Delivery) error
	// Revive makes the endpoint's waiting deliveries due at an instant, as if they had
	// not been tried.
	Revive(ctx context.Context, endpoint domain.ID, due time.Time) error
}

// Service is what an owner can do with endpoints.
type Service struct {
	Store domain.Transactor[Store]
	Env   domain.Env
	// NewSecret makes a secret.
	NewSecret func() string
	// Plain allows addresses without TLS.
	Plain bool
}

// Request is what an owner asks for.
type Request struct {
	Name, URL string
	// Kinds of events; empty for all.
	Kinds []string
	// Off switches the endpoint off.
	Off bool
}

func (s Service) write(ctx context.Context, a domain.Actor, fn func(Store) error) error {
	if a.Role != domain.Owner {
		return domain.Errorf(domain.Forbidden, "owner_only", "Only an owner may do this with webhooks. Ask an owner.")
	}
	return s.Store.Write(ctx, a.Academy, fn)
}

func (s Service) read(ctx context.Context, a domain.Actor, fn func(Store) error) error {
	if a.Role != domain.Owner {
		return domain.Errorf(domain.Forbidden, "owner_only", "Only an owner may do this with webhooks. Ask an owner.")
	}
	return s.Store.Read(ctx, a.Academy, fn)
}

func (s Service) event(a domain.Actor, kind string, e Endpoint) domain.Event {
	return a.Event(s.Env.Now(), kind, e.ID, "", map[string]any{"name": e.Name})
}

// Create makes an endpoint, which is told of events from now on.
func (s Service) Create(ctx context.Context, a domain.Actor, r Request) (e Endpoint, err error) {
	err = s.write(ctx, a, func(tx Store) error {
		e = Endpoint{
			ID: s.Env.NewID(), Secret: s.NewSecret(), CreatedBy: a.Member, CreatedAt: s.Env.Now(), Revision: 1,
		}
		s.apply(&e, r)
		if err := e.check(s.Plain); err != nil {
			return err
		}
		all, err := tx.Endpoints(ctx)
		if err != nil {
			return err
		}
		if len(all) >= maxEndpoints {
			return domain.Errorf(domain.Conflict, "too_many_webhooks", "There are %d webhooks, which is the most. Delete one first.", len(all))
		}
		if e.Position, err = tx.LastEvent(ctx); err != nil {
			return err
		}
		if err := tx.SaveEndpoint(ctx, e); err != nil {
			return err
		}
		return tx.Record(ctx, s.event(a, "webhook.created", e))
	})
	return e, err
}

// apply puts what is asked for into an endpoint.
func (s Service) apply(e *Endpoint, r Request) {
	e.Name, e.URL, e.Kinds = r.Name, r.URL, slices.Clone(r.Kinds)
	switch {
	case r.Off && e.On():
		e.DisabledAt, e.Disabled = s.Env.Now(), ByOwner
	case !r.Off:
		e.DisabledAt, e.Disabled = time.Time{}, ""
	}
}

// List gives the academy's endpoints.
func (s Service) List(ctx context.Context, a domain.Actor) (all []Endpoint, err error) {
	err = s.read(ctx, a, func(tx Store) error {
		all, err = tx.Endpoints(ctx)
		return err
	})
	return all, err
}

// Get finds an endpoint.
func (s Service) Get(ctx context.Context, a domain.Actor, id domain.ID) (e Endpoint, err error) {
	err = s.read(ctx, a, func(tx Store) error {
		e, err = tx.Endpoint(ctx, id)
		return err
	})
	return e, err
}

// Change changes an endpoint that is at a revision; 0 stands for any. One that is switched on again is told of everything since it was switched
// off, as far as the log is kept.
func (s Service) Change(ctx context.Context, a domain.Actor, id domain.ID, revision int, r Request) (e Endpoint, err error) {
	err = s.change(ctx, a, id, &e, func(tx Store) error {
		if err := domain.CheckRevision("webhook", revision, e.Revision); err != nil {
			return err
		}
		wasOff := !e.On()
		s.apply(&e, r)
		if wasOff && e.On() {
			e.FailingSince, e.Failures, e.HoldUntil = time.Time{}, 0, time.Time{}
			if err := tx.Revive(ctx, id, s.Env.Now()); err != nil {
				return err
			}
		}
		return e.check(s.Plain)
	})
	return e, err
}

// Rotate gives an endpoint a new secret. The old one signs as well for a day.
func (s Service) Rotate(ctx context.Context, a domain.Actor, id domain.ID) (e Endpoint, err error) {
	err = s.change(ctx, a, id, &e, func(Store) error {
		e.OldSecret, e.OldUntil = e.Secret, s.Env.Now().Add(SecretsOverlap)
		e.Secret = s.NewSecret()
		return nil
	})
	return e, err
}

// change reads an endpoint, lets fn change it, and keeps it.
func (s Service) change(ctx context.Context, a domain.Actor, id domain.ID, e *Endpoint, fn func(Store) error) error {
	return s.write(ctx, a, func(tx Store) (err error) {
		if *e, err = tx.Endpoint(ctx, id); err != nil {
			return err
		}
		if err := fn(tx); err != nil {
			return err
		}
		e.Revision++
		if err := tx.SaveEndpoint(ctx, *e); err != nil {
			return err
		}
		return tx.Record(ctx, s.event(a, "webhook.changed", *e))
	})
}

// Delete forgets an endpoint, and what it was not told yet.
func (s Service) Delete(ctx context.Context, a domain.Actor, id domain.ID) error {
	return s.write(ctx, a, func(tx Store) error {
		e, err := tx.Endpoint(ctx, id)
		if err != nil {
			return err
		}
		if err := tx.DeleteEndpoint(ctx, id); err != nil {
			return err
		}
		return tx.Record(ctx, s.event(a, "webhook.deleted", e))
	})
}

// Ping sends something to try an endpoint.
func (s Service) Ping(ctx context.Context, a domain.Actor, id domain.ID) (d Delivery, err error) {
	err = s.write(ctx, a, func(tx Store) error {
		e, err := tx.Endpoint(ctx, id)
		if err != nil {
			return err
		}
		if err := mustBeOn(e); err != nil {
			return err
		}
		now := s.Env.Now()
		d = Delivery{ID: s.Env.NewID(), Endpoint: id, Kind: Ping, Subject: id, At: now, State: Waiting, Due: now}
		return tx.SaveDelivery(ctx, d)
	})
	return d, err
}

func mustBeOn(e Endpoint) error {
	if e.On() {
		return nil
	}
	return domain.Errorf(domain.Conflict, "webhook_off", "The webhook is switched off. Switch it on first.")
}

// Deliveries lists what an endpoint was told of, and is to be told, the latest first.
func (s Service) Deliveries(ctx context.Context, a domain.Actor, endpoint domain.ID, page domain.Page) (all []Delivery, err error) {
	err = s.read(ctx, a, func(tx Store) error {
		if _, err := tx.Endpoint(ctx, endpoint); err != nil {
			return err
		}
		all, err = tx.Deliveries(ctx, endpoint, page)
		return err
	})
	return all, err
}

// Resend sends a delivery again, whatever came of it, under the same ID.
func (s Service) Resend(ctx context.Context, a domain.Actor, endpoint, id domain.ID) (d Delivery, err error) {
	err = s.write(ctx, a, func(tx Store) error {
		e, err := tx.Endpoint(ctx, endpoint)
		if err != nil {
			return err
		}
		if err := mustBeOn(e); err != nil {
			return err
		}
		if d, err = tx.Delivery(ctx, endpoint, id); err != nil {
			return err
		}
		d.State, d.Attempts, d.Due = Waiting, 0, s.Env.Now()
		return tx.SaveDelivery(ctx, d)
	})
	return d, err
}
