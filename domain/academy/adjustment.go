package academy

import (
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/advice"
	"fringework/domain/curriculum"
	"fringework/domain/streak"
)

// Adjustment is a coach's change for one student on top of the versions that their
// assignments pin.
type Adjustment struct {
	ID      domain.ID
	Student domain.ID
	// Assignment is the one that is adjusted, or the first of them.
	Assignment domain.ID
	// Throughout says that it holds for every assignment of the student, those made
	// later as well, wherever it changes something.
	Throughout bool
	curriculum.Adjustment
	// From is the first day it is played on and Until the last, in the student's
	// time zone; Until is zero while it lasts until undone. A step is played from
	// when it is given until it is passed.
	From  domain.Date
	Until domain.Date
	// Text tells the student, in the coach's words.
	Text string
	// Reason is what made the coach look; empty when nothing flagged did.
	Reason    advice.Reason
	CreatedBy domain.ID
	CreatedAt time.Time
	// EndedAt is when it was undone; zero while it stands.
	EndedAt  time.Time
	EndedBy  domain.ID
	Revision int
}

// PlayedAt says whether who starts a session at an instant, which falls on the
// day, plays by the adjustment. It depends on nothing that comes later than the
// session, so the order in which phones sync does not matter.
func (x Adjustment) PlayedAt(start time.Time, day domain.Date) bool {
	return !start.Before(x.CreatedAt) && (x.EndedAt.IsZero() || start.Before(x.EndedAt)) && x.on(day)
}

// on says whether it is played on a day, unless it was undone.
func (x Adjustment) on(day domain.Date) bool {
	return !day.Before(x.From) && (x.Until == domain.Date{} || !x.Until.Before(day))
}

// HoldsFor says whether an assignment of the student is adjusted.
func (x Adjustment) HoldsFor(assignment domain.ID) bool {
	return x.Throughout || x.Assignment == assignment
}

// played gives what is played of an assignment's adjustments on a day, oldest
// first, of a list from the latest on.
func played(all []Adjustment, assignment domain.ID, on domain.Date) (out []curriculum.Adjustment) {
	for _, a := range slices.Backward(all) {
		if a.HoldsFor(assignment) && a.EndedAt.IsZero() && a.on(on) {
			out = append(out, a.Adjustment)
		}
	}
	return out
}

// adjustedWeeks gives the weeks as the student plays them: the present one and
// those to come as of their first day or today, those gone by as of their last.
func (a Assignment) adjustedWeeks(weeks []curriculum.Week, all []Adjustment, today domain.Date) []curriculum.Week {
	if len(all) == 0 {
		return weeks
	}
	weeks = slices.Clone(weeks)
	for i, w := range weeks {
		first := a.WeekStart(i + 1)
		last := a.WeekStart(i + 2).AddDays(-1)
		day := today
		switch {
		case today.Before(first):
			day = first
		case last.Before(today):
			day = last
		}
		weeks[i] = w.Adjusted(played(all, a.ID, day))
	}
	return weeks
}

// withSteps gives the ladder with the extra steps at a skill that stand, from the one
// that the student begins with.
func withSteps(l streak.Ladder, all []Adjustment, skill domain.ID) streak.Ladder {
	var first streak.Tier
	for _, a := range slices.Backward(all) {
		if a.Kind == curriculum.ExtraStep && a.Skill == skill && a.EndedAt.IsZero() {
			l = l.With(a.Tier)
			if a.Begins {
				first = a.Tier
			}
		}
	}
	return l.From(first)
}
