package estimate

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"fringework/domain"
)

// Bounds of times to an event.
const (
	// MaxWait bounds a wait, in days or in sessions.
	MaxWait = 100_000
	// MaxWaits and MaxWaitGroups bound how many are read at once.
	MaxWaits      = 20_000
	MaxWaitGroups = 50
)

// NothingToCompare says that no two groups had members waiting when anything
// happened.
const NothingToCompare CannotTell = "nothing_to_compare"

// Wait is how long one student took to pass a step or, where Passed is false, how
// long they had been seen without passing it when they were last looked at. The
// unit, days or sessions, is the caller's, and the same for all.
type Wait struct {
	Time   float64
	Passed bool
}

// CheckWaits notes what is wrong with groups of waits under a pointer.
func CheckWaits(p *domain.Problems, at string, groups [][]Wait) {
	total := 0
	for _, g := range groups {
		total += len(g)
	}
	switch {
	case len(groups) == 0:
		p.Add(at, "is empty; give at least one group")
	case len(groups) > MaxWaitGroups:
		p.Add(at, "are %d groups; give at most %d", len(groups), MaxWaitGroups)
	case total > MaxWaits:
		p.Add(at, "have %d students in all; give at most %d", total, MaxWaits)
	default:
		for i, g := range groups {
			checkGroup(p, at+"/"+strconv.Itoa(i)+"/students", g)
		}
	}
}

func checkGroup(p *domain.Problems, at string, waits []Wait) {
	if len(waits) == 0 {
		p.Add(at, "is empty; give at least one student")
	}
	for i, w := range waits {
		if !(w.Time >= 0 && w.Time <= MaxWait) {
			p.Add(at+"/"+strconv.Itoa(i)+"/time", "is %v; give a time from 0 to %d", w.Time, MaxWait)
		}
	}
}

// WaitStep is what happened at one time.
type WaitStep struct {
	Time float64
	// AtRisk had not passed before the time and were still followed at it; Passed
	// of them passed at it, and Left were followed no longer than until it.
	AtRisk, Passed, Left int
	// Waiting is the share, from 0 to 1, that has not passed by the time, itself
	// included.
	Waiting float64
	// SE is its standard error; 0 before anybody passed, NaN once all have.
	SE float64
	// Interval95 holds NaN before anybody passed and once all have: the
	// observations do not say how sure that is.
	Interval95 Interval
}

// Survival is the course of waiting in one group.
type Survival struct {
	// Students are all, Passed those who passed.
	Students, Passed int
	// Steps are one for each time at which somebody passed or was last seen, in
	// order.
	Steps []WaitStep
	// Median is the first time by which half have passed; +Inf where that is not
	// reached. So are the ends of its interval.
	Median           float64
	MedianInterval95 Interval
}

// normal975 is the quantile that two-sided intervals of 95 % are made with.
var normal975 = distuv.UnitNormal.Quantile(0.975)

// SurvivalOf estimates which share of students still waits at each time, by the
// product-limit estimator
//
//	S(t) = Π over times u ≤ t of (1 − passed(u)/at risk(u)),
//
// where whoever is followed no longer counts as at risk up to and including that
// time. It holds where the end of following says nothing about how far a student
// was: those who leave because they do badly bias it. The variance is
// Greenwood's,
//
//	S² · Σ passed/(at risk · (at risk − passed)),
//
// and the interval is of 95 % on the scale of log(−log S), which keeps it between
// 0 and 1. The interval of the median has the times at which the ends of that
// interval first come down to a half. No waits give no steps and a median of +Inf.
//
// Sources: E. L. Kaplan and P. Meier, JASA 53 (1958) 457-481; M. Greenwood, The
// Natural Duration of Cancer (1926); J. D. Kalbfleisch and R. L. Prentice, The
// Statistical Analysis of Failure Time Data (1980), section 1.3, for the interval;
// R. Brookmeyer and J. Crowley, Biometrics 38 (1982) 29-41, for the median's.
func SurvivalOf(waits []Wait) Survival {
	s := Survival{Students: len(waits), Median: math.Inf(1), MedianInterval95: Interval{math.Inf(1), math.Inf(1)}}
	waiting, sum := 1.0, 0.0
	for _, step := range waitSteps(waits) {
		n, d := float64(step.AtRisk), float64(step.Passed)
		waiting *= (n - d) / n
		sum += d / (n * (n - d)) // +Inf once all have passed
		step.Waiting = waiting
		step.SE = waiting * math.Sqrt(sum)
		step.Interval95 = logLog95(waiting, math.Sqrt(sum))
		s.Passed += step.Passed
		s.Steps = append(s.Steps, step)
		reach(&s.Median, waiting, step.Time)
		reach(&s.MedianInterval95.Lo, step.Interval95.Lo, step.Time)
		reach(&s.MedianInterval95.Hi, step.Interval95.Hi, step.Time)
	}
	return s
}

