package repo

import (
	"context"
	"crypto/sha256"
	"fmt"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/migrations"
)

// latestOf writes latestPeriods with what says which skills, and a further
// period.
func latestOf(skills, period string) string { return fmt.Sprintf(latestPeriods, skills, period) }

// Statements of an upload that are made once.
var (
	skillsOpened = "SELECT k.id, t.ladder, t.judged, st.doc FROM skills k" +
		" LEFT JOIN tracks t ON t.academy_id = k.academy_id AND t.student_id = ? AND t.skill_id = k.id" +
		" LEFT JOIN states st ON st.academy_id = k.academy_id AND st.student_id = ? AND st.skill_id = k.id" +
		" WHERE k.academy_id = ? AND k.id ~"
	periodsOpened = latestOf("SELECT id FROM skills WHERE academy_id = ? AND id ~",
		"(SELECT started_at / "+fmt.Sprint(progress.PeriodLength.Milliseconds())+" FROM sessions WHERE academy_id = ? AND id = ?)")
	sessionOpened = "SELECT " + sessionColumns + ", s.blocks FROM sessions s WHERE s.academy_id = ? AND s.id = ?"
)

// Open implements practice.Store: on PostgreSQL in one round trip, the lock
// first, so that all that is read is what stands once it is held. Two uploads
// of one session by two students do not meet there; Save sees to them.
func (s practiceStore) Open(ctx context.Context, q practice.Opening) (practice.Opened, error) {
	o := practice.Opened{Records: map[domain.ID]progress.Record{}}
	if !s.writing {
		return o, errReadOnly
	}
	if q.Student == "" {
		if err := s.findStudent(ctx, &q); err != nil || q.Student == "" {
			return o, err
		}
	}
	records := map[domain.ID]*progress.Record{}
	queries := []query{s.lockMember(q, &o), s.readStored(q, &o)}
	queries = append(queries, s.readRecords(q, q.Skills, records)...)
	queries = append(queries, s.readHabit(q.Student, &o.Habit))
	if q.Start.Before(q.End) {
		queries = append(queries, s.readOverlapping(q.Student, q.Session, q.Start, q.End, &o.Overlapping))
	}
	if q.Assignment != "" {
		queries = append(queries, s.readAssignment(q.Assignment, &o.Assignment),
			s.readAdjustments(&o.Adjustments, "student_id = ?", q.Student))
	}
	if err := s.batch(ctx, queries...); err != nil {
		return o, err
	}
	if dropped := droppedSkills(o.Before, q.Skills); len(dropped) > 0 {
		if err := s.batch(ctx, s.readRecords(q, dropped, records)...); err != nil {
			return o, err
		}
	}
	s.note(q.Student)
	for skill, r := range records {
		r.Whole = r.Whole || len(r.Periods) == 0
		o.Records[skill] = *r
	}
	if o.Assignment.ID == "" {
		return o, nil
	}
	number := q.Version
	if number == 0 {
		number = o.Assignment.Version
	}
	v, err := versions{s.scope}.published(ctx, o.Assignment.Programme, number)
	if domain.KindOf(err) == domain.NotFound {
		return o, nil
	}
	o.Version = v
	return o, err
}

// droppedSkills are those of a session that a revision does not have.
func droppedSkills(before practice.Session, kept []domain.ID) (dropped []domain.ID) {
	for _, b := range before.Blocks {
		if !slices.Contains(kept, b.Skill) && !slices.Contains(dropped, b.Skill) {
			dropped = append(dropped, b.Skill)
		}
	}
	return dropped
}

// findStudent says whose session was stored.
func (s practiceStore) findStudent(ctx context.Context, q *practice.Opening) error {
	return s.batch(ctx, query{
		sql: "SELECT student_id FROM sessions WHERE academy_id = ? AND id = ?", args: []any{s.id, q.Session}, what: "session",
		row: func(scan func(...any) error) error { return scan(&q.Student) },
	})
}

func (s practiceStore) lockMember(q practice.Opening, o *practice.Opened) query {
	text := "SELECT m.id, m.account_id, m.role, m.name, m.time_zone, m.units, m.junior, m.consent_at, m.consent_by, m.consent_ended_at, m.consent_ended_by, m.apps_at, m.matches_at, m.removed_at, m.revision, m.joined_at," +
		" EXISTS (SELECT 1 FROM coach_links l WHERE l.academy_id = m.academy_id AND l.coach_id = ? AND l.student_id = m.id)" +
		" OR EXISTS (SELECT 1 FROM guardianships g WHERE g.academy_id = m.academy_id AND g.guardian_id = ? AND g.student_id = m.id AND g.asked_at IS NULL)" +
		" FROM members m WHERE m.academy_id = ? AND m.id = ?"
	if s.engine == migrations.Postgres {
		text += " FOR NO KEY UPDATE OF m"
	}
	return query{sql: text, args: []any{q.Asker, q.Asker, s.id, q.Student}, what: "student", row: func(scan func(...any) error) error {
		var r memberRow
		err := scan(&r.ID, &r.AccountID, &r.Role, &r.Name, &r.TimeZone, &r.Units, &r.Junior, &r.ConsentAt, &r.ConsentBy,
			&r.ConsentEndedAt, &r.ConsentEndedBy, &r.AppsAt, &r.MatchesAt, &r.RemovedAt, &r.Revision, &r.JoinedAt, &o.Linked)
		o.Student = r.member()
		return err
	}}
}

