package streak

import (
	"math"
	"strings"
	"testing"

	"fringework/domain"
)

// TestNearFrom: three quarters of the run rounded up, but one ball less at the
// most, and at least one. By hand: 0.75 · 7 = 5.25, so 6.
func TestNearFrom(t *testing.T) {
	for run, want := range map[int]int{
		1: 1, 2: 1, 3: 2, 4: 3, 5: 4, 6: 5, 7: 6, 8: 6, 10: 8, 11: 9, 12: 9, 13: 10, 14: 11, 15: 12, 16: 12, 200: 150,
	} {
		if got := (Tier{Run: run}).NearFrom(); got != want {
			t.Errorf("a run of %d: near from %d, want %d", run, got, want)
		}
	}
}

// problemsOf joins the pointers of what is wrong.
func problemsOf(check func(p *domain.Problems, at string)) string {
	var p domain.Problems
	check(&p, "")
	var all []string
	for _, f := range p.Fields() {
		all = append(all, f.Pointer)
	}
	return strings.Join(all, " ")
}

// TestBallsAtTheirBounds: each bound is accepted and one past it refused.
func TestBallsAtTheirBounds(t *testing.T) {
	const short, wide = domain.Metre / 10, 30 * domain.Metre
	for _, c := range []struct {
		ball Ball
		want string
	}{
		{Ball{Outcome: In, Radius: short}, ""},
		{Ball{Outcome: In, Radius: short - 1}, "/radius_m"},
		{Ball{Outcome: Out, Radius: wide}, ""},
		{Ball{Outcome: Out, Radius: wide + 1}, "/radius_m"},
		{Ball{Outcome: Holed}, ""},
		{Ball{Outcome: Holed, Radius: short}, ""},
		{Ball{Outcome: Holed, Radius: short - 1}, "/radius_m"},
		{Ball{Outcome: Holed, Radius: 1}, "/radius_m"},
		{Ball{Outcome: Holed, Radius: -1}, "/radius_m"},
		{Ball{Outcome: Holed, Radius: wide}, ""},
		{Ball{Outcome: Holed, Radius: wide + 1}, "/radius_m"},
		{Ball{Outcome: Holed, Measured: true}, ""},
		{Ball{Outcome: Holed, Measured: true, Leave: 1}, "/leave_m"},
		{Ball{Outcome: Holed, Measured: true, Leave: -1}, "/leave_m"},
		{Ball{Outcome: Holed, Leave: 1}, ""},
		{Ball{Outcome: In, Radius: 2 * domain.Metre, Measured: true}, ""},
		{Ball{Outcome: In, Radius: 2 * domain.Metre, Measured: true, Leave: 1}, ""},
		{Ball{Outcome: In, Radius: 2 * domain.Metre, Measured: true, Leave: -1}, "/leave_m"},
		{Ball{Outcome: In, Radius: 2 * domain.Metre, Measured: true, Leave: 2 * domain.Metre}, ""},
		{Ball{Outcome: In, Radius: 2 * domain.Metre, Measured: true, Leave: 2*domain.Metre + 1}, "/leave_m"},
		{Ball{Outcome: Out, Radius: 2 * domain.Metre, Measured: true, Leave: 2 * domain.Metre}, ""},
		{Ball{Outcome: Out, Radius: 2 * domain.Metre, Measured: true, Leave: 2*domain.Metre - 1}, "/leave_m"},
		{Ball{Outcome: Out, Radius: wide, Measured: true, Leave: 1000 * domain.Metre}, ""},
		{Ball{Outcome: Out, Radius: wide, Measured: true, Leave: 1000*domain.Metre + 1}, "/leave_m"},
		{Ball{Outcome: 3}, "/outcome"},
	} {
		if got := problemsOf(c.ball.Check); got != c.want {
			t.Errorf("%+v: problems at %q, want %q", c.ball, got, c.want)
		}
	}
}

