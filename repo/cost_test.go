package repo

import (
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"regexp"
	"slices"
	"strings"
	"testing"

	"gorm.io/gorm"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/practice"
	"fringework/migrations"
)

// hot are the requests that people wait for. Each is run by somebody with a long
// history behind them.
func (c *careers) hot() map[string]func(ctx context.Context) error {
	student := c.students[0]
	as := domain.Actor{Academy: c.academy, Member: student, Role: domain.Student}
	read := academy.ReadService{Store: c.db.Reading(), Env: env(monday)}
	session := c.fresh(rand.New(rand.NewPCG(3, 4)), student, "")
	session.Week, session.Plan = 0, 0
	put := func(ctx context.Context) error {
		session.Revision++
		_, err := c.practice(monday).Put(ctx, as, session)
		return err
	}
	list := func(ctx context.Context) error {
		got, err := c.practice(monday).List(ctx, as, practice.SessionFilter{Student: student, Limit: 20})
		if len(got) != 20 {
			return fmt.Errorf("got %d sessions: %w", len(got), err)
		}
		return err
	}
	return map[string]func(ctx context.Context) error{
		"put":  put,
		"list": list,
		"page": func(ctx context.Context) error {
			got, err := c.practice(monday).List(ctx, as, practice.SessionFilter{Student: student, Before: monday.AddDate(0, 0, -20), BeforeID: student, Limit: 10})
			if len(got) != 10 {
				return fmt.Errorf("got %d sessions: %w", len(got), err)
			}
			return err
		},
		"get": func(ctx context.Context) error {
			_, err := c.practice(monday).Get(ctx, c.asOwner(), c.session)
			return err
		},
		"progress": func(ctx context.Context) error { _, err := read.Progress(ctx, as, student); return err },
		"now":      func(ctx context.Context) error { _, err := read.Now(ctx, as, student); return err },
		"dashboard": func(ctx context.Context) error {
			got, err := read.Dashboard(ctx, c.asOwner(), academy.DashboardFilter{})
			if len(got) < len(c.students) {
				return fmt.Errorf("got %d students: %w", len(got), err)
			}
			return err
		},
		"log": func(ctx context.Context) error {
			_, err := academy.EventService{Store: c.db.Events()}.Events(ctx, c.asOwner(), 3, 10)
			return err
		},
	}
}

// The number of statements of a request does not depend on how many students
// there are, nor on how long they have practised.
func TestStatementsAreFixed(t *testing.T) {
	// What each costs, so that a statement more is a choice and not an accident. The
	// dashboard is an owner's, who is told who has no coach, and whose messages are new.
	// Progress reads the last weeks of all skills at once for the load. All three say
	// what the latest rounds on the course came to, and read the seasons. Now reads the
	// student's clubs, too, where balls landed if there are stations, and who agreed to
	// quiet tests.
	limits := map[string]int{"put": 50, "list": 3, "page": 3, "get": 9, "progress": 11, "now": 12, "dashboard": 12, "log": 1}
	onEngines(t, func(t *testing.T, db *DB) {
		count := func(what string, fn func(context.Context) error) int {
			ctx, n := countStatements(t.Context(), nil)
			if err := fn(ctx); err != nil {
				t.Fatalf("%s: %v", what, err)
			}
			return n.count()
		}
		few, many := fillCareers(t, db, 2, 25), fillCareers(t, db, 6, 70)
		small, large := few.hot(), many.hot()
		for what := range small {
			a, b := count(what, small[what]), count(what, large[what])
			if a != b {
				t.Errorf("%s: %d statements with a few and %d with many", what, a, b)
			}
			if b > limits[what] {
				t.Errorf("%s: %d statements, want at most %d", what, b, limits[what])
			}
			t.Logf("%s: %d statements", what, b)
		}
	})
}

// statement is one that a request ran.
type statement struct {
	sql  string
	vars []any
}

