package streak

import (
	"fmt"
	"math"
	"math/big"
	"testing"

	"fringework/domain"

	"pgregory.net/rapid"
)

// relative is |got/want - 1|, 0 when both are 0 or the same infinity.
func relative(got, want float64) float64 {
	if got == want {
		return 0
	}
	return math.Abs(got/want - 1)
}

func TestOddsAgainstTheWholeChain(t *testing.T) {
	for _, c := range []struct {
		run, holed int
		rates      Rates
		from       Run
		balls      []int
	}{
		{9, 0, Rates{0.7, 0.02}, Run{}, []int{8, 9, 10, 60, 500}},
		{9, 0, Rates{0.7, 0.02}, Run{5, 1}, []int{3, 4, 5, 30}},
		{9, 1, Rates{0.68, 0.02}, Run{}, []int{9, 60, 300}},
		{9, 2, Rates{0.6, 0.1}, Run{7, 2}, []int{1, 2, 3, 40}},
		{9, 2, Rates{0.6, 0.1}, Run{14, 1}, []int{1, 2, 40}},
		{5, 5, Rates{0.5, 0.3}, Run{4, 0}, []int{1, 4, 5, 9, 100}},
		{18, 1, Rates{0.75, 0.05}, Run{}, []int{18, 100, 1000}},
		{1, 1, Rates{0.5, 0.1}, Run{3, 0}, []int{0, 1, 10}},
		{3, 0, Rates{1, 0}, Run{}, []int{2, 3}},
		{3, 2, Rates{0.5, 0.5}, Run{}, []int{2, 3, 4, 30}},
		{5, 0, Rates{0.99, 0}, Run{}, []int{5, 10, 20}},
		{5, 1, Rates{0.98, 0.01}, Run{2, 1}, []int{3, 10, 500}},
		{18, 0, Rates{0.3, 0}, Run{}, []int{18, 60, 5000}},
		{18, 2, Rates{0.28, 0.02}, Run{}, []int{18, 60}},
		{9, 1, Rates{1e-3, 1e-9}, Run{}, []int{9, 100}},
		{4, 1, Rates{0.999999, 1e-7}, Run{}, []int{4, 50, 1000}},
	} {
		var o Odds
		tier := Tier{Run: c.run, Holed: c.holed}
		o.Prepare(tier, c.rates)
		e := newExact(tier, c.rates)
		for _, balls := range c.balls {
			got, want := o.Within(c.from, balls), e.within(c.from, balls)
			if relative(got, want) > 1e-12 {
				t.Errorf("%+v within %d: got %.17g, want %.17g", c, balls, got, want)
			}
		}
		if got, want := o.Expected(c.from), e.expected(c.from); relative(got, want) > 1e-12 {
			t.Errorf("%+v expected: got %.17g, want %.17g", c, got, want)
		}
	}
}

// enumerate counts, over all sequences of balls, the probability of those that
// Read says pass the tier.
func enumerate(tier Tier, r Rates, balls int) float64 {
	total := 0.0
	sequence := make([]Ball, balls)
	chance := [3]float64{1 - r.In - r.Holed, r.In, r.Holed}
	var visit func(i int, p float64)
	visit = func(i int, p float64) {
		if i == balls {
			if Read(sequence, tier).PassedAt != 0 {
				total += p
			}
			return
		}
		for outcome, q := range chance {
			sequence[i] = Ball{Outcome: Outcome(outcome), Radius: tier.Radius}
			visit(i+1, p*q)
		}
	}
	visit(0, 1)
	return total
}

// TestOddsAgainstRead ties the odds to the judge: every sequence of nine balls
// is read, and the probabilities of those that pass the tier are summed.
func TestOddsAgainstRead(t *testing.T) {
	r := Rates{In: 0.55, Holed: 0.2}
	for _, tier := range []Tier{{3, fiveFeet, 0}, {3, fiveFeet, 1}, {3, fiveFeet, 3}, {4, fiveFeet, 2}, {1, fiveFeet, 1}, {9, fiveFeet, 0}} {
		for _, balls := range []int{0, 1, 3, 5, 9} {
			got, want := Within(tier, r, balls), enumerate(tier, r, balls)
			if math.Abs(got-want) > 1e-11 { // 19,683 terms are added
				t.Errorf("%v within %d: got %.16g, want %.16g", tier, balls, got, want)
			}
		}
	}
}

