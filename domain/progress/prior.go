package progress

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

// MinStudents is how many other students it takes to learn a prior from them.
const MinStudents = 8

// LearnPrior fits the prior of a student's rate to the counts of other
// students on the same skill, radius and stage by empirical Bayes: the Beta-
// binomial parameters of highest marginal likelihood. With fewer than
// MinStudents who struck a ball it is Jeffreys'.
func LearnPrior(others []Counts) Prior {
	return learn(others)
}
