package advice

import (
	"fmt"
	"time"

	"fringework/domain"
)

// Ending says that the last programme ends within a week and nothing follows.
const Ending Reason = "ending"

var ending = rule{reason: Ending, label: "Programme ends", ofStudent: endsSoon, longest: LongestSilence}

// endingDays is how many days before the end it is said, the last day included: the
// programme's last week.
const endingDays = 7

type end struct {
	programme string
	on        domain.Date
	left      int // days after today
}

func endsSoon(p Practice) (Stall, bool) {
	st := p.Standing
	if st == nil || !st.Planned || st.Ends == (domain.Date{}) {
		return Stall{}, false
	}
	e := end{programme: st.Programme, on: st.Ends, left: p.Today.DaysUntil(st.Ends)}
	return Stall{Probability: 1, numbers: e}, 0 <= e.left && e.left < endingDays
}

func (e end) words(Reader) (evidence, advice string) {
	return fmt.Sprintf("%s ends on %s; nothing follows.", e.programme, e.on.Start(time.UTC).Format("Monday 2 January")),
		"Assign what comes next."
}

func (e end) figure() string {
	switch e.left {
	case 0:
		return "today"
	case 1:
		return "tomorrow"
	}
	return "in " + count(e.left, "day")
}
