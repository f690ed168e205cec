package progress

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/streak"
)

// Keeper is what keeping progress needs of the store, seen for one academy.
// Every read but History is answered from an index and costs no more for a
// longer history.
type Keeper interface {
	HabitKeeper

	// Tracks gives a student's tracks for the skills; skills without one are
	// left out.
	Tracks(ctx context.Context, student domain.ID, skills []domain.ID) (map[domain.ID]Track, error)
	SaveTrack(ctx context.Context, t Track) error

	// ReplaceDigests makes digests all that is kept of a session; it may be
	// empty.
	ReplaceDigests(ctx context.Context, student, session domain.ID, digests []SessionSummary) error
	// ReplaceReadings makes d.Readings all that is kept of the session's
	// readings at the skill; its counts stay.
	ReplaceReadings(ctx context.Context, student domain.ID, d SessionSummary) error
	// History gives everything a student did at a skill, balls included. It is
	// for Rederive alone: its cost grows with the history.
	History(ctx context.Context, student, skill domain.ID) ([]Play, error)
	// DigestsOf gives what is kept of a session, readings left out.
	DigestsOf(ctx context.Context, session domain.ID) ([]SessionSummary, error)
	// LatestStart gives the start of the latest session with the skill, zero
	// when there is none.
	LatestStart(ctx context.Context, student, skill domain.ID) (time.Time, error)
	// FirstHits gives for each tier the hit struck first.
	FirstHits(ctx context.Context, student, skill domain.ID, tiers []streak.Tier) ([]Milestone, error)
	// RecentReadings gives the last readings of a tier that judged a ball or
	// met one unmeasured, oldest first, by start and then by session.
	RecentReadings(ctx context.Context, student, skill domain.ID, tier streak.Tier, limit int) ([]TierResult, error)
	// BestRun gives the longest run at a tier; of equally long ones the one
	// with most holed.
	BestRun(ctx context.Context, student, skill domain.ID, tier streak.Tier) (streak.Run, error)

	// Totals gives what State.Totals were; zero when there is no state yet.
	Totals(ctx context.Context, student, skill domain.ID) (Tally, error)
	SaveState(ctx context.Context, s State) error
	// ForgetState removes the state of a skill that nothing is left of: no
	// session, and no ladder to attain.
	ForgetState(ctx context.Context, student, skill domain.ID) error
	// ReplaceMilestones makes these the student's milestones at the skill.
	ReplaceMilestones(ctx context.Context, student, skill domain.ID, ms []Milestone) error
	// AddToWeek adds to the counts of a practice week; they may be negative. A
	// week left without a session is forgotten.
	AddToWeek(ctx context.Context, student, skill domain.ID, week domain.Date, delta Tally) error
}

// Update replaces what is kept of a session by new digests (none for a deleted
// session) and brings everything that depends on it up to date, reading no
// more of the history than the recent window.
func Update(ctx context.Context, k Keeper, student, session domain.ID, digests []SessionSummary) error {
	old, err := k.DigestsOf(ctx, session)
	if err != nil {
		return err
	}
	if err := k.ReplaceDigests(ctx, student, session, digests); err != nil {
		return err
	}
	changed := map[domain.ID]Tally{}
	weeks := map[skillWeek]Tally{}
	for _, d := range old {
		changed[d.Skill] = changed[d.Skill].Minus(d.Tally)
		weeks[skillWeek{d.Skill, d.Week}] = weeks[skillWeek{d.Skill, d.Week}].Minus(d.Tally)
	}
	for _, d := range digests {
		changed[d.Skill] = changed[d.Skill].Plus(d.Tally)
		weeks[skillWeek{d.Skill, d.Week}] = weeks[skillWeek{d.Skill, d.Week}].Plus(d.Tally)
	}
	for _, w := range slices.SortedFunc(maps.Keys(weeks), skillWeek.compare) {
		if weeks[w] == (Tally{}) {
			continue // the session changed in something else
		}
		if err := k.AddToWeek(ctx, student, w.skill, w.week, weeks[w]); err != nil {
			return err
		}
	}
	return refresh(ctx, k, student, changed)
}

// skillWeek is a practice week at a skill.
type skillWeek struct {
	skill domain.ID
	week  domain.Date
}

func (w skillWeek) compare(o skillWeek) int {
	return cmp.Or(cmp.Compare(w.skill, o.skill), cmp.Compare(w.week.String(), o.week.String()))
}

