package progress_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// TestPeriodsAreThirtyDays: the first ends with 30 January 1970, the eleventh
// begins 300 days after the first, on 28 October.
func TestPeriodsAreThirtyDays(t *testing.T) {
	for _, c := range []struct {
		at   time.Time
		want int
	}{
		{time.Date(1970, 1, 1, 0, 0, 0, 0, time.UTC), 0},
		{time.Date(1970, 1, 30, 23, 59, 59, 999e6, time.UTC), 0},
		{time.Date(1970, 1, 31, 0, 0, 0, 0, time.UTC), 1},
		{time.Date(1970, 10, 27, 23, 59, 59, 999e6, time.UTC), 9},
		{time.Date(1970, 10, 28, 0, 0, 0, 0, time.UTC), 10},
		{time.Date(1969, 12, 31, 23, 59, 59, 999e6, time.UTC), -1},
		{time.Date(1969, 12, 2, 0, 0, 0, 0, time.UTC), -1},
		{time.Date(1969, 12, 1, 23, 59, 59, 999e6, time.UTC), -2},
	} {
		if got := progress.PeriodOf(c.at); got != c.want {
			t.Errorf("%v: got period %d, want %d", c.at, got, c.want)
		}
	}
}

// said is a session with so many judged and unmeasured balls at each tier.
func said(counts ...[2]int) progress.SessionSummary {
	var s progress.SessionSummary
	for _, c := range counts {
		s.Results = append(s.Results, progress.TierResult{Judged: c[0], Unmeasured: c[1]})
	}
	return s
}

// TestSaid: a session counts when each of its tiers has a ball, be it
// unmeasured.
func TestSaid(t *testing.T) {
	for _, c := range []struct {
		why      string
		sessions []progress.SessionSummary
		want     int
	}{
		{"no session", nil, 0},
		{"without a ladder", []progress.SessionSummary{said(), said()}, 2},
		{"no ball", []progress.SessionSummary{said([2]int{0, 0})}, 0},
		{"one ball", []progress.SessionSummary{said([2]int{1, 0})}, 1},
		{"one that was not measured", []progress.SessionSummary{said([2]int{0, 1})}, 1},
		{"silent of the second tier", []progress.SessionSummary{said([2]int{5, 0}, [2]int{0, 0})}, 0},
		{"silent of the first tier", []progress.SessionSummary{said([2]int{0, 0}, [2]int{5, 0})}, 0},
		{"of both", []progress.SessionSummary{said([2]int{5, 0}, [2]int{2, 3})}, 1},
		{"two of three", []progress.SessionSummary{said([2]int{5, 0}), said([2]int{0, 0}), said([2]int{0, 2})}, 2},
	} {
		if got := (progress.Period{Sessions: c.sessions}).Said(); got != c.want {
			t.Errorf("%s: got %d, want %d", c.why, got, c.want)
		}
	}
}

// TestLatest: the latest periods are given until they hold one session more
// than an estimate reads, and those that are asked for.
func TestLatest(t *testing.T) {
	period := func(number, sessions int) progress.Period {
		return progress.Period{Number: number, Sessions: slices.Repeat([]progress.SessionSummary{said([2]int{9, 0})}, sessions)}
	}
	const w = estimate.Window
	for _, c := range []struct {
		why     string
		all     []progress.Period
		numbers []int
		want    []int
		whole   bool
	}{
		{"none", nil, []int{3}, nil, true},
		{"one period alone", []progress.Period{period(7, w+9)}, nil, []int{7}, true},
		{"as many as are read", []progress.Period{period(4, 1), period(5, 1), period(7, w)}, nil, []int{5, 7}, false},
		{"one more than are read", []progress.Period{period(4, 1), period(5, 1), period(7, w+1)}, nil, []int{7}, false},
		{"the same in two periods", []progress.Period{period(4, 1), period(5, 1), period(6, w), period(7, 1)}, nil, []int{6, 7}, false},
		{"one less", []progress.Period{period(4, 1), period(5, 1), period(6, w-1), period(7, 1)}, nil, []int{5, 6, 7}, false},
		{"an early one asked for", []progress.Period{period(4, 1), period(5, 1), period(7, w+1)}, []int{4}, []int{4, 7}, false},
		{"all of them asked for", []progress.Period{period(4, 1), period(5, 1), period(7, w+1)}, []int{5, 4}, []int{4, 5, 7}, true},
		{"few sessions", []progress.Period{period(4, 1), period(5, 1), period(7, 2)}, nil, []int{4, 5, 7}, true},
	} {
		some, whole := progress.Latest(c.all, c.numbers...)
		var got []int
		for _, p := range some {
			got = append(got, p.Number)
		}
		if !slices.Equal(got, c.want) || whole != c.whole {
			t.Errorf("%s: got %v, all of them %v, want %v, %v", c.why, got, whole, c.want, c.whole)
		}
	}
}

