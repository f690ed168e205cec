//go:build unix

package main

import (
	"database/sql"
	"errors"
	"os"
	"strings"
	"testing"

	"fringework/integration/child"
)

func TestMain(m *testing.M) {
	if child.Role() != "" {
		os.Exit(serve())
	}
	os.Exit(m.Run())
}

// A few kills of what the command does many times. Nothing that was acknowledged
// is lost, and nothing is there or counted twice.
func TestCrash(t *testing.T) {
	for engine, kills := range map[string]int{sqliteEngine: 6, postgresEngine: 4} {
		t.Run(engine, func(t *testing.T) {
			t.Parallel()
			var out strings.Builder
			if err := trial(t.Context(), engine, kills, 1, &out); err != nil {
				t.Errorf("%v\n%s", err, &out)
			}
			t.Log(&out)
		})
	}
}

// What a crash could do is noticed when it is done on purpose.
func TestSpoiltDatabaseIsNoticed(t *testing.T) {
	const latest = " WHERE deleted_at IS NULL ORDER BY id DESC LIMIT 1"
	for name, c := range map[string]struct {
		statement string
		want      finding
	}{
		"a session is gone":            {"UPDATE sessions SET deleted_at = 1 WHERE id = (SELECT id FROM sessions" + latest + ")", lost},
		"a revision is gone":           {"UPDATE sessions SET revision = revision + 7 WHERE id = (SELECT id FROM sessions" + latest + ")", lost},
		"a ball is gone":               {"UPDATE sessions SET blocks = x'' WHERE id = (SELECT id FROM sessions" + latest + ")", lost},
		"a session counts twice":       {"UPDATE habits SET sessions = sessions + 1 WHERE student_id = (SELECT student_id FROM sessions" + latest + ")", doubled},
		"the log has a gap":            {"DELETE FROM events WHERE seq = 5", lost},
		"the log tells one twice":      {"INSERT INTO events SELECT academy_id, seq + 1, at, actor_id, kind, subject_id, student_id, data FROM events ORDER BY seq DESC LIMIT 1", doubled},
		"a row points nowhere":         {"UPDATE sessions SET assignment_id = 'none' WHERE id = (SELECT id FROM sessions" + latest + ")", lost},
		"progress is not the balls'":   {"UPDATE habits SET sessions = sessions + 1", differs},
		"nothing, which is no finding": {"UPDATE sessions SET revision = revision", ""},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			ctx := t.Context()
			var out strings.Builder
			s, err := open(ctx, sqliteEngine, 1, &out)
			if err != nil {
				t.Fatal(err)
			}
			defer s.close()
			if err := s.round(ctx); err != nil {
				t.Fatal(err)
			}
			db, err := sql.Open("sqlite", "file:"+s.file()+"?_pragma=busy_timeout(10000)")
			if err != nil {
				t.Fatal(err)
			}
			defer db.Close()
			result, err := db.ExecContext(ctx, c.statement)
			if err != nil {
				t.Fatal(err)
			}
			if n, err := result.RowsAffected(); err != nil || n == 0 {
				t.Fatalf("%d rows were spoilt (%v)", n, err)
			}
			check := func() error { return s.check(ctx, false) }
			if c.want == differs {
				check = func() error { return errors.Join(s.service.Stop(), s.behind(ctx)) }
			}
			if err := check(); err != nil {
				t.Fatal(err)
			}
			if c.want == "" && len(s.tally.found) > 0 || c.want != "" && s.tally.found[c.want] == 0 {
				t.Errorf("found %v; want %q\n%s", s.tally.found, c.want, &out)
			}
		})
	}
}
