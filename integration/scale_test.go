package integration_test

import (
	"database/sql"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"fringework/api"
	"fringework/auth"
	"fringework/cmd/fringework/services"
	"fringework/domain"
	"fringework/repo"
)

// counted is a service that tells how many SQL statements a request cost.
type counted struct {
	*service
	db  *repo.DB
	all *services.Services
}

// count opens the service on a fresh database, wired as the program does, but
// for the counting.
func count(t testing.TB, e engine) *counted {
	t.Helper()
	c := &counted{service: &service{database: e.ready(t), transport: &http.Transport{}}}
	log := slog.New(slog.DiscardHandler)
	db, err := repo.Open(t.Context(), repo.Config{URL: c.database, Relaxed: true, Log: log})
	if err != nil {
		t.Fatal(err)
	}
	keys, err := auth.Ephemeral()
	if err != nil {
		t.Fatal(err)
	}
	s, err := services.New(db, domain.Env{Now: clock.Now, NewID: clock.NewID})
	if err != nil {
		t.Fatal(err)
	}
	signIn, err := s.Auth(keys, auth.CheapHashParams(), "http://localhost")
	if err != nil {
		t.Fatal(err)
	}
	signIn.AccessLife = time.Hour
	config := s.API(signIn, log)
	config.TrustedProxies = 1
	server := httptest.NewServer(api.New(config))
	c.db, c.all, c.url = db, s, server.URL
	t.Cleanup(func() {
		server.Close()
		if err := db.Close(); err != nil {
			t.Error(err)
		}
	})
	return c
}

// crowd is a coach with many students who have practised for two years, all in
// the same way but under other names.
type crowd struct {
	coach   *person
	student *person // the one whom the others are copies of
	skill   domain.ID
	// alone is how many statements the dashboard took before there were copies.
	alone int64
}

// mostStudents is how many students a coach has at most (design: 20 to 200).
const mostStudents = 200

// crowd makes a crowd whose students have some sessions each. One practises over
// HTTP; the rest are copies of what that left in the database.
func (c *counted) crowd(t testing.TB, name string, sessions int) crowd {
	t.Helper()
	owner := c.found(t, name, "Owner")
	coach := owner.join("Coach", object{"role": "coach"})
	student := coach.join("Student", object{"role": "student"})
	// Checking answers of this size against the description takes longer than
	// they take.
	coach.client = &http.Client{Transport: c.transport}
	student.client = coach.client
	skills := []domain.ID{coach.skill("Chip", pitchSteps()).ID, coach.skill("Pitch", pitchSteps()).ID, coach.skill("Bunker", pitchSteps()).ID}
	var weeks []domain.ID
	for range 35 {
		weeks = append(weeks, skills...)
	}
	programme := coach.publish(course("Two years", weeks[:104]...))
	const twoYears = 2 * 365 * 24
	as := coach.assign(programme, ago(twoYears), student)[0]
	for i := range sessions {
		o := sessionBody(1, ago(twoYears-i*twoYears/sessions), test(skills[i%3], in(3+i%6)+".+.+"))
		o["assignment_id"], o["week"], o["plan"] = as.ID, 1+i*104/sessions, 1
		student.store(newID(), o, 201)
	}
	of := crowd{coach: coach, student: student, skill: skills[0]}
	of.alone = c.dashboard(of, 1)
	copyStudent(t, c.database, student.id, mostStudents-1)
	return of
}

// dashboard is how many statements the dashboard of a crowd costs.
func (c *counted) dashboard(of crowd, students int) int64 {
	return c.statements(func() {
		if d := read[api.Dashboard](of.coach.caller, "/v1/dashboard"); len(d.Items) != students || d.Items[0].Sessions == 0 {
			of.coach.Fatalf("the dashboard shows %d students; want %d who have practised", len(d.Items), students)
		}
	})
}

