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
	half := upper90(len(x)-2) * se
	return Trend{
		Sessions:   len(x),
		Slope:      fit.slope,
		Interval80: Interval{fit.slope - half, fit.slope + half},
		Improving:  t.CDF(fit.slope / se),
	}
}

// upper90 is the 90 % quantile of Student's distribution, which a window asks for
// at some fifty degrees of freedom.
func upper90(df int) float64 {
	if df < len(quantiles90) {
		return quantiles90[df]
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(df)}.Quantile(0.9)
}

var quantiles90 = func() (q [Window]float64) {
	for df := 1; df < len(q); df++ {
		q[df] = distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(df)}.Quantile(0.9)
	}
	return q
}()

// Change is the difference of two rates, from -1 to 1.
type Change struct {
	Mean       float64
	Interval80 Interval
}

// Change gives what the slope comes to from the first to the last of the sessions
// that it rests on, when the last stand at a rate; known is false with fewer than
// three, and where nearly all balls are inside, or none, so that nothing shows.
func (t Trend) Change(now Rate) (c Change, known bool) {
	if t.Sessions < 3 || now.Mean < 0.02 || now.Mean > 0.98 {
		return Change{}, false
	}
	level := logit(math.Min(math.Max(now.Mean, 1e-6), 1-1e-6))
	from := func(slope float64) float64 { return now.Mean - logistic(level-slope*float64(t.Sessions-1)) }
	return Change{from(t.Slope), Interval{from(t.Interval80.Lo), from(t.Interval80.Hi)}}, true
}
