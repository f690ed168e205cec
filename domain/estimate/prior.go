package estimate

import (
	"math"

	"gonum.org/v1/gonum/optimize"
)

// Prior is the Beta(A, B) distribution of a rate before any ball is seen.
type Prior struct{ A, B float64 }

// Jeffreys is the prior when nothing is known (Jeffreys, Theory of
// Probability, 3rd ed., section 3.10).
var Jeffreys = Prior{A: 0.5, B: 0.5}

func (p Prior) orJeffreys() Prior {
	if p == (Prior{}) {
		return Jeffreys
	}
	return p
}

// Counts are the balls of one student, and how many of them were inside.
type Counts struct{ Balls, Inside int }

// Bounds of a learned prior.
const (
	// MinStudents is how many other students it takes to learn from them.
	MinStudents = 8
	// minSize and maxSize bound A + B: a prior is never weaker than Jeffreys'
	// and never worth more than two sessions of balls.
	minSize, maxSize = 1, 60
)

// LearnPrior fits the prior of a student's rate to the counts of other
// students on the same skill, radius and stage by empirical Bayes: the Beta
// distribution of highest marginal (beta-binomial) likelihood (Casella, 1985,
// The American Statistician 39:83-87). With fewer than MinStudents who struck
// a ball it is Jeffreys'. A + B stays from 1 to 60.
//
// Give each student's counts of one session or of few, early ones if the
// prior is for beginners: what the prior describes is the spread of rates
// between students at that stage.
func LearnPrior(others []Counts) Prior {
	var seen []Counts
	balls, inside := 0, 0
	for _, c := range others {
		if c.Balls > 0 {
			seen = append(seen, c)
			balls += c.Balls
			inside += c.Inside
		}
	}
	if len(seen) < MinStudents {
		return Jeffreys
	}
	// Parameters that know no bounds: the logit of the mean, the log size.
	decode := func(x []float64) Prior {
		size := minSize + (maxSize-minSize)*logistic(x[1])
		m := logistic(math.Max(-12, math.Min(12, x[0])))
		return Prior{A: m * size, B: (1 - m) * size}
	}
	minus := func(x []float64) float64 {
		p := decode(x)
		sum := 0.0
		for _, c := range seen {
			sum += lnBeta(p.A+float64(c.Inside), p.B+float64(c.Balls-c.Inside))
		}
		// A hint of normality on the size, so that the optimum is not at its
		// bounds where the likelihood is flat.
		return float64(len(seen))*lnBeta(p.A, p.B) - sum + x[1]*x[1]/200
	}
	start := []float64{logit((float64(inside) + 0.5) / (float64(balls) + 1)), 0}
	result, err := optimize.Minimize(optimize.Problem{Func: minus}, start, nil, &optimize.NelderMead{})
	if err != nil || math.IsNaN(result.F) {
		return Jeffreys
	}
	return decode(result.X)
}
