package progress

import (
	"cmp"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/streak"
)

// Retest is one that was played.
type Retest struct {
	Session   domain.ID
	StartedAt time.Time
	Day       domain.Date
	RetestBalls
	// Cold says that its first ball was the student's first at the skill that day;
	// others bear nothing out.
	Cold bool
}

func (r Retest) compare(o Retest) int {
	return cmp.Or(r.StartedAt.Compare(o.StartedAt), cmp.Compare(r.Session, o.Session))
}

// retest gives the session's retest, if it began with one. first is the session of its
// day that had the first ball.
func (s SessionSummary) retest(first *SessionSummary) []Retest {
	if s.Retest == nil {
		return nil
	}
	return []Retest{{Session: s.Session, StartedAt: s.StartedAt, Day: s.Day, RetestBalls: *s.Retest, Cold: first.Session == s.Session}}
}

// retestsOf gives the retests of all sessions, in order.
func retestsOf(periods []Period) (all []Retest) {
	for _, p := range periods {
		for _, s := range p.Sessions {
			if s.Retest != nil {
				all = append(all, s.retest(coldest(s.Day, periods))...)
			}
		}
	}
	return all
}

// retested gives the retests after a session that said old says next. Those of the
// days that this touches are told anew; ok is false when the sessions of such a day
// may not all be at hand.
func (r Record) retested(periods []Period, old, next *SessionSummary) (after []Retest, ok bool) {
	after = r.State.Retests
	if r.Whole {
		return retestsOf(periods), true
	}
	for _, s := range []*SessionSummary{old, next} {
		if s == nil || s.Retest == nil && !slices.ContainsFunc(after, func(x Retest) bool { return x.Day == s.Day }) {
			continue
		}
		if begins, ends := s.Day.Start(time.UTC).Add(-farEast), s.Day.AddDays(1).Start(time.UTC).Add(farWest); PeriodOf(begins) != PeriodOf(ends) {
			return nil, false
		}
		after = slices.DeleteFunc(slices.Clone(after), func(x Retest) bool { return x.Day == s.Day })
		first := coldest(s.Day, periods)
		for _, p := range periods {
			for _, x := range p.Sessions {
				if x.Day == s.Day {
					after = append(after, x.retest(first)...)
				}
			}
		}
		slices.SortFunc(after, Retest.compare)
	}
	if len(after) == 0 {
		return nil, true
	}
	return after, true
}

// How far a local day may lie from that of UTC.
const farEast, farWest = 14 * time.Hour, 12 * time.Hour

// Spacing of retests: the first a week after the step was passed, the next two weeks
// after that, and further ones four weeks apart (common practice, no source: the rule
// of [estimate.HeldAt] knows only that there are some). One that comes sooner than a
// week after the step, or after the one before, bears nothing out.
const (
	aWeek = 7 * 24 * time.Hour
	// early is how much sooner it may be, so that the same weekday does at any hour.
	early = 24 * time.Hour
	// retestWithin is until when a retest is best played, from when it is due.
	retestWithin = 3 * aWeek
)

// Lasting is what is known of whether a step that was passed is held.
type Lasting struct {
	Tier     streak.Tier
	PassedAt time.Time
	// HeldAt is when the retest began that bore the step, or a harder one, out; zero
	// while none did.
	HeldAt time.Time
	// Retests are those that count for the step, in order.
	Retests []Retest
	// Asked is the rate of cold balls, from 0 to 1, that the step asks.
	Asked float64
	// DueAt is when the next retest of the step is due; zero once it is held.
	DueAt time.Time
}

// Held reports whether the step is held.
func (l Lasting) Held() bool { return !l.HeldAt.IsZero() }

// Inside counts the balls of the retests, and those of them that were inside.
func (l Lasting) Inside() (balls, inside int) {
	for _, r := range l.Retests {
		balls, inside = balls+r.Balls, inside+r.Inside
	}
	return balls, inside
}

// Lasting tells of every step that was passed, in the order of the track, whether it
// is held.
func (s State) Lasting() []Lasting {
	var all []Lasting
	for _, t := range s.Tiers {
		if t.First != nil {
			all = append(all, s.lasting(t))
		}
	}
	for i := range all {
		for _, harder := range all {
			if harder.Held() && harder.Tier.AtLeast(all[i].Tier) && (!all[i].Held() || harder.HeldAt.Before(all[i].HeldAt)) {
				all[i].HeldAt, all[i].DueAt = harder.HeldAt, time.Time{}
			}
		}
	}
	return all
}

func (s State) lasting(t TierRecord) Lasting {
	l := Lasting{Tier: t.Tier, PassedAt: t.First.At, Asked: estimate.AskedCold(t.Tier), DueAt: t.First.At.Add(aWeek)}
	last := t.First.At
	var balls []estimate.Retest
	for _, r := range s.Retests {
		if r.Cold && r.Radius == t.Tier.Radius && !r.StartedAt.Before(last.Add(aWeek-early)) {
			l.Retests, balls, last = append(l.Retests, r), append(balls, r.Retest), r.StartedAt
		}
	}
	if at := estimate.HeldAt(t.Tier, balls); at > 0 {
		l.HeldAt, l.DueAt = l.Retests[at-1].StartedAt, time.Time{}
		return l
	}
	switch len(l.Retests) {
	case 0:
	case 1:
		l.DueAt = last.Add(2 * aWeek)
	default:
		l.DueAt = last.Add(4 * aWeek)
	}
	return l
}

// RetestsHeld counts the steps of the ladder that are held, and tells when the next
// retest of one that is not is due; zero when none waits.
func (s State) RetestsHeld() (held int, due time.Time) {
	for _, l := range s.Lasting() {
		switch {
		case !slices.Contains(s.Ladder.Tiers, l.Tier):
		case l.Held():
			held++
		case due.IsZero() || l.DueAt.Before(due):
			due = l.DueAt
		}
	}
	return held, due
}

// Due is a retest that a student may play.
type Due struct {
	Skill domain.ID
	Lasting
	// Until is when it is best played by.
	Until time.Time
}

// DueRetest gives the retest that is due at an instant: of the hardest step of the
// ladder that is passed, not held, and waits for one; ok is false when none does.
func (s State) DueRetest(at time.Time) (d Due, ok bool) {
	lasting := s.Lasting()
	for _, l := range slices.Backward(lasting) {
		if !l.Held() && slices.Contains(s.Ladder.Tiers, l.Tier) && !at.Before(l.DueAt.Add(-early)) {
			return Due{Skill: s.Skill, Lasting: l, Until: l.DueAt.Add(retestWithin)}, true
		}
	}
	return Due{}, false
}
