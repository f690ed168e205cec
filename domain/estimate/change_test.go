package estimate

import (
	"math"
	"math/rand/v2"
	"testing"

	"fringework/domain"
)

// TestChangeOf: the same test twice is no change; a better one is a gain that is less
// than the shares say, since a test far from the other is taken for partly chance; and
// the other way round it is the same loss.
func TestChangeOf(t *testing.T) {
	same := ChangeOf(twenty(10), twenty(10), FormKinds{})
	about(t, "no change", same.Mean, 0, 0.002)
	about(t, "as wide on either side", same.Interval80.Hi, -same.Interval80.Lo, 0.003)
	gain, loss := ChangeOf(twenty(8), twenty(14), FormKinds{}), ChangeOf(twenty(14), twenty(8), FormKinds{})
	if !(gain.Mean > 0.05 && gain.Mean < 0.3) || !(gain.Interval80.Lo < gain.Mean && gain.Mean < gain.Interval80.Hi) {
		t.Errorf("8 and then 14 of 20: got %+v", gain)
	}
	about(t, "back", loss.Mean, -gain.Mean, 0.005)
	about(t, "back, lower end", loss.Interval80.Lo, -gain.Interval80.Hi, 0.006)
	steady, streaky := ChangeOf(twenty(8), twenty(14), FormKinds{0: 1}), ChangeOf(twenty(8), twenty(14), FormKinds{5: 1})
	if !(steady.Mean > streaky.Mean) {
		t.Errorf("of a student whose days differ less a gain should be: got %.3f and %.3f", steady.Mean, streaky.Mean)
	}
}

// TestChangeIntegrates compares with a simulation by rejection: levels drawn from the
// prior and moved by a normal gain, form of 0.35 logits of each day's own, and kept when
// the tests come out as they did.
func TestChangeIntegrates(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 8))
	const first, end = 9, 12
	var sum float64
	var kept int
	for range 1_500_000 {
		// Jeffreys' prior is that of the square of a sine.
		s := math.Sin(math.Pi / 2 * r.Float64())
		before := math.Log(s * s / (1 - s*s))
		after := before + gainSD*r.NormFloat64()
		strikes := func(level float64) (inside int) {
			p := logistic(level + 0.35*r.NormFloat64())
			for range 20 {
				if r.Float64() < p {
					inside++
				}
			}
			return inside
		}
		if strikes(before) == first && strikes(after) == end {
			sum += logistic(after) - logistic(before)
			kept++
		}
	}
	about(t, "mean", ChangeOf(twenty(first), twenty(end), FormKinds{3: 1}).Mean, sum/float64(kept), 0.003)
}

// TestChangeElsewhere: an end test in a wider circle is held against the first in its
// own: as many inside twice the circle are a loss.
func TestChangeElsewhere(t *testing.T) {
	wide := twenty(12)
	wide.Radius = 8 * domain.Foot
	if got := ChangeOf(twenty(12), wide, FormKinds{}); got.Mean > -0.1 {
		t.Errorf("12 of 20 inside 4 ft and then inside 8 ft: got %+v", got)
	}
	// What the shapes put inside 8 ft of 8 in 20 inside 4 ft is no change, or hardly any.
	wide.Inside = 15
	about(t, "no change", ChangeOf(twenty(8), wide, FormKinds{}).Mean, 0, 0.06)
}
