package main

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
)

// Kind is how a simulated student learns.
type Kind string

// The kinds. A student Challenged learns best from balls that are neither too easy
// nor too hard, one Even the same from any, and one Disheartened, who learns the same
// from any, loses heart when failing: then the balls teach less and sessions are
// left out.
const (
	Challenged   Kind = "best at a middling challenge"
	Even         Kind = "the same at any challenge"
	Disheartened Kind = "loses heart when failing"
)

// Kinds lists them.
var Kinds = []Kind{Challenged, Even, Disheartened}

// Student is a simulated student at one skill. Balls come to rest about the hole, the
// same in every direction, with a standard deviation of Sigma metres that practice
// makes smaller; the day's form is on top.
type Student struct {
	Kind  Kind
	Sigma float64
	// Gain is what the best ball takes off log Sigma, and Floor the Sigma in metres
	// that practice leads to in the end.
	Gain, Floor float64
	// Form is the standard deviation of the day's form, of log Sigma.
	Form float64
	// Peak is the chance of success that teaches a challenged student most, and
	// Width how far off it a ball still teaches: 0.61 of the best for a Setting
	// student that much off.
	Peak, Width float64
	// Heart is what the student has of it, from 0 to 1: that share of what a ball
	// could teach is learned.
	Heart float64
	// Mishit is the chance of a mishit, which ends mishitWider times as far off.
	Mishit float64
	law    law
}

// mishitWider is how many times as far off a mishit ends.
const mishitWider = 2.5

// law is how practice works in a population: what a ball teaches at a chance of
// success, of the best one, and what a session does to the heart, given the share of
// its balls inside and whether a step was passed.
type law struct {
	teaches func(s Student, chance float64) float64
	heart   func(s Student, share float64, passed bool) float64
	// slowing is the power of the share that is left to learn by which a ball teaches
	// less as the floor comes near; 0 stands for 1.
	slowing float64
	// leaves is the chance that a session is left out.
	leaves func(s Student) float64
}

// Population is what students are drawn from, evenly between bounds.
type Population struct {
	Name string
	// Share is the share of the first balls inside the ladder's first circle, mishits
	// aside.
	Share [2]float64
	// Gain is per 1,000 balls; Floor is a share of the Sigma at the start.
	Gain, Floor, Form, Peak, Width [2]float64
	// Mishit is the share of balls that are mishit.
	Mishit [2]float64
	// Even is what every ball teaches a student Even or Disheartened, of the best.
	Even [2]float64
	law  law
}

// Setting is the population that the constants of package advice were set on: the
// bump is a normal curve, and heart comes and goes by whole sessions.
var Setting = Population{
	Name: "setting", Share: [2]float64{0.30, 0.60}, Gain: [2]float64{0.4, 0.9}, Floor: [2]float64{0.35, 0.5},
	Form: [2]float64{0.05, 0.10}, Peak: [2]float64{0.55, 0.75}, Width: [2]float64{0.12, 0.2}, Even: [2]float64{0.5, 0.8},
	law: law{
		teaches: func(s Student, chance float64) float64 {
			z := (chance - s.Peak) / s.Width
			return math.Exp(-z * z / 2)
		},
		heart: func(s Student, share float64, passed bool) float64 {
			if share < 0.5 && !passed {
				return max(0.3, s.Heart-0.12)
			}
			return min(1, s.Heart+0.12)
		},
		leaves: func(s Student) float64 { return max(0, 0.6-s.Heart) },
	},
}

// Second is another that the rules were set on: two of them were narrowed after a look
// at it. Its bump is that of a Beta distribution, which is not symmetric; heart follows
// the shares of all sessions smoothly; and students start and end elsewhere.
var Second = Population{
	Name: "second", Share: [2]float64{0.25, 0.65}, Gain: [2]float64{0.3, 1.1}, Floor: [2]float64{0.3, 0.55},
	Form: [2]float64{0.03, 0.13}, Peak: [2]float64{0.45, 0.8}, Width: [2]float64{0.1, 0.25}, Even: [2]float64{0.4, 0.9},
	law: law{
		teaches: func(s Student, chance float64) float64 {
			// As wide at the peak as a normal curve of the same width.
			size := s.Peak * (1 - s.Peak) / (s.Width * s.Width)
			a, b := s.Peak*size, (1-s.Peak)*size
			return math.Pow(chance/s.Peak, a) * math.Pow((1-chance)/(1-s.Peak), b)
		},
		heart: func(s Student, share float64, passed bool) float64 {
			felt := 1 / (1 + math.Exp(-(share-0.45)/0.08))
			if passed {
				felt = 1
			}
			return s.Heart + 0.2*(max(0.15, felt)-s.Heart)
		},
		leaves: func(s Student) float64 { return 0.5 * (1 - s.Heart) * (1 - s.Heart) },
	},
}

