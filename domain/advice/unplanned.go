package advice

import (
	"fmt"

	"fringework/domain"
)

// Unplanned says that the student has no programme.
const Unplanned Reason = "unplanned"

var unplanned = rule{reason: Unplanned, label: "No programme", ofStudent: hasNoPlan, longest: LongestSilence}

type planless struct {
	programme           string
	ended, joined, from domain.Date
	today               domain.Date
}

// hasNoPlan counts from the end of the last programme that was not taken back, or
// from the day the student joined.
func hasNoPlan(p Practice) (Stall, bool) {
	st := p.Standing
	if st == nil || st.Planned {
		return Stall{}, false
	}
	n := planless{programme: st.Programme, ended: st.Ends, joined: st.Joined, from: st.Joined, today: p.Today}
	if n.ended != (domain.Date{}) {
		n.from = n.ended
	}
	return Stall{Since: n.from, Probability: 1, numbers: n}, true
}

func (n planless) words(Reader) (evidence, advice string) {
	const advise = "Assign a programme."
	switch {
	case n.ended != (domain.Date{}):
		return fmt.Sprintf("%s ended on %s; nothing follows.", n.programme, dayAndMonth(n.ended)), advise
	case n.joined != (domain.Date{}):
		return fmt.Sprintf("no programme now; joined on %s.", dayAndMonth(n.joined)), advise
	}
	return "no programme now.", advise
}

func (n planless) figure() string {
	days := n.from.DaysUntil(n.today)
	if n.from == (domain.Date{}) || days <= 0 {
		return ""
	}
	return count(days, "day")
}
