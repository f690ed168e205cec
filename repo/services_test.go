package repo_test

import (
	"context"
	"database/sql"
	"encoding/binary"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	_ "github.com/jackc/pgx/v5/stdlib"
	"github.com/pressly/goose/v3"
	_ "modernc.org/sqlite"

	"fringework/auth"
	"fringework/cmd/fringework/services"
	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/domaintest"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/integration/postgres"
	"fringework/repo"
)

var quiet = slog.New(slog.DiscardHandler)

// before is the last step of the schema that kept progress in rows.
const before = 5

// carried are the tables that were there at that step and still are, in an
// order in which they can be filled.
var carried = []string{
	"accounts", "academies", "members", "coach_links", "guardianships", "student_groups", "group_students", "skills", "programmes", "versions",
	"assignments", "sessions", "comments", "tracks", "acknowledgements", "events",
}

// A database of an earlier release, with people who practised, serves the same
// as one made by this release, once its progress was made anew; and that is
// done once.
func TestOlderDatabase(t *testing.T) {
	for _, e := range []struct {
		name, driver string
		dialect      goose.Dialect
		url          func(testing.TB) string
		open         func(url string) string
	}{
		{"sqlite", "sqlite", goose.DialectSQLite3, func(t testing.TB) string { return "sqlite:" + filepath.Join(t.TempDir(), "academy.db") },
			func(url string) string {
				return "file:" + strings.TrimPrefix(url, "sqlite:") + "?_pragma=foreign_keys(1)"
			}},
		{"postgres", "pgx", goose.DialectPostgres, postgres.Database, func(url string) string { return url }},
	} {
		t.Run(e.name, func(t *testing.T) {
			t.Parallel()
			ctx := t.Context()
			now, old := e.url(t), e.url(t)
			made := open(t, now)
			stores := repo.StoresOf(ctx, made)
			f := domaintest.NewFixture(t, stores)
			f.Put(t, f.Planned(f.Session, 2, 9))
			// What an older release could not say is not said.
			execute(t, made.SQL(), "UPDATE assignments SET tests = 0")
			want := kept(t, made, f)

			from, to := openSQL(t, e.driver, e.open(now)), openSQL(t, e.driver, e.open(old))
			steps, err := goose.NewProvider(e.dialect, to, os.DirFS(filepath.Join("..", "migrations", e.name)))
			if err == nil {
				_, err = steps.UpTo(ctx, before)
			}
			if err != nil {
				t.Fatal(err)
			}
			for _, table := range carried {
				carry(t, from, to, table)
			}
			carryBlocks(t, from, to)
			// What that release kept of progress goes, whatever it was.
			execute(t, to, fmt.Sprintf("INSERT INTO digests SELECT s.academy_id, s.id, b.skill_id, s.student_id, s.started_at, '2026-04-13', 1, 0, 0, 0, 0, 0, 0, 0"+
				" FROM sessions s JOIN session_blocks b ON b.academy_id = s.academy_id AND b.session_id = s.id WHERE s.id = '%s' AND b.position = 1", f.Session))
			execute(t, to, fmt.Sprintf("INSERT INTO milestones SELECT academy_id, student_id, skill_id, 4, 2000, 0, '%s', 3, 4, 0 FROM tracks WHERE skill_id = '%s'", f.Session, f.Pitch))
			to.Close()

			db := open(t, old)
			if d := cmp.Diff(blocksOf(t, from), blocksOf(t, db.SQL())); d != "" {
				t.Errorf("the blocks of the sessions (-want +got)\n%s", d)
			}
			all, err := services.New(db, domain.Env{Now: f.Now, NewID: func() domain.ID { t.Error("preparing makes an identity"); return "" }})
			if err != nil {
				t.Fatal(err)
			}
			if outdated, err := db.Outdated(ctx); err != nil || !slices.Equal(outdated, []domain.ID{f.Academy}) {
				t.Errorf("outdated are %v (%v), want the academy", outdated, err)
			}
			if err := all.Prepare(ctx, quiet); err != nil {
				t.Fatal(err)
			}
			if outdated, err := db.Outdated(ctx); err != nil || len(outdated) != 0 {
				t.Errorf("outdated afterwards are %v (%v), want none", outdated, err)
			}
			students, found, err := all.Rebuild.Rebuild(ctx, f.Academy, false)
			if err != nil || students != 2 || len(found) > 0 {
				t.Errorf("a rebuild of %d students finds %v (%v), want two without a difference", students, found, err)
			}
			if d := cmp.Diff(want, kept(t, db, f), noted); d != "" {
				t.Errorf("what is kept (-want +got)\n%s", d)
			}
			for _, state := range kept(t, db, f)[0].(practice.Kept).States {
				if state.TechniqueUntil.IsZero() {
					t.Errorf("%s: nothing says until when technique counted", state.Skill)
				}
			}
			// It goes on as if nothing had been.
			g := f.Over(repo.StoresOf(ctx, db))
			for _, x := range []*domaintest.Fixture{f, g} {
				x.Put(t, x.Planned(x.Session, 3, 2))
			}
			if d := cmp.Diff(kept(t, made, f), kept(t, db, f), noted); d != "" {
				t.Errorf("what is kept after an upload (-want +got)\n%s", d)
			}
		})
	}
}

