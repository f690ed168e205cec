package academy_test

import (
	"fmt"
	"reflect"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/domaintest"
	"fringework/domain/practice"
	"fringework/domain/progress"
)

// TestDaysAndWeeks walks students through programmes of two weeks, which begin on
// every day of the week, over days on which calendars go wrong, each in the zones that
// the change concerns and in ones that are far away. It looks at the first and
// the last millisecond of each of their days, and has them practise in both.
func TestDaysAndWeeks(t *testing.T) {
	zones := []string{"UTC", "Europe/Lisbon", "Europe/Helsinki", "America/New_York", "America/St_Johns",
		"Pacific/Auckland", "Pacific/Kiritimati", "Pacific/Pago_Pago", "Asia/Kathmandu", "Australia/Lord_Howe"}
	for _, c := range []struct {
		why  string
		from domain.Date // the first of seven days on which a programme starts
	}{
		{"the US change to summer time, 8 March", domain.Date{Year: 2026, Month: 3, Day: 2}},
		{"Europe changes to summer time, 29 March", domain.Date{Year: 2026, Month: 3, Day: 23}},
		{"Europe changes back, 25 October, and the US, 1 November", domain.Date{Year: 2026, Month: 10, Day: 19}},
		{"the turn of the year, with week 53", domain.Date{Year: 2026, Month: 12, Day: 24}},
		{"29 February", domain.Date{Year: 2028, Month: 2, Day: 22}},
	} {
		t.Run(c.why, func(t *testing.T) {
			t.Parallel()
			for i, zone := range zones {
				walkDays(t, zone, c.from.AddDays(i%7))
			}
		})
	}
}

func walkDays(t *testing.T, name string, start domain.Date) {
	t.Helper()
	zone := must(domain.Zone(name))(t)
	h := open(t)
	must(h.people.ChangeMember(ctx, domaintest.AsAda, ada, 0, academy.MemberChange{TimeZone: &name}))(t)
	as := must(h.people.Assign(ctx, owner, academy.AssignRequest{Programme: h.programme, Version: 1, Students: []domain.ID{ada}, Start: start}))(t)[0]
	at := func(instant time.Time, on domain.Date, want academy.Position) {
		t.Helper()
		h.mem.Set(instant)
		n := must(h.reading.Now(ctx, coach, ada))(t)
		if n.On != on || len(n.Work) != 1 || n.Work[0].Position != want {
			t.Fatalf("%s, from %s, at %s: on %s %+v; want %s and %+v", name, start, instant, n.On, n.Work, on, want)
		}
		if w := n.Work[0]; want.Week > 0 && w.WeekStart != start.AddDays(7*(want.Week-1)) {
			t.Fatalf("%s, from %s: week %d begins on %s", name, start, want.Week, w.WeekStart)
		}
	}
	at(start.Start(zone).Add(-time.Millisecond), start.AddDays(-1), academy.Position{Phase: academy.Upcoming})
	perDay := 2
	var weeks []domain.Date
	for i := range 14 {
		day, next := start.AddDays(i), start.AddDays(i+1).Start(zone)
		want := academy.Position{Phase: academy.Running, Week: i/7 + 1, Day: i%7 + 1}
		for j, instant := range []time.Time{day.Start(zone), next.Add(-time.Millisecond)} {
			at(instant, day, want)
			h.practisedIn(name, domain.ID(fmt.Sprint("s", i, "-", j)), instant, as.ID, want.Week)
		}
		// Of the days so far, those since Monday count for this week.
		monday := day.Monday()
		if len(weeks) == 0 || weeks[len(weeks)-1] != monday {
			weeks = append(weeks, monday)
		}
		days := min(i, monday.DaysUntil(day)) + 1
		st := must(h.reading.Progress(ctx, coach, ada))(t)
		if want := (progress.Tally{Sessions: perDay * days, Balls: 30 * perDay * days, Inside: 30 * perDay * days, Seconds: 900 * perDay * days}); st.Skills[0].Week != want {
			t.Fatalf("%s, from %s, on %s: this week %+v; want %+v", name, start, day, st.Skills[0].Week, want)
		}
		if done := must(h.reading.Now(ctx, coach, ada))(t).Work[0].Done.Sessions[1]; done != perDay*(i%7+1) {
			t.Fatalf("%s, from %s, on %s: %d sessions done in the programme's week; want %d", name, start, day, done, perDay*(i%7+1))
		}
	}
	at(start.AddDays(14).Start(zone), start.AddDays(14), academy.Position{Phase: academy.Finished, Week: 2, Day: 7})
	var got []domain.Date
	for _, w := range must(h.reading.History(ctx, coach, ada, h.pitch.ID))(t).Weeks {
		got = append(got, w.Week)
	}
	if !reflect.DeepEqual(got, weeks) {
		t.Errorf("%s, from %s: practised in the weeks %v; want %v", name, start, got, weeks)
	}
}

// practisedIn lets Ada strike thirty pitches at an instant, in a zone.
func (h *fixture) practisedIn(zone string, id domain.ID, at time.Time, as domain.ID, week int) {
	h.t.Helper()
	must(h.practice.Put(ctx, domaintest.AsAda, practice.Session{
		ID: id, Student: ada, StartedAt: at, EndedAt: at, TimeZone: zone, Revision: 1,
		Assignment: as, Week: week, Plan: 1, Blocks: []practice.Block{testBlock(h.pitch.ID, 30)},
	}))(h.t)
}
