package progress

import (
	"cmp"
	"reflect"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/streak"
)

// Record is what is kept of one student at one skill.
type Record struct {
	Track Track
	State State
	// Periods are oldest first: all of them when Whole, else the latest ones,
	// with at least one session more than [estimate.Window] reads, and those
	// that were asked for.
	Periods []Period
	Whole   bool
}

// Revise gives the record after a session changed: next is what the session
// says now, nil when it counts no longer, and changed are the periods that are
// not as they were, an empty one to be forgotten. ok is false when the periods
// at hand do not reach: a session that held a record, a milestone or a place in
// the recent window has given it up, and the whole record is needed.
//
// The result equals [Recompute] of all the sessions there are then.
func (r Record) Revise(id domain.ID, next *SessionSummary) (after Record, changed []Period, ok bool) {
	periods, old, numbers := revised(r.Periods, id, next)
	var tiers []TierRecord
	var parts []Part
	if r.Whole {
		tiers, parts = records(r.Track, periods), partsOf(periods)
	} else {
		var kept bool
		if tiers, kept = extended(r.Track, r.State.Tiers, old, next); !kept {
			return Record{}, nil, false
		}
		if parts, kept = revisedParts(r.State.Parts, old, next); !kept {
			return Record{}, nil, false
		}
	}
	retests, known := r.retested(periods, old, next)
	if !known {
		return Record{}, nil, false
	}
	totals := r.State.Totals
	if old != nil {
		totals = totals.Minus(old.Tally)
	}
	if next != nil {
		totals = totals.Plus(next.Tally)
	}
	after = Record{Track: r.Track, Whole: r.Whole}
	for _, p := range periods {
		p.Student, p.Skill = r.Track.Student, r.Track.Skill
		if slices.Contains(numbers, p.Number) {
			changed = append(changed, p)
		}
		if len(p.Sessions) > 0 {
			after.Periods = append(after.Periods, p)
		}
	}
	recent := after.recent(tiers)
	if _, focused := focus(r.Track.Ladder, held(r.Track.Ladder, tiers)); focused && !r.Whole && len(recent) < estimate.Window {
		return Record{}, nil, false
	}
	after.State = after.derive(totals, tiers, parts, retests, recent)
	return after, changed, true
}

// Says reports whether what the session says now is what it said before, so that
// there is nothing to revise.
func (r Record) Says(id domain.ID, next *SessionSummary) bool {
	for _, p := range r.Periods {
		for _, s := range p.Sessions {
			if s.Session == id {
				return next != nil && reflect.DeepEqual(s, *next)
			}
		}
	}
	return false
}

// Recompute derives a record from all summaries of a student at a skill, in any
// order: what the kept record must equal.
func Recompute(t Track, summaries []SessionSummary) Record {
	r := Record{Track: t, Periods: periodsOf(summaries), Whole: true}
	var totals Tally
	for i := range r.Periods {
		r.Periods[i].Student, r.Periods[i].Skill = t.Student, t.Skill
		for _, s := range r.Periods[i].Sessions {
			totals = totals.Plus(s.Tally)
		}
	}
	tiers := records(t, r.Periods)
	r.State = r.derive(totals, tiers, partsOf(r.Periods), retestsOf(r.Periods), r.recent(tiers))
	return r
}

// Empty reports whether nothing is worth keeping: no session, and no ladder to
// pass. Uploads that were taken back leave no more than uploads never made.
func (r Record) Empty() bool { return r.State.Totals.Sessions == 0 && len(r.Track.Judged) == 0 }

// TierRecord is the best that a student ever did at a tier.
type TierRecord struct {
	Tier streak.Tier
	// Best is the longest run at the tier's radius; of equally long ones the one
	// with most holed.
	Best streak.Run
	// First is the ball that passed the tier first; nil while it is not passed.
	First *Hit
}

// add takes in what one session says.
func (t *TierRecord) add(r TierResult) {
	t.Best = longer(t.Best, r.Best)
	if r.Passed != nil && (t.First == nil || r.Passed.compare(*t.First) < 0) {
		t.First = r.Passed
	}
}