// noted leaves out what only an older database has: when technique ceased to count.
var noted = cmpopts.IgnoreFields(progress.State{}, "TechniqueUntil")

// A session that went on and paused is told of once, five minutes after it last
// grew.
func TestPausedSessionsAreTold(t *testing.T) {
	for name, url := range map[string]func(testing.TB) string{
		"sqlite":   func(t testing.TB) string { return "sqlite:" + filepath.Join(t.TempDir(), "academy.db") },
		"postgres": postgres.Database,
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			ctx := t.Context()
			db := open(t, url(t))
			f := domaintest.NewFixture(t, repo.StoresOf(ctx, db))
			told := func(after time.Duration) (about []string) {
				t.Helper()
				all, err := services.New(db, domain.Env{Now: func() time.Time { return f.Now().Add(after) }, NewID: func() domain.ID { return "" }})
				if err == nil {
					err = all.TellPaused(ctx)
				}
				if err != nil {
					t.Fatal(err)
				}
				events, err := all.Events.Events(ctx, f.Actor(), 0, 1000)
				if err != nil {
					t.Fatal(err)
				}
				for _, e := range events {
					if e.Subject == f.Growing {
						about = append(about, fmt.Sprint(e.Kind, " ", e.Data["revision"], " ", e.At.Sub(f.Now())))
					}
				}
				return about
			}
			stored, first := "session.stored 1 0s", "session.extended 2 6m0s"
			for _, c := range []struct {
				after time.Duration
				want  []string
			}{{4 * time.Minute, []string{stored}}, {6 * time.Minute, []string{stored, first}}, {60 * time.Minute, []string{stored, first}}} {
				if got := told(c.after); !slices.Equal(got, c.want) {
					t.Errorf("after %v the log tells %v, want %v", c.after, got, c.want)
				}
			}
			f.Put(t, f.GoingOn(3))
			f.Put(t, f.GoingOn(4))
			if got, want := told(7*time.Minute), []string{stored, first, "session.extended 4 7m0s"}; !slices.Equal(got, want) {
				t.Errorf("after it went on the log tells %v, want %v", got, want)
			}
		})
	}
}

func open(t *testing.T, url string) *repo.DB {
	t.Helper()
	db, err := repo.Open(t.Context(), repo.Config{URL: url, Relaxed: true, Log: quiet})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close() })
	keys, err := auth.Ephemeral()
	if err != nil {
		t.Fatal(err)
	}
	db.UseVault(auth.NewVault(func() *auth.Keyring { return keys }, time.Now))
	return db
}

func openSQL(t *testing.T, driver, name string) *sql.DB {
	t.Helper()
	db, err := sql.Open(driver, name)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	return db
}

func execute(t *testing.T, db *sql.DB, statement string) {
	t.Helper()
	if result, err := db.ExecContext(t.Context(), statement); err != nil {
		t.Fatalf("%s: %v", statement, err)
	} else if n, err := result.RowsAffected(); n != 1 || err != nil {
		t.Fatalf("%s: %d rows (%v), want 1", statement, n, err)
	}
}

func columnsOf(t *testing.T, db *sql.DB, table string) []*sql.ColumnType {
	t.Helper()
	rows, err := db.QueryContext(t.Context(), "SELECT * FROM "+table+" LIMIT 0")
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	columns, err := rows.ColumnTypes()
	if err = errors.Join(err, rows.Err()); err != nil {
		t.Fatal(err)
	}
	return columns
}

