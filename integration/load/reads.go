//go:build linux

package main

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"
)

// The academies that are read: how many students, and the sessions of two years
// at two a week.
const (
	crowd    = 200
	twoYears = 208
)

// reading asks for one address after another.
func reading(at *service, ask func(n int) (path, token string)) *side {
	s := &side{at: at}
	s.once = func(ctx context.Context, n int) error {
		path, token := ask(n)
		answer, _, err := send(ctx, "GET", at.url+path, token, nil)
		s.answer.Store(int64(len(answer)))
		return err
	}
	return s
}

// stored puts a body into the barest handler's database and reads it back.
func stored(ctx context.Context, at *service, body []byte) (*side, error) {
	id := string(newID())
	if _, _, err := send(ctx, "PUT", at.url+"/bodies/"+id, "", body); err != nil {
		return nil, err
	}
	return reading(at, func(int) (string, string) { return "/bodies/" + id, "" }), nil
}

// against duels an address with its own answer, stored.
func (b *bench) against(ctx context.Context, ours, theirs *service, ask func(n int) (path, token string)) (x, y *side, size int, err error) {
	path, token := ask(0)
	body, _, err := send(ctx, "GET", ours.url+path, token, nil)
	if err != nil {
		return nil, nil, 0, err
	}
	if y, err = stored(ctx, theirs, body); err != nil {
		return nil, nil, 0, err
	}
	x = reading(ours, ask)
	return x, y, len(body), b.duel(ctx, 1, x, y)
}

// measureStudent reads what the pages of a student are made of, in an academy
// of 200: of some with two years behind them, among others with less.
func measureStudent(ctx context.Context, b *bench, engine string) (table, error) {
	const long = 20
	t := table{title: "A student's pages, in an academy of 200 students, CPU of a request in ms, " + engine, theirs: "barest"}
	ours, theirs, err := b.pair(ctx, engine)
	if err != nil {
		return t, err
	}
	a, err := found(ctx, ours.url, crowd)
	if err != nil {
		return t, err
	}
	err = ours.seeded(ctx, func(seed seeder) error {
		if err := seed(a.only(a.students[:long]), twoYears, yesterday()); err != nil {
			return err
		}
		return seed(a.only(a.students[long:]), behind, yesterday())
	})
	if err != nil {
		return t, err
	}
	of := func(path string) func(int) (string, string) {
		return func(n int) (string, string) {
			s := a.students[n%long]
			return fmt.Sprintf(path, s.id), s.token
		}
	}
	t.notes = []string{fmt.Sprintf("Of %d students with %d sessions each, in turn; the others have %d.", long, twoYears, behind)}
	return t, b.profiled("student", ours, func() error {
		for _, r := range []struct {
			what string
			goal float64
			ask  func(int) (string, string)
		}{
			{"who am I", 0.2, func(n int) (string, string) { return "/v1/me", a.students[n%long].token }},
			{"now", 3, of("/v1/students/%s/now")},
			{"progress", 3, of("/v1/students/%s/progress")},
			{"history of a skill", 3, of("/v1/students/%s/skills/" + string(a.skills[1]) + "/history")},
		} {
			x, y, size, err := b.against(ctx, ours, theirs, r.ask)
			if err != nil {
				return err
			}
			t.rows = append(t.rows, row{fmt.Sprintf("%s (%s)", r.what, bytesText(float64(size))), ms(x.cost()), ms(y.cost()), x.cost(), atMostOf(r.goal, "ms")})
		}
		return nil
	})
}

// only is the academy as if it had these students alone.
func (a *academy) only(students []*student) *academy {
	return &academy{id: a.id, coach: a.coach, skills: a.skills, students: students, start: a.start, from: a.from}
}

// measureDashboard reads the dashboard of 200 students with two years behind
// each.
func measureDashboard(ctx context.Context, b *bench, engine string) (table, error) {
	t := table{title: "The dashboard of 200 students with two years behind each, CPU of a request, " + engine, theirs: "barest"}
	ours, theirs, err := b.pair(ctx, engine)
	if err != nil {
		return t, err
	}
	a, err := found(ctx, ours.url, crowd)
	if err != nil {
		return t, err
	}
	if err := ours.seeded(ctx, func(seed seeder) error { return seed(a, twoYears, yesterday()) }); err != nil {
		return t, err
	}
	return t, b.profiled("dashboard", ours, func() error {
		x, y, size, err := b.against(ctx, ours, theirs, func(int) (string, string) { return "/v1/dashboard", a.coach })
		if err != nil {
			return err
		}
		t.rows = []row{{fmt.Sprintf("all of it (%s)", bytesText(float64(size))), ms(x.cost()), ms(y.cost()), ratios(x.costs, y.costs), atMost(6)}}
		return b.unchanged(ctx, &t, ours, a.coach)
	})
}