// TestQuestionsAtTheirBounds, as for balls.
func TestQuestionsAtTheirBounds(t *testing.T) {
	ask := func(change func(q *Question)) string {
		q := Question{Run: 6, Rates: Rates{In: 0.5, Holed: 0.1}}
		change(&q)
		return problemsOf(q.Check)
	}
	for _, c := range []struct {
		what   string
		change func(q *Question)
		want   string
	}{
		{"no ball", func(q *Question) { q.Balls = 0 }, ""},
		{"most balls", func(q *Question) { q.Balls = 20_000 }, ""},
		{"a ball more", func(q *Question) { q.Balls = 20_001 }, "/balls"},
		{"longest current run", func(q *Question) { q.From = Run{Length: 20_000} }, ""},
		{"a ball longer", func(q *Question) { q.From = Run{Length: 20_001} }, "/from/run"},
		{"all of it holed", func(q *Question) { q.From = Run{Length: 3, Holed: 3} }, ""},
		{"less than none holed", func(q *Question) { q.From = Run{Length: 3, Holed: -1} }, "/from/holed"},
		{"longest run", func(q *Question) { q.Run = 200 }, ""},
		{"longer", func(q *Question) { q.Run = 201 }, "/run"},
		{"shortest run, all holed", func(q *Question) { q.Run, q.Holed = 1, 1 }, ""},
		{"more holed than a run of one", func(q *Question) { q.Run, q.Holed = 1, 2 }, "/holed"},
		{"no run asks for a run alone", func(q *Question) { q.Run, q.Holed = 0, 1 }, "/run"},
		{"rates of nothing", func(q *Question) { q.Rates = Rates{} }, ""},
		{"always in", func(q *Question) { q.Rates = Rates{In: 1} }, ""},
		{"always holed", func(q *Question) { q.Rates = Rates{Holed: 1} }, ""},
		{"a little more than always", func(q *Question) { q.Rates = Rates{In: 0.5, Holed: 0.5 + 1e-9} }, "/rates"},
		{"both rates impossible", func(q *Question) { q.Rates = Rates{In: -1, Holed: 2} }, "/rates/in /rates/holed"},
	} {
		if got := ask(c.change); got != c.want {
			t.Errorf("%s: problems at %q, want %q", c.what, got, c.want)
		}
	}
}

// TestNoRate: where no rate will do, none is given.
func TestNoRate(t *testing.T) {
	var o Odds
	o.Prepare(Tier{Run: 5, Holed: 1}, Rates{In: 0.5, Holed: 0.1})
	for what, ask := range map[string]func() (float64, bool){
		"too few balls":       func() (float64, bool) { return o.RateFor(Run{Length: 2}, 2, 0.5) },
		"passed already":      func() (float64, bool) { return o.RateFor(Run{Length: 6, Holed: 1}, 9, 0.5) },
		"holed balls too few": func() (float64, bool) { return o.RateFor(Run{}, 5, 0.999) },
	} {
		if rate, ok := ask(); ok || rate != 0 {
			t.Errorf("%s: got %v, %v, want no rate", what, rate, ok)
		}
	}
	// Three more balls of a run, all inside, one of them surely holed: p³ = 1/2.
	o.Prepare(Tier{Run: 5}, Rates{In: 0.5})
	if rate, ok := o.RateFor(Run{Length: 2}, 3, 0.5); !ok || math.Abs(rate-math.Cbrt(0.5)) > 1e-12 {
		t.Errorf("just enough balls: got %v, %v, want %v", rate, ok, math.Cbrt(0.5))
	}
}

// TestHardAtItsLimit: a run of n in n balls takes 1/0.8ⁿ sessions at 80 %: 35.5
// for sixteen, which is within three months at three a week, and 44.4 for
// seventeen.
func TestHardAtItsLimit(t *testing.T) {
	one := func(tier Tier, balls int) *RatePreview {
		tier.Radius = 2 * domain.Metre
		return Ladder{Tiers: []Tier{tier}}.Preview(Session{Balls: balls, HoledShare: holed(0)})[0].Hard
	}
	if got := one(Tier{Run: 16}, 16); got != nil {
		t.Errorf("sixteen in sixteen balls is hard: %+v", got)
	}
	if got, want := one(Tier{Run: 17}, 17), math.Pow(0.8, 17); got == nil || got.Rate != 0.8 || math.Abs(got.PerSession-want) > 1e-12 || math.Abs(got.Sessions-1/want) > 1e-6 {
		t.Errorf("seventeen in seventeen balls: got %+v, want a chance of %v", got, want)
	}
	// With k balls more than the run, k up to the run, the chance is pⁿ (1 + k q):
	// 1/(0.8²⁰ · 2.4) = 36.14 sessions for twenty in 27.
	if got := one(Tier{Run: 20}, 27); got == nil || math.Abs(got.Sessions-36.14) > 0.005 {
		t.Errorf("twenty in 27 balls: got %+v, want 36.14 sessions", got)
	}
	for why, got := range map[string]*RatePreview{
		"eighteen in seventeen balls":              one(Tier{Run: 18}, 17),
		"a holed ball where none is ever expected": one(Tier{Run: 6, Holed: 1}, 20),
	} {
		if got == nil || got.PerSession != 0 || !math.IsInf(got.Sessions, 1) {
			t.Errorf("%s: got %+v, want no chance", why, got)
		}
	}
}

