package advice_test

import (
	"fmt"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/advice"
	"fringework/domain/estimate"
	"fringework/domain/progress"
)

func TestLapsed(t *testing.T) {
	start := domain.DateOf(day1, time.UTC)
	every := func(gap float64, n int) (times []progress.SessionTime) {
		for i := range n {
			times = append(times, timed(gap*float64(i)))
		}
		return times
	}
	for _, c := range []struct {
		why     string
		times   []progress.SessionTime
		today   int // days after day1
		since   int
		perWeek float64
		want    string // what the evidence begins with; empty for no lapse
	}{
		{"never came, six days", nil, 6, 0, 3, ""},
		{"never came, a week", nil, 7, 0, 3, "no session for 7 days (the plan began on 4 May); planned: one every 2.3 days."},
		{"a plan of one session a week waits three", nil, 20, 0, 1, ""},
		{"and no longer", nil, 21, 0, 1, "no session for 21 days (the plan began on 4 May); planned: one every 7 days."},
		{"out every third day: eight days", every(3, 5), 12 + 8, 0, 7, ""},
		{"out every third day: nine days", every(3, 5), 12 + 9, 0, 7, "no session for 9 days (the last session was on 16 May); usually one every 3 days."},
		{"out every day still has a week", every(1, 12), 11 + 6, 0, 7, ""},
		{"out every day, a week", every(1, 12), 11 + 7, 0, 7, "no session for 7 days (the last session was on 15 May); usually one a day."},
		{"three sessions say little of a pace", every(10, 3), 20 + 9, 0, 7, "no session for 9 days (the last session was on 24 May); planned: one a day."},
		{"without a plan's pace", every(10, 3), 20 + 7, 0, 0, "no session for 7 days (the last session was on 24 May)."},
		{"a pause that is over counts from its end", every(3, 5), 30, 25, 3, ""},
		{"and so does a lapse after it", every(3, 5), 34, 25, 3, "no session for 9 days (the plan began or resumed on 29 May); usually one every 3 days."},
		{"a session on the day the pause ended", append(every(3, 5), timed(25)), 34, 25, 3, "no session for 9 days (the last session was on 29 May); usually one every 3 days."},
		{"the median of an even number of gaps", append(every(2, 2), timed(6), timed(8), timed(18)), 18 + 8, 0, 7, ""}, // gaps 2, 4, 2, 10: 3
	} {
		h := progress.HabitOf("ada", len(c.times), c.times)
		p := advice.Practice{Habit: h, Expected: true, Today: start.AddDays(c.today), Zone: time.UTC, Since: start.AddDays(c.since), PerWeek: c.perWeek}
		told(t, c.why, advice.Weigh(p, nil), advice.Lapsed, c.want, "Ask what is in the way; ")
		p.Expected = false
		if got := advice.Weigh(p, nil); len(got) != 0 {
			t.Errorf("%s, but while nothing is asked: got %+v", c.why, got)
		}
	}
}

// TestLapsedZone: days are counted in the student's zone.
func TestLapsedZone(t *testing.T) {
	h := progress.HabitOf("ada", 1, []progress.SessionTime{timed(14.0 / 24)}) // 4 May, midnight UTC
	east := time.FixedZone("", 3*3600)
	monday := domain.DateOf(day1, time.UTC)
	lapsed := func(h progress.Habit, today, since domain.Date) bool {
		return len(advice.Weigh(advice.Practice{Habit: h, Expected: true, Today: today, Zone: east, Since: since, PerWeek: 7}, nil)) > 0
	}
	if lapsed(h, monday.AddDays(7), monday) {
		t.Error("in the east the session was on 5 May, six days before")
	}
	if !lapsed(h, monday.AddDays(8), monday) {
		t.Error("in the east 12 May is seven days after 5 May")
	}
	if lapsed(progress.Habit{}, monday, domain.Date{}) {
		t.Error("with nothing to count from there is no lapse")
	}
}

// TestLapsedOfSessions: sessions at one skill tell of a lapse by the same rule,
// and of those that were planned and not held.
func TestLapsedOfSessions(t *testing.T) {
	e := estimate.Evidence{Sessions: steady(8, 30, 15)} // the last on day 14
	lapse := func(asOf float64) []advice.Stall { return advice.Weigh(advice.PracticeOf(e, asOf), nil) }
	for asOf, want := range map[float64]string{
		3:    "", // read as day 14
		14:   "",
		20.9: "",
		21:   "no session for 7 days (the last was session 8); usually one every 2 days.",
		60:   "no session for 46 days (the last was session 8); usually one every 2 days.",
	} {
		got := lapse(asOf)
		told(t, fmt.Sprint("as of day ", asOf), got, advice.Lapsed, want, "Ask what is in the way; ")
		if want != "" && (got[0].SinceSession != 8 || got[0].RaisedSession != 8) {
			t.Errorf("as of day %v: got %+v, want session 8 of 8", asOf, got)
		}
	}
	for i := range 4 {
		e.Sessions = append(e.Sessions, estimate.Observation{Day: float64(16 + 2*i)})
	}
	told(t, "planned sessions missed", lapse(23), advice.Lapsed,
		"no session for 9 days (the last was session 8); usually one every 2 days; 4 planned sessions missed.", "Ask")
	if got := lapse(23)[0]; got.SinceSession != 8 || got.RaisedSession != 12 {
		t.Errorf("got %+v, want it since session 8, raised after 12", got)
	}
	e.Origin, e.Sessions, e.SessionsPerWeek = domain.DateOf(day1, time.UTC), e.Sessions[:3], 2
	told(t, "with dates and a plan", lapse(30), advice.Lapsed,
		"no session for 26 days (the last session was on 8 May); planned: one every 3.5 days.", "Ask")
	e.Sessions = nil
	if got := lapse(30); len(got) != 0 {
		t.Errorf("never seen: got %+v, want nothing to count from", got)
	}
}
