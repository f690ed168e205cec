package repo

import (
	"context"
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gorm.io/gorm"

	"fringework/auth"
	"fringework/domain"
	"fringework/domain/domaintest"
	"fringework/migrations"
)

var errBroken = errors.New("the database broke")

// breaker makes the n-th statement of a database fail; 0 lets all pass. Those
// of a batch fail because the caller has gone: on SQLite each by itself, on
// PostgreSQL the round trip.
type breaker struct {
	n, seen int
	cancel  context.CancelFunc
}

func (b *breaker) due() bool {
	b.seen++
	return b.seen == b.n
}

func (b *breaker) strike(tx *gorm.DB) {
	if b.due() {
		_ = tx.AddError(errBroken)
	}
}

// arm counts from now and breaks the n-th statement, of those under the context
// that it gives.
func (b *breaker) arm(ctx context.Context, n int) context.Context {
	b.n, b.seen = n, 0
	ctx, b.cancel = context.WithCancel(ctx)
	ctx, count := countStatements(ctx, nil)
	count.batched = func(query) {
		if b.due() {
			b.cancel()
		}
	}
	return ctx
}

// broken reports whether an error tells of a failure of the database, in
// whichever words the driver has for a caller who has gone.
func broken(err error) bool {
	return err != nil && !errors.Is(err, domaintest.ErrUndo) && domain.KindOf(err) == domain.Internal
}

func newBreaker(t *testing.T, db *DB) *breaker {
	t.Helper()
	b := &breaker{}
	cb := db.writer.Callback()
	for _, p := range []interface {
		Register(string, func(*gorm.DB)) error
	}{
		cb.Create().Before("gorm:create"), cb.Query().Before("gorm:query"), cb.Row().Before("gorm:row"),
		cb.Raw().Before("gorm:raw"), cb.Delete().Before("gorm:delete"), cb.Update().Before("gorm:update"),
	} {
		if err := p.Register("test:break", b.strike); err != nil {
			t.Fatal(err)
		}
	}
	return b
}

// A failure of the database at any statement of any method, or of the end of its
// transaction, comes out as it is: it is not lost, nor taken for absence.
func TestNoFailureIsLost(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		stores := StoresOf(t.Context(), db)
		f := domaintest.NewFixture(t, stores)
		b := newBreaker(t, db)
		before := snapshot(t, db, f.Academy)
		for _, c := range domaintest.Calls() {
			for n := 1; ; n++ {
				forget(&db.versions)
				_, err := c.Run(b.arm(t.Context(), n), stores, f.Academy, f, undo)
				b.cancel()
				if b.seen < n {
					break // it has no n-th statement
				}
				if !broken(err) {
					t.Errorf("%s: statement %d broke, got error %v", c, n, err)
				}
			}
		}
		b.n = 0
		if after := snapshot(t, db, f.Academy); after != before {
			t.Errorf("something was kept all the same (-before +after)\n%s", cmp.Diff(strings.Split(before, "\n"), strings.Split(after, "\n")))
		}
	})
}

// The same for the end of a transaction, where its events are kept.
func TestEventsThatFailRollBack(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := newFixture(t, db)
		b := newBreaker(t, db)
		e := domain.Event{At: monday, Kind: "ball.struck", Subject: w.student}
		statements := map[migrations.Engine]int{migrations.SQLite: 2, migrations.Postgres: 1}[db.engine]
		for n := 1; n <= statements; n++ {
			err := everything(db).Write(b.arm(t.Context(), n), w.academy, func(a *store) error { return a.Record(w.ctx, e) })
			if !broken(err) {
				t.Errorf("statement %d of the domain's events: got error %v, want that it broke", n, err)
			}
			err = db.Auth().Write(b.arm(t.Context(), n), func(tx auth.Tx) error { return tx.Record(w.ctx, w.academy, e) })
			if !broken(err) {
				t.Errorf("statement %d of auth's events: got error %v, want that it broke", n, err)
			}
		}
		b.n = 0
		w.read(func(a *store) error {
			all, err := a.Events(w.ctx, 0, 10)
			if len(all) != 0 {
				t.Errorf("got %v, want no event", all)
			}
			return err
		})
	})
}

// A database that has gone is told of as that, and not as an empty one.
func TestAGoneDatabase(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := newFixture(t, db)
		if err := db.Close(); err != nil {
			t.Fatal(err)
		}
		ctx := context.Background()
		_, academiesErr := db.Academies(ctx)
		_, memberErr := db.Auth().MemberAccess(ctx, newID(), "", "")
		_, _, belongingErr := db.Auth().Belonging(ctx, newID())
		_, keyErr := db.Auth().KeyAccess(ctx, w.academy, newID())
		for what, err := range map[string]error{
			"Ready": db.Ready(ctx), "Academies": academiesErr, "MemberAccess": memberErr, "KeyAccess": keyErr, "Belonging": belongingErr,
			"Read":  everything(db).Read(ctx, w.academy, func(*store) error { return nil }),
			"Write": everything(db).Write(ctx, w.academy, func(*store) error { return nil }),
		} {
			if err == nil || domain.KindOf(err) != domain.Internal {
				t.Errorf("%s: got error %v, want one that is internal", what, err)
			}
		}
	})
}

func TestAuthReadingRefusesWrites(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := newFixture(t, db)
		for what, write := range map[string]func(tx auth.Tx) error{
			"event":   func(tx auth.Tx) error { return tx.Record(w.ctx, w.academy, domain.Event{}) },
			"attempt": func(tx auth.Tx) error { _, err := tx.Attempt(w.ctx, "bucket"); return err },
			"account": func(tx auth.Tx) error {
				return tx.AddAccount(w.ctx, auth.Account{ID: newID(), Email: "new@sandhill.example"})
			},
		} {
			if err := db.Auth().Read(w.ctx, write); err == nil {
				t.Errorf("%s: written while reading", what)
			}
		}
	})
}
