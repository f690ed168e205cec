package repo

import (
	"context"
	"errors"
	"fmt"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgconn"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/migrations"
)

// onLatePostgres runs a test on a database with one connection, so that what a
// transaction leaves behind meets the next.
func onLatePostgres(t *testing.T, test func(t *testing.T, db *DB, w *fixture)) {
	onEngines(t, func(t *testing.T, db *DB) {
		if db.engine != migrations.Postgres {
			return // its transactions begin at once
		}
		db.SQL().SetMaxOpenConns(1)
		test(t, db, newFixture(t, db))
	})
}

// name reads the academy's name by a batch, as the hot paths do.
func (a *store) name(ctx context.Context) (name string, err error) {
	err = a.batch(ctx, query{
		sql: "SELECT name FROM academies WHERE id = ?", args: []any{a.scope.id}, what: "academy",
		row: func(scan func(...any) error) error { return scan(&name) },
	})
	return name, err
}

// A transaction that begins with a batch reads and writes as one that begins
// with a statement does: on one snapshot, and only where it may.
func TestABatchBeginsATransaction(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		w := newFixture(t, db)
		var before, after string
		w.read(func(a *store) (err error) {
			if before, err = a.name(w.ctx); err != nil {
				return err
			}
			w.write(func(b *store) error {
				return b.SaveAcademy(w.ctx, academy.Academy{ID: w.academy, Name: "Renamed", TimeZone: "UTC", Challenge: 70})
			})
			after, err = a.name(w.ctx)
			return err
		})
		if before != after || before == "Renamed" {
			t.Errorf("within one reading: got %q, then %q", before, after)
		}
		rename := func(a *store) error {
			return a.batch(w.ctx, query{sql: "UPDATE academies SET name = ? WHERE id = ?", args: []any{"Wrong", w.academy}})
		}
		for what, read := range map[string]func(context.Context, domain.ID, func(*store) error) error{
			"Read": everything(db).Read, "ReadOnce": everything(db).ReadOnce,
		} {
			if err := read(w.ctx, w.academy, rename); err == nil {
				t.Errorf("%s: written while reading", what)
			}
		}
		no := errors.New("no")
		err := w.attempt(func(a *store) error { return errors.Join(rename(a), no) })
		if !errors.Is(err, no) {
			t.Errorf("got error %v, want what the use case gave", err)
		}
		w.read(func(a *store) (err error) {
			after, err = a.name(w.ctx)
			return err
		})
		if after != "Renamed" {
			t.Errorf("afterwards: got %q, want Renamed", after)
		}
	})
}

// All statements of the one batch of a ReadOnce see one moment, and there is no
// second.
func TestReadOnce(t *testing.T) {
	onLatePostgres(t, func(t *testing.T, db *DB, w *fixture) {
		var isolation, readOnly string
		text := func(into *string) func(func(...any) error) error {
			return func(scan func(...any) error) error { return scan(into) }
		}
		err := everything(db).ReadOnce(w.ctx, w.academy, func(a *store) error {
			return a.batch(w.ctx, query{sql: "SHOW transaction_isolation", row: text(&isolation)}, query{sql: "SHOW transaction_read_only", row: text(&readOnly)})
		})
		if err != nil || isolation != "repeatable read" || readOnly != "on" {
			t.Errorf("got isolation %q, read-only %q and error %v", isolation, readOnly, err)
		}
		for what, second := range map[string]func(a *store) error{
			"a batch":   func(a *store) error { _, err := a.name(w.ctx); return err },
			"by GORM":   func(a *store) error { _, err := a.Academy(w.ctx); return err },
			"a failure": func(*store) error { return errOver },
		} {
			err := everything(db).ReadOnce(w.ctx, w.academy, func(a *store) error {
				if _, err := a.name(w.ctx); err != nil {
					return err
				}
				return second(a)
			})
			if !errors.Is(err, errOver) {
				t.Errorf("%s after the only batch: got error %v, want that it is over", what, err)
			}
		}
		err = everything(db).ReadOnce(w.ctx, w.academy, func(a *store) error { _, err := a.Academy(w.ctx); return err })
		if err != nil {
			t.Errorf("by GORM alone: %v", err)
		}
	})
}

