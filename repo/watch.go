package repo

import (
	"context"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
)

type toldReasonRow struct {
	AcademyID domain.ID
	StudentID domain.ID
	SkillID   domain.ID
	Reason    string
}

// TableName names the table.
func (toldReasonRow) TableName() string { return "told_reasons" }

// watchStore is the store of academy.WatchService.
type watchStore struct{ *scope }

// ToldReasons implements academy.WatchStore.
func (s watchStore) ToldReasons(ctx context.Context) ([]academy.ToldReason, error) {
	if s.writing {
		if err := advisory(on(ctx, s.tx), s.engine, "reasons of "+string(s.id)); err != nil {
			return nil, err
		}
	}
	var rows []toldReasonRow
	if err := s.rows(ctx).Order("student_id, skill_id, reason").Find(&rows).Error; err != nil {
		return nil, err
	}
	return each(rows, func(r toldReasonRow) academy.ToldReason {
		return academy.ToldReason{Student: r.StudentID, Skill: r.SkillID, Reason: advice.Reason(r.Reason)}
	}), nil
}

// SaveToldReasons implements academy.WatchStore.
func (s watchStore) SaveToldReasons(ctx context.Context, all []academy.ToldReason) error {
	if !s.writing {
		return errReadOnly
	}
	if err := s.rows(ctx).Delete(&toldReasonRow{}).Error; err != nil {
		return err
	}
	rows := each(all, func(r academy.ToldReason) toldReasonRow {
		return toldReasonRow{AcademyID: s.id, StudentID: r.Student, SkillID: r.Skill, Reason: string(r.Reason)}
	})
	return s.insert(ctx, &rows, len(rows), "student")
}

// Watching opens the store of academy.WatchService.
func (db *DB) Watching() domain.Transactor[academy.WatchStore] {
	return transactor[academy.WatchStore]{db, func(s *scope) academy.WatchStore { return watchStore{s} }}
}
