package course

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"fringework/domain/estimate"
)

// Point is one round beside practice: what the student could do in practice by
// then, and what was gained on the course.
type Point struct {
	// Practice is the rate at which balls ended inside the circle, 0 to 1, as it
	// stood before the round.
	Practice float64
	Sum
}

// Finding is what rounds say of whether practice reaches the course.
type Finding string

// The findings. Reaches says that rounds were better when practice was, and
// NotThere that a gain worth having would have been seen.
const (
	Reaches  Finding = "reaches"
	NotThere Finding = "not_there"
	Unclear  Finding = "cannot_tell"
)

// Findings lists them.
func Findings() []Finding { return []Finding{Reaches, NotThere, Unclear} }

// Lack is why rounds cannot tell.
type Lack string

// What may lack: rounds, change in practice, or only clarity.
const (
	FewRounds  Lack = "few_rounds"
	SteadyRate Lack = "steady_practice"
	WideSpread Lack = "wide_spread"
)

// Lacks lists the reasons.
func Lacks() []Lack { return []Lack{FewRounds, SteadyRate, WideSpread} }

// Transfer compares practice with the course.
type Transfer struct {
	Rounds int
	Shots  int
	// PerTen is how many strokes a shot gained more on the course for ten points
	// more in practice, with Interval80; both mean something when
	// Fitted.
	PerTen     float64
	Interval80 estimate.Interval
	Finding    Finding
	Lack       Lack
}

// Fitted reports whether PerTen and Interval80 mean something.
func (t Transfer) Fitted() bool { return t.Lack != FewRounds && t.Lack != SteadyRate }

// ARound is how many such shots a round had, to the whole shot.
func (t Transfer) ARound() int { return aRound(t.Shots, t.Rounds) }

// Limits of the comparison, set on the population setting of the tests alone; see
// [PracticeToCourse] for what they give on another.
const (
	// LeastCompared is how many rounds it takes to say anything, and leastChange
	// the standard deviation of the rate in practice among them, in points.
	LeastCompared = 8
	leastChange   = 2.5
	// worthHaving is a gain in strokes a shot for ten points that a coach would want:
	// a quarter of what it is when the scatter of balls shrinks alike in both.
	worthHaving = 0.02
	// alike is how much the shots of one round have in common.
	alike = 0.1
)

// PracticeToCourse tells whether rounds were better when practice was: the slope of
// strokes gained a shot over the rate in practice, by least squares over rounds,
// each weighted by how many shots it has, with Student's distribution. A finding
// asks for 97.5 % on its side. The slope says what went together, not why: a
// student who also plays more may gain from that.
//
// Of students drawn by another process than the limits were set on (heavier tails,
// practice that gains in steps, courses of unlike difficulty; 1,000 each, by the
// tests), it found
//
//	          all that practice gains is there    nothing of it is
//	rounds    reaches   cannot tell               reaches   not there   cannot tell
//	    10      20 %          80 %                  2 %         4 %         94 %
//	    20      40 %          59 %                  3 %         9 %         89 %
//	    40      66 %          34 %                  3 %        13 %         84 %
//	    60      77 %          23 %                  2 %        18 %         80 %
//
// and said "not there" of under 1 % of the former.
func PracticeToCourse(points []Point) Transfer {
	t := Transfer{Finding: Unclear, Lack: FewRounds}
	var w, x, y []float64
	for _, p := range points {
		if p.Shots == 0 {
			continue
		}
		t.Rounds++
		t.Shots += p.Shots
		n := float64(p.Shots)
		w = append(w, n/(1+(n-1)*alike))
		x = append(x, 10*p.Practice)
		y = append(y, p.Gained/n)
	}
	if t.Rounds < LeastCompared {
		return t
	}
	line, ok := fitLine(w, x, y)
	if !ok {
		t.Lack = SteadyRate
		return t
	}
	df := float64(t.Rounds - 2)
	t.PerTen, t.Interval80 = line.slope, around(line.slope, line.se, df, 0.9)
	half := line.se * distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.Quantile(sure)
	switch {
	case t.PerTen-half > 0:
		t.Finding, t.Lack = Reaches, ""
	case t.PerTen+half < worthHaving:
		t.Finding, t.Lack = NotThere, ""
	default:
		t.Lack = WideSpread
	}
	return t
}

type line struct{ slope, se float64 }

// fitLine fits a weighted line; ok is false when x hardly changes. x is in tens of
// points.
func fitLine(w, x, y []float64) (line, bool) {
	var sw, sx, sy float64
	for i := range w {
		sw += w[i]
		sx += w[i] * x[i]
		sy += w[i] * y[i]
	}
	mx, my := sx/sw, sy/sw
	var xx, xy, rest float64
	for i := range w {
		xx += w[i] * (x[i] - mx) * (x[i] - mx)
		xy += w[i] * (x[i] - mx) * (y[i] - my)
	}
	if math.Sqrt(xx/sw) < leastChange/10 {
		return line{}, false
	}
	l := line{slope: xy / xx}
	for i := range w {
		d := y[i] - my - l.slope*(x[i]-mx)
		rest += w[i] * d * d
	}
	l.se = math.Sqrt(rest / float64(len(w)-2) / xx)
	return l, true
}
