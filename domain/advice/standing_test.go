package advice_test

import (
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/advice"
	"fringework/domain/estimate"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// TestStanding: what is told of a student's place and plan, both sides of each
// bound.
func TestStanding(t *testing.T) {
	today := domain.Date{Year: 2026, Month: time.May, Day: 20} // a Wednesday
	came := progress.HabitOf("ada", 1, []progress.SessionTime{timed(16)})
	at := func(s advice.Standing) advice.Practice {
		s.Joined = today.AddDays(-30)
		return advice.Practice{Today: today, Zone: time.UTC, Standing: &s}
	}
	started := func(joined, since int, h progress.Habit) advice.Practice {
		return advice.Practice{Today: today, Zone: time.UTC, Expected: true, Since: today.AddDays(-since), PerWeek: 7, Habit: h, Standing: &advice.Standing{Joined: today.AddDays(-joined), Planned: true}}
	}
	ends := func(in int) advice.Practice {
		return at(advice.Standing{Planned: true, Programme: "Six weeks", Ends: today.AddDays(in)})
	}
	for _, c := range []struct {
		why      string
		p        advice.Practice
		reason   advice.Reason
		evidence string // empty for no reason
		figure   string
	}{
		{"joined six days ago", started(6, 20, progress.Habit{}), "", "", ""},
		{"joined a week ago", started(7, 20, progress.Habit{}), advice.Unstarted, "joined on 13 May, no session yet; the plan began on 30 April.", "7 days"},
		{"a plan of six days", started(20, 6, progress.Habit{}), "", "", ""},
		{"a plan of a week", started(20, 7, progress.Habit{}), advice.Unstarted, "joined on 30 April, no session yet; the plan began on 13 May.", "7 days"},
		{"and came today", started(20, 7, came), "", "", ""},
		{"ends today", ends(0), advice.Ending, "Six weeks ends on Wednesday 20 May; nothing follows.", "today"},
		{"ends tomorrow", ends(1), advice.Ending, "Six weeks ends on Thursday 21 May; nothing follows.", "tomorrow"},
		{"ends in six days", ends(6), advice.Ending, "Six weeks ends on Tuesday 26 May; nothing follows.", "in 6 days"},
		{"ends in a week", ends(7), "", "", ""},
		{"ended, but another is to begin", ends(-1), "", "", ""},
		{"no end is known", at(advice.Standing{Planned: true}), "", "", ""},
		{"no programme", at(advice.Standing{}), advice.Unplanned, "no programme now; joined on 20 April.", "30 days"},
		{"no programme any more", at(advice.Standing{Programme: "Six weeks", Ends: today.AddDays(-1)}), advice.Unplanned, "Six weeks ended on 19 May; nothing follows.", "1 day"},
		{"no programme yet", advice.Practice{Today: today, Standing: &advice.Standing{Joined: today}}, advice.Unplanned, "no programme now; joined on 20 May.", ""},
		{"of one who was always there", advice.Practice{Today: today, Standing: &advice.Standing{}}, advice.Unplanned, "no programme now.", ""},
		{"no programme, whose last day is today", at(advice.Standing{Programme: "Six weeks", Ends: today}), advice.Unplanned, "Six weeks ended on 20 May; nothing follows.", ""},
		{"not started, and joined nobody knows when", advice.Practice{Today: today, Zone: time.UTC, Expected: true, Since: today.AddDays(-7), Standing: &advice.Standing{Planned: true}}, advice.Unstarted, "no session yet; the plan began on 13 May.", "7 days"},
		{"no coach", at(advice.Standing{Planned: true, Uncoached: true}), advice.Uncoached, "no coach works with this student, who joined on 20 April; only an owner sees the reasons.", ""},
		{"of sessions alone nothing of it is known", advice.Practice{Today: today}, "", "", ""},
	} {
		got := advice.Weigh(c.p, nil)
		told(t, c.why, got, c.reason, c.evidence, "")
		if len(got) == 1 && got[0].Figure() != c.figure {
			t.Errorf("%s: the figure is %q, want %q", c.why, got[0].Figure(), c.figure)
		}
	}
}

// TestFigures: one number for each reason.
func TestFigures(t *testing.T) {
	tier := streak.Tier{Run: 9, Radius: 5 * domain.Foot}
	flag := func(chance float64, balls int) *estimate.Flag {
		return &estimate.Flag{Facts: estimate.Facts{Tier: tier, Chance: chance, BallsPerTest: balls, Before: 0.58, Trend: estimate.Trend{Sessions: 15}}}
	}
	for _, c := range []struct {
		reason advice.Reason
		of     func(a *estimate.Assessment)
		want   string
	}{
		{advice.Slipping, func(a *estimate.Assessment) { a.Slipping = flag(0.1, 30) }, "−7 points"},
		{advice.Slipping, func(a *estimate.Assessment) { a.Slipping = flag(0.1, 30); a.Slipping.Before = 0 }, "51 %"},
		{advice.Flat, func(a *estimate.Assessment) { a.Flat = flag(0.1, 30) }, "15 sessions"},
		{advice.Overreached, func(a *estimate.Assessment) { a.Overreached = flag(0.025, 30) }, "1 in 40"},
		{advice.Overreached, func(a *estimate.Assessment) { a.Overreached = flag(0.0001, 30) }, "under 1 in 1,000"},
		{advice.Overreached, func(a *estimate.Assessment) { a.Overreached = flag(0, 8) }, "8 balls a test"},
		{advice.Overreached, func(a *estimate.Assessment) { a.Overreached = flag(0, 9) }, "no session"},
		{advice.Outgrown, func(a *estimate.Assessment) { a.Outgrown = flag(0.9, 30) }, "most sessions"},
	} {
		a := estimate.Assessment{Rate: estimate.Rate{Mean: 0.51}}
		c.of(&a)
		got := advice.Weigh(advice.Practice{}, []progress.State{state("pitch", a)})
		if len(got) != 1 || got[0].Reason != c.reason || got[0].Figure() != c.want {
			t.Errorf("got %+v, figure %q, want %s with %q", got, got[0].Figure(), c.reason, c.want)
		}
	}
	if none := (advice.Stall{}).Figure(); none != "" {
		t.Errorf("a stall without numbers has the figure %q", none)
	}
	skewed := progress.HabitOf("ada", 3, []progress.SessionTime{
		timed(0, kind("technique", 600, 1200), kind("test", 600, 0)), timed(1, kind("technique", 600, 1200), kind("test", 600, 0)), timed(2, kind("technique", 600, 1200), kind("test", 600, 0)),
	})
	p := advice.Practice{Habit: skewed, Zone: time.UTC, Today: domain.DateOf(day1, time.UTC).AddDays(2)}
	if got := advice.Weigh(p, nil); len(got) != 1 || got[0].Figure() != "50 % off plan" {
		t.Errorf("got %+v, want half of the time off plan", got)
	}
	p.Expected, p.Since, p.Today = true, p.Today.AddDays(-2), p.Today.AddDays(7)
	if got := advice.Weigh(p, nil); len(got) != 1 || got[0].Reason != advice.Lapsed || got[0].Figure() != "7 days" {
		t.Errorf("got %+v, want the lapse alone, of a week", got)
	}
}
