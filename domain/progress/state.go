package progress

import (
	"cmp"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/streak"
)

// Track is what a student's balls at a skill are judged by.
type Track struct {
	Student domain.ID
	Skill   domain.ID
	// Ladder is the one of the version last assigned to the student that
	// trains the skill.
	Ladder streak.Ladder
	// Judged lists every tier of every ladder ever assigned to the student for
	// the skill, so that moving to another version keeps milestones. It holds
	// the ladder's own tiers, and is in the order of CompareTiers.
	Judged []JudgedTier
}

// JudgedTier is a tier that a student's balls are judged by.
type JudgedTier struct {
	streak.Tier
	// OpenUntil is when the ladder became test-only for a tier that was judged
	// in warm-ups before: sessions started earlier are still judged so, since
	// their milestones stay. Zero when it never was. It says nothing while the
	// ladder is not test-only.
	OpenUntil time.Time
	// TechniqueUntil is the same for technique blocks: when they ceased to count
	// for a tier for which they did. Those were all that an older release kept,
	// whose rule was another: technique counted unless the ladder was test-only.
	// What was earned by that rule stays earned.
	TechniqueUntil time.Time
}

// TechniqueUntil is when technique blocks ceased to count for the ladder; zero
// when they never did, and while they count.
func (t Track) TechniqueUntil() (last time.Time) {
	for _, j := range t.Judged {
		if j.TechniqueUntil.After(last) && slices.Contains(t.Ladder.Tiers, j.Tier) && !t.Ladder.CountsIn("technique") {
			last = j.TechniqueUntil
		}
	}
	return last
}

// countsIn reports whether runs in a block of the given kind, in a session that
// started then, count for the tier.
func (t Track) countsIn(tier JudgedTier, kind string, started time.Time) bool {
	switch {
	case t.Ladder.CountsIn(kind):
		return true
	case kind == "warmup":
		return started.Before(tier.OpenUntil)
	case kind == "technique":
		return started.Before(tier.TechniqueUntil)
	}
	return false
}

// CompareTiers orders tiers: shorter runs first, then larger radii, then fewer
// holed. Within a ladder that is the ladder's own order.
func CompareTiers(a, b streak.Tier) int {
	return cmp.Or(cmp.Compare(a.Run, b.Run), cmp.Compare(b.Radius, a.Radius), cmp.Compare(a.Holed, b.Holed))
}

// Assigned gives the track after a version with the ladder was assigned at an
// instant, which is kept in whole milliseconds, and whether that changed
// anything.
func (t Track) Assigned(l streak.Ladder, at time.Time) (Track, bool) {
	if t.Ladder.Equal(l) {
		return t, false
	}
	judged := slices.Clone(t.Judged)
	at = at.Truncate(time.Millisecond).UTC()
	for i := range judged {
		if !l.CountsIn("warmup") && t.Ladder.CountsIn("warmup") {
			judged[i].OpenUntil = at
		}
		if !l.CountsIn("technique") && t.Ladder.CountsIn("technique") {
			judged[i].TechniqueUntil = at
		}
	}
	for _, tier := range l.Tiers {
		if !slices.ContainsFunc(judged, func(j JudgedTier) bool { return j.Tier == tier }) {
			judged = append(judged, JudgedTier{Tier: tier})
		}
	}
	slices.SortFunc(judged, func(a, b JudgedTier) int { return CompareTiers(a.Tier, b.Tier) })
	t.Ladder, t.Judged = l, judged
	return t, true
}

// Tally counts balls and time. Inside includes Holed.
type Tally struct {
	Sessions int
	Balls    int
	Inside   int
	Holed    int
	Seconds  int
	// Attested balls come as counts from a paper card. They are kept apart:
	// no rate, run or milestone is made of them.
	AttestedBalls  int
	AttestedInside int
	AttestedHoled  int
	// Misses are of the balls whose student said how they missed.
	Misses Misses
}

