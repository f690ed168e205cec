package estimate

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"fringework/domain/greenside"
	"fringework/domain/streak"
)

// sure is a student whose rate is all but known, and whose form all but never
// changes: by 0.1 logits.
func certain(rate, holed float64) Assessment {
	const size = 1e6
	return Assessment{Rate: Rate{Mean: rate, A: rate * size, B: (1 - rate) * size}, HoledShare: holed, Form: DayForm{Kinds: FormKinds{0: 1}}}
}

// TestSessionRateOfSure: where hardly anything is uncertain the chance is that of the
// exact odds, but for a form of 0.1 logits, and two blocks are two tries.
func TestSessionRateOfSure(t *testing.T) {
	r := certain(0.6, 0.2).SessionRate()
	tier := streak.Tier{Run: 6}
	one := streak.Within(tier, streak.Rates{In: 0.6}, 20)
	about(t, "inside", r.Inside(1), 0.6, 0.006)
	about(t, "one block", r.Chance(tier, 1, 20), one, 0.006)
	about(t, "two blocks", r.Chance(tier, 1, 20, 20), 1-(1-one)*(1-one), 0.006)
	about(t, "blocks of different lengths", r.Chance(tier, 1, 20, 10, 20), 1-(1-one)*(1-one)*(1-streak.Within(tier, streak.Rates{In: 0.6}, 10)), 0.006)
	about(t, "no block", r.Chance(tier, 1), 0, 0)
	with := streak.Tier{Run: 4, Holed: 2}
	about(t, "with holed", r.Chance(with, 1, 20), streak.Within(with, streak.Rates{In: 0.48, Holed: 0.12}, 20), 0.006)
}

// TestSessionRateElsewhere: in another circle the shapes that the scatter may have
// are averaged, and the same balls are holed there.
func TestSessionRateElsewhere(t *testing.T) {
	r := certain(0.6, 0.2).SessionRate()
	with := streak.Tier{Run: 4, Holed: 2}
	for _, scale := range []float64{0.3, 0.7, 1.5} {
		var inside, chance float64
		for _, s := range greenside.Shapes() {
			there := 0.12 + 0.88*s.Elsewhere(0.48/0.88, scale)
			inside += s.Weight * there
			chance += s.Weight * streak.Within(with, streak.Rates{In: there - 0.12, Holed: 0.12}, 20)
		}
		about(t, "inside", r.Inside(scale), inside, 0.002)
		about(t, "chance", r.Chance(with, scale, 20), chance, 0.003)
	}
}

// TestSessionRateIntegrates compares with a simulation: rates drawn from the Beta
// distribution, and form, from a normal one of each day's own, on top.
func TestSessionRateIntegrates(t *testing.T) {
	a := Assessment{Rate: Rate{A: 14, B: 8}, Form: DayForm{Kinds: FormKinds{2: 0.5, 3: 0.5}}}
	tier := streak.Tier{Run: 8}
	const sessions = 4
	src := rand.New(rand.NewPCG(5, 6))
	beta := distuv.Beta{Alpha: 14, Beta: 8, Src: src}
	const draws = 20_000
	var inside, chance, within float64
	for range draws {
		level, missed := logit(beta.Rand()), 1.0
		for k := range sessions {
			p := logistic(level + []float64{0.2, 0.35}[src.IntN(2)]*src.NormFloat64())
			passed := streak.Within(tier, streak.Rates{In: p}, 25)
			if missed *= 1 - passed; k == 0 {
				inside += p / draws
				chance += passed / draws
			}
		}
		within += (1 - missed) / draws
	}
	r := a.SessionRate()
	about(t, "inside", r.Inside(1), inside, 0.004) // three standard errors
	about(t, "chance", r.Chance(tier, 1, 25), chance, 0.006)
	about(t, "within four sessions", r.Within(tier, 1, sessions, 25), within, 0.009)
}

// TestSessionRateOfNobody: without sessions it is the prior and the usual form, whose
// middle is an even chance.
func TestSessionRateOfNobody(t *testing.T) {
	r := Assessment{}.SessionRate()
	about(t, "inside", r.Inside(1), 0.5, 0.02) // the levels reach from −5 to 7
	sum := 0.0
	for _, w := range r.weights {
		sum += w
	}
	about(t, "weights", sum, 1, 1e-12)
}

// TestSessionRateLikeForecast: the chance in the next session is about the forecast's,
// which lets the trend run on and keeps half a per cent back.
func TestSessionRateLikeForecast(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	e := Evidence{Sessions: career(20, 0, r), Tier: &streak.Tier{Run: 6}, BallsPerTest: 20}
	a := Assess(e)
	about(t, "chance", a.SessionRate().Chance(*e.Tier, 1, 20), a.Forecast.NextSession, 0.02)
}

func TestScaleFor(t *testing.T) {
	square := func(scale float64) float64 { return scale * scale }
	about(t, "inside the bounds", ScaleFor(2.25, square), 1.5, 1e-6)
	about(t, "too narrow", ScaleFor(0.01, square), 0.25, 1e-6)
	about(t, "too wide", ScaleFor(100, square), 4, 1e-6)
}

func TestFadeRate(t *testing.T) {
	f := Fade{UsualGap: 7, FourWeeks: FadeAfter{Days: 28, Logits: 0.3 * Away(28, 7)}}
	about(t, "rate", f.Rate(), 0.3, 1e-12)
	if got := (Fade{UsualGap: 7}).Rate(); got != 0 {
		t.Errorf("nothing known: got %v, want 0", got)
	}
	about(t, "away", Away(19, 7), math.Log(19.0/7), 1e-12)
}

// about wants a value to a tolerance.
func about(t *testing.T, what string, got, want, by float64) {
	t.Helper()
	if !(math.Abs(got-want) <= by) {
		t.Errorf("%s: got %v, want %v to within %v", what, got, want, by)
	}
}

// TestFaded: what fades shifts a rate by as much on the scale of the logits. A rate of
// one half that is all but certain is one of 1/(1+e) after one logit, 0.269.
func TestFaded(t *testing.T) {
	r := certain(0.5, 0).SessionRate()
	for _, c := range []struct{ logits, want float64 }{{0, 0.5}, {1, 1 / (1 + math.E)}, {-1, math.E / (1 + math.E)}} {
		if got := r.Faded(c.logits).Inside(1); math.Abs(got-c.want) > 0.01 {
			t.Errorf("after %v logits: got %v, want %v", c.logits, got, c.want)
		}
	}
	if r.Inside(1) < 0.49 {
		t.Error("the rate itself has changed")
	}
}