// Whatever goes wrong in a transaction, the next one on the same connection
// starts afresh.
func TestConnectionsStayClean(t *testing.T) {
	onLatePostgres(t, func(t *testing.T, db *DB, w *fixture) {
		no := errors.New("no")
		gone, cancel := context.WithTimeout(w.ctx, time.Hour) // with a deadline, it is not the transaction's
		cancel()
		ask := func(sql string, row func(scan func(...any) error) error) func(*store) error {
			return func(a *store) error { return a.batch(w.ctx, query{sql: sql, row: row}) }
		}
		number := func(scan func(...any) error) error { var n int; return scan(&n) }
		uses := map[string]func(*store) error{
			"nothing":                     func(*store) error { return nil },
			"no statement":                func(*store) error { return no },
			"a first that does not parse": ask("SELECT FROM WHERE", number),
			"a first that fails":          ask("SELECT 1 / 0", number),
			"a row that is refused":       ask("SELECT 1", func(func(...any) error) error { return no }),
			"a first of nobody": func(a *store) error {
				return a.batch(gone, query{sql: "SELECT 1", row: number})
			},
			"a first by GORM of nobody": func(a *store) error { return a.tx.WithContext(gone).Exec("SELECT 1").Error },
			"a second of nobody": func(a *store) error {
				return errors.Join(ask("SELECT 1", number)(a), a.batch(gone, query{sql: "SELECT 1", row: number}))
			},
			"a failure that is overlooked": func(a *store) error {
				_ = ask("SELECT 1 / 0", number)(a)
				return nil
			},
			"a first that is overlooked": func(a *store) error {
				_ = ask("SELECT FROM WHERE", number)(a)
				return a.batch(w.ctx, query{sql: "UPDATE academies SET name = ?", args: []any{"Wrong"}})
			},
			"a panic": func(a *store) error {
				return errors.Join(ask("SELECT 1", number)(a), func() error { panic(no) }())
			},
		}
		for what, use := range uses {
			for kind, run := range map[string]func(context.Context, domain.ID, func(*store) error) error{
				"Read": everything(db).Read, "ReadOnce": everything(db).ReadOnce, "Write": everything(db).Write,
			} {
				func() {
					defer func() { _ = recover() }()
					err := run(w.ctx, w.academy, use)
					if failed := err != nil; failed == (what == "nothing") && kind != "ReadOnce" {
						t.Errorf("%s, %s: got error %v", kind, what, err)
					}
				}()
				var open int
				err := db.SQL().QueryRowContext(w.ctx, "SELECT COUNT(*) FROM pg_stat_activity WHERE datname = current_database()"+
					" AND pid <> pg_backend_pid() AND state LIKE 'idle in transaction%'").Scan(&open)
				name := ""
				readErr := everything(db).Read(w.ctx, w.academy, func(a *store) (err error) { name, err = a.name(w.ctx); return err })
				if err != nil || readErr != nil || open != 0 || name == "Wrong" {
					t.Errorf("%s, %s: afterwards %d transactions stand open, the name is %q, errors %v and %v", kind, what, open, name, err, readErr)
				}
			}
		}
	})
}

// A transaction that the database wants again is run again from its beginning,
// also when the batch that began it was told so.
func TestABatchIsTriedAgain(t *testing.T) {
	onLatePostgres(t, func(t *testing.T, _ *DB, w *fixture) {
		tried := 0
		collide := query{sql: "DO $$ BEGIN RAISE EXCEPTION 'again' USING ERRCODE = '" + serializationFailure + "'; END $$"}
		err := w.attempt(func(a *store) error {
			if tried++; tried < 3 {
				return a.batch(w.ctx, collide)
			}
			return a.batch(w.ctx, query{sql: "UPDATE academies SET name = ? WHERE id = ?", args: []any{fmt.Sprint("Try ", tried), w.academy}})
		})
		if err != nil {
			t.Fatal(err)
		}
		w.read(func(a *store) error {
			name, err := a.name(w.ctx)
			if name != "Try 3" {
				t.Errorf("got %q, want that of the third try", name)
			}
			return err
		})
		err = w.attempt(func(a *store) error { return a.batch(w.ctx, collide) })
		if pg, ok := errors.AsType[*pgconn.PgError](err); !ok || pg.Code != serializationFailure {
			t.Errorf("without end: got error %v, want the last collision", err)
		}
	})
}
