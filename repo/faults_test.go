package repo

import (
	"context"
	"errors"
	"testing"

	"gorm.io/gorm"

	"fringework/auth"
	"fringework/domain"
)

var errBroken = errors.New("the database broke")

// breaker makes the n-th statement of a database fail; 0 lets all pass.
type breaker struct{ n, seen int }

func (b *breaker) strike(tx *gorm.DB) {
	if b.seen++; b.seen == b.n {
		_ = tx.AddError(errBroken)
	}
}

// arm counts from now and breaks the n-th statement.
func (b *breaker) arm(n int) { b.n, b.seen = n, 0 }

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

// A failure of the database at any statement of any method comes out as it is:
// it is not lost, nor taken for absence.
func TestNoFailureIsLost(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		f := fill(t, db)
		b := newBreaker(t, db)
		for i, s := range sights {
			for n := 1; ; n++ {
				var got error
				var statements int
				err := f.attempt(func(a *Academy) error {
					b.arm(n)
					_, got = s.run(f, a)
					statements = b.seen
					b.arm(0)
					return errUndo
				})
				if err != errUndo {
					t.Fatalf("%d %s: the transaction: %v", i, s.method, err)
				}
				if n > statements {
					break // it has no n-th statement
				}
				if !errors.Is(got, errBroken) || domain.KindOf(got) != domain.Internal {
					t.Errorf("%d %s: statement %d broke, got error %v", i, s.method, n, got)
				}
			}
		}
	})
}

// The same for the end of a transaction, where its events are kept.
func TestEventsThatFailRollBack(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := newWorld(t, db)
		b := newBreaker(t, db)
		e := domain.Event{At: monday, Kind: "ball.struck", Subject: w.student}
		for n := 1; n <= 2; n++ {
			b.arm(n)
			err := w.attempt(func(a *Academy) error { return a.Record(w.ctx, e) })
			if !errors.Is(err, errBroken) {
				t.Errorf("statement %d of the domain's events: got error %v, want %v", n, err, errBroken)
			}
			b.arm(n)
			err = db.Auth().Write(w.ctx, func(tx auth.Tx) error { return tx.Record(w.ctx, w.academy, e) })
			if !errors.Is(err, errBroken) {
				t.Errorf("statement %d of auth's events: got error %v, want %v", n, err, errBroken)
			}
		}
		b.arm(0)
		w.read(func(a *Academy) error {
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
		w := newWorld(t, db)
		if err := db.Close(); err != nil {
			t.Fatal(err)
		}
		ctx := context.Background()
		_, academiesErr := db.Academies(ctx)
		_, memberErr := db.Auth().MemberStanding(ctx, newID(), "", "")
		_, keyErr := db.Auth().KeyStanding(ctx, w.academy, newID())
		for what, err := range map[string]error{
			"Ready": db.Ready(ctx), "Academies": academiesErr, "MemberStanding": memberErr, "KeyStanding": keyErr,
			"Read":  For[*Academy](db).Read(ctx, w.academy, func(*Academy) error { return nil }),
			"Write": For[*Academy](db).Write(ctx, w.academy, func(*Academy) error { return nil }),
		} {
			if err == nil || domain.KindOf(err) != domain.Internal {
				t.Errorf("%s: got error %v, want one that is internal", what, err)
			}
		}
	})
}

func TestAuthReadingRefusesWrites(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := newWorld(t, db)
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