func (s practiceStore) readStored(q practice.Opening, o *practice.Opened) query {
	return query{sql: sessionOpened, args: []any{s.id, q.Session}, what: "session", row: func(scan func(...any) error) error {
		var r sessionRow
		if err := scan(append(r.fields(), &r.Blocks)...); err != nil {
			return err
		}
		all, err := sessionsOf([]sessionRow{r}, true)
		if err != nil {
			return err
		}
		o.Before, o.Known, o.Fingerprint = all[0], true, [sha256.Size]byte(r.Fingerprint)
		return nil
	}}
}

// readRecords reads the records of those skills that exist.
func (s practiceStore) readRecords(q practice.Opening, of []domain.ID, into map[domain.ID]*progress.Record) []query {
	skills := s.list(texts(of))
	opened := query{sql: skillsOpened, args: []any{q.Student, q.Student, s.id, skills}, what: "skill",
		row: func(scan func(...any) error) error {
			t := trackRow{StudentID: q.Student}
			st := stateRow{StudentID: q.Student}
			var ladder, judged *string // absent without a track
			if err := scan(&t.SkillID, &ladder, &judged, &st.Doc); err != nil {
				return err
			}
			r := &progress.Record{Track: progress.Track{Student: q.Student, Skill: t.SkillID}}
			into[t.SkillID] = r
			var err error
			if ladder != nil {
				t.Ladder, t.Judged = *ladder, *judged
				if r.Track, err = t.track(); err != nil {
					return err
				}
			}
			if st.SkillID = t.SkillID; st.Doc != nil {
				r.State, err = st.state()
			}
			return err
		}}
	number := progress.PeriodOf(q.Start)
	periods := s.readPeriods(q.Student, into, periodsOpened, s.id, q.Student, s.id, skills,
		recentSessions, never, number, s.id, q.Session)
	return []query{opened, periods}
}

// never is a period that nobody practises in.
const never = 1 << 30

func (s *scope) readHabit(student domain.ID, into *progress.Habit) query {
	return query{sql: "SELECT sessions, doc FROM habits WHERE academy_id = ? AND student_id = ?", args: []any{s.id, student}, what: "student",
		row: func(scan func(...any) error) (err error) {
			r := habitRow{StudentID: student}
			if err := scan(&r.Sessions, &r.Doc); err != nil {
				return err
			}
			*into, err = r.habit()
			return err
		}}
}

func (s practiceStore) readAssignment(id domain.ID, into *academy.Assignment) query {
	return query{
		sql:  "SELECT id, student_id, programme_id, version FROM assignments WHERE academy_id = ? AND id = ?",
		args: []any{s.id, id}, what: "assignment",
		row: func(scan func(...any) error) error {
			return scan(&into.ID, &into.Student, &into.Programme, &into.Version)
		},
	}
}

// readOverlapping reads a student's other sessions that share time
// with a stretch of it, without blocks.
func (s *scope) readOverlapping(student, except domain.ID, start, end time.Time, into *[]practice.Session) query {
	return query{
		sql: "SELECT " + sessionColumns + " FROM sessions s WHERE s.academy_id = ? AND s.student_id = ? AND s.deleted_at IS NULL AND s.id <> ?" +
			" AND s.started_at > ? AND s.started_at < ? AND s.until_at > ? AND s.until_at > s.started_at ORDER BY s.started_at, s.id",
		args: []any{s.id, student, except, at(start.Add(-practice.MaxSession)), at(end), at(start)}, what: "session",
		row: func(scan func(...any) error) error {
			var r sessionRow
			if err := scan(r.fields()...); err != nil {
				return err
			}
			other, err := r.session()
			*into = append(*into, other)
			return err
		},
	}
}

// Periods implements practice.Store.
func (s practiceStore) Periods(ctx context.Context, student, skill domain.ID) ([]progress.Period, error) {
	var r progress.Record
	into := map[domain.ID]*progress.Record{skill: &r}
	err := s.batch(ctx, s.readPeriods(student, into,
		"SELECT skill_id, period, doc, 0 FROM skill_periods WHERE academy_id = ? AND student_id = ? AND skill_id = ? ORDER BY period", s.id, student, skill))
	return r.Periods, err
}

