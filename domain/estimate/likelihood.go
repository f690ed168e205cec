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
// at most 2,145 tables of 3 kB.
const keptBalls = 64

var kept [(keptBalls + 1) * (keptBalls + 2) / 2]atomic.Pointer[table]

// likelihood is the probability of inside of balls as a function of the level,
// up to a factor, averaged over the day's form. It may use scratch.
func likelihood(balls, inside int, scratch *table) *table {
	if balls > maxWeight {
		inside = int(math.Round(float64(inside) * maxWeight / float64(balls)))
		balls = maxWeight
	}
	if balls > keptBalls {
		computeLikelihood(balls, inside, scratch)
		return scratch
	}
	slot := &kept[balls*(balls+1)/2+inside]
	t := slot.Load()
	if t == nil {
		t = new(table)
		computeLikelihood(balls, inside, t)
		slot.Store(t) // the same for whoever computes it
	}
	return t
}

func computeLikelihood(balls, inside int, t *table) {
	y, m := float64(inside), float64(balls-inside)
	top := 0.0 // log-likelihood at its best
	if y > 0 {
		top += y * math.Log(y/float64(balls))
	}
	if m > 0 {
		top += m * math.Log(m/float64(balls))
	}
	var raw [cells + 2*formReach]float64
	for phase := range finePerCell {
		p, q := &levels.logP[phase], &levels.logQ[phase]
		for c := range raw {
			raw[c] = math.Exp(y*p[c] + m*q[c] - top)
		}
		blur(&t[phase], &raw)
		for c := range t[phase] {
			t[phase][c] += strange
		}
	}
}