// records folds periods into the best of each tier of a track.
func records(t Track, periods []Period) []TierRecord {
	tiers := blank(t)
	for _, p := range periods {
		for _, s := range p.Sessions {
			for i := range tiers {
				tiers[i].add(s.Results[i])
			}
		}
	}
	return tiers
}

func blank(t Track) []TierRecord {
	if len(t.Judged) == 0 {
		return nil
	}
	tiers := make([]TierRecord, len(t.Judged))
	for i, j := range t.Judged {
		tiers[i].Tier = j.Tier
	}
	return tiers
}

// extended gives the best of each tier after a session that said old says next;
// kept is false when the session may have given up what only it had.
func extended(t Track, tiers []TierRecord, old, next *SessionSummary) (after []TierRecord, kept bool) {
	if after = slices.Clone(tiers); len(after) == 0 {
		after = blank(t)
	}
	for i := range after {
		was := after[i]
		if old != nil {
			had := old.Results[i]
			if had.Best == was.Best && (next == nil || longer(had.Best, next.Results[i].Best) != next.Results[i].Best) {
				return nil, false
			}
			if was.First != nil && was.First.Session == old.Session {
				if next == nil || next.Results[i].Passed == nil || next.Results[i].Passed.compare(*was.First) > 0 {
					return nil, false
				}
				after[i].First = nil // the session's own, which is told anew
			}
		}
		if next != nil {
			after[i].add(next.Results[i])
		}
	}
	return after, true
}

func longer(a, b streak.Run) streak.Run {
	if cmp.Or(cmp.Compare(a.Length, b.Length), cmp.Compare(a.Holed, b.Holed)) < 0 {
		return b
	}
	return a
}

// recent gives the last results that say something about the tier in focus,
// oldest first, at most as many as an estimate reads.
func (r Record) recent(tiers []TierRecord) []TierResult {
	tier, ok := focus(r.Track.Ladder, held(r.Track.Ladder, tiers))
	if !ok {
		return nil
	}
	at := slices.IndexFunc(r.Track.Judged, func(j JudgedTier) bool { return j.Tier == tier })
	return r.lastResults(at, estimate.Window)
}

// lastResults gives the last results that say something about the i-th tier of
// the track, oldest first.
func (r Record) lastResults(i, limit int) []TierResult {
	sessions := 0
	for _, p := range r.Periods {
		sessions += len(p.Sessions)
	}
	if sessions == 0 {
		return nil
	}
	found := make([]TierResult, 0, min(limit, sessions))
	for _, p := range slices.Backward(r.Periods) {
		for _, s := range slices.Backward(p.Sessions) {
			if len(found) == limit {
				break
			}
			if s.said(i) {
				found = append(found, s.Results[i])
				found[len(found)-1].Scatter = s.scatter()
			}
		}
	}
	slices.Reverse(found)
	return found
}

// Last gives the last results that say something about a tier, oldest first, as
// far as the periods reach.
func (r Record) Last(tier streak.Tier, limit int) []TierResult {
	at := slices.IndexFunc(r.Track.Judged, func(j JudgedTier) bool { return j.Tier == tier })
	if at < 0 {
		return nil
	}
	return r.lastResults(at, limit)
}

// WeekTally is the counts of a practice week, by its Monday.
type WeekTally struct {
	Week  domain.Date
	Tally Tally
}

// Weeks counts the practice weeks that the periods tell of, oldest first.
func (r Record) Weeks() []WeekTally { return WeeksOf(r.Periods) }

// WeeksOf counts the practice weeks that periods of one or more skills tell of,
// oldest first. A session with two skills counts twice among the sessions.
func WeeksOf(periods []Period) []WeekTally {
	tallies := map[domain.Date]Tally{}
	for _, p := range periods {
		for _, s := range p.Sessions {
			tallies[s.Week] = tallies[s.Week].Plus(s.Tally)
		}
	}
	weeks := make([]WeekTally, 0, len(tallies))
	for week, tally := range tallies {
		weeks = append(weeks, WeekTally{week, tally})
	}
	slices.SortFunc(weeks, func(a, b WeekTally) int { return b.Week.DaysUntil(a.Week) })
	return weeks
}