// RecentTimes implements practice.Store.
func (s practiceStore) RecentTimes(ctx context.Context, student, except domain.ID, limit int) ([]progress.SessionTime, error) {
	var rows []sessionRow
	err := s.undeleted(ctx, student).Where("id <> ?", except).Order("started_at DESC, id DESC").Limit(limit).Find(&rows).Error
	if err != nil {
		return nil, fail(err, "student")
	}
	recent, err := sessionsOf(rows, true)
	if err != nil {
		return nil, err
	}
	times := make([]progress.SessionTime, len(recent))
	for i, session := range recent {
		times[len(recent)-1-i] = session.Time()
	}
	return times, nil
}

// Save implements practice.Store: with the events and what else ends the
// transaction, on PostgreSQL in one round trip.
func (s practiceStore) Save(_ context.Context, c practice.Change) error {
	if !s.writing {
		return errReadOnly
	}
	s.last = append(s.last, s.saveSession(c))
	s.last = append(s.last, s.keepRecords(c.Session.Student, c.Skills)...)
	s.last = append(s.last, s.keepHabit(c.Habit))
	for _, n := range c.Counts {
		s.last = append(s.last, query{
			sql:  "UPDATE assignments SET sessions = sessions + ? WHERE academy_id = ? AND id = ?",
			args: []any{n.Sessions, s.id, n.Assignment}, what: "assignment",
		})
	}
	if c.Untold {
		s.news = append(s.news, academy.News{Academy: s.id, At: c.Session.ReceivedAt, Kind: academy.Grown, Subject: c.Session.ID, Student: c.Session.Student})
	}
	return nil
}

// importStore saves at once instead of when the transaction ends, since the next
// session of an import depends on it. Events wait for the end: from the first on
// nobody else's are written.
type importStore struct{ practiceStore }

// Save implements practice.Store.
func (s importStore) Save(ctx context.Context, c practice.Change) error {
	events := s.last
	s.last = nil
	err := s.practiceStore.Save(ctx, c)
	changes := s.last
	s.last = events
	if err != nil {
		return err
	}
	return s.batch(ctx, changes...)
}

const (
	saveSessionInto = "INSERT INTO sessions (academy_id, id, student_id, assignment_id, week, plan, version, time_zone, started_at, ended_at, until_at," +
		" note, missed, revision, deleted_at, by_id, received_at, fingerprint, blocks, untold, counts, ground, surface, variant, match_id, places)" +
		" VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
	saveSessionNew   = saveSessionInto + " ON CONFLICT (academy_id, id) DO NOTHING"
	saveSessionKnown = saveSessionInto + " ON CONFLICT (academy_id, id) DO UPDATE SET assignment_id = excluded.assignment_id, week = excluded.week," +
		" plan = excluded.plan, version = excluded.version, time_zone = excluded.time_zone, started_at = excluded.started_at, ended_at = excluded.ended_at," +
		" until_at = excluded.until_at, note = excluded.note, missed = excluded.missed, revision = excluded.revision, deleted_at = excluded.deleted_at," +
		" by_id = excluded.by_id, received_at = excluded.received_at, fingerprint = excluded.fingerprint, blocks = excluded.blocks, untold = excluded.untold," +
		" counts = excluded.counts, ground = excluded.ground, surface = excluded.surface, variant = excluded.variant, match_id = excluded.match_id, places = excluded.places" +
		" WHERE sessions.student_id = excluded.student_id AND sessions.revision < excluded.revision"
)

// saveSession makes the statement that keeps the session's row. Where another
// upload took the identity meanwhile, the transaction is tried again.
func (s practiceStore) saveSession(c practice.Change) query {
	r := s.sessionRow(c.Session, c.Fingerprint)
	text := saveSessionNew
	if c.Known {
		text = saveSessionKnown
	}
	return query{
		sql: text, what: "student or assignment",
		args: []any{r.AcademyID, r.ID, r.StudentID, r.AssignmentID, r.Week, r.Plan, r.Version, r.TimeZone, r.StartedAt, r.EndedAt, r.UntilAt,
			r.Note, r.Missed, r.Revision, r.DeletedAt, r.ByID, r.ReceivedAt, r.Fingerprint, r.Blocks, boolInt(c.Untold), r.Counts, r.Ground, r.Surface, r.Variant, r.MatchID, r.Places},
		done: func(changed int64) error {
			if changed == 0 {
				return stale("session")
			}
			return nil
		},
	}
}

func boolInt(b bool) int64 {
	if b {
		return 1
	}
	return 0
}
