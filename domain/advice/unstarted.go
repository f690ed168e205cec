package advice

import (
	"fmt"

	"fringework/domain"
)

// Unstarted says that the student has joined and a plan runs, and no session has
// come.
const Unstarted Reason = "unstarted"

var unstarted = rule{reason: Unstarted, label: "Joined, not started", ofStudent: hasNotStarted, longest: LongestSilence}

// unstartedDays is how long a plan has run for a student who is there before it is
// said: the first week's sessions are missed by then. It is our choice.
const unstartedDays = 7

type unbegun struct {
	days          int
	joined, since domain.Date
}

// neverCame says whether a student of an academy has no session yet.
func (p Practice) neverCame() bool { return p.Standing != nil && p.Habit.Sessions == 0 }

// hasNotStarted counts from when the student had both a plan and a place.
func hasNotStarted(p Practice) (Stall, bool) {
	if !p.Expected || !p.neverCame() || p.Since == (domain.Date{}) {
		return Stall{}, false
	}
	w := unbegun{joined: p.Standing.Joined, since: p.Since}
	from := p.Since
	if from.Before(w.joined) {
		from = w.joined
	}
	w.days = from.DaysUntil(p.Today)
	return Stall{Since: from, Probability: 1, numbers: w}, w.days >= unstartedDays
}

func (w unbegun) words(Reader) (evidence, advice string) {
	evidence = "no session yet; the plan began on " + dayAndMonth(w.since)
	if w.joined != (domain.Date{}) {
		evidence = fmt.Sprintf("joined on %s, no session yet; the plan began on %s", dayAndMonth(w.joined), dayAndMonth(w.since))
	}
	return evidence + ".", "Ask whether the sign-in works, and play the first session together."
}

func (w unbegun) figure() string { return count(w.days, "day") }
