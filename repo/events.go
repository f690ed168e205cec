package repo

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"time"

	"gorm.io/gorm"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/migrations"
)

type eventRow struct {
	AcademyID domain.ID
	Seq       int64
	At        int64
	ActorID   *domain.ID
	Kind      string
	SubjectID domain.ID
	StudentID *domain.ID
	Data      string
}

// TableName names the table.
func (eventRow) TableName() string { return "events" }

func (r eventRow) event() (domain.Event, error) {
	e := domain.Event{
		Seq: r.Seq, At: instant(r.At), Actor: orEmpty(r.ActorID), Kind: r.Kind,
		Subject: r.SubjectID, Student: orEmpty(r.StudentID),
	}
	numbers := json.NewDecoder(bytes.NewReader([]byte(r.Data)))
	numbers.UseNumber() // so that none loses a digit
	if err := numbers.Decode(&e.Data); err != nil {
		return e, fmt.Errorf("repo: event %d: %w", r.Seq, err)
	}
	return e, nil
}

// told makes the statements that number an event of an academy and keep it.
// They come last, so that the academy's row, which all its writers need, is
// locked for a moment only and after every other row. The lock is held until the
// transaction ends, so that numbers become visible in their order and without
// gaps: a sequence of the database would number events that are committed in
// another order, and a reader who had passed the higher number would miss the
// lower one.
// number is told what the event was numbered.
func (t *transaction) told(of domain.ID, e domain.Event, number func(seq int64)) ([]query, error) {
	data, err := json.Marshal(e.Data)
	if err != nil {
		return nil, fmt.Errorf("repo: event %s: %w", e.Kind, err)
	}
	args := []any{at(e.At), maybeText(e.Actor), e.Kind, e.Subject, maybeText(e.Student), string(data)}
	numbered := func(scan func(...any) error) error {
		var seq int64
		err := scan(&seq)
		number(seq)
		return err
	}
	none := domain.ErrNotFound("academy")
	const columns = "INSERT INTO events (academy_id, seq, at, actor_id, kind, subject_id, student_id, data)"
	if t.engine == migrations.Postgres {
		return []query{{
			sql: "WITH next AS (UPDATE academies SET last_event = last_event + 1 WHERE id = ? RETURNING id, last_event) " + columns +
				" SELECT id, last_event, CAST(? AS bigint), CAST(? AS text), ?, ?, CAST(? AS text), ? FROM next RETURNING seq",
			args: append([]any{of}, args...), what: "academy", row: numbered, none: none,
		}}, nil
	}
	return []query{
		{sql: "UPDATE academies SET last_event = last_event + 1 WHERE id = ?", args: []any{of}, what: "academy"},
		{sql: columns + " SELECT id, last_event, ?, ?, ?, ?, ?, ? FROM academies WHERE id = ? RETURNING seq",
			args: append(args, of), what: "academy", row: numbered, none: none},
	}, nil
}

// updated are the tables that know when their rows were last changed, by the
// first word of the events about them.
var updated = map[string]string{"member": "members", "consent": "members", "assignment": "assignments"}

// touch makes the statement that notes when what an event is about was changed. The
// transaction has written the row already, so it waits for nobody.
func touch(of domain.ID, e domain.Event) []query {
	table := updated[academy.Noun(e.Kind)]
	if table == "" {
		return nil
	}
	return []query{{sql: "UPDATE " + table + " SET updated_at = ? WHERE academy_id = ? AND id = ?", args: []any{at(e.At), of, e.Subject}, what: "academy"}}
}

// since keeps rows that were changed at an instant or later.
func since(q *gorm.DB, column string, when time.Time) *gorm.DB {
	if when.IsZero() {
		return q
	}
	return q.Where(column+" >= ?", at(when))
}

// Record implements domain.EventLog: the event is kept when the transaction
// ends.
func (s *scope) Record(_ context.Context, e domain.Event) error {
	if !s.writing {
		return errReadOnly
	}
	return s.tell(s.id, e)
}

// events reads the log.
type events struct{ *scope }

// LastEvent implements academy.EventStore.
func (s events) LastEvent(ctx context.Context) (last int64, err error) {
	err = on(ctx, s.tx).Table("academies").Where("id = ?", s.id).Pluck("last_event", &last).Error
	return last, err
}

// Events implements academy.EventStore.
func (s events) Events(ctx context.Context, after int64, limit int) ([]domain.Event, error) {
	return eventsOf(s.rows(ctx).Where("seq > ?", after).Order("seq").Limit(limit))
}

// EventsBefore implements academy.EventStore.
func (s events) EventsBefore(ctx context.Context, before int64, limit int) ([]domain.Event, error) {
	q := s.rows(ctx).Order("seq DESC").Limit(limit)
	if before > 0 {
		q = q.Where("seq < ?", before)
	}
	return eventsOf(q)
}

func eventsOf(q *gorm.DB) ([]domain.Event, error) {
	var rows []eventRow
	if err := q.Find(&rows).Error; err != nil {
		return nil, err
	}
	events := make([]domain.Event, len(rows))
	for i, r := range rows {
		var err error
		if events[i], err = r.event(); err != nil {
			return nil, err
		}
	}
	return events, nil
}

// DropEvents implements academy.RetentionStore.
func (s retentionStore) DropEvents(ctx context.Context, before time.Time, limit int) (dropped int, err error) {
	if !s.writing {
		return 0, errReadOnly
	}
	err = s.batch(ctx, query{
		sql: "DELETE FROM events WHERE academy_id = ? AND seq < (SELECT MIN(seq) FROM events WHERE academy_id = ?) + ?" +
			" AND seq < (SELECT MIN(kept) FROM (SELECT MAX(seq) AS kept FROM events WHERE academy_id = ?" +
			" UNION ALL SELECT MIN(seq) FROM events WHERE academy_id = ? AND at >= ?) AS bounds)",
		args: []any{s.id, s.id, limit, s.id, s.id, at(before)}, what: "academy",
		done: func(changed int64) error { dropped = int(changed); return nil },
	})
	return dropped, err
}
