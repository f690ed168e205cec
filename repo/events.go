package repo

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"

	"gorm.io/gorm"

	"fringework/domain"
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

// eventBuffer holds a transaction's events of one academy until its end. They
// are numbered last, so that the academy's row, which all its writers need, is
// locked for a moment only and after every other row.
type eventBuffer struct {
	academy domain.ID
	rows    []eventRow
}

func (b *eventBuffer) add(academy domain.ID, e domain.Event) error {
	data, err := json.Marshal(e.Data)
	if err != nil {
		return fmt.Errorf("repo: event %s: %w", e.Kind, err)
	}
	b.academy = academy
	b.rows = append(b.rows, eventRow{
		AcademyID: academy, At: at(e.At), ActorID: maybeID(e.Actor), Kind: e.Kind,
		SubjectID: e.Subject, StudentID: maybeID(e.Student), Data: string(data),
	})
	return nil
}

// flush numbers the events in the order they were recorded and keeps them.
func (b *eventBuffer) flush(tx *gorm.DB) error {
	n := int64(len(b.rows))
	if n == 0 {
		return nil
	}
	last := int64(-1)
	err := tx.Raw("UPDATE academies SET last_event = last_event + ? WHERE id = ? RETURNING last_event", n, b.academy).Scan(&last).Error
	if err != nil {
		return err
	}
	if last < 0 {
		return domain.ErrNotFound("academy")
	}
	for i := range b.rows {
		b.rows[i].Seq = last - n + int64(i) + 1
	}
	return tx.Create(&b.rows).Error
}

// Record implements domain.EventLog.
func (a *Academy) Record(_ context.Context, e domain.Event) error {
	if !a.writing {
		return errReadOnly
	}
	return a.log.add(a.id, e)
}

// Events implements academy.EventStore.
func (a *Academy) Events(ctx context.Context, after int64, limit int) ([]domain.Event, error) {
	var rows []eventRow
	if err := a.rows(ctx).Where("seq > ?", after).Order("seq").Limit(limit).Find(&rows).Error; err != nil {
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
