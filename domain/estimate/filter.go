package estimate

import (
	"math"
	"sync"
)

// Lanes of the filter: two for staying, one for rising slowly, then the rising
// and the falling ways.
const (
	neverRose = 0 // stays, and has not risen within the window
	levelled  = 1 // stays, after a rise
	slow      = 2
	firstWay  = 3
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
type chances struct{ falling, neverRose, levelled, slow, rising float64 }

// add adds to the probability of a way of going, by one of its lanes.
func (c *chances) add(way int, p float64) {
	switch way {
	case neverRose:
		c.neverRose += p
	case levelled:
		c.levelled += p
	case slow:
		c.slow += p
	case firstWay:
		c.rising += p
	default:
		c.falling += p
	}
}

func (c chances) staying() float64 { return c.neverRose + c.levelled }

// filter carries the probabilities of level and way of going from session to
// session: the forward algorithm of a hidden Markov model (Baum et al., 1970;
// for change points in this form Adams & MacKay, 2007). What a student's form is
// like is learned beside it, as if it told nothing about the level that the
// sessions' likelihoods do not.
type filter struct {
	lanes    []lane
	rising   int // lanes[firstWay:rising] rise, the rest fall
	lo, hi   int // cells outside [lo, hi) hold nothing worth counting
	sessions int
	total    float64 // of all masses
	evidence float64 // log probability of the sessions, but for total
	now      chances
	kinds    FormKinds
	// last is what the last session by itself says of the level, on the scale of
	// points of a table, and lastVariance that of its sampling, in logits.
	last, lastVariance float64

	// bins hold the probability of each level, whatever the way of going, unscaled
	// and to the nearest cell.
	bins [cells + 1]float64

	up, down, eased [cells + 1]float64
	mix             table
	rows            [2][points]float32
	scratch         byForm
}

var filters = sync.Pool{New: func() any {
	f := &filter{rising: firstWay + len(risingWays)}
	f.lanes = make([]lane, f.rising+len(fallingWays))
	return f
}}

// newFilter begins before the first session, with the prior of the level; later
// says that sessions went before that are not shown.
func newFilter(prior Prior, later bool) *filter {
	f := filters.Get().(*filter)
	f.lo, f.hi, f.sessions, f.evidence, f.kinds = 0, cells, 0, 0, usualForm
	f.now = chances{falling: startFalling, slow: startSlow, rising: startRising}
	if later {
		f.now = chances{falling: laterFalling, slow: laterSlow, rising: laterRising}
	}
	f.now.neverRose = 1 - f.now.falling - f.now.slow - f.now.rising
	var density [cells]float64
	top := math.Inf(-1)
	for c := range density {
		i := (c + formReach) * finePerCell
		density[c] = prior.A*levels.logP[i] + prior.B*levels.logQ[i]
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
	start(&f.lanes[neverRose], way{0, 1}, f.now.neverRose)
	start(&f.lanes[levelled], way{0, 1}, 0)
	start(&f.lanes[slow], slowWay[0], f.now.slow)
	for i, w := range risingWays {
		start(&f.lanes[firstWay+i], w, f.now.rising)
	}
	for i, w := range fallingWays {
		start(&f.lanes[f.rising+i], w, f.now.falling)
	}
	f.bin()
	f.total = f.sum()
	return f
}

func (f *filter) sum() (total float64) {
	for i := range f.lanes {
		for _, m := range f.lanes[i].mass[f.lo:f.hi] {
			total += m
		}
	}
	return total
}

func (f *filter) free() { filters.Put(f) }

// clone copies a filter, to be freed like any other.
func (f *filter) clone() *filter {
	g := filters.Get().(*filter)
	copy(g.lanes, f.lanes)
	g.lo, g.hi, g.sessions, g.total, g.evidence, g.now = f.lo, f.hi, f.sessions, f.total, f.evidence, f.now
	g.bins, g.kinds, g.last, g.lastVariance = f.bins, f.kinds, f.last, f.lastVariance
	return g
}

// observe takes in one practised session.
func (f *filter) observe(n counts) { f.observeIn(n, nil) }

// observeIn takes in one practised session that was judged in the circle that via
// leads to; nil is the filter's own.
func (f *filter) observeIn(n counts, via *passage) {
	if f.sessions > 0 {
		f.advance()
	}
	f.sessions++
	f.take(n, via, f.sessions > 1)
	level, variance := n.logit()
	f.last, f.lastVariance = (level-lowestLevel)/fine, variance
	if via != nil {
		f.last = via.back(f.last)
	}
}

// take weighs by a session's likelihood and learns the form from how well each
// kind foresaw it. follows says that the last session's form may be left.
func (f *filter) take(n counts, via *passage, follows bool) {
	f.bin()
	lo, hi := f.lo*finePerCell, f.hi*finePerCell
	mix := f.mix[lo:hi]
	clear(mix)
	by := n.likelihood(&f.scratch)
	sum := 0.0
	var foreseen FormKinds
	for k, w := range f.kinds {
		if w == 0 {
			continue
		}
		kind := &formKinds[k]
		t := &by[kind.sd]
		carried := 0.0
		if follows {
			carried = kind.carried(f.lastVariance)
		}
		row := t[lo:hi]
		if via != nil || carried > 0 {
			row = f.rows[0][lo:hi]
			via.read(row, t, lo, carried, f.last)
		}
		e := 0.0
		for c, m := range f.bins[f.lo:f.hi] {
			e += m * float64(row[c*finePerCell])
		}
		foreseen[k] = w * e
		sum += foreseen[k]
		share := float32(w)
		row = row[:len(mix)]
		for i := range mix {
			mix[i] += share * row[i]
		}
	}
	for k := range foreseen {
		f.kinds[k] = foreseen[k] / sum
	}
	f.kinds.forget()
	f.weigh(&f.mix, false)
}

// wayOf is the first lane of the same way of going.
func (f *filter) wayOf(lane int) int {
	switch {
	case lane >= f.rising:
		return f.rising
	case lane >= firstWay:
		return firstWay
	}
	return lane
}

// bin gives the probability of each level, whatever the way of going.
func (f *filter) bin() {
	clear(f.bins[f.lo : f.hi+1])
	for i := range f.lanes {
		l := &f.lanes[i]
		to := f.bins[f.lo+l.phase/(finePerCell/2+1):]
		for c, m := range l.mass[f.lo:f.hi] {
			to[c] += m
		}
	}
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
	f.gather(f.eased[:], f.lanes[slow:firstWay])
	flat, level := &f.lanes[neverRose].mass, &f.lanes[levelled].mass
	const stays = 1 - startsToRise - startsSlowly - startsToFall
	for c := lo; c <= hi && c < cells; c++ {
		up, down, eased, stay := f.up[c], f.down[c], f.eased[c], flat[c]+level[c]
		flat[c] = flat[c]*stays + stopsFalling*down
		level[c] = level[c]*stays + levelsOff*up + slowLevels*eased
		f.up[c] = startsToRise*stay + turnsAround*down + picksUp*eased
		f.down[c] = startsToFall*(stay+eased) + turnsAround*up
		f.eased[c] = startsSlowly*stay + slowsDown*up
	}
	f.hi = min(hi+1, cells)
	f.lo = max(lo-1, 0)
	f.spread(f.up[:], f.lanes[firstWay:f.rising], 1-levelsOff-slowsDown-turnsAround)
	f.spread(f.down[:], f.lanes[f.rising:], 1-stopsFalling-turnsAround)
	f.spread(f.eased[:], f.lanes[slow:firstWay], 1-slowLevels-picksUp-startsToFall)
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
		if f.lo == 0 { // what would leave the grid stays
			m[0] += in[0] * b
		}
	}
}

// move shifts each lane by its pace. What would leave the grid stays at its
// edge.
func (f *filter) move() {
	lo, hi := max(f.lo-longestStride, 0), min(f.hi+longestStride, cells)
	for i := slow; i < len(f.lanes); i++ {
		l := &f.lanes[i]
		l.phase += l.steps
		stride := (l.phase+longestStride*finePerCell)/finePerCell - longestStride // rounded down
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
// probabilities of the ways of going. It leaves out cells that hold next to
// nothing. The masses themselves are left unscaled while they are in no danger of
// underflow.
func (f *filter) weigh(t *table, complement bool) {
	var sums chances
	clear(f.bins[f.lo : f.hi+1])
	for i := range f.lanes {
		l := &f.lanes[i]
		m := l.mass[f.lo:f.hi]
		bins := f.bins[f.lo+l.phase/(finePerCell/2+1):]
		bins = bins[:len(m)]
		row := t[f.lo*finePerCell+l.phase:]
		sum := 0.0
		if complement {
			for c, x := range m {
				x *= 1 - float64(row[c*finePerCell]) + leastDoubt
				m[c] = x
				sum += x
				bins[c] += x
			}
		} else {
			for c, x := range m {
				x *= float64(row[c*finePerCell])
				m[c] = x
				sum += x
				bins[c] += x
			}
		}
		sums.add(f.wayOf(i), sum)
	}
	f.total = sums.falling + sums.neverRose + sums.levelled + sums.slow + sums.rising
	k := 1 / f.total
	f.now = chances{sums.falling * k, sums.neverRose * k, sums.levelled * k, sums.slow * k, sums.rising * k}
	f.trim(1e-7 * f.total)
	if f.total < 1e-100 {
		f.rescale()
	}
}

// trim leaves out cells at either end that hold less than nothing. A cell's lanes
// may be in the bin above.
func (f *filter) trim(nothing float64) {
	bins := f.bins[f.lo : f.hi+1]
	a, b := 0, len(bins)-1
	for a < b-1 && bins[a] < nothing && bins[a+1] < nothing {
		a++
	}
	for b > a+1 && bins[b-1] < nothing && bins[b] < nothing {
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
	f.evidence += math.Log(f.total)
	f.scale(1 / f.total)
	f.total = 1
}

func (f *filter) scale(k float64) {
	for i := range f.lanes {
		m := f.lanes[i].mass[f.lo:f.hi]
		for c := range m {
			m[c] *= k
		}
	}
	for c := range f.bins {
		f.bins[c] *= k
	}
}

// logEvidence is the log probability of the sessions so far, up to a constant
// that is the same for all filters of the same sessions.
func (f *filter) logEvidence() float64 { return f.evidence + math.Log(f.total) }

// mean averages a function of the level over the present probabilities.
func (f *filter) mean(t *table) float64 {
	sum, total := 0.0, 0.0
	for c := f.lo; c < f.hi; c++ {
		sum += f.bins[c] * float64(t[c*finePerCell])
		total += f.bins[c]
	}
	return sum / total
}

// meanToday averages a function of the level and the day's form.
func (f *filter) meanToday(of *byForm) float64 {
	sum := 0.0
	for sd, w := range f.kinds.sds() {
		if w > 0 {
			sum += w * f.mean(&of[sd])
		}
	}
	return sum
}
