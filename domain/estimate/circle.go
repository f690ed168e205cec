package estimate

import (
	"maps"
	"math"
	"slices"
	"sync"

	"fringework/domain"
	"fringework/domain/greenside"
)

// Circle counts the balls of a session that were judged in one circle.
type Circle struct {
	Radius domain.Length
	// Balls struck; Inside of them came to rest inside the circle or were holed,
	// and Holed of those were holed.
	Balls, Inside, Holed int
}

// passage leads from levels in one circle to those in another, for one shape of
// the scatter: the place on the scale of points at each point.
type passage [points]float32

// read reads a table of the other circle at this circle's levels from cell lo on.
// Of the last session's form, whose level in this circle was at point last, a
// share is carried over. A nil passage leads to the same circle.
func (p *passage) read(row []float32, t *table, lo int, carried, last float64) {
	shift := float32(carried * (last - float64(lo)))
	step := float32(carried)
	if p == nil {
		at := float32(lo) + shift + 0.5
		if end := at + float32(len(row))*(1-step); at >= 0 && end < points {
			for i := range row {
				row[i] = t[int(at)]
				at += 1 - step
			}
			return
		}
		for i := range row {
			row[i] = t[min(max(int(at), 0), points-1)]
			at += 1 - step
		}
		return
	}
	for i, at := range p[lo : lo+len(row)] {
		row[i] = t[min(max(int(at+shift+0.5), 0), points-1)]
		shift -= step
	}
}

// back is the point in this circle that leads to one in the other.
func (p *passage) back(to float64) float64 {
	i, _ := slices.BinarySearch(p[:], float32(to))
	return float64(min(i, points-1))
}

// passageKey names a passage.
type passageKey struct {
	shape int
	ratio float64 // of the other circle's radius to this one's
	share float64 // of the balls inside this one that are holed
}

var passages = struct {
	sync.Mutex
	known map[passageKey]*passage
}{known: map[passageKey]*passage{}}

// keptPassages bounds the memory of passages: 5 MB.
const keptPassages = 2000

// passageTo gives the passage from one circle to another. A holed ball is inside
// either, so that only the others scatter. The share of holed balls among those
// inside the first is rounded to 2 %.
func passageTo(shape int, from, to domain.Length, share float64) *passage {
	key := passageKey{shape, math.Round(1000*to.Metres()/from.Metres()) / 1000, math.Round(share*50) / 50}
	passages.Lock()
	known := passages.known[key]
	passages.Unlock()
	if known != nil {
		return known
	}
	known = key.compute()
	passages.Lock()
	defer passages.Unlock()
	if len(passages.known) >= keptPassages {
		clear(passages.known)
	}
	passages.known[key] = known
	return known
}

func (k passageKey) compute() *passage {
	p := new(passage)
	shape := shapes[k.shape]
	for i := range p {
		rate := logistic(levelAt(i))
		holed := rate * math.Min(k.share, 0.98)
		there := holed + (1-holed)*shape.Elsewhere((rate-holed)/(1-holed), k.ratio)
		at := (logit(math.Min(math.Max(there, 1e-6), 1-1e-6)) - lowestLevel) / fine
		p[i] = float32(at)
		if i > 0 { // rounding must not turn it round
			p[i] = max(p[i], p[i-1])
		}
	}
	return p
}

// shapes are those that a scatter may have.
var shapes = greenside.Shapes()

// through moves a filter to another circle: each passage leads there with its
// weight.
func (f *filter) through(ways []*passage, weights []float64) {
	from, to := f.lo, f.hi
	f.lo, f.hi = 0, cells
	for i := range f.lanes {
		l := &f.lanes[i]
		var moved [cells]float64
		for c := from; c < to; c++ {
			m := l.mass[c]
			if m == 0 {
				continue
			}
			for k, p := range ways {
				at := math.Min(math.Max((float64(p[c*finePerCell+l.phase])-float64(l.phase))/finePerCell, 0), cells-1)
				low := min(int(at), cells-2)
				part := at - float64(low)
				moved[low] += weights[k] * m * (1 - part)
				moved[low+1] += weights[k] * m * part
			}
		}
		l.mass = moved
	}
	last := 0.0
	for k, p := range ways {
		last += weights[k] * float64(p[min(max(int(f.last), 0), points-1)])
	}
	f.last = last
	f.bin()
	f.total = f.sum()
}

