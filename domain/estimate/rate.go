package estimate

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/mathext"

	"fringework/domain"
)

// RateOf estimates the rate that stands after the given sessions, oldest first:
// the level without the day's form, by the model that the package comment
// describes, as the one Beta distribution of its mean and variance. One session
// by itself gives the posterior of a binomial proportion under prior, Beta(A +
// inside, B + balls − inside); the zero prior is Jeffreys', Beta(1/2, 1/2).
// radius is that of the circle the sessions were judged in, and may be 0 when no
// ball was judged elsewhere.
//
// A test block that stops at success needs no correction. The stopping rule
// uses only balls already struck, so the likelihood of the balls, hence the
// posterior, is the same as if their number had been fixed; and by Wald's
// identity the sum of (inside − rate·balls) has mean 0 whatever the rule, so
// that pooled counts are unbiased where the mean of the blocks' own rates is
// not. A simulation in the tests confirms the coverage.
func RateOf(sessions []Observation, radius domain.Length, prior Prior) Rate {
	w := startWatch(Evidence{Sessions: sessions, Radius: radius, Prior: prior})
	defer w.free()
	for i := range w.sessions {
		w.take(i)
	}
	w.join()
	return w.rate()
}

// RatesOf gives the rate after each of the sessions: what [RateOf] gives for
// those up to it, but that what is learned of holed balls and measured leaves is
// learned from all.
func RatesOf(sessions []Observation, radius domain.Length, prior Prior) []Rate {
	rates := make([]Rate, len(sessions))
	if len(sessions) >= Window {
		for i := range rates {
			rates[i] = RateOf(sessions[:i+1], radius, prior)
		}
		return rates
	}
	w := startWatch(Evidence{Sessions: sessions, Radius: radius, Prior: prior})
	defer w.free()
	for i := range w.sessions {
		w.take(i)
		rates[i] = w.rate()
	}
	return rates
}

// rate is the level as it stands, as a Beta distribution.
func (w *watch) rate() Rate {
	prior := w.Prior.orJeffreys()
	if s, only := w.only(); only {
		a, b := prior.A+float64(s.Inside), prior.B+float64(s.Balls-s.Inside)
		return betaRate(a, b, a+b-prior.A-prior.B)
	}
	a, b := betaOf(w.meanOf(&rates.p), w.meanOf(&rates.square))
	return betaRate(a, b, math.Max(0, a+b-prior.A-prior.B))
}

// mean is that of rate, at little cost.
func (w *watch) mean() float64 {
	if s, only := w.only(); only {
		prior := w.Prior.orJeffreys()
		return (prior.A + float64(s.Inside)) / (prior.A + prior.B + float64(s.Balls))
	}
	return w.meanOf(&rates.p)
}

// meanOf averages what a table gives for each level in the circle in focus.
func (w *watch) meanOf(t *table) (mean float64) {
	if w.away != 0 {
		return w.filters[0].mean(abroad(t, w.passages(w.away, w.Radius), w.weights))
	}
	for k, x := range w.weigh() {
		mean += x * w.filters[k].mean(t)
	}
	return mean
}

// only gives the one session there was so far, if it was judged in the circle
// in focus.
func (w *watch) only() (only Observation, ok bool) {
	switch {
	case w.sofar() == 0:
		return Observation{}, true
	case w.sofar() > 1 || w.away != 0:
		return Observation{}, false
	}
	for _, s := range w.sessions {
		if s.struck() > 0 {
			return s, len(s.Elsewhere) == 0
		}
	}
	return Observation{}, true
}

// leastSize keeps a distribution apart from that of a single ball, all inside or
// all out, which has none.
const leastSize = 0.02

// betaOf gives the parameters of the Beta distribution with a mean and a mean
// square.
func betaOf(mean, square float64) (a, b float64) {
	size := math.Max(mean*(1-mean)/math.Max(square-mean*mean, 1e-9)-1, leastSize)
	return mean * size, (1 - mean) * size
}

// NextSession is what the next session will bring: the share of its balls that
// come to rest inside, with the day's form and with chance.
type NextSession struct {
	Mean       float64
	Interval80 Interval
	// Balls is how many balls the session is taken to have.
	Balls int
}

