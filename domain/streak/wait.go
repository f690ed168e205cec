package streak

import "math"

// Bounds of the exact walk, see proceed.
const (
	// settleFrom is the ball at which a long walk is first asked whether it
	// has settled.
	settleFrom = 64
	// settleWithin is how closely it must have.
	settleWithin = 1e-12
	// maxWork bounds balls × (holed + 1), to some tens of milliseconds.
	maxWork = 1 << 24
)

// proceed walks until the given number of balls was struck or the chance done
// reaches level. It stops early, and reports true, when the walk has settled
// into its slowest mode, in which every further ball passes the tier with the
// same probability given that the earlier ones did not; or when the work is
// beyond its bound, which takes rates of out and of holed balls that are both
// below one in a hundred thousand, and leaves an error of some parts in 10,000.
func (o *Odds) proceed(balls int, level float64) (settled bool) {
	check, calm := settleFrom+2*o.run, 0
	hazard := -1.0
	for o.t < balls && o.done < level {
		o.step()
		if o.t < check || o.miss == 0 {
			continue
		}
		if hazard < 0 {
			d := o.decay()
			hazard = d / (1 + d)
		}
		if math.Abs(o.last-o.prior*hazard) > settleWithin*o.last {
			check, calm = 2*o.t, 0
			if o.t > maxWork/(o.holed+1) {
				return true
			}
			continue
		}
		if calm++; calm == 3 {
			return o.t < balls && o.done < level
		}
	}
	return false
}

// cycle says what a run begun at some state brings before it is out or has
// passed the tier.
type cycle struct {
	// balls is the mean number of balls it takes, the ending one included;
	// moment is the sum over t of t · P(not ended after t balls).
	balls, moment float64
	// done is the chance that it passes the tier.
	done float64
}

// waitLonger turns the cycle of a run that has its length and holds k + 1 holed
// balls, too few by any number, into that of one that holds k.
func (o *Odds) waitLonger(next cycle) (c cycle) {
	leave := o.miss + o.hole
	if leave == 0 {
		return cycle{balls: math.Inf(1), moment: math.Inf(1)}
	}
	c.balls = (1 + o.hole*next.balls) / leave
	c.moment = (o.hole*(next.balls+next.moment) + o.in*c.balls) / leave
	c.done = o.hole / leave * next.done
	return c
}

// cycleOf sums up the run that stands at from; a is its arrival.
func (o *Odds) cycleOf(a *arrival, from Run) (c cycle) {
	wait := cycle{done: 1}
	if from.Length >= o.run {
		for k := o.holed; k > from.Holed; k-- {
			wait = o.waitLonger(wait)
		}
		return wait
	}
	balls, alive := o.run-from.Length, 1.0
	for j := range balls {
		c.balls += alive
		c.moment += float64(j) * alive
		alive *= o.inside
	}
	c.done = a.done
	for k := o.holed - 1; k >= 0; k-- {
		wait = o.waitLonger(wait)
		if a.short[k] == 0 {
			continue
		}
		c.balls += a.short[k] * wait.balls
		c.moment += a.short[k] * (wait.moment + float64(balls)*wait.balls)
		c.done += a.short[k] * wait.done
	}
	return c
}

// cycles gives the cycle of a run begun after an out ball, and of from.
func (o *Odds) cycles(from Run) (fresh, first cycle) {
	fresh = o.cycleOf(&o.fresh, Run{})
	if from == (Run{}) {
		return fresh, fresh
	}
	if from.Length < o.run {
		o.arrive(&o.first, o.run-from.Length, from.Holed)
	}
	return fresh, o.cycleOf(&o.first, from)
}

// Expected is the mean number of further balls until the tier is passed,
// when the current run is from: 0 when it is passed already, +Inf when the
// mean is infinite or beyond the range of a float64. Its relative error is
// below 1e-12.
//
// With L and D the mean length of a run begun after an out ball and its chance
// of passing the tier, and L' the mean length of the current run, the mean
// is L'/D; for holed = 0 from the start (1 − pⁿ)/(q pⁿ).
//
// Source: Feller, vol. 1, 3rd ed., XIII.7, eq. (7.7), extended to the joint
// state by Wald's identity.
func (o *Odds) Expected(from Run) float64 {
	if o.passed(from) {
		return 0
	}
	fresh, first := o.cycles(from)
	if o.miss == 0 {
		return first.balls // the current run is never out
	}
	return quotient(first.balls, fresh.done)
}

// Deviation is the standard deviation of the number of further balls, +Inf
// where Expected is.
//
// Source: Feller, vol. 1, 3rd ed., XIII.7, eq. (7.8) for holed = 0; here from
// the second derivative of the generating function of the chance left,
// s'(z)/(1 − q z s(z)).
func (o *Odds) Deviation(from Run) float64 {
	mean := o.Expected(from)
	if mean == 0 || math.IsInf(mean, 1) {
		return mean
	}
	fresh, first := o.cycles(from)
	if o.miss == 0 {
		return root(2*first.moment + mean - mean*mean)
	}
	// Divided by D before multiplied, so that nothing overflows early.
	slope := first.moment/fresh.done + mean*(o.miss*(fresh.balls+fresh.moment)/fresh.done)
	return root(2*slope + mean - mean*mean)
}

// root is the square root of a variance that rounding may have made negative.
func root(v float64) float64 {
	if math.IsNaN(v) || math.IsInf(v, 1) {
		return math.Inf(1)
	}
	return math.Sqrt(max(0, v))
}