// refresh derives the states of skills anew, their totals changed by deltas.
func refresh(ctx context.Context, k Keeper, student domain.ID, deltas map[domain.ID]Tally) error {
	skills := make([]domain.ID, 0, len(deltas))
	for skill := range deltas {
		skills = append(skills, skill)
	}
	slices.Sort(skills) // one order of row locks for everybody
	tracks, err := k.Tracks(ctx, student, skills)
	if err != nil {
		return err
	}
	for _, skill := range skills {
		track := tracks[skill]
		track.Student, track.Skill = student, skill
		if err := refreshSkill(ctx, k, track, deltas[skill]); err != nil {
			return err
		}
	}
	return nil
}

func refreshSkill(ctx context.Context, k Keeper, t Track, delta Tally) error {
	totals, err := k.Totals(ctx, t.Student, t.Skill)
	if err != nil {
		return err
	}
	lastAt, err := k.LatestStart(ctx, t.Student, t.Skill)
	if err != nil {
		return err
	}
	milestones, err := k.FirstHits(ctx, t.Student, t.Skill, t.tiers())
	if err != nil {
		return err
	}
	var recent []TierResult
	var best streak.Run
	if tier, ok := focus(t.Ladder, held(t.Ladder, milestones)); ok {
		if recent, err = k.RecentReadings(ctx, t.Student, t.Skill, tier, estimate.Window); err != nil {
			return err
		}
		if best, err = k.BestRun(ctx, t.Student, t.Skill, tier); err != nil {
			return err
		}
	}
	if err := k.ReplaceMilestones(ctx, t.Student, t.Skill, milestones); err != nil {
		return err
	}
	s := derive(t, totals.Plus(delta), lastAt, milestones, recent, best)
	if s.Totals.Sessions == 0 && len(t.Judged) == 0 {
		// Uploads that were taken back leave no more than uploads never made.
		return k.ForgetState(ctx, t.Student, t.Skill)
	}
	return k.SaveState(ctx, s)
}

// Rederive judges a student's whole history at a skill by a new track: an
// explicit act, when a version with another ladder is assigned.
func Rederive(ctx context.Context, k Keeper, t Track) error {
	if err := k.SaveTrack(ctx, t); err != nil {
		return err
	}
	plays, err := k.History(ctx, t.Student, t.Skill)
	if err != nil {
		return err
	}
	for _, p := range plays {
		if err := k.ReplaceReadings(ctx, t.Student, t.Summarise(p)); err != nil {
			return err
		}
	}
	return refreshSkill(ctx, k, t, Tally{})
}

// Recompute derives a state and its milestones from all digests of a student
// at a skill, in any order, without a store: what the kept state must equal.
func Recompute(t Track, digests []SessionSummary) (State, []Milestone) {
	var totals Tally
	var lastAt time.Time
	first := map[streak.Tier]Hit{}
	best := map[streak.Tier]streak.Run{}
	readings := map[streak.Tier][]TierResult{}
	for _, d := range digests {
		totals = totals.Plus(d.Tally)
		if d.StartedAt.After(lastAt) {
			lastAt = d.StartedAt
		}
		for _, r := range d.Results {
			if h := r.Attained; h != nil {
				if old, ok := first[r.Tier]; !ok || h.compare(old) < 0 {
					first[r.Tier] = *h
				}
			}
			best[r.Tier] = longer(best[r.Tier], r.Best)
			if r.Judged+r.Unmeasured > 0 {
				readings[r.Tier] = append(readings[r.Tier], r)
			}
		}
	}
	var milestones []Milestone
	for _, tier := range t.tiers() {
		if h, ok := first[tier]; ok {
			milestones = append(milestones, Milestone{Student: t.Student, Skill: t.Skill, Tier: tier, Hit: h})
		}
	}
	tier, _ := focus(t.Ladder, held(t.Ladder, milestones))
	recent := readings[tier]
	slices.SortFunc(recent, func(a, b TierResult) int {
		return cmp.Or(a.StartedAt.Compare(b.StartedAt), cmp.Compare(a.Session, b.Session))
	})
	recent = recent[max(0, len(recent)-estimate.Window):]
	return derive(t, totals, lastAt, milestones, recent, best[tier]), milestones
}

func longer(a, b streak.Run) streak.Run {
	if cmp.Or(cmp.Compare(a.Length, b.Length), cmp.Compare(a.Holed, b.Holed)) < 0 {
		return b
	}
	return a
}
