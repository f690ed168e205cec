package estimate

import (
	"math"

	"fringework/domain/greenside"
	"fringework/domain/streak"
)

// SessionRate is the rate that the next session may have, as a distribution: what is
// not known of the level, and the day's form on top. It answers for any step in any
// circle, where a [Forecast] is of the next step alone.
type SessionRate struct {
	// rates, each with its weight; the weights sum to 1.
	rates, weights []float64
	// share of the balls inside that are holed.
	share float64
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
	var today wide
	first := formReach * finePerCell
	for i, w := range betaLevels(a.Rate) {
		if w < unlikely {
			continue
		}
		for sd, of := range kinds.sds() {
			for k, form := range formKernels[sd] {
				today[first+i+(k-formReach)*finePerCell] += w * of * form
			}
		}
	}
	r := SessionRate{share: a.HoledShare}
	for from := 0; from < len(today); from += finePerCell {
		var weight, level float64
		for i, w := range today[from : from+finePerCell] {
			weight += w
			level += w * wideLevelAt(from+i)
		}
		if weight > unlikely {
			r.rates, r.weights = append(r.rates, logistic(level/weight)), append(r.weights, weight)
		}
	}
	normalised(r.weights)
	return r
}

// betaLevels is the distribution of a rate on the points of a table.
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

// elsewhere calls found with the rate in a circle scale times as wide, for each
// shape that the scatter may have, and the shape's weight.
func elsewhere(rate, scale float64, found func(rate, weight float64)) {
	if scale == 1 {
		found(rate, 1)
		return
	}
	for _, s := range greensideShapes {
		found(s.Elsewhere(rate, scale), s.Weight)
	}
}

var greensideShapes = greenside.Shapes()

// Inside is the share of the next session's balls, from 0 to 1, that is expected to
// come to rest inside a circle scale times as wide as the one that the rate is of.
func (r SessionRate) Inside(scale float64) (share float64) {
	for i, rate := range r.rates {
		elsewhere(rate, scale, func(there, w float64) { share += r.weights[i] * w * there })
	}
	return share
}

// Chance is the chance, from 0 to 1, of passing a step in the next session, in a
// circle scale times as wide as the one that the rate is of. blocks are the balls of
// each block that counts for it; a run does not go on from one into the next.
func (r SessionRate) Chance(t streak.Tier, scale float64, blocks ...int) (chance float64) {
	var o streak.Odds
	for i, rate := range r.rates {
		holed := rate * r.share
		elsewhere(rate, scale, func(there, w float64) {
			hole := math.Min(holed, there)
			o.Prepare(t, streak.Rates{In: there - hole, Holed: hole})
			miss, within, balls := 1.0, 0.0, -1
			for _, n := range blocks {
				if n != balls {
					within, balls = o.Within(streak.Run{}, n), n
				}
				miss *= 1 - within
			}
			chance += r.weights[i] * w * (1 - miss)
		})
	}
	return chance
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
