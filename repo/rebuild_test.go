package repo

import (
	"context"
	"errors"
	"fmt"
	"testing"

	"github.com/jackc/pgx/v5/pgconn"
	"gorm.io/gorm"

	"fringework/domain"
	"fringework/domain/practice"
)

// damage is what could go wrong with what is kept, and what a rebuild calls it.
var damage = map[string][]statement{
	"states": {
		{"DELETE FROM states WHERE skill_id <> ?", []any{"none"}}, {"UPDATE states SET doc = ?", []any{[]byte{stateForm, 0xff}}},
		{"UPDATE states SET held = held + ?", []any{1}}, {"UPDATE states SET recent_judged = recent_judged + ?", []any{1}},
		{"UPDATE states SET recent_inside = ?", []any{0}},
	},
	"sessions by skill": {
		{"DELETE FROM skill_periods WHERE skill_id <> ?", []any{"none"}}, {"UPDATE skill_periods SET doc = ?", []any{[]byte{}}},
		{"UPDATE skill_periods SET said = said + ?", []any{1}}, {"UPDATE skill_periods SET period = period - ?", []any{1}},
	},
	"habit": {
		{"UPDATE habits SET sessions = ?", []any{7}}, {"UPDATE habits SET doc = ?", []any{[]byte{habitForm}}},
		{"DELETE FROM habits WHERE sessions > ?", []any{0}},
	},
	"session counts": {{"UPDATE assignments SET sessions = ?", []any{3}}},
}

// A rebuild finds every damage, names it, and puts it right when told to.
func TestRebuildFindsAndRepairs(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		f := fill(t, db)
		before := eventCount(f.fixture)
		r := practice.Rebuilder{Store: db.Rebuilding(), Env: env(monday)}
		rebuild := func(repair bool) []practice.Difference {
			t.Helper()
			students, found, err := r.Rebuild(f.ctx, f.academy, repair)
			if err != nil || students != 2 {
				t.Fatalf("rebuild of %d students: %v", students, err)
			}
			return found
		}
		if found := rebuild(false); len(found) != 0 {
			t.Fatalf("before any damage: %v", found)
		}
		repaired := 0
		for what, statements := range damage {
			for _, statement := range statements {
				if err := db.writer.Exec(statement.sql, statement.vars...).Error; err != nil {
					t.Fatalf("%s: %v", statement.sql, err)
				}
				for _, repair := range []bool{false, true} {
					found := rebuild(repair)
					if len(found) != 1 || found[0].What != what || found[0].Student != f.student {
						t.Errorf("%s: found %v, want %s", statement.sql, found, what)
					}
				}
				repaired++
				if found := rebuild(false); len(found) != 0 {
					t.Errorf("%s: after the repair: %v", statement.sql, found)
				}
			}
		}
		consistent(t, f.fixture, before+repaired)
	})
}

// A rebuild that repairs, run among uploads, neither finds differences nor
// loses a session.
func TestRebuildAmongUploads(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		f := fill(t, db)
		r := practice.Rebuilder{Store: db.Rebuilding(), Env: env(monday)}
		errs := together(crowd, func(i int) error {
			if i%4 == 0 {
				_, found, err := r.Rebuild(f.ctx, f.academy, true)
				if len(found) > 0 {
					err = fmt.Errorf("differences: %v", found)
				}
				return err
			}
			_, err := f.practice(monday).Put(f.ctx, f.asOwner(), f.sessionOf(f.student, newID(), i+1, 1))
			return err
		})
		if err := errors.Join(errs...); err != nil {
			t.Error(err)
		}
		consistent(t, f.fixture, eventCount(f.fixture))
	})
}

// What each database's words mean to the stores.
func TestFailuresByTheirCodes(t *testing.T) {
	// The codes are from PostgreSQL's documentation, appendix A.
	pg := func(code string) error { return fmt.Errorf("wrapped: %w", &pgconn.PgError{Code: code}) }
	for _, c := range []struct {
		what string
		err  error
		want domain.Kind
	}{
		{"nothing found", gorm.ErrRecordNotFound, domain.NotFound},
		{"foreign key", gorm.ErrForeignKeyViolated, domain.NotFound},
		{"unique key", gorm.ErrDuplicatedKey, domain.Conflict},
		{"NUL", pg("22021"), domain.NotFound},
		{"check", gorm.ErrCheckConstraintViolated, domain.Internal},
		{"syntax", pg("42601"), domain.Internal},
	} {
		wantKind(t, c.what, fail(c.err, "ball"), c.want)
	}
	if fail(nil, "ball") != nil {
		t.Error("no failure became one")
	}
	for code, want := range map[string]bool{"40001": true, "40P01": true, "23505": false, "57014": false} {
		if got := collided(pg(code)); got != want {
			t.Errorf("%s: tried again %v, want %v", code, got, want)
		}
	}
	if collided(nil) || collided(errors.New("else")) {
		t.Error("a transaction is tried again for nothing")
	}
}

// A transaction runs again, whole, when the database asks for it, but not for
// ever.
func TestTransactionsAreTriedAgain(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := newFixture(t, db)
		for _, c := range []struct{ failures, runs int }{{0, 1}, {2, 3}, {1000, tries}} {
			runs := 0
			err := w.attempt(func(a *store) error {
				runs++
				if err := a.Record(w.ctx, domain.Event{At: monday, Kind: "ball.struck", Subject: w.student}); err != nil {
					return err
				}
				if runs <= c.failures {
					return &pgconn.PgError{Code: serializationFailure}
				}
				return nil
			})
			if runs != c.runs || (err != nil) != (c.failures >= tries) {
				t.Errorf("%d failures: run %d times, error %v; want %d times", c.failures, runs, err, c.runs)
			}
		}
		if got := eventCount(w); got != 2 {
			t.Errorf("got %d events, want one of each transaction that went through", got)
		}
		ctx, cancel := context.WithCancel(w.ctx)
		err := everything(db).Write(ctx, w.academy, func(*store) error {
			cancel()
			return &pgconn.PgError{Code: serializationFailure}
		})
		if err == nil {
			t.Error("a transaction whose caller has gone went through")
		}
	})
}