// derive says where the student stands.
func (r Record) derive(totals Tally, tiers []TierRecord, parts []Part, retests []Retest, recent []TierResult) State {
	t := r.Track
	s := State{
		Student: t.Student, Skill: t.Skill, Ladder: t.Ladder,
		Held: held(t.Ladder, tiers), Totals: totals, Tiers: tiers, TechniqueUntil: t.TechniqueUntil(), Parts: parts, Retests: retests,
	}
	s.Week, s.WeekTally, s.LastAt = r.lastWeek()
	for _, x := range tiers {
		if x.First != nil && slices.Contains(t.Ladder.Tiers, x.Tier) && x.First.At.After(s.LastMilestoneAt) {
			s.LastMilestoneAt = x.First.At
		}
	}
	for _, x := range recent {
		s.Near = s.Near.Add(x.Near)
	}
	if len(recent) > 0 {
		e := s.evidence(recent)
		s.Recent = RecentOf(e.Sessions)
		s.Assessment = estimate.Assess(e)
	}
	return s
}

// RecentOf counts the balls of sessions.
func RecentOf(sessions []estimate.Observation) (n RecentCounts) {
	for _, o := range sessions {
		n.Sessions++
		n.Judged += o.Balls
		n.Inside += o.Inside
		for _, c := range o.Elsewhere {
			i := slices.IndexFunc(n.Elsewhere, func(x estimate.Circle) bool { return x.Radius == c.Radius })
			if i < 0 {
				i = len(n.Elsewhere)
				n.Elsewhere = append(n.Elsewhere, estimate.Circle{Radius: c.Radius})
			}
			n.Elsewhere[i].Balls += c.Balls
			n.Elsewhere[i].Inside += c.Inside
			n.Elsewhere[i].Holed += c.Holed
		}
	}
	slices.SortFunc(n.Elsewhere, func(a, b estimate.Circle) int {
		return cmp.Or(cmp.Compare(b.Balls, a.Balls), cmp.Compare(a.Radius, b.Radius))
	})
	return n
}

// lastWeek gives the latest practice week with its counts, and when the latest
// session started. A traveller's sessions may be in another order by week than
// by start, but not by more than a day.
func (r Record) lastWeek() (week domain.Date, tally Tally, lastAt time.Time) {
	for _, p := range slices.Backward(r.Periods) {
		for _, s := range slices.Backward(p.Sessions) {
			if lastAt.IsZero() {
				lastAt = s.StartedAt
			}
			switch {
			case week == (domain.Date{}) || week.Before(s.Week):
				week, tally = s.Week, s.Tally
			case week == s.Week:
				tally = tally.Plus(s.Tally)
			case s.StartedAt.Before(lastAt.AddDate(0, 0, -14)):
				return week, tally, lastAt
			}
		}
	}
	return week, tally, lastAt
}

// evidence prepares the recent results for an assessment as of the last one.
func (s State) evidence(recent []TierResult) estimate.Evidence {
	made := map[domain.ID]bool{}
	for _, x := range s.Tiers {
		if x.First != nil && slices.Contains(s.Ladder.Tiers, x.Tier) {
			made[x.First.Session] = true
		}
	}
	origin := recent[0].Day
	focus, _ := s.Focus()
	e := estimate.Evidence{Origin: origin, Radius: focus.Radius, Sessions: Observations(recent)}
	chances, day := 0, 0.0
	for i, r := range recent {
		// Who flies east to west may start a later session on an earlier date.
		day = max(day, float64(origin.DaysUntil(r.Day)))
		e.Sessions[i].Day, e.Sessions[i].Milestone = day, made[r.Session]
		chances += r.Chances
	}
	if next, ok := s.Next(); ok {
		e.Tier = &next
		e.BallsPerTest = next.Run - 1 + (chances+len(recent)/2)/len(recent)
		if len(s.Parts)+len(s.Retests) > 0 && s.Unmeasured() == 0 { // measurements alone say nothing of later sessions
			e.BallsPerTest = TestBalls
		}
	}
	return e
}
