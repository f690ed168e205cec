package repo

import (
	"context"
	"time"

	"gorm.io/gorm"

	"fringework/domain"
	"fringework/domain/webhook"
)

type webhookRow struct {
	AcademyID    domain.ID
	ID           domain.ID
	Name         string
	URL          string
	Kinds        string
	Secret       string
	OldSecret    *string
	OldUntil     *int64
	CreatedBy    domain.ID
	CreatedAt    int64 `gorm:"autoCreateTime:false"`
	Revision     int
	Position     int64
	FailingSince *int64
	Failures     int
	HoldUntil    *int64
	DisabledAt   *int64
	Disabled     string
	LeasedUntil  int64
}

// TableName names the table.
func (webhookRow) TableName() string { return "webhooks" }

func (s *scope) webhookRow(e webhook.Endpoint) webhookRow {
	r := webhookRow{
		AcademyID: s.id, ID: e.ID, Name: e.Name, URL: e.URL, Kinds: encode(e.Kinds), Secret: e.Secret, OldUntil: maybeAt(e.OldUntil),
		CreatedBy: e.CreatedBy, CreatedAt: at(e.CreatedAt), Revision: e.Revision, Position: e.Position, FailingSince: maybeAt(e.FailingSince),
		Failures: e.Failures, HoldUntil: maybeAt(e.HoldUntil), DisabledAt: maybeAt(e.DisabledAt), Disabled: string(e.Disabled),
	}
	if e.OldSecret != "" {
		r.OldSecret = &e.OldSecret
	}
	return r
}

func (r webhookRow) endpoint() (webhook.Endpoint, error) {
	kinds, err := decode[[]string](r.Kinds)
	e := webhook.Endpoint{
		ID: r.ID, Name: r.Name, URL: r.URL, Kinds: kinds, Secret: r.Secret, OldUntil: maybeInstant(r.OldUntil),
		CreatedBy: r.CreatedBy, CreatedAt: instant(r.CreatedAt), Revision: r.Revision, Position: r.Position, FailingSince: maybeInstant(r.FailingSince),
		Failures: r.Failures, HoldUntil: maybeInstant(r.HoldUntil), DisabledAt: maybeInstant(r.DisabledAt), Disabled: webhook.Reason(r.Disabled),
	}
	if r.OldSecret != nil {
		e.OldSecret = *r.OldSecret
	}
	return e, err
}

type deliveryRow struct {
	AcademyID domain.ID
	WebhookID domain.ID
	ID        domain.ID
	Event     int64
	Kind      string
	SubjectID domain.ID
	StudentID *domain.ID
	At        int64
	State     string
	Attempts  int
	DueAt     int64
	FirstAt   *int64
	LastAt    *int64
	Status    int
	Failure   string
}

// TableName names the table.
func (deliveryRow) TableName() string { return "webhook_deliveries" }

func (r deliveryRow) delivery() webhook.Delivery {
	return webhook.Delivery{
		ID: r.ID, Endpoint: r.WebhookID, Event: r.Event, Kind: r.Kind, Subject: r.SubjectID, Student: orEmpty(r.StudentID), At: instant(r.At),
		State: webhook.State(r.State), Attempts: r.Attempts, Due: instant(r.DueAt), FirstAt: maybeInstant(r.FirstAt), LastAt: maybeInstant(r.LastAt),
		Status: r.Status, Failure: r.Failure,
	}
}

// webhooks are what the stores of owners and of workers have in common.
type webhooks struct{ *scope }

// SaveDelivery implements webhook.Store and webhook.QueueStore.
func (s webhooks) SaveDelivery(ctx context.Context, d webhook.Delivery) error {
	if !s.writing {
		return errReadOnly
	}
	return s.upsert(ctx, &deliveryRow{
		AcademyID: s.id, WebhookID: d.Endpoint, ID: d.ID, Event: d.Event, Kind: d.Kind, SubjectID: d.Subject, StudentID: maybeText(d.Student), At: at(d.At),
		State: string(d.State), Attempts: d.Attempts, DueAt: at(d.Due), FirstAt: maybeAt(d.FirstAt), LastAt: maybeAt(d.LastAt), Status: d.Status, Failure: d.Failure,
	}, "webhook", "academy_id", "webhook_id", "id")
}

