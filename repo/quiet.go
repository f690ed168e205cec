package repo

import (
	"context"

	"fringework/domain"
	"fringework/domain/academy"
)

// quieting reads what was said about quiet tests.
type quieting struct{ *scope }

// QuietWords implements academy.Quieting.
func (s quieting) QuietWords(ctx context.Context, student domain.ID) (words []academy.QuietWord, err error) {
	err = s.batch(ctx, query{
		sql: "SELECT side, agrees, by_id, at FROM quiet_words WHERE academy_id = ? AND student_id = ? ORDER BY at, side", args: []any{s.id, student}, what: "student",
		row: func(scan func(...any) error) error {
			w := academy.QuietWord{Student: student}
			var said int64
			err := scan(&w.Side, &w.Agrees, &w.By, &said)
			w.At = instant(said)
			words = append(words, w)
			return err
		},
	})
	return words, err
}

// quietStore keeps what is said about quiet tests.
type quietStore struct {
	*scope
	viewing
	quieting
}

// Quiet opens the store of academy.QuietService.
func (db *DB) Quiet() domain.Transactor[academy.QuietStore] {
	return transactor[academy.QuietStore]{db, func(s *scope) academy.QuietStore { return quietStore{s, viewing{s}, quieting{s}} }}
}

// SaveQuietWord implements academy.QuietStore.
func (s quietStore) SaveQuietWord(ctx context.Context, w academy.QuietWord) error {
	if !s.writing {
		return errReadOnly
	}
	return s.batch(ctx, query{
		sql: "INSERT INTO quiet_words (academy_id, student_id, at, side, agrees, by_id) VALUES (?, ?, ?, ?, ?, ?)" +
			" ON CONFLICT (academy_id, student_id, at, side) DO UPDATE SET agrees = excluded.agrees, by_id = excluded.by_id",
		args: []any{s.id, w.Student, at(w.At), w.Side, w.Agrees, w.By}, what: "student",
	})
}
