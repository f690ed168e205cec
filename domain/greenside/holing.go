package greenside

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"
)

// Putter is how steadily a player putts.
type Putter struct {
	// Line is the standard deviation of the direction in radians, above 0.
	Line float64
	// Pace is the standard deviation of how far a putt rolls, as a share of how
	// far it was meant to; 0 or more.
	Pace float64
}

const (
	// crossing is how far from the middle of the hole, in metres, the middle of
	// a ball may cross it: half of 4.25 less 1.68 inches, the widths of hole and
	// ball (R&A and USGA, Rules of Golf and Equipment Rules).
	crossing = (4.25 - 1.68) / 2 * 0.0254
	// past is how far beyond the hole a putt is meant to stop, and tooFast how
	// far beyond it would stop at the least to jump the hole, in metres: one
	// foot and three (Gelman 2019).
	past, tooFast = 0.3048, 0.9144
)

// Bounds of what is asked of putting.
const (
	// MinHalf and MaxHalf bound the distance, in metres, from which a player
	// holes half of the putts: from a child's first putts to better than anyone.
	MinHalf = 0.3
	MaxHalf = 6.0
	// MaxPutt is the longest putt in metres.
	MaxPutt = 40.0
	// ClubHalf is the distance in metres from which a middling club golfer, who
	// goes round in about 90, holes half of the putts: 5 ft (Broadie, Every Shot
	// Counts, 2014; value from memory).
	ClubHalf = 1.524
)

// tour is a player on the tour: 1.02° and 8 % (Gelman 2019; values from
// memory). Half are holed from 8 ft, as Broadie says of the tour.
func tour(scale float64) Putter {
	return Putter{Line: 1.02 * math.Pi / 180 * scale, Pace: 0.08 * scale}
}

// PutterOf is the player who holes half of the putts from a distance in metres
// (MinHalf to MaxHalf). Players differ from the tour by one factor, in line and
// pace alike: our choice, which fits what Broadie says of those who go round in
// 90.
func PutterOf(half float64) Putter {
	low, high := math.Log(1e-3), math.Log(1e3)
	for range 60 {
		mid := (low + high) / 2
		if tour(math.Exp(mid)).Holed(half) > 0.5 {
			low = mid
		} else {
			high = mid
		}
	}
	return tour(math.Exp(low))
}

var normal = distuv.UnitNormal

// Holed is the probability of holing a level, straight putt from a distance in
// metres (above 0), measured from the middle of the ball to the middle of the
// hole:
//
//	(2 Φ(asin((R−r)/x) / Line) − 1) · (Φ((3 ft − 1 ft) / s) − Φ(−1 ft / s)),  s = Pace · (x + 1 ft)
//
// The line must cross the hole, and the ball must reach it and not jump it.
// With no error of pace it is the model of one parameter.
//
// Source: A. Gelman and D. Nolan, A probability model for golf putting,
// Teaching Statistics 24 (2002) 93-95; A. Gelman, Model building and expansion
// for golf putting, Stan case study (2019).
func (p Putter) Holed(x float64) float64 {
	short, long := p.offPace(x)
	return p.onLine(x) * (1 - short - long)
}

// widest is the angle in radians at which a ball just crosses the hole.
func widest(x float64) float64 { return math.Asin(min(1, crossing/x)) }

func (p Putter) onLine(x float64) float64 { return math.Erf(widest(x) / p.Line / math.Sqrt2) }

// offPace gives the probabilities that a putt stops short of the hole's
// distance, and that it would roll too far beyond.
func (p Putter) offPace(x float64) (short, long float64) {
	s := p.Pace * (x + past)
	return normal.CDF(-past / s), normal.CDF((past - tooFast) / s)
}

// Within is the probability that a putt from x metres is holed or comes to rest
// within a radius in metres of the hole.
func (p Putter) Within(x, radius float64) float64 {
	aim := x + past
	// Nobody putts backwards: what comes to less stays where it lies.
	rolls := func(d float64) float64 {
		if d < 0 {
			return 0
		}
		return normal.CDF((d - aim) / (p.Pace * aim))
	}
	density := func(angle float64) float64 {
		return 2 * math.Exp(-angle*angle/(2*p.Line*p.Line)) / (p.Line * math.Sqrt(2*math.Pi))
	}
	// A ball rolls straight: it is within the radius for lengths of roll from
	// near to far.
	chord := func(angle float64) (near, far float64) {
		across := x * math.Sin(angle)
		half := math.Sqrt(max(0, radius*radius-across*across))
		return x*math.Cos(angle) - half, x*math.Cos(angle) + half
	}
	missed := func(angle float64) float64 {
		near, far := chord(angle)
		return density(angle) * (rolls(far) - rolls(near))
	}
	shortOrLong := func(angle float64) float64 {
		near, far := chord(angle)
		return density(angle) * (rolls(x) - rolls(near) + max(0, rolls(far)-rolls(x+tooFast)))
	}
	end := farOut * p.Line
	if radius < x {
		end = min(end, math.Asin(radius/x))
	}
	hole := min(widest(x), end)
	return p.Holed(x) +
		quad.Fixed(shortOrLong, 0, hole, 48, quad.Legendre{}, 0) +
		quad.Fixed(missed, hole, end, 96, quad.Legendre{}, 0)
}

