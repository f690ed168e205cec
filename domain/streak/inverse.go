package streak

import "math"

// RateFor is the inside rate at which the tier is passed within a number of
// further balls with the probability level (0 < level < 1), when the current
// run is from and the share of holed balls among those inside stays what it was
// in Prepare (0 when no ball is inside). The error is below 1e-12.
//
// ok is false when no rate gives that probability: the balls are too few, the
// holed balls would be too rare even with every ball inside, or the tier is
// passed already.
func (o *Odds) RateFor(from Run, balls int, level float64) (rate float64, ok bool) {
	if o.passed(from) || balls < o.run-from.Length {
		return 0, false
	}
	// Leave o as it was prepared.
	in, hole, miss := o.in, o.hole, o.miss
	tier := Tier{Run: o.run, Holed: o.holed}
	defer o.prepare(tier, in, hole, miss)
	share := 0.0
	if o.inside > 0 {
		share = hole / o.inside
	}
	surplus := func(rate float64) float64 {
		o.prepare(tier, rate*(1-share), rate*share, 1-rate)
		return o.Within(from, balls) - level
	}
	top := surplus(1)
	switch {
	case top < 0:
		return 0, false
	case top == 0:
		return 1, true
	}
	return crossing(surplus, 0, 1, -level, top), true
}

// crossing is where the increasing function f crosses 0 between low and high,
// given its values there, below and above 0.
//
// Source: T. R. Chandrupatla, A new hybrid quadratic/bisection algorithm for
// finding the zero of a nonlinear function without using derivatives, Advances
// in Engineering Software 28 (1997) 145-149.
func crossing(f func(float64) float64, low, high, fLow, fHigh float64) float64 {
	// a is the newest point, b lies across the root, c is the one before a.
	a, fa, b, fb := high, fHigh, low, fLow
	t := 0.5
	for range 200 {
		x := a + t*(b-a)
		fx := f(x)
		c, fc := a, fa
		if math.Signbit(fx) != math.Signbit(fa) {
			c, fc, b, fb = b, fb, a, fa
		}
		a, fa = x, fx
		best := b
		if math.Abs(fa) < math.Abs(fb) {
			best = a
		}
		least := 1e-15 / math.Abs(b-a)
		if fa == 0 || least > 0.5 {
			return best
		}
		t = min(1-least, max(least, nextShare(a, fa, b, fb, c, fc)))
	}
	return a
}

// nextShare is where to look next on the way from a (0) to b (1): by inverse
// quadratic interpolation where that is safe, and else in the middle.
func nextShare(a, fa, b, fb, c, fc float64) float64 {
	xi, phi := (a-b)/(c-b), (fa-fb)/(fc-fb)
	if !(phi*phi < xi && (1-phi)*(1-phi) < 1-xi) {
		return 0.5
	}
	return fa/(fb-fa)*fc/(fb-fc) + (c-a)/(b-a)*fa/(fc-fa)*fb/(fc-fb)
}
