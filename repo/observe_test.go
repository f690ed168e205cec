package repo

import (
	"context"
	"errors"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"fringework/auth"
	"fringework/domain"
	"fringework/domain/webhook"
)

// spy is an observer that remembers.
type spy struct {
	mu    sync.Mutex
	begun []bool // whether each transaction writes
	ended []error
	// inside are statements told under a transaction, and outside the others.
	inside, outside []Statement
	retries         int
	kinds           []string
}

type spyKey struct{}

func (s *spy) Transaction(ctx context.Context, writing bool) (context.Context, func(error)) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.begun = append(s.begun, writing)
	return context.WithValue(ctx, spyKey{}, true), func(err error) {
		s.mu.Lock()
		defer s.mu.Unlock()
		s.ended = append(s.ended, err)
	}
}

func (s *spy) Retried(context.Context) { s.mu.Lock(); defer s.mu.Unlock(); s.retries++ }

func (s *spy) Statement(ctx context.Context, x Statement) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if ctx.Value(spyKey{}) == nil {
		s.outside = append(s.outside, x)
	} else {
		s.inside = append(s.inside, x)
	}
}

func (s *spy) Committed(kinds []string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.kinds = append(s.kinds, kinds...)
}

// during gives what is told while fn runs.
func (s *spy) during(fn func()) *spy {
	s.mu.Lock()
	s.begun, s.ended, s.inside, s.outside, s.retries, s.kinds = nil, nil, nil, nil, 0, nil
	s.mu.Unlock()
	fn()
	s.mu.Lock()
	defer s.mu.Unlock()
	return &spy{begun: s.begun, ended: s.ended, inside: s.inside, outside: s.outside, retries: s.retries, kinds: s.kinds}
}

// firsts are the first words of statements.
func firsts(all []Statement) []string {
	return each(all, func(s Statement) string { word, _, _ := strings.Cut(s.Text, " "); return word })
}

// An observer is told of every transaction once, of its statements under it, through
// the mapper and in batches alike, without their values, and of what was committed.
func TestObserver(t *testing.T) {
	t.Parallel()
	for _, e := range engines {
		t.Run(e.name, func(t *testing.T) {
			t.Parallel()
			s := &spy{}
			db, err := Open(t.Context(), Config{URL: e.url(t), Relaxed: true, Log: quiet, Observer: s})
			if err != nil {
				t.Fatal(err)
			}
			t.Cleanup(func() { _ = db.Close() })
			w := newFixture(t, db)
			event := domain.Event{At: monday, Kind: "skill.changed", Subject: w.student}

			told := s.during(func() { // through GORM
				w.auth(func(tx auth.Tx) error {
					if _, err := tx.AccountByEmail(w.ctx, "nobody@sandhill.example"); domain.KindOf(err) != domain.NotFound {
						t.Error(err)
					}
					return nil
				})
			})
			if want := []string{"BEGIN", "SELECT", "COMMIT"}; !slices.Equal(firsts(told.inside), want) {
				t.Errorf("told of %q, want %q", firsts(told.inside), want)
			}
			if !cmp.Equal(told.begun, []bool{true}) || len(told.ended) != 1 || told.ended[0] != nil {
				t.Errorf("transactions %v ended with %v, want one that writes and ends well", told.begun, told.ended)
			}

			told = s.during(func() { // in batches
				err := transactor[events]{db, func(s *scope) events { return events{s} }}.Write(w.ctx, w.academy, func(tx events) error { return tx.Record(w.ctx, event) })
				if err != nil {
					t.Error(err)
				}
			})
			if !slices.Equal(told.kinds, []string{"skill.changed"}) {
				t.Errorf("committed %q", told.kinds)
			}
			if got := firsts(told.inside); len(got) < 3 || got[0] != "BEGIN" || got[len(got)-1] != "COMMIT" || !slices.Contains(got, "INSERT") && !slices.Contains(got, "WITH") {
				t.Errorf("told of %q, want a transaction that inserts", got)
			}
			for _, x := range append(told.inside, told.outside...) {
				if strings.Contains(x.Text, string(w.student)) || strings.Contains(x.Text, string(w.academy)) {
					t.Errorf("told of values: %s", x.Text)
				}
				if x.Took < 0 || x.Began.IsZero() || x.Engine != db.engine {
					t.Errorf("told of %+v", x)
				}
			}

			told = s.during(func() { // a refusal, with nothing committed
				err := transactor[events]{db, func(s *scope) events { return events{s} }}.Write(w.ctx, w.academy, func(tx events) error {
					return errors.Join(tx.Record(w.ctx, event), domain.ErrNotFound("skill"))
				})
				if domain.KindOf(err) != domain.NotFound {
					t.Error(err)
				}
			})
			if len(told.kinds) != 0 || len(told.ended) != 1 || domain.KindOf(told.ended[0]) != domain.NotFound {
				t.Errorf("committed %q, ended with %v", told.kinds, told.ended)
			}

			told = s.during(func() { // a statement that fails, outside a transaction
				if _, err := db.SQL().ExecContext(w.ctx, "DELETE FROM nowhere"); err == nil {
					t.Error("deleted from nowhere")
				}
			})
			if len(told.outside) != 1 || told.outside[0].Err == nil || len(told.begun) != 0 {
				t.Errorf("told of %+v", told.outside)
			}
		})
	}
}

