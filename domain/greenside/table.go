package greenside

import (
	"slices"

	"fringework/domain"
)

// Table is what becomes of balls that a club lands at several distances on several
// greens, for a page without a network. It is physics alone; see [Learned].
type Table struct {
	// CarryM are the distances of the landing spots in metres, rising, as far as is
	// known of the club.
	CarryM []float64
	// ApexM is the greatest height and DescentDeg the angle of coming down at each.
	ApexM, DescentDeg []float64
	// StimpFt and SlopeDeg are the greens, both rising.
	StimpFt, SlopeDeg []float64
	// RunM gives at [carry][speed][slope] how far the ball goes on, in metres.
	RunM [][][]float64
}

// The speeds of the ball in m/s and the greens of a table, as many as a phone needs to
// be right to a club's grip or one part in twenty.
var (
	tableSpeeds = []float64{3, 3.5, 4, 4.5, 5, 5.5, 6, 7, 8, 9, 10, 11, 12, 13.5, 15, 17, 19}
	tableStimps = []float64{6, 8, 10, 12, 14}
	tableSlopes = []float64{-2, -1, 0, 1, 2}
)

// TableOf makes the table of a club with a loft in degrees and a lie. It refuses what
// [Setup.Check] refuses of them.
func TableOf(loftDeg float64, lie Lie) (Table, error) {
	s := Setup{LoftDeg: loftDeg, Lie: lie, Green: Green{StimpFt: tableStimps[0]}}
	var p domain.Problems
	s.Check(&p)
	if err := p.Err("landing_table", "This table cannot be worked out."); err != nil {
		return Table{}, err
	}
	t := Table{StimpFt: slices.Clone(tableStimps), SlopeDeg: slices.Clone(tableSlopes)}
	for _, speed := range tableSpeeds {
		l := Struck(loftDeg, lie, speed)
		f, _ := l.fly()
		level, problem := f.onto(s.Green, l.BackspinRPM*radS)
		if problem != nil {
			break // too flat and fast for what is known of bounces
		}
		t.CarryM = append(t.CarryM, level.CarryM)
		t.ApexM = append(t.ApexM, level.ApexM)
		t.DescentDeg = append(t.DescentDeg, level.DescentDeg)
		t.RunM = append(t.RunM, f.runs(l.BackspinRPM*radS))
	}
	return t, nil
}

// runs is how far a ball runs that lands with a backspin in rad/s, on each green of a
// table.
func (f flight) runs(spin float64) [][]float64 {
	runs := make([][]float64, len(tableStimps))
	for i, stimp := range tableStimps {
		runs[i] = make([]float64, len(tableSlopes))
		for j, slope := range tableSlopes {
			shot, _ := f.onto(Green{StimpFt: stimp, SlopeDeg: slope}, spin)
			runs[i][j] = shot.RunM()
		}
	}
	return runs
}

// RunAt reads a run from the table, in metres: between its distances in proportion,
// and between its greens so that one over the run is in proportion to one over the
// speed and to the slope, as it is of a ball that only rolls. What lies outside is
// taken at the edge. The phone does the same.
func (t Table) RunAt(carryM float64, g Green) float64 {
	inverse := make([]float64, len(t.StimpFt))
	for i, s := range t.StimpFt {
		inverse[i] = -1 / s
	}
	return between(t.CarryM, carryM, linear, func(c int) float64 {
		return between(inverse, -1/g.StimpFt, harmonic, func(i int) float64 {
			return between(t.SlopeDeg, g.SlopeDeg, harmonic, func(j int) float64 { return t.RunM[c][i][j] })
		})
	})
}

// between is the value at x between those at its two neighbours on a rising scale, or
// at the scale's end.
func between(scale []float64, x float64, mean func(a, b, part float64) float64, value func(int) float64) float64 {
	last := len(scale) - 1
	if x <= scale[0] {
		return value(0)
	}
	for i := range last {
		if x < scale[i+1] {
			return mean(value(i), value(i+1), (x-scale[i])/(scale[i+1]-scale[i]))
		}
	}
	return value(last)
}

func linear(a, b, part float64) float64 { return a*(1-part) + b*part }

// harmonic is in proportion for one over the values; a ball that comes back has none.
func harmonic(a, b, part float64) float64 {
	if a <= 0 || b <= 0 {
		return linear(a, b, part)
	}
	return 1 / linear(1/a, 1/b, part)
}
