package academy_test

import (
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"

	"pgregory.net/rapid"
)

// may gives a day of May 2026, which began on a Friday; the 4th is a Monday.
func may(day int) domain.Date {
	return domain.Date{Year: 2026, Month: time.May, Day: 1}.AddDays(day - 1)
}

func pause(from, until int) academy.Pause {
	p := academy.Pause{From: may(from)}
	if until > 0 {
		p.Until = may(until)
	}
	return p
}

func TestPosition(t *testing.T) {
	type at struct {
		day  int
		want academy.Position
	}
	const (
		upcoming = academy.Upcoming
		running  = academy.Running
		paused   = academy.Paused
		finished = academy.Finished
		ended    = academy.Ended
	)
	for _, c := range []struct {
		why    string
		pauses []academy.Pause
		ended  bool
		want   []at
	}{
		{"no pause", nil, false, []at{
			{3, academy.Position{Phase: upcoming}}, {4, academy.Position{Phase: running, Week: 1, Day: 1}}, {10, academy.Position{Phase: running, Week: 1, Day: 7}},
			{11, academy.Position{Phase: running, Week: 2, Day: 1}}, {17, academy.Position{Phase: running, Week: 2, Day: 7}},
			{18, academy.Position{Phase: finished, Week: 2, Day: 7}}, {400, academy.Position{Phase: finished, Week: 2, Day: 7}},
		}},
		{"an open pause", []academy.Pause{pause(6, 0)}, false, []at{
			{5, academy.Position{Phase: running, Week: 1, Day: 2}}, {6, academy.Position{Phase: paused, Week: 1, Day: 3}}, {90, academy.Position{Phase: paused, Week: 1, Day: 3}},
		}},
		{"a pause that is over", []academy.Pause{pause(6, 9)}, false, []at{
			{8, academy.Position{Phase: paused, Week: 1, Day: 3, Until: may(9)}}, {9, academy.Position{Phase: running, Week: 1, Day: 3}},
			{13, academy.Position{Phase: running, Week: 1, Day: 7}}, {14, academy.Position{Phase: running, Week: 2, Day: 1}},
			{20, academy.Position{Phase: running, Week: 2, Day: 7}}, {21, academy.Position{Phase: finished, Week: 2, Day: 7}},
		}},
		{"two pauses that touch", []academy.Pause{pause(6, 8), pause(8, 10)}, false, []at{
			{7, academy.Position{Phase: paused, Week: 1, Day: 3, Until: may(10)}}, {9, academy.Position{Phase: paused, Week: 1, Day: 3, Until: may(10)}}, {10, academy.Position{Phase: running, Week: 1, Day: 3}},
		}},
		{"from the first day", []academy.Pause{pause(4, 6)}, false, []at{
			{3, academy.Position{Phase: upcoming}}, {4, academy.Position{Phase: paused, Week: 1, Day: 1, Until: may(6)}}, {6, academy.Position{Phase: running, Week: 1, Day: 1}},
		}},
		{"over the end of a week", []academy.Pause{pause(10, 13)}, false, []at{
			{10, academy.Position{Phase: paused, Week: 1, Day: 7, Until: may(13)}}, {13, academy.Position{Phase: running, Week: 1, Day: 7}}, {14, academy.Position{Phase: running, Week: 2, Day: 1}},
		}},
		{"from the first day of a week", []academy.Pause{pause(11, 14)}, false, []at{
			{10, academy.Position{Phase: running, Week: 1, Day: 7}}, {11, academy.Position{Phase: paused, Week: 2, Day: 1, Until: may(14)}}, {14, academy.Position{Phase: running, Week: 2, Day: 1}},
		}},
		{"after the last day", []academy.Pause{pause(18, 0)}, false, []at{{18, academy.Position{Phase: finished, Week: 2, Day: 7}}}},
		{"planned for later", []academy.Pause{pause(6, 8), pause(15, 0)}, false, []at{{9, academy.Position{Phase: running, Week: 1, Day: 4}}}},
		{"ended", []academy.Pause{pause(6, 8)}, true, []at{
			{3, academy.Position{Phase: ended}}, {7, academy.Position{Phase: ended, Week: 1, Day: 3}}, {30, academy.Position{Phase: ended, Week: 2, Day: 7}},
		}},
	} {
		as := academy.Assignment{Start: may(4), Pauses: c.pauses}
		if c.ended {
			as.EndedAt = now
		}
		for _, at := range c.want {
			if got := as.On(may(at.day), 2); got != at.want {
				t.Errorf("%s, %v: got %+v, want %+v", c.why, may(at.day), got, at.want)
			}
		}
	}
}

