package estimate

import (
	"math"
	"slices"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/greenside"
	"fringework/domain/streak"
)

// near holds a number to one worked out by hand or by another formula.
func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if !(math.Abs(got-want) <= 1e-9*math.Max(1, math.Abs(want))) {
		t.Errorf("%s: got %v, want %v", what, got, want)
	}
}

// TestBetaQuantileClosedForms: Beta(1, 1) is uniform, Beta(a, 1) and Beta(1, b)
// are powers, Beta(1/2, 1/2) is the arcsine law, and Beta(a, b) mirrors
// Beta(b, a).
func TestBetaQuantileClosedForms(t *testing.T) {
	for _, q := range []float64{0.001, 0.025, 0.1, 0.4, 0.5, 0.9, 0.975, 0.999} {
		near(t, "uniform", betaQuantile(q, 1, 1), q)
		for _, a := range []float64{0.25, 0.5, 2, 3, 40} {
			near(t, "a power", betaQuantile(q, a, 1), math.Pow(q, 1/a))
			near(t, "a power of the rest", betaQuantile(q, 1, a), 1-math.Pow(1-q, 1/a))
			near(t, "mirrored", betaQuantile(q, a, 7), 1-betaQuantile(1-q, 7, a))
		}
		near(t, "arcsine", betaQuantile(q, 0.5, 0.5), math.Pow(math.Sin(math.Pi*q/2), 2))
	}
	r := betaRate(3, 1, 12)
	near(t, "mean", r.Mean, 0.75)
	near(t, "80 % from", r.Interval80.Lo, math.Cbrt(0.1))
	near(t, "80 % to", r.Interval80.Hi, math.Cbrt(0.9))
	near(t, "95 % from", r.Interval95.Lo, math.Cbrt(0.025))
	near(t, "95 % to", r.Interval95.Hi, math.Cbrt(0.975))
	if r.A != 3 || r.B != 1 || r.EffectiveBalls != 12 {
		t.Errorf("got %+v, want Beta(3, 1) and 12 balls", r)
	}
}

// TestRatesPastTheWindow: a session that was not held changes no rate, before and
// after the oldest fall out.
func TestRatesPastTheWindow(t *testing.T) {
	var sessions []Observation
	for i := range 28 {
		sessions = append(sessions, Observation{Balls: 12, Inside: 4 + i%7}, Observation{})
	}
	got := RatesOf(sessions, 0, Prior{})
	for i := 0; i < len(got); i += 2 {
		if want := RateOf(sessions[:i+1], 0, Prior{}); got[i] != want || i+2 < Window && got[i+1] != want {
			t.Errorf("session %d: got %+v, then %+v, want %+v", i/2+1, got[i], got[i+1], want)
		}
	}
	if got := RatesOf([]Observation{{}, {Balls: 2, Inside: 1}}, 0, Prior{A: 3, B: 4}); got[0].A != 3 || got[0].B != 4 || got[0].EffectiveBalls != 0 || got[1].A != 4 || got[1].B != 5 || got[1].EffectiveBalls != 2 {
		t.Errorf("before the first ball: got %+v, want the prior, then Beta(4, 5)", got)
	}
	if got := RatesOf(nil, 0, Prior{}); len(got) != 0 {
		t.Errorf("no session: got %+v", got)
	}
	if got := RateOf([]Observation{{Balls: 1, Inside: 1}}, 0, Prior{}); got.A != 1.5 || got.B != 0.5 || got.EffectiveBalls != 1 {
		t.Errorf("a single ball: got %+v, want Beta(1.5, 0.5)", got)
	}
}

// TestRateCacheIsBounded: when full it begins anew.
func TestRateCacheIsBounded(t *testing.T) {
	var c rateCache
	for i := range keptRates {
		if r := c.rate(2+float64(i%97), 1+float64(i/97), 7); r.EffectiveBalls != 7 {
			t.Fatalf("got %+v, want a worth of seven balls", r)
		}
	}
	if r := c.rate(3, 1, 2); len(c.rates) != keptRates || r.EffectiveBalls != 2 || r.Mean != 0.75 {
		t.Errorf("one that is kept: got %+v of %d, want Beta(3, 1), worth two balls", r, len(c.rates))
	}
	if r := c.rate(0.5, 0.5, 0); len(c.rates) != 1 || r != betaRate(0.5, 0.5, 0) {
		t.Errorf("one more than there is room for: %d are kept, want the new one alone", len(c.rates))
	}
}