// TestPreviewRates: the rates of a preview are every tenth, and 95 % at last;
// three in three balls come up as p³, holed or not.
func TestPreviewRates(t *testing.T) {
	got := Ladder{Tiers: []Tier{{Run: 3, Radius: domain.Metre, Holed: 3}}}.Preview(Session{Balls: 3, HoledShare: holed(0.25)})[0]
	if len(got.Rates) != 10 {
		t.Fatalf("%d rates, want 10", len(got.Rates))
	}
	for i, r := range got.Rates {
		rate := float64(min(10*(i+1), 95)) / 100
		if want := math.Pow(rate/4, 3); r.Rate != rate || math.Abs(r.PerSession-want) > 1e-12 {
			t.Errorf("rate %v: got %+v, want a chance of %v", rate, r, want)
		}
	}
	if !math.IsNaN(got.EvenRate) {
		t.Errorf("a quarter holed at the most has an even rate of %v", got.EvenRate)
	}
}

// TestTableShape: a row for each length up to the run, for each number of holed
// balls up to what is asked, and a column for no ball and for each further one.
func TestTableShape(t *testing.T) {
	table := TableOf(Tier{Run: 4, Holed: 1}, Rates{In: 0.5, Holed: 0.25}, 6)
	if len(table) != 5 {
		t.Fatalf("%d lengths, want 5", len(table))
	}
	for run, rows := range table {
		if len(rows) != 2 {
			t.Fatalf("a run of %d: %d rows, want 2", run, len(rows))
		}
		for holed, row := range rows {
			if len(row) != 7 {
				t.Fatalf("a run of %d with %d holed: %d columns, want 7", run, holed, len(row))
			}
			if done := run == 4 && holed == 1; done != (row[0] == 1) || !done && row[0] != 0 {
				t.Errorf("a run of %d with %d holed, no ball left: got %v", run, holed, row[0])
			}
		}
	}
	// By hand: one ball makes three into four and holds a holed one, or not.
	for _, c := range []struct {
		run, holed, balls int
		want              float64
	}{{3, 1, 1, 0.75}, {3, 0, 1, 0.25}, {3, 0, 2, 0.25 + 0.5*0.25}, {4, 0, 1, 0.25}, {4, 0, 2, 0.25 + 0.5*0.25}, {4, 1, 6, 1}, {2, 0, 1, 0}} {
		if got := table[c.run][c.holed][c.balls]; math.Abs(got-c.want) > 1e-15 {
			t.Errorf("a run of %d with %d holed, %d balls: got %v, want %v", c.run, c.holed, c.balls, got, c.want)
		}
	}
}

// TestLaddersAtTheirBounds: twelve tiers fit, and steps are told on their own
// however the tier before fares.
func TestLaddersAtTheirBounds(t *testing.T) {
	rising := func(n int) (l Ladder) {
		for i := range n {
			l.Tiers = append(l.Tiers, Tier{Run: i + 3, Radius: 2 * domain.Metre})
		}
		return l
	}
	const two = 2 * domain.Metre
	for _, c := range []struct {
		what   string
		ladder Ladder
		want   string
	}{
		{"twelve", rising(12), ""},
		{"one", rising(1), ""},
		{"all three easier", Ladder{Tiers: []Tier{{6, two, 2}, {5, two + 1, 1}}}, "/1/run /1/radius_m /1/holed"},
		{"a step from a tier out of bounds is not judged", Ladder{Tiers: []Tier{{6, two, 7}, {5, two, 0}}}, "/0/holed"},
		{"but the next one is", Ladder{Tiers: []Tier{{6, two, 7}, {5, two, 0}, {4, two, 0}}}, "/0/holed /2/run"},
		{"nor a step to one", Ladder{Tiers: []Tier{{6, two, 0}, {201, two, 0}, {5, two, 0}}}, "/1/run"},
	} {
		got := problemsOf(c.ladder.Check)
		if got != c.want {
			t.Errorf("%s: problems at %q, want %q", c.what, got, c.want)
		}
	}
}

