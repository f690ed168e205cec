package domaintest

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/practice"
	"fringework/domain/progress"
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
	return copied(s.Session), nil
}

// Open implements practice.Store.
func (t *tx) Open(_ context.Context, q practice.Opening) (practice.Opened, error) {
	if err := t.change(); err != nil {
		return practice.Opened{}, err
	}
	o := practice.Opened{Records: map[domain.ID]progress.Record{}}
	before, known := t.sessions[q.Session]
	o.Before, o.Fingerprint, o.Known = copied(before.Session), before.print, known
	if q.Student == "" {
		if q.Student = before.Student; !known {
			return o, nil
		}
	}
	o.Student, o.Linked = t.members[q.Student], t.links[link{q.Asker, q.Student}]
	skills := slices.Clone(q.Skills)
	for _, b := range before.Blocks {
		skills = append(skills, b.Skill)
	}
	for _, id := range skills {
		if _, ok := t.skills[id]; ok {
			o.Records[id] = t.record(atSkill{q.Student, id}, progress.PeriodOf(q.Start), progress.PeriodOf(before.StartedAt))
		}
	}
	o.Assignment = copied(t.assignments[q.Assignment])
	o.Adjustments = t.adjusted(func(a academy.Adjustment) bool { return q.Assignment != "" && a.Student == q.Student })
	if number := cmp.Or(q.Version, o.Assignment.Version); o.Assignment.ID != "" {
		o.Version = copied(t.versions[academy.VersionKey{Programme: o.Assignment.Programme, Number: number}])
	}
	o.Habit = copied(t.habits[q.Student])
	o.Overlapping = t.overlapping(q.Student, q.Session, q.Start, q.End)
	return o, nil
}

// Save implements practice.Store.
func (t *tx) Save(_ context.Context, c practice.Change) error {
	if err := t.change(); err != nil {
		return err
	}
	stands, known := t.sessions[c.Session.ID]
	if known != c.Known || known && (stands.Student != c.Session.Student || stands.Revision >= c.Session.Revision) {
		return domain.Errorf(domain.Stale, "stale", "The session has changed meanwhile.")
	}
	if err := t.refer(c.Session); err != nil {
		return err
	}
	t.sessions[c.Session.ID] = stored{copied(c.Session), c.Fingerprint, c.Untold, c.Session.Counts()}
	t.changes++
	for _, s := range c.Skills {
		key := atSkill{s.State.Student, s.State.Skill}
		t.keep(key, s.Periods)
		if t.states[key] = copied(s.State); s.Forget {
			delete(t.states, key)
		}
	}
	t.habits[c.Habit.Student] = copied(c.Habit)
	for _, n := range c.Counts {
		a := t.assignments[n.Assignment]
		a.Sessions += n.Sessions
		t.assignments[n.Assignment] = a
	}
	return nil
}

// Untold implements practice.PauseStore.
func (t *tx) Untold(_ context.Context, id domain.ID) (bool, error) {
	return t.sessions[id].untold, t.call()
}

// MarkTold implements practice.PauseStore.
func (t *tx) MarkTold(_ context.Context, id domain.ID) error {
	if err := t.change(); err != nil {
		return err
	}
	if s, ok := t.sessions[id]; ok {
		s.untold = false
		t.sessions[id] = s
	}
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
			!f.Until.IsZero() && !s.StartedAt.Before(f.Until) || s.ReceivedAt.Before(f.UpdatedSince)
	})
	for i := range all {
		for j := range all[i].Blocks {
			if f.Balls {
				continue
			}
			all[i].Blocks[j].Balls = nil
		}
	}
	return all[:min(len(all), max(1, f.Limit))], nil
}

// Overlapping implements practice.ReadStore.
func (t *tx) Overlapping(_ context.Context, s practice.Session) ([]practice.Session, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	return t.overlapping(s.Student, s.ID, s.StartedAt, s.Until()), nil
}

func (t *tx) overlapping(student, except domain.ID, start, end time.Time) []practice.Session {
	var found []practice.Session
	for _, o := range t.log(student) {
		if start.Before(end) && o.ID != except && o.StartedAt.Before(end) && start.Before(o.Until()) && o.StartedAt.Before(o.Until()) {
			o.Blocks = nil
			found = append(found, o)
		}
	}
	return found
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
	if _, ok := t.sessions[c.Session]; !ok {
		return domain.ErrNotFound("session")
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
		if m.Role == domain.Student || t.practised(id) {
			ids = append(ids, id)
		}
	}
	slices.Sort(ids)
	return ids, nil
}

// practised reports whether there is a session of a member, be it deleted.
func (t *tx) practised(member domain.ID) bool {
	for _, s := range t.sessions {
		if s.Student == member {
			return true
		}
	}
	return false
}

// refer holds a session to what it names being there.
func (t *tx) refer(s practice.Session) error {
	if _, ok := t.members[s.Student]; !ok {
		return domain.ErrNotFound("student")
	}
	if a, ok := t.assignments[s.Assignment]; s.Assignment != "" && (!ok || a.Student != s.Student) {
		return domain.ErrNotFound("assignment")
	}
	for _, b := range s.Blocks {
		if _, ok := t.skills[b.Skill]; !ok {
			return domain.ErrNotFound("skill")
		}
	}
	return nil
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
	for key, s := range t.states {
		if key.student == student {
			k.States = append(k.States, copied(s))
		}
	}
	for key, periods := range t.periods {
		if key.student == student {
			k.Periods = append(k.Periods, copied(periods)...)
		}
	}
	for id, s := range t.sessions {
		if s.Student == student && s.counts {
			k.Counting = append(k.Counting, id)
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
	t.changes++
	if _, ok := t.members[student]; !ok {
		return domain.ErrNotFound("student")
	}
	for _, s := range k.States {
		t.states[atSkill{student, s.Skill}] = copied(s)
	}
	for _, p := range k.Periods {
		t.keep(atSkill{student, p.Skill}, []progress.Period{p})
	}
	for id, s := range t.sessions {
		if s.Student == student {
			s.counts = slices.Contains(k.Counting, id)
			t.sessions[id] = s
		}
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
	maps.DeleteFunc(t.states, func(key atSkill, _ progress.State) bool { return key.student == student })
	maps.DeleteFunc(t.periods, func(key atSkill, _ []progress.Period) bool { return key.student == student })
	for id, a := range t.assignments {
		if a.Student == student {
			a.Sessions = 0
			t.assignments[id] = a
		}
	}
}