// unchanged reads the dashboard with and without the tag of what is there.
func (b *bench) unchanged(ctx context.Context, t *table, ours *service, token string) error {
	_, h, err := send(ctx, "GET", ours.url+"/v1/dashboard", token, nil)
	if err != nil {
		return err
	}
	var whole, asked sync.Map
	tagged := &side{at: ours, once: func(ctx context.Context, n int) error {
		body, now, err := send(ctx, "GET", ours.url+"/v1/dashboard", token, nil, "If-None-Match", h.Get("ETag"))
		asked.Store(n, true)
		if err == nil && len(body) > 0 {
			whole.Store(n, true)
			h = now
		}
		return err
	}}
	plain := reading(ours, func(int) (string, string) { return "/v1/dashboard", token })
	if err := b.duel(ctx, 1, tagged, plain); err != nil {
		return err
	}
	t.rows = append(t.rows, row{"a 304, against a 200", ms(tagged.cost()), ms(plain.cost()), ratios(tagged.costs, plain.costs), atMost(0.1)})
	if n := length(&whole); n > 0 {
		t.notes = append(t.notes, fmt.Sprintf("%d of the %d requests with the tag were answered with the whole.", n, length(&asked)))
	}
	return nil
}

func length(m *sync.Map) (n int) {
	m.Range(func(any, any) bool { n++; return true })
	return n
}

// yesterday is when careers end that go on to the present.
func yesterday() time.Time { return time.Now().UTC().Add(-24 * time.Hour).Truncate(time.Hour) }

// measureSpans reads the dashboard of students with a month and with five years
// behind them, in databases of their own.
func measureSpans(ctx context.Context, b *bench, engine string) (table, error) {
	const students, month, fiveYears = 50, 8, 520
	t := table{title: fmt.Sprintf("The dashboard of %d students after five years against a month, CPU, %s", students, engine), theirs: "a month"}
	short, long, err := b.two(ctx, engine, students, month, fiveYears, func(*service) error { return nil })
	if err != nil {
		return t, err
	}
	return t, b.profiled("spans", long.at, func() error {
		err := b.duel(ctx, 1, long, short)
		longKB, shortKB := float64(long.answer.Load())/1000, float64(short.answer.Load())/1000
		more := ratios(long.costs, short.costs)
		t.rows = []row{
			{"dashboard", ms(long.cost()), ms(short.cost()), more, atMost(1.1)},
			{"  a kB of its answer", ms(long.cost() / longKB), ms(short.cost() / shortKB), more * shortKB / longKB, nil},
		}
		t.notes = []string{fmt.Sprintf("The answers are %.1f kB and %.1f kB: after a month most students have no step passed and no advice yet.", longKB, shortKB)}
		return err
	})
}

// two makes two databases with the same number of students and gives the sides
// that read their dashboards; crowding makes the second fuller yet.
func (b *bench) two(ctx context.Context, engine string, students, few, many int, crowding func(*service) error) (x, y *side, err error) {
	var sides [2]*side
	for i, sessions := range []int{few, many} {
		s, err := b.serve(ctx, engine, serviceRole)
		if err != nil {
			return nil, nil, err
		}
		a, err := found(ctx, s.url, students)
		if err != nil {
			return nil, nil, err
		}
		err = s.seeded(ctx, func(seed seeder) error { return seed(a, sessions, yesterday()) })
		if err == nil && i == 1 {
			err = crowding(s)
		}
		if err != nil {
			return nil, nil, err
		}
		sides[i] = reading(s, func(int) (string, string) { return "/v1/dashboard", a.coach })
	}
	return sides[0], sides[1], nil
}

// measureAcademies reads the dashboard of an academy that is alone in its
// database and of one among two hundred.
func measureAcademies(ctx context.Context, b *bench, engine string) (table, error) {
	const students, sessions, others, theirs = 20, 30, 199, 3
	t := table{title: fmt.Sprintf("The dashboard of %d students among 200 academies against alone, CPU, %s", students, engine), theirs: "alone"}
	alone, among, err := b.two(ctx, engine, students, sessions, sessions, func(s *service) error {
		academies, err := b.manyAcademies(ctx, s.url, others, theirs)
		if err != nil {
			return err
		}
		return s.seeded(ctx, func(seed seeder) error {
			for _, a := range academies {
				if err := seed(a, sessions, yesterday()); err != nil {
					return err
				}
			}
			return nil
		})
	})
	if err != nil {
		return t, err
	}
	return t, b.profiled("academies", among.at, func() error {
		err := b.duel(ctx, 1, among, alone)
		t.rows = []row{{"dashboard", ms(among.cost()), ms(alone.cost()), ratios(among.costs, alone.costs), atMost(1.1)}}
		t.notes = []string{fmt.Sprintf("The other %d have %d students each with %d sessions.", others, theirs, sessions)}
		return err
	})
}

// manyAcademies founds academies, a few at a time.
func (b *bench) manyAcademies(ctx context.Context, base string, n, students int) ([]*academy, error) {
	academies, errs := make([]*academy, n), make([]error, n)
	turns := make(chan int)
	var all sync.WaitGroup
	for range 4 {
		all.Go(func() {
			for i := range turns {
				academies[i], errs[i] = found(ctx, base, students)
			}
		})
	}
	for i := range n {
		turns <- i
	}
	close(turns)
	all.Wait()
	return academies, errors.Join(errs...)
}