// copyStudent makes copies of a student and of everything that is theirs. In
// each the last twelve digits of the identities that are the student's own are
// another number.
func copyStudent(t testing.TB, database string, student domain.ID, copies int) {
	t.Helper()
	db := openSQL(t, database)
	must := func(statement string) {
		t.Helper()
		if _, err := db.ExecContext(t.Context(), statement); err != nil {
			t.Fatalf("%s: %v", statement, err)
		}
	}
	db.SetMaxOpenConns(1)                             // the temporary table is this connection's
	hurry := "SET session_replication_role = replica" // no checks of foreign keys
	if strings.HasPrefix(database, "sqlite:") {
		hurry = "PRAGMA synchronous = OFF"
	}
	must(hurry)
	must("CREATE TEMPORARY TABLE copies (suffix text NOT NULL)")
	for i := range copies {
		must(fmt.Sprintf("INSERT INTO copies VALUES ('%012x')", i+1))
	}
	defer must("DROP TABLE copies")
	own := map[string]string{}
	for _, column := range []string{"id", "student_id", "account_id", "session_id", "assignment_id"} {
		own[column] = "substr(t." + column + ", 1, 24) || c.suffix"
	}
	account := map[string]string{"id": own["id"], "email": "t.email || c.suffix"}
	member := map[string]string{"id": own["id"], "account_id": own["account_id"], "name": "t.name || ' ' || c.suffix"}
	its := fmt.Sprintf("t.student_id = '%s'", student)
	for _, table := range []struct {
		name, where string
		own         map[string]string
	}{
		{"accounts", fmt.Sprintf("t.id = (SELECT account_id FROM members WHERE id = '%s')", student), account},
		{"members", fmt.Sprintf("t.id = '%s'", student), member},
		{"coach_links", its, own}, {"assignments", its, own}, {"sessions", its, own}, {"tracks", its, own},
		{"states", its, own}, {"skill_periods", its, own}, {"habits", its, own},
	} {
		columns := columnsOf(t, db, table.name)
		values := make([]string, len(columns))
		for i, column := range columns {
			if values[i] = table.own[column]; values[i] == "" {
				values[i] = "t." + column
			}
		}
		must(fmt.Sprintf("INSERT INTO %s (%s) SELECT %s FROM %s t, copies c WHERE %s",
			table.name, strings.Join(columns, ", "), strings.Join(values, ", "), table.name, table.where))
	}
	must("ANALYZE") // as databases do by themselves in time
}

func columnsOf(t testing.TB, db *sql.DB, table string) []string {
	t.Helper()
	rows, err := db.QueryContext(t.Context(), "SELECT * FROM "+table+" LIMIT 0")
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	columns, err := rows.Columns()
	if err = errors.Join(err, rows.Err()); err != nil {
		t.Fatal(err)
	}
	return columns
}

// statements is how many a request costs, the second time: the first may look up
// what is kept for the others.
func (c *counted) statements(ask func()) int64 {
	ask()
	before := c.db.Statements()
	ask()
	return c.db.Statements() - before
}

// The dashboard of 200 students costs a fixed number of statements, whatever
// they have practised; so does storing a session.
func TestScale(t *testing.T) {
	onBoth(t, func(t *testing.T, e engine) {
		c := count(t, e)
		short, long := c.crowd(t, "Short", 30), c.crowd(t, "Long", 150)
		few, many := c.dashboard(short, mostStudents), c.dashboard(long, mostStudents)
		const most = 19 // with the seasons
		if few != many || many != long.alone || many > most {
			t.Errorf("the dashboard takes %d statements for one student, %d for %d after 30 sessions each, %d after 150; want the same, at most %d",
				long.alone, few, mostStudents, many, most)
		}
		page := func(of crowd) int64 {
			return c.statements(func() { progressOf(of.coach.caller, of.student.id) })
		}
		if one := page(long); one > most {
			t.Errorf("the page of one student takes %d statements; want no more than %d", one, most)
		}
		hour := 0
		storing := func(of crowd) int64 {
			return c.statements(func() {
				hour++
				of.student.practise(ago(2*hour), test(of.skill, in(5)+"."))
			})
		}
		little, much := storing(short), storing(long)
		if little != much || much > 3*most {
			t.Errorf("storing a session takes %d statements after 30 sessions, %d after 150; want the same, at most %d", little, much, 3*most)
		}
	})
}

// BenchmarkDashboard is the dashboard of 200 students who have practised for two
// years, seldom and often; compare the two as a ratio.
func BenchmarkDashboard(b *testing.B) {
	for _, e := range engines {
		b.Run(e.name, func(b *testing.B) {
			c := count(b, e)
			for _, sessions := range []int{30, 300} {
				of := c.crowd(b, fmt.Sprint(sessions, " sessions"), sessions)
				b.Run(fmt.Sprint(sessions, " sessions"), func(b *testing.B) {
					for b.Loop() {
						of.coach.get("/v1/dashboard").want(200)
					}
				})
			}
		})
	}
}
