package estimate

import (
	"math"
	"sync"
)

// Lanes of the filter: two for staying, then the rising and the falling ways.
const (
	neverRose = 0 // stays, and has not risen within the window
	levelled  = 1 // stays, after a rise
	firstWay  = 2
)

// lane is the joint probability of one way of going and each level, at the
// grid points lowestLevel + cell·c + fine·phase. While a student keeps to one
// way of going the grid moves along with him, so that nothing is blurred.
type lane struct {
	steps  int
	weight float64
	phase  int
	mass   [cells]float64
}

// chances are the probabilities of the ways of going after a session.
type chances struct{ falling, neverRose, levelled, rising float64 }

func (c chances) staying() float64 { return c.neverRose + c.levelled }

// filter carries the probabilities of level and way of going from session to
// session: the forward algorithm of a hidden Markov model (Baum et al., 1970;
// for change points in this form Adams & MacKay, 2007).
type filter struct {
	lanes    []lane
	rising   int // lanes[firstWay:rising] rise, the rest fall
	lo, hi   int // cells outside [lo, hi) hold nothing worth counting
	sessions int
	total    float64 // of all masses
	now      chances
	scratch  table
	up, down [cells + 1]float64
}

var filters = sync.Pool{New: func() any {
	f := &filter{rising: firstWay + len(risingWays)}
	f.lanes = make([]lane, f.rising+len(fallingWays))
	return f
}}

// newFilter begins before the first session, with the prior of the level.
func newFilter(prior Prior) *filter {
	f := filters.Get().(*filter)
	f.lo, f.hi, f.sessions = 0, cells, 0
	f.now = chances{falling: startFalling, neverRose: 1 - startRising - startFalling, rising: startRising}
	density := f.up[:cells]
	top := math.Inf(-1)
	for c := range density {
		density[c] = prior.A*levels.logP[0][c+formReach] + prior.B*levels.logQ[0][c+formReach]
		top = math.Max(top, density[c])
	}
	for c := range density {
		density[c] = math.Exp(density[c] - top)
	}
	start := func(l *lane, w way, chance float64) {
		l.steps, l.weight, l.phase = w.steps, w.weight, 0
		for c, d := range density {
			l.mass[c] = chance * w.weight * d
		}
	}
	start(&f.lanes[neverRose], way{0, 1}, 1-startRising-startFalling)
	start(&f.lanes[levelled], way{0, 1}, 0)
	for i, w := range risingWays {
		start(&f.lanes[firstWay+i], w, startRising)
	}
	for i, w := range fallingWays {
		start(&f.lanes[f.rising+i], w, startFalling)
	}
	f.total = 0
	for i := range f.lanes {
		for _, m := range f.lanes[i].mass {
			f.total += m
		}
	}
	return f
}

func (f *filter) free() { filters.Put(f) }

// clone copies a filter, to be freed like any other.
func (f *filter) clone() *filter {
	g := filters.Get().(*filter)
	lanes := g.lanes
	copy(lanes, f.lanes)
	g.lo, g.hi, g.sessions, g.total, g.now = f.lo, f.hi, f.sessions, f.total, f.now
	return g
}

// observe takes in one practised session.
func (f *filter) observe(balls, inside int) {
	if f.sessions > 0 {
		f.advance()
	}
	f.sessions++
	f.weigh(likelihood(balls, inside, &f.scratch), false)
}

// advance goes on by one session: some change over, all move.
func (f *filter) advance() {
	f.change()
	f.move()
}

// change lets some change over to another way of going.
func (f *filter) change() {
	lo, hi := f.lo, f.hi
	f.gather(f.up[:], f.lanes[firstWay:f.rising])
	f.gather(f.down[:], f.lanes[f.rising:])
	flat, level := &f.lanes[neverRose].mass, &f.lanes[levelled].mass
	for c := lo; c <= hi && c < cells; c++ {
		up, down, stay := f.up[c], f.down[c], flat[c]+level[c]
		flat[c] = flat[c]*(1-startsToRise-startsToFall) + stopsFalling*down
		level[c] = level[c]*(1-startsToRise-startsToFall) + levelsOff*up
		f.up[c] = startsToRise*stay + turnsAround*down
		f.down[c] = startsToFall*stay + turnsAround*up
	}
	f.hi = min(hi+1, cells)
	f.lo = max(lo-1, 0)
	f.spread(f.up[:], f.lanes[firstWay:f.rising], 1-levelsOff-turnsAround)
	f.spread(f.down[:], f.lanes[f.rising:], 1-stopsFalling-turnsAround)
}

