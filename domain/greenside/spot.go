package greenside

import (
	"fmt"
	"math"

	"fringework/domain"
)

// PaceM is how far onto the green a ball should land at the least, in metres: a pace
// (common practice, no source).
const PaceM = 0.9

// Limits of distances asked for, in metres.
const (
	// MinToHoleM and MaxToHoleM bound the distance to the hole.
	MinToHoleM = 2.0
	MaxToHoleM = 60.0
	// MinCarryM and MaxCarryM bound the distance of a landing spot.
	MinCarryM = 0.5
	MaxCarryM = 50.0
)

// LandingSpot is where to land a ball, struck plainly, so that it stops as far away
// as the hole: toHole metres from where it lies, toGreen metres from which the green
// begins. The ground is level from the ball to where it lands.
//
// It refuses, with pointers to the fields' names in the API, values outside the
// limits, and a shot that does not exist: one that would land less than a pace onto
// the green, or one that this club does not play so far or so near; the detail gives
// the reason and what to change.
func LandingSpot(s Setup, toHole, toGreen float64) (Spot, error) {
	var p domain.Problems
	s.Check(&p)
	hole := inRange(&p, "/to_hole_m", toHole, MinToHoleM, MaxToHoleM, "m", "the distance to the hole")
	switch green := inRange(&p, "/to_green_m", toGreen, 0, MaxToHoleM, "m", "the distance to the edge of the green"); {
	case !green || !hole:
	case toGreen > toHole:
		p.Add("/to_green_m", "is beyond the hole, which is %v m away; give the distance to the near edge of the green", toHole)
	case toGreen+PaceM > toHole:
		p.Add("/to_green_m", "leaves no room between the edge of the green and the hole at %v m; give a hole at least a pace (%v m) onto the green", toHole, PaceM)
	}
	if err := p.Err("landing_spot", "This landing spot cannot be worked out."); err != nil {
		return Spot{}, err
	}
	spot, ok := s.find(toHole, Spot.TotalM)
	if !ok {
		p.Add("/to_hole_m", "%s", s.outOfReach("stops a ball", Spot.TotalM))
	} else if spot.CarryM() < toGreen+PaceM {
		p.Add("/loft_deg", "lands the ball %.1f m away and lets it run %.1f m, and it must land at least a pace onto the green, %.1f m away; %s",
			spot.CarryM(), spot.RunM, toGreen+PaceM, s.loftFor(toHole, toGreen))
	}
	return spot, p.Err("no_such_shot", "There is no such shot.")
}

// outOfReach says between which distances a club does something, and what to change.
func (s Setup) outOfReach(does string, of func(Spot) float64) string {
	least, most := s.reach(of)
	return fmt.Sprintf("is out of reach: a plain shot with %v° %s from %.1f to %.1f m away; take another club or another distance",
		s.LoftDeg, does, least, most)
}

// loftFor says which loft would land it on the green.
func (s Setup) loftFor(toHole, toGreen float64) string {
	for loft := math.Floor(s.LoftDeg) + 1; loft <= MaxLoftDeg; loft++ {
		s.LoftDeg = loft
		if spot, ok := s.find(toHole, Spot.TotalM); ok && spot.CarryM() >= toGreen+PaceM {
			return fmt.Sprintf("take %v° or more, or play it another way", loft)
		}
	}
	return "no loft does it with a plain shot: play away from the edge, or for the middle of the green"
}

// Carrying is what becomes of a ball that is struck plainly to land carry metres
// away. It refuses what [LandingSpot] refuses of a setup, and a carry out of reach,
// with the pointer "/carry_m".
func Carrying(s Setup, carry float64) (Spot, error) {
	var p domain.Problems
	s.Check(&p)
	inRange(&p, "/carry_m", carry, MinCarryM, MaxCarryM, "m", "the distance to the landing spot")
	if err := p.Err("landing_spot", "This landing spot cannot be worked out."); err != nil {
		return Spot{}, err
	}
	spot, ok := s.find(carry, Spot.CarryM)
	if !ok {
		p.Add("/carry_m", "%s", s.outOfReach("lands a ball", Spot.CarryM))
	}
	return spot, p.Err("no_such_shot", "There is no such shot.")
}
