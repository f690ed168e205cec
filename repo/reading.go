package repo

import (
	"context"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/progress"
	"fringework/migrations"
)

// Each method here is one statement, however many students it is asked for.

// ofStudents starts a statement on some students' rows of a table.
func (a *Academy) ofStudents(ctx context.Context, students []domain.ID) *gorm.DB {
	return a.rows(ctx).Where(a.within("student_id", texts(students)))
}

// States implements academy.ReadStore.
func (a *Academy) States(ctx context.Context, students []domain.ID) ([]progress.State, error) {
	var rows []stateRow
	if err := a.ofStudents(ctx, students).Order("student_id, skill_id").Find(&rows).Error; err != nil {
		return nil, fail(err, "student")
	}
	return tryEach(rows, stateRow.state)
}

// Milestones implements academy.ReadStore.
func (a *Academy) Milestones(ctx context.Context, students []domain.ID) ([]progress.Milestone, error) {
	var rows []milestoneRow
	if err := a.ofStudents(ctx, students).Order(inOrderMade).Find(&rows).Error; err != nil {
		return nil, fail(err, "student")
	}
	return each(rows, milestoneRow.milestone), nil
}

// Habits implements academy.ReadStore. A student without practice has a habit
// of none.
func (a *Academy) Habits(ctx context.Context, students []domain.ID) (map[domain.ID]progress.Habit, error) {
	var rows []habitRow
	if err := a.ofStudents(ctx, students).Find(&rows).Error; err != nil {
		return nil, fail(err, "student")
	}
	habits := map[domain.ID]progress.Habit{}
	for _, id := range students {
		habits[id] = progress.Habit{Student: id}
	}
	for _, r := range rows {
		h, err := r.habit()
		if err != nil {
			return nil, err
		}
		habits[r.StudentID] = h
	}
	return habits, nil
}

// WeekTallies implements academy.ReadStore, in order of student, week and
// skill.
func (a *Academy) WeekTallies(ctx context.Context, students []domain.ID, weeks []domain.Date) ([]academy.WeekTally, error) {
	var rows []weekRow
	err := a.ofStudents(ctx, students).Where(a.within("week", each(weeks, domain.Date.String))).
		Order("student_id, week, skill_id").Find(&rows).Error
	if err != nil {
		return nil, fail(err, "student")
	}
	return tryEach(rows, func(r weekRow) (academy.WeekTally, error) {
		week, err := date(r.Week)
		return academy.WeekTally{Student: r.StudentID, Skill: r.SkillID, Week: week, Tally: progress.Tally(r.Tally)}, err
	})
}

// AssignmentsOf implements academy.ReadStore.
func (a *Academy) AssignmentsOf(ctx context.Context, students []domain.ID) ([]academy.Assignment, error) {
	var rows []assignmentRow
	if err := a.ofStudents(ctx, students).Where("ended_at IS NULL").Order("id").Find(&rows).Error; err != nil {
		return nil, fail(err, "student")
	}
	return tryEach(rows, assignmentRow.assignment)
}

// VersionsOf implements academy.ReadStore.
func (a *Academy) VersionsOf(ctx context.Context, as []academy.Assignment) (map[academy.VersionKey]curriculum.Version, error) {
	versions := map[academy.VersionKey]curriculum.Version{}
	wanted := map[academy.VersionKey]bool{}
	for _, x := range as {
		wanted[x.Pins()] = true
	}
	if len(wanted) == 0 {
		return versions, nil
	}
	var rows []versionRow
	if err := a.rows(ctx).Where(a.pinned(wanted)).Find(&rows).Error; err != nil {
		return nil, fail(err, "version")
	}
	for _, r := range rows {
		v, err := r.version()
		if err != nil {
			return nil, err
		}
		versions[academy.VersionKey{Programme: v.Programme, Number: v.Number}] = v
	}
	return versions, nil
}

// pinned is a condition on versions, one value to the statement like within.
func (a *Academy) pinned(keys map[academy.VersionKey]bool) clause.Expr {
	var pairs [][2]any
	for k := range keys {
		pairs = append(pairs, [2]any{k.Programme, k.Number})
	}
	pick := "SELECT json_extract(value, '$[0]'), json_extract(value, '$[1]') FROM json_each(?)"
	if a.engine == migrations.Postgres {
		pick = "SELECT p ->> 0, CAST(p ->> 1 AS bigint) FROM json_array_elements(CAST(? AS json)) AS p"
	}
	return clause.Expr{SQL: "(programme_id, number) IN (" + pick + ")", Vars: []any{encode(pairs)}}
}

// DoneInWeek implements academy.ReadStore.
func (a *Academy) DoneInWeek(ctx context.Context, assignment domain.ID, week int) (map[int]int, error) {
	var rows []struct{ Plan, Done int }
	err := a.rows(ctx).Model(&sessionRow{}).Select("plan", "COUNT(*) AS done").
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
