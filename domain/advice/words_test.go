package advice_test

import (
	"strings"
	"testing"

	"fringework/domain"
	"fringework/domain/advice"
	"fringework/domain/estimate"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// flagged has the numbers of 58 % inside 5 ft, nine in a row to make.
func flagged() *estimate.Flag {
	return &estimate.Flag{
		Since: 13, Date: domain.Date{Year: 2026, Month: 5, Day: 25}, Probability: 0.93,
		Facts: estimate.Facts{
			Radius: 5 * domain.Foot, Rate: 0.584, RateLo: 0.512, RateHi: 0.654, Sessions: 9, Balls: 300,
			Tier: streak.Tier{Run: 9, Radius: 5 * domain.Foot}, BallsPerTest: 20, Chance: 0.031, MedianSessions: 17,
			EvenRadius: 7 * domain.Foot, EvenScale: 1.4, EvenRun: 5,
		},
	}
}

// TestFlagWords holds every sentence about a flag, with the numbers it has.
func TestFlagWords(t *testing.T) {
	const rate = "inside 5 ft: 58 % (51 to 65) over the last 9 sessions"
	for _, c := range []struct {
		why              string
		reason           advice.Reason
		change           func(*estimate.Flag)
		evidence, advice string
	}{
		{"flat", advice.Flat, func(*estimate.Flag) {},
			rate + ", no gain in that time; at this rate the next step is about 17 sessions away.",
			"Try a 7 ft circle or 5 in a row (either has even odds in one session), or a shorter shot."},
		{"flat after a rise", advice.Flat, func(f *estimate.Flag) { f.Rose, f.MedianSessions = true, 1 },
			rate + ", no gain since 25 May; at this rate the next step is about 1 session away.",
			"Try a 7 ft circle or 5 in a row (either has even odds in one session), or a shorter shot."},
		{"far away", advice.Flat, func(f *estimate.Flag) { f.MedianSessions, f.EvenRun = 41, 2 },
			rate + ", no gain in that time; the next step is not realistic this season at today's form.",
			"Try a 7 ft circle (even odds in one session), or a shorter shot."},
		{"at the edge of the season", advice.Flat, func(f *estimate.Flag) { f.MedianSessions, f.EvenScale = 40, 3.1 },
			rate + ", no gain in that time; at this rate the next step is about 40 sessions away.",
			"Try 5 in a row (even odds in one session), or a shorter shot."},
		{"without a tier, radius and dates", advice.Flat, func(f *estimate.Flag) {
			f.Date, f.Rose, f.Facts = domain.Date{}, true, estimate.Facts{Rose: true, Rate: 0.5, RateLo: 0.4, RateHi: 0.6, Sessions: 1}
		}, "inside: 50 % (40 to 60) over the last 1 session, no gain since session 13.",
			"Change one thing for the next three sessions: the spot, the club, or more of the time in random practice."},
		{"a scale without a radius", advice.Flat, func(f *estimate.Flag) { f.EvenRadius, f.EvenRun, f.EvenScale = 0, 9, 1.31 },
			rate + ", no gain in that time; at this rate the next step is about 17 sessions away.",
			"Try a circle 1.4 times as wide (even odds in one session), or a shorter shot."},
		{"an eight-foot circle", advice.Flat, func(f *estimate.Flag) { f.EvenRadius, f.EvenRun = 78*domain.Foot/10, 0 },
			rate + ", no gain in that time; at this rate the next step is about 17 sessions away.",
			"Try an 8 ft circle (even odds in one session), or a shorter shot."},
		{"slipping", advice.Slipping, func(f *estimate.Flag) { f.Before, f.BeforeLo, f.BeforeHi = 0.7, 0.65, 0.75 },
			rate + ", down from 70 % (65 to 75) before 25 May; at this rate the next step is about 17 sessions away.",
			"Ask what changed about 25 May, and go back to a 7 ft circle or 5 in a row (either has even odds in one session) until the rate is back."},
		{"slipping from the start", advice.Slipping, func(f *estimate.Flag) { f.EvenScale, f.EvenRun = 0, 0 },
			rate + ", falling; at this rate the next step is about 17 sessions away.",
			"Ask what changed about 25 May, and look at the technique before the next test."},
		{"overreached", advice.Overreached, func(f *estimate.Flag) { f.Chance, f.MedianSessions = 0.0004, 0 },
			rate + "; the chance of 9 in a row in 20 balls is under 0.1 % a session; the next step is not realistic this season at today's form.",
			"Put an easier step before it: a 7 ft circle or 5 in a row (either has even odds in one session)."},
		{"overreached without a remedy in numbers", advice.Overreached, func(f *estimate.Flag) { f.Chance, f.EvenScale, f.EvenRun = 0.009, 0, 0 },
			rate + "; the chance of 9 in a row in 20 balls is 0.9 % a session; at this rate the next step is about 17 sessions away.",
			"Put an easier step before it: a shorter shot, or a better lie."},
		{"too few balls", advice.Overreached, func(f *estimate.Flag) { f.Chance, f.BallsPerTest = 0, 8 },
			rate + "; the chance of 9 in a row in 8 balls is under 0.1 % a session.", "Plan tests of at least 18 balls."},
		{"too few balls, and flat", advice.Flat, func(f *estimate.Flag) { f.BallsPerTest, f.EvenScale = 8, 0 },
			rate + ", no gain in that time; 9 in a row cannot be made in 8 balls.", "Try 5 in a row (even odds in one session), or a shorter shot."},
		{"outgrown", advice.Outgrown, func(f *estimate.Flag) { f.Chance, f.EvenScale, f.EvenRadius = 0.97, 0.6, 3*domain.Foot },
			rate + "; the chance of 9 in a row in 20 balls is 97 % a session.",
			"Test it, and go on to a 3 ft circle (even odds in one session) or a longer shot."},
		{"outgrown without a radius", advice.Outgrown, func(f *estimate.Flag) { f.Chance, f.EvenScale, f.EvenRadius, f.Tier.Run = 0.97, 0.6, 0, 1 },
			rate + "; the chance of one ball in 20 balls is 97 % a session.",
			"Test it, and go on to a circle 0.6 times as wide (even odds in one session) or a longer shot."},
		{"outgrown beyond measure", advice.Outgrown, func(f *estimate.Flag) { f.Chance, f.EvenScale = 0.995, 0 },
			rate + "; the chance of 9 in a row in 20 balls is 100 % a session.",
			"Test it, and go on to a smaller circle, more in a row or a longer shot."},
	} {
		f := flagged()
		c.change(f)
		var a estimate.Assessment
		switch c.reason {
		case advice.Flat:
			a.Flat = f
		case advice.Slipping:
			a.Slipping = f
		case advice.Overreached:
			a.Overreached = f
		case advice.Outgrown:
			a.Outgrown = f
		}
		got := advice.Weigh(advice.Practice{}, []progress.State{state("pitch", a)})
		if len(got) != 1 || got[0].Reason != c.reason || got[0].Skill != "pitch" || got[0].Probability != 0.93 || got[0].Since != f.Date || got[0].SinceSession != 13 {
			t.Errorf("%s: got %+v", c.why, got)
			continue
		}
		if evidence, words := got[0].Words(advice.Reader{}); evidence != c.evidence || words != c.advice {
			t.Errorf("%s: got\n%s\n%s\nwant\n%s\n%s", c.why, evidence, words, c.evidence, c.advice)
		}
		if evidence, words := got[0].Words(advice.Reader{Metric: true}); strings.Contains(evidence+words, " ft") || f.Radius > 0 && !strings.HasPrefix(evidence, "inside 1.52 m: ") {
			t.Errorf("%s, in metres: got %s %s", c.why, evidence, words)
		}
	}
}

// TestFlagNamesTheCircleInFocus: once the ladder is finished there is no next
// tier, and the balls are judged at its last one.
func TestFlagNamesTheCircleInFocus(t *testing.T) {
	f := flagged()
	f.Radius, f.Tier = 0, streak.Tier{}
	s := state("pitch", estimate.Assessment{Slipping: f})
	s.Ladder, s.Held = streak.Ladder{Tiers: []streak.Tier{{Run: 4, Radius: 6 * domain.Foot}}}, 1
	got := advice.Weigh(advice.Practice{}, []progress.State{s})
	if len(got) != 1 {
		t.Fatalf("got %+v, want one", got)
	}
	if evidence, _ := got[0].Words(advice.Reader{}); !strings.HasPrefix(evidence, "inside 6 ft: 58 %") {
		t.Errorf("got %q, want the circle of the last tier", evidence)
	}
	if f.Radius != 0 {
		t.Error("the assessment was changed")
	}
}

// TestNoNumbersNoWords: a stall made of nothing says nothing.
func TestNoNumbersNoWords(t *testing.T) {
	if e, a := (advice.Stall{Reason: advice.Flat}).Words(advice.Reader{}); e != "" || a != "" {
		t.Errorf("got %q and %q", e, a)
	}
}

func TestUndecidedWords(t *testing.T) {
	rate := estimate.Rate{Mean: 0.584, Interval95: estimate.Interval{Lo: 0.512, Hi: 0.654}}
	for _, c := range []struct {
		u    estimate.Undecided
		want string
	}{
		{estimate.Undecided{}, ""},
		{estimate.Undecided{Applies: true, MoreSessions: 15}, "No ball yet: it takes about 15 sessions to tell a rise from none."},
		{estimate.Undecided{Applies: true, MoreSessions: 4, Balls: 30, Sessions: 5, Rising: 0.63},
			"58 % (51 to 65) after 5 sessions: the chance that it is rising is 63 %, which is not enough to tell; about 4 more sessions of 30 balls will."},
		{estimate.Undecided{Applies: true, MoreSessions: 1, Balls: 1, Sessions: 1, Rising: 0.5},
			"58 % (51 to 65) after 1 session: the chance that it is rising is 50 %, which is not enough to tell; about 1 more session of 1 ball will."},
	} {
		if got := advice.Undecided(estimate.Assessment{Rate: rate, Undecided: c.u}); got != c.want {
			t.Errorf("%+v: got %q, want %q", c.u, got, c.want)
		}
	}
}
