package advice

import "fringework/domain"

// Uncoached says that no coach works with the student, though the academy has some:
// nobody but an owner is told of the other reasons.
const Uncoached Reason = "uncoached"

var uncoached = rule{reason: Uncoached, label: "No coach", ofStudent: hasNoCoach, longest: LongestSilence}

type alone struct{ joined domain.Date }

func hasNoCoach(p Practice) (Stall, bool) {
	if p.Standing == nil || !p.Standing.Uncoached {
		return Stall{}, false
	}
	return Stall{Probability: 1, numbers: alone{p.Standing.Joined}}, true
}

func (a alone) words(Reader) (evidence, advice string) {
	evidence = "no coach works with this student"
	if a.joined != (domain.Date{}) {
		evidence += ", who joined on " + dayAndMonth(a.joined)
	}
	return evidence + "; only an owner sees the reasons.", "Choose a coach."
}

func (alone) figure() string { return "" }