// TestOddsExtremes compares with Feller's closed forms (vol. 1, XIII.7) in
// rational arithmetic.
func TestOddsExtremes(t *testing.T) {
	for _, c := range []struct {
		p   *big.Rat
		run int
	}{
		{big.NewRat(99, 100), 5}, {big.NewRat(3, 10), 18}, {big.NewRat(1, 100), 100},
		{big.NewRat(999999, 1000000), 200}, {big.NewRat(1, 2), 200},
	} {
		p, _ := c.p.Float64()
		var o Odds
		o.Prepare(Tier{Run: c.run}, Rates{In: p})
		power := big.NewRat(1, 1)
		for range c.run {
			power.Mul(power, c.p)
		}
		one := big.NewRat(1, 1)
		mean := new(big.Rat).Sub(one, power)
		mean.Quo(mean, new(big.Rat).Mul(new(big.Rat).Sub(one, c.p), power))
		want, _ := mean.Float64()
		if got := o.Expected(Run{}); relative(got, want) > 1e-12 {
			t.Errorf("p = %v, run %d: expected %.17g, want %.17g", c.p, c.run, got, want)
		}
	}
	// The largest mean named by the trade: rate 0.3 and a run of 18.
	var o Odds
	o.Prepare(Tier{Run: 18}, Rates{In: 0.3})
	if got := o.Expected(Run{}); got < 3.6e9 || got > 3.8e9 {
		t.Errorf("rate 0.3, run 18: expected %v, want about 3.7e9 (arithmetic: 1/(0.7 · 0.3¹⁸))", got)
	}
}

func TestOddsWithoutAnEnd(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		why        string
		run, holed int
		rates      Rates
		from       Run
		want       Answer // Ever, Expected, Half, Ninety
	}{
		{"never inside", 9, 0, Rates{0, 0}, Run{}, Answer{Ever: 0, Expected: inf, Half: inf, Ninety: inf}},
		{"never holed", 9, 1, Rates{0.7, 0}, Run{}, Answer{Ever: 0, Expected: inf, Half: inf, Ninety: inf}},
		{"always inside, never holed", 9, 1, Rates{1, 0}, Run{}, Answer{Ever: 0, Expected: inf, Half: inf, Ninety: inf}},
		{"always inside", 9, 0, Rates{1, 0}, Run{4, 0}, Answer{Ever: 1, Expected: 5, Half: 5, Ninety: 5}},
		{"always holed", 9, 9, Rates{0, 1}, Run{4, 2}, Answer{Ever: 1, Expected: 7, Half: 7, Ninety: 7}},
		{"the holed ball is in the current run and no other will be: 0.8² = 0.64",
			9, 1, Rates{0.8, 0}, Run{7, 1}, Answer{Ever: 0.64, Expected: inf, Half: 2, Ninety: inf}},
		{"passed already", 9, 1, Rates{0, 0}, Run{9, 1}, Answer{Ever: 1}},
		{"long enough, waiting for a holed ball one time in ten, never out: 1 − 0.9⁷ = 0.52, 1 − 0.9²² = 0.902",
			9, 1, Rates{0.9, 0.1}, Run{12, 0}, Answer{Ever: 1, Expected: 10, Half: 7, Ninety: 22}},
	} {
		got := Question{Run: c.run, Holed: c.holed, Rates: c.rates, From: c.from}.Answer()
		if relative(got.Ever, c.want.Ever) > 1e-12 || relative(got.Expected, c.want.Expected) > 1e-12 ||
			got.Half != c.want.Half || got.Ninety != c.want.Ninety {
			t.Errorf("%s: got %+v, want %+v", c.why, got, c.want)
		}
		if got.HasEvenRate {
			t.Errorf("%s: a rate %v for even odds within no ball", c.why, got.EvenRate)
		}
	}
}