// Unseen is what is published: written down, and drawn from for the first time, when
// all rules stood. One ball in several is mishit and ends far wider; the bump has a flat
// top and straight sides; what is left to learn is learned ever more slowly; and heart is
// lost or found at once, by the last session.
var Unseen = Population{
	Name: "unseen", Share: [2]float64{0.28, 0.62}, Gain: [2]float64{0.4, 1.3}, Floor: [2]float64{0.3, 0.5},
	Form: [2]float64{0.04, 0.12}, Peak: [2]float64{0.5, 0.75}, Width: [2]float64{0.12, 0.22}, Even: [2]float64{0.45, 0.85},
	Mishit: [2]float64{0.02, 0.1},
	law: law{
		slowing: 1.5,
		teaches: func(s Student, chance float64) float64 {
			return min(1, max(0, 1.6-math.Abs(chance-s.Peak)/(1.3*s.Width)))
		},
		heart: func(_ Student, share float64, passed bool) float64 {
			switch {
			case passed:
				return 1
			case share < 0.35:
				return 0.35
			default:
				return min(1, 0.35+1.3*(share-0.35))
			}
		},
		leaves: func(s Student) float64 {
			if s.Heart < 0.5 {
				return 0.3
			}
			return 0.02
		},
	},
}

// Draw draws a student of a kind for a ladder whose first circle is so wide, in
// metres.
func (p Population) Draw(k Kind, circle float64, r *rand.Rand) Student {
	between := func(x [2]float64) float64 { return x[0] + (x[1]-x[0])*r.Float64() }
	s := Student{Kind: k, Heart: 1, law: p.law}
	s.Sigma = circle / math.Sqrt(-2*math.Log1p(-between(p.Share)))
	s.Gain, s.Floor, s.Form = between(p.Gain)/1000, s.Sigma*between(p.Floor), between(p.Form)
	s.Peak, s.Width = between(p.Peak), between(p.Width)
	if p.Mishit[1] > 0 {
		s.Mishit = between(p.Mishit)
	}
	if even := between(p.Even); k != Challenged {
		s.Gain *= even
	}
	return s
}

// String says what is drawn.
func (p Population) String() string {
	return fmt.Sprintf("first share %v, gain %v per 1,000 balls, floor %v, form %v, peak %v, width %v, even %v, mishit %v", p.Share, p.Gain, p.Floor, p.Form, p.Peak, p.Width, p.Even, p.Mishit)
}

// strike gives a ball's distance from the hole in metres when the form of the day is
// given, played to a circle, and the student as they are after it.
func (s *Student) strike(circle, form float64, r *rand.Rand) float64 {
	sigma := s.Sigma * math.Exp(form)
	chance := -math.Expm1(-circle * circle / (2 * sigma * sigma))
	gain := s.Gain * math.Pow(1-s.Floor/s.Sigma, cmp.Or(s.law.slowing, 1))
	switch s.Kind {
	case Challenged:
		gain *= s.law.teaches(*s, chance)
	case Disheartened:
		gain *= s.Heart
	}
	s.Sigma *= math.Exp(-gain)
	if s.Mishit > 0 && r.Float64() < s.Mishit {
		sigma *= mishitWider
	}
	return sigma * math.Sqrt(2*r.ExpFloat64())
}

// comes says whether the student comes to a session.
func (s Student) comes(r *rand.Rand) bool {
	left := r.Float64()
	return s.Kind != Disheartened || left >= s.law.leaves(s)
}

// felt lets a session work on the heart.
func (s *Student) felt(share float64, passed bool) {
	if s.Kind == Disheartened {
		s.Heart = s.law.heart(*s, share, passed)
	}
}