// TestPriorBounds: eight students who struck a ball teach a prior, worth at least
// one ball and at most sixty.
func TestPriorBounds(t *testing.T) {
	same := func(n, balls, inside int) []Counts { return slices.Repeat([]Counts{{balls, inside}}, n) }
	if got := LearnPrior(append(same(7, 30, 15), Counts{})); got != Jeffreys {
		t.Errorf("seven and one without a ball: got %+v, want Jeffreys'", got)
	}
	if got := LearnPrior(append(same(7, 30, 15), Counts{1, 1})); got == Jeffreys {
		t.Error("eight, one with a single ball, taught nothing")
	}
	// Alike to the ball, as no chance would have it: worth as much as may be.
	if got := LearnPrior(same(40, 30, 18)); got.A+got.B < 59 || got.A+got.B > 60 || math.Abs(got.A/(got.A+got.B)-0.6) > 0.005 {
		t.Errorf("forty times 18 of 30: got %+v, want a size just below 60 at 0.6", got)
	}
	// All or nothing: worth as little as may be.
	if got := LearnPrior(append(same(20, 30, 30), same(20, 30, 0)...)); got.A+got.B < 1 || got.A+got.B > 1.2 || math.Abs(got.A/(got.A+got.B)-0.5) > 0.001 {
		t.Errorf("all or nothing: got %+v, want a size just above 1 at 0.5", got)
	}
}

// TestPressureBounds holds what is refused from both sides.
func TestPressureBounds(t *testing.T) {
	full := make([]bool, 20_000)
	for _, c := range []struct {
		sessions [][]bool
		lateFrom int
		want     string
	}{
		{parse("1"), 0, "/late_from"}, {parse("1"), 1, ""}, {parse("1"), streak.MaxRun, ""}, {parse("1"), streak.MaxRun + 1, "/late_from"},
		{[][]bool{}, 1, "/sessions"}, {[][]bool{{}}, 1, ""},
		{[][]bool{full}, 1, ""}, {[][]bool{full, {true}}, 1, "/sessions/1"}, {[][]bool{full, {true}, {true}}, 1, "/sessions/1"},
	} {
		got := ""
		if f := domain.FieldsOf(checkPressure(c.sessions, c.lateFrom)); len(f) > 0 {
			got = f[len(f)-1].Pointer
		}
		if got != c.want {
			t.Errorf("%d sessions, late from %d: refused at %q, want %q", len(c.sessions), c.lateFrom, got, c.want)
		}
	}
}

// TestLateBallsByHand: in 1 1 0 1 1 1 the balls after two in a row are the third
// and the last; the ball that ends a run is late as well.
func TestLateBallsByHand(t *testing.T) {
	for _, c := range []struct {
		session  string
		lateFrom int
		want     lateTally
	}{
		{"110111", 2, lateTally{early: 4, earlyIn: 4, late: 2, lateIn: 1}},
		{"110111", 1, lateTally{early: 2, earlyIn: 2, late: 4, lateIn: 3}},
		{"110111", 3, lateTally{early: 6, earlyIn: 5}},
		{"0", 1, lateTally{early: 1}},
		{"", 1, lateTally{}},
	} {
		var got lateTally
		if got.count(parse(c.session)[0], c.lateFrom); got != c.want {
			t.Errorf("%q late from %d: got %+v, want %+v", c.session, c.lateFrom, got, c.want)
		}
	}
	if got := (lateTally{early: 1, earlyIn: 1, late: 1, lateIn: 1}); got.earlyRate() != 1 || got.lateRate() != 1 {
		t.Errorf("got rates %v and %v, want 1", got.earlyRate(), got.lateRate())
	}
	if got := (lateTally{early: 4, earlyIn: 3, late: 2, lateIn: 1}); got.earlyRate() != 0.75 || got.lateRate() != 0.5 {
		t.Errorf("got rates %v and %v, want 3/4 and 1/2", got.earlyRate(), got.lateRate())
	}
	if got := (lateTally{}); got.earlyRate() != 0 || got.lateRate() != 0 {
		t.Errorf("no ball: got rates %v and %v, want 0", got.earlyRate(), got.lateRate())
	}
}

