package estimate

import (
	"hash/fnv"
	"math"
	"math/rand/v2"
	"strconv"

	"fringework/domain"
	"fringework/domain/streak"
)

// Bounds of a comparison.
const (
	// MaxPressureBalls bounds the balls of all sessions together.
	MaxPressureBalls = 20_000
	// shuffles is how many permutations stand for all: with 1,999 a p-value
	// near 0.05 is told to ± 0.005. No test is made of fewer than minShuffles.
	shuffles    = 1999
	minShuffles = 199
	// shuffleWork bounds balls × permutations.
	shuffleWork = 40_000_000
)

// Pressure compares the balls struck late in a run with the others.
type Pressure struct {
	// EarlyBalls and LateBalls are how many balls were struck with the current
	// run below late_from, and at late_from or above.
	EarlyBalls, LateBalls int
	// EarlyRate and LateRate are the shares of those that were inside, from 0
	// to 1; LateRate is 0 when there was no late ball.
	EarlyRate, LateRate float64
	// Tested says whether the rest exists, which takes late balls, and an order
	// in which they are not all but impossible.
	Tested bool
	// Difference is the late rate minus the early one, with Bias removed.
	Difference float64
	// Bias is what the naive difference comes to on average when the same
	// balls fall in random order within their sessions.
	Bias float64
	// P is the probability of a drop at least as deep in random order, and
	// TwoSided that of a difference at least as large either way; both from
	// 1/2000 to 1.
	P, TwoSided float64
}

// lateTally counts balls and those inside, early and late.
type lateTally struct{ early, earlyIn, late, lateIn int }

// count adds a session. A ball is late when the run it was struck in had
// lateFrom balls or more already: it directly follows that many in a row.
func (t *lateTally) count(session []bool, lateFrom int) {
	run := 0
	for _, inside := range session {
		late := run >= lateFrom
		in := 0
		run++
		if inside {
			in = 1
		} else {
			run = 0
		}
		if late {
			t.late++
			t.lateIn += in
		} else {
			t.early++
			t.earlyIn += in
		}
	}
}

// difference is late rate minus early rate; ok when there were balls of both.
func (t lateTally) difference() (d float64, ok bool) {
	if t.early == 0 || t.late == 0 {
		return 0, false
	}
	return t.lateRate() - t.earlyRate(), true
}

func (t lateTally) earlyRate() float64 { return float64(t.earlyIn) / float64(max(1, t.early)) }
func (t lateTally) lateRate() float64  { return float64(t.lateIn) / float64(max(1, t.late)) }

// PressureOf compares the rate late in a run with the rate early in it. Each
// session is the balls of one block in the order struck, true for inside.
// lateFrom is the current run, from 1 ball, from which a ball is late: with 6 a
// ball is late when six or more in a row stand behind it.
//
// The naive difference of the two rates is biased even when balls are
// independent: in a finite session the balls that follow a streak are picked by
// what they are compared with, and sessions with a higher rate have more late
// balls. Both are undone by putting the balls of each session in random order,
// many times: the mean difference is the bias, and its distribution gives the
// p-values, which are exact, whatever the rates of the sessions, if the balls
// of a session are exchangeable. Blocks that stop when a tier is attained are
// not, since they end in a run; they make a drop harder to see, not easier.
//
// The result depends on the data alone: the permutations are drawn with a seed
// made from them. It refuses, with pointers into {"sessions", "late_from"}, a
// lateFrom outside 1 … streak.MaxRun, no session, and more than
// MaxPressureBalls balls.
//
// Source: J. B. Miller and A. Sanjurjo, Surprised by the Hot Hand Fallacy? A
// Truth in the Law of Small Numbers, Econometrica 86 (2018) 2019-2047, section
// 3.1 for the permutation within sessions.
func PressureOf(sessions [][]bool, lateFrom int) (Pressure, error) {
	if err := checkPressure(sessions, lateFrom); err != nil {
		return Pressure{}, err
	}
	return pressure(sessions, lateFrom, shuffles), nil
}

