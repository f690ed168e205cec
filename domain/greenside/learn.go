package greenside

import (
	"math"
	"strconv"
	"sync"

	"fringework/domain"

	"gonum.org/v1/gonum/stat/distuv"
)

// Logged is where a ball landed and stopped.
type Logged struct {
	// CarryM and TotalM are how far from where it lay, in metres.
	CarryM, TotalM float64
	// AimM is where it was to land, in metres; 0 when that is not known.
	AimM float64
}

// MaxLogged is the most logged balls that are looked at: each takes a search.
const MaxLogged = 200

// Belief is what is known of a factor: of how far a student's balls run over how far
// physics lets them run, or of how far they carry over how far they were meant to.
type Belief struct {
	// Factor is its mean.
	Factor float64
	// Low and High bound it with probability 80 %.
	Low, High float64
	// Spread is the standard deviation from ball to ball.
	Spread float64
	// Balls is how many it was learned from.
	Balls int
}

// Learned is what a student's logged balls say of a club from a lie onto a green.
// Its zero value is nothing.
type Learned struct{ Run, Carry Belief }

// run is how far the student's balls run, where physics says so many metres.
func (l Learned) run(physics float64) float64 {
	if l.Run.Balls == 0 {
		return physics
	}
	return physics * l.Run.Factor
}

// runSpread and carrySpread are standard deviations from ball to ball, as shares.
func (l Learned) runSpread() float64 {
	if l.Run.Balls == 0 {
		return runPrior.spread()
	}
	return l.Run.Spread
}

func (l Learned) carrySpread() float64 {
	if l.Carry.Balls == 0 {
		return usualCarrySpread
	}
	return l.Carry.Spread
}

// AimM is where to aim for a carry in metres: a student who lands balls short of
// where they were meant to land aims farther.
func (l Learned) AimM(carry float64) float64 {
	if l.Carry.Balls == 0 {
		return carry
	}
	return carry / l.Carry.Factor
}

// prior is what is taken of a factor before any ball is seen: 1 in the mean, as if
// from so many balls, with a standard deviation from ball to ball as if from so many.
type prior struct{ balls, spreadBalls, sd float64 }

// The priors, set on one population of simulated students (learn_test.go) whose runs
// and carries differ from physics by about a quarter and a tenth.
var (
	runPrior   = prior{balls: 0.7, spreadBalls: 6, sd: 0.20}
	carryPrior = prior{balls: 1, spreadBalls: 6, sd: usualCarrySpread}
)

func (p prior) shape() (alpha, beta float64) {
	alpha = 1 + p.spreadBalls/2
	return alpha, p.sd * p.sd * (alpha - 1)
}

func (p prior) spread() float64 { return p.sd }

// measureM is over runs of how many metres an error of paces in where a ball landed
// and stopped counts as much as what differs from ball to ball: a third of a metre
// over a fifth (our choice).
const measureM = 1.6

// observed is a factor as one ball shows it, and how much it weighs.
type observed struct{ factor, weight float64 }

// learn is the normal model with unknown mean and spread in its conjugate form
// (normal and inverse gamma; A. Gelman and others, Bayesian Data Analysis, 3rd ed.
// (2013), 3.3), with weights.
func (p prior) learn(balls []observed) Belief {
	if len(balls) == 0 {
		return Belief{}
	}
	weight, mean := 0.0, 0.0
	for _, b := range balls {
		weight += b.weight
		mean += b.weight * b.factor
	}
	mean /= weight
	squares := 0.0
	for _, b := range balls {
		squares += b.weight * (b.factor - mean) * (b.factor - mean)
	}
	alpha, beta := p.shape()
	n := p.balls + weight
	alpha += float64(len(balls)) / 2
	beta += squares/2 + p.balls*weight*(mean-1)*(mean-1)/(2*n)
	factor := (p.balls + weight*mean) / n
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: 2 * alpha}
	off := t.Quantile(0.9) * math.Sqrt(beta/(alpha*n))
	return Belief{
		Factor: max(factor, leastFactor), Low: max(factor-off, 0), High: factor + off,
		Spread: math.Sqrt(beta / (alpha - 1)), Balls: len(balls),
	}
}

