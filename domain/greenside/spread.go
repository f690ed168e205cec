// Package greenside is shots to the green and what becomes of them: flight, bounce and
// roll, where to land a ball, and how balls come to rest around the hole, or in it: the
// scatter of leaves and what it says of any circle, the chance to hole a putt,
// and the share holed of the balls inside a circle.
package greenside

import (
	"math"
	"strconv"

	"fringework/domain"

	"gonum.org/v1/gonum/integrate/quad"
)

// HoleRadius is half the width of the hole in metres: 4¼ inches or 108 mm
// across (R&A and USGA, Rules of Golf, definition of "hole").
const HoleRadius = 0.054

// MinRadius is the smallest radius, in metres, that a ball can be said to be
// inside or out of.
const MinRadius = 0.001

// Rest is what is known of where balls came to rest: at a distance from the
// hole, in metres, from Near to Far. Use [Left], [InsideOf] and [OutsideOf].
type Rest struct {
	// Near and Far are equal when the leave was measured; Far is +Inf when the
	// ball was only seen to be out.
	Near, Far float64
	// Balls is how many such balls there were; 0 stands for 1.
	Balls int
}

// Left is a ball with a measured leave in metres. Less than the radius of the
// hole is not told apart from holed.
func Left(metres float64) Rest {
	if metres < HoleRadius {
		return InsideOf(HoleRadius)
	}
	return Rest{Near: metres, Far: metres}
}

// InsideOf is a ball that came to rest within a radius in metres.
func InsideOf(radius float64) Rest { return Rest{Far: radius} }

// OutsideOf is a ball that came to rest beyond a radius in metres.
func OutsideOf(radius float64) Rest { return Rest{Near: radius, Far: math.Inf(1)} }

// Spread is the scatter of balls about the hole: a normal distribution in two
// dimensions with the same standard deviation Sigma in every direction, so that
// a leave has Rayleigh's distribution.
type Spread struct {
	// Sigma is the most likely standard deviation in metres. When all balls
	// were inside, or all out, of the radii they were judged at, there is none
	// and Sigma is 0 or +Inf.
	Sigma float64
	// Low and High bound Sigma with probability 80 %, from 10 % to 90 %; from
	// one side only, 0 or +Inf being the other, when Sigma does not exist.
	Low, High float64
	// Balls is how many balls it rests on, Measured how many of them had a
	// leave.
	Balls, Measured int
}

// Known reports whether Sigma exists.
func (s Spread) Known() bool { return s.Sigma > 0 && !math.IsInf(s.Sigma, 1) }

// Inside is the probability that a ball comes to rest within a radius in
// metres: 1 − exp(−r²/2σ²).
func (s Spread) Inside(radius float64) float64 { return insideOf(radius, s.Sigma) }

// Inside80 bounds Inside with probability 80 %.
func (s Spread) Inside80(radius float64) (low, high float64) {
	return insideOf(radius, s.High), insideOf(radius, s.Low)
}

func insideOf(radius, sigma float64) float64 {
	if radius <= 0 {
		return 0
	}
	z := radius / sigma
	return -math.Expm1(-z * z / 2)
}

// RadiusFor is the radius in metres that a share of the balls (0 ≤ share < 1)
// comes to rest within: σ √(−2 ln(1 − share)).
func (s Spread) RadiusFor(share float64) float64 {
	return s.Sigma * math.Sqrt(-2*math.Log1p(-share))
}

// RadiusFrom is the radius at which the inside rate would be wanted, when at
// radius it is rate (both between 0 and 1, ends excluded); in the unit of
// radius.
func RadiusFrom(radius, rate, wanted float64) float64 {
	return radius * math.Sqrt(math.Log1p(-wanted)/math.Log1p(-rate))
}

// SpreadOf estimates the spread from balls of one task, measured or judged at
// known radii, in any mixture.
//
// The squared distance of a ball is exponential with rate λ = 1/(2σ²); an
// interval of it that a ball is known to lie in has the probability
// e^(−λ near²) − e^(−λ far²). Sigma maximises the likelihood, whose logarithm
// is concave in log λ; for measured leaves alone σ² is the mean of r²/2. The
// interval holds the middle 80 % of the posterior when nothing is known of the
// scale beforehand (uniform in log σ): for measured leaves it is the
// chi-squared interval and has exactly that coverage. Where Sigma does not
// exist, the bound is where the balls seen have probability 20 %.
//
// Balls are taken to scatter about the hole itself and equally in all
// directions. It refuses, with pointers into {"balls"}, no balls, distances
// that are not 0 or from MinRadius to domain.MaxLength, and an interval that is
// empty.
//
// Source: the distribution of the radial error, Lord Rayleigh, Phil. Mag. 10
// (1880) 73; interval-censored likelihood, J. F. Lawless, Statistical Models
// and Methods for Lifetime Data, 2nd ed. (2003), 2.2 (value from memory).
func SpreadOf(balls []Rest) (Spread, error) {
	if err := checkRests(balls); err != nil {
		return Spread{}, err
	}
	e := gather(balls)
	s := Spread{Balls: e.balls, Measured: e.measured}
	switch {
	case e.exponent == 0: // all inside
		s.High = sigmaOf(e.solve(func(rate float64) float64 { return e.logLikelihood(rate) - math.Log(0.2) }))
	case e.measured+e.within == 0: // all out
		s.Sigma, s.High = math.Inf(1), math.Inf(1)
		s.Low = sigmaOf(math.Log(5) / e.exponent)
	default:
		best := e.solve(func(rate float64) float64 { return -e.slope(rate) })
		s.Sigma = sigmaOf(best)
		s.Low, s.High = e.interval(best)
	}
	return s, nil
}

