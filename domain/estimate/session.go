package estimate

import (
	"math"

	"fringework/domain/streak"
)

// SessionRate is the rate that sessions to come may have, as a distribution: what is
// not known of the level, which is the same in all of them, and the form of each day
// on top. It answers for any step in any circle, where a [Forecast] is of the next
// step alone.
type SessionRate struct {
	// levels are the weights of the cells of the level, and form those of the cells
	// that a day moves it by; each sums to 1.
	levels [cells]float64
	form   [2*formReach + 1]float64
	// rates are those of a day, with their weights, which sum to 1: form k makes rate
	// c+k of the level c. Those that are all but impossible have no weight.
	rates, weights [cells + 2*formReach]float64
	// share of the balls inside that are holed.
	share float64
	// shapes are the weights of the shapes that the scatter may have; nil for those
	// before any ball is seen.
	shapes []float64
}

// unlikely is a weight that is left out of a distribution.
const unlikely = 1e-7

// SessionRate spreads the rate over the day's form: the Beta distribution of the
// rate on the scale of the logits, to which the form of each kind is added. Without
// sessions the form is the usual one.
func (a Assessment) SessionRate() SessionRate {
	kinds := a.Form.Kinds
	if kinds == (FormKinds{}) {
		kinds = usualForm
	}
	return spread(betaLevels(a.Rate), kinds, a.HoledShare)
}

// spread is the rate of sessions whose level has a distribution and whose form is of
// some kinds, when a share of the balls inside are holed.
func spread(of [points]float64, kinds FormKinds, share float64) SessionRate {
	r := SessionRate{share: share}
	for sd, of := range kinds.sds() {
		for k, form := range formKernels[sd] {
			r.form[k] += of * form
		}
	}
	var today wide
	for i, w := range of {
		if w < unlikely {
			continue
		}
		r.levels[i/finePerCell] += w
		for k, form := range r.form {
			today[i+k*finePerCell] += w * form
		}
	}
	for c := range r.rates {
		var weight, level float64
		for i := c * finePerCell; i < (c+1)*finePerCell; i++ {
			weight += today[i]
			level += today[i] * wideLevelAt(i)
		}
		if weight > unlikely {
			r.rates[c], r.weights[c] = logistic(level/weight), weight
		}
	}
	normalised(r.levels[:])
	normalised(r.weights[:])
	return r
}

// betaLevels is the distribution of a rate on the points of a table. What lies beyond
// either end, where the weights fall geometrically, is at that end.
func betaLevels(r Rate) (weights [points]float64) {
	a, b := r.A, r.B
	if a <= 0 || b <= 0 {
		a, b = Jeffreys.A, Jeffreys.B
	}
	top := math.Inf(-1)
	for i := range weights {
		weights[i] = a*logLogistic(levelAt(i)) + b*logLogistic(-levelAt(i))
		top = math.Max(top, weights[i])
	}
	for i, w := range weights {
		weights[i] = math.Exp(w - top)
	}
	weights[0] /= -math.Expm1(-a * fine)
	weights[points-1] /= -math.Expm1(-b * fine)
	normalised(weights[:])
	return weights
}

// normalised makes weights sum to 1.
func normalised(weights []float64) {
	sum := 0.0
	for _, w := range weights {
		sum += w
	}
	for i := range weights {
		weights[i] /= sum
	}
}

// Faded is the rate after so many logits of it have faded, in every circle's own rate;
// the share of the balls inside that are holed stays.
func (r SessionRate) Faded(logits float64) SessionRate {
	for c, w := range r.weights {
		if w > 0 {
			r.rates[c] = logistic(logit(r.rates[c]) - logits)
		}
	}
	return r
}

// elsewhere calls found with what a rate is in a circle scale times as wide, for each
// shape that the scatter may have, and the shape's weight. A ball that is holed is
// inside either circle, so that only the others scatter.
func (r SessionRate) elsewhere(scale float64, found func(weight float64, there func(rate float64) float64)) {
	if scale == 1 {
		found(1, func(rate float64) float64 { return rate })
		return
	}
	for k, s := range shapes {
		weight := s.Weight
		if r.shapes != nil {
			weight = r.shapes[k]
		}
		found(weight, func(rate float64) float64 {
			holed := rate * r.share
			return holed + (1-holed)*s.Elsewhere((rate-holed)/(1-holed), scale)
		})
	}
}

// Inside is the share of a session's balls, from 0 to 1, that is expected to stop
// inside a circle scale times as wide as the one that the rate is of.
func (r SessionRate) Inside(scale float64) (share float64) {
	r.elsewhere(scale, func(weight float64, there func(float64) float64) {
		for c, w := range r.weights {
			if w > 0 {
				share += weight * w * there(r.rates[c])
			}
		}
	})
	return share
}

// Chance is the chance, from 0 to 1, of passing a step in the next session, in a
// circle scale times as wide as the one that the rate is of. blocks are the balls of
// each block that counts for it; a run does not go on from one into the next.
func (r SessionRate) Chance(t streak.Tier, scale float64, blocks ...int) float64 {
	return r.Within(t, scale, 1, blocks...)
}

// Within is Chance for some sessions, of the same blocks each.
func (r SessionRate) Within(t streak.Tier, scale float64, sessions int, blocks ...int) (chance float64) {
	for c, at := range r.byLevel(t, scale, sessions, blocks) {
		chance += r.levels[c] * at
	}
	return chance
}

// byLevel is Within at each level that has a weight.
func (r SessionRate) byLevel(t streak.Tier, scale float64, sessions int, blocks []int) (chances [cells]float64) {
	r.elsewhere(scale, func(weight float64, there func(float64) float64) {
		passed := r.onDays(t, there, blocks)
		for c, w := range r.levels {
			if w == 0 {
				continue
			}
			once := 0.0
			for k, form := range r.form {
				once += form * passed[c+k]
			}
			chances[c] += weight * (1 - math.Pow(1-math.Min(once, 1), float64(sessions)))
		}
	})
	return chances
}

// onDays gives the chance to pass a step in a session at each rate of a day.
func (r SessionRate) onDays(t streak.Tier, there func(rate float64) float64, blocks []int) (passed [cells + 2*formReach]float64) {
	var o streak.Odds
	share := math.Max(r.share, leastHoled)
	for c, w := range r.weights {
		if w == 0 {
			continue
		}
		inside := there(r.rates[c])
		holed := math.Min(r.rates[c]*share, inside)
		o.Prepare(t, streak.Rates{In: inside - holed, Holed: holed})
		missed, within, balls := 1.0, 0.0, -1
		for _, n := range blocks {
			if n != balls {
				within, balls = o.Within(streak.Run{}, n), n
			}
			missed *= 1 - within
		}
		passed[c] = 1 - missed
	}
	return passed
}

// widestScale bounds how much wider or narrower a circle is looked for.
const widestScale = 4

// ScaleFor is how many times as wide a circle is in which a function of the scale
// that rises with it, such as [SessionRate.Inside], comes to a wanted value; from a
// quarter to four, whichever end is nearer when it lies beyond.
func ScaleFor(wanted float64, of func(scale float64) float64) float64 {
	lo, hi := -math.Log(widestScale), math.Log(widestScale)
	for range 24 {
		mid := (lo + hi) / 2
		if of(math.Exp(mid)) < wanted {
			lo = mid
		} else {
			hi = mid
		}
	}
	return math.Exp((lo + hi) / 2)
}
