package advice

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// at makes a flag of a student whose rate is known.
func at(rate estimate.Rate, f estimate.Facts) flag {
	return flag{&estimate.Flag{Facts: f}, progress.State{Assessment: estimate.Assessment{Rate: rate}}}
}

// TestRateInWords: with these numbers one per cent of a rate shows. Balls that
// were all judged in another circle are named.
func TestRateInWords(t *testing.T) {
	rate := estimate.Rate{Mean: 0.904, Interval80: estimate.Interval{Lo: 0.856, Hi: 0.996}}
	f := at(rate, estimate.Facts{Sessions: 2, Before: 0.96, BeforeLo: 0.91, BeforeHi: 0.98})
	if got, want := f.rate(Reader{}), "inside: 90 % (86 to 100)"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got, _ := (slip{f}).words(Reader{}); !strings.Contains(got, ", down from 96 % (91 to 98) before about session 0") {
		t.Errorf("got %q", got)
	}
	f.Radius = 3 * domain.Foot
	f.state.Recent = progress.RecentCounts{Elsewhere: []estimate.Circle{{Radius: 5 * domain.Foot, Balls: 40}, {Radius: 6 * domain.Foot, Balls: 20}}}
	if got, want := f.rate(Reader{}), "inside 3 ft: 90 % (86 to 100), from balls judged at 5 ft"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	f.state.Recent.Elsewhere = f.state.Recent.Elsewhere[1:]
	if got, want := f.rate(Reader{}), "inside 3 ft: 90 % (86 to 100), from balls judged at 6 ft"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	f.state.Recent.Judged = 1
	if got, want := f.rate(Reader{Metric: true}), "inside 0.91 m: 90 % (86 to 100)"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// TestWaitAtItsBounds: a test as long as the run can be passed; beyond thirty
// sessions nothing is promised.
func TestWaitAtItsBounds(t *testing.T) {
	const far = ": unlikely even in 30"
	for _, c := range []struct {
		run, balls     int
		chance, median float64
		want           string
	}{
		{0, 20, 0.1, 5, ""},
		{1, 1, 0.5, 1, "; with 1 ball a session, one ball comes about once in 2 sessions"},
		{1, 0, 0, 1, "; one ball cannot be passed in 0 balls"},
		{9, 9, 0.2, 5, "; with 9 balls a session, 9 in a row comes about once in 5 sessions"},
		{9, 8, 0, 5, "; 9 in a row cannot be passed in 8 balls"},
		{9, 20, 0.0232, 0, "; with 20 balls a session, 9 in a row comes about once in 43 sessions"},
		{9, 20, 0.0231, 30, "; with 20 balls a session, 9 in a row comes about once in 43 sessions" + far}, // ln 2 / 30 = 0.0231049
		{9, 20, 0.006, 31, "; with 20 balls a session, 9 in a row comes about once in 170 sessions" + far},
		{9, 20, 0.0001, 0, "; with 20 balls a session, 9 in a row comes less than once in 1,000 sessions" + far},
	} {
		f := at(estimate.Rate{}, estimate.Facts{Tier: streak.Tier{Run: c.run}, BallsPerTest: c.balls, Chance: c.chance, MedianSessions: c.median})
		if got := f.wait(); got != c.want {
			t.Errorf("%d in a row in %d balls, %v sessions: got %q, want %q", c.run, c.balls, c.median, got, c.want)
		}
	}
	for tier, want := range map[streak.Tier]string{
		{Run: 1, Holed: 1}: "with 20 balls a session, one ball holed comes about once in 4 sessions",
		{Run: 2, Holed: 1}: "with 20 balls a session, 2 in a row with 1 holed comes about once in 4 sessions",
	} {
		f := at(estimate.Rate{}, estimate.Facts{Tier: tier, BallsPerTest: 20, Chance: 0.25})
		if got := f.chance(); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	for balls, want := range map[int]string{8: "Plan tests of at least 18 balls.", 9: "Put something easier before it: a shorter shot, or a better lie."} {
		f := at(estimate.Rate{}, estimate.Facts{Tier: streak.Tier{Run: 9}, BallsPerTest: balls})
		if _, got := (reach{f}).words(Reader{}); got != want {
			t.Errorf("9 in a row in %d balls: got %q, want %q", balls, got, want)
		}
	}
}

// TestStepsLieBetween: what has been done, and what is next, bound what is
// advised. The rate is 75 % inside 3 ft, in tests of 30 balls.
func TestStepsLieBetween(t *testing.T) {
	ft := func(x float64) domain.Length { return domain.Length(math.Round(x * float64(domain.Foot))) }
	tier := func(run int, feet float64, holed int) streak.Tier {
		return streak.Tier{Run: run, Radius: ft(feet), Holed: holed}
	}
	passed := func(t streak.Tier) progress.TierRecord {
		return progress.TierRecord{Tier: t, Best: streak.Run{Length: t.Run, Holed: t.Holed}, First: &progress.Hit{}}
	}
	for _, c := range []struct {
		why   string
		next  streak.Tier
		tiers []progress.TierRecord
		scale float64
		run   int
		want  string
	}{
		{"nothing done", tier(12, 3, 0), nil, 1.3, 8, "8 in a row inside 3 ft (about 1 session in 2) or 12 in a row inside 4 ft (most sessions)"},
		{"passed 8 inside 3 ft", tier(12, 3, 0), []progress.TierRecord{passed(tier(8, 3, 0))}, 1.3, 8, "10 in a row inside 3 ft (about 1 session in 3) or 12 in a row inside 3.5 ft (about 1 session in 2)"},
		{"passed 12 inside 5 ft", tier(12, 3, 0), []progress.TierRecord{passed(tier(12, 5, 0))}, 1.7, 8, "8 in a row inside 3 ft (about 1 session in 2) or 12 in a row inside 4.5 ft (most sessions)"},
		{"passed 11, no run between", tier(12, 3, 0), []progress.TierRecord{passed(tier(11, 3, 0))}, 1, 8, "11 in a row inside 3 ft again on another day"},
		{"passed what is far off now", tier(21, 3, 0), []progress.TierRecord{passed(tier(20, 3, 0))}, 1, 8, "16 of 20 inside 3 ft, in any order"},
		{"lacks the holed ball alone", tier(12, 3, 1), []progress.TierRecord{{Tier: tier(12, 3, 1), Best: streak.Run{Length: 18}}}, 1.3, 8,
			"practise holing: 18 in a row is there, and only 1 holed is missing"},
		{"no tier", streak.Tier{}, nil, 0, 5, ""},
	} {
		f := at(estimate.Rate{Mean: 0.75}, estimate.Facts{Tier: c.next, Radius: c.next.Radius, BallsPerTest: 30, EvenScale: c.scale, EvenRun: c.run})
		f.state.Tiers = c.tiers
		for _, t := range c.tiers {
			if t.First != nil {
				f.state.Ladder.Tiers = append(f.state.Ladder.Tiers, t.Tier)
				f.state.Held++
			}
		}
		if got := f.step(Reader{}); got != c.want {
			t.Errorf("%s: got %q, want %q", c.why, got, c.want)
		}
	}
}

// TestStepsAtTheirBounds: where a step begins and ceases to be one. The chances of
// a run are sums over the balls, made outside this project.
func TestStepsAtTheirBounds(t *testing.T) {
	tier := func(run int, feet float64, holed int) streak.Tier {
		return streak.Tier{Run: run, Radius: domain.Length(math.Round(feet * float64(domain.Foot))), Holed: holed}
	}
	best := func(t streak.Tier, run int) progress.TierRecord {
		return progress.TierRecord{Tier: t, Best: streak.Run{Length: run}}
	}
	for _, c := range []struct {
		why   string
		next  streak.Tier
		tiers []progress.TierRecord
		held  []streak.Tier
		rate  float64
		balls int
		scale float64
		run   int
		want  string
	}{
		{"three in a row are enough to play for", tier(4, 3, 0), nil, nil, 0.3, 20, 1, 2, "3 in a row inside 3 ft (about 1 session in 3)"}, // 0.310
		{"two are too few", tier(4, 3, 0), nil, nil, 0.2, 20, 1, 0, "3 in a row inside 3 ft (about 1 session in 9)"},                       // 0.112
		{"no circle of more than three times the radius", tier(12, 3, 0), nil, nil, 0.3, 30, 5, 0, "12 in a row inside 9 ft (most sessions)"},
		{"the best run counts where no tier is passed", tier(12, 3, 0), []progress.TierRecord{best(tier(12, 3, 0), 8)}, nil, 0.75, 30, 1, 8,
			"10 in a row inside 3 ft (about 1 session in 3)"}, // 0.321
		// One of 20 inside 3 ft has 1 − 0.95²⁰ = 0.642; two in a row inside 7 ft
		// have 0.624, and inside 7.5 ft more.
		{"one ball inside is something done", tier(2, 3, 0), []progress.TierRecord{best(tier(2, 3, 0), 1)}, nil, 0.05, 20, 3, 0,
			"2 in a row inside 7 ft (about 1 session in 2)"},
		{"one between 10 and 12", tier(12, 3, 0), []progress.TierRecord{best(tier(12, 3, 0), 10)}, nil, 0.75, 30, 1, 8,
			"11 in a row inside 3 ft (about 1 session in 4)"}, // 0.236
		{"the next run itself is no step", tier(8, 3, 0), nil, nil, 0.75, 30, 1, 8, "5 in a row inside 3 ft (most sessions)"},
		{"next to no easier", tier(8, 3, 0), []progress.TierRecord{best(tier(8, 3, 0), 6)}, nil, 0.75, 30, 1, 8,
			"16 of 20 inside 3 ft, in any order"}, // 0.705 for seven, 0.560 for eight
		{"a circle that suits is not widened to a round one", tier(12, 3.2, 0), nil, nil, 0.75, 30, 1, 8, "8 in a row inside 3.2 ft (about 1 session in 2)"},
		// 1 − 0.98^(20 · 16/9) = 0.512
		{"one ball in a wider circle", tier(1, 3, 0), nil, nil, 0.02, 20, 1.3, 0, "one ball inside 4 ft (about 1 session in 2)"},
		{"once in 21 sessions is too seldom", tier(20, 3, 0), []progress.TierRecord{best(tier(20, 3, 0), 12)}, nil, 0.75, 30, 1, 8,
			"16 of 20 inside 3 ft, in any order"}, // 16 in a row: 0.0451
		{"once in 19 sessions is not", tier(20, 3, 0), []progress.TierRecord{best(tier(20, 3, 0), 10)}, nil, 0.75, 27, 1, 7,
			"15 in a row inside 3 ft (about 1 session in 19)"}, // 0.0535
		{"once in 20 again", tier(2, 3, 0), nil, []streak.Tier{tier(1, 3, 0)}, 0.05, 1, 1, 0, "one ball inside 3 ft again on another day"},
		{"long runs in a wider circle are none in this one", tier(12, 3, 1), []progress.TierRecord{
			{Tier: tier(8, 5, 0), Best: streak.Run{Length: 14}, First: &progress.Hit{}}, best(tier(20, 5, 0), 14), best(tier(12, 3, 1), 5),
		}, nil, 0.75, 30, 1, 8, "8 in a row inside 3 ft (about 1 session in 2)"},
		{"just long enough, with none holed", tier(12, 3, 1), []progress.TierRecord{best(tier(12, 3, 1), 12)}, nil, 0.75, 30, 1.3, 8,
			"practise holing: 12 in a row is there, and only 1 holed is missing"},
		{"a run without a circle", tier(12, 0, 0), nil, nil, 0.75, 30, 1.3, 8, "8 in a row (about 1 session in 2)"},
		{"a share without a circle", tier(12, 0, 0), nil, nil, 0.3, 30, 1, 0, "7 of 20, in any order"},
	} {
		f := at(estimate.Rate{Mean: c.rate}, estimate.Facts{Tier: c.next, Radius: c.next.Radius, BallsPerTest: c.balls, EvenScale: c.scale, EvenRun: c.run})
		f.state.Tiers, f.state.Ladder.Tiers, f.state.Held = c.tiers, c.held, len(c.held)
		if got := f.step(Reader{}); got != c.want {
			t.Errorf("%s: got %q, want %q", c.why, got, c.want)
		}
	}
	// Nine of ten inside 3 ft leave one of 10⁹ outside 9 ft.
	f := at(estimate.Rate{Mean: 0.9}, estimate.Facts{Tier: tier(3, 3, 3), Radius: 3 * domain.Foot, BallsPerTest: 30, EvenScale: 3})
	steps := f.easier(Reader{})
	if len(steps) != 1 || f.odds(steps[0]) >= 1 {
		t.Errorf("what is certain is no step: got %+v", steps)
	}
	if twelve := tier(12, 3, 1); !within(twelve, twelve) {
		t.Error("whoever did a step has done it")
	}
}

// TestOddsOfOneBall are the rate itself: where it is told, and by Rayleigh's
// distribution in a circle twice as wide. In a narrower one it is not reduced.
func TestOddsOfOneBall(t *testing.T) {
	for _, c := range []struct{ told, radius, rate, want float64 }{
		{3, 6, 0.75, 1 - math.Pow(0.25, 4)}, {3, 3, 0.75, 0.75}, {3, 2, 0.75, 0.75}, {0, 6, 0.75, 0.75}, {3, 6, 0, 0}, {3, 6, 1, 1},
	} {
		f := at(estimate.Rate{Mean: c.rate}, estimate.Facts{Radius: domain.Length(c.told) * domain.Foot, BallsPerTest: 1})
		if got := f.odds(streak.Tier{Run: 1, Radius: domain.Length(c.radius) * domain.Foot}); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%v inside %v ft: got %v inside %v ft, want %v", c.rate, c.told, got, c.radius, c.want)
		}
	}
}

// TestRoundedRadii: people speak of half feet and of tenths of a metre.
func TestRoundedRadii(t *testing.T) {
	for _, c := range []struct{ got, want domain.Length }{
		{Reader{Metric: true}.rounded(12_340, up), 13_000}, {Reader{Metric: true}.rounded(12_340, down), 12_000},
		{Reader{}.rounded(3.2*float64(domain.Foot), up), 3*domain.Foot + domain.Foot/2}, {Reader{}.rounded(3.2*float64(domain.Foot), down), 3 * domain.Foot},
	} {
		if c.got != c.want {
			t.Errorf("got %v, want %v", c.got, c.want)
		}
	}
	// Five feet are even odds already: no circle to name.
	f := at(estimate.Rate{}, estimate.Facts{Tier: streak.Tier{Run: 9, Radius: 5 * domain.Foot}, EvenRadius: 5*domain.Foot + 1})
	if _, got := (ease{f}).words(Reader{}); got != "Test it, and go on to a smaller circle, more in a row or a longer shot." {
		t.Errorf("got %q", got)
	}
}

// TestSlowGainInWords: it is possible where the interval reaches two points. From
// one half, a slope of 0.0084 comes to 2.1 points over eleven sessions, and one of
// 0.0076 to 1.9.
func TestSlowGainInWords(t *testing.T) {
	for slope, want := range map[float64]string{0.0084: ": no clear gain yet.", 0.0076: ": no gain shown."} {
		f := at(estimate.Rate{Mean: 0.5}, estimate.Facts{Trend: estimate.Trend{Sessions: 11, Interval80: estimate.Interval{Lo: -0.01, Hi: slope}}})
		if got, _ := (level{f}).words(Reader{}); !strings.HasSuffix(got, want) {
			t.Errorf("%v: got %q, want %q at the end", slope, got, want)
		}
	}
}

// TestDifferencesInWords: rates differ by whole percentage points.
func TestDifferencesInWords(t *testing.T) {
	for d, want := range map[float64]string{
		-0.75: "−75 points", -0.01: "−1 point", -0.004: "0 points", 0: "0 points", 0.004: "0 points", 0.01: "+1 point", 0.02: "+2 points", 0.75: "+75 points",
	} {
		if got := points(d); got != want {
			t.Errorf("%v: got %q, want %q", d, got, want)
		}
	}
	// At one half, a slope of nothing comes to exactly nothing.
	half := estimate.Rate{Mean: 0.5}
	for _, c := range []struct{ slope, lo, hi float64 }{{0.04, 0, 0.08}, {-0.04, -0.08, 0}} {
		trend := estimate.Trend{Sessions: 11, Slope: c.slope, Interval80: estimate.Interval{Lo: c.lo, Hi: c.hi}}
		a := estimate.Assessment{Rate: half, Trend: trend, Undecided: estimate.Undecided{Applies: true}}
		if got := Trend(Reader{}, progress.State{Assessment: a}); !strings.HasSuffix(got, "from the first to the last of 11 sessions: cannot tell yet.") {
			t.Errorf("from %v to %v: got %q", c.lo, c.hi, got)
		}
	}
	soon := estimate.Assessment{Rate: half, Undecided: estimate.Undecided{Applies: true, Sessions: 3, MoreSessions: 29, Balls: 20}}
	if got, want := Undecided(Reader{}, progress.State{Assessment: soon}), "50 % (0 to 0): too early to tell whether it rises; about 29 more sessions of 20 balls should."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	for _, r := range []Reason{"tired", Lapsed} {
		if got := (Stall{Reason: r}).Reliability(); got != "" {
			t.Errorf("%s is not inferred: got %q", r, got)
		}
	}
}

// TestNoStepBackwards: of 10,000 students with ladders, records and rates drawn at
// random none is advised what they have done.
func TestNoStepBackwards(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 15))
	steps := 0
	for range 10_000 {
		reader := Reader{Metric: r.IntN(2) == 0}
		var s progress.State
		run, radius := 2+r.IntN(4), domain.Length(6+r.IntN(15))*domain.Foot/2
		for range 1 + r.IntN(5) {
			if t := (streak.Tier{Run: run, Radius: radius, Holed: r.IntN(2) * r.IntN(2)}); r.IntN(3) > 0 || len(s.Ladder.Tiers) == 0 {
				s.Ladder.Tiers = append(s.Ladder.Tiers, t)
			}
			if run += r.IntN(6); r.IntN(2) == 0 && radius > domain.Foot {
				radius -= domain.Foot / 2
			}
		}
		s.Held = r.IntN(len(s.Ladder.Tiers))
		for i, t := range s.Ladder.Tiers {
			record := progress.TierRecord{Tier: t, Best: streak.Run{Length: r.IntN(t.Run)}}
			if i < s.Held {
				record.First, record.Best = &progress.Hit{}, streak.Run{Length: t.Run + r.IntN(3), Holed: t.Holed}
			} else if r.IntN(4) == 0 && t.Holed > 0 {
				record.Best = streak.Run{Length: t.Run + r.IntN(9)}
			}
			s.Tiers = append(s.Tiers, record)
		}
		next, _ := s.Next()
		s.Assessment.Rate = estimate.Rate{Mean: 0.05 + 0.9*r.Float64()}
		f := flag{&estimate.Flag{Facts: estimate.Facts{
			Tier: next, Radius: next.Radius, BallsPerTest: next.Run + r.IntN(40), EvenScale: 0.5 + 3*r.Float64(), EvenRun: r.IntN(20),
		}}, s}
		for _, step := range f.easier(reader) {
			steps++
			if !within(step, next) && step.Radius <= next.Radius {
				t.Fatalf("%+v is no step before %+v", step, next)
			}
			for _, d := range f.reached() {
				if within(step, d) {
					t.Fatalf("%+v is advised to whoever did %+v; next is %+v", step, d, next)
				}
			}
		}
	}
	if steps < 5000 {
		t.Errorf("only %d steps were advised", steps)
	}
}

