package repo

import (
	"context"
	"encoding/json"
	"time"

	"fringework/auth"
	"fringework/domain/webhook"
)

// Waiting is what waits in the queues, of all academies together.
type Waiting struct {
	// Letters is how many wait to be sent, and OldestLetter when the oldest of them was
	// written, zero when there is none.
	Letters      int
	OldestLetter time.Time
	// Deliveries is how many deliveries to webhooks wait, Due how many of them could be
	// sent now, to a receiver that is not left in peace after failures, and Failed how many were given up lately (webhook.KeptFor).
	// OldestDelivery is when what the oldest that waits tells of happened.
	Deliveries, Due, Failed int
	OldestDelivery          time.Time
	// WebhooksOff is how many webhooks were switched off because they failed.
	WebhooksOff int
}

// Waiting counts what waits at an instant.
func (db *DB) Waiting(ctx context.Context, now time.Time) (w Waiting, err error) {
	err = db.read(ctx, func(t *transaction) error {
		w = Waiting{}
		return t.batch(ctx,
			query{sql: "SELECT COUNT(*) FROM letters", row: func(scan func(...any) error) error { return scan(&w.Letters) }},
			// Identities rise with time.
			query{sql: "SELECT doc FROM letters ORDER BY id LIMIT 1", row: func(scan func(...any) error) error {
				var doc string
				var l auth.Letter
				if err := scan(&doc); err != nil {
					return err
				}
				err := json.Unmarshal([]byte(doc), &l)
				w.OldestLetter = l.At
				return err
			}},
			query{
				sql: "SELECT d.state, COUNT(*), COUNT(CASE WHEN d.due_at <= ? AND (w.hold_until IS NULL OR w.hold_until <= ?) THEN 1 END), MIN(d.at) FROM webhooks w" +
					" JOIN webhook_deliveries d ON d.academy_id = w.academy_id AND d.webhook_id = w.id" +
					" WHERE w.disabled_at IS NULL AND d.state IN ('waiting', 'failed') GROUP BY d.state",
				args: []any{at(now), at(now)},
				row:  w.deliveries,
			},
			query{sql: "SELECT COUNT(*) FROM webhooks WHERE disabled IN (?, ?)", args: []any{string(webhook.Failing), string(webhook.GoneFor)}, row: func(scan func(...any) error) error { return scan(&w.WebhooksOff) }},
		)
	})
	return w, err
}

// deliveries reads those in one state.
func (w *Waiting) deliveries(scan func(...any) error) error {
	var state string
	var n, due int
	var oldest int64
	if err := scan(&state, &n, &due, &oldest); err != nil {
		return err
	}
	if state == "failed" {
		w.Failed = n
		return nil
	}
	w.Deliveries, w.Due, w.OldestDelivery = n, due, instant(oldest)
	return nil
}
