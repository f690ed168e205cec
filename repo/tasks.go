package repo

import (
	"context"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
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
