package greenside

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// Stroke is a sort of shot, as far as its chance to be holed differs.
type Stroke uint8

// The strokes. OffGreen is a chip, pitch, lob or bunker shot, and any shot of
// which nothing is known.
const (
	OffGreen Stroke = iota
	LagPutt
	ShortPutt
)

// Distances in metres of putts of which none is given: five feet and about ten
// yards (common practice, no source).
const (
	usualShortPutt = 1.524
	usualLagPutt   = 9.0
)

// What is taken of shots from off the green (common practice, no source):
const (
	// alongToAcross is how many times farther balls scatter along the line than
	// across it.
	alongToAcross = 3
	// usualInside is the share of balls that come to rest inside a circle that
	// suits the player.
	usualInside = 0.7
)

// HoledShare is the share, from 0 to 1, of the balls inside a circle that are
// holed, to be expected of a club golfer before any ball is seen. The balls
// inside are those holed and those that came to rest within the radius circle
// of the hole. Lengths are in metres. A distance of 0 is one that is not known;
// it matters to putts alone.
//
// For putts it is the chance to hole from the distance, as a share of the chance
// to hole or stop within the circle (Putter.Holed, Putter.Within), of a player
// who holes half from ClubHalf.
//
// For other shots the circle tells how far balls scatter: seven in ten come to
// rest inside, scattered normally about the hole, three times as far along the
// line as across. A ball is holed if its line crosses the hole and it would have
// stopped beyond, but no more than three feet, as with putts. The flagstick is
// out.
func HoledShare(s Stroke, distance, circle float64) float64 {
	if circle <= HoleRadius {
		return 1
	}
	if s == OffGreen {
		return scattered(circle).holedShare(circle)
	}
	if distance <= 0 {
		distance = usualLagPutt
		if s == ShortPutt {
			distance = usualShortPutt
		}
	}
	club := PutterOf(ClubHalf)
	x := min(distance, MaxPutt)
	return club.Holed(x) / club.Within(x, circle)
}

// oval is where balls would stop if there were no hole: normally distributed
// about it, with a standard deviation in metres along the line of the shot, and
// a smaller one across it.
type oval struct{ along, across float64 }

// scattered is the oval of which usualInside stops inside a circle.
func scattered(circle float64) oval {
	of := func(scale float64) oval { return oval{along: scale, across: scale / alongToAcross} }
	// The share inside falls with the scale: at a fourth of the radius nearly
	// all stop inside, at twice the radius fewer than half.
	low, high := circle/4, 2*circle
	for range 50 {
		mid := (low + high) / 2
		if of(mid).inside(circle) > usualInside {
			low = mid
		} else {
			high = mid
		}
	}
	return of(high)
}

// inside is the share that stops within a radius.
func (o oval) inside(radius float64) float64 {
	return o.strip(radius, func(half float64) float64 { return math.Erf(half / o.along / math.Sqrt2) }, radius)
}

// strip integrates what happens along the line over the lines that pass the
// hole within a distance; half is half the chord of the circle there.
func (o oval) strip(within float64, along func(half float64) float64, radius float64) float64 {
	return quad.Fixed(func(y float64) float64 {
		density := math.Exp(-y*y/(2*o.across*o.across)) / (o.across * math.Sqrt(math.Pi/2))
		return density * along(math.Sqrt(radius*radius-y*y))
	}, 0, within, 64, quad.Legendre{}, 0)
}

// holedShare is the share holed of the balls inside: a ball that would have
// stopped beyond the circle counts as inside when it is holed.
func (o oval) holedShare(circle float64) float64 {
	upTo := func(d float64) float64 { return math.Erf(d/o.along/math.Sqrt2) / 2 }
	holed := math.Erf(crossing/o.across/math.Sqrt2) * upTo(tooFast)
	rescued := o.strip(crossing, func(half float64) float64 { return max(0, upTo(tooFast)-upTo(half)) }, circle)
	return holed / (o.inside(circle) + rescued)
}