// leastFactor keeps a student whose balls stop dead or come back from a run of
// nothing, so that a spot exists for every distance.
const leastFactor = 0.02

// Learn tells from logged balls, all struck with one setup (whose own Own is not
// used), how far a student's balls run and carry, physics being the prior: with no
// ball it is physics, and with many it is the student.
//
// It refuses, with pointers into {"shots"}, more balls than MaxLogged, a carry out of
// the club's reach, distances outside the limits, and a ball that stopped farther
// short of where it landed than any spins back.
func Learn(s Setup, shots []Logged) (Learned, error) {
	var p domain.Problems
	s.Check(&p)
	if len(shots) > MaxLogged {
		p.Add("/shots", "has %d shots; give at most %d, the latest", len(shots), MaxLogged)
	}
	if err := p.Err("shots", "Nothing can be learned from these shots."); err != nil {
		return Learned{}, err
	}
	outOfReach := sync.OnceValue(func() string { return s.outOfReach("lands a ball", Spot.CarryM) })
	var seen sightings
	for i, shot := range shots {
		at := "/shots/" + strconv.Itoa(i)
		if shot.check(&p, at) && !seen.add(s, shot) {
			p.Add(at+"/carry_m", "%s", outOfReach())
		}
	}
	return seen.learned(), p.Err("shots", "Nothing can be learned from these shots.")
}

// Landed is a logged ball with what it was struck with and onto.
type Landed struct {
	Setup
	Logged
}

// LearnFrom tells what [Learn] tells from balls onto several greens: what is learned
// is how a student's balls differ from physics, which knows the greens apart. Balls
// that cannot be, which [Learn] refuses or on a green outside the limits, are left out,
// and of more than MaxLogged the first ones are taken.
func LearnFrom(balls []Landed) Learned {
	var seen sightings
	for _, b := range balls[:min(len(balls), MaxLogged)] {
		var p domain.Problems
		b.Own = Learned{}
		b.Setup.Check(&p)
		if b.Logged.check(&p, ""); len(p.Fields()) == 0 {
			seen.add(b.Setup, b.Logged)
		}
	}
	return seen.learned()
}

// sightings are the factors that balls show.
type sightings struct{ runs, carries []observed }

// add notes what a ball shows, and reports false when the club does not carry it so
// far or so near.
func (o *sightings) add(s Setup, shot Logged) bool {
	spot, ok := s.find(shot.CarryM, Spot.CarryM)
	if !ok {
		return false
	}
	o.runs = append(o.runs, spot.shows(shot))
	if shot.AimM > 0 {
		o.carries = append(o.carries, observed{shot.CarryM / shot.AimM, 1})
	}
	return true
}

func (o sightings) learned() Learned {
	return Learned{Run: runPrior.learn(o.runs), Carry: carryPrior.learn(o.carries)}
}

func (l Logged) check(p *domain.Problems, at string) bool {
	carry := inRange(p, at+"/carry_m", l.CarryM, MinCarryM, MaxCarryM, "m", "how far the ball carried")
	total := inRange(p, at+"/total_m", l.TotalM, 0, 2*MaxToHoleM, "m", "how far away the ball stopped")
	aim := l.AimM == 0 || inRange(p, at+"/aim_m", l.AimM, MinCarryM, MaxCarryM, "m", "where the ball was to land")
	back := carry && total && l.CarryM-l.TotalM > l.mostBackM()
	if back {
		p.Add(at+"/total_m", "is %v, less than carry_m, which is %v, by more than a ball spins back; swap the two if they were mixed up, or leave this ball out", l.TotalM, l.CarryM)
	}
	return carry && total && aim && !back
}

// mostBackM is how far a ball comes back at the most, in metres, from a wedge that spins
// it: half a metre, which paces may be wrong by, and a tenth of its carry (our choice).
func (l Logged) mostBackM() float64 { return 0.5 + l.CarryM/10 }

// shows is the factor that a logged ball shows where physics lets it run as at the
// spot; where it runs little, an error in measuring is most of it.
func (s Spot) shows(l Logged) observed {
	physics := max(s.Shot.RunM(), 0.05)
	return observed{(l.TotalM - l.CarryM) / physics, physics * physics / (physics*physics + measureM*measureM)}
}
