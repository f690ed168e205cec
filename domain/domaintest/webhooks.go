package domaintest

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/webhook"
)

// leasedEndpoint is an endpoint with until when a worker holds it.
type leasedEndpoint struct {
	webhook.Endpoint
	lease time.Time
}

// free is the lease of an endpoint that nobody holds.
var free = time.UnixMilli(0)

// Endpoints implements webhook.Store.
func (t *tx) Endpoints(context.Context) ([]webhook.Endpoint, error) {
	var all []webhook.Endpoint
	for _, id := range slices.Sorted(maps.Keys(t.endpoints)) {
		all = append(all, t.endpoints[id].Endpoint)
	}
	return all, t.call()
}

// Endpoint implements webhook.Store.
func (t *tx) Endpoint(_ context.Context, id domain.ID) (webhook.Endpoint, error) {
	if err := t.call(); err != nil {
		return webhook.Endpoint{}, err
	}
	e, ok := t.endpoints[id]
	if !ok {
		return webhook.Endpoint{}, domain.ErrNotFound("webhook")
	}
	return e.Endpoint, nil
}

// SaveEndpoint implements webhook.Store.
func (t *tx) SaveEndpoint(_ context.Context, e webhook.Endpoint) error {
	if err := t.change(); err != nil {
		return err
	}
	stands := t.endpoints[e.ID]
	if err := next("webhook", e.Revision, stands.Revision); err != nil {
		return err
	}
	if err := t.known(e.CreatedBy); err != nil {
		return err
	}
	if stands.Revision > 0 {
		e.Position = stands.Position // the worker's alone
	}
	t.endpoints[e.ID] = leasedEndpoint{e, free}
	return nil
}

// DeleteEndpoint implements webhook.Store.
func (t *tx) DeleteEndpoint(_ context.Context, id domain.ID) error {
	if err := t.change(); err != nil {
		return err
	}
	if _, ok := t.endpoints[id]; !ok {
		return domain.ErrNotFound("webhook")
	}
	delete(t.endpoints, id)
	maps.DeleteFunc(t.deliveries, func(_ domain.ID, d webhook.Delivery) bool { return d.Endpoint == id })
	return nil
}

// deliveriesOf gives the deliveries of an endpoint that are wanted, in an order.
func (t *tx) deliveriesOf(endpoint domain.ID, limit int, wanted func(webhook.Delivery) bool, order func(a, b webhook.Delivery) int) []webhook.Delivery {
	var all []webhook.Delivery
	for _, d := range t.deliveries {
		if d.Endpoint == endpoint && wanted(d) {
			all = append(all, d)
		}
	}
	slices.SortFunc(all, order)
	return all[:min(limit, len(all))]
}

// Deliveries implements webhook.Store.
func (t *tx) Deliveries(_ context.Context, endpoint domain.ID, p domain.Page) ([]webhook.Delivery, error) {
	return t.deliveriesOf(endpoint, p.Limit, func(d webhook.Delivery) bool { return p.After == "" || d.ID < p.After },
		func(a, b webhook.Delivery) int { return compareIDs(b.ID, a.ID) }), t.call()
}

// Delivery implements webhook.Store.
func (t *tx) Delivery(_ context.Context, endpoint, id domain.ID) (webhook.Delivery, error) {
	if err := t.call(); err != nil {
		return webhook.Delivery{}, err
	}
	d, ok := t.deliveries[id]
	if !ok || d.Endpoint != endpoint {
		return webhook.Delivery{}, domain.ErrNotFound("delivery")
	}
	return d, nil
}

// SaveDelivery implements webhook.Store and webhook.QueueStore.
func (t *tx) SaveDelivery(_ context.Context, d webhook.Delivery) error {
	if err := t.change(); err != nil {
		return err
	}
	if _, ok := t.endpoints[d.Endpoint]; !ok {
		return domain.ErrNotFound("webhook")
	}
	for _, other := range t.deliveries {
		if other.ID != d.ID && other.Endpoint == d.Endpoint && d.Event > 0 && other.Event == d.Event {
			return domain.Errorf(domain.Conflict, "exists", "The event is on its way already.")
		}
	}
	t.deliveries[d.ID] = d
	return nil
}

