package domaintest

import (
	"cmp"
	"context"
	"crypto/sha256"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// Session implements practice.Store.
func (t *tx) Session(_ context.Context, id domain.ID) (practice.Session, error) {
	if err := t.call(); err != nil {
		return practice.Session{}, err
	}
	s, ok := t.sessions[id]
	if !ok {
		return practice.Session{}, domain.ErrNotFound("session")
	}
	return counted(s.Session), nil
}

// counted gives a copy of a session with its blocks' counts filled in.
func counted(s practice.Session) practice.Session {
	s = copied(s)
	for i := range s.Blocks {
		b := &s.Blocks[i]
		b.Counts = practice.BlockCounts{Balls: len(b.Balls)}
		for _, ball := range b.Balls {
			if ball.Outcome != streak.Out {
				b.Counts.Inside++
			}
			if ball.Outcome == streak.Holed {
				b.Counts.Holed++
			}
		}
	}
	return s
}

// Stored implements practice.Store.
func (t *tx) Stored(_ context.Context, id domain.ID) (practice.Session, [sha256.Size]byte, bool, error) {
	if err := t.call(); err != nil {
		return practice.Session{}, [sha256.Size]byte{}, false, err
	}
	s, ok := t.sessions[id]
	s.Blocks, s.Missed = nil, nil
	return s.Session, s.print, ok, nil
}

// SaveSession implements practice.Store.
func (t *tx) SaveSession(_ context.Context, s practice.Session, fingerprint [sha256.Size]byte) error {
	if err := t.change(); err != nil {
		return err
	}
	t.sessions[s.ID] = stored{copied(s), fingerprint}
	return nil
}

// Sessions implements practice.Store.
func (t *tx) Sessions(_ context.Context, f practice.SessionFilter) ([]practice.Session, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	all := t.log(f.Student)
	slices.Reverse(all)
	all = slices.DeleteFunc(all, func(s practice.Session) bool {
		before := cmp.Or(s.StartedAt.Compare(f.Before), cmp.Compare(s.ID, f.BeforeID)) < 0
		return !f.Before.IsZero() && !before || !f.From.IsZero() && s.StartedAt.Before(f.From) ||
			!f.Until.IsZero() && !s.StartedAt.Before(f.Until)
	})
	for i := range all {
		all[i] = counted(all[i])
		for j := range all[i].Blocks {
			all[i].Blocks[j].Balls = nil
		}
	}
	return all[:min(len(all), max(1, f.Limit))], nil
}

// Overlapping implements practice.Store.
func (t *tx) Overlapping(_ context.Context, s practice.Session) ([]practice.Session, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	return slices.DeleteFunc(t.log(s.Student), func(o practice.Session) bool {
		return o.ID == s.ID || !o.StartedAt.Before(end(s)) || !s.StartedAt.Before(end(o))
	}), nil
}

// end is when a session ended; one that goes on lasts until its blocks' time is
// up.
func end(s practice.Session) time.Time {
	if !s.EndedAt.IsZero() {
		return s.EndedAt
	}
	at := s.StartedAt
	for _, b := range s.Blocks {
		at = at.Add(time.Duration(b.Seconds) * time.Second)
	}
	return at
}

// MilestonesOf implements practice.Store.
func (t *tx) MilestonesOf(_ context.Context, session domain.ID) ([]progress.Milestone, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	var made []progress.Milestone
	for _, ms := range t.milestones {
		for _, m := range ms {
			if m.Session == session {
				made = append(made, m)
			}
		}
	}
	slices.SortFunc(made, compareMilestones)
	return made, nil
}

func compareMilestones(a, b progress.Milestone) int {
	return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Skill, b.Skill), progress.CompareTiers(a.Tier, b.Tier))
}

// ReadingsOf implements practice.Store.
func (t *tx) ReadingsOf(_ context.Context, session domain.ID) (map[domain.ID][]progress.TierResult, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	found := map[domain.ID][]progress.TierResult{}
	for key, d := range t.digests {
		if key.session == session {
			found[key.skill] = copied(d.Results)
		}
	}
	return found, nil
}

// CountSession implements practice.Store.
func (t *tx) CountSession(_ context.Context, assignment domain.ID, delta int) error {
	if err := t.change(); err != nil {
		return err
	}
	a := t.assignments[assignment]
	a.Sessions += delta
	t.assignments[assignment] = a
	return nil
}

