package repo

import (
	"context"

	"gorm.io/gorm/clause"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/progress"
	"fringework/migrations"
)

// Each method here is one statement, however many students it is asked for.

// Habits implements academy.ReadStore. A student without practice has a habit
// of none.
func (s readStore) Habits(ctx context.Context, students []domain.ID) (map[domain.ID]progress.Habit, error) {
	habits := map[domain.ID]progress.Habit{}
	for _, id := range students {
		habits[id] = progress.Habit{Student: id}
	}
	err := s.batch(ctx, query{
		sql:  "SELECT student_id, sessions, doc FROM habits WHERE academy_id = ? AND student_id ~",
		args: []any{s.id, s.list(texts(students))}, what: "student",
		row: func(scan func(...any) error) error {
			var r habitRow
			if err := scan(&r.StudentID, &r.Sessions, &r.Doc); err != nil {
				return err
			}
			h, err := r.habit()
			habits[r.StudentID] = h
			return err
		},
	})
	return habits, err
}

// AssignmentsOf implements academy.ReadStore.
func (s readStore) AssignmentsOf(ctx context.Context, students []domain.ID) ([]academy.Assignment, error) {
	var rows []assignmentRow
	if err := s.ofStudents(ctx, students).Where("ended_at IS NULL").Order("id").Find(&rows).Error; err != nil {
		return nil, fail(err, "student")
	}
	return tryEach(rows, assignmentRow.assignment)
}

// VersionsOf implements academy.ReadStore.
func (s readStore) VersionsOf(ctx context.Context, as []academy.Assignment) (map[academy.VersionKey]curriculum.Version, error) {
	found := map[academy.VersionKey]curriculum.Version{}
	missing := map[academy.VersionKey]bool{}
	for _, x := range as {
		if v, ok := s.versions.get(s.id, x.Pins()); ok {
			found[x.Pins()] = v
		} else {
			missing[x.Pins()] = true
		}
	}
	if len(missing) == 0 {
		return found, nil
	}
	var rows []versionRow
	if err := s.rows(ctx).Where(s.pinned(missing)).Find(&rows).Error; err != nil {
		return nil, fail(err, "version")
	}
	for _, r := range rows {
		v, err := r.version()
		if err != nil {
			return nil, err
		}
		key := academy.VersionKey{Programme: v.Programme, Number: v.Number}
		found[key] = v
		s.versions.put(s.id, key, v)
	}
	return found, nil
}

// pinned is a condition on versions, one value to the statement like within.
func (s *scope) pinned(keys map[academy.VersionKey]bool) clause.Expr {
	var pairs [][2]any
	for k := range keys {
		pairs = append(pairs, [2]any{k.Programme, k.Number})
	}
	pick := "SELECT json_extract(value, '$[0]'), json_extract(value, '$[1]') FROM json_each(?)"
	if s.engine == migrations.Postgres {
		pick = "SELECT p ->> 0, CAST(p ->> 1 AS bigint) FROM json_array_elements(CAST(? AS json)) AS p"
	}
	return clause.Expr{SQL: "(programme_id, number) IN (" + pick + ")", Vars: []any{encode(pairs)}}
}

// DoneInWeek implements academy.ReadStore.
func (s readStore) DoneInWeek(ctx context.Context, assignment domain.ID, week int) (map[int]int, error) {
	var rows []struct{ Plan, Done int }
	err := s.rows(ctx).Model(&sessionRow{}).Select("plan", "COUNT(*) AS done").
		Where("assignment_id = ? AND week = ? AND deleted_at IS NULL", assignment, week).Group("plan").Scan(&rows).Error
	if err != nil {
		return nil, fail(err, "assignment")
	}
	done := map[int]int{}
	for _, r := range rows {
		done[r.Plan] = r.Done
	}
	return done, nil
}