// waitSteps counts what happened at each time, in order.
func waitSteps(waits []Wait) []WaitStep {
	sorted := byTime(waits)
	var steps []WaitStep
	for i, w := range sorted {
		if i == 0 || w.Time != sorted[i-1].Time {
			steps = append(steps, WaitStep{Time: w.Time, AtRisk: len(sorted) - i})
		}
		if at := &steps[len(steps)-1]; w.Passed {
			at.Passed++
		} else {
			at.Left++
		}
	}
	return steps
}

// byTime gives waits in order, in a slice of their own.
func byTime(waits []Wait) []Wait {
	return slices.SortedFunc(slices.Values(waits), func(a, b Wait) int { return cmp.Compare(a.Time, b.Time) })
}

// logLog95 is the interval of a share whose logarithm has the standard error; NaN
// where the share is 1, and where it is 0, whose logarithm is no number.
func logLog95(share, se float64) Interval {
	if share == 1 {
		return Interval{math.NaN(), math.NaN()}
	}
	spread := normal975 * se / -math.Log(share)
	return Interval{math.Pow(share, math.Exp(spread)), math.Pow(share, math.Exp(-spread))}
}

// reach notes the first time by which a share has come down to a half, but for
// rounding.
func reach(first *float64, share, at float64) {
	const rounding = 1e-9
	if math.IsInf(*first, 1) && share <= 0.5+rounding {
		*first = at
	}
}

// LogRank compares how fast groups pass.
type LogRank struct {
	// CannotTell is why the rest but for Passed and Expected is zero; empty when it
	// is not.
	CannotTell CannotTell
	// Passed counts who passed in each group, Expected how many would have if all
	// groups passed alike.
	Passed   []int
	Expected []float64
	// ChiSquare has DF degrees of freedom where all groups pass alike, but for
	// chance; P is how often chance alone would bring as much or more.
	ChiSquare float64
	DF        int
	P         float64
}

// LogRankOf tests whether groups pass alike. At each time at which d of n students
// at risk passed, of whom n_g in group g, it expects d·n_g/n in the group, with the
// covariance of drawing d of n without replacement,
//
//	d(n − d)/(n − 1) · n_g/n · (1 if g = h, else 0 − n_h/n),
//
// and compares the sums with what was seen. Groups of whom nothing was expected do
// not count. It weighs early and late times alike, and sees little where courses
// cross. With few students the chi-square distribution is rough.
//
// Sources: N. Mantel, Cancer Chemotherapy Reports 50 (1966) 163-170; R. Peto and
// J. Peto, JRSS A 135 (1972) 185-207.
func LogRankOf(groups [][]Wait) LogRank {
	r := LogRank{Passed: make([]int, len(groups)), Expected: make([]float64, len(groups))}
	covariance := mat.NewSymDense(max(1, len(groups)), nil)
	var all []Wait
	sorted := make([][]Wait, len(groups))
	for g, waits := range groups {
		all = append(all, waits...)
		sorted[g] = byTime(waits)
		for _, w := range waits {
			if w.Passed {
				r.Passed[g]++
			}
		}
	}
	first := make([]int, len(groups)) // of each group, who is still at risk
	for _, at := range waitSteps(all) {
		share := make([]float64, len(groups))
		n, d := float64(at.AtRisk), float64(at.Passed)
		for g, waits := range sorted {
			for first[g] < len(waits) && waits[first[g]].Time < at.Time {
				first[g]++
			}
			share[g] = float64(len(waits)-first[g]) / n
			r.Expected[g] += d * share[g]
		}
		if n > 1 {
			addCovariance(covariance, share, d*(n-d)/(n-1))
		}
	}
	r.test(covariance)
	return r
}

func addCovariance(to *mat.SymDense, share []float64, scale float64) {
	for g := range share {
		to.SetSym(g, g, to.At(g, g)+scale*share[g])
		for h := range g + 1 {
			to.SetSym(g, h, to.At(g, h)-scale*share[g]*share[h])
		}
	}
}

// test compares seen with expected.
func (r *LogRank) test(covariance *mat.SymDense) {
	var counted []int
	for g, e := range r.Expected {
		if e > 0 {
			counted = append(counted, g)
		}
	}
	r.CannotTell = NothingToCompare
	// The differences sum to 0, so that one group follows from the others.
	n := len(counted) - 1
	if n < 1 {
		return
	}
	difference, v := mat.NewVecDense(n, nil), mat.NewSymDense(n, nil)
	for i, g := range counted[:n] {
		difference.SetVec(i, float64(r.Passed[g])-r.Expected[g])
		for j, h := range counted[:n] {
			v.SetSym(i, j, covariance.At(g, h))
		}
	}
	// All groups counted are at risk when somebody first passes, so that the matrix
	// is singular only where all pass at once.
	var factor mat.Cholesky
	if !factor.Factorize(v) {
		return
	}
	var solved mat.VecDense
	if factor.SolveVecTo(&solved, difference) != nil {
		return
	}
	r.CannotTell = ""
	r.ChiSquare, r.DF = mat.Dot(difference, &solved), n
	r.P = distuv.ChiSquared{K: float64(n)}.Survival(r.ChiSquare)
}