// Putts is how many putts a player takes.
type Putts struct {
	// Expected is their mean.
	Expected float64
	// ThreeOrMore is the probability of more than two.
	ThreeOrMore float64
}

// mostPutts bounds the putts that are counted: the eighth is taken to drop.
const mostPutts = 8

// Putts is how many putts a player takes from x metres (HoleRadius to MaxPutt)
// until the ball is in the hole.
//
// A putt that misses leaves another from where it stops, which is where its line
// and its pace take it as if there were no hole: a ball that jumps the hole is
// not slowed. The chance of needing one more putt is handed on from distance to
// distance, over a table of distances.
func (p Putter) Putts(x float64) Putts { return p.table().putts(x) }

// puttTable is what is worked out once of a player, and serves putts from anywhere.
type puttTable struct {
	putter Putter
	at     []float64
	// needed[n][i] is the chance that from at[i] more than n putts are needed.
	needed [][]float64
}

func (p Putter) table() puttTable {
	t := puttTable{putter: p, at: distances()}
	misses := make([][]float64, len(t.at))
	for i, d := range t.at {
		misses[i] = p.misses(d, t.at)
	}
	// One putt is needed at the least.
	first := make([]float64, len(t.at))
	for i := range first {
		first[i] = 1
	}
	t.needed = append(t.needed, first)
	for n := 1; n < mostPutts-1; n++ {
		next := make([]float64, len(t.at))
		for i := range next {
			next[i] = floats.Dot(misses[i], t.needed[n-1])
		}
		t.needed = append(t.needed, next)
	}
	return t
}

// putts from x metres.
func (t puttTable) putts(x float64) Putts {
	first, out := t.putter.misses(x, t.at), Putts{Expected: 1}
	for n, needed := range t.needed {
		more := floats.Dot(first, needed)
		out.Expected += more
		if n == 1 {
			out.ThreeOrMore = more
		}
	}
	return out
}

// distances are those of the table, each a fourteenth farther than the one
// before.
func distances() []float64 {
	var table []float64
	for d := HoleRadius; d < 1.5*MaxPutt; d *= 1 + 1.0/14 {
		table = append(table, d)
	}
	return table
}

// misses gives the probability that a putt from x metres misses and stops at each
// distance of the table; what stops between two of them is shared out between
// both.
func (p Putter) misses(x float64, table []float64) []float64 {
	stops := make([]float64, len(table))
	stop := func(d, weight float64) {
		d = min(max(d, table[0]), table[len(table)-1])
		i, _ := slices.BinarySearch(table, d)
		i = max(i, 1)
		share := (d - table[i-1]) / (table[i] - table[i-1])
		stops[i-1] += weight * (1 - share)
		stops[i] += weight * share
	}
	aim := x + past
	// add integrates over angles and lengths of roll, both in standard deviations.
	add := func(angles, rolls [2]float64) {
		az, aw := nodes(angles)
		rz, rw := nodes(rolls)
		for i, z := range az {
			sin, cos := math.Sincos(p.Line * z)
			for j, z := range rz {
				roll := aim * max(0, 1+p.Pace*z)
				stop(math.Hypot(roll*cos-x, roll*sin), 2*aw[i]*rw[j])
			}
		}
	}
	edge, s := widest(x)/p.Line, p.Pace*aim
	short, far := [2]float64{-farOut, -past / s}, [2]float64{(tooFast - past) / s, farOut}
	add([2]float64{0, edge}, short)
	add([2]float64{0, edge}, far)
	// The leave is least where a putt stops beside the hole: sum up to there.
	add([2]float64{edge, farOut}, short)
	add([2]float64{edge, farOut}, [2]float64{short[1], farOut})
	return stops
}

// farOut is how many standard deviations are looked at.
const farOut = 8

// nodes are points between two ends, and the weights with which a function of a
// standard normal variable is summed there.
func nodes(ends [2]float64) (at, weight []float64) {
	low, high := max(ends[0], -farOut), min(ends[1], farOut)
	if low >= high {
		return nil, nil
	}
	at, weight = make([]float64, 24), make([]float64, 24)
	quad.Legendre{}.FixedLocations(at, weight, low, high)
	for i, z := range at {
		weight[i] *= normal.Prob(z)
	}
	return at, weight
}
