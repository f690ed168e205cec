package repo

import (
	"context"
	"slices"

	"fringework/domain"
	"fringework/domain/practice"
	"fringework/domain/progress"
)

// StudentIDs implements practice.RebuildStore.
func (a *Academy) StudentIDs(ctx context.Context) ([]domain.ID, error) {
	var ids []domain.ID
	err := on(ctx, a.tx).Raw("SELECT id FROM members m WHERE academy_id = ? AND (role = 'student'"+
		" OR EXISTS (SELECT 1 FROM sessions s WHERE s.academy_id = m.academy_id AND s.student_id = m.id)) ORDER BY id", a.id).Scan(&ids).Error
	return ids, fail(err, "student")
}

// Log implements practice.RebuildStore, oldest first. When writing it locks the
// student.
func (a *Academy) Log(ctx context.Context, student domain.ID) ([]practice.Session, error) {
	if err := a.lockStudent(ctx, student); err != nil {
		return nil, err
	}
	var rows []sessionRow
	if err := a.standingSessions(ctx, student).Order("started_at, id").Find(&rows).Error; err != nil {
		return nil, fail(err, "student")
	}
	return a.withBlocks(ctx, rows, true)
}

// Kept implements practice.RebuildStore.
func (a *Academy) Kept(ctx context.Context, student domain.ID) (k practice.Kept, err error) {
	one := []domain.ID{student}
	if k.Digests, err = a.allDigests(ctx, student); err != nil {
		return k, err
	}
	if k.States, err = a.States(ctx, one); err != nil {
		return k, err
	}
	if k.Milestones, err = a.Milestones(ctx, one); err != nil {
		return k, err
	}
	habits, err := a.Habits(ctx, one)
	if err != nil {
		return k, err
	}
	k.Habit = habits[student]
	if k.Weeks, err = a.allWeeks(ctx, student); err != nil {
		return k, err
	}
	k.Counts, err = a.sessionCounts(ctx, student)
	k.Sort()
	return k, err
}

func (a *Academy) allDigests(ctx context.Context, student domain.ID) ([]progress.SessionSummary, error) {
	var rows []digestRow
	if err := a.forStudent(ctx, student).Order("session_id, skill_id").Find(&rows).Error; err != nil {
		return nil, fail(err, "student")
	}
	var readings []readingRow
	if err := a.forStudent(ctx, student).Find(&readings).Error; err != nil {
		return nil, fail(err, "student")
	}
	slices.SortFunc(readings, byTier)
	type key struct{ session, skill domain.ID }
	of := map[key][]progress.TierResult{}
	for _, row := range readings {
		r, err := row.reading()
		if err != nil {
			return nil, err
		}
		of[key{row.SessionID, row.SkillID}] = append(of[key{row.SessionID, row.SkillID}], r)
	}
	return tryEach(rows, func(r digestRow) (progress.SessionSummary, error) {
		d, err := r.digest()
		d.Results = of[key{r.SessionID, r.SkillID}]
		return d, err
	})
}

func (a *Academy) allWeeks(ctx context.Context, student domain.ID) ([]practice.SkillWeek, error) {
	var rows []weekRow
	if err := a.forStudent(ctx, student).Find(&rows).Error; err != nil {
		return nil, fail(err, "student")
	}
	return tryEach(rows, func(r weekRow) (practice.SkillWeek, error) {
		week, err := date(r.Week)
		return practice.SkillWeek{Skill: r.SkillID, Week: week, Tally: progress.Tally(r.Tally)}, err
	})
}

func (a *Academy) sessionCounts(ctx context.Context, student domain.ID) ([]practice.AssignmentCount, error) {
	var rows []assignmentRow
	err := a.forStudent(ctx, student).Select("id", "sessions").Where("sessions <> 0").Find(&rows).Error
	if err != nil {
		return nil, fail(err, "student")
	}
	return each(rows, func(r assignmentRow) practice.AssignmentCount {
		return practice.AssignmentCount{Assignment: r.ID, Sessions: r.Sessions}
	}), nil
}

// ReplaceKept implements practice.RebuildStore.
func (a *Academy) ReplaceKept(ctx context.Context, student domain.ID, k practice.Kept) error {
	if err := a.lockStudent(ctx, student); err != nil {
		return err
	}
	for _, row := range []any{&readingRow{}, &digestRow{}, &stateRow{}, &milestoneRow{}, &habitRow{}, &weekRow{}} {
		if err := a.forStudent(ctx, student).Delete(row).Error; err != nil {
			return err
		}
	}
	err := on(ctx, a.tx).Exec("UPDATE assignments SET sessions = 0 WHERE academy_id = ? AND student_id = ?", a.id, student).Error
	if err != nil {
		return err
	}
	return a.addKept(ctx, student, k)
}

func (a *Academy) addKept(ctx context.Context, student domain.ID, k practice.Kept) error {
	for part := range slices.Chunk(k.Digests, perInsert) {
		if err := a.addDigests(ctx, student, part); err != nil {
			return err
		}
	}
	states := each(k.States, a.stateRow)
	if err := a.insert(ctx, states, len(states), "skill"); err != nil {
		return err
	}
	milestones := each(k.Milestones, a.milestoneRow)
	if err := a.insert(ctx, milestones, len(milestones), "session"); err != nil {
		return err
	}
	weeks := each(k.Weeks, func(w practice.SkillWeek) weekRow {
		return weekRow{AcademyID: a.id, StudentID: student, Week: w.Week.String(), SkillID: w.Skill, Tally: tally(w.Tally)}
	})
	for part := range slices.Chunk(weeks, perInsert) {
		if err := a.insert(ctx, part, len(part), "skill"); err != nil {
			return err
		}
	}
	for _, c := range k.Counts {
		if err := a.CountSession(ctx, c.Assignment, c.Sessions); err != nil {
			return err
		}
	}
	return a.SaveHabit(ctx, k.Habit)
}
