package advice

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"fringework/domain"
	"fringework/domain/progress"
)

// Lapsed says that the student has stopped practising.
const Lapsed Reason = "lapsed"

var lapsed = rule{reason: Lapsed, label: "Not practising", ofStudent: hasLapsed, longest: LongestSilence}

// A lapse is three times the student's own median gap, or the plan's pace when
// there is too little to go by, and never less than a week. The factor is our
// choice; it makes a lapse of a student who goes out every third day after nine
// days.
const lapsedGaps, lapsedAtLeast = 3, 7

type lapse struct {
	days int
	// from is the day they are counted from, and what happened then.
	from domain.Date
	what string
	// gap in days between sessions is usual, or planned, as pace says.
	gap      float64
	pace     string
	numbered *Numbered
}

// hasLapsed counts the days since the last session. Days that an assignment was
// paused or had not begun do not count.
func hasLapsed(p Practice) (Stall, bool) {
	if !p.Expected || p.neverCame() {
		return Stall{}, false
	}
	l := lapse{from: p.Since, what: "the plan began", gap: gap(p.Habit), pace: "usually", numbered: p.Numbered}
	if last := p.Habit.LastAt(); !last.IsZero() {
		l.what = "the plan began or resumed"
		if day := domain.DateOf(last, p.Zone); !day.Before(p.Since) {
			l.from, l.what = day, "the last session was"
		}
	}
	if l.from == (domain.Date{}) {
		return Stall{}, false // nothing to count from
	}
	if l.gap == 0 && p.PerWeek > 0 {
		l.gap, l.pace = 7/p.PerWeek, "planned:"
	}
	l.days = l.from.DaysUntil(p.Today)
	if float64(l.days) < max(lapsedAtLeast, lapsedGaps*l.gap) {
		return Stall{}, false
	}
	s := Stall{Probability: 1, numbers: l}
	if n := p.Numbered; n != nil {
		s.SinceSession, s.RaisedSession = n.Last, n.Sessions
	}
	return s, true
}

func (l lapse) figure() string { return count(l.days, "day") }

// gap is the median number of days between the last sessions; 0 with fewer
// than three gaps, which say little.
func gap(h progress.Habit) float64 {
	var gaps []float64
	for i := 1; i < len(h.Starts); i++ {
		gaps = append(gaps, h.Starts[i].Sub(h.Starts[i-1]).Hours()/24)
	}
	if len(gaps) < 3 {
		return 0
	}
	slices.Sort(gaps)
	return (gaps[(len(gaps)-1)/2] + gaps[len(gaps)/2]) / 2
}

func (l lapse) words(Reader) (evidence, advice string) {
	when := l.what + " on " + dayAndMonth(l.from)
	if l.numbered != nil && l.numbered.Undated {
		when = fmt.Sprintf("the last was session %d", l.numbered.Last)
	}
	evidence = fmt.Sprintf("no session for %s (%s)", count(l.days, "day"), when)
	if l.gap > 0 {
		evidence += "; " + l.pace + " one " + every(l.gap)
	}
	if l.numbered != nil && l.numbered.Sessions > l.numbered.Last {
		evidence += "; " + count(l.numbered.Sessions-l.numbered.Last, "planned session") + " missed"
	}
	return evidence + ".", "Ask what is in the way; pause the programme for a holiday or an injury, or plan fewer, shorter sessions."
}

// every tells a gap between sessions, in days.
func every(gap float64) string {
	days := strings.TrimSuffix(strconv.FormatFloat(gap, 'f', 1, 64), ".0")
	if days == "1" {
		return "a day"
	}
	return "every " + days + " days"
}
