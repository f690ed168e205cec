package repo

import (
	"context"
	"crypto/sha256"
	"errors"
	"time"

	"gorm.io/gorm"

	"fringework/domain"
	"fringework/domain/practice"
)

type sessionRow struct {
	AcademyID    domain.ID
	ID           domain.ID
	StudentID    domain.ID
	AssignmentID *domain.ID
	Week         int
	Plan         int
	Version      int
	TimeZone     string
	StartedAt    int64
	EndedAt      *int64
	UntilAt      int64
	Note         string
	Missed       string
	Revision     int
	DeletedAt    *int64
	ByID         *domain.ID
	ReceivedAt   int64
	Fingerprint  []byte
}

// TableName names the table.
func (sessionRow) TableName() string { return "sessions" }

func (r sessionRow) session() (practice.Session, error) {
	missed, err := decode[[]kindTimeDoc](r.Missed)
	return practice.Session{
		ID: r.ID, Student: r.StudentID, Assignment: orEmpty(r.AssignmentID), Week: r.Week, Plan: r.Plan, Version: r.Version, TimeZone: r.TimeZone,
		StartedAt: instant(r.StartedAt), EndedAt: maybeInstant(r.EndedAt), Note: r.Note, Revision: r.Revision,
		Missed: kindTimesOf(missed), DeletedAt: maybeInstant(r.DeletedAt), By: orEmpty(r.ByID), ReceivedAt: instant(r.ReceivedAt),
	}, err
}

func (a *Academy) sessionRow(s practice.Session, stamp [sha256.Size]byte) sessionRow {
	return sessionRow{
		AcademyID: a.id, ID: s.ID, StudentID: s.Student, AssignmentID: maybeID(s.Assignment), Week: s.Week, Plan: s.Plan, Version: s.Version, TimeZone: s.TimeZone,
		StartedAt: at(s.StartedAt), EndedAt: maybeAt(s.EndedAt), UntilAt: at(until(s)), Note: s.Note,
		Missed: encode(kindTimeDocs(s.Missed)), Revision: s.Revision,
		DeletedAt: maybeAt(s.DeletedAt), ByID: maybeID(s.By), ReceivedAt: at(s.ReceivedAt), Fingerprint: stamp[:],
	}
}

// longest is how long a session may be taken to last, so that looking for those
// that share time with another need not look far back.
const longest = 16 * time.Hour

// until is when a session is taken to end.
func until(s practice.Session) time.Time {
	end := s.EndedAt
	if end.IsZero() {
		seconds := 0
		for _, b := range s.Blocks {
			seconds += b.Seconds
		}
		end = s.StartedAt.Add(time.Duration(seconds) * time.Second)
	}
	if last := s.StartedAt.Add(longest); end.After(last) {
		return last
	}
	return end
}

// Stored implements practice.Store. When writing it first locks the session's
// identity, so that of two uploads of one session the second sees the first.
func (a *Academy) Stored(ctx context.Context, id domain.ID) (s practice.Session, stamp [sha256.Size]byte, ok bool, err error) {
	r, err := a.storedRow(ctx, id)
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return s, stamp, false, nil
	}
	if err != nil {
		return s, stamp, false, fail(err, "session")
	}
	s, err = r.session()
	return s, [sha256.Size]byte(r.Fingerprint), true, err
}

func (a *Academy) storedRow(ctx context.Context, id domain.ID) (r sessionRow, err error) {
	if a.writing {
		if err := advisory(on(ctx, a.tx), a.engine, "session/"+string(a.id)+"/"+string(id)); err != nil {
			return r, err
		}
	}
	return r, a.rows(ctx).Where("id = ?", id).Take(&r).Error
}

// Session implements practice.Store.
func (a *Academy) Session(ctx context.Context, id domain.ID) (practice.Session, error) {
	r, err := a.storedRow(ctx, id)
	if err != nil {
		return practice.Session{}, fail(err, "session")
	}
	sessions, err := a.withBlocks(ctx, []sessionRow{r}, true)
	if err != nil {
		return practice.Session{}, err
	}
	return sessions[0], nil
}

// SaveSession implements practice.Store.
func (a *Academy) SaveSession(ctx context.Context, s practice.Session, fingerprint [sha256.Size]byte) error {
	row := a.sessionRow(s, fingerprint)
	if err := a.upsert(ctx, &row, "student or assignment", "academy_id", "id"); err != nil {
		return err
	}
	if err := a.rows(ctx).Where("session_id = ?", s.ID).Delete(&blockRow{}).Error; err != nil {
		return err
	}
	blocks := make([]blockRow, len(s.Blocks))
	for i, b := range s.Blocks {
		blocks[i] = a.blockRow(s.ID, i+1, b)
	}
	return a.insert(ctx, blocks, len(blocks), "skill")
}

// standing starts a statement on a student's sessions that stand.
func (a *Academy) standingSessions(ctx context.Context, student domain.ID) *gorm.DB {
	return a.forStudent(ctx, student).Where("deleted_at IS NULL")
}

// Sessions implements practice.Store. Blocks come with their counts instead of
// their balls.
func (a *Academy) Sessions(ctx context.Context, f practice.SessionFilter) ([]practice.Session, error) {
	q := a.standingSessions(ctx, f.Student).Order("started_at DESC, id DESC").Limit(f.Limit)
	if !f.Before.IsZero() {
		q = q.Where("(started_at, id) < (?, ?)", at(f.Before), f.BeforeID)
	}
	if !f.From.IsZero() {
		q = q.Where("started_at >= ?", at(f.From))
	}
	if !f.Until.IsZero() {
		q = q.Where("started_at < ?", at(f.Until))
	}
	var rows []sessionRow
	if err := q.Find(&rows).Error; err != nil {
		return nil, fail(err, "session")
	}
	return a.withBlocks(ctx, rows, false)
}

// Overlapping implements practice.Store, in order of start. The sessions come
// without blocks.
func (a *Academy) Overlapping(ctx context.Context, s practice.Session) ([]practice.Session, error) {
	start, end := at(s.StartedAt), at(until(s))
	if start == end {
		return nil, nil // no time to share
	}
	var rows []sessionRow
	err := a.standingSessions(ctx, s.Student).Where("id <> ?", s.ID).
		Where("started_at > ? AND started_at < ? AND until_at > ? AND until_at > started_at", start-longest.Milliseconds(), end, start).
		Order("started_at, id").Find(&rows).Error
	if err != nil {
		return nil, fail(err, "session")
	}
	return tryEach(rows, sessionRow.session)
}

type commentRow struct {
	AcademyID domain.ID
	SessionID domain.ID
	ID        domain.ID
	AuthorID  *domain.ID
	Text      string
	At        int64
}

// TableName names the table.
func (commentRow) TableName() string { return "comments" }

// Comments implements practice.Store.
func (a *Academy) Comments(ctx context.Context, session domain.ID) ([]practice.Comment, error) {
	var rows []commentRow
	if err := a.rows(ctx).Where("session_id = ?", session).Order("id").Find(&rows).Error; err != nil {
		return nil, fail(err, "session")
	}
	return each(rows, func(r commentRow) practice.Comment {
		return practice.Comment{ID: r.ID, Session: r.SessionID, Author: orEmpty(r.AuthorID), Text: r.Text, At: instant(r.At)}
	}), nil
}

// AddComment implements practice.Store.
func (a *Academy) AddComment(ctx context.Context, c practice.Comment) error {
	return a.insert(ctx, &commentRow{
		AcademyID: a.id, SessionID: c.Session, ID: c.ID, AuthorID: maybeID(c.Author), Text: c.Text, At: at(c.At),
	}, 1, "session")
}
