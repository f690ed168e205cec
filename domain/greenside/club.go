package greenside

import (
	"math"
	"slices"

	"fringework/domain"
)

// Club is a club with its loft.
type Club struct {
	Name string
	// LoftDeg is in degrees, MinLoftDeg to MaxLoftDeg.
	LoftDeg float64
}

// Limits of lofts in degrees: from a 4-iron to more than any wedge.
const (
	MinLoftDeg = 24.0
	MaxLoftDeg = 70.0
)

// Wedges are the low, the middle and the high wedge of those whose own lofts are
// not known (common practice, no source).
func Wedges() []Club { return slices.Clone(wedges) }

var wedges = []Club{{"low wedge", 48}, {"middle wedge", 54}, {"high wedge", 60}}

// UsualClubs are clubs for shots around the green with their usual lofts (common
// practice, no source; makers differ by three degrees or so).
func UsualClubs() []Club { return slices.Clone(usualClubs) }

var usualClubs = []Club{
	{"6-iron", 30}, {"7-iron", 34}, {"8-iron", 38}, {"9-iron", 42},
	{"pitching wedge", 46}, {"gap wedge", 50}, {"sand wedge", 56}, {"lob wedge", 60},
}

// Lie is what a ball lies on.
type Lie string

// The lies around the green. A ball on the green is putted.
const (
	Fairway Lie = "fairway"
	Rough   Lie = "rough"
	Sand    Lie = "sand"
	OnGreen Lie = "green"
)

// StruckLies lists those that a ball is chipped or pitched from.
func StruckLies() []Lie { return slices.Clone(struckFrom) }

// struckFrom lists the lies that a ball is chipped or pitched from.
var struckFrom = []Lie{Fairway, Rough, Sand}

// How club and ball meet.
const (
	// headKg is the mass of a wedge's head (common practice, no source).
	headKg = 0.300
	// liveliness is how fast the ball leaves the face over how fast they met, in
	// soft shots (A. R. Penner, The physics of golf, Rep. Prog. Phys. 66 (2003)
	// 131-171; value from memory). It hardly matters here.
	liveliness = 0.80
	// leanDeg is by how much hands ahead of the ball take loft from the club, in
	// degrees, in a plain chip or pitch (our choice: with it the clubs from the sand
	// wedge to the 6-iron carry and roll as the trade says, one part to one up to one
	// to six).
	leanDeg = 8.0
)

// contact is how a lie changes the strike.
type contact struct {
	// grip is the coefficient of friction between face and ball. lean is in degrees.
	grip, lean float64
}

// contacts are our choice: a clean face holds the ball until it rolls, grass between
// them makes it slide, and sand throws it out, the club not leaning.
var contacts = map[Lie]contact{
	Fairway: {grip: 0.40, lean: leanDeg},
	Rough:   {grip: 0.15, lean: leanDeg},
	Sand:    {grip: 0.20, lean: 0},
}

// Struck is how a ball leaves a club of a loft in degrees, struck plainly from a lie,
// at a speed of the ball in m/s.
//
// The ball and the head meet as rigid bodies. Across the face the ball leaves with
// liveliness; along the face it slides at first and then rolls, unless friction
// cannot make it: two sevenths of the speed along the face go into its speed, and
// five halves of that into its spin. Source: Penner, The physics of golf: the optimum
// loft of a driver, Am. J. Phys. 69 (2001) 563-568.
func Struck(loftDeg float64, lie Lie, speedMps float64) Launch {
	c := contacts[lie]
	loft := (loftDeg - c.lean) * math.Pi / 180
	const heavier = ballKg / headKg
	const rolls = 2.0 / 7 * (1 + heavier) / ((1 + liveliness) * (1 + 2.0/7*heavier))
	// drop is the angle between the ball's way and the line square to the face.
	drop := math.Atan(min(rolls*math.Tan(loft), c.grip))
	return Launch{
		SpeedMps:    speedMps,
		LaunchDeg:   (loft - drop) * 180 / math.Pi,
		BackspinRPM: 5.0 / 2 * speedMps * math.Sin(drop) / ballRadiusM / radS,
	}
}