// webhookStore is the store of webhook.Service.
type webhookStore struct {
	*scope
	events
	webhooks
}

// Endpoints implements webhook.Store.
func (s webhookStore) Endpoints(ctx context.Context) (all []webhook.Endpoint, err error) {
	var rows []webhookRow
	if err := s.rows(ctx).Order("id").Find(&rows).Error; err != nil {
		return nil, fail(err, "webhook")
	}
	for _, r := range rows {
		e, err := r.endpoint()
		if err != nil {
			return nil, err
		}
		all = append(all, e)
	}
	return all, nil
}

// Endpoint implements webhook.Store.
func (s webhookStore) Endpoint(ctx context.Context, id domain.ID) (webhook.Endpoint, error) {
	var r webhookRow
	if err := s.rows(ctx).Where("id = ?", id).Clauses(s.forUpdate("webhooks")).Take(&r).Error; err != nil {
		return webhook.Endpoint{}, fail(err, "webhook")
	}
	return r.endpoint()
}

// SaveEndpoint implements webhook.Store.
func (s webhookStore) SaveEndpoint(ctx context.Context, e webhook.Endpoint) error {
	r := s.webhookRow(e)
	return s.save(ctx, &r, e.ID, e.Revision, "webhook", "name", "url", "kinds", "secret", "old_secret", "old_until",
		"failing_since", "failures", "hold_until", "disabled_at", "disabled", "leased_until")
}

// DeleteEndpoint implements webhook.Store.
func (s webhookStore) DeleteEndpoint(ctx context.Context, id domain.ID) error {
	if err := s.rows(ctx).Where("webhook_id = ?", id).Delete(&deliveryRow{}).Error; err != nil {
		return fail(err, "webhook")
	}
	r := s.rows(ctx).Where("id = ?", id).Delete(&webhookRow{})
	if done, err := did(r, "webhook"); err != nil || !done {
		return orNotFound(err, "webhook")
	}
	return nil
}

func orNotFound(err error, what string) error {
	if err != nil {
		return err
	}
	return domain.ErrNotFound(what)
}

// of starts a statement on the deliveries of an endpoint.
func (s webhooks) of(ctx context.Context, endpoint domain.ID) *gorm.DB {
	return s.rows(ctx).Model(&deliveryRow{}).Where("webhook_id = ?", endpoint)
}

// Deliveries implements webhook.Store.
func (s webhookStore) Deliveries(ctx context.Context, endpoint domain.ID, page domain.Page) ([]webhook.Delivery, error) {
	q := s.of(ctx, endpoint).Order("id DESC").Limit(page.Limit)
	if page.After != "" {
		q = q.Where("id < ?", page.After)
	}
	return deliveriesOf(q)
}

func deliveriesOf(q *gorm.DB) ([]webhook.Delivery, error) {
	var rows []deliveryRow
	if err := q.Find(&rows).Error; err != nil {
		return nil, fail(err, "webhook")
	}
	return each(rows, deliveryRow.delivery), nil
}

// Delivery implements webhook.Store.
func (s webhookStore) Delivery(ctx context.Context, endpoint, id domain.ID) (webhook.Delivery, error) {
	var r deliveryRow
	if err := s.of(ctx, endpoint).Where("id = ?", id).Take(&r).Error; err != nil {
		return webhook.Delivery{}, fail(err, "delivery")
	}
	return r.delivery(), nil
}

// Revive implements webhook.Store.
func (s webhookStore) Revive(ctx context.Context, endpoint domain.ID, due time.Time) error {
	if !s.writing {
		return errReadOnly
	}
	return fail(s.of(ctx, endpoint).Where("state = 'waiting'").Updates(map[string]any{"due_at": at(due), "attempts": 0}).Error, "webhook")
}

// queueStore is the store of webhook.Worker.
type queueStore struct {
	*scope
	events
	webhooks
}