// Revive implements webhook.Store.
func (t *tx) Revive(_ context.Context, endpoint domain.ID, due time.Time) error {
	if err := t.change(); err != nil {
		return err
	}
	for id, d := range t.deliveries {
		if d.Endpoint == endpoint && d.State == webhook.Waiting {
			d.Due, d.Attempts = due, 0
			t.deliveries[id] = d
		}
	}
	return nil
}

// Lease implements webhook.QueueStore.
func (t *tx) Lease(_ context.Context, id domain.ID, now, until time.Time) (webhook.Endpoint, bool, error) {
	if err := t.change(); err != nil {
		return webhook.Endpoint{}, false, err
	}
	e, ok := t.endpoints[id]
	if !ok || !e.On() || e.lease.After(now) {
		return webhook.Endpoint{}, false, nil
	}
	e.lease = until
	t.endpoints[id] = e
	return e.Endpoint, true, nil
}

// Keep implements webhook.QueueStore.
func (t *tx) Keep(_ context.Context, e webhook.Endpoint, until, next time.Time) (bool, error) {
	if err := t.change(); err != nil {
		return false, err
	}
	stands, ok := t.endpoints[e.ID]
	if !ok || !stands.lease.Equal(until) {
		return false, nil
	}
	stands.Position, stands.FailingSince, stands.Failures, stands.HoldUntil = e.Position, e.FailingSince, e.Failures, e.HoldUntil
	stands.DisabledAt, stands.Disabled, stands.lease = e.DisabledAt, e.Disabled, next
	if next.IsZero() {
		stands.lease = free
	}
	t.endpoints[e.ID] = stands
	return true, nil
}

// Due implements webhook.QueueStore.
func (t *tx) Due(_ context.Context, endpoint domain.ID, now time.Time, limit int) ([]webhook.Delivery, error) {
	return t.deliveriesOf(endpoint, limit, func(d webhook.Delivery) bool { return d.State == webhook.Waiting && !d.Due.After(now) },
		func(a, b webhook.Delivery) int {
			return cmp.Or(a.Due.Compare(b.Due), cmp.Compare(a.Event, b.Event), compareIDs(a.ID, b.ID))
		}), t.call()
}

// ForgetDeliveries implements webhook.QueueStore.
func (t *tx) ForgetDeliveries(_ context.Context, endpoint domain.ID, before time.Time) error {
	if err := t.change(); err != nil {
		return err
	}
	maps.DeleteFunc(t.deliveries, func(_ domain.ID, d webhook.Delivery) bool {
		return d.Endpoint == endpoint && d.State != webhook.Waiting && d.LastAt.Before(before)
	})
	return nil
}

// Webhooks opens the store of webhook.Service.
func (m *Memory) Webhooks() domain.Transactor[webhook.Store] { return opener[webhook.Store]{m} }

// WebhookQueue opens the store of webhook.Worker.
func (m *Memory) WebhookQueue() domain.Transactor[webhook.QueueStore] {
	return opener[webhook.QueueStore]{m}
}

// WebhookTasks lists the endpoints that have something to do; see webhook.Worker.
func (m *Memory) WebhookTasks(_ context.Context, now time.Time, limit int) ([]webhook.Task, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	var tasks []webhook.Task
	for _, of := range slices.Sorted(maps.Keys(m.academies)) {
		t := m.academies[of]
		for _, id := range slices.Sorted(maps.Keys(t.endpoints)) {
			e := t.endpoints[id]
			due := false
			for _, d := range t.deliveries {
				due = due || d.Endpoint == id && d.State == webhook.Waiting && !d.Due.After(now)
			}
			if e.On() && !e.lease.After(now) && (t.lastEvent() > e.Position || due && !e.HoldUntil.After(now)) {
				tasks = append(tasks, webhook.Task{Academy: of, Endpoint: id})
			}
		}
	}
	return tasks[:min(limit, len(tasks))], nil
}
