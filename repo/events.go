package repo

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"

	"fringework/domain"
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
// locked for a moment only and after every other row.
// number is told what the event was numbered.
func (t *transaction) told(academy domain.ID, e domain.Event, number func(seq int64)) ([]query, error) {
	data, err := json.Marshal(e.Data)
	if err != nil {
		return nil, fmt.Errorf("repo: event %s: %w", e.Kind, err)
	}
	args := []any{at(e.At), maybeID(e.Actor), e.Kind, e.Subject, maybeID(e.Student), string(data)}
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
			args: append([]any{academy}, args...), what: "academy", row: numbered, none: none,
		}}, nil
	}
	return []query{
		{sql: "UPDATE academies SET last_event = last_event + 1 WHERE id = ?", args: []any{academy}, what: "academy"},
		{sql: columns + " SELECT id, last_event, ?, ?, ?, ?, ?, ? FROM academies WHERE id = ? RETURNING seq",
			args: append(args, academy), what: "academy", row: numbered, none: none},
	}, nil
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

// LastEvent implements academy.LiveStore.
func (s events) LastEvent(ctx context.Context) (last int64, err error) {
	err = on(ctx, s.tx).Table("academies").Where("id = ?", s.id).Pluck("last_event", &last).Error
	return last, err
}

// Events implements academy.EventStore.
func (s events) Events(ctx context.Context, after int64, limit int) ([]domain.Event, error) {
	var rows []eventRow
	if err := s.rows(ctx).Where("seq > ?", after).Order("seq").Limit(limit).Find(&rows).Error; err != nil {
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