// A transaction that is tried again is told of once, and each repetition.
func TestObserverRetries(t *testing.T) {
	t.Parallel()
	s := &spy{}
	db, err := Open(t.Context(), Config{URL: engines[1].url(t), Relaxed: true, Log: quiet, Observer: s})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close() })
	told := s.during(func() {
		n := 0
		err := db.write(t.Context(), func(*transaction) error {
			if n++; n < 3 {
				return errRaced
			}
			return nil
		})
		if err != nil {
			t.Error(err)
		}
	})
	if told.retries != 2 || len(told.begun) != 1 || len(told.ended) != 1 {
		t.Errorf("%d retries of %d transactions, want 2 of 1", told.retries, len(told.begun))
	}
}

// What waits is counted over all academies.
func TestWaiting(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := newFixture(t, db)
		waiting := func() Waiting { t.Helper(); return must[Waiting](t)(db.Waiting(w.ctx, monday.Add(time.Hour))) }
		if got := waiting(); got != (Waiting{}) {
			t.Errorf("in an empty database: %+v", got)
		}
		w.auth(func(tx auth.Tx) error {
			return errors.Join(
				tx.AddLetter(w.ctx, auth.Letter{ID: newID(), Kind: auth.LetterReset, At: monday, Expires: monday.Add(24 * time.Hour)}),
				tx.AddLetter(w.ctx, auth.Letter{ID: newID(), Kind: auth.LetterReset, At: monday.Add(time.Minute), Expires: monday.Add(24 * time.Hour)}))
		})
		other := newFixture(t, db)
		for i, of := range []*fixture{w, w, other} {
			off, why, hold := time.Time{}, webhook.Reason(""), time.Time{}
			switch i {
			case 1:
				off, why = monday, webhook.Failing
			case 2:
				hold = monday.Add(2 * time.Hour)
			}
			err := db.Webhooks().Write(w.ctx, of.academy, func(tx webhook.Store) error {
				e := webhook.Endpoint{ID: newID(), Name: "Club", URL: "https://club.example", Secret: "whsec_c2VjcmV0", CreatedBy: of.owner, CreatedAt: monday, Revision: 1, DisabledAt: off, Disabled: why, HoldUntil: hold}
				if err := tx.SaveEndpoint(w.ctx, e); err != nil {
					return err
				}
				for n, d := range []webhook.Delivery{
					{State: webhook.Waiting, At: monday.Add(-time.Duration(i) * time.Hour), Due: monday},
					{State: webhook.Waiting, At: monday, Due: monday.Add(2 * time.Hour)},
					{State: webhook.Failed, At: monday, Due: monday}, {State: webhook.Delivered, At: monday, Due: monday},
				} {
					d.ID, d.Endpoint, d.Event, d.Kind, d.Subject = newID(), e.ID, int64(n+1), "session.stored", of.student
					if err := tx.SaveDelivery(w.ctx, d); err != nil {
						return err
					}
				}
				return nil
			})
			if err != nil {
				t.Fatal(err)
			}
		}
		want := Waiting{
			Letters: 2, OldestLetter: monday, Deliveries: 4, Due: 1, Failed: 2, OldestDelivery: monday.Add(-2 * time.Hour), WebhooksOff: 1,
		}
		if diff := cmp.Diff(want, waiting()); diff != "" {
			t.Error(diff)
		}
	})
}