// quotient is a/b for a > 0, +Inf when b is 0.
func quotient(a, b float64) float64 {
	if b == 0 {
		return math.Inf(1)
	}
	return a / b
}

// Ever is the probability that the tier is passed at some time: 1, but for
// rates at which a run begun after an out ball never does.
func (o *Odds) Ever(from Run) float64 {
	if o.passed(from) {
		return 1
	}
	fresh, first := o.cycles(from)
	if fresh.done > 0 {
		return 1
	}
	return min(1, first.done)
}

// BallsFor is the smallest number of further balls within which the tier is
// passed with at least the probability level (0 < level < 1), as a whole
// number; +Inf when no number is enough. It is exact while the number is below
// about 1e12, and beyond as exact as a float64 allows. A shortfall of 1e-14 is
// taken for rounding.
func (o *Odds) BallsFor(from Run, level float64) float64 {
	if o.passed(from) {
		return 0
	}
	level -= 1e-14
	if o.Ever(from) < level {
		return math.Inf(1)
	}
	o.begin(from)
	settled := o.proceed(o.walkable(), level)
	switch {
	case o.done >= level:
		return float64(o.t)
	case settled:
		share := (level - o.done) / o.left
		return float64(o.t) + math.Ceil(math.Log1p(-share)/-math.Log1p(o.decay()))
	}
	return o.ballsWithoutMiss(from, level)
}

// walkable is a number of balls that a walk may take.
func (o *Odds) walkable() int {
	if o.miss == 0 {
		return maxWork / (o.holed + 1)
	}
	return math.MaxInt
}

// ballsWithoutMiss is BallsFor when no ball is ever out and holed balls are so
// rare that the walk is too long: what is left is then a binomial's lower tail.
func (o *Odds) ballsWithoutMiss(from Run, level float64) float64 {
	enough := func(n float64) bool { return o.fewer(n, o.holed-from.Holed) <= 1-level }
	low, high := float64(o.t), 2*float64(o.t)
	for !enough(high) {
		if low, high = high, 2*high; high > 1e300 {
			return math.Inf(1)
		}
	}
	for high-low > max(1, high*0x1p-52) {
		if mid := math.Floor(low + (high-low)/2); enough(mid) {
			high = mid
		} else {
			low = mid
		}
	}
	return high
}

// fewer is the probability that fewer than k of n balls are holed, term by
// term; n is far above k, and no term that matters underflows while about k
// are.
func (o *Odds) fewer(n float64, k int) float64 {
	term := math.Exp(n * math.Log1p(-o.hole))
	sum := 0.0
	for j := range k {
		sum += term
		term *= (n - float64(j)) / float64(j+1) * o.hole / (1 - o.hole)
	}
	return sum
}

// decay is d > 0 such that the chance left shrinks by the factor 1/(1 + d)
// with every ball in the long run: 1 + d is the least root of q z s(z) = 1,
// where s(z) generates the chances that a run begun after an out ball goes on.
// With s(1) q = 1 − D it is the root of growth(d) = D, and the difference is
// taken term by term, so that it is accurate however small D is.
func (o *Odds) decay() float64 {
	target := o.cycleOf(&o.fresh, Run{}).done
	if target == 0 {
		return 0
	}
	_, slope := o.growth(0)
	low, high := 0.0, target/slope // growth is convex
	if o.holed > 0 && o.in > 0 {
		high = min(high, (o.miss+o.hole)/o.in)
	}
	d := high
	for range 200 {
		g, slope := o.growth(d)
		if g < target {
			low = d
		} else {
			high = d
		}
		next := d - (g-target)/slope
		if !(next > low && next < high) {
			next = low + (high-low)/2
		}
		if math.Abs(next-d) <= 0x1p-52*d {
			return next
		}
		d = next
	}
	return d
}

// growth is q (1+d) s(1+d) − q s(1) and its derivative in d; +Inf where the
// series does not converge.
func (o *Odds) growth(d float64) (g, slope float64) {
	z := 1 + d
	var s1, diff, s, sz float64 // s(1), s(z) − s(1), s(z), s'(z)
	c, u, power := 1.0, 0.0, 0.0
	for range o.run { // c = inside^j, u = z^j − 1, power = j z^(j−1)
		s1 += c
		diff += c * u
		s += c * (1 + u)
		sz += c * power
		power = power*z + (1 + u)
		u = u*z + d
		c *= o.inside
	}
	leave := o.miss + o.hole
	stay := leave - o.in*d // 1 − in·z
	if o.holed > 0 && stay <= 0 {
		return math.Inf(1), math.Inf(1)
	}
	var e1, e, de, ez float64 // as above, for a run that waits for holed balls
	for k := o.holed - 1; k >= 0; k-- {
		ez = (o.hole*(e+z*ez) + o.in*(1+o.hole*z*e)/stay) / stay
		de = (d/(stay*leave))*(o.in+o.hole*e1) + o.hole*z/stay*de
		e1, e = (1+o.hole*e1)/leave, (1+o.hole*z*e)/stay
		b := o.fresh.short[k]
		s1 += b * e1
		diff += b * (u*e + de)
		s += b * (1 + u) * e
		sz += b * (power*e + (1+u)*ez)
	}
	g = o.miss * (d*s1 + z*diff)
	slope = o.miss * (s + z*sz)
	if math.IsNaN(g) || math.IsNaN(slope) {
		return math.Inf(1), math.Inf(1)
	}
	return g, slope
}
