package greenside

import "math"

// Impact is a ball at the moment it meets the ground, or leaves it.
type Impact struct {
	// AlongMps and UpMps are its speed along the ground and away from it in m/s;
	// UpMps is negative before a bounce.
	AlongMps, UpMps float64
	// Backspin is in rad/s; a ball that rolls on has a negative one.
	Backspin float64
}

// The turf of Penner's model.
const (
	// turfGrip is the coefficient of friction between ball and turf.
	turfGrip = 0.40
	// A ball that comes at 18.6 m/s, 44.4° off the upright, leaves as if the ground
	// were turned by 15.4° towards it, for the mark it makes; less in proportion to
	// speed and angle.
	markDeg, markMps, markAngleDeg = 15.4, 18.6, 44.4
	// gentleMps is the speed into the ground below which a hop leaves less of a mark, in
	// proportion: that of a fall from 11 cm, which leaves none that is seen (our choice;
	// otherwise a ball that all but rolls would be thrown up by its marks on and on).
	gentleMps = 1.5
	// hardMps is the speed into the ground from which on a bounce keeps hardMps'
	// share alone, slowest.
	hardMps, hardKeeps = 20.0, 0.120
)

// restitution is the share of the speed into the ground that a ball leaves with.
func restitution(intoMps float64) float64 {
	if intoMps > hardMps {
		return hardKeeps
	}
	return 0.510 - 0.0375*intoMps + 0.000903*intoMps*intoMps
}

// mark is the angle in radians by which the ground seems turned.
func (i Impact) mark() float64 {
	upright := math.Atan2(math.Abs(i.AlongMps), -i.UpMps)
	speed := math.Hypot(i.AlongMps, i.UpMps)
	turn := markDeg * math.Pi / 180 * (speed / markMps) * (upright / (markAngleDeg * math.Pi / 180))
	return math.Copysign(turn, i.AlongMps)
}

// Bounce is how a ball leaves the turf that meets it as i, with UpMps below 0: on
// ground turned by the mark it makes it leaves with a share of its speed into the
// ground, and along the ground it rolls, or slides throughout where friction is too
// little to stop its sliding. Its energy, of flight and of spin, never grows.
//
// Source: A. R. Penner, The run of a golf ball, Can. J. Phys. 80 (2002) 931-940,
// who takes the figures from photographs of balls on greens by Haake; values as
// public programs quote them from pages 933-934. The spin of a ball that slides
// follows from its angular momentum.
func (i Impact) Bounce() Impact { return i.off(i.mark()) }

// hop is the bounce of a ball that has bounced before.
func (i Impact) hop() Impact { return i.off(i.mark() * min(1, -i.UpMps/gentleMps)) }

// off is a bounce off ground that is turned by an angle in radians towards the ball.
func (i Impact) off(turned float64) Impact {
	sin, cos := math.Sincos(turned)
	along, into := i.AlongMps*cos+i.UpMps*sin, i.AlongMps*sin-i.UpMps*cos
	e := restitution(into)
	// slip is how fast the ball's lowest point slides forward; rolling takes two
	// sevenths of it from the speed, by a push that friction may not give.
	slip := along + ballRadiusM*i.Backspin
	lost := slip * 2 / 7
	if most := turfGrip * (1 + e) * into; math.Abs(lost) > most {
		lost = math.Copysign(most, slip)
	}
	along, up := along-lost, e*into
	return Impact{
		AlongMps: along*cos - up*sin,
		UpMps:    along*sin + up*cos,
		Backspin: i.Backspin - lost*5/2/ballRadiusM,
	}
}

// energy is that of flight and spin, over the mass: in m²/s².
func (i Impact) energy() float64 {
	spin := ballRadiusM * i.Backspin
	return (i.AlongMps*i.AlongMps + i.UpMps*i.UpMps + spin*spin*2/5) / 2
}

// rollingMps is the speed in m/s at which the ball rolls once it no longer slides,
// when it stays on the ground from now on: sliding does not change its angular
// momentum about the ground.
func (i Impact) rollingMps() float64 { return i.AlongMps*5/7 - ballRadiusM*i.Backspin*2/7 }

// Hops lower than lowHopM are no more than rolling, and higher ones than highHopM
// true hops; between them part of the one and part of the other is taken, so that
// a little more speed never changes a run by a jump (our choice).
const lowHopM, highHopM = 0.002, 0.008

// mostHops is more than a ball makes that is known to come down to rolling.
const mostHops = 100

// run is what a ball does once it has landed: metres along the ground.
type run struct {
	// hopped and rolled are forward, back is what it comes back.
	hopped, rolled, back float64
	// endless says that it still hops after mostHops.
	endless bool
}

func (r *run) add(part *float64, metres float64) {
	if metres < 0 {
		r.back -= metres
		return
	}
	*part += metres
}

// run lets a ball that meets the green bounce, hop and roll. Hops are so short and
// slow that the air is left out.
func (i Impact) run(g Green) (r run) {
	sin, cos := math.Sincos(g.SlopeDeg * math.Pi / 180)
	share := 1.0
	i = i.Bounce()
	for range mostHops {
		height := i.UpMps * i.UpMps / (2 * gravity * cos)
		hops := share * min(max((height-lowHopM)/(highHopM-lowHopM), 0), 1)
		r.add(&r.rolled, (share-hops)*g.RollM(i.rollingMps()))
		if share = hops; share == 0 {
			return r
		}
		seconds := 2 * i.UpMps / (gravity * cos)
		slowed := gravity * sin * seconds
		r.add(&r.hopped, share*seconds*(i.AlongMps-slowed/2))
		i = Impact{AlongMps: i.AlongMps - slowed, UpMps: -i.UpMps, Backspin: i.Backspin}.hop()
	}
	r.endless = true
	return r
}