// TestFewQuestions: where a rate is sought, the curve is asked a fifth as often
// as halving to a 1e-15th would, which takes 50, or better; and the answer is
// the root by hand.
func TestFewQuestions(t *testing.T) {
	for _, c := range []struct {
		what string
		f    func(x float64) float64
		root float64
	}{
		{"x³ = 1/2", func(x float64) float64 { return x*x*x - 0.5 }, math.Cbrt(0.5)},
		{"x⁹ = 1/2", func(x float64) float64 { return math.Pow(x, 9) - 0.5 }, math.Pow(0.5, 1.0/9)},
		{"1 − (1−x)²⁰ = 1/2", func(x float64) float64 { return 0.5 - math.Pow(1-x, 20) }, 1 - math.Pow(0.5, 1.0/20)},
		{"x² = 1/9", func(x float64) float64 { return x*x - 1.0/9 }, 1.0 / 3},
		{"√x = 9/10", func(x float64) float64 { return math.Sqrt(x) - 0.9 }, 0.81},
	} {
		asked, most := 0, 10
		if strings.HasPrefix(c.what, "√") {
			most = 4 // x is a quadratic of √x, which the interpolation then hits
		}
		got := crossing(func(x float64) float64 { asked++; return c.f(x) }, 0, 1, c.f(0), c.f(1))
		if math.Abs(got-c.root) > 1e-14 {
			t.Errorf("%s: got %v, want %v", c.what, got, c.root)
		}
		if asked > most {
			t.Errorf("%s: asked %d times, want at most %d", c.what, asked, most)
		}
	}
}

// TestGrowthIsItsSeries: with w(t) the chance that a run begun after an out
// ball goes on after t balls without the tier, followed here state by state,
// growth is q Σ w(t) (z^(t+1) − 1) at z = 1 + d, and its slope the derivative.
func TestGrowthIsItsSeries(t *testing.T) {
	for _, c := range []struct {
		tier  Tier
		rates Rates
	}{
		{Tier{Run: 4}, Rates{0.5, 0.125}},
		{Tier{Run: 3, Holed: 1}, Rates{0.5, 0.125}},
		{Tier{Run: 5, Holed: 2}, Rates{0.45, 0.2}},
		{Tier{Run: 4, Holed: 4}, Rates{0.3, 0.5}},
	} {
		var o Odds
		o.Prepare(c.tier, c.rates)
		out := 1 - c.rates.In - c.rates.Holed
		for _, d := range []float64{0, 0.01, 0.1, 0.4} {
			z, g, slope := 1+d, 0.0, 0.0
			now := map[Run]float64{{}: 1}
			for ball := range 1500 {
				then, left := map[Run]float64{}, 0.0
				for r, p := range now {
					left += p
					for _, next := range []struct {
						run Run
						p   float64
					}{{Run{r.Length + 1, r.Holed}, p * c.rates.In}, {Run{r.Length + 1, r.Holed + 1}, p * c.rates.Holed}} {
						if c.tier.MeetsIn(next.run) {
							continue
						}
						next.run.Length = min(next.run.Length, c.tier.Run)
						then[next.run] += next.p
					}
				}
				g += out * left * math.Expm1(float64(ball+1)*math.Log(z))
				slope += out * left * float64(ball+1) * math.Pow(z, float64(ball))
				now = then
			}
			gotG, gotSlope := o.growth(d)
			if math.Abs(gotG-g) > 1e-11*max(1, g) || math.Abs(gotSlope/slope-1) > 1e-11 {
				t.Errorf("%+v at %v: got %v and %v, want %v and %v", c, d, gotG, gotSlope, g, slope)
			}
		}
	}
	// Σ of powers of in·z has no end from z = 1/in on.
	var o Odds
	o.Prepare(Tier{Run: 3, Holed: 1}, Rates{0.5, 0.125})
	for _, d := range []float64{1, 1.5} {
		if g, slope := o.growth(d); !math.IsInf(g, 1) || !math.IsInf(slope, 1) {
			t.Errorf("at %v: got %v and %v, want +Inf", d, g, slope)
		}
	}
}

