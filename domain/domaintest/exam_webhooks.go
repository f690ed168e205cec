package domaintest

import (
	"context"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/webhook"
)

// webhooks: endpoints as given, leased by one at a time, and deliveries in order.
func (e *exam) webhooks() {
	point := webhook.Endpoint{
		ID: examID(), Name: "Club", URL: "https://club.example/hook", Kinds: []string{"session.stored", "milestone.made"}, Secret: "whsec_bmV3", OldSecret: "whsec_b2xk",
		OldUntil: examNow.Add(time.Hour), CreatedBy: e.Coach, CreatedAt: examNow, Revision: 1, Position: 3,
		FailingSince: examNow.Add(-time.Hour), Failures: 2, HoldUntil: examNow.Add(time.Minute),
	}
	save := func(p webhook.Endpoint) {
		write(e, e.s.Webhooks, func(tx webhook.Store) error { return tx.SaveEndpoint(e.ctx, p) })
	}
	all := func() []webhook.Endpoint {
		found := get(e, e.s.Webhooks, func(tx webhook.Store) ([]webhook.Endpoint, error) { return tx.Endpoints(e.ctx) })
		return slices.DeleteFunc(found, func(p webhook.Endpoint) bool { return p.ID == e.Webhook })
	}
	save(point)
	second := webhook.Endpoint{ID: examID(), Name: "Plain", URL: "https://plain.example", Secret: "whsec_cA==", CreatedBy: e.Coach, CreatedAt: examNow, Revision: 1}
	save(second)
	e.same("as given", all(), []webhook.Endpoint{point, second})
	point.Name, point.OldSecret, point.OldUntil, point.Revision = "Club again", "", time.Time{}, 2
	save(point)
	e.same("changed", get(e, e.s.Webhooks, func(tx webhook.Store) (webhook.Endpoint, error) { return tx.Endpoint(e.ctx, point.ID) }), point)
	refuse(e, "the same revision", e.s.Webhooks, domain.Stale, func(tx webhook.Store) error { return tx.SaveEndpoint(e.ctx, point) })
	refuse(e, "an absent one", e.s.Webhooks, domain.NotFound, func(tx webhook.Store) error { return tx.DeleteEndpoint(e.ctx, examID()) })

	lease := func(now, until time.Time) (got webhook.Endpoint, held bool) {
		write(e, e.s.Queue, func(tx webhook.QueueStore) (err error) {
			got, held, err = tx.Lease(e.ctx, point.ID, now, until)
			return err
		})
		return got, held
	}
	keep := func(p webhook.Endpoint, until, next time.Time) (held bool) {
		write(e, e.s.Queue, func(tx webhook.QueueStore) (err error) {
			held, err = tx.Keep(e.ctx, p, until, next)
			return err
		})
		return held
	}
	until := examNow.Add(time.Minute)
	got, held := lease(examNow, until)
	e.same("leased", got, point)
	e.same("held", held, true)
	_, held = lease(until.Add(-time.Millisecond), until.Add(time.Hour))
	e.same("held by another", held, false)
	point.Position, point.Failures, point.FailingSince, point.HoldUntil = 9, 3, examNow, time.Time{}
	e.same("kept by another", keep(point, until.Add(time.Second), time.Time{}), false)
	e.same("kept", keep(point, until, until.Add(time.Minute)), true)
	e.same("kept by the old lease", keep(point, until, time.Time{}), false)
	e.same("as kept", all()[0], point)
	_, held = lease(until.Add(time.Minute), until.Add(time.Hour))
	e.same("a lease that is over", held, true)
	point.Revision = 3
	save(point)
	e.same("kept after an owner's change", keep(point, until.Add(time.Hour), time.Time{}), false)
	off := point
	_, held = lease(examNow, until)
	e.same("free after an owner's change", held, true)
	off.DisabledAt, off.Disabled = examNow, webhook.Failing
	e.same("switched off", keep(off, until, time.Time{}), true)
	_, held = lease(examNow, until)
	e.same("leased while off", held, false)
	e.deliveries(point.ID)
	write(e, e.s.Webhooks, func(tx webhook.Store) error { return tx.DeleteEndpoint(e.ctx, point.ID) })
	e.same("without it", all(), []webhook.Endpoint{second})
	refuse(e, "an absent endpoint", e.s.Webhooks, domain.NotFound, func(tx webhook.Store) error { _, err := tx.Endpoint(e.ctx, point.ID); return err })
}