// Comments implements practice.Store.
func (t *tx) Comments(_ context.Context, session domain.ID) ([]practice.Comment, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	var found []practice.Comment
	for _, c := range t.comments {
		if c.Session == session {
			found = append(found, c)
		}
	}
	slices.SortFunc(found, func(a, b practice.Comment) int { return compareIDs(a.ID, b.ID) })
	return found, nil
}

// AddComment implements practice.Store.
func (t *tx) AddComment(_ context.Context, c practice.Comment) error {
	if err := t.change(); err != nil {
		return err
	}
	t.comments[c.ID] = c
	return nil
}

// StudentIDs implements practice.RebuildStore.
func (t *tx) StudentIDs(context.Context) ([]domain.ID, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	var ids []domain.ID
	for id, m := range t.members {
		if m.Role == domain.Student {
			ids = append(ids, id)
		}
	}
	slices.Sort(ids)
	return ids, nil
}

// Log implements practice.RebuildStore, in no particular order.
func (t *tx) Log(_ context.Context, student domain.ID) ([]practice.Session, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	all := t.log(student)
	slices.Reverse(all)
	return all, nil
}

// AllTracks implements practice.RebuildStore.
func (t *tx) AllTracks(_ context.Context, student domain.ID) ([]progress.Track, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	var found []progress.Track
	for key, track := range t.tracks {
		if key.student == student {
			found = append(found, copied(track))
		}
	}
	return found, nil
}

// Kept implements practice.RebuildStore.
func (t *tx) Kept(_ context.Context, student domain.ID) (practice.Kept, error) {
	if err := t.call(); err != nil {
		return practice.Kept{}, err
	}
	k := practice.Kept{Habit: copied(t.habits[student])}
	k.Habit.Student = student
	for key, d := range t.digests {
		if t.sessions[key.session].Student == student {
			k.Digests = append(k.Digests, copied(d))
		}
	}
	for key, s := range t.states {
		if key.student == student {
			k.States = append(k.States, copied(s))
		}
	}
	for key, ms := range t.milestones {
		if key.student == student {
			k.Milestones = append(k.Milestones, copied(ms)...)
		}
	}
	for key, tally := range t.weeks {
		if key.student == student {
			k.Weeks = append(k.Weeks, practice.SkillWeek{Skill: key.skill, Week: key.week, Tally: tally})
		}
	}
	for id, a := range t.assignments {
		if a.Student == student && a.Sessions != 0 {
			k.Counts = append(k.Counts, practice.AssignmentCount{Assignment: id, Sessions: a.Sessions})
		}
	}
	k.Sort()
	return k, nil
}

// ReplaceKept implements practice.RebuildStore.
func (t *tx) ReplaceKept(_ context.Context, student domain.ID, k practice.Kept) error {
	if err := t.change(); err != nil {
		return err
	}
	t.forget(student)
	for _, d := range k.Digests {
		t.digests[inSession{d.Session, d.Skill}] = copied(d)
	}
	for _, s := range k.States {
		t.states[atSkill{student, s.Skill}] = copied(s)
	}
	for _, m := range k.Milestones {
		key := atSkill{student, m.Skill}
		t.milestones[key] = append(slices.Clone(t.milestones[key]), m)
	}
	for _, w := range k.Weeks {
		t.weeks[inWeek{atSkill{student, w.Skill}, w.Week}] = w.Tally
	}
	for _, c := range k.Counts {
		a := t.assignments[c.Assignment]
		a.Sessions = c.Sessions
		t.assignments[c.Assignment] = a
	}
	t.habits[student] = copied(k.Habit)
	return nil
}

// forget drops all that is kept of a student.
func (t *tx) forget(student domain.ID) {
	for key := range t.digests {
		if t.sessions[key.session].Student == student {
			delete(t.digests, key)
		}
	}
	for key := range t.states {
		if key.student == student {
			delete(t.states, key)
		}
	}
	for key := range t.milestones {
		if key.student == student {
			delete(t.milestones, key)
		}
	}
	for key := range t.weeks {
		if key.student == student {
			delete(t.weeks, key)
		}
	}
	for id, a := range t.assignments {
		if a.Student == student {
			a.Sessions = 0
			t.assignments[id] = a
		}
	}
}
