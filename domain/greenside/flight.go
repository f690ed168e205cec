package greenside

import "math"

// The ball and the air.
const (
	// ballKg and ballM are the heaviest and the smallest ball that the rules allow:
	// 1.620 oz and 1.680 in across (R&A and USGA, Equipment Rules, part 4).
	ballKg, ballM = 0.04593, 0.04267
	ballRadiusM   = ballM / 2
	// airKgM3 and airM2s are the density of air in kg/m³ and its kinematic viscosity
	// in m²/s at 15 °C at the sea (ISO 2533, standard atmosphere).
	airKgM3, airM2s = 1.225, 1.461e-5
	// stepS is the step of the integration in seconds; halving it moves no carry by as
	// much as a millimetre.
	stepS = 0.04
)

// The coefficients of drag and lift.
const (
	// slowRe and fastRe are the Reynolds numbers between which the flow around a ball
	// with dimples turns from laminar to turbulent (P. W. Bearman and J. K. Harvey,
	// Aeronautical Quarterly 27 (1976) 112-122; B. Lyu and others, Aerodynamics of
	// Golf Balls in Still Air, Proceedings 2 (2018) 238; values from memory).
	slowRe, fastRe = 5e4, 1e5
	// slowDrag is the drag of laminar flow (the same; from memory).
	slowDrag = 0.5
	// Of turbulent flow: drag is fastDrag + spinDrag · S and lift is lift · S^liftPower,
	// S being the speed of the ball's surface over that through the air (A. J. Smits
	// and D. R. Smith, A new aerodynamic model of a golf ball in flight, Science and
	// Golf II (1994) 340-347; values from memory).
	fastDrag, spinDrag = 0.24, 0.18
	lift, liftPower    = 0.54, 0.4
)

// coefficients gives those of drag and lift at a speed through the air in m/s and
// a backspin in rad/s. Below slowRe, where chips fly, lift has been found small and
// of either sign (Lyu and others, Sports Engineering 23 (2020), reverse Magnus
// effect), and is left out; between slowRe and fastRe both change in proportion:
// our choice.
func coefficients(speed, spin float64) (drag, up float64) {
	turbulent := min(max((speed*ballM/airM2s-slowRe)/(fastRe-slowRe), 0), 1)
	if turbulent == 0 {
		return slowDrag, 0
	}
	s := spin * ballRadiusM / speed
	return slowDrag + turbulent*(fastDrag+spinDrag*s-slowDrag), turbulent * lift * math.Pow(s, liftPower)
}

// air is what a ball flies through.
type air struct {
	// density is in kg/m³; 0 is a vacuum.
	density float64
	// wind is in m/s, from behind.
	wind float64
	// coefficients of drag and lift.
	coefficients func(speed, spin float64) (drag, lift float64)
}

// motion is where a ball is and how it moves: metres and m/s, along the shot and up.
type motion struct{ x, y, vx, vy float64 }

// after is the motion some seconds on, along a slope of the path.
func (m motion) after(seconds float64, slope motion) motion {
	return motion{
		m.x + seconds*slope.x, m.y + seconds*slope.y,
		m.vx + seconds*slope.vx, m.vy + seconds*slope.vy,
	}
}

// slope is how a motion changes in a second. Spin does not decay on so short a way
// (Bearman and Harvey 1976).
func (a air) slope(m motion, spin float64) motion {
	wx, wy := m.vx-a.wind, m.vy
	speed := math.Hypot(wx, wy)
	drag, up := a.coefficients(speed, spin)
	k := a.density * math.Pi * ballRadiusM * ballRadiusM / (2 * ballKg) * speed
	return motion{m.vx, m.vy, -k * (drag*wx + up*wy), -k*(drag*wy-up*wx) - gravity}
}

// step is one step of the classical method of Runge and Kutta, of fourth order.
func (a air) step(m motion, spin, seconds float64) motion {
	k1 := a.slope(m, spin)
	k2 := a.slope(m.after(seconds/2, k1), spin)
	k3 := a.slope(m.after(seconds/2, k2), spin)
	k4 := a.slope(m.after(seconds, k3), spin)
	return m.after(seconds/6, k1).after(seconds/3, k2).after(seconds/3, k3).after(seconds/6, k4)
}

// flight is a ball's way through the air.
type flight struct {
	// landing is the motion on landing, x being the carry.
	landing motion
	// apex is the greatest height in metres above where it started.
	apex float64
	// seconds it took.
	seconds float64
}

// fly lets a ball fly from 0 with a speed in m/s, upwards at an angle in radians and
// with a backspin in rad/s, until it comes down to a height in metres. It reports
// false when it never gets so high.
func (a air) fly(speed, angle, spin, height float64) (flight, bool) {
	sin, cos := math.Sincos(angle)
	m, f := motion{vx: speed * cos, vy: speed * sin}, flight{}
	for {
		next := a.step(m, spin, stepS)
		if m.vy > 0 && next.vy <= 0 {
			// Newton's method finds the time at which it no longer rises.
			_, top := a.find(m, spin, func(at motion) float64 { return at.vy / a.slope(at, spin).vy })
			f.apex = top.y
			if top.y < height {
				return f, false
			}
		}
		if next.vy <= 0 && next.y <= height {
			rest, landing := a.find(m, spin, func(at motion) float64 { return (at.y - height) / at.vy })
			f.landing, f.seconds = landing, f.seconds+rest
			return f, true
		}
		m, f.seconds = next, f.seconds+stepS
	}
}

// find looks by Newton's method within a step for when something is 0; correction
// is its value over its slope. It starts from the end of the step, so that of two
// times it finds the later.
func (a air) find(m motion, spin float64, correction func(at motion) float64) (seconds float64, at motion) {
	seconds, at = stepS, a.step(m, spin, stepS)
	for range 6 {
		seconds -= correction(at)
		at = a.step(m, spin, seconds)
	}
	return seconds, at
}
