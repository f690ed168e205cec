package repo

import (
	"context"
	"sync"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/webhook"
)

// half is a receiver that fails every second call, and all of them while it is
// down. It may be called by several workers at once.
type half struct {
	mu    sync.Mutex
	calls int
	down  bool
	ids   map[int64]map[domain.ID]bool // by event
}

// Send implements webhook.Sender.
func (r *half) Send(_ context.Context, _ domain.ID, _ webhook.Endpoint, d webhook.Delivery, _ time.Time) webhook.Result {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.calls++
	if r.down || r.calls%2 == 0 {
		return webhook.Result{Status: 503, Failure: "The receiver answered 503."}
	}
	if r.ids[d.Event] == nil {
		r.ids[d.Event] = map[domain.ID]bool{}
	}
	r.ids[d.Event][d.ID] = true
	return webhook.Result{Status: 204}
}

// A receiver that fails half its calls and is down for four days gets everything
// that writers committed meanwhile, each under one ID, from three workers at once.
func TestWebhooksOnEngines(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		f := fill(t, db)
		now := monday
		var mu sync.Mutex
		clock := func() time.Time { mu.Lock(); defer mu.Unlock(); return now }
		pass := func(d time.Duration) { mu.Lock(); defer mu.Unlock(); now = now.Add(d) }
		e := env(monday)
		e.Now = clock
		service := webhook.Service{Store: db.Webhooks(), Env: e, NewSecret: func() string { return "whsec_c2VjcmV0" }}
		owner := domain.Actor{Academy: f.academy, Member: f.coach, Role: domain.Owner}
		point, err := service.Create(f.ctx, owner, webhook.Request{Name: "Club", URL: "https://club.example"})
		if err != nil {
			t.Fatal(err)
		}
		to := &half{ids: map[int64]map[domain.ID]bool{}}
		worker := webhook.Worker{Store: db.WebhookQueue(), Tasks: db.WebhookTasks, Sender: to, Env: e}
		const days, writers = 6, 4
		told := 0
		for day := range days + 2 {
			to.down = day >= 1 && day < 5
			var all sync.WaitGroup
			for w := range writers {
				all.Go(func() {
					err := db.WebhookQueue().Write(f.ctx, f.academy, func(tx webhook.QueueStore) error {
						return tx.Record(f.ctx, domain.Event{At: clock(), Kind: webhook.Kinds()[w], Subject: f.student, Student: f.student})
					})
					if err != nil && day < days {
						t.Error(err)
					}
				})
			}
			told += writers
			for range 3 {
				all.Go(func() {
					for range 4 {
						if _, err := worker.Round(f.ctx); err != nil {
							t.Error(err)
						}
					}
				})
			}
			all.Wait()
			for range 8 {
				pass(3 * time.Hour)
				if _, err := worker.Round(f.ctx); err != nil {
					t.Error(err)
				}
			}
		}
		to.down = false
		for range 40 { // what failed last has its pause
			pass(time.Hour)
			if _, err := worker.Round(f.ctx); err != nil {
				t.Error(err)
			}
		}
		if len(to.ids) != told {
			t.Errorf("%d events were taken, want %d", len(to.ids), told)
		}
		for event, ids := range to.ids {
			if len(ids) != 1 {
				t.Errorf("event %d came under %d IDs", event, len(ids))
			}
		}
		list, err := service.Deliveries(f.ctx, owner, point.ID, domain.Page{Limit: 500})
		if err != nil || len(list) != told {
			t.Errorf("%d deliveries (%v), want %d", len(list), err, told)
		}
		for _, d := range list {
			if d.State != webhook.Delivered {
				t.Errorf("event %d is %s", d.Event, d.State)
			}
		}
	})
}