// pressure compares with some permutations.
func pressure(sessions [][]bool, lateFrom, permutations int) Pressure {
	var observed lateTally
	for _, s := range sessions {
		observed.count(s, lateFrom)
	}
	p := Pressure{
		EarlyBalls: observed.early, EarlyRate: observed.earlyRate(),
		LateBalls: observed.late, LateRate: observed.lateRate(),
	}
	if d, ok := observed.difference(); ok {
		p.test(d, shuffled(sessions, lateFrom, permutations))
	}
	return p
}

func checkPressure(sessions [][]bool, lateFrom int) error {
	var p domain.Problems
	if lateFrom < 1 || lateFrom > streak.MaxRun {
		p.Add("/late_from", "late_from is a run from 1 to %d balls, got %d", streak.MaxRun, lateFrom)
	}
	if len(sessions) == 0 {
		p.Add("/sessions", "there must be at least one session")
	}
	balls := 0
	for i, s := range sessions {
		if balls += len(s); balls > MaxPressureBalls {
			p.Add("/sessions/"+strconv.Itoa(i), "the sessions hold more than %d balls; leave the oldest out", MaxPressureBalls)
			break
		}
	}
	return p.Err("pressure", "The sessions cannot be compared.")
}

// test fills in what is told from the observed difference and those in random
// order.
func (p *Pressure) test(observed float64, random []float64) {
	if p.Tested = len(random) >= minShuffles; !p.Tested {
		return
	}
	for _, d := range random {
		p.Bias += d / float64(len(random))
	}
	p.Difference = observed - p.Bias
	// Differences that are equal but for rounding are equal.
	const tie = 1e-12
	lower, outer := 1, 1 // the observed order is one of the permutations
	for _, d := range random {
		if d <= observed+tie {
			lower++
		}
		if math.Abs(d-p.Bias) >= math.Abs(p.Difference)-tie {
			outer++
		}
	}
	p.P = float64(lower) / float64(len(random)+1)
	p.TwoSided = float64(outer) / float64(len(random)+1)
}

// shuffled gives the differences of random orders that have late balls, as the
// observed one has. Late balls may be rare: such orders are waited for, but
// not for ever.
func shuffled(sessions [][]bool, lateFrom, permutations int) []float64 {
	r := rand.New(rand.NewPCG(pressureSeed(sessions, lateFrom), 0))
	inside, balls := make([]int, len(sessions)), 0
	for i, s := range sessions {
		balls += len(s)
		for _, in := range s {
			if in {
				inside[i]++
			}
		}
	}
	differences := make([]float64, 0, permutations)
	for range max(permutations, min(20*permutations, shuffleWork/balls)) {
		var t lateTally
		for i, s := range sessions {
			t.countShuffled(len(s), inside[i], lateFrom, r)
		}
		if d, ok := t.difference(); ok {
			if differences = append(differences, d); len(differences) == permutations {
				break
			}
		}
	}
	return differences
}

// countShuffled adds a session of balls in random order, drawn ball by ball
// without replacement.
func (t *lateTally) countShuffled(balls, inside, lateFrom int, r *rand.Rand) {
	run := 0
	var bits uint64
	for left := balls; left > 0; left-- {
		if left&1 == balls&1 {
			bits = r.Uint64() // enough for two balls
		}
		in := 0
		if int(bits>>32*uint64(left)>>32) < inside {
			in = 1
		}
		bits <<= 32
		inside -= in
		if run >= lateFrom {
			t.late++
			t.lateIn += in
		} else {
			t.early++
			t.earlyIn += in
		}
		run = (run + 1) * in
	}
}

// pressureSeed makes a seed from the data (FNV-1a).
func pressureSeed(sessions [][]bool, lateFrom int) uint64 {
	h := fnv.New64a()
	line := strconv.AppendInt(nil, int64(lateFrom), 10)
	for _, s := range sessions {
		line = append(line, '\n')
		for _, inside := range s {
			if inside {
				line = append(line, '1')
			} else {
				line = append(line, '0')
			}
		}
	}
	h.Write(line)
	return h.Sum64()
}
