package repo

import (
	"context"
	"errors"

	"fringework/domain"
	"fringework/domain/practice"
	"fringework/domain/progress"
)

// StudentIDs implements practice.RebuildStore.
func (s rebuildStore) StudentIDs(ctx context.Context) ([]domain.ID, error) {
	var ids []domain.ID
	err := on(ctx, s.tx).Raw("SELECT id FROM members m WHERE academy_id = ? AND (role = 'student'"+
		" OR EXISTS (SELECT 1 FROM sessions s WHERE s.academy_id = m.academy_id AND s.student_id = m.id)) ORDER BY id", s.id).Scan(&ids).Error
	return ids, fail(err, "student")
}

// Log implements practice.RebuildStore, oldest first. When writing it locks the
// student.
func (s rebuildStore) Log(ctx context.Context, student domain.ID) ([]practice.Session, error) {
	if err := s.lockStudent(ctx, student); err != nil {
		return nil, err
	}
	var rows []sessionRow
	if err := s.undeleted(ctx, student).Order("started_at, id").Find(&rows).Error; err != nil {
		return nil, fail(err, "student")
	}
	return sessionsOf(rows, true)
}

// AllTracks implements practice.RebuildStore. When writing it locks the
// student.
func (s rebuildStore) AllTracks(ctx context.Context, student domain.ID) ([]progress.Track, error) {
	if err := s.lockStudent(ctx, student); err != nil {
		return nil, err
	}
	var rows []trackRow
	if err := s.forStudent(ctx, student).Order("skill_id").Find(&rows).Error; err != nil {
		return nil, fail(err, "student")
	}
	return tryEach(rows, trackRow.track)
}

// Kept implements practice.RebuildStore. What is damaged is left out, so that a
// rebuild finds it missing.
func (s rebuildStore) Kept(ctx context.Context, student domain.ID) (k practice.Kept, err error) {
	k.Habit.Student = student
	err = s.batch(ctx, query{
		sql:  "SELECT skill_id, held, recent_judged, recent_inside, doc FROM states WHERE academy_id = ? AND student_id = ?",
		args: []any{s.id, student}, what: "student",
		row: func(scan func(...any) error) error {
			r := stateRow{StudentID: student}
			if err := scan(&r.SkillID, &r.Held, &r.RecentJudged, &r.RecentInside, &r.Doc); err != nil {
				return err
			}
			st, err := r.state()
			if err == nil && (r.Held != st.Held || r.RecentJudged != st.Recent.Judged || r.RecentInside != st.Recent.Inside) {
				err = errDamaged
			}
			return undamaged(&k.States, st, err)
		},
	}, query{
		sql: "SELECT sessions, doc FROM habits WHERE academy_id = ? AND student_id = ?", args: []any{s.id, student}, what: "student",
		row: func(scan func(...any) error) error {
			r := habitRow{StudentID: student}
			if err := scan(&r.Sessions, &r.Doc); err != nil {
				return err
			}
			habit, err := r.habit()
			if errors.Is(err, errDamaged) {
				return nil
			}
			k.Habit = habit
			return err
		},
	}, query{
		sql:  "SELECT skill_id, period, said, doc FROM skill_periods WHERE academy_id = ? AND student_id = ?",
		args: []any{s.id, student}, what: "student",
		row: func(scan func(...any) error) error {
			r := periodRow{StudentID: student}
			if err := scan(&r.SkillID, &r.Period, &r.Said, &r.Doc); err != nil {
				return err
			}
			p, err := r.period()
			if err == nil && r.Said != p.Said() {
				err = errDamaged
			}
			return undamaged(&k.Periods, p, err)
		},
	}, query{
		sql:  "SELECT id FROM sessions WHERE academy_id = ? AND student_id = ? AND counts = 1",
		args: []any{s.id, student}, what: "student",
		row: func(scan func(...any) error) error {
			var id domain.ID
			err := scan(&id)
			k.Counting = append(k.Counting, id)
			return err
		},
	}, query{
		sql:  "SELECT id, sessions FROM assignments WHERE academy_id = ? AND student_id = ? AND sessions <> 0",
		args: []any{s.id, student}, what: "student",
		row: func(scan func(...any) error) error {
			var c practice.AssignmentCount
			err := scan(&c.Assignment, &c.Sessions)
			k.Counts = append(k.Counts, c)
			return err
		},
	})
	k.Sort()
	return k, err
}

// undamaged adds what could be read of a row.
func undamaged[T any](all *[]T, v T, err error) error {
	if err == nil {
		*all = append(*all, v)
	}
	if errors.Is(err, errDamaged) {
		return nil
	}
	return err
}

// ReplaceKept implements practice.RebuildStore.
func (s rebuildStore) ReplaceKept(ctx context.Context, student domain.ID, k practice.Kept) error {
	if !s.writing {
		return errReadOnly
	}
	if err := s.lockStudent(ctx, student); err != nil {
		return err
	}
	queries := []query{
		{sql: "DELETE FROM skill_periods WHERE academy_id = ? AND student_id = ?", args: []any{s.id, student}},
		{sql: "DELETE FROM states WHERE academy_id = ? AND student_id = ?", args: []any{s.id, student}},
		{sql: "UPDATE sessions SET counts = 0 WHERE academy_id = ? AND student_id = ? AND counts = 1", args: []any{s.id, student}},
		{sql: "UPDATE sessions SET counts = 1 WHERE academy_id = ? AND id ~", args: []any{s.id, s.list(texts(k.Counting))}},
		{sql: "UPDATE assignments SET sessions = 0 WHERE academy_id = ? AND student_id = ?", args: []any{s.id, student}},
	}
	var changes []practice.SkillChange
	for _, state := range k.States {
		c := practice.SkillChange{State: state}
		for _, p := range k.Periods {
			if p.Skill == state.Skill {
				c.Periods = append(c.Periods, p)
			}
		}
		changes = append(changes, c)
	}
	queries = append(append(queries, s.keepRecords(student, changes)...), s.keepHabit(k.Habit))
	for _, c := range k.Counts {
		queries = append(queries, query{
			sql:  "UPDATE assignments SET sessions = ? WHERE academy_id = ? AND id = ?",
			args: []any{c.Sessions, s.id, c.Assignment}, what: "assignment",
		})
	}
	return s.batch(ctx, queries...)
}

// Outdated lists academies whose progress is kept in another form than this
// release's, or was never made: it must be made anew from the sessions.
func (db *DB) Outdated(ctx context.Context) (ids []domain.ID, err error) {
	err = db.read(ctx, func(t *transaction) error {
		ids = nil
		return t.batch(ctx, query{
			sql: "SELECT id FROM academies WHERE progress_form <> ? ORDER BY id", args: []any{progressForm}, what: "academy",
			row: func(scan func(...any) error) error {
				var id domain.ID
				err := scan(&id)
				ids = append(ids, id)
				return err
			},
		})
	})
	return ids, err
}

// Updated notes that an academy's progress is kept in this release's form.
func (db *DB) Updated(ctx context.Context, academy domain.ID) error {
	return db.write(ctx, func(t *transaction) error {
		return t.batch(ctx, query{sql: "UPDATE academies SET progress_form = ? WHERE id = ?", args: []any{progressForm, academy}, what: "academy"})
	})
}