// carry copies a table, as far as the other has its columns.
func carry(t *testing.T, from, to *sql.DB, table string) {
	t.Helper()
	columns := columnsOf(t, to, table)
	var names, places []string
	for i, c := range columns {
		names, places = append(names, c.Name()), append(places, fmt.Sprintf("$%d", i+1))
	}
	list := strings.Join(names, ", ")
	rows, err := from.QueryContext(t.Context(), "SELECT "+list+" FROM "+table)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	for rows.Next() {
		values, into := make([]any, len(names)), make([]any, len(names))
		for i := range values {
			into[i] = &values[i]
		}
		if err := rows.Scan(into...); err != nil {
			t.Fatal(err)
		}
		for i, v := range values {
			if b, ok := v.([]byte); ok && !slices.Contains([]string{"BYTEA", "BLOB"}, columns[i].DatabaseTypeName()) {
				values[i] = string(b) // a document
			}
		}
		if _, err := to.ExecContext(t.Context(), "INSERT INTO "+table+" ("+list+") VALUES ("+strings.Join(places, ", ")+")", values...); err != nil {
			t.Fatalf("%s: %v", table, err)
		}
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
}

// blocksOf gives the blocks of all sessions as they are kept, by session.
func blocksOf(t *testing.T, db *sql.DB) map[string][]byte {
	t.Helper()
	rows, err := db.QueryContext(t.Context(), "SELECT academy_id || ' ' || id, blocks FROM sessions")
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	found := map[string][]byte{}
	for rows.Next() {
		var session string
		var blocks []byte
		if err := rows.Scan(&session, &blocks); err != nil {
			t.Fatal(err)
		}
		found[session] = blocks
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return found
}

// carryBlocks writes the blocks of all sessions as rows of their own, as they
// once were.
func carryBlocks(t *testing.T, from, to *sql.DB) {
	t.Helper()
	blocks, attested := 0, 0
	for session, packed := range blocksOf(t, from) {
		academy, id, _ := strings.Cut(session, " ")
		take := func(n int) []byte {
			b := packed[:n]
			packed = packed[n:]
			return b
		}
		number := func() any { return int64(binary.BigEndian.Uint32(take(4))) }
		if len(packed) > 0 && take(1)[0] != 1 {
			t.Fatalf("%s: unknown version", session)
		}
		for position := 1; len(packed) > 0; position++ {
			blocks++
			row := []any{academy, id, position}
			for range 7 { // plan block, radius, seconds, planned, balls, inside, holed
				row = append(row, number())
			}
			if counts := make([]any, 4); take(1)[0] == 0 {
				row = append(row, counts...)
			} else {
				attested++
				row = append(row, number(), number(), number(), number())
			}
			kind, skill := string(take(int(number().(int64)))), string(take(int(number().(int64))))
			row = append(row, kind, skill, take(int(number().(int64))))
			places := make([]string, len(row))
			for i := range places {
				places[i] = fmt.Sprintf("$%d", i+1)
			}
			if _, err := to.ExecContext(t.Context(), "INSERT INTO session_blocks (academy_id, session_id, position, plan_block, radius, seconds, planned,"+
				" balls, inside, holed, attested_balls, attested_inside, attested_holed, attested_best, kind, skill_id, packed) VALUES ("+strings.Join(places, ", ")+")", row...); err != nil {
				t.Fatal(err)
			}
		}
	}
	if blocks < 4 || attested < 1 {
		t.Errorf("%d blocks, %d of them attested, say too little", blocks, attested)
	}
}

// kept is everything that follows from the sessions of a fixture's students.
func kept(t *testing.T, db *repo.DB, f *domaintest.Fixture) (all []any) {
	t.Helper()
	ctx := context.Background()
	for _, student := range []domain.ID{f.Student, f.Spare} {
		err := db.Rebuilding().Read(ctx, f.Academy, func(tx practice.RebuildStore) error {
			k, err := tx.Kept(ctx, student)
			all = append(all, k)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	err := db.Reading().Read(ctx, f.Academy, func(tx academy.ReadStore) error {
		kept, err := tx.Stored(ctx, []domain.ID{f.Student})
		all = append(all, kept.Assignments)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}
