package repo

import (
	"context"

	"fringework/domain"
	"fringework/domain/practice"
)

// matchStore reads matches.
type matchStore struct {
	*scope
	viewing
	skills
	rowParts
}

// MatchSessions implements practice.MatchStore.
func (s matchStore) MatchSessions(ctx context.Context, match domain.ID, limit int) ([]practice.Session, error) {
	var rows []sessionRow
	q := s.scope.rows(ctx).Where("match_id = ? AND deleted_at IS NULL", match).Order("started_at, id").Limit(limit)
	if err := q.Find(&rows).Error; err != nil {
		return nil, fail(err, "match")
	}
	return sessionsOf(rows, true)
}

// Matches implements practice.MatchStore.
func (s matchStore) Matches(ctx context.Context, student domain.ID, limit int) (all []domain.ID, err error) {
	err = s.scope.batch(ctx, query{
		sql: "SELECT match_id FROM sessions WHERE academy_id = ? AND student_id = ? AND match_id IS NOT NULL AND deleted_at IS NULL" +
			" GROUP BY match_id ORDER BY max(started_at) DESC, match_id LIMIT ?",
		args: []any{s.scope.id, student, limit}, what: "student",
		row: func(scan func(...any) error) error {
			var id domain.ID
			err := scan(&id)
			all = append(all, id)
			return err
		},
	})
	return all, err
}
