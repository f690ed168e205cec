package progress

import (
	"math"
	"slices"
	"testing"

	"fringework/domain"
	"fringework/domain/estimate"
)

// TestUnderLearnedPrior holds the exchange of priors to the posterior of a
// binomial proportion: Beta(a + inside, b + balls - inside).
func TestUnderLearnedPrior(t *testing.T) {
	s := State{Skill: "pitch", Held: 1}
	s.Assessment = estimate.Assess(estimate.Evidence{Sessions: []estimate.Observation{{Balls: 10, Inside: 9}}})
	var others []StageCount
	for i := range 12 {
		others = append(others, StageCount{Skill: "pitch", Held: 1, Counts: estimate.Counts{Balls: 200, Inside: 110 + i}})
	}
	priors := LearnPriors(others)
	prior := priors.Rates[Stage{"pitch", 1}]
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
	if got := LearnPriors(others); len(got.Rates) != 0 {
		t.Errorf("%d students, the one judged among them, taught %v", estimate.MinStudents, got)
	}
}

// TestWhoTeaches: a student without a ball at the tier teaches nothing, one with
// a single ball does; only students at the same stage teach each other.
func TestWhoTeaches(t *testing.T) {
	at := func(n int, skill domain.ID, held, balls int) (counts []StageCount) {
		for range n {
			counts = append(counts, StageCount{Skill: skill, Held: held, Counts: estimate.Counts{Balls: balls, Inside: balls}})
		}
		return counts
	}
	for _, c := range []struct {
		why string
		all []StageCount
		// taught are the stages with a prior.
		taught []Stage
	}{
		{"nine, one of whom struck no ball", append(at(8, "pitch", 1, 40), at(1, "pitch", 1, 0)...), nil},
		{"nine, one of whom struck one", append(at(8, "pitch", 1, 40), at(1, "pitch", 1, 1)...), []Stage{{"pitch", 1}}},
		{"nine of two stages", append(at(5, "pitch", 1, 40), at(4, "pitch", 2, 40)...), nil},
		{"nine at two skills", append(at(5, "pitch", 1, 40), at(4, "chip", 1, 40)...), nil},
		{"nine at each of two stages", append(at(9, "pitch", 1, 40), at(9, "chip", 0, 40)...), []Stage{{"pitch", 1}, {"chip", 0}}},
	} {
		got := LearnPriors(c.all)
		if len(got.Rates) != len(c.taught) {
			t.Errorf("%s: got %v, want priors of %v", c.why, got, c.taught)
		}
		for _, s := range c.taught {
			if _, ok := got.Rates[s]; !ok {
				t.Errorf("%s: got %v, want a prior of %v", c.why, got, s)
			}
		}
	}
}

// TestFormIsLearned: streaky students make a streaky academy, in which intervals
// are wider; the order they come in does not matter, and too few teach nothing.
func TestFormIsLearned(t *testing.T) {
	var streaky, steady estimate.FormKinds
	streaky[len(streaky)-1], steady[0] = 1, 1
	of := func(n int, form estimate.FormKinds) (all []StageCount) {
		for range n {
			all = append(all, StageCount{Skill: "pitch", Form: form})
		}
		return all
	}
	mixed := append(of(12, streaky), of(5, steady)...)
	priors := LearnPriors(mixed)
	slices.Reverse(mixed)
	if again := LearnPriors(mixed); !again.Equal(priors) {
		t.Errorf("in another order: %v, want %v", again.Form, priors.Form)
	}
	var all []StageCount
	for i := range 40 { // with fractions, sums are not the same in any order
		var form estimate.FormKinds
		rest := 1.0
		for k := range form[1:] {
			form[k] = rest * float64(1+(i+k)*7%11) / 13
			rest -= form[k]
		}
		form[len(form)-1] = rest
		all = append(all, of(1, form)...)
	}
	inOrder := LearnPriors(all)
	slices.Reverse(all)
	if again := LearnPriors(all); !again.Equal(inOrder) {
		t.Errorf("in another order: %v, want %v", again.Form, inOrder.Form)
	}
	if few := LearnPriors(of(estimate.MinStudents, streaky)); few.Form != (estimate.FormKinds{}) {
		t.Errorf("%d students taught %v", estimate.MinStudents, few.Form)
	}
	if priors.Equal(Priors{}) || priors.Equal(Priors{Form: priors.Form, Rates: map[Stage]estimate.Prior{{"pitch", 0}: {A: 1, B: 1}}}) {
		t.Error("what was learned equals what was not")
	}
	s := State{Assessment: estimate.Assess(estimate.Evidence{Sessions: []estimate.Observation{{Balls: 30, Inside: 18}, {Day: 2, Balls: 30, Inside: 17}}})}
	width := func(a estimate.Assessment) (level, next float64) {
		return a.Rate.Interval80.Hi - a.Rate.Interval80.Lo, a.Next.Interval80.Hi - a.Next.Interval80.Lo
	}
	level, next := width(s.Assessment)
	wider, widerNext := width(s.Under(priors).Assessment)
	closer, closerNext := width(s.Under(LearnPriors(of(40, steady))).Assessment)
	if !(closer < level && level < wider && closerNext < next && next < widerNext) {
		t.Errorf("levels %v, %v, %v and next sessions %v, %v, %v wide among steady, unknown and streaky students", closer, level, wider, closerNext, next, widerNext)
	}
}