// Plus adds counts.
func (c Tally) Plus(d Tally) Tally {
	return Tally{
		c.Sessions + d.Sessions, c.Balls + d.Balls, c.Inside + d.Inside, c.Holed + d.Holed, c.Seconds + d.Seconds,
		c.AttestedBalls + d.AttestedBalls, c.AttestedInside + d.AttestedInside, c.AttestedHoled + d.AttestedHoled, c.Misses.Plus(d.Misses),
	}
}

// Minus takes counts away.
func (c Tally) Minus(d Tally) Tally {
	return Tally{
		c.Sessions - d.Sessions, c.Balls - d.Balls, c.Inside - d.Inside, c.Holed - d.Holed, c.Seconds - d.Seconds,
		c.AttestedBalls - d.AttestedBalls, c.AttestedInside - d.AttestedInside, c.AttestedHoled - d.AttestedHoled, c.Misses.Minus(d.Misses),
	}
}

// Hit is the ball that completed a tier.
type Hit struct {
	Session domain.ID
	// Block and Ball are 1-based within the session and the block.
	Block int
	Ball  int
	At    time.Time
}

// compare orders hits by when the balls were struck; what is struck at the
// same instant is ordered by identity, so that the order never depends on
// arrival.
func (h Hit) compare(o Hit) int {
	return cmp.Or(h.At.Compare(o.At), cmp.Compare(h.Session, o.Session), cmp.Compare(h.Block, o.Block), cmp.Compare(h.Ball, o.Ball))
}

// TierResult is what one session says about one tier, over all of its blocks that
// count for the ladder.
type TierResult struct {
	Session   domain.ID
	StartedAt time.Time
	// Day is the local date of the start, in the session's time zone.
	Day  domain.Date
	Tier streak.Tier
	// Judged, Inside, Holed and Unmeasured count balls at the tier's radius, as
	// they count for runs.
	Judged     int
	Inside     int
	Holed      int
	Unmeasured int
	// Circles count the balls without a leave by the circle they were judged in,
	// and Leaves those with one in the tier's own: what estimates are made of.
	Circles []estimate.Circle
	Leaves  estimate.Circle
	// Scatter is Leaves in the circles of all tiers, while an estimate is made; it is
	// not kept.
	Scatter []estimate.Circle
	Best    streak.Run
	Near    streak.Near
	// Chances counts the balls at which a run of the tier's length could have
	// been complete: in a block of n balls, n minus the run plus one.
	Chances int
	// Passed is nil when the session did not complete the tier.
	Passed *Hit
}

// SessionSummary is what one session says about one skill.
type SessionSummary struct {
	Session   domain.ID
	StartedAt time.Time
	// Day is the local date of the start, and Week the Monday of the practice week it
	// counts in.
	Day     domain.Date
	Week    domain.Date
	Skill   domain.ID
	Tally   Tally
	Results []TierResult // one for each tier of the track, in its order
	// Parts are of first tests and end tests.
	Parts []Part

	// FirstAt is when the first ball at the skill was struck, zero without one, and
	// First that ball beside the later ones; it has none off the green.
	FirstAt time.Time
	First   estimate.ColdDay
	// Retest is the one that the session began with, if any.
	Retest *RetestBalls
	// Tests are those of the plan, on the green, in the order of the plan.
	Tests []PlannedTest
}

// Milestone is a tier passed by a student, with the ball that completed it.
type Milestone struct {
	Student domain.ID
	Skill   domain.ID
	Tier    streak.Tier
	Hit
	// HeldAt is when the retest began that bore it out; zero while none did.
	HeldAt time.Time
}

