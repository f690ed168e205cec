package greenside

import (
	"math"

	"fringework/domain"
)

const (
	// gravity is the standard acceleration of free fall in m/s².
	gravity = 9.80665
	// footM is a foot in metres.
	footM = 0.3048
	// releaseMps is the speed at which a ball leaves the stimpmeter (B. W. Holmes,
	// Am. J. Phys. 59 (1991) 129-136, and 54 (1986) before it; value from memory).
	releaseMps = 1.83
	// captureMps is the highest speed at which a ball that crosses the middle of a
	// level hole still falls in (Holmes 1991; value from memory).
	captureMps = 1.63
	// rolling is the share of gravity along a slope that a ball feels which rolls
	// without slipping: 5/7, as two fifths of its mass times its radius squared
	// resist being turned.
	rolling = 5.0 / 7
	// holding is the least share of a level green's deceleration that must be left
	// downhill; on less a ball hardly stops (our choice).
	holding = 0.2
)

// Limits of what is asked of a green.
const (
	// MinStimpFt and MaxStimpFt bound the reading of the stimpmeter in feet: from a
	// rough country green to faster than any tournament's.
	MinStimpFt = 4.0
	MaxStimpFt = 16.0
	// MaxSlopeDeg is the steepest green in degrees; no hole is cut on steeper ones.
	MaxSlopeDeg = 6.0
)

// Green is how a green runs where the ball lands and rolls.
type Green struct {
	// StimpFt is the reading of the stimpmeter in feet on its level part,
	// MinStimpFt to MaxStimpFt: the greenkeeper's figure.
	StimpFt float64
	// SlopeDeg is how steeply it rises along the shot, in degrees; negative when it
	// falls. At most MaxSlopeDeg either way.
	SlopeDeg float64
}

// level is the deceleration of a rolling ball in m/s² on the level, as if it were
// the same at every speed (Holmes 1986; A. R. Penner, The physics of putting, Can.
// J. Phys. 80 (2002) 83-96): 1.83² / (2 · reading).
func (g Green) level() float64 { return releaseMps * releaseMps / (2 * g.StimpFt * footM) }

// along is the deceleration in m/s² that the slope adds to a ball that rolls up it.
func (g Green) along() float64 { return rolling * gravity * math.Sin(g.SlopeDeg*math.Pi/180) }

// RollM is how far a ball rolls along the green, in metres, that rolls at a speed
// in m/s: up the slope and on, or back when the speed is negative. The green must
// be one that [Green.Check] passes.
func (g Green) RollM(speedMps float64) float64 {
	if speedMps < 0 {
		return -Green{StimpFt: g.StimpFt, SlopeDeg: -g.SlopeDeg}.RollM(-speedMps)
	}
	return speedMps * speedMps / (2 * (g.level() + g.along()))
}

// PastM is how far past the hole, in metres, a ball may be going to stop and still
// fall in when it crosses the middle of the hole.
func (g Green) PastM() float64 { return g.RollM(captureMps) }

// Check notes what is wrong with a green in p: what lies outside the limits, and a
// slope too steep for its speed, on which a ball would not stay where it stops.
func (g Green) Check(p *domain.Problems) {
	stimp := inRange(p, "/stimp_ft", g.StimpFt, MinStimpFt, MaxStimpFt, "ft", "the reading of the stimpmeter")
	slope := inRange(p, "/slope_deg", g.SlopeDeg, -MaxSlopeDeg, MaxSlopeDeg, "degrees", "the slope, negative downhill,")
	if most := g.steepest(); stimp && slope && math.Abs(g.SlopeDeg) > most {
		way := "uphill"
		if g.SlopeDeg < 0 {
			way = "downhill"
		}
		most = math.Floor(10*most) / 10
		p.Add("/slope_deg", "is %v° %s, too steep for a ball to stop at a reading of %v ft; give %.1f to %.1f", math.Abs(g.SlopeDeg), way, g.StimpFt, -most, most)
	}
}