// record gathers the statements that read or delete while fn runs.
func record(t *testing.T, db *DB, fn func(context.Context) error) (all []statement) {
	t.Helper()
	keep := func(text string, vars []any) {
		if strings.HasPrefix(text, "SELECT") || strings.HasPrefix(text, "DELETE") || strings.HasPrefix(text, "UPDATE") {
			all = append(all, statement{text, slices.Clone(vars)})
		}
	}
	note := func(tx *gorm.DB) { keep(tx.Statement.SQL.String(), tx.Statement.Vars) }
	ctx, count := countStatements(t.Context(), nil)
	count.batched = func(q query) { keep(spelled(q.sql, db.engine), q.args) }
	for _, pool := range []*gorm.DB{db.reader, db.writer} {
		cb := pool.Callback()
		for _, p := range []interface {
			Replace(string, func(*gorm.DB)) error
		}{cb.Query().After("gorm:query"), cb.Row().After("gorm:row"), cb.Raw().After("gorm:raw"), cb.Delete().After("gorm:delete"), cb.Update().After("gorm:update")} {
			if err := p.Replace("test:record", note); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := fn(ctx); err != nil {
		t.Fatal(err)
	}
	return all
}

// grown are the tables that grow with the years.
var grown = []string{"sessions", "skill_periods", "events", "comments", "rounds"}

// Every statement of a request is answered from an index that leads to what it
// needs, on a database in which a walk through a table would show.
func TestRequestsUseIndices(t *testing.T) {
	onEngines(t, func(t *testing.T, db *DB) {
		c := fillCareers(t, db, 30, 150)
		c.write(func(a *store) error {
			for range 3000 {
				if err := a.Record(c.ctx, domain.Event{At: monday, Kind: "ball.struck", Subject: c.student}); err != nil {
					return err
				}
			}
			return nil
		})
		if db.engine == migrations.Postgres {
			if err := db.writer.Exec("ANALYZE").Error; err != nil {
				t.Fatal(err)
			}
		}
		for what, fn := range c.hot() {
			for range 2 { // the second put extends the session of the first
				for _, s := range record(t, db, fn) {
					if db.engine == migrations.Postgres {
						checkPostgresPlan(t, db, what, s, 20*len(c.students))
					} else {
						checkSQLitePlan(t, db, what, s)
					}
				}
			}
		}
	})
}

var searched = regexp.MustCompile(`^(SCAN|SEARCH) (\w+)[^(]*(.*)`)

func checkSQLitePlan(t *testing.T, db *DB, what string, s statement) {
	t.Helper()
	aliases := map[string]string{"s": "sessions"}
	rows, err := db.SQL().QueryContext(t.Context(), "EXPLAIN QUERY PLAN "+s.sql, s.vars...)
	if err != nil {
		t.Fatalf("%s: %s: %v", what, s.sql, err)
	}
	defer rows.Close()
	for rows.Next() {
		var id, parent, unused int
		var detail string
		if err := rows.Scan(&id, &parent, &unused, &detail); err != nil {
			t.Fatal(err)
		}
		m := searched.FindStringSubmatch(detail)
		if m == nil {
			continue
		}
		name := m[2]
		if full, ok := aliases[name]; ok && strings.Contains(s.sql, full+" "+name) {
			name = full
		}
		narrow := strings.Contains(m[3], "AND") || strings.Contains(m[3], "seq>")
		if slices.Contains(grown, name) && (m[1] == "SCAN" || !narrow) {
			t.Errorf("%s: %s\n%s", what, detail, s.sql)
		}
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
}

// plan is a node of what EXPLAIN (FORMAT JSON) says.
type plan struct {
	Type    string  `json:"Node Type"`
	Table   string  `json:"Relation Name"`
	Rows    float64 `json:"Actual Rows"`
	Removed float64 `json:"Rows Removed by Filter"`
	Loops   float64 `json:"Actual Loops"`
	Plans   []plan
}

// checkPostgresPlan runs a statement that reads and counts the rows that it
// looked at in the tables that grow. Of others it looks at the plan alone.
func checkPostgresPlan(t *testing.T, db *DB, what string, s statement, most int) {
	t.Helper()
	explain := "EXPLAIN (FORMAT JSON) "
	if strings.HasPrefix(s.sql, "SELECT") {
		explain = "EXPLAIN (ANALYZE, FORMAT JSON) "
	}
	var text string
	if err := db.SQL().QueryRowContext(t.Context(), explain+s.sql, s.vars...).Scan(&text); err != nil {
		t.Fatalf("%s: %s: %v", what, s.sql, err)
	}
	var explained []struct{ Plan plan }
	if err := json.Unmarshal([]byte(text), &explained); err != nil {
		t.Fatal(err)
	}
	explained[0].Plan.walk(func(p plan) {
		if !slices.Contains(grown, p.Table) || p.Type == "ModifyTable" {
			return
		}
		if looked := (p.Rows + p.Removed) * p.Loops; looked > float64(most) || p.Type == "Seq Scan" {
			t.Errorf("%s: %s of %s looked at %.0f rows, want an index and at most %d\n%s", what, p.Type, p.Table, looked, most, s.sql)
		}
	})
}

func (p plan) walk(fn func(plan)) {
	fn(p)
	for _, child := range p.Plans {
		child.walk(fn)
	}
}
