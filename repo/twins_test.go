package repo

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fringework/domain"
	"fringework/domain/domaintest"
)

// scoped gives the scope that a store is opened on.
func (s *scope) scoped() *scope { return s }

// undo takes a transaction back once all its statements have run, those that
// end it included.
func undo(store any) error {
	s := store.(interface{ scoped() *scope }).scoped()
	s.last = append(s.last, query{
		sql: "SELECT id FROM academies WHERE id = ?", args: []any{s.id},
		row: func(func(...any) error) error { return domaintest.ErrUndo },
	})
	return nil
}

// onlyUndone reports whether a transaction failed for being taken back alone.
func onlyUndone(err error) bool {
	return err != nil && strings.TrimSpace(err.Error()) == domaintest.ErrUndo.Error()
}

// forget empties a cache.
func forget(c *versionCache) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.known = nil
}

// No call by another academy changes a row: the exam sees what the stores show,
// this what is there.
func TestAnotherAcademyChangesNothing(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		stores := StoresOf(t.Context(), db)
		f := domaintest.NewFixture(t, stores)
		before := snapshot(t, db, f.Academy)
		for _, c := range domaintest.Calls() {
			_, _ = c.Run(t.Context(), stores, f.NewAcademy(t), f, func(any) error { return nil })
			if after := snapshot(t, db, f.Academy); after != before {
				t.Fatalf("%s as another academy: the rows changed (-before +after)\n%s", c, cmp.Diff(strings.Split(before, "\n"), strings.Split(after, "\n")))
			}
		}
	})
}

// snapshot writes every row of an academy, table by table.
func snapshot(t *testing.T, db *DB, academy domain.ID) string {
	t.Helper()
	var b strings.Builder
	for _, table := range academyTables {
		var rows []map[string]any
		if err := db.writer.Table(table).Where("academy_id = ?", academy).Find(&rows).Error; err != nil {
			t.Fatal(err)
		}
		lines := make([]string, len(rows))
		for i, r := range rows {
			var line strings.Builder
			for _, k := range slices.Sorted(maps.Keys(r)) {
				fmt.Fprintf(&line, "%s=%v ", k, r[k])
			}
			lines[i] = line.String()
		}
		slices.Sort(lines)
		for _, line := range lines {
			fmt.Fprintf(&b, "%s: %s\n", table, line)
		}
	}
	return b.String()
}

var academyTables = []string{
	"members", "coach_links", "guardianships", "student_groups", "group_students", "invitations", "app_keys", "events",
	"skills", "programmes", "versions", "assignments", "sessions", "comments", "tracks", "states",
	"skill_periods", "habits", "priors", "insights", "adjustments", "acknowledgements", "messages", "message_reads", "report_links", "rounds", "round_tallies", "bags", "quiet_words", "seasons", "lessons", "lesson_media", "lesson_parts", "invitation_programmes", "webhooks", "webhook_deliveries", "told_reasons", "calendars", "digests", "erased_practice",
}

// Every statement of an academy's store names the academy.
func TestEveryStatementNamesTheAcademy(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		stores := StoresOf(t.Context(), db)
		f := domaintest.NewFixture(t, stores)
		for _, c := range domaintest.Calls() {
			ctx, count := countStatements(t.Context(), func(sql string) {
				if !strings.Contains(sql, "academy_id") && !strings.Contains(sql, "academies") && !strings.Contains(sql, "pg_advisory_xact_lock") {
					t.Errorf("%s: a statement without academy: %s", c, sql)
				}
			})
			forget(&db.versions)
			if _, err := c.Run(ctx, stores, f.Academy, f, undo); !onlyUndone(err) {
				t.Errorf("%s: %v", c, err)
			}
			if count.count() < 2 { // the last takes it back
				t.Errorf("%s: no statement was counted", c)
			}
		}
	})
}
