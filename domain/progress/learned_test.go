package progress

import (
	"math"
	"testing"

	"fringework/domain/estimate"
)

// TestUnderLearnedPrior holds the exchange of priors to the posterior of a
// binomial proportion: Beta(a + inside, b + balls - inside).
func TestUnderLearnedPrior(t *testing.T) {
	s := State{Skill: "pitch", Held: 1}
	s.Assessment.Rate = estimate.RateOf([]estimate.Observation{{Balls: 10, Inside: 9}}, estimate.Prior{})
	var others []StageCount
	for i := range 12 {
		others = append(others, StageCount{Skill: "pitch", Held: 1, Counts: estimate.Counts{Balls: 200, Inside: 110 + i}})
	}
	priors := LearnPriors(others)
	prior := priors[Stage{"pitch", 1}]
	if prior == (estimate.Prior{}) {
		t.Fatal("twelve others taught nothing")
	}
	got := s.Under(priors).Assessment.Rate
	if math.Abs(got.A-(prior.A+9)) > 1e-9 || math.Abs(got.B-(prior.B+1)) > 1e-9 {
		t.Errorf("posterior: got Beta(%v, %v), want Beta(%v, %v)", got.A, got.B, prior.A+9, prior.B+1)
	}
	if got.Mean >= s.Assessment.Rate.Mean {
		t.Errorf("nine of ten among students at 57 %%: mean %v was not drawn in from %v", got.Mean, s.Assessment.Rate.Mean)
	}
	if other := (State{Skill: "pitch", Held: 0}).Under(priors); other.Assessment.Rate != (estimate.Rate{}) {
		t.Errorf("another stage changed: %+v", other.Assessment.Rate)
	}
}

// TestFewOthersTeachNothing keeps Jeffreys' prior until there are enough.
func TestFewOthersTeachNothing(t *testing.T) {
	others := make([]StageCount, estimate.MinStudents)
	for i := range others {
		others[i] = StageCount{Skill: "pitch", Counts: estimate.Counts{Balls: 100, Inside: 60}}
	}
	if got := LearnPriors(others); len(got) != 0 {
		t.Errorf("%d students, the one judged among them, taught %v", estimate.MinStudents, got)
	}
}
