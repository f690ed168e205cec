package progress_test

import (
	"reflect"
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// outing is a session of given times on a day after day1.
func outing(day float64, times ...progress.KindTime) progress.SessionTime {
	return progress.SessionTime{Session: "s", StartedAt: day1.Add(time.Duration(day * 24 * float64(time.Hour))), Times: times}
}

func kind(k string, planned, spent int) progress.KindTime {
	return progress.KindTime{Kind: k, Planned: planned, Spent: spent}
}

func TestHabitOf(t *testing.T) {
	var outings []progress.SessionTime
	for i := range 20 {
		o := outing(float64(i), kind("test", 0, 60))
		if i%2 == 0 { // by the plan
			o.Times = []progress.KindTime{kind("test", 100, i), kind("warmup", 50, 1)}
		}
		outings = append(outings, o)
	}
	h := progress.HabitOf("ada", 77, outings)
	if h.Student != "ada" || h.Sessions != 77 || len(h.Starts) != 12 || !h.Starts[0].Equal(outings[8].StartedAt) || !h.LastAt().Equal(outings[19].StartedAt) {
		t.Errorf("got %+v, want the last twelve of 77 sessions", h)
	}
	// Of the last twelve, numbers 8, 10 … 18 were by the plan.
	want := []progress.KindTime{kind("warmup", 6*50, 6), kind("test", 6*100, 8+10+12+14+16+18)}
	if h.Planned != 6 || !reflect.DeepEqual(h.Times, want) {
		t.Errorf("got %d sessions of %+v, want 6 of %+v", h.Planned, h.Times, want)
	}
	if outings[8].Times[0] != kind("test", 100, 8) {
		t.Errorf("the habit changed an outing: %+v", outings[8])
	}
	for i := range outings {
		outings[i].Times = []progress.KindTime{kind("test", 1, 1)}
	}
	if h := progress.HabitOf("ada", 20, outings); h.Planned != 8 || h.Times[0] != kind("test", 8, 8) {
		t.Errorf("all by the plan: got %d sessions of %+v, want the last 8", h.Planned, h.Times)
	}
	empty := progress.HabitOf("ada", 0, nil)
	if !reflect.DeepEqual(empty, progress.Habit{Student: "ada"}) || !empty.LastAt().IsZero() {
		t.Errorf("nothing practised: got %+v", empty)
	}
}

func TestLapsed(t *testing.T) {
	start := domain.DateOf(day1, time.UTC)
	every := func(gap float64, n int) (outings []progress.SessionTime) {
		for i := range n {
			outings = append(outings, outing(gap*float64(i)))
		}
		return outings
	}
	for _, c := range []struct {
		why     string
		outings []progress.SessionTime
		today   int // days after day1
		since   int
		perWeek float64
		want    string // what the evidence begins with; empty for no lapse
	}{
		{"never came, six days", nil, 6, 0, 3, ""},
		{"never came, a week", nil, 7, 0, 3, "no session for 7 days (the plan began on 4 May); the plan's pace is one every 2.3 days."},
		{"a plan of one session a week waits three", nil, 20, 0, 1, ""},
		{"and no longer", nil, 21, 0, 1, "no session for 21 days (the plan began on 4 May); the plan's pace is one every 7.0 days."},
		{"out every third day: eight days", every(3, 5), 12 + 8, 0, 7, ""},
		{"out every third day: nine days", every(3, 5), 12 + 9, 0, 7, "no session for 9 days (the last session was on 16 May); their own pace is one every 3.0 days."},
		{"out every day still has a week", every(1, 12), 11 + 6, 0, 7, ""},
		{"out every day, a week", every(1, 12), 11 + 7, 0, 7, "no session for 7 days (the last session was on 15 May); their own pace is one every 1.0 days."},
		{"three sessions say little of a pace", every(10, 3), 20 + 9, 0, 7, "no session for 9 days (the last session was on 24 May); the plan's pace is one every 1.0 days."},
		{"without a plan's pace", every(10, 3), 20 + 7, 0, 0, "no session for 7 days (the last session was on 24 May)."},
		{"a pause that is over counts from its end", every(3, 5), 30, 25, 3, ""},
		{"and so does a lapse after it", every(3, 5), 34, 25, 3, "no session for 9 days (the plan began or resumed on 29 May); their own pace is one every 3.0 days."},
		{"a session on the day the pause ended", append(every(3, 5), outing(25)), 34, 25, 3, "no session for 9 days (the last session was on 29 May); their own pace is one every 3.0 days."},
		{"the median of an even number of gaps", append(every(2, 2), outing(6), outing(8), outing(18)), 18 + 8, 0, 7, ""}, // gaps 2, 4, 2, 10: 3
	} {
		h := progress.HabitOf("ada", len(c.outings), c.outings)
		stall, yes := h.Lapsed(start.AddDays(c.today), time.UTC, start.AddDays(c.since), c.perWeek)
		if yes != (c.want != "") || stall.Evidence != c.want {
			t.Errorf("%s: got %v, %q, want %q", c.why, yes, stall.Evidence, c.want)
		}
		if yes && (stall.Reason != estimate.Lapsed || stall.Advice == "" || stall.Probability != 1) {
			t.Errorf("%s: got %+v, want a lapse with advice", c.why, stall)
		}
	}
}

// TestLapsedZone: days are counted in the student's zone.
func TestLapsedZone(t *testing.T) {
	h := progress.HabitOf("ada", 1, []progress.SessionTime{outing(14.0 / 24)}) // 4 May, midnight UTC
	east := time.FixedZone("", 3*3600)
	monday := domain.DateOf(day1, time.UTC)
	if _, yes := h.Lapsed(monday.AddDays(7), east, monday, 7); yes {
		t.Error("in the east the session was on 5 May, six days before")
	}
	if _, yes := h.Lapsed(monday.AddDays(8), east, monday, 7); !yes {
		t.Error("in the east 12 May is seven days after 5 May")
	}
	if _, yes := (progress.Habit{}).Lapsed(monday, east, domain.Date{}, 7); yes {
		t.Error("with nothing to count from there is no lapse")
	}
}

func TestLopsided(t *testing.T) {
	plan := func(warmup, technique, random, test int) []progress.KindTime {
		return []progress.KindTime{kind("warmup", 900, warmup), kind("technique", 900, technique), kind("random", 900, random), kind("test", 900, test)}
	}
	habit := func(n int, times []progress.KindTime) progress.Habit {
		var outings []progress.SessionTime
		for i := range n {
			outings = append(outings, outing(float64(i), times...))
		}
		return progress.HabitOf("ada", n, outings)
	}
	for _, c := range []struct {
		why  string
		h    progress.Habit
		want string
	}{
		{"as planned", habit(3, plan(900, 900, 900, 900)), ""},
		{"all of it shorter", habit(3, plan(300, 300, 300, 300)), ""},
		{"a fifth elsewhere less a bit", habit(3, plan(900, 1618, 900, 182)), ""}, // 19.9 points
		{"a fifth elsewhere", habit(3, plan(900, 1620, 900, 180)), "over the last 3 sessions 45 % of the time went to technique (planned 25 %) and 5 % to test (planned 25 %)."}, // 20 points
		{"two sessions are too few", habit(2, plan(0, 3600, 0, 0)), ""},
		{"no time at all", habit(3, plan(0, 0, 0, 0)), ""},
		{"without a plan", habit(3, []progress.KindTime{kind("test", 0, 900)}), ""},
		{"the test left out of every session", habit(4, plan(1200, 1200, 1200, 0)), "over the last 4 sessions 33 % of the time went to warmup (planned 25 %) and 0 % to test (planned 25 %)."},
	} {
		stall, yes := c.h.Lopsided()
		if yes != (c.want != "") || stall.Evidence != c.want {
			t.Errorf("%s: got %v, %q, want %q", c.why, yes, stall.Evidence, c.want)
		}
		if yes && (stall.Reason != estimate.Lopsided || !strings.HasPrefix(stall.Advice, "Start with test, or shorten the ")) {
			t.Errorf("%s: got %+v, want advice on the test", c.why, stall)
		}
	}
}
