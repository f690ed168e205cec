package estimate

import (
	"flag"
	"math"
	"math/rand/v2"

	"fringework/domain"
	"fringework/domain/streak"
)

// draws is how many students are drawn for each figure; the tables of HeldAt and
// QuietOf were printed with 4000 and -v.
var draws = flag.Int("draws", 400, "how many students to draw for each figure of retests and of quiet tests")

// gainer is a drawn student on the way to a step. A gain is in logits, and shows with
// the first ball of the day or, if it is warm-up alone, only once they are warm.
type gainer struct {
	step streak.Tier
	test int // balls of a test
	// struck gives the chance that the ball j of a session is inside, j from 0, at a
	// gain and with the day's form; warm says how the gain shows.
	struck func(j int, gain, form float64, warm bool) float64
	// gains gives the gain from one session to the next until the step is passed, and
	// left what is there of it some days after a session that had it.
	gains func(gain float64) float64
	left  func(gain, days float64) float64
	form  func() float64
}

// runOdds is the chance of so many in a row.
func runOdds(run int, rate float64, balls int) float64 {
	return streak.Within(streak.Tier{Run: run}, streak.Rates{In: rate}, balls)
}

// stepBeyond draws a start and a step that it all but never passes.
func stepBeyond(r *rand.Rand, test int) (start float64, t streak.Tier) {
	for {
		start = logit(0.30 + 0.4*r.Float64())
		t = streak.Tier{Run: 3 + r.IntN(10), Radius: domain.Metre}
		if o := runOdds(t.Run, logistic(start), test); o > 0.0003 && o < 0.008 {
			return start, t
		}
	}
}

// gainerOfSetting draws from the population that the limits of HeldAt were set on: a
// steady gain that stays, and a warm-up that is soon over.
func gainerOfSetting(r *rand.Rand) gainer {
	g := gainer{test: 15 + r.IntN(16)}
	start, step := stepBeyond(r, g.test)
	pace, warmth, later := 0.04+0.05*r.Float64(), 8+8*r.Float64(), float64(r.IntN(2))
	g.step = step
	g.struck = func(j int, gain, form float64, warm bool) float64 {
		if warm {
			gain *= 1 - math.Exp(-float64(j)/warmth)
		}
		return logistic(start + gain + form - 0.3*math.Exp(-float64(j)/5))
	}
	g.gains = func(gain float64) float64 { return math.Min(gain+pace, 2.2) }
	g.left = func(gain, days float64) float64 { return gain + later*pace/2*days*3/7 } // half of them go on gaining
	g.form = func() float64 { return 0.15 * r.NormFloat64() }
	return g
}

// gainerOfReport draws from the population that is reported on: gains in jumps, of
// which up to a fifth is forgotten in a month; a warm-up that goes on for thirty balls;
// form with heavy tails and a memory; and one ball in twenty is mishit.
func gainerOfReport(r *rand.Rand) gainer {
	g := gainer{test: 12 + r.IntN(25)}
	start, step := stepBeyond(r, g.test)
	g.step = step
	forgets, last := 0.2*r.Float64(), 0.0
	g.struck = func(j int, gain, form float64, warm bool) float64 {
		if warm {
			gain *= math.Min(1, float64(j)/30)
		}
		return 0.95 * math.Min(1, logistic(start+gain+form)/0.95)
	}
	g.gains = func(gain float64) float64 {
		if r.IntN(6) == 0 {
			gain += 0.2 + 0.3*r.Float64()
		}
		return math.Min(gain, 2.5)
	}
	g.left = func(gain, days float64) float64 { return gain * (1 - forgets*math.Min(1, days/30)) }
	g.form = func() float64 {
		// Student's t of 4 degrees of freedom, with a standard deviation of 0.2.
		square := 0.0
		for range 4 {
			x := r.NormFloat64()
			square += x * x
		}
		fresh := 0.2 / math.Sqrt2 * r.NormFloat64() / math.Sqrt(square/4)
		last = 0.3*last + math.Sqrt(1-0.09)*fresh
		return last
	}
	return g
}

// passed trains until the step is passed in a test that begins with ball 20, and gives
// the gain by then; ok is false when that takes more than two hundred sessions.
func (g gainer) passed(r *rand.Rand, warm bool) (gain float64, ok bool) {
	for range 200 {
		form, run := g.form(), 0
		for j := range g.test {
			if run++; r.Float64() >= g.struck(20+j, gain, form, warm) {
				run = 0
			}
			if run == g.step.Run {
				return gain, true
			}
		}
		gain = g.gains(gain)
	}
	return gain, false
}

// retests plays retests: the first one to four weeks after the step was passed, and
// others each two to three weeks later. Between them they train, so that what is
// forgotten is what the days since the last session take.
func (g gainer) retests(r *rand.Rand, gain float64, warm bool, n int) []Retest {
	played := make([]Retest, n)
	days := 7 + 21*r.Float64()
	for i := range played {
		there, form := g.left(gain, days), g.form()
		played[i].Balls = RetestBalls
		for j := range RetestBalls {
			if r.Float64() < g.struck(j, there, form, warm) {
				played[i].Inside++
			}
		}
		days += 14 + 7*r.Float64()
		if there < gain {
			days = 7 + 21*r.Float64()
		}
	}
	return played
}

// tester draws a student's tests, one a session, with the run hidden by lot; where it
// is shown the rate is drop lower.
type tester func(r *rand.Rand, tests int, drop float64) []LotTest

// test strikes up to so many balls, and stops at so many in a row; 0 for never.
func (t LotTest) struck(r *rand.Rand, rate, drop float64, balls, stop int) LotTest {
	if !t.Hidden {
		rate = math.Max(0.02, rate-drop)
	}
	for run := 0; t.Balls < balls && (stop == 0 || run < stop); t.Balls++ {
		run++
		if r.Float64() < rate {
			t.Inside++
		} else {
			run = 0
		}
	}
	return t
}

// testerOfSetting draws from the population that the constants of QuietOf were set on:
// twenty balls that stop at eight in a row, a steady drift, and form of 0.2 logits.
func testerOfSetting(r *rand.Rand, tests int, drop float64) []LotTest {
	level, drift := logit(0.45+0.35*r.Float64()), 0.006*r.NormFloat64()
	all := make([]LotTest, tests)
	for i := range all {
		level += drift
		all[i] = LotTest{Radius: domain.Metre, Hidden: r.IntN(2) == 0}.struck(r, logistic(level+0.2*r.NormFloat64()), drop, 20, 8)
	}
	return all
}

// testerOfReport draws from the population that is reported on: gains in jumps, after
// which the circle may change; form with heavy tails and a memory; tests of 12 to 20
// balls that stop at a success that is drawn as well; and one in ten is broken off.
func testerOfReport(r *rand.Rand, tests int, drop float64) []LotTest {
	form := gainerOfReport(r).form
	level, circle, stop := logit(0.4+0.4*r.Float64()), domain.Metre, 4+r.IntN(6)
	all := make([]LotTest, tests)
	for i := range all {
		switch r.IntN(25) {
		case 0:
			level += 0.5 * r.Float64()
		case 1:
			level, circle = level-0.4, circle-domain.Metre/20
		}
		balls := 12 + r.IntN(9)
		if r.IntN(10) == 0 {
			balls = 1 + r.IntN(6)
		}
		level = math.Min(math.Max(level, -0.6), 2)
		all[i] = LotTest{Radius: circle, Hidden: r.IntN(2) == 0}.struck(r, logistic(level+form()), drop, balls, stop)
	}
	return all
}