// TestBallsForFar compares with the powers of the whole chain's matrix, by
// repeated squaring, one ball before and at the answer.
func TestBallsForFar(t *testing.T) {
	for _, c := range []struct {
		tier  Tier
		rates Rates
		from  Run
	}{
		{Tier{Run: 18}, Rates{0.3, 0}, Run{}},
		{Tier{Run: 18}, Rates{0.3, 0}, Run{Length: 11}},
		{Tier{Run: 7, Holed: 2}, Rates{0.2, 0.01}, Run{}},
		{Tier{Run: 2, Holed: 1}, Rates{0.95, 1e-6}, Run{}},
		{Tier{Run: 3, Holed: 2}, Rates{0.9, 1e-4}, Run{5, 1}},
	} {
		var o Odds
		o.Prepare(c.tier, c.rates)
		e := newExact(c.tier, c.rates)
		for _, level := range []float64{0.5, 0.9} {
			n := o.BallsFor(c.from, level)
			if at, before := e.far(c.from, n), e.far(c.from, n-1); !(before < level && at >= level) {
				t.Errorf("%+v: %v balls give %.12f after %.12f, want %v reached there", c, n, at, before, level)
			}
		}
	}
}

// TestBallsForWithoutMiss has no ball out and hardly one holed, so that the
// wait is geometric with 1 − (1−h)ⁿ (arithmetic), or of two such waits.
func TestBallsForWithoutMiss(t *testing.T) {
	const h = 1e-9
	var o Odds
	o.Prepare(Tier{Run: 9, Holed: 1}, Rates{1 - h, h})
	want := math.Ceil(math.Log(0.5) / math.Log1p(-h))
	if got := o.BallsFor(Run{}, 0.5); math.Abs(got-want) > 1 {
		t.Errorf("one holed ball: got %v, want %v", got, want)
	}
	o.Prepare(Tier{Run: 9, Holed: 2}, Rates{1 - h, h})
	got := o.BallsFor(Run{}, 0.5)
	// P(at most one in n) is (1 + x) e⁻ˣ with x = n h, but for terms of order h.
	if x := got * h; math.Abs((1+x)*math.Exp(-x)-0.5) > 1e-8 {
		t.Errorf("two holed balls: %v leaves %v, want one half", got, (1+x)*math.Exp(-x))
	}
	o.Prepare(Tier{Run: 9, Holed: 1}, Rates{1, 1e-320})
	if got := o.BallsFor(Run{}, 0.9); !math.IsInf(got, 1) {
		t.Errorf("a holed ball that never comes in a float64: got %v, want +Inf", got)
	}
}

func TestShortForms(t *testing.T) {
	// Feller, vol. 1, XIII.7, eq. (7.7): (1 − pⁿ)/(q pⁿ) = (1 − 1/8)/(1/16) = 14.
	var o Odds
	o.Prepare(Tier{Run: 3}, Rates{In: 0.5})
	if got := o.Expected(Run{}); got != 14 {
		t.Errorf("three in a row of even chances: expected %v, want 14", got)
	}
	// One ball that must be holed, every second inside is: at most one half.
	if got, ok := RateFor(Tier{Run: 1, Holed: 1}, 0.5, 1, 0.5); got != 1 || !ok {
		t.Errorf("rate = %v, %v, want 1", got, ok)
	}
	if got, ok := RateFor(Tier{Run: 1, Holed: 1}, 0.5, 1, 0.51); ok {
		t.Errorf("rate = %v, want none", got)
	}
}

func TestBallsForIsTheFirst(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tier, r, from := genQuestion(t)
		level := rapid.SampledFrom([]float64{0.1, 0.5, 0.9}).Draw(t, "level")
		var o Odds
		o.Prepare(tier, r)
		n := o.BallsFor(from, level)
		if n > 20_000 {
			return
		}
		if got := o.Within(from, int(n)); got < level-1e-13 {
			t.Fatalf("within %v: %v < %v", n, got, level)
		}
		if n > 0 && o.Within(from, int(n)-1) >= level+1e-13 {
			t.Fatalf("within %v: %v ≥ %v already", n-1, o.Within(from, int(n)-1), level)
		}
	})
}

