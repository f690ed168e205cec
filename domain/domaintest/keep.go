package domaintest

import (
	"cmp"
	"context"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// log gives a student's standing sessions, oldest first.
func (t *tx) log(student domain.ID) []practice.Session {
	var all []practice.Session
	for _, s := range t.sessions {
		if s.Student == student && !s.Deleted() {
			all = append(all, copied(s.Session))
		}
	}
	slices.SortFunc(all, func(a, b practice.Session) int {
		return cmp.Or(a.StartedAt.Compare(b.StartedAt), cmp.Compare(a.ID, b.ID))
	})
	return all
}

// RecentOutings implements progress.HabitKeeper.
func (t *tx) RecentOutings(_ context.Context, student domain.ID, limit int) ([]progress.SessionTime, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	var outings []progress.SessionTime
	for _, s := range t.log(student) {
		outings = append(outings, s.Time())
	}
	return outings[max(0, len(outings)-limit):], nil
}

// SessionCount implements progress.HabitKeeper.
func (t *tx) SessionCount(_ context.Context, student domain.ID) (int, error) {
	return t.habits[student].Sessions, t.call()
}

// SaveHabit implements progress.HabitKeeper.
func (t *tx) SaveHabit(_ context.Context, h progress.Habit) error {
	if err := t.change(); err != nil {
		return err
	}
	t.habits[h.Student] = copied(h)
	return nil
}

// Tracks implements progress.Keeper.
func (t *tx) Tracks(_ context.Context, student domain.ID, skills []domain.ID) (map[domain.ID]progress.Track, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	found := map[domain.ID]progress.Track{}
	for _, id := range skills {
		if track, ok := t.tracks[atSkill{student, id}]; ok {
			found[id] = copied(track)
		}
	}
	return found, nil
}

// SaveTrack implements progress.Keeper.
func (t *tx) SaveTrack(_ context.Context, track progress.Track) error {
	if err := t.change(); err != nil {
		return err
	}
	t.tracks[atSkill{track.Student, track.Skill}] = copied(track)
	return nil
}

// ReplaceDigests implements progress.Keeper.
func (t *tx) ReplaceDigests(_ context.Context, _, session domain.ID, digests []progress.SessionSummary) error {
	if err := t.change(); err != nil {
		return err
	}
	for key := range t.digests {
		if key.session == session {
			delete(t.digests, key)
		}
	}
	for _, d := range digests {
		t.digests[inSession{session, d.Skill}] = copied(d)
	}
	return nil
}

// ReplaceReadings implements progress.Keeper.
func (t *tx) ReplaceReadings(_ context.Context, _ domain.ID, d progress.SessionSummary) error {
	if err := t.change(); err != nil {
		return err
	}
	key := inSession{d.Session, d.Skill}
	kept := t.digests[key]
	kept.Results = copied(d.Results)
	t.digests[key] = kept
	return nil
}

// History implements progress.Keeper.
func (t *tx) History(_ context.Context, student, skill domain.ID) ([]progress.Play, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	var plays []progress.Play
	for _, s := range t.log(student) {
		for _, p := range s.Plays() {
			if p.Skill == skill {
				plays = append(plays, p)
			}
		}
	}
	return plays, nil
}

// DigestsOf implements progress.Keeper.
func (t *tx) DigestsOf(_ context.Context, session domain.ID) ([]progress.SessionSummary, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	var found []progress.SessionSummary
	for key, d := range t.digests {
		if key.session == session {
			d.Results = nil
			found = append(found, d)
		}
	}
	return found, nil
}

// readings gives what all sessions of a student say of a skill, oldest first.
func (t *tx) readings(student, skill domain.ID) []progress.TierResult {
	var all []progress.TierResult
	for _, s := range t.log(student) {
		all = append(all, copied(t.digests[inSession{s.ID, skill}].Results)...)
	}
	return all
}

// LatestStart implements progress.Keeper.
func (t *tx) LatestStart(_ context.Context, student, skill domain.ID) (latest time.Time, err error) {
	if err := t.call(); err != nil {
		return latest, err
	}
	for key, d := range t.digests {
		if t.sessions[key.session].Student == student && key.skill == skill && d.StartedAt.After(latest) {
			latest = d.StartedAt
		}
	}
	return latest, nil
}

// FirstHits implements progress.Keeper.
func (t *tx) FirstHits(_ context.Context, student, skill domain.ID, tiers []streak.Tier) ([]progress.Milestone, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	var made []progress.Milestone
	for _, tier := range tiers {
		var hits []progress.Hit
		for _, r := range t.readings(student, skill) {
			if r.Tier == tier && r.Attained != nil {
				hits = append(hits, *r.Attained)
			}
		}
		if len(hits) == 0 {
			continue
		}
		first := slices.MinFunc(hits, func(a, b progress.Hit) int {
			return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Session, b.Session))
		})
		made = append(made, progress.Milestone{Student: student, Skill: skill, Tier: tier, Hit: first})
	}
	return made, nil
}

// RecentReadings implements progress.Keeper.
func (t *tx) RecentReadings(_ context.Context, student, skill domain.ID, tier streak.Tier, limit int) ([]progress.TierResult, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	all := slices.DeleteFunc(t.readings(student, skill), func(r progress.TierResult) bool {
		return r.Tier != tier || r.Judged+r.Unmeasured == 0
	})
	return all[max(0, len(all)-limit):], nil
}

// BestRun implements progress.Keeper.
func (t *tx) BestRun(_ context.Context, student, skill domain.ID, tier streak.Tier) (best streak.Run, err error) {
	if err := t.call(); err != nil {
		return best, err
	}
	for _, r := range t.readings(student, skill) {
		longer := r.Best.Length > best.Length || r.Best.Length == best.Length && r.Best.Holed > best.Holed
		if r.Tier == tier && longer {
			best = r.Best
		}
	}
	return best, nil
}

// Totals implements progress.Keeper.
func (t *tx) Totals(_ context.Context, student, skill domain.ID) (progress.Tally, error) {
	return t.states[atSkill{student, skill}].Totals, t.call()
}

// SaveState implements progress.Keeper.
func (t *tx) SaveState(_ context.Context, s progress.State) error {
	if err := t.change(); err != nil {
		return err
	}
	t.states[atSkill{s.Student, s.Skill}] = copied(s)
	return nil
}

// ForgetState implements progress.Keeper.
func (t *tx) ForgetState(_ context.Context, student, skill domain.ID) error {
	if err := t.change(); err != nil {
		return err
	}
	delete(t.states, atSkill{student, skill})
	return nil
}

// ReplaceMilestones implements progress.Keeper.
func (t *tx) ReplaceMilestones(_ context.Context, student, skill domain.ID, ms []progress.Milestone) error {
	if err := t.change(); err != nil {
		return err
	}
	if delete(t.milestones, atSkill{student, skill}); len(ms) > 0 {
		t.milestones[atSkill{student, skill}] = copied(ms)
	}
	return nil
}

// AddToWeek implements progress.Keeper.
func (t *tx) AddToWeek(_ context.Context, student, skill domain.ID, week domain.Date, delta progress.Tally) error {
	if err := t.change(); err != nil {
		return err
	}
	key := inWeek{atSkill{student, skill}, week}
	sum := t.weeks[key].Plus(delta)
	if delete(t.weeks, key); sum.Sessions != 0 {
		t.weeks[key] = sum
	}
	return nil
}