// State is where a student stands at a skill. It is kept in the transaction
// that stores a session.
type State struct {
	Student domain.ID
	Skill   domain.ID
	Ladder  streak.Ladder
	// Held is how many tiers of the ladder are passed, up to the hardest one.
	Held int
	// Totals are over the whole history.
	Totals Tally
	// LastAt is when the latest session with the skill started.
	LastAt time.Time
	// Week is the latest practice week, by its Monday, and WeekTally its counts.
	Week      domain.Date
	WeekTally Tally
	// Tiers are the best ever done at each tier of the track, in its order.
	Tiers []TierRecord
	// Retests are all there were, by start and then by session.
	Retests []Retest
	// Near sums up the runs near Focus in the recent sessions.
	Near streak.Near
	// Recent counts the balls at the radius of Focus in the recent sessions.
	Recent RecentCounts
	// LastMilestoneAt is when the latest tier of the ladder was passed.
	LastMilestoneAt time.Time
	// Assessment is as of the latest session.
	Assessment estimate.Assessment
	// TechniqueUntil is the track's: until then technique blocks counted.
	TechniqueUntil time.Time
	// Parts are of first tests and end tests, oldest first: the earliest of the former
	// and the latest of the latter.
	Parts []Part
}

// RecentCounts are the balls of the last sessions, for one circle.
type RecentCounts struct {
	Sessions int
	// Judged were judged in the circle, or left at a measured distance; Inside of
	// them came to rest inside.
	Judged int
	Inside int
	// Elsewhere were judged in other circles, from the one with most balls.
	Elsewhere []estimate.Circle
}

// Balls counts all of them.
func (c RecentCounts) Balls() int {
	n := c.Judged
	for _, e := range c.Elsewhere {
		n += e.Balls
	}
	return n
}

// Next is the tier to pass next; ok is false once the ladder is finished, or
// when there is none.
func (s State) Next() (t streak.Tier, ok bool) {
	if s.Held >= len(s.Ladder.Tiers) {
		return streak.Tier{}, false
	}
	return s.Ladder.Tiers[s.Held], true
}

// Focus is the tier that rates and runs are shown for: the next one or, once
// the ladder is finished, its hardest.
func (s State) Focus() (t streak.Tier, ok bool) { return focus(s.Ladder, s.Held) }

// Best is the longest run ever at the radius of Focus.
func (s State) Best() streak.Run {
	tier, _ := s.Focus()
	for _, t := range s.Tiers {
		if t.Tier == tier {
			return t.Best
		}
	}
	return streak.Run{}
}

// InWeek gives the counts of the practice week of a Monday, none unless it is
// the latest.
func (s State) InWeek(monday domain.Date) Tally {
	if s.Week == monday {
		return s.WeekTally
	}
	return Tally{}
}

// Milestones lists the tiers passed, those of earlier ladders included, in
// order of when that was.
func (s State) Milestones() []Milestone {
	var made []Milestone
	lasting := s.Lasting()
	for _, t := range s.Tiers {
		if t.First != nil {
			made = append(made, Milestone{Student: s.Student, Skill: s.Skill, Tier: t.Tier, Hit: *t.First, HeldAt: lasting[len(made)].HeldAt})
		}
	}
	slices.SortStableFunc(made, Milestone.Compare)
	return made
}

// Compare orders milestones by the ball and, where one ball passed several
// tiers, by tier.
func (m Milestone) Compare(o Milestone) int {
	return cmp.Or(m.Hit.compare(o.Hit), cmp.Compare(m.Student, o.Student), cmp.Compare(m.Skill, o.Skill), CompareTiers(m.Tier, o.Tier))
}

func focus(l streak.Ladder, held int) (t streak.Tier, ok bool) {
	if len(l.Tiers) == 0 {
		return streak.Tier{}, false
	}
	return l.Tiers[min(held, len(l.Tiers)-1)], true
}

// held counts the tiers up to the hardest passed: whoever passed a harder
// tier passed the easier ones with the same balls.
func held(l streak.Ladder, tiers []TierRecord) int {
	for i, tier := range slices.Backward(l.Tiers) {
		if slices.ContainsFunc(tiers, func(t TierRecord) bool { return t.First != nil && t.Tier == tier }) {
			return i + 1
		}
	}
	return 0
}