// genQuestion draws tiers, rates and current runs, edges included.
func genQuestion(t *rapid.T) (Tier, Rates, Run) {
	run := rapid.IntRange(1, 20).Draw(t, "run")
	holed := rapid.IntRange(0, min(3, run)).Draw(t, "holed")
	inside := rapid.OneOf(rapid.Float64Range(0, 1), rapid.SampledFrom([]float64{0, 0.5, 0.99, 1})).Draw(t, "inside")
	share := rapid.OneOf(rapid.Float64Range(0, 1), rapid.SampledFrom([]float64{0, 0.01, 1})).Draw(t, "share")
	length := rapid.IntRange(0, 30).Draw(t, "from")
	from := Run{Length: length, Holed: rapid.IntRange(0, length).Draw(t, "from holed")}
	return Tier{Run: run, Holed: holed}, Rates{In: inside * (1 - share), Holed: inside * share}, from
}

func TestOddsProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tier, r, from := genQuestion(t)
		var o Odds
		o.Prepare(tier, r)
		before := 0.0
		for balls := range 60 {
			p := o.Within(from, balls)
			if !(p >= before && p <= 1) {
				t.Fatalf("within %d: %v after %v", balls, p, before)
			}
			before = p
		}
		mean, sd, ever := o.Expected(from), o.Deviation(from), o.Ever(from)
		if !(mean >= 0) || !(sd >= 0) || !(ever >= before-1e-12 && ever <= 1+1e-12) {
			t.Fatalf("mean %v, deviation %v, ever %v after %v", mean, sd, ever, before)
		}
		if half, ninety := o.BallsFor(from, 0.5), o.BallsFor(from, 0.9); !(half >= 0 && half <= ninety) {
			t.Fatalf("half %v, ninety %v", half, ninety)
		}
	})
}

// TestAnswerAtTheEdges draws rates over all magnitudes and the longest tiers:
// probabilities stay probabilities, and nothing is NaN or negative.
func TestAnswerAtTheEdges(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		small := rapid.Float64Range(-320, 0)
		out, share := math.Pow(10, small.Draw(t, "out")), math.Pow(10, small.Draw(t, "share"))
		if rapid.Bool().Draw(t, "rarely inside") {
			out = 1 - out
		}
		q := Question{Run: rapid.IntRange(1, MaxRun).Draw(t, "run"), Balls: rapid.IntRange(0, 1000).Draw(t, "balls")}
		q.Holed = rapid.IntRange(0, min(q.Run, 5)).Draw(t, "holed")
		q.Rates = Rates{In: (1 - out) * (1 - share), Holed: (1 - out) * share}
		q.From.Length = rapid.IntRange(0, 2*q.Run).Draw(t, "from")
		q.From.Holed = rapid.IntRange(0, min(5, q.From.Length)).Draw(t, "from holed")
		var p domain.Problems
		if q.Check(&p, ""); len(p.Fields()) > 0 {
			t.Fatalf("refused: %v", p.Fields())
		}
		a := q.Answer()
		for name, v := range map[string]float64{"probability": a.Probability, "ever": a.Ever, "rate": a.EvenRate} {
			if !(v >= 0 && v <= 1+1e-12) {
				t.Fatalf("%s %v in %+v", name, v, a)
			}
		}
		if !(a.Expected >= 0 && a.Deviation >= 0 && a.Half >= 0 && a.Half <= a.Ninety) {
			t.Fatalf("got %+v", a)
		}
	})
}

// TestExpectedIsTheSum checks the mean and deviation against Σ P(T > t) and
// Σ (2t+1) P(T > t), summed from Within.
func TestExpectedIsTheSum(t *testing.T) {
	for _, c := range []struct {
		tier  Tier
		rates Rates
		from  Run
	}{
		{Tier{Run: 5}, Rates{0.7, 0}, Run{}},
		{Tier{Run: 5, Holed: 1}, Rates{0.6, 0.1}, Run{}},
		{Tier{Run: 4, Holed: 2}, Rates{0.6, 0.2}, Run{3, 1}},
		{Tier{Run: 4, Holed: 3}, Rates{0.6, 0.3}, Run{9, 1}},
		{Tier{Run: 4, Holed: 2}, Rates{0.5, 0.5}, Run{1, 1}},
	} {
		var o Odds
		o.Prepare(c.tier, c.rates)
		mean, square := 0.0, 0.0
		for balls := range 3000 {
			left := 1 - o.Within(c.from, balls)
			mean += left
			square += float64(2*balls+1) * left
		}
		if got := o.Expected(c.from); relative(got, mean) > 1e-9 {
			t.Errorf("%+v: expected %v, want %v", c, got, mean)
		}
		if got, want := o.Deviation(c.from), math.Sqrt(square-mean*mean); relative(got, want) > 1e-7 {
			t.Errorf("%+v: deviation %v, want %v", c, got, want)
		}
	}
}

func TestRateForIsTheInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tier, r, from := genQuestion(t)
		balls := rapid.IntRange(0, 200).Draw(t, "balls")
		level := rapid.SampledFrom([]float64{0.05, 0.5, 0.9}).Draw(t, "level")
		var o Odds
		o.Prepare(tier, r)
		before := o.Within(from, balls)
		rate, ok := o.RateFor(from, balls, level)
		if after := o.Within(from, balls); after != before {
			t.Fatalf("asking for the rate changed %v to %v", before, after)
		}
		share := 0.0
		if r.Inside() > 0 {
			share = r.Holed / r.Inside()
		}
		at := func(rate float64) float64 {
			var other Odds
			other.Prepare(tier, Rates{In: rate * (1 - share), Holed: rate * share})
			return other.Within(from, balls)
		}
		if !ok {
			if top := at(1); top > level && !o.passed(from) {
				t.Fatalf("no rate for %v, but rate 1 gives %v", level, top)
			}
			return
		}
		if low, high := at(max(0, rate-1e-9)), at(min(1, rate+1e-9)); low > level+1e-12 || high < level-1e-12 {
			t.Fatalf("rate %v gives %v to %v, want %v between", rate, low, high, level)
		}
	})
}

func TestOddsAllocateNothing(t *testing.T) {
	q := Question{Run: 9, Holed: 1, Rates: Rates{0.7, 0.02}, Balls: 60, From: Run{Length: 2}}
	q.Answer()
	if n := testing.AllocsPerRun(100, func() { q.Answer() }); n != 0 {
		t.Errorf("a query allocates %v times, want never", n)
	}
}

func TestQuestionCheck(t *testing.T) {
	good := Question{Run: 9, Rates: Rates{0.7, 0.02}, Balls: 60}
	for _, c := range []struct {
		change func(*Question)
		want   string
	}{
		{func(*Question) {}, ""},
		{func(q *Question) { q.Rates = Rates{0.9, 0.1} }, ""},
		{func(q *Question) { q.From = Run{30, 30} }, ""},
		{func(q *Question) { q.Run = 0 }, "/q/run"},
		{func(q *Question) { q.Holed = 10 }, "/q/holed"},
		{func(q *Question) { q.Rates.In = -0.1 }, "/q/rates/in"},
		{func(q *Question) { q.Rates.Holed = math.NaN() }, "/q/rates/holed"},
		{func(q *Question) { q.Rates.In = math.Inf(1) }, "/q/rates/in"},
		{func(q *Question) { q.Rates.Holed = 0.31 }, "/q/rates"},
		{func(q *Question) { q.Balls = -1 }, "/q/balls"},
		{func(q *Question) { q.Balls = MaxBalls + 1 }, "/q/balls"},
		{func(q *Question) { q.From.Length = -1 }, "/q/from/run"},
		{func(q *Question) { q.From = Run{2, 3} }, "/q/from/holed"},
	} {
		q := good
		c.change(&q)
		var p domain.Problems
		q.Check(&p, "/q")
		got := ""
		for _, f := range p.Fields() {
			got += f.Pointer
		}
		if got != c.want {
			t.Errorf("%+v: problems at %q, want %q", q, got, c.want)
		}
	}
}

func BenchmarkAnswer(b *testing.B) {
	for _, c := range []struct {
		run, holed, balls int
	}{{9, 0, 60}, {9, 1, 60}, {18, 3, 200}, {200, 200, 5000}} {
		b.Run(fmt.Sprintf("run%d_holed%d_balls%d", c.run, c.holed, c.balls), func(b *testing.B) {
			q := Question{Run: c.run, Holed: c.holed, Rates: Rates{0.7, 0.02}, Balls: c.balls}
			b.ReportAllocs()
			for b.Loop() {
				q.Answer()
			}
		})
	}
}

func BenchmarkWithin(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		Within(Tier{Run: 9}, Rates{0.7, 0.02}, 60)
	}
}
