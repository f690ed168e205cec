package repo

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"fringework/auth"
	"fringework/domain"
	"fringework/domain/academy"
	"fringework/migrations"
)

// A database without room refuses to store, says so, and is not ready until it has
// room again.
func TestFullDatabaseIsUnavailable(t *testing.T) {
	db := openAt(t, engines[0].url(t))
	if db.engine != migrations.SQLite {
		t.Fatal("this test bounds the pages of SQLite")
	}
	w := newFixture(t, db)
	store := func(name string) error {
		return w.attempt(func(a *store) error {
			return a.SaveAcademy(w.ctx, academy.Academy{ID: w.academy, Name: name, TimeZone: "UTC", Challenge: 70})
		})
	}
	var pages int
	if err := db.writer.Raw("PRAGMA page_count").Scan(&pages).Error; err != nil {
		t.Fatal(err)
	}
	atMost := func(n int) {
		t.Helper()
		if err := db.writer.Exec(fmt.Sprintf("PRAGMA max_page_count = %d", n)).Error; err != nil {
			t.Fatal(err)
		}
	}
	atMost(pages)
	err := store(strings.Repeat("long ", 1<<20))
	wantUnavailable(t, "a full database", err, "storage_full")
	if err := db.Ready(w.ctx); !errors.Is(err, errFull) {
		t.Errorf("ready: %v, want that it is full", err)
	}
	atMost(pages + 1<<14)
	if err := errors.Join(store("Roomy"), db.Ready(w.ctx)); err != nil {
		t.Errorf("with room again: %v", err)
	}
}

func wantUnavailable(t *testing.T, what string, err error, code string) {
	t.Helper()
	e, ok := errors.AsType[*domain.Error](err)
	if !ok || e.Kind != domain.Unavailable || e.Code != code || e.RetryAfter < 1 {
		t.Errorf("%s: got %v, want it to be unavailable (%s)", what, err, code)
	}
}

// A database that is gone is told as such by every way to it, and is not ready.
func TestDatabaseThatIsGoneIsUnavailable(t *testing.T) {
	db := openAt(t, engines[1].url(t))
	w := newFixture(t, db)
	shutDown(t, db)
	store := db.Auth()
	for what, ask := range map[string]func() error{
		"Read": func() error {
			return store.Read(w.ctx, func(tx auth.Tx) error { _, err := tx.Academy(w.ctx, w.academy); return err })
		},
		"Write": func() error {
			return store.Write(w.ctx, func(tx auth.Tx) error { _, err := tx.Attempt(w.ctx, "b"); return err })
		},
		"MemberAccess": func() error { _, err := store.MemberAccess(w.ctx, newID(), w.academy, w.owner); return err },
		"Belonging":    func() error { _, _, err := store.Belonging(w.ctx, newID()); return err },
		"KeyAccess":    func() error { _, err := store.KeyAccess(w.ctx, w.academy, newID()); return err },
	} {
		wantUnavailable(t, what, ask(), "unavailable")
	}
	if db.Ready(w.ctx) == nil {
		t.Error("ready although the database takes no connections")
	}
}

// shutDown ends a database's connections, as an administrator does, and lets no others in.
func shutDown(t *testing.T, db *DB) {
	t.Helper()
	name := pgx.Identifier{db.config.Database}.Sanitize()
	other := db.config.Copy()
	other.Database = "postgres"
	conn, err := pgx.ConnectConfig(t.Context(), other)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(t.Context())
	for _, statement := range []string{
		"ALTER DATABASE " + name + " ALLOW_CONNECTIONS false",
		"SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '" + db.config.Database + "'",
	} {
		if _, err := conn.Exec(t.Context(), statement); err != nil {
			t.Fatal(err)
		}
	}
}

func TestWhatIsAway(t *testing.T) {
	pg := func(code string) error { return fmt.Errorf("on the way: %w", &pgconn.PgError{Code: code}) }
	for _, c := range []struct {
		err  error
		away bool
	}{
		{pg("57P01"), true}, {pg("53300"), true}, {pg("08006"), true}, {pg("40001"), true}, {pg("58030"), true}, {pg("25006"), true},
		{pg("57014"), false}, {pg("23505"), false}, {pg("42601"), false},
		{context.DeadlineExceeded, true}, {context.Canceled, false}, {io.ErrUnexpectedEOF, true}, {errBroken, false},
	} {
		if got := away(c.err); got != c.away {
			t.Errorf("%v: away is %v, want %v", c.err, got, c.away)
		}
	}
}