func sigmaOf(rate float64) float64 { return 1 / math.Sqrt(2*rate) }

func checkRests(balls []Rest) error {
	var p domain.Problems
	if len(balls) == 0 {
		p.Add("/balls", "is empty; give at least one ball")
	}
	for i, b := range balls {
		at := "/balls/" + strconv.Itoa(i)
		open := math.IsInf(b.Far, 1)
		switch {
		case b.Near != 0 && !isDistance(b.Near) || !isDistance(b.Far) && !open:
			p.Add(at, "a distance is from %v m to %v m", MinRadius, domain.MaxLength.Metres())
		case b.Far < b.Near:
			p.Add(at, "a ball lies from a nearer to a farther distance, got %v m to %v m", b.Near, b.Far)
		case open && b.Near == 0:
			p.Add(at, "a ball that is out is out of a radius above 0 m")
		case b.Balls < 0:
			p.Add(at, "the number of balls is not negative, got %d", b.Balls)
		}
	}
	return p.Err("spread", "The spread cannot be estimated from these balls.")
}

func isDistance(metres float64) bool {
	return metres >= MinRadius && metres <= domain.MaxLength.Metres()
}

// evidence is the likelihood, of measured leaves, of exponents and of
// intervals: an interval from near² to far² is as good as a ball beyond near²
// and one within far² − near².
type evidence struct {
	balls, measured, within int
	// exponent is the sum of r² of measured balls and of near² of the others.
	exponent float64
	widths   []width
}

// width is how many balls were within an interval of r².
type width struct {
	size  float64
	balls float64
}

func gather(balls []Rest) (e evidence) {
	index := map[float64]int{}
	for _, b := range balls {
		n := max(1, b.Balls)
		e.balls += n
		e.exponent += float64(n) * b.Near * b.Near
		switch {
		case b.Near == b.Far:
			e.measured += n
		case !math.IsInf(b.Far, 1):
			e.within += n
			size := (b.Far - b.Near) * (b.Far + b.Near)
			i, ok := index[size]
			if !ok {
				i = len(e.widths)
				index[size] = i
				e.widths = append(e.widths, width{size: size})
			}
			e.widths[i].balls += float64(n)
		}
	}
	return e
}

// logLikelihood of the rate of r², up to a constant.
func (e evidence) logLikelihood(rate float64) float64 {
	l := float64(e.measured)*math.Log(rate) - rate*e.exponent
	for _, w := range e.widths {
		l += w.balls * math.Log(-math.Expm1(-rate*w.size))
	}
	return l
}

// slope is the derivative of logLikelihood in the logarithm of the rate; it
// falls from measured + within to −∞.
func (e evidence) slope(rate float64) float64 {
	d := float64(e.measured) - rate*e.exponent
	for _, w := range e.widths {
		if u := rate * w.size; u < 700 {
			d += w.balls * u / math.Expm1(u)
		}
	}
	return d
}

// solve gives the rate at which the increasing function f is 0, by bisection
// of its logarithm over all rates that lengths can bring about.
func (e evidence) solve(f func(rate float64) float64) float64 {
	low, high := math.Log(1e-12), math.Log(1e12)
	for range 100 {
		mid := low + (high-low)/2
		if f(math.Exp(mid)) < 0 {
			low = mid
		} else {
			high = mid
		}
	}
	return math.Exp(high)
}

// interval gives the sigmas between which the middle 80 % of the posterior
// lies, whose mode in log λ is at best.
func (e evidence) interval(best float64) (low, high float64) {
	top, mode := e.logLikelihood(best), math.Log(best)
	density := func(x float64) float64 { return math.Exp(e.logLikelihood(math.Exp(x)) - top) }
	// The logarithm is concave: beyond a fall of 40 nothing is left.
	reach := func(direction float64) float64 {
		step := 1e-3
		for density(mode+direction*step) > 4e-18 && step < 1e4 {
			step *= 1.25
		}
		return mode + direction*step
	}
	const pieces = 64
	from, to := reach(-1), reach(1)
	piece := (to - from) / pieces
	part := func(a, b float64) float64 { return quad.Fixed(density, a, b, 12, quad.Legendre{}, 0) }
	var sums [pieces + 1]float64
	for i := range pieces {
		a := from + float64(i)*piece
		sums[i+1] = sums[i] + part(a, a+piece)
	}
	quantile := func(p float64) float64 {
		wanted := p * sums[pieces]
		i := 0
		for i < pieces-1 && sums[i+1] < wanted {
			i++
		}
		start := from + float64(i)*piece
		x := start + piece*(wanted-sums[i])/(sums[i+1]-sums[i])
		for range 6 { // Newton's method; a piece is nearly straight
			x += (wanted - sums[i] - part(start, x)) / density(x)
			x = min(max(x, start), start+piece)
		}
		return math.Exp(x)
	}
	return sigmaOf(quantile(0.9)), sigmaOf(quantile(0.1))
}