// TestLongWalksSettle: a million balls are not walked one by one, and the odds
// are those of the whole chain's matrix by squaring.
func TestLongWalksSettle(t *testing.T) {
	for _, c := range []struct {
		tier  Tier
		rates Rates
		most  int
	}{
		{Tier{Run: 12}, Rates{0.3, 0.02}, 100},
		{Tier{Run: 7}, Rates{0.1, 0}, 100},
		{Tier{Run: 6, Holed: 2}, Rates{0.15, 0.01}, 100},
		{Tier{Run: 16, Holed: 1}, Rates{0.3, 0.01}, 120},
		{Tier{Run: 4, Holed: 1}, Rates{0.9, 0}, 100},
	} {
		var o Odds
		o.Prepare(c.tier, c.rates)
		got, want := o.Within(Run{}, 1_000_000), newExact(c.tier, c.rates).far(Run{}, 1_000_000)
		if relative(got, want) > 1e-11 {
			t.Errorf("%+v: got %.17g, want %.17g", c, got, want)
		}
		if o.t > c.most {
			t.Errorf("%+v: %d balls were walked, want at most %d", c, o.t, c.most)
		}
		if from := 64 + 2*c.tier.Run; o.t < from {
			t.Errorf("%+v: it settled after %d balls, before it was asked from %d on", c, o.t, from)
		}
	}
}

// TestTheRunAlreadyHoldsIt: never out and never holed again, but the holed ball
// is in the run: so many more balls for sure.
func TestTheRunAlreadyHoldsIt(t *testing.T) {
	var o Odds
	o.Prepare(Tier{Run: 6, Holed: 1}, Rates{In: 1})
	from := Run{Length: 2, Holed: 1}
	if mean, sd := o.Expected(from), o.Deviation(from); mean != 4 || sd != 0 {
		t.Errorf("got %v ± %v balls, want 4 ± 0", mean, sd)
	}
	if ever, n := o.Ever(from), o.BallsFor(from, 0.9); ever != 1 || n != 4 {
		t.Errorf("ever %v, within %v balls, want 1 and 4", ever, n)
	}
	if mean := o.Expected(Run{Length: 2}); !math.IsInf(mean, 1) {
		t.Errorf("without the holed ball: %v balls, want +Inf", mean)
	}
}

// TestBallsForOnTheLevel: a chance that is the level but for rounding is
// enough. In floating point 0.6 + 0.3 is a little less than 0.9.
func TestBallsForOnTheLevel(t *testing.T) {
	var o Odds
	o.Prepare(Tier{Run: 1}, Rates{In: 0.6, Holed: 0.3})
	if got := o.BallsFor(Run{}, 0.9); got != 1 {
		t.Errorf("one ball of nine in ten: got %v balls for nine in ten, want 1", got)
	}
	if got := o.BallsFor(Run{}, 0.9001); got != 2 {
		t.Errorf("a little more than nine in ten: got %v balls, want 2", got)
	}
}

// TestFewerIsBinomial: P(fewer than 3 of 10) at 1/5, term by term.
func TestFewerIsBinomial(t *testing.T) {
	o := Odds{hole: 0.2}
	want := math.Pow(0.8, 10) + 10*0.2*math.Pow(0.8, 9) + 45*0.04*math.Pow(0.8, 8)
	if got := o.fewer(10, 3); math.Abs(got-want) > 1e-14 {
		t.Errorf("got %v, want %v", got, want)
	}
	// Of a holed ball in a thousand million two are wanted, and one is there:
	// the first n with 1 − (1−h)ⁿ ≥ 1/2, log(1/2)/log(1−h) = 693147180.21.
	const h = 1e-9
	o.Prepare(Tier{Run: 6, Holed: 2}, Rates{1 - h, h})
	if got := o.BallsFor(Run{Length: 8, Holed: 1}, 0.5); got != 693147181 {
		t.Errorf("one more holed ball: got %v balls, want 693147181", got)
	}
}

