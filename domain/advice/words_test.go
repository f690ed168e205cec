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

// now is 58 % inside.
var now = estimate.Rate{Mean: 0.584, Interval80: estimate.Interval{Lo: 0.512, Hi: 0.654}}

// flagged has the numbers of nine in a row inside 5 ft to make.
func flagged() *estimate.Flag {
	return &estimate.Flag{
		Since: 13, Date: domain.Date{Year: 2026, Month: 5, Day: 25}, Probability: 0.93,
		Facts: estimate.Facts{
			Radius: 5 * domain.Foot, Sessions: 9,
			Trend: estimate.Trend{Sessions: 11, Slope: 0.004, Interval80: estimate.Interval{Lo: -0.02, Hi: 0.028}},
			Tier:  streak.Tier{Run: 9, Radius: 5 * domain.Foot}, BallsPerTest: 20, Chance: 0.031, MedianSessions: 17,
			EvenRadius: 7 * domain.Foot, EvenScale: 1.4, EvenRun: 5,
		},
	}
}

// TestFlagWords holds every sentence about a flag, with the numbers it has.
func TestFlagWords(t *testing.T) {
	const rate = "inside 5 ft: 58 % (51 to 65)"
	const change = "; +1 point (−5 to +7) from the first to the last of 11 sessions"
	const none = ": no clear gain yet"
	const wait = "; with 20 balls a session, 9 in a row comes about once in 32 sessions"
	const one = "Change one thing for the next three sessions: the spot, the club, or more of the time in random practice."
	const between = "5 in a row inside 5 ft (about 1 session in 2) or 9 in a row inside 7 ft (about 1 session in 2)"
	for _, c := range []struct {
		why              string
		reason           advice.Reason
		change           func(*estimate.Flag)
		evidence, advice string
	}{
		{"flat", advice.Flat, func(*estimate.Flag) {}, rate + change + none + wait + ".", one + " Meanwhile, go for " + between + "."},
		{"flat after a rise", advice.Flat, func(f *estimate.Flag) { f.Rose = true },
			rate + change + ": no gain shown since about 25 May" + wait + ".", one + " Meanwhile, go for " + between + "."},
		{"far away", advice.Flat, func(f *estimate.Flag) { f.Chance, f.EvenScale = 0.02, 1 },
			rate + change + none + "; with 20 balls a session, 9 in a row comes about once in 50 sessions: unlikely even in 30.", one + " Meanwhile, go for 5 in a row inside 5 ft (about 1 session in 2)."},
		{"without a tier, radius and dates", advice.Flat, func(f *estimate.Flag) {
			f.Date, f.Facts = domain.Date{}, estimate.Facts{Rose: true, Sessions: 1}
		}, "inside: 58 % (51 to 65): no gain shown since about session 13.", one},
		{"slipping", advice.Slipping, func(f *estimate.Flag) { f.Before, f.BeforeLo, f.BeforeHi = 0.7, 0.65, 0.75 },
			rate + ", down from 70 % (65 to 75) before about 25 May" + wait + ".",
			"Ask what changed around 25 May, and look at the technique before the next test."},
		{"slipping from the start", advice.Slipping, func(*estimate.Flag) {},
			rate + ", falling" + wait + ".", "Ask what changed around 25 May, and look at the technique before the next test."},
		{"overreached", advice.Overreached, func(f *estimate.Flag) { f.Chance, f.MedianSessions = 0.0004, 0 },
			rate + "; with 20 balls a session, 9 in a row comes less than once in 1,000 sessions: unlikely even in 30.",
			"Put something easier before it: " + between + "."},
		{"too few balls", advice.Overreached, func(f *estimate.Flag) { f.Chance, f.BallsPerTest = 0, 8 },
			rate + "; 9 in a row cannot be passed in 8 balls.", "Plan tests of at least 18 balls."},
		{"outgrown", advice.Outgrown, func(f *estimate.Flag) { f.Chance, f.EvenScale, f.EvenRadius = 0.97, 0.6, 3*domain.Foot },
			rate + "; with 20 balls a session, 9 in a row comes in most sessions.",
			"Test it, and go on to 9 in a row inside 3 ft (about even odds in one session) or a longer shot."},
		{"outgrown beyond measure", advice.Outgrown, func(f *estimate.Flag) { f.Chance, f.EvenScale, f.EvenRadius = 0.995, 0, 0 },
			rate + "; with 20 balls a session, 9 in a row comes in most sessions.",
			"Test it, and go on to a smaller circle, more in a row or a longer shot."},
	} {
		f := flagged()
		c.change(f)
		a := estimate.Assessment{Rate: now}
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
		if told := got[0].Reliability() != ""; told != (c.reason == advice.Flat || c.reason == advice.Slipping) {
			t.Errorf("%s: reliability is %q", c.why, got[0].Reliability())
		}
	}
}

// TestNoNumbersNoWords: a stall made of nothing says nothing.
func TestNoNumbersNoWords(t *testing.T) {
	if e, a := (advice.Stall{Reason: advice.Flat}).Words(advice.Reader{}); e != "" || a != "" {
		t.Errorf("got %q and %q", e, a)
	}
}

