package advice

import (
	"math"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// Practice is how a student practises, whatever the skill, and what is asked of
// them.
type Practice struct {
	Habit progress.Habit
	// Today is the day of judgement, in Zone, the student's time zone.
	Today domain.Date
	Zone  *time.Location
	// Expected says that the student is meant to practise at present.
	Expected bool
	// Since is since when without a break: the later of the plan's start and the
	// end of its last pause; zero without a plan.
	Since domain.Date
	// PerWeek is the plan's number of sessions a week, 0 without a plan.
	PerWeek float64
	// Standing is what else is known of a student of an academy; nil where only
	// sessions are known.
	Standing *Standing
	// Numbered is set where the sessions are numbered, of one skill.
	Numbered *Numbered
}

// Standing is how a student stands in the academy.
type Standing struct {
	// Joined is the day they joined; zero when it is not known.
	Joined domain.Date
	// Uncoached says that no coach works with them, though the academy has some.
	Uncoached bool
	// Planned says that a programme is running, paused or still to begin.
	Planned bool
	// Programme is the one that ends last of those that run, or ended last when
	// none is Planned, and Ends its last day; zero when no end is known.
	Programme string
	Ends      domain.Date
}

// Numbered is practice as a list of sessions.
type Numbered struct {
	// Last is the 1-based session that was held last, of Sessions; the planned
	// ones after it were missed.
	Last, Sessions int
	// Undated says that days have no dates, so that sentences name sessions.
	Undated bool
}

// Weigh gives the reasons that stand, most urgent first and then in the order of
// skills.
func Weigh(p Practice, skills []progress.State) []Stall {
	var stalls []Stall
	add := func(r rule, s Stall, skill domain.ID) {
		s.Reason, s.Skill = r.reason, skill
		stalls = append(stalls, s)
	}
	for _, r := range all {
		if r.ofStudent == nil {
			continue
		}
		if s, yes := r.ofStudent(p); yes && !r.silenced(false, reasonsAt(stalls, "")) {
			add(r, s, "")
		}
	}
	whole := reasonsAt(stalls, "")
	for _, state := range skills {
		near := state.Assessment.Forecast.Near()
		here := slices.Clone(whole)
		for _, r := range all {
			if r.atSkill == nil {
				continue
			}
			if s, yes := r.atSkill(state); yes && !r.silenced(near, here) {
				add(r, s, state.Skill)
				here = append(here, r.reason)
			}
		}
	}
	slices.SortStableFunc(stalls, func(a, b Stall) int { return a.Reason.Urgency() - b.Reason.Urgency() })
	return stalls
}

func reasonsAt(stalls []Stall, skill domain.ID) (reasons []Reason) {
	for _, s := range stalls {
		if s.Skill == skill {
			reasons = append(reasons, s.Reason)
		}
	}
	return reasons
}

// silenced says whether the reason is not told while the next tier is near or
// others stand.
func (r rule) silenced(near bool, others []Reason) bool {
	return r.unlessNear && near || slices.ContainsFunc(r.unless, func(x Reason) bool { return slices.Contains(others, x) })
}

// Status is what holds after a session at a skill.
type Status struct {
	estimate.Status
	// Reasons, most urgent first.
	Reasons []Reason
}

// Walk gives the status after each session, judged on the sessions up to it
// alone, on the day of that session.
func Walk(e estimate.Evidence) []Status {
	history := make([]Status, len(e.Sessions))
	for i, at := range estimate.Walk(e) {
		history[i].Status = at
		part := e
		part.Sessions = e.Sessions[:i+1]
		p := PracticeOf(part, e.Sessions[i].Day)
		var here []Reason
		for _, r := range all {
			stands := r.inPast != nil && r.inPast(at)
			if r.ofStudent != nil {
				_, stands = r.ofStudent(p)
			}
			if stands && !r.silenced(at.Near, here) {
				here = append(here, r.reason)
			}
		}
		history[i].Reasons = here
	}
	return history
}

// PracticeOf is the practice that the sessions at one skill show as of a day on
// their scale, when nothing else is known of a student. A day before the last
// session is read as that one's.
func PracticeOf(e estimate.Evidence, asOf float64) Practice {
	n := len(e.Sessions)
	p := Practice{Expected: true, Zone: time.UTC, PerWeek: e.SessionsPerWeek, Numbered: &Numbered{Sessions: n, Undated: e.Origin == domain.Date{}}}
	origin := e.Origin
	if p.Numbered.Undated {
		origin = domain.Date{Year: 2000, Month: time.January, Day: 1} // any will do
	}
	var held []progress.SessionTime
	for i := n - 1; i >= 0 && len(held) < progress.HabitSessions; i-- {
		s := e.Sessions[i]
		asOf = math.Max(asOf, s.Day)
		if s.Balls == 0 {
			continue
		}
		if len(held) == 0 {
			p.Numbered.Last = i + 1
		}
		day := math.Floor(s.Day)
		at := origin.AddDays(int(day)).Start(time.UTC).Add(time.Duration((s.Day - day) * float64(24*time.Hour)))
		held = append(held, progress.SessionTime{StartedAt: at})
	}
	slices.Reverse(held)
	p.Habit = progress.HabitOf("", n, held)
	p.Today = origin.AddDays(int(math.Floor(asOf)))
	return p
}
