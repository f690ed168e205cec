package repo

import (
	"context"
	"crypto/sha256"
	"time"

	"gorm.io/gorm"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/migrations"
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
	// Blocks are packed.
	Blocks []byte
	// Ground is what was said of the green and of where balls landed; nil for nothing.
	Ground *string
	// Surface, Variant and MatchID are nil where nothing was said of them.
	Surface *curriculum.Surface
	Variant *curriculum.Variant
	MatchID *domain.ID
	// Untold is 1 while no event tells of the revision.
	Untold int
	// Counts is 1 when the session counts as one of its plan's.
	Counts int64
}

// TableName names the table.
func (sessionRow) TableName() string { return "sessions" }

// sessionColumns are the columns of a session's row but for the academy, and
// fields where to read them to.
const sessionColumns = "s.id, s.student_id, s.assignment_id, s.week, s.plan, s.version, s.time_zone, s.started_at, s.ended_at," +
	" s.note, s.missed, s.revision, s.deleted_at, s.by_id, s.received_at, s.fingerprint, s.ground, s.surface, s.variant, s.match_id"

func (r *sessionRow) fields() []any {
	return []any{&r.ID, &r.StudentID, &r.AssignmentID, &r.Week, &r.Plan, &r.Version, &r.TimeZone, &r.StartedAt, &r.EndedAt,
		&r.Note, &r.Missed, &r.Revision, &r.DeletedAt, &r.ByID, &r.ReceivedAt, &r.Fingerprint, &r.Ground, &r.Surface, &r.Variant, &r.MatchID}
}

func (r sessionRow) session() (practice.Session, error) {
	missed, err := decode[[]kindTimeDoc](r.Missed)
	if err != nil {
		return practice.Session{}, err
	}
	green, landings, err := unpackGround(r.Ground)
	return practice.Session{
		ID: r.ID, Student: r.StudentID, Assignment: orEmpty(r.AssignmentID), Week: r.Week, Plan: r.Plan, Version: r.Version, TimeZone: r.TimeZone,
		StartedAt: instant(r.StartedAt), EndedAt: maybeInstant(r.EndedAt), Note: r.Note,
		Surface: orEmpty(r.Surface), Variant: orEmpty(r.Variant), Match: orEmpty(r.MatchID), Green: green, Landings: landings, Revision: r.Revision,
		Missed: kindTimesOf(missed), DeletedAt: maybeInstant(r.DeletedAt), By: orEmpty(r.ByID), ReceivedAt: instant(r.ReceivedAt),
	}, err
}

func (s *scope) sessionRow(p practice.Session, stamp [sha256.Size]byte) sessionRow {
	return sessionRow{
		AcademyID: s.id, ID: p.ID, StudentID: p.Student, AssignmentID: maybeText(p.Assignment), Week: p.Week, Plan: p.Plan, Version: p.Version, TimeZone: p.TimeZone,
		StartedAt: at(p.StartedAt), EndedAt: maybeAt(p.EndedAt), UntilAt: at(p.Until()), Note: p.Note,
		Missed: encode(kindTimeDocs(p.Missed)), Revision: p.Revision,
		DeletedAt: maybeAt(p.DeletedAt), ByID: maybeText(p.By), ReceivedAt: at(p.ReceivedAt), Fingerprint: stamp[:], Blocks: packBlocks(p.Blocks),
		Surface: maybeText(p.Surface), Variant: maybeText(p.Variant), MatchID: maybeText(p.Match),
		Ground: packGround(p.Green, p.Landings), Counts: boolInt(p.Counts()),
	}
}

// sessions reads sessions.
type sessions struct{ *scope }

// Session implements the stores of practice.
func (s sessions) Session(ctx context.Context, id domain.ID) (practice.Session, error) {
	var r sessionRow
	if err := s.rows(ctx).Where("id = ?", id).Take(&r).Error; err != nil {
		return practice.Session{}, fail(err, "session")
	}
	all, err := sessionsOf([]sessionRow{r}, true)
	if err != nil {
		return practice.Session{}, err
	}
	return all[0], nil
}

// undeleted starts a statement on a student's sessions that are not deleted.
func (s *scope) undeleted(ctx context.Context, student domain.ID) *gorm.DB {
	return s.forStudent(ctx, student).Where("deleted_at IS NULL")
}

// Sessions implements practice.ReadStore.
func (s sessionStore) Sessions(ctx context.Context, f practice.SessionFilter) ([]practice.Session, error) {
	q := s.undeleted(ctx, f.Student).Order("started_at DESC, id DESC").Limit(f.Limit)
	if !f.Before.IsZero() {
		q = q.Where("(started_at, id) < (?, ?)", at(f.Before), f.BeforeID)
	}
	if !f.From.IsZero() {
		q = q.Where("started_at >= ?", at(f.From))
	}
	if !f.Until.IsZero() {
		q = q.Where("started_at < ?", at(f.Until))
	}
	q = since(q, "received_at", f.UpdatedSince)
	var rows []sessionRow
	if err := q.Find(&rows).Error; err != nil {
		return nil, fail(err, "session")
	}
	return sessionsOf(rows, f.Balls)
}

// Overlapping implements practice.ReadStore, in order of start.
func (s sessionStore) Overlapping(ctx context.Context, x practice.Session) (found []practice.Session, err error) {
	if start, end := x.StartedAt, x.Until(); start.Before(end) {
		err = s.batch(ctx, s.readOverlapping(x.Student, x.ID, start, end, &found))
	}
	return found, err
}

// Untold implements practice.PauseStore.
func (s pauseStore) Untold(ctx context.Context, id domain.ID) (untold bool, err error) {
	text := "SELECT untold FROM sessions WHERE academy_id = ? AND id = ?"
	if s.writing && s.engine == migrations.Postgres {
		text += " FOR NO KEY UPDATE"
	}
	var n int
	err = s.batch(ctx, query{sql: text, args: []any{s.id, id}, what: "session", row: func(scan func(...any) error) error { return scan(&n) }})
	return n > 0, err
}

// MarkTold implements practice.PauseStore.
func (s pauseStore) MarkTold(ctx context.Context, id domain.ID) error {
	return s.batch(ctx, query{sql: "UPDATE sessions SET untold = 0 WHERE academy_id = ? AND id = ?", args: []any{s.id, id}, what: "session"})
}

// Grown lists sessions that grew since an event told of them, and not since an
// instant: at most so many.
func (db *DB) Grown(ctx context.Context, before time.Time, limit int) (found []Grown, err error) {
	err = db.read(ctx, func(t *transaction) error {
		found = nil
		return t.batch(ctx, query{
			sql:  "SELECT academy_id, id FROM sessions WHERE untold = 1 AND received_at < ? ORDER BY received_at LIMIT ?",
			args: []any{at(before), limit}, what: "session",
			row: func(scan func(...any) error) error {
				var g Grown
				err := scan(&g.Academy, &g.Session)
				found = append(found, g)
				return err
			},
		})
	})
	return found, err
}

// Grown is a session that grew.
type Grown struct{ Academy, Session domain.ID }
