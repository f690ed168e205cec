package estimate

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/mathext"
)

// A memory is one answer to how fast evidence ages: from session to session
// the balls behind it shrink to the share keep, and the level moves by drift
// logits. A drift lets old sessions count at where they point to now, instead
// of holding back the rate of a student who rises.
type memory struct{ keep, step float64 } // step is the drift as a factor of the odds

// memories are what predictive likelihood chooses from. They span what can
// matter: from all sessions alike to little more than the last three, and moves
// of up to 2.5 percentage points a session at 50 %.
var memories = func() (ms []memory) {
	ms = append(ms, memory{1, 1})
	for _, keep := range []float64{0.95, 0.9, 0.8, 0.7} {
		for _, drift := range []float64{-0.1, -0.05, 0, 0.05, 0.1} {
			ms = append(ms, memory{keep, math.Exp(drift)})
		}
	}
	return ms
}()

// rateSessions is how many practised sessions a rate reads: even the longest
// memory that drifts has forgotten four fifths of what lies before.
const rateSessions = 30

// RateOf estimates the rate that stands after the given sessions, oldest
// first, of which it reads the last 30 with balls. One session gives the
// posterior of a binomial proportion under prior, Beta(A + inside, B + balls −
// inside); the zero prior is Jeffreys', Beta(1/2, 1/2). From session to
// session the posterior ages as a memory says (the power steady model: Smith,
// 1979, J. R. Statist. Soc. B 41:375-387, with a drift added) and predicts the
// next by a beta-binomial. Memories are averaged with the product of these
// predictive probabilities as weights, so that the data choose the discount,
// not taste; the mixture is given as the one Beta of its mean and variance.
//
// A test block that stops at success needs no correction. The stopping rule
// uses only balls already struck, so the likelihood of the balls, hence the
// posterior, is the same as if their number had been fixed; and by Wald's
// identity the sum of (inside − rate·balls) has mean 0 whatever the rule, so
// that pooled counts are unbiased where the mean of the blocks' own rates is
// not. Weights that depended on the length of a block would undo this; these
// depend on its age alone. A simulation in the tests confirms the coverage.
func RateOf(sessions []Observation, prior Prior) Rate {
	prior = prior.orJeffreys()
	var buffer [rateSessions]Observation
	seen := buffer[rateSessions:]
	for i := len(sessions) - 1; i >= 0 && len(seen) < rateSessions; i-- {
		if sessions[i].Balls > 0 {
			seen = buffer[rateSessions-len(seen)-1:]
			seen[0] = sessions[i]
		}
	}
	var all [maxMemories]remembered
	for i, m := range memories {
		all[i] = remembered{a: prior.A, b: prior.B}
		for j, s := range seen {
			all[i].take(m, s, j > 0)
		}
	}
	return mixed(all[:len(memories)], prior, len(seen))
}

// RatesOf gives the rate after each of the sessions: what [RateOf] gives for
// those up to it.
func RatesOf(sessions []Observation, prior Prior) []Rate {
	prior = prior.orJeffreys()
	rates := make([]Rate, len(sessions))
	var all [maxMemories]remembered
	for i := range all {
		all[i] = remembered{a: prior.A, b: prior.B}
	}
	seen := 0
	for i, s := range sessions {
		if s.Balls > 0 {
			// Until the oldest falls out, one session more goes on from those before.
			if seen++; seen > rateSessions {
				rates[i] = RateOf(sessions[:i+1], prior)
				continue
			}
			for j, m := range memories {
				all[j].take(m, s, seen > 1)
			}
		}
		if seen > rateSessions {
			rates[i] = rates[i-1]
			continue
		}
		rates[i] = mixed(all[:len(memories)], prior, seen)
	}
	return rates
}

// mixed gives the mixture of what memories remember of a number of sessions.
func mixed(all []remembered, prior Prior, sessions int) Rate {
	var weight, mean, square float64
	best := math.Inf(-1)
	for _, r := range all {
		a, b, fit := r.a, r.b, r.fit
		if fit > best { // rescale what was summed
			k := math.Exp(best - fit)
			weight, mean, square, best = weight*k, mean*k, square*k, fit
		}
		w := math.Exp(fit - best)
		p := a / (a + b)
		weight += w
		mean += w * p
		square += w * (p*p + p*(1-p)/(a+b+1))
		if sessions < 2 { // all memories agree
			return betaRate(a, b, a+b-prior.A-prior.B)
		}
	}
	mean /= weight
	size := mean*(1-mean)/(square/weight-mean*mean) - 1
	return betaRate(mean*size, (1-mean)*size, math.Max(0, size-prior.A-prior.B))
}

// maxMemories bounds the memories.
const maxMemories = 24

// remembered is the posterior under a memory, and the logarithm of the
// probability with which it predicted the second and later sessions.
type remembered struct{ a, b, fit float64 }

// take goes on by one session; follows says that there was one before.
func (r *remembered) take(m memory, s Observation, follows bool) {
	y, n := float64(s.Inside), float64(s.Balls)
	if follows {
		// Age the balls but for one, which stands for a prior.
		size := r.a + r.b
		aged := size
		if size > 1 {
			aged = 1 + (size-1)*m.keep
		}
		step := m.step
		p := r.a * step / (r.a*step + r.b)
		r.a, r.b = aged*p, aged*(1-p)
		r.fit += lnBetaRatio(r.a, r.b, s.Inside, s.Balls-s.Inside)
	}
	r.a, r.b = r.a+y, r.b+n-y
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
		if next == x || math.Abs(next-x) <= 1e-12*math.Min(x, 1-x) {
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

// lnBetaRatio is lnBeta(a+y, b+m) − lnBeta(a, b). While y+m are few it takes one
// logarithm of a product of fractions instead of six of lnGamma.
func lnBetaRatio(a, b float64, y, m int) float64 {
	const few = 64 // the products stay below 1e300 for sums below 50,000
	s := a + b
	if y+m > few || s > 40_000 {
		return lnBeta(a+float64(y), b+float64(m)) - lnBeta(a, b)
	}
	above, below := 1.0, 1.0
	for range y {
		above *= a
		below *= s
		a++
		s++
	}
	for range m {
		above *= b
		below *= s
		b++
		s++
	}
	return math.Log(above / below)
}

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

// Under gives the rate under another prior than Jeffreys', which it was
// estimated with. For a single session that is the posterior itself; for more
// it leaves out that the prior ages with the balls, when it hardly matters any
// more.
func (r Rate) Under(p Prior) Rate {
	if r.A <= Jeffreys.A || r.B <= Jeffreys.B {
		return r
	}
	a, b := r.A-Jeffreys.A+p.A, r.B-Jeffreys.B+p.B
	if known, ok := under.find(a, b); ok {
		known.EffectiveBalls = r.EffectiveBalls
		return known
	}
	rate := betaRate(a, b, r.EffectiveBalls)
	under.keep(rate)
	return rate
}

// under keeps the rates that were read under another prior: the same are asked
// for until the student's next session, and their quantiles cost most of it.
var under rateCache

type rateCache struct {
	mu    sync.Mutex
	rates map[[2]float64]Rate
}

// keptRates bounds the memory of a rateCache: 2 MB.
const keptRates = 10_000

func (c *rateCache) find(a, b float64) (Rate, bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	r, ok := c.rates[[2]float64{a, b}]
	return r, ok
}

func (c *rateCache) keep(r Rate) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.rates == nil || len(c.rates) >= keptRates {
		c.rates = map[[2]float64]Rate{}
	}
	c.rates[[2]float64{r.A, r.B}] = r
}
