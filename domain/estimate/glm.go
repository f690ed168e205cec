package estimate

import "math"

// Fit is a binomial regression of successes on one covariate, logit link.
type Fit struct {
	Intercept, Slope       float64
	SEIntercept, SESlope   float64
	Deviance, NullDeviance float64
	// Pearson is the sum of squared Pearson residuals; over the degrees of
	// freedom it estimates the dispersion.
	Pearson float64
}

// FitBinomial fits logit(P(success)) = intercept + slope·x by maximum
// likelihood to y successes of n trials at each x: iteratively reweighted least
// squares (McCullagh & Nelder, Generalized Linear Models, 2nd ed., section
// 4.4). Standard errors come from the inverse Fisher information. Points
// without trials are ignored. ok is false when no finite estimate exists: fewer
// than two distinct x with trials, only successes, only failures, or
// separation (Albert & Anderson, 1984).
func FitBinomial(x []float64, n, y []int) (fit Fit, ok bool) {
	return fitPenalised(x, n, y, 0)
}

// fitPenalised maximises the log-likelihood less precision·slope²/2, the log
// density of a normal prior on the slope with mean 0. A precision above 0
// keeps the slope finite under separation.
func fitPenalised(x []float64, n, y []int, precision float64) (fit Fit, ok bool) {
	centre, trials, hits := 0.0, 0, 0
	for i := range x {
		centre += x[i] * float64(n[i])
		trials += n[i]
		hits += y[i]
	}
	if trials == 0 || (precision == 0 && (hits == 0 || hits == trials)) {
		return Fit{}, false
	}
	centre /= float64(trials)
	spread := 0.0
	for i := range x {
		spread += float64(n[i]) * (x[i] - centre) * (x[i] - centre)
	}
	if spread == 0 && precision == 0 {
		return Fit{}, false
	}
	// Half a ball on each side gives a finite start.
	a, b := math.Log((float64(hits)+0.5)/(float64(trials-hits)+0.5)), 0.0
	last := math.Inf(-1)
	for range 100 {
		ga, gb, iaa, iab, ibb := scores(x, n, y, centre, a, b)
		gb -= precision * b
		ibb += precision
		if precision > 0 { // the same weak hold on the level: half a ball
			p := logistic(a)
			ga += 0.5 - p
			iaa += p * (1 - p)
		}
		det := iaa*ibb - iab*iab
		if !(det > 1e-12*iaa*ibb) || iaa == 0 {
			return Fit{}, false
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
		if separated(x, n, y, centre, a, b) {
			return Fit{}, false
		}
	}
	return Fit{}, false
}

// separated reports fitted values so near 0 and 1 everywhere that the maximum
// lies at infinity.
func separated(x []float64, n, y []int, centre, a, b float64) bool {
	for i := range x {
		if n[i] == 0 {
			continue
		}
		p := logistic(a + b*(x[i]-centre))
		if math.Abs(float64(y[i])-float64(n[i])*p) > 1e-6 {
			return false
		}
	}
	return true
}

// scores gives the gradient and the Fisher information at (a, b).
func scores(x []float64, n, y []int, centre, a, b float64) (ga, gb, iaa, iab, ibb float64) {
	for i := range x {
		if n[i] == 0 {
			continue
		}
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
	sum := -precision * b * b / 2
	if precision > 0 {
		sum += 0.5*logLogistic(a) + 0.5*logLogistic(-a)
	}
	for i := range x {
		eta := a + b*(x[i]-centre)
		sum += float64(y[i])*logLogistic(eta) + float64(n[i]-y[i])*logLogistic(-eta)
	}
	return sum
}

func finish(x []float64, n, y []int, centre, a, b, precision float64) (Fit, bool) {
	_, _, iaa, iab, ibb := scores(x, n, y, centre, a, b)
	ibb += precision
	det := iaa*ibb - iab*iab
	if !(det > 0) {
		return Fit{}, false
	}
	varA, varB, cov := ibb/det, iaa/det, -iab/det
	fit := Fit{
		Intercept:   a - b*centre,
		Slope:       b,
		SEIntercept: math.Sqrt(varA - 2*centre*cov + centre*centre*varB),
		SESlope:     math.Sqrt(varB),
	}
	trials, hits := 0, 0
	for i := range x {
		trials += n[i]
		hits += y[i]
	}
	mean := float64(hits) / float64(trials)
	for i := range x {
		if n[i] == 0 {
			continue
		}
		ni, yi := float64(n[i]), float64(y[i])
		p := logistic(a + b*(x[i]-centre))
		fit.Deviance += binomialDeviance(yi, ni, p)
		fit.NullDeviance += binomialDeviance(yi, ni, mean)
		if v := ni * p * (1 - p); v > 0 {
			fit.Pearson += (yi - ni*p) * (yi - ni*p) / v
		}
	}
	return fit, true
}

// binomialDeviance is twice the log-likelihood ratio of y/n against p.
func binomialDeviance(y, n, p float64) float64 {
	d := 0.0
	if y > 0 {
		d += y * math.Log(y/(n*p))
	}
	if y < n {
		d += (n - y) * math.Log((n-y)/(n*(1-p)))
	}
	return 2 * d
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