// ratesToday are the rate and its square averaged over the day's form.
var ratesToday = func() (r struct{ p, square byForm }) {
	var p, square wide
	for i := range p {
		x := logistic(wideLevelAt(i))
		p[i], square[i] = x, x*x
	}
	for sd := range formSDs {
		blur(&r.p[sd], &p, sd, 0, len(p))
		blur(&r.square[sd], &square, sd, 0, len(square))
	}
	return r
}()

// foresee says what a next session of a number of balls will bring.
func (f *filter) foresee(balls int) NextSession {
	g := f.clone()
	defer g.free()
	if g.sessions > 0 {
		g.advance()
	}
	g.bin()
	lo, hi := g.lo*finePerCell, g.hi*finePerCell
	var mean, square, sum float64
	for k, w := range g.kinds {
		if w == 0 {
			continue
		}
		kind := &formKinds[k]
		carried := 0.0
		if g.sessions > 0 {
			carried = kind.carried(g.lastVariance)
		}
		first, second := g.rows[0][lo:hi], g.rows[1][lo:hi]
		(*passage)(nil).read(first, &ratesToday.p[kind.sd], lo, carried, g.last)
		(*passage)(nil).read(second, &ratesToday.square[kind.sd], lo, carried, g.last)
		for c, m := range g.bins[g.lo:g.hi] {
			sum += w * m
			mean += w * m * float64(first[c*finePerCell])
			square += w * m * float64(second[c*finePerCell])
		}
	}
	mean, square = mean/sum, square/sum
	// A ball more or less is a part of what the session brings.
	square += (mean - square) / float64(balls)
	a, b := betaOf(mean, square)
	return NextSession{Mean: mean, Interval80: Interval{betaQuantile(0.1, a, b), betaQuantile(0.9, a, b)}, Balls: balls}
}

// usualBalls is the mean number of balls of the last practised sessions; 1 when
// there were none.
func (w *watch) usualBalls() int {
	balls, sessions := 0, 0
	for _, s := range w.sessions[w.recentFrom(recently):] {
		if n := s.struck(); n > 0 {
			balls += n
			sessions++
		}
	}
	return max(1, (balls+sessions/2)/max(1, sessions))
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
// shrinking bracket. The error relative to the nearer of 0 and 1 is below
// 1e-10, or the rounding of the result.
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
		if next == x || math.Abs(next-x) <= 1e-10*math.Min(x, 1-x) {
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

// lnBeta is the logarithm of the beta function at a, b > 0.
func lnBeta(a, b float64) float64 { return lnGamma(a) + lnGamma(b) - lnGamma(a+b) }

// lnGamma is log Γ(x) for x > 0 by Stirling's series (Abramowitz & Stegun,
// 6.1.41) after raising small x by 6.1.15; the error is below 1e-13 of the
// larger of the value and 1.
func lnGamma(x float64) float64 {
	product := 1.0
	for x < 10 {
		product *= x
		x++
	}
	z := 1 / (x * x)
	series := (1.0/12 - z*(1.0/360-z*(1.0/1260-z*(1.0/1680-z/1188)))) / x
	v := (x-0.5)*math.Log(x) - x + halfLog2Pi + series
	if product != 1 {
		v -= math.Log(product)
	}
	return v
}

const halfLog2Pi = 0.918938533204672741780329736406

// known keeps the rates that were read under what an academy's students taught:
// the same are asked for until the student's next session, and their quantiles
// cost most of it.
var known rateCache

type rateCache struct {
	mu    sync.Mutex
	rates map[[2]float64]Rate
}

// keptRates bounds the memory of a rateCache: 2 MB.
const keptRates = 10_000

// rate gives the distribution with the parameters, of the worth of some balls.
func (c *rateCache) rate(a, b, balls float64) Rate {
	c.mu.Lock()
	r, ok := c.rates[[2]float64{a, b}]
	c.mu.Unlock()
	if !ok {
		r = betaRate(a, b, balls)
		c.mu.Lock()
		if c.rates == nil || len(c.rates) >= keptRates {
			c.rates = map[[2]float64]Rate{}
		}
		c.rates[[2]float64{a, b}] = r
		c.mu.Unlock()
	}
	r.EffectiveBalls = balls
	return r
}
