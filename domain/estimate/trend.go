package estimate

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// slopePrecision is the weak hold on the slope that keeps it finite when the
// data separate: a standard deviation of 0.5 logits a session, far more than
// anybody learns.
const slopePrecision = 1 / (0.5 * 0.5)

// TrendOf is the binomial regression, on the logit scale, of the sessions
// since the last milestone on their order among practised sessions. The
// dispersion between sessions is estimated by Pearson's statistic and not
// taken below 1 (quasi-likelihood: McCullagh & Nelder, Generalized Linear
// Models, 2nd ed., section 4.5), so intervals are Student's with n − 2 degrees
// of freedom. With fewer than three sessions the slope is unknown: 0, with the
// interval of the weak prior.
func TrendOf(sessions []Observation) Trend {
	var x []float64
	var n, y []int
	for _, s := range sessions {
		if s.Balls > 0 {
			x, n, y = append(x, float64(len(x))), append(n, s.Balls), append(y, s.Inside)
		}
		if s.Milestone {
			x, n, y = x[:0], n[:0], y[:0]
		}
	}
	fit, ok := fitSlope(x, n, y, slopePrecision)
	if !ok || len(x) < 3 {
		sd := 1 / math.Sqrt(slopePrecision)
		return Trend{Sessions: len(x), Interval80: Interval{-1.2816 * sd, 1.2816 * sd}, Improving: 0.5}
	}
	df := float64(len(x) - 2)
	se := fit.se * math.Sqrt(math.Max(1, fit.pearson/df))
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}
	half := t.Quantile(0.9) * se
	return Trend{
		Sessions:   len(x),
		Slope:      fit.slope,
		Interval80: Interval{fit.slope - half, fit.slope + half},
		Improving:  t.CDF(fit.slope / se),
	}
}
