package progress

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// RateOf estimates the rate that stands after the given sessions, oldest
// first: the Beta posterior of a binomial proportion under prior (the zero
// value means Jeffreys', Beta(1/2, 1/2)). Sessions without balls say nothing.
func RateOf(sessions []Session, prior Prior) Rate {
	prior = prior.orJeffreys()
	balls, inside := 0.0, 0.0
	for _, s := range sessions {
		balls += float64(s.Balls)
		inside += float64(s.Inside)
	}
	return betaRate(prior.A+inside, prior.B+balls-inside, balls)
}

func betaRate(a, b, balls float64) Rate {
	return Rate{
		Mean:           a / (a + b),
		Interval80:     Interval{betaQuantile(0.1, a, b), betaQuantile(0.9, a, b)},
		Interval95:     Interval{betaQuantile(0.025, a, b), betaQuantile(0.975, a, b)},
		EffectiveBalls: balls,
		A:              a,
		B:              b,
	}
}

// betaQuantile is the q-quantile of Beta(a, b) for 0 < q < 1 and a, b > 0:
// Newton's steps on the regularised incomplete beta function, kept inside a
// shrinking bracket. Relative error below 1e-10.
func betaQuantile(q, a, b float64) float64 {
	lo, hi := 0.0, 1.0
	lbeta := lnBeta(a, b)
	x := startQuantile(q, a, b)
	for range 200 {
		f := mathext.RegIncBeta(a, b, x) - q
		if f > 0 {
			hi = x
		} else {
			lo = x
		}
		density := math.Exp((a-1)*math.Log(x) + (b-1)*math.Log1p(-x) - lbeta)
		next := x - f/density
		if !(next > lo && next < hi) {
			next = lo + (hi-lo)/2
			if lo == 0 && hi < 0.5 { // bisect tiny quantiles by ratio
				next = hi / 16
			}
		}
		if math.Abs(next-x) <= 1e-13*x {
			return next
		}
		x = next
	}
	return x
}

// startQuantile is the normal approximation on the logit scale.
func startQuantile(q, a, b float64) float64 {
	m := (a + 1.0/3) / (a + b + 2.0/3)
	sd := math.Sqrt(1/(a+0.5) + 1/(b+0.5))
	return logistic(logit(m) + sd*mathext.NormalQuantile(q))
}

func lnBeta(a, b float64) float64 {
	la, _ := math.Lgamma(a)
	lb, _ := math.Lgamma(b)
	lab, _ := math.Lgamma(a + b)
	return la + lb - lab
}
