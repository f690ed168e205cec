package progress

import (
	"fringework/domain"
	"fringework/domain/estimate"
)

// StageCount is where one student stands at a skill, as far as others' priors
// are learned from it: the balls judged at the radius of the tier in focus in
// the recent sessions, and how many were inside.
type StageCount struct {
	Skill domain.ID
	// Held is how many tiers of the ladder the student holds.
	Held int
	estimate.Counts
}

// Stage is what students are compared within: a skill, and how many tiers of its
// ladder are held.
type Stage struct {
	Skill domain.ID
	Held  int
}

// Priors are the priors that an academy's students give each other.
type Priors map[Stage]estimate.Prior

// LearnPriors fits a prior for every stage that at least MinStudents others are
// at. The student who is judged is one of those it is fitted to: leaving each
// out in turn would cost a fit a student and move the prior little.
func LearnPriors(all []StageCount) Priors {
	byStage := map[Stage][]estimate.Counts{}
	for _, c := range all {
		if c.Balls > 0 {
			at := Stage{c.Skill, c.Held}
			byStage[at] = append(byStage[at], c.Counts)
		}
	}
	priors := Priors{}
	for at, counts := range byStage {
		if len(counts) > estimate.MinStudents {
			priors[at] = estimate.LearnPrior(counts)
		}
	}
	return priors
}

// Under gives the state with its rate read under what was learned from the
// academy's students at the same stage, if anything was. The kept rate is
// Jeffreys', so that what is kept of one student never depends on another.
func (s State) Under(priors Priors) State {
	if p, ok := priors[Stage{s.Skill, s.Held}]; ok {
		s.Assessment.Rate = s.Assessment.Rate.Under(p)
	}
	return s
}