// TestResidualByHand: through (0, 0), (1, 2) and (2, 1) with equal weights the
// best line leaves 1.5 of the 2 that the level leaves.
func TestResidualByHand(t *testing.T) {
	z, v := []float64{0, 2, 1}, []float64{1, 1, 1}
	x := func(t int) float64 { return float64(t) }
	near(t, "level", residual(z, v, x, 0), 2)
	near(t, "line", residual(z, v, x, 1), 1.5)
	if got := residual(z, v, x, -1); !math.IsInf(got, 1) {
		t.Errorf("a line that falls: got %v, want none", got)
	}
	near(t, "line that falls", residual([]float64{1, 2, 0}, v, x, -1), 1.5)
	if got := residual([]float64{1, 1, 1}, v, x, 1); !math.IsInf(got, 1) {
		t.Errorf("level points: got %v, want no rising line", got)
	}
	if got := residual(z, v, func(int) float64 { return 3 }, 1); !math.IsInf(got, 1) {
		t.Errorf("all at one place: got %v, want no line", got)
	}
	// A point with weight 2 counts as two: 0, 2, 2, 1, 1 at 0, 1, 1, 2, 2.
	w := []float64{1, 2, 2}
	near(t, "weighted level", residual(z, w, x, 0), 10-36.0/5)
	near(t, "weighted line", residual(z, w, x, 1), 10-36.0/5-math.Pow(8-6*6.0/5, 2)/(10-36.0/5))
}

// TestChangePointByHand: which of the sessions with balls the bend is at, counted
// among all of them.
func TestChangePointByHand(t *testing.T) {
	of := func(inside ...int) (all []Observation) { // of 100 balls; none when negative
		for _, n := range inside {
			if n < 0 {
				all = append(all, Observation{})
				continue
			}
			all = append(all, Observation{Balls: 100, Inside: n})
		}
		return all
	}
	for _, c := range []struct {
		why      string
		sessions []Observation
		from     int
		falls    bool
		want     int
		ok       bool
	}{
		{"a rise that ends with the fourth", of(20, 35, 54, 72, 72, 72, 72, 72), 0, false, 3, true},
		{"the same with two not held", of(20, 35, -1, 54, -1, 72, 72, 72, 72, 72), 0, false, 5, true},
		{"the same after others", of(90, 90, 20, 35, 54, 72, 72, 72, 72, 72), 2, false, 5, true},
		{"a fall after the fourth", of(72, 72, 72, 72, 54, 35, 20), 0, true, 3, true},
		{"a fall is no rise", of(72, 72, 72, 72, 54, 35, 20), 0, false, 0, false},
		{"level", of(50, 50, 50, 50, 50, 50), 0, false, 0, false},
		{"level, no fall", of(50, 50, 50, 50, 50, 50), 0, true, 0, false},
		{"three sessions have no bend", of(20, 40, 40), 0, false, 0, false},
		{"four have one, at the third", of(20, 35, 54, 54), 0, false, 2, true},
		{"none", nil, 0, false, 0, false},
	} {
		if got, ok := changePoint(c.sessions, c.from, c.falls); got != c.want || ok != c.ok {
			t.Errorf("%s: got %d, %v, want %d, %v", c.why, got, ok, c.want, c.ok)
		}
	}
}

// TestEvenRunByHand: two in a row at even chances have even odds in four balls
// exactly; 0.8² and 0.8³ are above one half, 0.8⁴ is below.
func TestEvenRunByHand(t *testing.T) {
	for _, c := range []struct {
		rate  float64
		balls int
		want  int
	}{
		{0.5, 4, 2}, {0.5, 3, 0}, {0.49, 4, 0}, {0.8, 1, 0}, {0.8, 2, 2}, {0.8, 3, 3}, {0.7, 2, 0}, {1, 5, 5}, {1, 500, streak.MaxRun}, {0, 20, 0}, {0.9, 0, 0},
	} {
		if got := evenRun(c.rate, c.balls); got != c.want {
			t.Errorf("at %v in %d balls: got %d, want %d", c.rate, c.balls, got, c.want)
		}
	}
}