func (e *exam) deliveries(of domain.ID) {
	made := func(event int64, due time.Duration, state webhook.State) webhook.Delivery {
		return webhook.Delivery{
			ID: examID(), Endpoint: of, Event: event, Kind: "session.stored", Subject: e.Session, Student: e.Student, At: examNow, State: state, Attempts: 2,
			Due: examNow.Add(due), FirstAt: examNow.Add(-time.Hour), LastAt: examNow.Add(due), Status: 503, Failure: "answered 503",
		}
	}
	// Two are due at once, the later event first in the list.
	list := []webhook.Delivery{made(7, 0, webhook.Waiting), made(5, 0, webhook.Waiting), made(6, -time.Minute, webhook.Waiting), made(8, time.Second, webhook.Waiting), made(4, -time.Hour, webhook.Delivered), made(0, -time.Hour, webhook.Failed)}
	list[5].Student, list[5].FirstAt, list[5].LastAt = "", time.Time{}, examNow.Add(-2*time.Hour)
	for _, d := range list {
		write(e, e.s.Webhooks, func(tx webhook.Store) error { return tx.SaveDelivery(e.ctx, d) })
	}
	listed := func(page domain.Page) []webhook.Delivery {
		return get(e, e.s.Webhooks, func(tx webhook.Store) ([]webhook.Delivery, error) { return tx.Deliveries(e.ctx, of, page) })
	}
	latest := slices.Clone(list)
	slices.Reverse(latest)
	e.same("the latest first", listed(all), latest)
	e.same("a page", listed(domain.Page{After: list[3].ID, Limit: 2}), []webhook.Delivery{list[2], list[1]})
	e.same("one", get(e, e.s.Webhooks, func(tx webhook.Store) (webhook.Delivery, error) { return tx.Delivery(e.ctx, of, list[5].ID) }), list[5])
	due := func(limit int) []webhook.Delivery {
		return get(e, e.s.Queue, func(tx webhook.QueueStore) ([]webhook.Delivery, error) { return tx.Due(e.ctx, of, examNow, limit) })
	}
	e.same("due", due(9), []webhook.Delivery{list[2], list[1], list[0]})
	e.same("due first", due(1), list[2:3])
	list[2].State, list[2].Attempts = webhook.Delivered, 3
	write(e, e.s.Queue, func(tx webhook.QueueStore) error { return tx.SaveDelivery(e.ctx, list[2]) })
	e.same("less is due", due(9), []webhook.Delivery{list[1], list[0]})
	again := made(7, 0, webhook.Waiting)
	refuse(e, "an event twice", e.s.Queue, domain.Conflict, func(tx webhook.QueueStore) error { return tx.SaveDelivery(e.ctx, again) })
	again.Endpoint, again.Event = examID(), 99
	refuse(e, "of no endpoint", e.s.Queue, domain.NotFound, func(tx webhook.QueueStore) error { return tx.SaveDelivery(e.ctx, again) })
	refuse(e, "absent", e.s.Webhooks, domain.NotFound, func(tx webhook.Store) error { _, err := tx.Delivery(e.ctx, of, examID()); return err })
	write(e, e.s.Webhooks, func(tx webhook.Store) error { return tx.Revive(e.ctx, of, examNow.Add(-time.Second)) })
	revived := due(9)
	e.same("revived", idsOf(revived, func(d webhook.Delivery) domain.ID { return d.ID }), []domain.ID{list[1].ID, list[0].ID, list[3].ID})
	e.same("as if never tried", revived[0].Attempts, 0)
	write(e, e.s.Queue, func(tx webhook.QueueStore) error { return tx.ForgetDeliveries(e.ctx, of, examNow.Add(-time.Hour)) })
	e.same("what is over is forgotten", idsOf(listed(all), func(d webhook.Delivery) domain.ID { return d.ID }), []domain.ID{list[4].ID, list[3].ID, list[2].ID, list[1].ID, list[0].ID})
}

