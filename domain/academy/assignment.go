package academy

import (
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
)

// Assignment is a published version given to a student from a date.
type Assignment struct {
	ID        domain.ID
	Student   domain.ID
	Programme domain.ID
	Version   int
	// Start is the first day of week 1, in the student's time zone.
	Start domain.Date
	// Pauses are in order and do not overlap; only the last may be open.
	Pauses []Pause
	// Credits say how sessions by versions that it pinned before count.
	Credits []Credit
	// Tests says that it asks for a first test of each skill that is new to the student,
	// and for an end test of it in the last week.
	Tests bool
	// EndedAt is when it was taken back; zero while it stands.
	EndedAt time.Time
	// Sessions counts the sessions logged against it that stand.
	Sessions  int
	Revision  int
	CreatedBy domain.ID
	CreatedAt time.Time
}

// Pause shifts the later weeks: its days do not count.
type Pause struct {
	From domain.Date
	// Until is the first day that counts again; the zero Date while open.
	Until domain.Date
	// Reason is for the coach: holiday, injury.
	Reason string
}

// Phase is where a student stands in an assignment.
type Phase string

// The phases.
const (
	Upcoming Phase = "upcoming"
	Running  Phase = "running"
	Paused   Phase = "paused"
	Finished Phase = "finished"
	Ended    Phase = "ended"
)

// Position is where an assignment stands on a day.
type Position struct {
	Phase Phase
	// Week is the 1-based week of the programme; 0 before the start, the last
	// week once finished.
	Week int
	// Day is the 1-based day of that week; 0 before the start.
	Day int
	// Until is the first day after the pause, while paused and if it is known.
	Until domain.Date
}

// days counts the days of the assignment that have begun by a day, that day
// included, without those paused; 0 or less before the start.
func (a Assignment) days(on domain.Date) int {
	n := a.Start.DaysUntil(on) + 1
	for _, p := range a.Pauses {
		n -= overlap(p, a.Start, on.AddDays(1))
	}
	return n
}

// overlap counts the days of a pause from one date until another, exclusive.
func overlap(p Pause, from, until domain.Date) int {
	begin, end := p.From, p.Until
	if begin.Before(from) {
		begin = from
	}
	if end == (domain.Date{}) || until.Before(end) {
		end = until
	}
	return max(0, begin.DaysUntil(end))
}

// pausedOn reports whether a day is paused, and until which day: the first one
// that counts again, zero when no end is known.
func (a Assignment) pausedOn(on domain.Date) (paused bool, until domain.Date) {
	for _, p := range a.Pauses { // in order, so that those that touch are one
		if overlap(p, on, on.AddDays(1)) > 0 {
			paused, until, on = true, p.Until, p.Until
		}
	}
	return paused, until
}

// On gives the position on a day for a programme of the given number of weeks.
func (a Assignment) On(on domain.Date, weeks int) Position {
	n := a.days(on)
	paused, until := a.pausedOn(on)
	if paused {
		n++ // the day that is waiting
	}
	pos := Position{Phase: Running, Week: (n-1)/7 + 1, Day: (n-1)%7 + 1}
	switch {
	case on.Before(a.Start):
		pos = Position{Phase: Upcoming}
	case n > 7*weeks:
		pos.Phase = Finished
	case paused:
		pos.Phase, pos.Until = Paused, until
	}
	if pos.Week > weeks {
		pos.Week, pos.Day = weeks, 7
	}
	if !a.EndedAt.IsZero() {
		pos.Phase, pos.Until = Ended, domain.Date{}
	}
	return pos
}

// WeekStart gives the day on which a 1-based week of the programme begins. An
// open pause has no end to count from yet and is left out of account.
func (a Assignment) WeekStart(week int) domain.Date {
	day := a.Start.AddDays(7 * (week - 1))
	for _, p := range a.Pauses {
		if p.Until == (domain.Date{}) || day.Before(p.From) {
			break
		}
		day = day.AddDays(p.From.DaysUntil(p.Until))
	}
	return day
}

// runsSince gives the day since which the assignment, running on a day, has run
// without a break.
func (a Assignment) runsSince(on domain.Date) domain.Date {
	begun := a.Start
	for _, p := range a.Pauses {
		if p.Until != (domain.Date{}) && !on.Before(p.Until) {
			begun = p.Until
		}
	}
	return begun
}

// Planned counts the sessions that the programme wanted done by the end of a
// day: whole weeks in full, and of the week under way the part of its sessions
// that its days make, rounded down.
func (a Assignment) Planned(on domain.Date, weeks []curriculum.Week) int {
	n := a.days(on)
	planned := 0
	for _, w := range weeks {
		if n <= 0 {
			break
		}
		planned += w.Sessions() * min(n, 7) / 7
		n -= 7
	}
	return planned
}

// maxReason is how many characters the reason of a pause may have.
const maxReason = 400

// pause opens a pause, or adds one whose end is known.
func (a *Assignment) pause(next Pause) error {
	var p domain.Problems
	checkDate(&p, "/from", next.From)
	if next.Until != (domain.Date{}) {
		if checkDate(&p, "/until", next.Until); !next.From.Before(next.Until) {
			p.Add("/until", "is not after the first day of the pause, %s; give a later day, or leave it out", next.From)
		}
	}
	checkText(&p, "/reason", next.Reason, maxReason)
	if err := p.Err("pause_invalid", "The assignment was not paused."); err != nil {
		return err
	}
	if last := len(a.Pauses) - 1; last >= 0 {
		switch p := a.Pauses[last]; {
		case p.Until == domain.Date{}:
			return domain.Errorf(domain.Conflict, "already_paused", "The assignment has been paused since %s. Resume it first.", p.From)
		case next.From.Before(p.Until):
			return invalidDate("/from", "is before the end of the pause before it, %s; use that day or a later one", p.Until)
		}
	}
	if next.From.Before(a.Start) {
		return invalidDate("/from", "is before the assignment starts, %s; use that day or a later one", a.Start)
	}
	a.Pauses = append(slices.Clone(a.Pauses), next)
	return nil
}

// resume ends the last pause, open or not over yet; a pause of no days is
// forgotten.
func (a *Assignment) resume(on domain.Date) error {
	last := len(a.Pauses) - 1
	if last < 0 || a.Pauses[last].Until != (domain.Date{}) && !on.Before(a.Pauses[last].Until) {
		return domain.Errorf(domain.Conflict, "not_paused", "The assignment is not paused. Pause it before you resume it.")
	}
	var p domain.Problems
	from := a.Pauses[last].From
	if checkDate(&p, "/on", on); on.Before(from) {
		p.Add("/on", "is before the pause starts on %s; give that day or a later one", from)
	}
	if err := p.Err("date_invalid", "The date is not valid for the assignment."); err != nil {
		return err
	}
	a.Pauses = slices.Clone(a.Pauses)
	if on == from {
		a.Pauses = a.Pauses[:last]
		return nil
	}
	a.Pauses[last].Until = on
	return nil
}

// checkDate holds a date to years in which days are worth counting.
func checkDate(p *domain.Problems, at string, d domain.Date) {
	const first, last = 2000, 2199
	switch {
	case d == domain.Date{}:
		p.Add(at, "is missing; give a date as YYYY-MM-DD")
	case d.Year < first || d.Year > last:
		p.Add(at, "is %s; give a date in the years %d to %d", d, first, last)
	}
}

func invalidDate(pointer, format string, args ...any) error {
	var p domain.Problems
	p.Add(pointer, format, args...)
	return p.Err("date_invalid", "The date is not valid for the assignment.")
}