// TestEvenCircle: the circle in which the tier has even odds, by the scatter the
// rate implies: none where the rate or the odds tell nothing of a scatter.
func TestEvenCircle(t *testing.T) {
	tier := streak.Tier{Run: 4, Radius: 2 * domain.Metre}
	w := func(balls int) *watch {
		return &watch{Evidence: Evidence{Radius: tier.Radius, Tier: &tier, BallsPerTest: balls}}
	}
	at := func(w *watch, rate float64) (f Facts) {
		w.odds(&f, Assessment{Rate: Rate{Mean: rate}, Forecast: &Forecast{NextSession: 0.3, MedianSessions: 7}})
		return f
	}
	f := at(w(4), 0.6) // four of four: even odds at the fourth root of one half
	even := math.Pow(0.5, 0.25)
	scale := math.Sqrt(math.Log(1-even) / math.Log(1-0.6))
	if math.Abs(f.EvenScale-scale) > 1e-6 || math.Abs(f.EvenRadius.Metres()-2*scale) > 1e-3 || f.EvenRun != 2 {
		t.Errorf("got %v times as wide, %v and %d in a row, want %v times 2 m and two", f.EvenScale, f.EvenRadius, f.EvenRun, scale)
	}
	if f.Radius != tier.Radius || f.Tier != tier || f.BallsPerTest != 4 || f.Chance != 0.3 || f.MedianSessions != 7 {
		t.Errorf("got %+v, want the tier's numbers and the forecast's", f)
	}
	for rate, want := range map[float64]bool{0.01: false, 0.0101: true, 0.9899: true, 0.99: false} {
		if f := at(w(20), rate); (f.EvenScale > 0) != want || (f.EvenRadius > 0) != want {
			t.Errorf("rate %v: got %v times as wide, %v, want any %v", rate, f.EvenScale, f.EvenRadius, want)
		}
	}
	if f := at(w(3), 0.6); f.EvenScale != 0 || f.EvenRadius != 0 {
		t.Errorf("four in three balls: got %+v, want no circle", f)
	}
	tier = streak.Tier{Run: 20, Radius: domain.Metre} // all of twenty: even odds at 96.6 %
	if f := at(w(20), 0.6); f.EvenScale <= 1 || f.EvenRadius <= domain.Metre {
		t.Errorf("twenty in twenty balls: got %+v, want a wider circle", f)
	}
	// Of four that are all inside one is holed in 50.05 % of the cases: even odds
	// take 99.98 % inside, and no scatter is told by that.
	tier = streak.Tier{Run: 4, Radius: domain.Metre, Holed: 1}
	holed := w(4)
	if holed.share = 1 - math.Pow(0.4995, 0.25); at(holed, 0.6).EvenScale != 0 {
		t.Errorf("all but certain: got %+v, want no circle", at(holed, 0.6))
	}
	tier = streak.Tier{Run: 4}
	if f := at(w(4), 0.6); math.Abs(f.EvenScale-greenside.RadiusFrom(1, 0.6, even)) > 1e-6 || f.EvenRadius != 0 {
		t.Errorf("without a radius: got %+v, want the scale alone", f)
	}
	var none Facts
	if (&watch{}).odds(&none, Assessment{}); none != (Facts{}) {
		t.Errorf("without a tier: got %+v", none)
	}
}

// TestFlagCountsFromTheHistory: sessions are numbered over the whole history,
// days from its origin.
func TestFlagCountsFromTheHistory(t *testing.T) {
	origin := domain.Date{Year: 2026, Month: time.May, Day: 4}
	w := &watch{Evidence: Evidence{Origin: origin}, skipped: 40, sessions: []Observation{{Day: 90}, {Day: 93.75, Balls: 9}, {Day: 96}}}
	f := w.flag(Assessment{}, 1, 2, 0.7)
	if f.Since != 42 || f.Raised != 43 || f.SinceDay != 93.75 || f.Date != origin.AddDays(93) || f.Probability != 0.7 {
		t.Errorf("got %+v, want it since session 42, day 93, raised after 43", f)
	}
	w.Origin = domain.Date{}
	if f := w.flag(Assessment{}, 0, 0, 1); f.Date != (domain.Date{}) || f.Since != 41 || f.Raised != 41 {
		t.Errorf("without an origin: got %+v, want no date", f)
	}
	w.sessions = []Observation{{Balls: 1}, {Balls: 5}, {}, {Balls: 5}, {}}
	for n, want := range map[int]int{0: 0, 1: 3, 2: 1, 3: 0, 9: 0} {
		if got := w.recentFrom(n); got != want {
			t.Errorf("the last %d practised begin at %d, want %d", n, got, want)
		}
	}
}

