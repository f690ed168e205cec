package learners

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/integrate/quad"

	"fringework/domain/estimate"
)

// Bound is what can be had at best from the same data: the likelihood ratio
// with every parameter known. For each of the three alarms it knows the
// learner's starting rate, slope and the standard deviation of form, whose memory
// it leaves out, and that a change comes uniformly after sessions change[0] to
// change[1]; it has one alternative to tell from, and spends all of its false
// alarms on that one alarm, while a rule must tell all kinds apart with one
// allowance. The
// thresholds are set on the learners at hand so that false alarms are 5 %.
//
//   - flat: staying at P0 against rising from P0 with the slope of an improving
//     learner (Wald's sequential test; the slopes are dealt to the flat
//     learners in turn); false alarms are those of the improving learners.
//   - regressing: the posterior probability that the decline has begun
//     (Shiryaev, 1963); false alarms are those before the onset.
//   - plateau: the posterior probability that growth has stopped; false alarms
//     are those of the improving learners within their career.
func Bound(ls []Learner, change [2]int) Operating {
	by := map[Kind][]Learner{}
	for _, l := range ls {
		by[l.Kind] = append(by[l.Kind], l)
	}
	var o Operating
	o.False = 5
	o.boundFlat(by)
	o.boundRegressing(by, change)
	o.boundPlateau(by, change)
	return o
}

func (o *Operating) boundFlat(by map[Kind][]Learner) {
	ratio := func(l Learner, slope float64) []float64 { // log of flat over rising
		sum, n := 0.0, newNormals(l.Form)
		out := make([]float64, len(l.Sessions))
		for j, s := range l.Sessions {
			a := logit(l.P0)
			sum += n.log(s, a) - n.log(s, a+slope*float64(j))
			out[j] = sum
		}
		return out
	}
	var highest []float64
	for _, l := range by[Improving] {
		highest = append(highest, slices.Max(ratio(l, l.Slope)))
	}
	bar := upper5(highest)
	var at []int
	for i, l := range by[Flat] {
		if f := passes(ratio(l, by[Improving][i%len(by[Improving])].Slope), bar); f > 0 {
			at = append(at, f)
		}
	}
	o.Flat, o.FlatMedian = 100*float64(len(at))/float64(len(by[Flat])), median(at)
}

func (o *Operating) boundRegressing(by map[Kind][]Learner, change [2]int) {
	curves := make([][]float64, len(by[Regressing]))
	var early []float64
	for i, l := range by[Regressing] {
		curves[i] = newNormals(l.Form).changed(l.Sessions, change, func(j, c int) float64 {
			return logit(l.P0) + l.Slope*float64(max(0, j-c))
		})
		early = append(early, slices.Max(curves[i][:l.Onset-1]))
	}
	bar := upper5(early)
	var delay []int
	for i, l := range by[Regressing] {
		switch f := passes(curves[i], bar); {
		case f >= l.Onset:
			delay = append(delay, f-l.Onset)
		case f > 0:
			o.RegressingEarly++
		}
		if slices.Max(curves[i][l.Onset-1:]) > bar {
			o.RegressingAfter++
		}
	}
	k := 100 / float64(len(by[Regressing]))
	o.Regressing, o.RegressingDelay = k*float64(len(delay)), median(delay)
	o.RegressingEarly *= k
	o.RegressingAfter *= k
}

func (o *Operating) boundPlateau(by map[Kind][]Learner, change [2]int) {
	curve := func(l Learner) []float64 {
		return newNormals(l.Form).changed(l.Sessions, change, func(j, c int) float64 {
			return logit(l.P0) + l.Slope*float64(min(j, c))
		})
	}
	var highest []float64
	for _, l := range by[Improving] {
		highest = append(highest, slices.Max(curve(l)))
	}
	bar := upper5(highest)
	var delay []int
	for _, l := range by[Plateau] {
		switch f := passes(curve(l), bar); {
		case f >= l.Onset:
			delay = append(delay, f-l.Onset)
		case f > 0:
			o.PlateauEarly++
		}
	}
	k := 100 / float64(len(by[Plateau]))
	o.Plateau, o.PlateauDelay = k*float64(len(delay)), median(delay)
	o.PlateauEarly *= k
}

// changed gives after each session the probability that the change has shown,
// on log odds: the change comes after 0-based session c, uniformly between the
// two of change with an even chance, and else not within the career. level is
// that of session j when it comes after c.
func (n normals) changed(sessions []estimate.Observation, change [2]int, level func(j, c int) float64) []float64 {
	count := change[1] - change[0] + 1
	paths := make([]float64, count+1) // the last one has no change
	out := make([]float64, len(sessions))
	for j, s := range sessions {
		top := math.Inf(-1)
		for i := range paths {
			c := change[0] + i
			if i == count {
				c = len(sessions)
			}
			paths[i] += n.log(s, level(j, c))
			top = math.Max(top, paths[i])
		}
		var yes, no float64
		for i := range paths {
			weight := 0.5 / float64(count)
			if i == count {
				weight = 0.5
			}
			w := weight * math.Exp(paths[i]-top)
			if i < count && j > change[0]+i {
				yes += w
			} else {
				no += w
			}
		}
		out[j] = math.Log(yes) - math.Log(no)
	}
	return out
}

// upper5 is the value that 5 % of x exceed.
func upper5(x []float64) float64 {
	x = slices.Clone(x)
	slices.Sort(x)
	return x[len(x)-1-len(x)/20]
}

// passes is the first 1-based session at which a curve exceeds a bar.
func passes(curve []float64, bar float64) int {
	for i, v := range curve {
		if v > bar {
			return i + 1
		}
	}
	return 0
}

// normals averages over the day's form by Gauss-Hermite quadrature.
type normals struct{ at, weight []float64 }

func newNormals(sd float64) normals {
	n := normals{make([]float64, 15), make([]float64, 15)}
	quad.Hermite{}.FixedLocations(n.at, n.weight, math.Inf(-1), math.Inf(1))
	for i := range n.at {
		n.at[i] *= math.Sqrt2 * sd
		n.weight[i] /= math.Sqrt(math.Pi)
	}
	return n
}

// log is the log-likelihood of a session at a level, up to the binomial
// coefficient.
func (n normals) log(s estimate.Observation, level float64) float64 {
	sum := 0.0
	y, m := float64(s.Inside), float64(s.Balls-s.Inside)
	// Relative to the best there is, so that nothing underflows.
	top := 0.0
	if y > 0 {
		top += y * math.Log(y/(y+m))
	}
	if m > 0 {
		top += m * math.Log(m/(y+m))
	}
	for i, e := range n.at {
		x := level + e
		sum += n.weight[i] * math.Exp(-y*math.Log1p(math.Exp(-x))-m*math.Log1p(math.Exp(x))-top)
	}
	return math.Log(sum) + top
}