// steepest is the steepest slope in degrees on which a ball stops.
func (g Green) steepest() float64 {
	return math.Asin((1-holding)*g.level()/(rolling*gravity)) * 180 / math.Pi
}

// TwoRolls are two rolls along one line of a green, up it and down it again.
type TwoRolls struct {
	// UpFt and DownFt are their lengths in feet.
	UpFt, DownFt float64
	// ReferenceFt and ReferenceStimpFt are for putts stroked alike instead of a
	// stimpmeter: how far that stroke rolls a ball on a level green, in feet, and the
	// reading of that green. Both are 0 for a stimpmeter.
	ReferenceFt, ReferenceStimpFt float64
}

// Bounds of a roll in feet.
const minRollFt, maxRollFt = 1.0, 60.0

// GreenOf is the green on which balls roll so far: the reading that a level part
// would give is 2 · up · down / (up + down), not the mean, and the slope is what
// makes the one roll shorter than the other; it rises the way the shorter one went.
//
// It refuses rolls outside 1 to 60 ft, a roll down that is shorter than the one up,
// and what comes to a green outside the limits.
//
// Source: A. D. Brede, Measuring Green Speed on Sloped Putting Greens, USGA Green
// Section Record 28 (6) (1990) 10-12; with a deceleration that does not change
// with speed it is exact.
func GreenOf(r TwoRolls) (Green, error) {
	var p domain.Problems
	up := inRange(&p, "/up_ft", r.UpFt, minRollFt, maxRollFt, "ft", "the length of the roll up")
	down := inRange(&p, "/down_ft", r.DownFt, minRollFt, maxRollFt, "ft", "the length of the roll down")
	if up && down && r.DownFt < r.UpFt {
		p.Add("/down_ft", "is shorter than the roll up; give the longer of the two rolls as the one down")
	}
	squared := releaseMps * releaseMps
	if r.ReferenceFt != 0 || r.ReferenceStimpFt != 0 {
		inRange(&p, "/reference_ft", r.ReferenceFt, minRollFt, maxRollFt, "ft", "how far the same stroke rolls on a level green")
		inRange(&p, "/reference_stimp_ft", r.ReferenceStimpFt, MinStimpFt, MaxStimpFt, "ft", "the reading of that level green")
		squared *= r.ReferenceFt / r.ReferenceStimpFt
	}
	if err := p.Err("green", "The speed of the green cannot be told from these rolls."); err != nil {
		return Green{}, err
	}
	upward, downward := squared/(2*r.UpFt*footM), squared/(2*r.DownFt*footM)
	level, slope := (upward+downward)/2, (upward-downward)/2
	g := Green{
		StimpFt:  releaseMps * releaseMps / (2 * level * footM),
		SlopeDeg: math.Asin(slope/(rolling*gravity)) * 180 / math.Pi,
	}
	if g.StimpFt < MinStimpFt || g.StimpFt > MaxStimpFt {
		p.Add("/up_ft", "comes to a reading of %.1f ft on the level; measure again, a green reads %v to %v ft", g.StimpFt, MinStimpFt, MaxStimpFt)
	}
	if most := min(MaxSlopeDeg, g.steepest()); g.SlopeDeg > most {
		p.Add("/down_ft", "comes to a slope of %.1f°, on which a ball hardly stops; measure again where the green is flatter, at most %.1f°", g.SlopeDeg, most)
	}
	return g, p.Err("green", "The speed of the green cannot be told from these rolls.")
}

// inRange notes in p when a value is outside its limits, or no number, and reports
// whether it is inside.
func inRange(p *domain.Problems, pointer string, value, low, high float64, unit, what string) bool {
	if value >= low && value <= high {
		return true
	}
	p.Add(pointer, "is %v; give %s from %v to %v %s", value, what, low, high, unit)
	return false
}

// countOf notes in p when there is none of something, or more than most.
func countOf(p *domain.Problems, pointer string, n, most int, what string) {
	switch {
	case n == 0:
		p.Add(pointer, "is empty; give 1 to %d %s", most, what)
	case n > most:
		p.Add(pointer, "has %d %s; give at most %d", n, what, most)
	}
}