func webhookCalls() []Call {
	of := func(s Stores) domain.Transactor[webhook.Store] { return s.Webhooks }
	queue := func(s Stores) domain.Transactor[webhook.QueueStore] { return s.Queue }
	return slices.Concat(logCalls(of), logCalls(queue), listingCalls(queue), []Call{
		call(of, "LastEvent", func(ctx context.Context, tx webhook.Store, f *Fixture) (bool, error) { return some(tx.LastEvent(ctx)) }),
		call(queue, "LastEvent", func(ctx context.Context, tx webhook.QueueStore, f *Fixture) (bool, error) {
			return some(tx.LastEvent(ctx))
		}),
		call(queue, "Events", func(ctx context.Context, tx webhook.QueueStore, f *Fixture) (bool, error) {
			return some(tx.Events(ctx, 0, 9))
		}),
		call(of, "Endpoints", func(ctx context.Context, tx webhook.Store, f *Fixture) (bool, error) { return some(tx.Endpoints(ctx)) }),
		call(of, "Endpoint", func(ctx context.Context, tx webhook.Store, f *Fixture) (bool, error) {
			return some(tx.Endpoint(ctx, f.Webhook))
		}),
		call(of, "SaveEndpoint", func(ctx context.Context, tx webhook.Store, f *Fixture) (bool, error) {
			return changed(tx.SaveEndpoint(ctx, f.endpoint(2)))
		}),
		call(of, "DeleteEndpoint", func(ctx context.Context, tx webhook.Store, f *Fixture) (bool, error) {
			return changed(tx.DeleteEndpoint(ctx, f.Webhook))
		}),
		call(of, "Deliveries", func(ctx context.Context, tx webhook.Store, f *Fixture) (bool, error) {
			return some(tx.Deliveries(ctx, f.Webhook, all))
		}),
		call(of, "Delivery", func(ctx context.Context, tx webhook.Store, f *Fixture) (bool, error) {
			return some(tx.Delivery(ctx, f.Webhook, f.Delivery))
		}),
		call(of, "SaveDelivery", func(ctx context.Context, tx webhook.Store, f *Fixture) (bool, error) {
			return changed(tx.SaveDelivery(ctx, f.delivery()))
		}),
		call(queue, "SaveDelivery", func(ctx context.Context, tx webhook.QueueStore, f *Fixture) (bool, error) {
			return changed(tx.SaveDelivery(ctx, f.delivery()))
		}),
		blind(of, "Revive", func(ctx context.Context, tx webhook.Store, f *Fixture) error {
			return tx.Revive(ctx, f.Webhook, examNow)
		}),
		call(queue, "Lease", func(ctx context.Context, tx webhook.QueueStore, f *Fixture) (bool, error) {
			_, held, err := tx.Lease(ctx, f.Webhook, examNow, examNow.Add(time.Minute))
			return held, err
		}),
		call(queue, "Keep", func(ctx context.Context, tx webhook.QueueStore, f *Fixture) (bool, error) {
			return tx.Keep(ctx, f.endpoint(1), time.UnixMilli(0), time.UnixMilli(0))
		}),
		call(queue, "Due", func(ctx context.Context, tx webhook.QueueStore, f *Fixture) (bool, error) {
			return some(tx.Due(ctx, f.Webhook, examNow.AddDate(1, 0, 0), 9))
		}),
		blind(queue, "ForgetDeliveries", func(ctx context.Context, tx webhook.QueueStore, f *Fixture) error {
			return tx.ForgetDeliveries(ctx, f.Webhook, examNow)
		}),
	})
}

// endpoint is the fixture's.
func (f *Fixture) endpoint(revision int) webhook.Endpoint {
	return webhook.Endpoint{ID: f.Webhook, Name: "Leaderboard", URL: "https://board.example", Secret: "whsec_Ym9hcmQ=", CreatedBy: f.Coach, CreatedAt: examNow, Revision: revision}
}

// delivery is the fixture's.
func (f *Fixture) delivery() webhook.Delivery {
	return webhook.Delivery{ID: f.Delivery, Endpoint: f.Webhook, Event: 1, Kind: "session.stored", Subject: f.Session, Student: f.Student, At: examNow, State: webhook.Waiting, Due: examNow}
}
