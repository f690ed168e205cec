package greenside

import (
	"fmt"
	"math"

	"fringework/domain"
)

// Launch is a ball as it leaves the club, and what it flies through.
type Launch struct {
	// SpeedMps is its speed in m/s, MinSpeedMps to MaxSpeedMps.
	SpeedMps float64
	// LaunchDeg is the angle above the level in degrees, MinLaunchDeg to MaxLaunchDeg.
	LaunchDeg float64
	// BackspinRPM is in turns a minute, 0 or more, and at most as fast as makes the
	// ball's surface as fast as the ball.
	BackspinRPM float64
	// LandingHeightM is how much higher it lands than it lay, in metres; negative when
	// lower. At most MaxHeightM either way.
	LandingHeightM float64
	// WindMps is the wind from behind in m/s; negative against. At most MaxWindMps.
	WindMps float64
}

// Limits of what is asked of a shot.
const (
	// MinSpeedMps and MaxSpeedMps bound the speed of the ball in m/s: shots around the
	// green, of up to about 70 m. Slower ones hardly leave the ground.
	MinSpeedMps = 3.0
	MaxSpeedMps = 30.0
	// MinLaunchDeg and MaxLaunchDeg bound the angle in degrees: lower ones are putts
	// and tops, on which Penner's bounce says nothing.
	MinLaunchDeg = 10.0
	MaxLaunchDeg = 75.0
	// MaxHeightM bounds the height of the landing place in metres, and MaxWindMps the
	// wind in m/s.
	MaxHeightM = 10.0
	MaxWindMps = 12.0
)

// Shot is what becomes of a ball.
type Shot struct {
	// CarryM is how far it flies, in metres along the level.
	CarryM float64
	// ApexM is its greatest height in metres above where it lay.
	ApexM float64
	// DescentDeg is the angle below the level in degrees, and LandingSpeedMps the speed
	// in m/s, at which it lands.
	DescentDeg, LandingSpeedMps float64
	// BounceM is how far all its hops carry it on, until it rolls, and RollM how far it
	// then rolls, forward and in metres along the green; BackM is how far it comes back.
	BounceM, RollM, BackM float64
}

// RunM is how far from where it landed a ball stops, in metres; negative when it comes
// back.
func (s Shot) RunM() float64 { return s.BounceM + s.RollM - s.BackM }

// TotalM is how far from where it lay a ball stops, in metres.
func (s Shot) TotalM() float64 { return s.CarryM + s.RunM() }

// CarryShare is the carry over the total.
func (s Shot) CarryShare() float64 { return s.CarryM / s.TotalM() }

const radS = 2 * math.Pi / 60 // a turn a minute in rad/s

// CarryAndRoll is what becomes of a ball that is launched onto a green.
//
// It flies with drag and lift, bounces as Penner has it ([Impact.Bounce]), and
// rolls as the stimpmeter and the slope say. It refuses, with pointers to the
// fields' names in the API, values outside the limits, a slope on which no ball
// stays, a landing place that the ball does not reach, a ball that comes in so flat
// and fast that Penner's bounce no longer holds (the mark it would make would be
// steeper than its fall, or it would hop on and on), and one that spins back farther
// than it flew.
func CarryAndRoll(l Launch, g Green) (Shot, error) {
	var p domain.Problems
	l.check(&p)
	g.Check(&p)
	if err := p.Err("shot", "This shot cannot be worked out."); err != nil {
		return Shot{}, err
	}
	s, problem := l.onto(g)
	if problem != nil {
		p.Add(problem.Pointer, "%s", problem.Detail)
	}
	return s, p.Err("shot", "This shot cannot be worked out.")
}

func (l Launch) check(p *domain.Problems) {
	speed := inRange(p, "/speed_mps", l.SpeedMps, MinSpeedMps, MaxSpeedMps, "m/s", "the speed of the ball")
	inRange(p, "/launch_deg", l.LaunchDeg, MinLaunchDeg, MaxLaunchDeg, "degrees", "the angle at which the ball leaves")
	if speed {
		inRange(p, "/backspin_rpm", l.BackspinRPM, 0, math.Floor(l.SpeedMps/ballRadiusM/radS), fmt.Sprintf("turns a minute, the most at %v m/s", l.SpeedMps), "the backspin")
	}
	inRange(p, "/landing_height_m", l.LandingHeightM, -MaxHeightM, MaxHeightM, "m", "how much higher than the ball it lands, negative when lower,")
	inRange(p, "/wind_mps", l.WindMps, -MaxWindMps, MaxWindMps, "m/s", "the wind, negative against the shot,")
}

// onto is what becomes of a launch within the limits, or what is wrong with it.
func (l Launch) onto(g Green) (Shot, *domain.Field) {
	f, reached := l.fly()
	if !reached {
		return Shot{}, &domain.Field{Pointer: "/landing_height_m", Detail: "is higher than this ball flies; give more speed or more launch"}
	}
	return f.onto(g, l.BackspinRPM*radS)
}

// fly lets the ball fly, and reports whether it reaches its landing height.
func (l Launch) fly() (flight, bool) {
	return air{airKgM3, l.WindMps, coefficients}.fly(l.SpeedMps, l.LaunchDeg*math.Pi/180, l.BackspinRPM*radS, l.LandingHeightM)
}

// onto is what becomes of a ball that lands with a backspin in rad/s, or what is
// wrong with it.
func (f flight) onto(g Green, spin float64) (Shot, *domain.Field) {
	m := f.landing
	s := Shot{
		CarryM: m.x, ApexM: f.apex,
		DescentDeg: math.Atan2(-m.vy, m.vx) * 180 / math.Pi, LandingSpeedMps: math.Hypot(m.vx, m.vy),
	}
	sin, cos := math.Sincos(g.SlopeDeg * math.Pi / 180)
	i := Impact{AlongMps: m.vx*cos + m.vy*sin, UpMps: m.vy*cos - m.vx*sin, Backspin: spin}
	r := i.run(g)
	s.BounceM, s.RollM, s.BackM = r.hopped, r.rolled, r.back
	if r.endless || math.Abs(i.mark()) > math.Atan2(-i.UpMps, math.Abs(i.AlongMps)) {
		return s, &domain.Field{Pointer: "/launch_deg", Detail: "lets the ball come in too flat and fast to work out its bounce; give more launch or less speed"}
	}
	if s.TotalM() <= 0 {
		return s, &domain.Field{Pointer: "/backspin_rpm", Detail: "brings the ball back past where it was struck from; give less backspin, or a green that slopes less"}
	}
	return s, nil
}
