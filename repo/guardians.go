package repo

import (
	"context"
	"crypto/sha256"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
)

// guardianStore keeps who reads a junior's data.
type guardianStore struct {
	*scope
	viewing
}

// Guardians opens the store of academy.GuardianService.
func (db *DB) Guardians() domain.Transactor[academy.GuardianStore] {
	return transactor[academy.GuardianStore]{db, func(s *scope) academy.GuardianStore { return guardianStore{s, viewing{s}} }}
}

// AskOfGuardians implements academy.Store.
func (s peopleStore) AskOfGuardians(ctx context.Context, student domain.ID, since time.Time) error {
	if !s.writing {
		return errReadOnly
	}
	return s.batch(ctx, query{
		sql:  "UPDATE guardianships SET asked_at = ? WHERE academy_id = ? AND student_id = ?",
		args: []any{maybeAt(since), s.id, student}, what: "student",
	})
}

// GuardiansOf implements academy.GuardianStore.
func (s guardianStore) GuardiansOf(ctx context.Context, student domain.ID) (all []academy.Guardian, err error) {
	err = s.batch(ctx, query{
		sql: "SELECT " + memberColumns + ", g.asked_at FROM guardianships g" +
			" JOIN members ON members.academy_id = g.academy_id AND members.id = g.guardian_id JOIN accounts ON accounts.id = members.account_id" +
			" WHERE g.academy_id = ? AND g.student_id = ? AND members.removed_at IS NULL ORDER BY members.id",
		args: []any{s.id, student}, what: "student",
		row: func(scan func(...any) error) error {
			var r memberRow
			var asked *int64
			err := scan(append(r.fields(), &asked)...)
			all = append(all, academy.Guardian{Member: r.member(), AskedAt: maybeInstant(asked)})
			return err
		},
	})
	return all, err
}

// Wards implements academy.GuardianStore.
func (s guardianStore) Wards(ctx context.Context, guardian domain.ID) (all []academy.Member, err error) {
	err = s.batch(ctx, query{
		sql: "SELECT " + memberColumns + " FROM guardianships g" +
			" JOIN members ON members.academy_id = g.academy_id AND members.id = g.student_id JOIN accounts ON accounts.id = members.account_id" +
			" WHERE g.academy_id = ? AND g.guardian_id = ? AND g.asked_at IS NULL AND members.removed_at IS NULL AND members.role = 'student' ORDER BY members.id",
		args: []any{s.id, guardian}, what: "guardian",
		row: func(scan func(...any) error) error {
			var r memberRow
			err := scan(r.fields()...)
			all = append(all, r.member())
			return err
		},
	})
	return all, err
}

// LetGuardian implements academy.GuardianStore.
func (s guardianStore) LetGuardian(ctx context.Context, guardian, student domain.ID) (bool, error) {
	return s.did(ctx, "UPDATE guardianships SET asked_at = NULL WHERE academy_id = ? AND guardian_id = ? AND student_id = ? AND asked_at IS NOT NULL", guardian, student)
}

// EndGuardian implements academy.GuardianStore.
func (s guardianStore) EndGuardian(ctx context.Context, guardian, student domain.ID) (bool, error) {
	return s.did(ctx, "DELETE FROM guardianships WHERE academy_id = ? AND guardian_id = ? AND student_id = ?", guardian, student)
}

// did reports whether a statement on some of the academy's rows changed any.
func (s *scope) did(ctx context.Context, text string, ids ...domain.ID) (changed bool, err error) {
	if !s.writing {
		return false, errReadOnly
	}
	args := []any{s.id}
	for _, id := range ids {
		args = append(args, id)
	}
	err = s.batch(ctx, query{sql: text, args: args, what: "member", done: func(n int64) error { changed = n > 0; return nil }})
	return changed, err
}

// calendarStore keeps the addresses of students' calendars.
type calendarStore struct {
	*scope
	viewing
}

// Calendars opens the store of academy.CalendarService.
func (db *DB) Calendars() domain.Transactor[academy.CalendarStore] {
	return transactor[academy.CalendarStore]{db, func(s *scope) academy.CalendarStore { return calendarStore{s, viewing{s}} }}
}

const calendarColumns = "SELECT student_id, token, created_at FROM calendars WHERE academy_id = ? AND "

// Calendar implements academy.CalendarStore.
func (s calendarStore) Calendar(ctx context.Context, student domain.ID) (academy.CalendarLink, error) {
	return s.find(ctx, calendarColumns+"student_id = ?", student)
}

// CalendarByToken implements academy.CalendarStore.
func (s calendarStore) CalendarByToken(ctx context.Context, token [sha256.Size]byte) (academy.CalendarLink, error) {
	return s.find(ctx, calendarColumns+"token = ?", token[:])
}

func (s calendarStore) find(ctx context.Context, text string, by any) (l academy.CalendarLink, err error) {
	err = s.batch(ctx, query{
		sql: text, args: []any{s.id, by}, what: "calendar", none: domain.ErrNotFound("calendar"),
		row: func(scan func(...any) error) error {
			var token []byte
			var made int64
			err := scan(&l.Student, &token, &made)
			l.Created = instant(made)
			copy(l.Token[:], token)
			return err
		},
	})
	return l, err
}

// SaveCalendar implements academy.CalendarStore.
func (s calendarStore) SaveCalendar(ctx context.Context, l academy.CalendarLink) error {
	if !s.writing {
		return errReadOnly
	}
	return s.batch(ctx, query{
		sql: "INSERT INTO calendars (academy_id, student_id, token, created_at) VALUES (?, ?, ?, ?)" +
			" ON CONFLICT (academy_id, student_id) DO UPDATE SET token = excluded.token, created_at = excluded.created_at",
		args: []any{s.id, l.Student, l.Token[:], at(l.Created)}, what: "student",
	})
}

// EndCalendar implements academy.CalendarStore.
func (s calendarStore) EndCalendar(ctx context.Context, student domain.ID) (bool, error) {
	return s.did(ctx, "DELETE FROM calendars WHERE academy_id = ? AND student_id = ?", student)
}