func TestWeekStart(t *testing.T) {
	for _, c := range []struct {
		why    string
		pauses []academy.Pause
		want   [3]int // the days of May on which weeks 1 to 3 begin
	}{
		{"no pause", nil, [3]int{4, 11, 18}},
		{"a pause inside week 1", []academy.Pause{pause(6, 9)}, [3]int{4, 14, 21}},
		{"two pauses", []academy.Pause{pause(6, 9), pause(16, 18)}, [3]int{4, 14, 23}},
		{"two that touch, over the end of week 1", []academy.Pause{pause(9, 11), pause(11, 14)}, [3]int{4, 16, 23}},
		{"from the first day", []academy.Pause{pause(4, 6)}, [3]int{6, 13, 20}},
		{"from the first day of week 2", []academy.Pause{pause(11, 14)}, [3]int{4, 14, 21}},
		{"just before week 3", []academy.Pause{pause(17, 19)}, [3]int{4, 11, 20}},
		{"an open pause", []academy.Pause{pause(6, 9), pause(12, 0)}, [3]int{4, 14, 21}},
	} {
		as := academy.Assignment{Start: may(4), Pauses: c.pauses}
		for i, day := range c.want {
			if got := as.WeekStart(i + 1); got != may(day) {
				t.Errorf("%s: week %d begins on %v, want %v", c.why, i+1, got, may(day))
			}
		}
	}
}

func TestPlanned(t *testing.T) {
	weeks := []curriculum.Week{{Plans: []curriculum.Plan{{Times: 2}, {Times: 1}}}, {Plans: []curriculum.Plan{{Times: 1}}}}
	as := academy.Assignment{Start: may(4), Pauses: []academy.Pause{pause(7, 12)}}
	// Three sessions in the first week: by its day 3 one, day 5 two, day 7
	// three; the pause takes five days out after day 3.
	for day, want := range map[int]int{3: 0, 4: 0, 5: 0, 6: 1, 7: 1, 11: 1, 12: 1, 13: 2, 15: 3, 16: 3, 21: 3, 22: 4, 60: 4} {
		if got := as.Planned(may(day), weeks); got != want {
			t.Errorf("by %v: got %d planned, want %d", may(day), got, want)
		}
	}
}

// TestCalendarProperty walks the days of random assignments and counts those
// that are not paused.
func TestCalendarProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		weeks := rapid.IntRange(1, 6).Draw(t, "weeks")
		as := academy.Assignment{Start: may(rapid.IntRange(-400, 400).Draw(t, "start"))}
		from := as.Start
		for range rapid.IntRange(0, 4).Draw(t, "pauses") {
			from = from.AddDays(rapid.IntRange(0, 12).Draw(t, "gap"))
			p := academy.Pause{From: from}
			from = from.AddDays(rapid.IntRange(1, 12).Draw(t, "length"))
			p.Until = from
			as.Pauses = append(as.Pauses, p)
		}
		open := len(as.Pauses) > 0 && rapid.Bool().Draw(t, "open")
		if open {
			as.Pauses[len(as.Pauses)-1].Until = domain.Date{}
		}
		content := make([]curriculum.Week, weeks)
		for i := range content {
			content[i].Plans = []curriculum.Plan{{Times: rapid.IntRange(1, 14).Draw(t, "times")}}
		}
		walkCalendar(t, as, content, open)
	})
}

// firstDay walks to the first day from one on that no pause holds; zero when an
// open one does.
func firstDay(as academy.Assignment, day domain.Date) domain.Date {
	for {
		held := false
		for _, p := range as.Pauses {
			if day.Before(p.From) || p.Until != (domain.Date{}) && !day.Before(p.Until) {
				continue
			}
			if held = true; p.Until == (domain.Date{}) {
				return domain.Date{}
			}
		}
		if !held {
			return day
		}
		day = day.AddDays(1)
	}
}

func walkCalendar(t *rapid.T, as academy.Assignment, weeks []curriculum.Week, open bool) {
	counted, planned, total := 0, 0, 0
	for _, w := range weeks {
		total += w.Sessions()
	}
	begun := map[int]domain.Date{}
	for day := as.Start.AddDays(-2); as.Start.DaysUntil(day) < 7*len(weeks)+70; day = day.AddDays(1) {
		got := as.On(day, len(weeks))
		paused := false
		for _, p := range as.Pauses {
			paused = paused || !day.Before(p.From) && (p.Until == domain.Date{} || day.Before(p.Until))
		}
		want := academy.Position{Phase: academy.Running, Week: counted/7 + 1, Day: counted%7 + 1}
		switch {
		case day.Before(as.Start):
			want = academy.Position{Phase: academy.Upcoming}
		case counted >= 7*len(weeks):
			want = academy.Position{Phase: academy.Finished, Week: len(weeks), Day: 7}
		case paused:
			want.Phase, want.Until = academy.Paused, firstDay(as, day)
		default:
			if counted%7 == 0 {
				begun[want.Week] = day
			}
			counted++
		}
		if got != want {
			t.Fatalf("%+v on %v: got %+v, want %+v", as, day, got, want)
		}
		p := as.Planned(day, weeks)
		if p < planned || p > total {
			t.Fatalf("%+v: planned by %v are %d of %d, the day before %d", as, day, p, total, planned)
		}
		planned = p
	}
	for week, day := range begun {
		if got := as.WeekStart(week); got != day {
			t.Fatalf("%+v: week %d begins on %v, want %v", as, week, got, day)
		}
	}
	if !open && (counted != 7*len(weeks) || planned != total) {
		t.Fatalf("%+v: in the end %d days and %d sessions, want %d and %d", as, counted, planned, 7*len(weeks), total)
	}
}