// gather sums lanes on the grid of phase 0: what lies between two cells is
// divided so that its mean stays.
func (f *filter) gather(sum []float64, lanes []lane) {
	clear(sum[max(f.lo-1, 0) : min(f.hi+1, cells)+1])
	out := sum[f.lo : f.hi+1]
	for i := range lanes {
		l := &lanes[i]
		w := float64(l.phase) / finePerCell
		m := l.mass[f.lo:f.hi]
		last := 0.0
		for c, x := range m {
			y := x * w
			out[c] += x - y + last
			last = y
		}
		out[len(m)] += last
	}
	sum[cells-1] += sum[cells]
	sum[cells] = 0
}

// spread lets each lane keep a share of its own and adds its part of what
// comes over, given on the grid of phase 0.
func (f *filter) spread(in []float64, lanes []lane, keep float64) {
	in = in[f.lo : f.hi+1]
	for i := range lanes {
		l := &lanes[i]
		w := float64(l.phase) / finePerCell
		a, b := l.weight*(1-w), l.weight*w
		m := l.mass[f.lo:f.hi]
		here := in[0]
		for c := range m {
			next := in[c+1]
			m[c] = m[c]*keep + here*a + next*b
			here = next
		}
	}
}

// move shifts each lane by its pace. What would leave the grid stays at its
// edge.
func (f *filter) move() {
	lo, hi := max(f.lo-longestStride, 0), min(f.hi+longestStride, cells)
	for i := firstWay; i < len(f.lanes); i++ {
		l := &f.lanes[i]
		l.phase += l.steps
		stride := l.phase >> 3 // of finePerCell, rounded down
		l.phase -= stride * finePerCell
		shift(&l.mass, stride, f.lo, f.hi)
	}
	f.lo, f.hi = lo, hi
}

func shift(m *[cells]float64, by, lo, hi int) {
	switch {
	case by > 0:
		for c := max(cells-by, lo); c < hi; c++ { // would leave at the top
			if c != cells-1-by {
				m[cells-1-by] += m[c]
				m[c] = 0
			}
		}
		end := min(hi, cells-by)
		copy(m[lo+by:end+by], m[lo:end])
		clear(m[lo:min(lo+by, end+by)])
	case by < 0:
		by = -by
		for c := lo; c < min(by, hi); c++ { // would leave at the bottom
			m[by] += m[c]
			m[c] = 0
		}
		start := max(lo, by)
		copy(m[start-by:hi-by], m[start:hi])
		clear(m[max(hi-by, start-by):hi])
	}
}

// leastDoubt keeps the complement of a certainty above 0.
const leastDoubt = 1e-12

// weigh multiplies by a function of the level, or by 1 minus it, and notes the
// probabilities of the ways of going. It leaves out cells that hold next to nothing. The masses themselves
// are left unscaled while they are in no danger of underflow.
func (f *filter) weigh(t *table, complement bool) {
	var sums chances
	marginal := f.up[f.lo:f.hi]
	clear(marginal)
	for i := range f.lanes {
		l := &f.lanes[i]
		m, row := l.mass[f.lo:f.hi], t[l.phase][f.lo:f.hi]
		m, row = m[:len(marginal)], row[:len(marginal)]
		sum := 0.0
		for c := range marginal {
			w := float64(row[c])
			if complement {
				w = 1 - w + leastDoubt
			}
			x := m[c] * w
			m[c] = x
			sum += x
			marginal[c] += x
		}
		switch {
		case i == neverRose:
			sums.neverRose = sum
		case i == levelled:
			sums.levelled = sum
		case i < f.rising:
			sums.rising += sum
		default:
			sums.falling += sum
		}
	}
	f.total = sums.falling + sums.neverRose + sums.levelled + sums.rising
	k := 1 / f.total
	f.now = chances{sums.falling * k, sums.neverRose * k, sums.levelled * k, sums.rising * k}
	f.trim(marginal, 1e-9*f.total)
	if f.total < 1e-100 {
		f.rescale()
	}
}

// trim leaves out cells at either end that hold less than nothing.
func (f *filter) trim(marginal []float64, nothing float64) {
	a, b := 0, len(marginal)
	for a < b-1 && marginal[a] < nothing {
		a++
	}
	for b > a+1 && marginal[b-1] < nothing {
		b--
	}
	lo, hi := f.lo+a, f.lo+b
	for i := range f.lanes {
		m := &f.lanes[i].mass
		clear(m[f.lo:lo])
		clear(m[hi:f.hi])
	}
	f.lo, f.hi = lo, hi
}

func (f *filter) rescale() {
	k := 1 / f.total
	for i := range f.lanes {
		m := f.lanes[i].mass[f.lo:f.hi]
		for c := range m {
			m[c] *= k
		}
	}
	f.total = 1
}
