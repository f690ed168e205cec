package repo

import (
	"context"
	"time"

	"fringework/domain"
	"fringework/domain/course"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/progress"
)

// TaskCounts implements academy.ReadStore.
func (s readStore) TaskCounts(ctx context.Context, student domain.ID, before time.Time, sessions int) (map[domain.ID][]curriculum.TaskCount, error) {
	var last []practice.Session
	err := s.batch(ctx, query{
		sql: "SELECT blocks FROM sessions WHERE academy_id = ? AND student_id = ? AND started_at < ? AND deleted_at IS NULL" +
			" ORDER BY started_at DESC, id DESC LIMIT ?",
		args: []any{s.id, student, at(before), sessions}, what: "student",
		row: func(scan func(...any) error) error {
			var packed []byte
			if err := scan(&packed); err != nil {
				return err
			}
			blocks, err := unpackBlocks(packed, true)
			last = append(last, practice.Session{Blocks: blocks})
			return err
		},
	})
	return practice.TaskCounts(last), err
}

// PeriodsOf implements academy.ReadStore.
func (s readStore) PeriodsOf(ctx context.Context, student domain.ID, since int) (periods []progress.Period, err error) {
	err = s.batch(ctx, query{
		sql:  "SELECT skill_id, period, doc FROM skill_periods WHERE academy_id = ? AND student_id = ? AND period >= ? ORDER BY skill_id, period",
		args: []any{s.id, student, since}, what: "student",
		row: func(scan func(...any) error) error {
			row := periodRow{StudentID: student}
			if err := scan(&row.SkillID, &row.Period, &row.Doc); err != nil {
				return err
			}
			p, err := row.period()
			periods = append(periods, p)
			return err
		},
	})
	return periods, err
}

// PlayedOut implements academy.ReadStore.
func (s readStore) PlayedOut(ctx context.Context, student domain.ID, sessions int) (all []course.Outing, err error) {
	err = s.batch(ctx, query{
		sql: "SELECT id, started_at, blocks FROM sessions WHERE academy_id = ? AND student_id = ? AND places > 0 AND deleted_at IS NULL" +
			" ORDER BY started_at DESC, id DESC LIMIT ?",
		args: []any{s.id, student, sessions}, what: "student",
		row: func(scan func(...any) error) error {
			var x practice.Session
			var packed []byte
			var started int64
			if err := scan(&x.ID, &started, &packed); err != nil {
				return err
			}
			x.StartedAt = instant(started)
			x.Blocks, err = unpackBlocks(packed, true)
			all = append(all, x.PlayedOut()...)
			return err
		},
	})
	return all, err
}