// Lease implements webhook.QueueStore. On PostgreSQL two who ask at once meet at the
// row, and the later one finds it held.
func (s queueStore) Lease(ctx context.Context, id domain.ID, now, until time.Time) (webhook.Endpoint, bool, error) {
	if !s.writing {
		return webhook.Endpoint{}, false, errReadOnly
	}
	free := s.rows(ctx).Model(&webhookRow{}).Where("id = ? AND disabled_at IS NULL AND leased_until <= ?", id, at(now))
	if held, err := did(free.Update("leased_until", at(until)), "webhook"); err != nil || !held {
		return webhook.Endpoint{}, false, err
	}
	var r webhookRow
	if err := s.rows(ctx).Where("id = ?", id).Take(&r).Error; err != nil {
		return webhook.Endpoint{}, false, fail(err, "webhook")
	}
	e, err := r.endpoint()
	return e, true, err
}

// Keep implements webhook.QueueStore.
func (s queueStore) Keep(ctx context.Context, e webhook.Endpoint, until, next time.Time) (bool, error) {
	if !s.writing {
		return false, errReadOnly
	}
	row := s.webhookRow(e)
	if !next.IsZero() {
		row.LeasedUntil = at(next)
	}
	return did(s.rows(ctx).Model(&webhookRow{}).Where("id = ? AND leased_until = ?", e.ID, at(until)).
		Select("position", "failing_since", "failures", "hold_until", "disabled_at", "disabled", "leased_until").Updates(&row), "webhook")
}

// Due implements webhook.QueueStore.
func (s queueStore) Due(ctx context.Context, endpoint domain.ID, now time.Time, limit int) ([]webhook.Delivery, error) {
	return deliveriesOf(s.of(ctx, endpoint).Where("state = 'waiting' AND due_at <= ?", at(now)).Order("due_at, event, id").Limit(limit))
}

// ForgetDeliveries implements webhook.QueueStore.
func (s queueStore) ForgetDeliveries(ctx context.Context, endpoint domain.ID, before time.Time) error {
	if !s.writing {
		return errReadOnly
	}
	return fail(s.of(ctx, endpoint).Where("state <> 'waiting' AND last_at < ?", at(before)).Delete(&deliveryRow{}).Error, "webhook")
}

// WebhookTasks lists the endpoints of all academies that have something to do at an
// instant; see webhook.Worker.
func (db *DB) WebhookTasks(ctx context.Context, now time.Time, limit int) (tasks []webhook.Task, err error) {
	err = db.read(ctx, func(t *transaction) error {
		tasks = nil
		return t.batch(ctx, query{
			sql: "SELECT w.academy_id, w.id FROM webhooks w JOIN academies a ON a.id = w.academy_id" +
				" WHERE w.disabled_at IS NULL AND w.leased_until <= ? AND (a.last_event > w.position OR (w.hold_until IS NULL OR w.hold_until <= ?)" +
				" AND EXISTS (SELECT 1 FROM webhook_deliveries d WHERE d.academy_id = w.academy_id AND d.webhook_id = w.id AND d.state = 'waiting' AND d.due_at <= ?))" +
				" ORDER BY w.leased_until, w.academy_id, w.id LIMIT ?",
			args: []any{at(now), at(now), at(now), limit}, what: "webhook",
			row: func(scan func(...any) error) error {
				var task webhook.Task
				err := scan(&task.Academy, &task.Endpoint)
				tasks = append(tasks, task)
				return err
			},
		})
	})
	return tasks, err
}

// Webhooks opens the store of webhook.Service.
func (db *DB) Webhooks() domain.Transactor[webhook.Store] {
	return transactor[webhook.Store]{db, func(s *scope) webhook.Store { return webhookStore{s, events{s}, webhooks{s}} }}
}

// WebhookQueue opens the store of webhook.Worker.
func (db *DB) WebhookQueue() domain.Transactor[webhook.QueueStore] {
	return transactor[webhook.QueueStore]{db, func(s *scope) webhook.QueueStore { return queueStore{s, events{s}, webhooks{s}} }}
}
