package progress

import (
	"maps"
	"slices"

	"fringework/domain"
	"fringework/domain/estimate"
)

// StageCount is where one student stands at a skill, as far as others learn from
// it: the balls judged in the circle of the tier in focus in the recent sessions,
// how many were inside, and what is known of the day's form.
type StageCount struct {
	Skill domain.ID
	// Held is how many tiers of the ladder the student holds.
	Held int
	estimate.Counts
	Form estimate.FormKinds
}

// Stage is what students are compared within: a skill, and how many tiers of its
// ladder are held.
type Stage struct {
	Skill domain.ID
	Held  int
}

// Priors are what an academy's students teach about each other: the rate of those
// at the same stage, and how much form differs from day to day.
type Priors struct {
	Rates map[Stage]estimate.Prior
	// Form is zero while too few students are known.
	Form estimate.FormKinds
}

// Equal says whether both are the same.
func (p Priors) Equal(q Priors) bool { return p.Form == q.Form && maps.Equal(p.Rates, q.Rates) }

// LearnPriors fits a prior for every stage that at least MinStudents others are
// at, and the kinds of form to all. The student who is judged is one of those it
// is fitted to: leaving each out in turn would cost a fit a student and move the
// prior little.
func LearnPriors(all []StageCount) Priors {
	byStage := map[Stage][]estimate.Counts{}
	var forms []estimate.FormKinds
	for _, c := range all {
		if c.Balls > 0 {
			at := Stage{c.Skill, c.Held}
			byStage[at] = append(byStage[at], c.Counts)
		}
		if c.Form != (estimate.FormKinds{}) {
			forms = append(forms, c.Form)
		}
	}
	priors := Priors{Rates: map[Stage]estimate.Prior{}}
	for at, counts := range byStage {
		if len(counts) > estimate.MinStudents {
			priors.Rates[at] = estimate.LearnPrior(counts)
		}
	}
	slices.SortFunc(forms, func(a, b estimate.FormKinds) int { return slices.Compare(a[:], b[:]) }) // sums depend on the order
	if len(forms) > estimate.MinStudents {
		priors.Form = estimate.LearnForm(forms)
	}
	return priors
}

// Learned is what an academy's students teach about one of them at a skill; each
// part is zero where they are too few.
type Learned struct {
	Prior estimate.Prior
	Form  estimate.FormKinds
}

// About gives what was learned about a student who stands so.
func (p Priors) About(s State) Learned {
	return Learned{Prior: p.Rates[Stage{s.Skill, s.Held}], Form: p.Form}
}

// Under gives the state with its estimates read under what was learned from the
// academy's students, if anything was. What is kept of one student never depends
// on another.
func (s State) Under(priors Priors) State {
	learned := priors.About(s)
	s.Assessment = s.Assessment.Under(learned.Prior, learned.Form)
	return s
}