// Setup is what stays the same from ball to ball: a club, a lie and a green.
type Setup struct {
	// LoftDeg is the club's loft in degrees.
	LoftDeg float64
	Lie     Lie
	Green   Green
	// Own is what was learned of the student's own shots; its zero value is nothing.
	Own Learned
}

// Check notes in p what is wrong with a setup.
func (s Setup) Check(p *domain.Problems) {
	inRange(p, "/loft_deg", s.LoftDeg, MinLoftDeg, MaxLoftDeg, "degrees", "the loft of the club")
	if !slices.Contains(struckFrom, s.Lie) {
		p.Add("/lie", "is %q; give fairway, rough or sand", string(s.Lie))
	}
	s.Green.Check(p)
}

// Spot is where to land a ball, and what it then does.
type Spot struct {
	Launch Launch
	// Shot is what physics says of the ball.
	Shot Shot
	// RunM is how far it goes on from where it lands, in metres, hops and roll; for
	// this student, when something was learned.
	RunM float64
}

// CarryM is how far from the ball it is to land, in metres.
func (s Spot) CarryM() float64 { return s.Shot.CarryM }

// TotalM is how far from the ball it stops, in metres.
func (s Spot) TotalM() float64 { return s.CarryM() + s.RunM }

// CarryShare is the carry over the total.
func (s Spot) CarryShare() float64 { return s.CarryM() / s.TotalM() }

// at is the spot of a ball struck at a speed in m/s; it reports false when it comes in
// too flat and fast for what is known of bounces, which are then only continued.
func (s Setup) at(speedMps float64) (Spot, bool) {
	l := Struck(s.LoftDeg, s.Lie, speedMps)
	shot, problem := l.onto(s.Green)
	return Spot{Launch: l, Shot: shot, RunM: s.Own.run(shot.RunM())}, problem == nil
}

// exactM is how near a spot comes to what is wanted.
const exactM = 1e-9

// mostTries is far more than finding a spot takes.
const mostTries = 200

// find gives the spot at which something that grows with the speed is as wanted, and
// reports false when no speed within the limits gives it. It is the method of false
// position in the form that halves the end which stays (M. Dowell and P. Jarratt, A
// modified regula falsi method, BIT 11 (1971) 168-174).
func (s Setup) find(wanted float64, of func(Spot) float64) (Spot, bool) {
	a, under := MinSpeedMps, s.off(MinSpeedMps, wanted, of)
	b, over := MaxSpeedMps, s.off(MaxSpeedMps, wanted, of)
	if over < 0 { // full shots with the most lofted clubs spin back uphill
		for b = a; b < MaxSpeedMps && over < 0; b++ {
			over = s.off(b+1, wanted, of)
		}
	}
	if under > 0 || over < 0 {
		return Spot{}, false
	}
	last := 0.0
	for range mostTries {
		speed := (a*over - b*under) / (over - under)
		spot, known := s.at(speed)
		off := of(spot) - wanted
		switch {
		case math.Abs(off) < exactM:
			return spot, known
		case off < 0:
			if a, under = speed, off; last < 0 {
				over /= 2
			}
		default:
			if b, over = speed, off; last > 0 {
				under /= 2
			}
		}
		last = off
	}
	return Spot{}, false
}

// off is by how much something is more than wanted at a speed in m/s.
func (s Setup) off(speedMps, wanted float64, of func(Spot) float64) float64 {
	spot, _ := s.at(speedMps)
	return of(spot) - wanted
}

// reach is between what something is, from the slowest ball to the fastest up to which
// all is known.
func (s Setup) reach(of func(Spot) float64) (least, most float64) {
	slowest, _ := s.at(MinSpeedMps)
	least = of(slowest)
	most = least
	const steps = 270 // of a tenth of 1 m/s
	for i := range steps {
		spot, known := s.at(MinSpeedMps + (MaxSpeedMps-MinSpeedMps)*float64(i+1)/steps)
		if !known {
			break
		}
		most = max(most, of(spot))
	}
	return least, most
}
