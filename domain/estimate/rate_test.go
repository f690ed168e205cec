package estimate

import (
	"math"
	"math/rand/v2"
	"testing"

	"fringework/domain"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// TestLnGamma against the standard library's.
func TestLnGamma(t *testing.T) {
	for x := 0.01; x < 1e6; x *= 1.07 {
		want, _ := math.Lgamma(x)
		if got := lnGamma(x); math.Abs(got-want) > 1e-13*math.Max(1, math.Abs(want))*5 {
			t.Errorf("lnGamma(%v) = %.16g, want %.16g", x, got, want)
		}
	}
}

// TestBetaQuantileInverts the distribution function over the range of a and b
// that the package can meet.
func TestBetaQuantileInverts(t *testing.T) {
	for _, a := range []float64{0.01, 0.3, 0.5, 1, 4, 90, 3000, 10000} {
		for _, b := range []float64{0.01, 0.5, 1, 7, 400, 10000} {
			for _, q := range []float64{0.025, 0.1, 0.5, 0.9, 0.975} {
				x := betaQuantile(q, a, b)
				if !(x >= 0 && x <= 1) {
					t.Errorf("quantile %v of Beta(%v, %v) is %v", q, a, b, x)
				} else if x > 1e-290 && x < 1-1e-12 {
					// What the rounding of x alone makes of it.
					blur := 1e-15 * x * math.Exp((a-1)*math.Log(x)+(b-1)*math.Log1p(-x)-lnBeta(a, b))
					if got := mathext.RegIncBeta(a, b, x); math.Abs(got-q) > 1e-10+blur {
						t.Errorf("Beta(%v, %v) below its quantile %v holds %v", a, b, q, got)
					}
				}
			}
		}
	}
}

// TestRateOfOneSession is the textbook posterior; empty sessions say nothing.
func TestRateOfOneSession(t *testing.T) {
	r := RateOf([]Observation{{}, {Balls: 30, Inside: 18}, {}}, 0, Prior{2, 3})
	if r.A != 20 || r.B != 15 || r.EffectiveBalls != 30 || r.Mean != 20.0/35 {
		t.Errorf("18 of 30 under Beta(2, 3): %+v, want Beta(20, 15)", r)
	}
	r = RateOf(nil, 0, Prior{})
	if r.A != 0.5 || r.B != 0.5 || r.EffectiveBalls != 0 {
		t.Errorf("without balls: %+v, want Jeffreys' prior", r)
	}
}

// TestRateFollowsTheData: what has long been the same is remembered long,
// what moves is not, and a steady move is carried on.
func TestRateFollowsTheData(t *testing.T) {
	still := RateOf(steady(25, 30, 18), 0, Prior{})
	var jumping, rising []Observation
	for i := range 25 {
		inside := 8
		if i/3%2 == 0 {
			inside = 22
		}
		jumping = append(jumping, Observation{Balls: 30, Inside: inside})
		rising = append(rising, Observation{Balls: 30, Inside: int(math.Round(30 * logistic(-1+0.06*float64(i))))})
	}
	if moving := RateOf(jumping, 0, Prior{}); still.EffectiveBalls < 1.5*moving.EffectiveBalls {
		t.Errorf("steady sessions are worth %.0f balls, jumping ones %.0f, want far more", still.EffectiveBalls, moving.EffectiveBalls)
	}
	if got, want := RateOf(rising, 0, Prior{}).Mean, logistic(-1+0.06*24); math.Abs(got-want) > 0.03 {
		t.Errorf("a steady rise ends at %.3f, the rate says %.3f", want, got)
	}
}

// TestStopAtSuccessNeedsNoCorrection simulates sessions that are one test
// each, which stops at the first run of five: the intervals cover as they do
// for sessions of fixed length, while the mean of the sessions' own rates is
// well above the truth.
func TestStopAtSuccessNeedsNoCorrection(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 22))
	const students, sessions, longest, run = 4000, 12, 40, 5
	for _, stops := range []bool{true, false} {
		in80, in95, bias := 0, 0, 0.0
		for range students {
			level := -0.4 + 1.2*r.Float64()
			var seen []Observation
			naive := 0.0
			for range sessions {
				p := logistic(level + 0.15*r.NormFloat64())
				s, current := Observation{}, 0
				for s.Balls < longest && !(stops && current == run) {
					s.Balls++
					if r.Float64() < p {
						s.Inside++
						current++
					} else {
						current = 0
					}
				}
				seen = append(seen, s)
				naive += float64(s.Inside) / float64(s.Balls) / sessions
			}
			truth := logistic(level)
			bias += (naive - truth) / students
			rate := RateOf(seen, 0, Prior{})
			if rate.Interval80.Lo <= truth && truth <= rate.Interval80.Hi {
				in80++
			}
			if rate.Interval95.Lo <= truth && truth <= rate.Interval95.Hi {
				in95++
			}
		}
		c80, c95 := 100*float64(in80)/students, 100*float64(in95)/students
		t.Logf("stops at success %v: covered %.1f and %.1f %%, mean of the sessions' rates off by %+.3f", stops, c80, c95, bias)
		if c80 < 78 || c95 < 93.5 {
			t.Errorf("stops at success %v: intervals cover %.1f and %.1f %%, want at least 78 and 93.5", stops, c80, c95)
		}
		if stops && bias < 0.02 {
			t.Errorf("the naive mean is off by %+.3f only: the simulation does not show what it should", bias)
		}
	}
}