// TestLengthsInWords: what was set is told as it was set.
func TestLengthsInWords(t *testing.T) {
	feet := func(f float64) domain.Length { return domain.Length(math.Round(f * float64(domain.Foot))) }
	metres := func(m float64) domain.Length { return domain.Length(math.Round(m * float64(domain.Metre))) }
	ft, m := Reader{}, Reader{Metric: true}
	for _, c := range []struct{ got, want string }{
		{ft.exact(feet(4.26)), "4.3 ft"}, {ft.exact(feet(12)), "12 ft"}, {ft.exact(feet(4.24)), "4.2 ft"},
		{m.exact(metres(1.524)), "1.52 m"}, {m.exact(metres(1.526)), "1.53 m"}, {m.exact(metres(2)), "2 m"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

func TestNumbersInWords(t *testing.T) {
	for p, want := range map[float64]string{
		0: "under 0.1 %", 0.00099: "under 0.1 %", 0.001: "0.1 %", 0.0994: "9.9 %", 0.0995: "10 %", 0.5: "50 %", 0.904: "90 %", 1: "100 %",
	} {
		if got := percent(p); got != want {
			t.Errorf("%v: got %q, want %q", p, got, want)
		}
	}
	for _, c := range []struct{ got, want string }{
		{inARow(1), "one ball"}, {inARow(2), "2 in a row"}, {count(0, "ball"), "0 balls"}, {count(1, "ball"), "1 ball"}, {count(2, "ball"), "2 balls"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
	a := estimate.Assessment{
		Rate:      estimate.Rate{Mean: 0.904, Interval80: estimate.Interval{Lo: 0.856, Hi: 0.996}},
		Undecided: estimate.Undecided{Applies: true, Sessions: 3, MoreSessions: 2, Balls: 20},
	}
	if got, want := Undecided(Reader{}, progress.State{Assessment: a}), "90 % (86 to 100): too early to tell whether it rises; about 2 more sessions of 20 balls should."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestNearText(t *testing.T) {
	six := streak.Tier{Run: 6, Holed: 2}
	for _, c := range []struct {
		near streak.Near
		want string
	}{
		{streak.Near{Length: 5, Times: 1}, "reached 5 of 6, once"},
		{streak.Near{Length: 5, Times: 2}, "reached 5 of 6, twice"},
		{streak.Near{Length: 4, Times: 3}, "reached 4 of 6, 3 times"},
		{streak.Near{Length: 6, Holed: 1, Times: 1}, "reached 6 in a row with 1 of 2 holed, once"},
		{streak.Near{Length: 7, Times: 11}, "reached 7 in a row with 0 of 2 holed, 11 times"},
	} {
		if got := NearText(c.near, six); got != c.want {
			t.Errorf("%+v: got %q, want %q", c.near, got, c.want)
		}
	}
}

// TestGap is the median of the last gaps, by hand.
func TestGap(t *testing.T) {
	start := time.Date(2026, time.May, 4, 10, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		days []float64
		want float64
	}{
		{nil, 0}, {[]float64{0}, 0}, {[]float64{0, 3, 6}, 0},
		{[]float64{0, 1, 3, 8}, 2},       // gaps 1, 2, 5
		{[]float64{0, 5, 6, 8}, 2},       // gaps 5, 1, 2
		{[]float64{0, 1, 4, 8, 16}, 3.5}, // gaps 1, 3, 4, 8
		{[]float64{0, 0.5, 1, 1.5}, 0.5}, // twice a day
	} {
		var h progress.Habit
		for _, d := range c.days {
			h.Starts = append(h.Starts, start.Add(time.Duration(d*24*float64(time.Hour))))
		}
		if got := gap(h); got != c.want {
			t.Errorf("%v: got %v days, want %v", c.days, got, c.want)
		}
	}
}

// TestPracticeOf: what sessions at one skill show of a habit, on what day.
func TestPracticeOf(t *testing.T) {
	undated := estimate.Evidence{SessionsPerWeek: 2, Sessions: []estimate.Observation{
		{Day: 0, Balls: 20}, {Day: 2.5, Balls: 1}, {Day: 4, Balls: 0}, {Day: 6.75, Balls: 20}, {Day: 9, Balls: 0},
	}}
	dated := undated
	dated.Origin = domain.Date{Year: 2026, Month: time.May, Day: 4}
	p := PracticeOf(dated, 10.9)
	var starts []string
	for _, s := range p.Habit.Starts {
		starts = append(starts, s.Format("2 January 15:04"))
	}
	if got := strings.Join(starts, ", "); got != "4 May 00:00, 6 May 12:00, 10 May 18:00" || p.Habit.Sessions != 5 {
		t.Errorf("got %s, %d sessions, want the three that were held of five", got, p.Habit.Sessions)
	}
	if want := (Numbered{Last: 4, Sessions: 5}); *p.Numbered != want || p.Today != dated.Origin.AddDays(10) || p.PerWeek != 2 || !p.Expected || p.Zone != time.UTC || p.Since != (domain.Date{}) {
		t.Errorf("got %+v, numbered %+v, want it on 14 May, the last held the fourth of five", p, *p.Numbered)
	}
	if p := PracticeOf(dated, 3); p.Today != dated.Origin.AddDays(9) {
		t.Errorf("a day before the last session: got %v, want that session's", p.Today)
	}
	if p := PracticeOf(undated, 9); !p.Numbered.Undated || p.Habit.Starts[0].AddDate(0, 0, 9).Day() != p.Today.Day {
		t.Errorf("undated: got %+v on %v", p.Habit, p.Today)
	}
}

// TestSplitAtItsBounds: a plan of one second is a plan, one second spent is time
// spent; of kinds equally far from the plan the first is named.
func TestSplitAtItsBounds(t *testing.T) {
	kind := func(k string, planned, spent int) progress.KindTime {
		return progress.KindTime{Kind: k, Planned: planned, Spent: spent}
	}
	for _, c := range []struct {
		why         string
		times       []progress.KindTime
		want        bool
		most, least string
	}{
		{"one second", []progress.KindTime{kind("warmup", 1, 0), kind("test", 0, 1)}, true, "test", "warmup"},
		{"two equally short", []progress.KindTime{kind("warmup", 100, 50), kind("technique", 100, 50), kind("test", 100, 200)}, true, "test", "warmup"},
		{"two equally long", []progress.KindTime{kind("warmup", 100, 150), kind("technique", 100, 150), kind("test", 100, 0)}, true, "warmup", "test"},
		{"nothing planned", []progress.KindTime{kind("warmup", 0, 9), kind("test", 0, 1)}, false, "", ""},
		{"nothing spent", []progress.KindTime{kind("warmup", 9, 0), kind("test", 1, 0)}, false, "", ""},
	} {
		got, ok := isLopsided(Practice{Habit: progress.Habit{Planned: 3, Times: c.times}})
		if ok != c.want {
			t.Errorf("%s: stands %v, want %v", c.why, ok, c.want)
			continue
		}
		if s, _ := got.numbers.(split); ok && (s.most.Kind != c.most || s.least.Kind != c.least) {
			t.Errorf("%s: most to %q and least to %q, want %q and %q", c.why, s.most.Kind, s.least.Kind, c.most, c.least)
		}
	}
}

// TestLongestSilence: a reason may be silenced for ninety days.
func TestLongestSilence(t *testing.T) {
	for _, r := range Reasons() {
		if got := r.Silence(); got != 90 {
			t.Errorf("%s: %d days", r, got)
		}
	}
}
