package migrations_test

import (
	"database/sql"
	"encoding/json"
	"testing"
	"time"

	"fringework/migrations"
)

// TestTechniqueStaysEarned: what a database held when technique ceased to count is
// judged by the rule of then until that moment, which is noted with every tier.
func TestTechniqueStaysEarned(t *testing.T) {
	loose := map[migrations.Engine]string{migrations.SQLite: "PRAGMA foreign_keys = 0", migrations.Postgres: "SET session_replication_role = replica"}
	rows := map[string][2]string{ // ladder and tiers, by skill
		"open":   {`{"tiers":[]}`, `[{"run":4,"radius":15240,"holed":0},{"run":9,"radius":15240,"holed":1}]`},
		"strict": {`{"tiers":[],"test_only":true}`, `[{"run":4,"radius":15240,"holed":0,"open_until":1777888800000},{"run":9,"radius":9144,"holed":0}]`},
		"none":   {`{"tiers":[]}`, `[]`},
	}
	for _, e := range engines {
		t.Run(string(e.engine), func(t *testing.T) {
			db := e.open(t)
			db.SetMaxOpenConns(1) // what is set for one connection holds for all
			up(t, e.engine, db)
			if err := migrations.Down(t.Context(), e.engine, db, 14); err != nil {
				t.Fatal(err)
			}
			exec(t, db, loose[e.engine])
			for skill, row := range rows {
				exec(t, db, `INSERT INTO tracks (academy_id, student_id, skill_id, ladder, judged) VALUES ('a', 's', '`+skill+`', '`+row[0]+`', '`+row[1]+`')`)
			}
			from := time.Now().Add(-time.Minute).UnixMilli()
			up(t, e.engine, db)
			open, strict := judged(t, db, "open"), judged(t, db, "strict")
			if len(open) != 2 || open[0].Run != 4 || open[1].Run != 9 || open[1].Holed != 1 || open[1].Radius != 15240 {
				t.Errorf("an open ladder: %+v", open)
			}
			for _, tier := range open {
				if tier.Technique == nil || *tier.Technique < from || *tier.Technique > time.Now().Add(time.Minute).UnixMilli() || tier.Open != nil {
					t.Errorf("an open ladder: %+v, want technique until now", tier)
				}
			}
			if len(strict) != 2 || strict[0].Technique == nil || *strict[0].Technique != 1777888800000 || *strict[0].Open != 1777888800000 || strict[1].Technique != nil {
				t.Errorf("a ladder of tests: %+v, want the instant at which it became that", strict)
			}
			if got := judged(t, db, "none"); len(got) != 0 {
				t.Errorf("no tiers: %+v", got)
			}
			if err := migrations.Down(t.Context(), e.engine, db, 14); err != nil {
				t.Fatal(err)
			}
			if back := judged(t, db, "open"); len(back) != 2 || back[0].Technique != nil || back[0].Run != 4 {
				t.Errorf("taken back: %+v", back)
			}
		})
	}
}

type tier struct {
	Run, Radius, Holed int
	Open               *int64 `json:"open_until"`
	Technique          *int64 `json:"technique_until"`
}

func judged(t *testing.T, db *sql.DB, skill string) (tiers []tier) {
	t.Helper()
	var text string
	if err := db.QueryRowContext(t.Context(), `SELECT judged FROM tracks WHERE skill_id = '`+skill+`'`).Scan(&text); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal([]byte(text), &tiers); err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	return tiers
}

func exec(t *testing.T, db *sql.DB, query string) {
	t.Helper()
	if _, err := db.ExecContext(t.Context(), query); err != nil {
		t.Fatal(err)
	}
}