// TestFlatSince: a milestone makes a new start, and a rise that levelled off
// tells where it did.
func TestFlatSince(t *testing.T) {
	of := func(inside ...int) (all []Observation) {
		for _, n := range inside {
			all = append(all, Observation{Balls: 100, Inside: n})
		}
		return all
	}
	rise := of(20, 35, 54, 72, 72, 72, 72, 72)
	fresh := slices.Clone(rise)
	fresh[1].Milestone = true
	last := slices.Clone(rise)
	last[7].Milestone = true
	for _, c := range []struct {
		why      string
		sessions []Observation
		now      chances
		at       int
		rose     bool
	}{
		{"rose, then levelled off", rise, chances{levelled: 0.5, neverRose: 0.4}, 3, true},
		{"as likely never rose", rise, chances{levelled: 0.5, neverRose: 0.5}, 0, false},
		{"levelled off without a bend", of(50, 50, 50, 50, 50), chances{levelled: 1}, 0, false},
		{"never rose since the milestone", fresh, chances{neverRose: 1}, 2, false},
		{"rose on after the milestone", fresh, chances{levelled: 1}, 4, true}, // no bend is before the third
		{"a milestone in the last", last, chances{neverRose: 1}, 7, false},
	} {
		w := &watch{sessions: c.sessions, now: c.now}
		at, rose := w.flatSince()
		if at != c.at || rose != c.rose {
			t.Errorf("%s: got session index %d, rose %v, want %d, %v", c.why, at, rose, c.at, c.rose)
		}
	}
	w := &watch{sessions: of(72, 72, 72, 72, 54, 35, 20)}
	if got := w.fallsSince(); got != 3 {
		t.Errorf("a fall after the fourth: got session index %d, want 3", got)
	}
	w.sessions = of(72, 72, 72, 54, 35, 20)
	if got := w.fallsSince(); got != 2 {
		t.Errorf("a fall after the third: got session index %d, want 2", got)
	}
	w.sessions = of(20, 35, 54, 72, 72, 72, 72, 72)
	if got := w.fallsSince(); got != 2 {
		t.Errorf("no fall to be seen: got session index %d, want 2, the sixth from the end", got)
	}
}

// TestRaisedFlagsHaveTheirNumbers: each flag tells since when and how likely, a
// fall also from which rate.
func TestRaisedFlagsHaveTheirNumbers(t *testing.T) {
	sessions := func(inside ...int) (all []Observation) {
		for i, n := range inside {
			all = append(all, Observation{Day: float64(i), Balls: 100, Inside: n})
		}
		return all
	}
	up := func(raised int) latch { return latch{on: true, raised: raised} }
	now := chances{falling: 0.375, levelled: 0.25, neverRose: 0.125, rising: 0.25}
	falls := sessions(72, 72, 72, 72, 54, 35, 20)
	rises := sessions(20, 35, 54, 72, 72, 72, 72, 72, 72, 72, 72, 72)
	for _, c := range []struct {
		why               string
		sessions          []Observation
		flags             flags
		of                func(Assessment) *Flag
		since, raised     int
		probability       float64
		before, practised int // sessions
		rose              bool
	}{
		{"slipping", falls, flags{slipping: up(6)}, func(a Assessment) *Flag { return a.Slipping }, 4, 7, 0.375, 3, 4, false},
		{"flat", rises, flags{flat: up(9)}, func(a Assessment) *Flag { return a.Flat }, 4, 10, 0.75, 0, 9, true},
		{"overreached", rises, flags{overreached: up(10)}, func(a Assessment) *Flag { return a.Overreached }, 11, 11, 1, 0, 2, false},
		{"outgrown", rises, flags{outgrown: up(5)}, func(a Assessment) *Flag { return a.Outgrown }, 6, 6, 1, 0, 7, false},
	} {
		w := &watch{sessions: c.sessions, now: now, flags: c.flags}
		var a Assessment
		w.raise(&a)
		f := c.of(a)
		if f == nil {
			t.Errorf("%s: got %+v, want its flag", c.why, a)
			continue
		}
		if f.Since != c.since || f.Raised != c.raised || f.Probability != c.probability || f.Sessions != c.practised || f.Rose != c.rose {
			t.Errorf("%s: got %+v, want it since session %d, raised after %d", c.why, f, c.since, c.raised)
		}
		var before Rate
		if c.before > 0 {
			before = RateOf(c.sessions[:c.before], 0, Prior{})
		}
		if f.Before != before.Mean || f.BeforeLo != before.Interval80.Lo || f.BeforeHi != before.Interval80.Hi {
			t.Errorf("%s: a rate before of %v (%v to %v), want %+v", c.why, f.Before, f.BeforeLo, f.BeforeHi, before)
		}
		up := 0
		for _, x := range []*Flag{a.Slipping, a.Flat, a.Overreached, a.Outgrown} {
			if x != nil {
				up++
			}
		}
		if up != 1 {
			t.Errorf("%s: %d flags stand, want one", c.why, up)
		}
	}
}
