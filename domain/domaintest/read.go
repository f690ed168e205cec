package domaintest

import (
	"cmp"
	"context"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/course"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/progress"
)

// States implements practice.ReadStore.
func (t *tx) States(_ context.Context, students []domain.ID) ([]progress.State, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	var found []progress.State
	for key, s := range t.states {
		if slices.Contains(students, key.student) {
			found = append(found, copied(s))
		}
	}
	slices.SortFunc(found, func(a, b progress.State) int {
		return cmp.Or(cmp.Compare(a.Student, b.Student), cmp.Compare(a.Skill, b.Skill))
	})
	return found, nil
}

// Stored implements academy.ReadStore.
func (t *tx) Stored(ctx context.Context, students []domain.ID) (stored academy.Stored, err error) {
	if stored.States, err = t.States(ctx, students); err != nil {
		return stored, err
	}
	stored.Priors = clonePriors(t.priors)
	stored.Habits = map[domain.ID]progress.Habit{}
	for _, id := range students {
		stored.Habits[id] = progress.Habit{Student: id}
		if h, ok := t.habits[id]; ok {
			stored.Habits[id] = copied(h)
		}
	}
	for _, a := range t.assignments {
		if slices.Contains(students, a.Student) && a.EndedAt.IsZero() {
			stored.Assignments = append(stored.Assignments, copied(a))
		}
	}
	stored.Course = t.tallies(students)
	stored.Seasons = map[domain.ID]academy.Season{}
	for _, id := range students {
		if s, ok := t.seasons[id]; ok {
			stored.Seasons[id] = copied(s)
		}
	}
	slices.SortFunc(stored.Assignments, func(a, b academy.Assignment) int { return compareIDs(a.ID, b.ID) })
	for _, k := range t.silences {
		if slices.Contains(students, k.Student) {
			stored.Acknowledgements = append(stored.Acknowledgements, k)
		}
	}
	slices.SortFunc(stored.Acknowledgements, func(a, b academy.Acknowledgement) int {
		return cmp.Or(cmp.Compare(a.Student, b.Student), cmp.Compare(a.Skill, b.Skill), cmp.Compare(a.Reason, b.Reason))
	})
	stored.Adjustments = t.adjusted(func(a academy.Adjustment) bool { return slices.Contains(students, a.Student) && a.EndedAt.IsZero() })
	return stored, nil
}

// VersionsOf implements academy.ReadStore.
func (t *tx) VersionsOf(_ context.Context, as []academy.Assignment) (map[academy.VersionKey]curriculum.Version, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	found := map[academy.VersionKey]curriculum.Version{}
	for _, a := range as {
		if v, ok := t.versions[a.Pins()]; ok {
			found[a.Pins()] = copied(v)
		}
	}
	return found, nil
}

// DoneInWeek implements academy.ReadStore.
func (t *tx) DoneInWeek(_ context.Context, as academy.Assignment, week int) (academy.WeekDone, error) {
	done := academy.WeekDone{Sessions: map[int]int{}, Dealt: map[academy.PlanBlock]int{}}
	if err := t.call(); err != nil {
		return done, err
	}
	for _, s := range t.sessions {
		if s.Assignment == as.ID && as.CountsFor(s.Version, s.Week) == week && !s.Deleted() {
			if s.counts {
				done.Sessions[s.Plan]++
			}
			s.AddDealt(done.Dealt)
		}
	}
	return done, nil
}

// Uncoached implements academy.ReadStore.
func (t *tx) Uncoached(context.Context) ([]domain.ID, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	coaches, coached := 0, map[domain.ID]bool{}
	for _, m := range t.members {
		if m.Role == domain.Coach && m.Active() {
			coaches++
		}
	}
	for l := range t.links {
		if m := t.members[l.member]; m.Role != domain.Guardian && m.Active() {
			coached[l.student] = true
		}
	}
	var ids []domain.ID
	for id, m := range t.members {
		if m.Role == domain.Student && m.Active() && coaches > 0 && !coached[id] {
			ids = append(ids, id)
		}
	}
	slices.Sort(ids)
	return ids, nil
}

// Freshness implements academy.FreshStore. Every change here is an event or
// counts as practice.
func (t *tx) Freshness(_ context.Context, student, member domain.ID) (academy.Freshness, error) {
	f := academy.Freshness{Event: int64(len(t.events)), Practice: int64(t.changes), Priors: int64(t.learned)}
	if student != "" {
		m, ok := t.members[student]
		if !ok {
			return f, domain.ErrNotFound("student")
		}
		f.Student, f.Linked, f.Zones = m, t.links[link{member, student}], []string{m.TimeZone}
		return f, t.call()
	}
	for l, marks := range t.marks {
		if l.member == member {
			f.Reads += int64(marks)
		}
	}
	for _, m := range t.members {
		if m.Role == domain.Student && !slices.Contains(f.Zones, m.TimeZone) {
			f.Zones = append(f.Zones, m.TimeZone)
		}
	}
	slices.Sort(f.Zones)
	return f, t.call()
}

// TaskCounts implements academy.ReadStore.
func (t *tx) TaskCounts(_ context.Context, student domain.ID, before time.Time, sessions int) (map[domain.ID][]curriculum.TaskCount, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	return practice.TaskCounts(t.lastSessions(sessions, func(s practice.Session) bool {
		return s.Student == student && s.StartedAt.Before(before)
	})), nil
}

// PlayedOut implements academy.ReadStore.
func (t *tx) PlayedOut(_ context.Context, student domain.ID, sessions int) (all []course.Outing, err error) {
	for _, s := range t.lastSessions(sessions, func(s practice.Session) bool { return s.Student == student && len(s.PlayedOut()) > 0 }) {
		all = append(all, s.PlayedOut()...)
	}
	return all, t.call()
}

// lastSessions gives the last sessions of those that stand, latest first.
func (t *tx) lastSessions(limit int, of func(practice.Session) bool) (found []practice.Session) {
	for _, s := range t.sessions {
		if !s.Deleted() && of(s.Session) {
			found = append(found, s.Session)
		}
	}
	slices.SortFunc(found, func(a, b practice.Session) int {
		return cmp.Or(b.StartedAt.Compare(a.StartedAt), compareIDs(b.ID, a.ID))
	})
	return found[:min(limit, len(found))]
}

// SessionStarts implements academy.CohortStore.
func (t *tx) SessionStarts(_ context.Context, students []domain.ID, since time.Time) (map[domain.ID][]time.Time, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	found := map[domain.ID][]time.Time{}
	for _, s := range t.sessions {
		if slices.Contains(students, s.Student) && !s.StartedAt.Before(since) && !s.Deleted() {
			found[s.Student] = append(found[s.Student], s.StartedAt)
		}
	}
	for _, starts := range found {
		slices.SortFunc(starts, time.Time.Compare)
	}
	return found, nil
}

// Cohorts opens the store for academy.CohortService.
func (m *Memory) Cohorts() domain.Transactor[academy.CohortStore] {
	return opener[academy.CohortStore]{m}
}

// PeriodsOf implements academy.ReadStore.
func (t *tx) PeriodsOf(_ context.Context, student domain.ID, since int) ([]progress.Period, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	var found []progress.Period
	for key, periods := range t.periods {
		for _, p := range periods {
			if key.student == student && p.Number >= since {
				found = append(found, copied(p))
			}
		}
	}
	slices.SortFunc(found, func(a, b progress.Period) int {
		return cmp.Or(cmp.Compare(a.Skill, b.Skill), cmp.Compare(a.Number, b.Number))
	})
	return found, nil
}