// TestLearnPrior finds the population that counts were drawn from, and a point
// of higher likelihood than its neighbours.
func TestLearnPrior(t *testing.T) {
	r := rand.New(rand.NewPCG(23, 24))
	truth := Prior{A: 12, B: 8}
	var others []Counts
	likelihood := func(p Prior) float64 {
		sum := 0.0
		for _, c := range others {
			sum += lnBeta(p.A+float64(c.Inside), p.B+float64(c.Balls-c.Inside)) - lnBeta(p.A, p.B)
		}
		return sum
	}
	for range 400 {
		p := distuv.Beta{Alpha: truth.A, Beta: truth.B, Src: r}.Rand()
		n := 20 + r.IntN(41)
		others = append(others, Counts{n, int(distuv.Binomial{N: float64(n), P: p, Src: r}.Rand())})
	}
	got := LearnPrior(others)
	if m := got.A / (got.A + got.B); math.Abs(m-0.6) > 0.02 {
		t.Errorf("mean %v, want 0.6", m)
	}
	if size := got.A + got.B; size < 14 || size > 28 {
		t.Errorf("worth %v balls, want about 20", size)
	}
	for _, k := range []float64{0.9, 1.1} {
		for _, p := range []Prior{{got.A * k, got.B}, {got.A, got.B * k}} {
			if likelihood(p) > likelihood(got)+0.01 {
				t.Errorf("%+v is more likely than the fitted %+v", p, got)
			}
		}
	}
	if got := LearnPrior(others[:MinStudents-1]); got != Jeffreys {
		t.Errorf("from %d students: %+v, want Jeffreys'", MinStudents-1, got)
	}
	// All alike, and all alike at the edge.
	for _, inside := range []int{0, 15, 30} {
		var same []Counts
		for range 20 {
			same = append(same, Counts{30, inside})
		}
		p := LearnPrior(same)
		if !(p.A > 0 && p.B > 0 && p.A+p.B <= maxSize+1e-9) {
			t.Errorf("twenty times %d of 30: %+v", inside, p)
		}
	}
}

// TestRatesOf: the rates after each session are those of the sessions up to it.
func TestRatesOf(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 2))
	var sessions []Observation
	for range 50 {
		s := Observation{Balls: rng.IntN(30)}
		s.Inside = rng.IntN(s.Balls + 1)
		if rng.IntN(6) == 0 {
			s = Observation{} // planned and not held
		}
		sessions = append(sessions, s)
	}
	prior := Prior{A: 2, B: 3}
	for i, got := range RatesOf(sessions, 0, prior) {
		if want := RateOf(sessions[:i+1], 0, prior); got != want {
			t.Errorf("after session %d: got %+v, want %+v", i+1, got, want)
		}
	}
}

// TestRatesOfMixedCircles: with balls judged elsewhere the rates after each
// session are those of the sessions up to it as well, but that one filter for each
// shape is kept for longer, and that what is told of holed balls comes from all.
func TestRatesOfMixedCircles(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 3))
	sessions := append([]Observation{{}}, career(24, 0.02, rng)...)
	for i := range sessions {
		if sessions[i].Holed = 0; i < 9 {
			moveAway(&sessions[i], 5*domain.Foot, 1)
		} else if i%4 == 0 && i < 20 {
			moveAway(&sessions[i], 9*domain.Foot, 2)
		}
	}
	got := RatesOf(sessions, 3*domain.Foot, Prior{})
	if got[0] != RateOf(nil, 0, Prior{}) {
		t.Errorf("before the first ball: %+v, want Jeffreys' prior", got[0])
	}
	for i := range got {
		want := RateOf(sessions[:i+1], 3*domain.Foot, Prior{})
		if math.Abs(got[i].Mean-want.Mean) > 0.02 || math.Abs(got[i].Interval80.Lo-want.Interval80.Lo) > 0.03 || math.Abs(got[i].Interval80.Hi-want.Interval80.Hi) > 0.03 {
			t.Errorf("after session %d: got %+v, want %+v", i+1, got[i], want)
		}
	}
}

// TestLine: what an assessment keeps of the rates before is what [RatesOf] gives for
// those sessions, in thousandths.
func TestLine(t *testing.T) {
	radius := 5 * domain.Foot
	var all []Observation
	for i := range 14 {
		o := Observation{Day: float64(2 * i), Balls: 20, Inside: 6 + i}
		if i%5 == 2 {
			o.Elsewhere = []Circle{{Radius: 3 * domain.Foot, Balls: 10, Inside: 2}}
		}
		all = append(all, o)
		got := Assess(Evidence{Radius: radius, Sessions: all}).Line
		rates := RatesOf(all, radius, Prior{})
		rates = rates[max(0, len(rates)-1-LineSessions) : len(rates)-1]
		if len(got) != len(rates) || len(got) != min(i, 11) {
			t.Fatalf("after %d sessions %d rates are kept, want %d", i+1, len(got), len(rates))
		}
		for j, r := range rates {
			if math.Abs(float64(got[j])-1000*r.Mean) > 0.5+1e-9 {
				t.Errorf("after %d sessions, rate %d: got %d thousandths, want %.3f", i+1, j+1, got[j], r.Mean)
			}
		}
	}
}
