package estimate

import "math"

// slopeFit is a binomial regression of successes on one covariate, logit link.
type slopeFit struct {
	slope, se float64
	// pearson is the sum of squared Pearson residuals; over the degrees of
	// freedom it estimates the dispersion.
	pearson float64
}

// fitSlope fits logit(P(success)) = level + slope·x to y successes of n trials
// at each x: iteratively reweighted least squares (McCullagh & Nelder,
// Generalized Linear Models, 2nd ed., section 4.4). It maximises the
// log-likelihood with half a ball more on each side of the level at the mean of
// x, less precision·slope²/2, the log density of a normal prior on the slope
// with mean 0. These keep both finite under separation (Albert & Anderson,
// 1984). The standard error comes from the inverse of the Fisher information
// and the slope's prior. ok is false without trials.
func fitSlope(x []float64, n, y []int, precision float64) (fit slopeFit, ok bool) {
	centre, trials, hits := 0.0, 0, 0
	for i := range x {
		centre += x[i] * float64(n[i])
		trials += n[i]
		hits += y[i]
	}
	if trials == 0 {
		return slopeFit{}, false
	}
	centre /= float64(trials)
	spread := 0.0
	for i := range x {
		spread += float64(n[i]) * (x[i] - centre) * (x[i] - centre)
	}
	// Half a ball on each side gives a finite start.
	a, b := math.Log((float64(hits)+0.5)/(float64(trials-hits)+0.5)), 0.0
	last := math.Inf(-1)
	for range 100 {
		ga, gb, iaa, iab, ibb := scores(x, n, y, centre, a, b)
		gb -= precision * b
		ibb += precision
		p := logistic(a)
		ga += 0.5 - p
		iaa += p * (1 - p)
		det := iaa*ibb - iab*iab
		if !(det > 1e-12*iaa*ibb) || iaa == 0 {
			return slopeFit{}, false
		}
		da, db := (ibb*ga-iab*gb)/det, (iaa*gb-iab*ga)/det
		// Halve steps that do not raise the objective.
		now := last
		for range 30 {
			now = objective(x, n, y, centre, a+da, b+db, precision)
			if now >= last-1e-12*math.Abs(last) {
				break
			}
			da, db = da/2, db/2
		}
		a, b = a+da, b+db
		last = now
		if math.Abs(da) < 1e-10 && math.Abs(db)*math.Sqrt(spread/float64(trials)+1e-300) < 1e-10 {
			return finish(x, n, y, centre, a, b, precision)
		}
	}
	return slopeFit{}, false
}

// scores gives the gradient and the Fisher information at (a, b).
func scores(x []float64, n, y []int, centre, a, b float64) (ga, gb, iaa, iab, ibb float64) {
	for i := range x {
		d := x[i] - centre
		p := logistic(a + b*d)
		r := float64(y[i]) - float64(n[i])*p
		w := float64(n[i]) * p * (1 - p)
		ga += r
		gb += r * d
		iaa += w
		iab += w * d
		ibb += w * d * d
	}
	return ga, gb, iaa, iab, ibb
}

// objective is the penalised log-likelihood without its constant.
func objective(x []float64, n, y []int, centre, a, b, precision float64) float64 {
	sum := -precision*b*b/2 + 0.5*logLogistic(a) + 0.5*logLogistic(-a)
	for i := range x {
		eta := a + b*(x[i]-centre)
		sum += float64(y[i])*logLogistic(eta) + float64(n[i]-y[i])*logLogistic(-eta)
	}
	return sum
}

// finish gives what is told of the maximum.
func finish(x []float64, n, y []int, centre, a, b, precision float64) (slopeFit, bool) {
	_, _, iaa, iab, ibb := scores(x, n, y, centre, a, b)
	ibb += precision
	det := iaa*ibb - iab*iab
	if !(det > 0) {
		return slopeFit{}, false
	}
	fit := slopeFit{slope: b, se: math.Sqrt(iaa / det)}
	for i := range x {
		ni, yi := float64(n[i]), float64(y[i])
		p := logistic(a + b*(x[i]-centre))
		if v := ni * p * (1 - p); v > 0 {
			fit.pearson += (yi - ni*p) * (yi - ni*p) / v
		}
	}
	return fit, true
}

// logistic is 1/(1+exp(−x)).
func logistic(x float64) float64 {
	if x >= 0 {
		return 1 / (1 + math.Exp(-x))
	}
	e := math.Exp(x)
	return e / (1 + e)
}

// logLogistic is log(logistic(x)) without losing the tail.
func logLogistic(x float64) float64 {
	if x >= 0 {
		return -math.Log1p(math.Exp(-x))
	}
	return x - math.Log1p(math.Exp(x))
}

// logit is log(p/(1−p)).
func logit(p float64) float64 { return math.Log(p) - math.Log1p(-p) }