func TestUndecidedWords(t *testing.T) {
	up, down := trend(0.04, 0.02, 0.06), trend(-0.04, -0.06, -0.02)
	for _, c := range []struct {
		u     estimate.Undecided
		trend estimate.Trend
		want  string
	}{
		{estimate.Undecided{}, up, ""},
		{estimate.Undecided{Applies: true, MoreSessions: 15}, up, "No ball yet: about 15 sessions should tell whether it rises."},
		{estimate.Undecided{Applies: true, MoreSessions: 4, Balls: 30, Sessions: 5}, estimate.Trend{},
			"58 % (51 to 65): too early to tell whether it rises; about 4 more sessions of 30 balls should."},
		{estimate.Undecided{Applies: true, MoreSessions: 4, Balls: 30, Sessions: 5}, up,
			"58 % (51 to 65): too early to tell whether it still rises; about 4 more sessions of 30 balls should."},
		{estimate.Undecided{Applies: true, MoreSessions: 1, Balls: 1, Sessions: 1}, down,
			"58 % (51 to 65): too early to tell whether it still falls; about 1 more session of 1 ball should."},
		{estimate.Undecided{Applies: true, MoreSessions: 30, Balls: 9, Sessions: 12}, estimate.Trend{},
			"58 % (51 to 65): too early to tell whether it rises, and another 30 sessions may not settle it."},
	} {
		s := progress.State{Assessment: estimate.Assessment{Rate: now, Undecided: c.u, Trend: c.trend}}
		if got := advice.Undecided(advice.Reader{}, s); got != c.want {
			t.Errorf("%+v: got %q, want %q", c.u, got, c.want)
		}
	}
	s := progress.State{Assessment: estimate.Assessment{Rate: now, Undecided: estimate.Undecided{Applies: true, MoreSessions: 4, Balls: 30, Sessions: 5}}}
	s.Recent.Elsewhere = []estimate.Circle{{Radius: 5 * domain.Foot, Balls: 40}}
	if got, want := advice.Undecided(advice.Reader{}, s), "58 % (51 to 65), from balls judged at 5 ft: too early to tell whether it rises; about 4 more sessions of 30 balls should."; got != want {
		t.Errorf("judged elsewhere: got %q, want %q", got, want)
	}
	s.Recent, s.Assessment.Rate.Mean = progress.RecentCounts{}, 0.96
	if got, want := advice.Undecided(advice.Reader{}, s), "96 % (51 to 65): too near the top for a rise to show."; got != want {
		t.Errorf("near the top: got %q, want %q", got, want)
	}
}

func trend(slope, lo, hi float64) estimate.Trend {
	return estimate.Trend{Sessions: 11, Slope: slope, Interval80: estimate.Interval{Lo: lo, Hi: hi}}
}

// TestTrendWords: from the first to the last session, at 58 %, with one verdict,
// the flags'.
func TestTrendWords(t *testing.T) {
	open := estimate.Undecided{Applies: true}
	rose, fell := flagged(), flagged()
	rose.Rose = true
	fell.Before, fell.BeforeLo, fell.BeforeHi = 0.7, 0.65, 0.75
	const from = " from the first to the last of 11 sessions: "
	for _, c := range []struct {
		a    estimate.Assessment
		want string
	}{
		{estimate.Assessment{Trend: estimate.Trend{Sessions: 2}}, "Too few sessions since the last step to tell."},
		{estimate.Assessment{Trend: trend(0.04, 0.02, 0.06)}, "+10 points (+5 to +15)" + from + "rising."},
		{estimate.Assessment{Trend: trend(0.04, 0.02, 0.06), Undecided: open}, "+10 points (+5 to +15)" + from + "up; too early to say if it is still rising."},
		{estimate.Assessment{Trend: trend(0.04, 0.02, 0.06), Flat: rose}, "+10 points (+5 to +15)" + from + "level since about 25 May."},
		{estimate.Assessment{Trend: trend(-0.04, -0.06, -0.02), Undecided: open}, "−9 points (−13 to −5)" + from + "down; too early to say if it is still falling."},
		{estimate.Assessment{Trend: trend(-0.04, -0.06, -0.02), Flat: flagged()}, "−9 points (−13 to −5)" + from + "down, if anything."},
		{estimate.Assessment{Trend: trend(-0.04, -0.06, -0.02), Slipping: flagged()}, "−9 points (−13 to −5)" + from + "falling."},
		{estimate.Assessment{Trend: trend(0.004, -0.02, 0.028), Slipping: fell}, "58 % (51 to 65), down from 70 % (65 to 75) before about 25 May."},
		{estimate.Assessment{Trend: trend(0.004, -0.02, 0.028), Undecided: open}, "+1 point (−5 to +7)" + from + "cannot tell yet."},
		{estimate.Assessment{Trend: trend(0, -0.02, 0.02), Flat: flagged()}, "0 points (−5 to +5)" + from + "no gain shown."},
		{estimate.Assessment{Trend: trend(0.02, 0.004, 0.04), Slow: true}, "+5 points (+1 to +10)" + from + "a slow gain at best."},
	} {
		c.a.Rate = now
		if got := advice.Trend(advice.Reader{}, progress.State{Assessment: c.a}); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
	s := progress.State{Assessment: estimate.Assessment{Rate: estimate.Rate{Mean: 0.99}, Trend: trend(0.1, 0, 0.2)}}
	if got, want := advice.Trend(advice.Reader{}, s), "Too near all or nothing for a change to show."; got != want {
		t.Errorf("near the top: got %q, want %q", got, want)
	}
	s.Recent.Elsewhere = []estimate.Circle{{Radius: 5 * domain.Foot, Balls: 40}}
	if got, want := advice.Trend(advice.Reader{}, s), "No ball judged in this circle yet: the rate comes from balls judged at 5 ft."; got != want {
		t.Errorf("judged elsewhere: got %q, want %q", got, want)
	}
	s.Ladder.Tiers = []streak.Tier{{Run: 4, Radius: 3 * domain.Foot}}
	if got, want := advice.Trend(advice.Reader{Metric: true}, s), "No ball judged at 0.91 m yet: the rate comes from balls judged at 1.52 m."; got != want {
		t.Errorf("judged elsewhere: got %q, want %q", got, want)
	}
}
