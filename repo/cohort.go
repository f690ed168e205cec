package repo

import (
	"context"
	"time"

	"fringework/domain"
)

// SessionStarts implements academy.CohortStore.
func (s cohortStore) SessionStarts(ctx context.Context, students []domain.ID, since time.Time) (map[domain.ID][]time.Time, error) {
	found := map[domain.ID][]time.Time{}
	err := s.batch(ctx, query{
		sql: "SELECT student_id, started_at FROM sessions WHERE academy_id = ? AND student_id ~ AND started_at >= ? AND deleted_at IS NULL" +
			" ORDER BY student_id, started_at",
		args: []any{s.id, s.list(texts(students)), at(since)}, what: "student",
		row: func(scan func(...any) error) error {
			var student domain.ID
			var started int64
			err := scan(&student, &started)
			found[student] = append(found[student], instant(started))
			return err
		},
	})
	return found, err
}
