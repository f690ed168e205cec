package estimate

import (
	"math"
	"sync/atomic"
)

// maxWeight is the most balls a session weighs as. Beyond it the day's form is
// all that is left of the uncertainty, and the grid is too coarse to resolve
// the rest.
const maxWeight = 1000

// strange is the likelihood, as a share of the best, that no session falls
// below at any level: about one session in a thousand has nothing to do with
// the student's level (a storm, a borrowed club, someone else's balls).
const strange = 1e-4

// keptBalls is up to how many balls a session's likelihood is kept for reuse:
// at most 32 MB, if every possible session turns up.
const keptBalls = 80

var kept [(keptBalls + 1) * (keptBalls + 2) / 2]atomic.Pointer[byForm]

// counts are the balls of a session judged in one circle.
type counts struct{ balls, inside int }

// likelihood is the probability of the counts as a function of the level, up to a
// factor that is the same for every form, averaged over a day's form. It may use
// scratch.
func (n counts) likelihood(scratch *byForm) *byForm {
	if n.balls > maxWeight {
		n = counts{maxWeight, int(math.Round(float64(n.inside) * maxWeight / float64(n.balls)))}
	}
	if n.balls > keptBalls {
		n.compute(scratch)
		return scratch
	}
	slot := &kept[n.balls*(n.balls+1)/2+n.inside]
	t := slot.Load()
	if t == nil {
		t = new(byForm)
		n.compute(t)
		slot.Store(t) // the same for whoever computes it
	}
	return t
}

func (n counts) compute(t *byForm) {
	y, m := float64(n.inside), float64(n.balls-n.inside)
	top := 0.0 // log-likelihood at its best
	if y > 0 {
		top += y * math.Log(y/(y+m))
	}
	if m > 0 {
		top += m * math.Log(m/(y+m))
	}
	var raw wide
	from, to := len(raw), 0 // beyond them it is nothing
	for i := range raw {
		if l := y*levels.logP[i] + m*levels.logQ[i] - top; l > nothing {
			raw[i] = math.Exp(l)
			from, to = min(from, i), i+1
		}
	}
	for sd := range t {
		blur(&t[sd], &raw, sd, from, to)
		for i := range t[sd] {
			t[sd][i] += strange
		}
	}
}

// nothing is the log-likelihood, below the best, of less than a thousandth of what
// is strange.
const nothing = -16.5

// logit is the counts' level, with half a ball more on each side, and variance
// that of its sampling.
func (n counts) logit() (level, variance float64) {
	y, m := float64(n.inside)+0.5, float64(n.balls-n.inside)+0.5
	return math.Log(y / m), 1/y + 1/m
}