// TestAnswerNamesTheEvenRate: three in three balls at even odds, ∛½.
func TestAnswerNamesTheEvenRate(t *testing.T) {
	a := Question{Run: 3, Balls: 3, Rates: Rates{In: 0.5}}.Answer()
	if !a.HasEvenRate || math.Abs(a.EvenRate-math.Cbrt(0.5)) > 1e-12 {
		t.Errorf("got %v, %v, want %v", a.EvenRate, a.HasEvenRate, math.Cbrt(0.5))
	}
}

// TestStepsAreNamed: tiers are counted from 1, and what is wrong with a ball or
// a ladder beyond its bounds is told alone.
func TestStepsAreNamed(t *testing.T) {
	const two = 2 * domain.Metre
	detail := func(tiers ...Tier) string {
		var p domain.Problems
		Ladder{Tiers: tiers}.Check(&p, "")
		var all []string
		for _, f := range p.Fields() {
			all = append(all, f.Detail)
		}
		return strings.Join(all, "; ")
	}
	first := Tier{4, two, 0}
	for want, tiers := range map[string][]Tier{
		"step 3 equals step 2; ask for more in a row, a smaller radius or more holed balls":              {first, {6, two, 2}, {6, two, 2}},
		"step 3 must be harder than step 2: use 6 in a row or more, got 5":                               {first, {6, two, 2}, {5, two, 3}},
		"step 3 must be harder than step 2: use a radius of 2 m (6.6 ft) or less, got 2.0001 m (6.6 ft)": {first, {6, two, 2}, {7, two + 1, 2}},
		"step 3 must be harder than step 2: ask for 2 holed or more, got 1":                              {first, {6, two, 2}, {7, two, 1}},
		"a ladder has at most 12 steps, got 13":                                                          make([]Tier, 13),
	} {
		if got := detail(tiers...); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	if got := problemsOf((Ball{Outcome: In, Radius: 1, Measured: true, Leave: 5}).Check); got != "/radius_m" {
		t.Errorf("a radius out of bounds: problems at %q, want the radius alone", got)
	}
}

// TestDecayByHand: a run of one misses q each time, so that q (1 + d) = 1; one
// of two at even odds is left by the root of x² = x/2 + 1/4, x = (1 + √5)/4, so
// that 1 + d = √5 − 1; and where one ball must be holed, all that are not leave
// 1 − h each time, in or out.
func TestDecayByHand(t *testing.T) {
	for _, c := range []struct {
		tier  Tier
		rates Rates
		want  float64
	}{
		{Tier{Run: 1}, Rates{0.5, 0}, 1},
		{Tier{Run: 1}, Rates{0.6, 0}, 1.5},
		{Tier{Run: 1}, Rates{0.5, 0.25}, 3},
		{Tier{Run: 2}, Rates{0.5, 0}, math.Sqrt(5) - 2},
		{Tier{Run: 2}, Rates{0.25, 0.25}, math.Sqrt(5) - 2},
		{Tier{Run: 1, Holed: 1}, Rates{0.5, 0.25}, 1.0 / 3},
		{Tier{Run: 1, Holed: 1}, Rates{0.125, 0.5}, 1},
		{Tier{Run: 1, Holed: 1}, Rates{0.5, 0.4}, 2.0 / 3},
		{Tier{Run: 1, Holed: 1}, Rates{0.3, 0.6}, 1.5},
		{Tier{Run: 1, Holed: 1}, Rates{0, 0.2}, 0.25},
		{Tier{Run: 3, Holed: 1}, Rates{0.4, 0}, 0},
		{Tier{Run: 3}, Rates{0, 0}, 0},
	} {
		var o Odds
		o.Prepare(c.tier, c.rates)
		if got := o.decay(); math.Abs(got-c.want) > 1e-14 {
			t.Errorf("%+v: got %v, want %v", c, got, c.want)
		}
	}
}