// TestWithoutLadder: a skill without a ladder is revised from its latest periods,
// however long the career, and comes out as recomputed.
func TestWithoutLadder(t *testing.T) {
	var tr progress.Track
	var all []progress.SessionSummary
	for i := range estimate.Window + 40 {
		all = append(all, tr.Summarise(play(domain.ID(fmt.Sprint("s", i)), day1.AddDate(0, 0, 3*i), block("technique", "oih"))))
	}
	last := len(all) - 1
	before := progress.Recompute(tr, all[:last])
	r := progress.Record{Track: tr, State: before.State}
	r.Periods, r.Whole = progress.Latest(before.Periods, progress.PeriodOf(all[last].StartedAt))
	if r.Whole {
		t.Fatal("the latest periods are all of them")
	}
	after, _, ok := r.Revise(all[last].Session, &all[last])
	if !ok {
		t.Fatal("the whole record was needed")
	}
	if d := cmp.Diff(progress.Recompute(tr, all).State, after.State); d != "" {
		t.Errorf("(-recomputed +revised)\n%s", d)
	}
}

// TestRecomputeLeavesItsSummaries in the order they came in.
func TestRecomputeLeavesItsSummaries(t *testing.T) {
	tr := track(ladder(three))
	given := []progress.SessionSummary{
		tr.Summarise(play("b", day1.AddDate(0, 0, 1), block("test", "oi"))),
		tr.Summarise(play("a", day1, block("test", "oi"))),
	}
	r := progress.Recompute(tr, given)
	if given[0].Session != "b" || given[1].Session != "a" {
		t.Error("the summaries were put in another order")
	}
	if s := r.Periods[0].Sessions; s[0].Session != "a" || s[1].Session != "b" {
		t.Errorf("got %s before %s in the period, want them by start", s[0].Session, s[1].Session)
	}
}

// TestAskedOfARecord holds what a record is asked for to a small career.
func TestAskedOfARecord(t *testing.T) {
	tr := track(ladder(three, nine))
	tr, _ = tr.Assigned(ladder(tight, nine), day1) // three is of an earlier ladder
	sum := func(id domain.ID, day int, outcomes string) progress.SessionSummary {
		return tr.Summarise(play(id, day1.AddDate(0, 0, day), block("test", outcomes)))
	}
	r := progress.Recompute(tr, []progress.SessionSummary{
		sum("d", 45, "ohii"), sum("a", 0, "22o"), sum("b", 6, "oo"), sum("c", 40, ""), sum("e", 46, "h"),
	})
	a, d := sum("a", 0, "22o"), sum("d", 45, "ohii")

	if !r.Says("a", &a) || r.Says("a", &d) || r.Says("a", nil) || r.Says("f", &a) || r.Says("f", nil) {
		t.Error("only what a session says now is what it says")
	}
	counts := func(results []progress.TierResult) (judged []int) {
		for _, x := range results {
			judged = append(judged, x.Judged)
		}
		return judged
	}
	for _, c := range []struct {
		why   string
		got   []progress.TierResult
		balls []int
	}{
		{"three, all", r.Last(three, 9), []int{3, 2, 4, 1}}, // c struck no ball
		{"three, the last two", r.Last(three, 2), []int{4, 1}},
		{"three, none", r.Last(three, 0), nil},
		{"tight: a ball inside five feet without a leave says nothing", r.Last(tight, 9), []int{3, 2, 2, 1}},
		{"a tier of no ladder", r.Last(streak.Tier{Run: 4, Radius: ft5}, 9), nil},
	} {
		if !slices.Equal(counts(c.got), c.balls) {
			t.Errorf("%s: got %v balls judged, want %v", c.why, counts(c.got), c.balls)
		}
	}

	// Monday 4 May has a and b, which was on the Sunday; 13 June is in the week
	// of 8 June; 18 and 19 June are in that of the 15th.
	monday := domain.DateOf(day1, time.UTC)
	want := []progress.WeekTally{
		{Week: monday, Tally: progress.Tally{Sessions: 2, Balls: 5, Inside: 2, Seconds: 120}},
		{Week: monday.AddDays(35), Tally: progress.Tally{Sessions: 1, Seconds: 60}},
		{Week: monday.AddDays(42), Tally: progress.Tally{Sessions: 2, Balls: 5, Inside: 4, Holed: 2, Seconds: 120}},
	}
	if got := r.Weeks(); !slices.Equal(got, want) {
		t.Errorf("weeks: got %+v, want %+v", got, want)
	}
	if got := (progress.Record{}).Weeks(); got == nil || len(got) != 0 {
		t.Errorf("no period: got %v, want an empty list", got)
	}
	for w, tally := range map[domain.Date]progress.Tally{monday.AddDays(42): want[2].Tally, monday: {}} {
		if got := r.State.InWeek(w); got != tally {
			t.Errorf("week of %v: got %+v, want %+v: only the latest is kept", w, got, tally)
		}
	}
	// Three was passed, in session d; it is no tier of the ladder as it is now.
	if made := r.State.Milestones(); len(made) != 1 || made[0].Tier != three || made[0].Session != "d" || !r.State.LastMilestoneAt.IsZero() {
		t.Errorf("passed %+v, last of the ladder at %v, want three alone, of the ladder none", made, r.State.LastMilestoneAt)
	}
}