// abroad is a function of the level in another circle as one of the level here.
func abroad(t *table, ways []*passage, weights []float64) *table {
	out := new(table)
	for k, p := range ways {
		for i, at := range p {
			out[i] += float32(weights[k]) * t[min(max(int(at+0.5), 0), points-1)]
		}
	}
	return out
}

// merge makes one filter of several, of the same sessions, by their weights, and
// frees the others.
func merge(fs []*filter, weights []float64) *filter {
	f := fs[0]
	kinds, last := FormKinds{}, 0.0
	lo, hi := f.lo, f.hi
	for k, g := range fs {
		for i, w := range g.kinds {
			kinds[i] += weights[k] * w
		}
		last += weights[k] * g.last
		lo, hi = min(lo, g.lo), max(hi, g.hi)
		g.scale(weights[k] / g.total)
	}
	for _, g := range fs[1:] {
		for i := range f.lanes {
			for c := g.lo; c < g.hi; c++ {
				f.lanes[i].mass[c] += g.lanes[i].mass[c]
			}
		}
		g.free()
	}
	f.lo, f.hi, f.kinds, f.last, f.evidence = lo, hi, kinds, last, 0
	f.bin()
	f.total = f.sum()
	var now chances
	for i := range f.lanes {
		sum := 0.0
		for _, m := range f.lanes[i].mass[lo:hi] {
			sum += m
		}
		now.add(f.wayOf(i), sum/f.total)
	}
	f.now = now
	return f
}

// shapeWeights are the weights of the shapes before the sessions' own balls are
// weighed: those of the shapes themselves, and what measured leaves say of them.
// For that the leaves are taken together, at the share of them that came to rest
// inside the circle in focus; near and far ones are told apart by the others.
func shapeWeights(sessions []Observation, focus domain.Length) []float64 {
	weights := make([]float64, len(shapes))
	for k, s := range shapes {
		weights[k] = math.Log(s.Weight)
	}
	inside, balls := 0.5, 1.0
	others := map[domain.Length]*seenIn{}
	for _, s := range sessions {
		at := slices.IndexFunc(s.Measured, func(c Circle) bool { return c.Radius == focus })
		if at < 0 {
			continue
		}
		here := s.Measured[at]
		balls += float64(here.Balls)
		inside += float64(here.Inside)
		for _, c := range s.Measured {
			if c.Radius == focus {
				continue
			}
			o := others[c.Radius]
			if o == nil {
				o = &seenIn{balls: 1, here: 0.5}
				others[c.Radius] = o
			}
			o.balls += float64(here.Balls)
			o.here += float64(here.Inside)
			o.there += float64(c.Inside)
		}
	}
	rate := inside / balls
	for _, radius := range slices.Sorted(maps.Keys(others)) {
		o := others[radius]
		for k, s := range shapes {
			there := s.Elsewhere(rate, radius.Metres()/focus.Metres())
			if radius > focus { // of those out of the one, some are inside the other
				p := (there - rate) / (1 - rate)
				weights[k] += logBinomial(o.there-o.here, o.balls-o.there, p)
			} else {
				weights[k] += logBinomial(o.there, o.here-o.there, there/rate)
			}
		}
	}
	normalise(weights)
	return weights
}

// seenIn counts the measured leaves of sessions that tell of two circles: those
// inside the one here and the one there.
type seenIn struct{ balls, here, there float64 }

// logBinomial is the log-likelihood of a share for balls of one and another kind.
func logBinomial(yes, no, p float64) float64 {
	p = math.Min(math.Max(p, 1e-6), 1-1e-6)
	return math.Max(0, yes)*math.Log(p) + math.Max(0, no)*math.Log1p(-p)
}

// normalise turns logarithms into weights that sum to 1.
func normalise(weights []float64) {
	top := slices.Max(weights)
	sum := 0.0
	for k, w := range weights {
		weights[k] = math.Exp(w - top)
		sum += weights[k]
	}
	for k := range weights {
		weights[k] /= sum
	}
}
