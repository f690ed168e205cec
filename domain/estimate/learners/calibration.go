package learners

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"

	"fringework/domain/estimate"
	"fringework/domain/streak"
)

// Coverage counts how often intervals held the truth.
type Coverage struct{ N, In80, In95 int }

// Shares are in per cent.
func (c Coverage) Shares() (in80, in95 float64) {
	n := math.Max(1, float64(c.N))
	return 100 * float64(c.In80) / n, 100 * float64(c.In95) / n
}

// NextCoverage counts how often the interval for the next session, foreseen after
// every fifth, held the share that was inside in it.
func NextCoverage(ls []Learner) (c Coverage) {
	for _, l := range ls {
		for after := 5; after < len(l.Sessions); after += 5 {
			next := l.Sessions[after]
			if next.Balls == 0 {
				continue
			}
			a := estimate.Assess(estimate.Evidence{Sessions: l.Sessions[:after]})
			share := float64(next.Inside) / float64(next.Balls)
			c.N++
			c.In80 += int(one(a.Next.Interval80.Lo <= share && share <= a.Next.Interval80.Hi))
		}
	}
	return c
}

// RateCoverage compares the intervals of the rate after every practised
// session with the true rate of that session, for each kind and, under "",
// for all together.
func RateCoverage(ls []Learner) map[Kind]Coverage {
	out := map[Kind]Coverage{}
	for _, l := range ls {
		for j, r := range estimate.RatesOf(l.Sessions, 0, estimate.Prior{}) {
			if l.Sessions[j].Balls == 0 {
				continue
			}
			truth := l.Rate(j + 1)
			for _, k := range []Kind{l.Kind, ""} {
				c := out[k]
				c.N++
				if r.Interval80.Lo <= truth && truth <= r.Interval80.Hi {
					c.In80++
				}
				if r.Interval95.Lo <= truth && truth <= r.Interval95.Hi {
					c.In95++
				}
				out[k] = c
			}
		}
	}
	return out
}

// Decile is what was predicted and what happened in one tenth of the range of
// predicted probabilities.
type Decile struct{ N, Predicted, Happened float64 }

// Calibration is how forecasts of "within 8 sessions" came out.
type Calibration struct {
	Deciles [10]Decile
	// Brier scores of the forecast, of the naive forecast (all balls so far
	// pooled into one rate, put into the odds) and of the overall share.
	Brier, Naive, Climate float64
	N                     float64
}

// Trial says what is asked in a calibration: the tiers, the balls of a test,
// and after which sessions.
type Trial struct {
	Runs         []int
	BallsPerTest int
	After        []int
	Futures      int // simulated for each question
}

// Usual is the trial that the documentation reports.
var Usual = Trial{Runs: []int{4, 6, 8, 10}, BallsPerTest: 20, After: []int{4, 8, 12, 16, 20, 24, 28}, Futures: 10}

// ForecastCalibration asks for forecasts in the course of careers and goes on
// with the true levels: eight more sessions, each with a test.
func ForecastCalibration(ls []Learner, t Trial, seed uint64) Calibration {
	r := rand.New(rand.NewPCG(seed, 2))
	var c Calibration
	var happened float64
	for _, l := range ls {
		for _, after := range t.After {
			seen := l.Sessions[:min(after, len(l.Sessions))]
			balls, inside := 0, 0
			for _, s := range seen {
				balls += s.Balls
				inside += s.Inside
			}
			if balls == 0 {
				continue
			}
			pooled := (float64(inside) + 0.5) / (float64(balls) + 1)
			for _, run := range t.Runs {
				tier := streak.Tier{Run: run}
				a := estimate.Assess(estimate.Evidence{Sessions: seen, Tier: &tier, BallsPerTest: t.BallsPerTest})
				p := a.Forecast.Within[1]
				naive := 1 - math.Pow(1-streak.Within(tier, streak.Rates{In: pooled}, t.BallsPerTest), 8)
				hit := 0.0
				for range t.Futures {
					hit += one(l.attains(run, t.BallsPerTest, after, 8, r))
				}
				n := float64(t.Futures)
				d := &c.Deciles[min(9, int(10*p))]
				d.N += n
				d.Predicted += n * p
				d.Happened += hit
				c.Brier += hit*(1-p)*(1-p) + (n-hit)*p*p
				c.Naive += hit*(1-naive)*(1-naive) + (n-hit)*naive*naive
				c.N += n
				happened += hit
			}
		}
	}
	for i := range c.Deciles {
		d := &c.Deciles[i]
		d.Predicted /= math.Max(1, d.N)
		d.Happened /= math.Max(1, d.N)
	}
	c.Brier /= c.N
	c.Naive /= c.N
	share := happened / c.N
	c.Climate = share * (1 - share)
	return c
}

// attains plays sessions with a test each after a session.
func (l Learner) attains(run, balls, after, sessions int, r *rand.Rand) bool {
	form := l.Form * r.NormFloat64()
	if after <= len(l.forms) {
		form = l.forms[after-1]
	}
	for j := after + 1; j <= after+sessions; j++ {
		form = l.nextForm(form, false, r)
		p := logistic(l.Level(j) + form)
		current := 0
		for range balls {
			if r.Float64() >= p {
				current = 0
			} else if current++; current == run {
				return true
			}
		}
	}
	return false
}

// String is a table.
func (c Calibration) String() string {
	var b strings.Builder
	b.WriteString("predicted  happened   forecasts\n")
	for _, d := range c.Deciles {
		fmt.Fprintf(&b, "  %5.1f %%   %5.1f %%   %9.0f\n", 100*d.Predicted, 100*d.Happened, d.N)
	}
	fmt.Fprintf(&b, "Brier score %.4f, naive %.4f, overall share %.4f\n", c.Brier, c.Naive, c.Climate)
	return b.String()
}
