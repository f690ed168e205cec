package repo

import (
	"context"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/course"
)

type roundRow struct {
	AcademyID  domain.ID
	ID         domain.ID
	StudentID  domain.ID
	PlayedAt   int64
	TimeZone   string
	Course     string
	Note       string
	Shots      string
	Chances    int
	Saved      int
	Revision   int
	DeletedAt  *int64
	ByID       *domain.ID
	ReceivedAt int64
}

// TableName names the table.
func (roundRow) TableName() string { return "rounds" }

// shotDoc is a shot as it is kept, lengths in tenths of a millimetre.
type shotDoc struct {
	Hole     int           `json:"hole,omitempty"`
	Lie      course.Lie    `json:"lie"`
	Distance domain.Length `json:"distance"`
	Holed    bool          `json:"holed,omitempty"`
	Left     domain.Length `json:"left,omitempty"`
	LeftLie  course.Lie    `json:"left_lie,omitempty"`
	Putts    int           `json:"putts,omitempty"`
}

func (r roundRow) round() (course.Round, error) {
	docs, err := decode[[]shotDoc](r.Shots)
	return course.Round{
		ID: r.ID, Student: r.StudentID, PlayedAt: instant(r.PlayedAt), TimeZone: r.TimeZone, Course: r.Course, Note: r.Note,
		Shots: each(docs, func(d shotDoc) course.Shot { return course.Shot(d) }), Revision: r.Revision,
		DeletedAt: maybeInstant(r.DeletedAt), By: orEmpty(r.ByID), ReceivedAt: instant(r.ReceivedAt),
	}, err
}

// Round implements academy.RoundStore.
func (s roundStore) Round(ctx context.Context, id domain.ID) (course.Round, error) {
	var r roundRow
	if err := s.rows(ctx).Where("id = ?", id).Take(&r).Error; err != nil {
		return course.Round{}, fail(err, "round")
	}
	return r.round()
}

// Rounds implements academy.RoundStore.
func (s roundStore) Rounds(ctx context.Context, f academy.RoundFilter) ([]course.Round, error) {
	q := s.undeleted(ctx, f.Student).Order("played_at DESC, id DESC").Limit(f.Limit)
	if !f.Before.IsZero() {
		q = q.Where("(played_at, id) < (?, ?)", at(f.Before), f.BeforeID)
	}
	q = since(q, "received_at", f.UpdatedSince)
	var rows []roundRow
	if err := q.Find(&rows).Error; err != nil {
		return nil, fail(err, "round")
	}
	var all []course.Round
	for _, row := range rows {
		r, err := row.round()
		if err != nil {
			return nil, err
		}
		all = append(all, r)
	}
	return all, nil
}

const (
	saveRound = "INSERT INTO rounds (academy_id, id, student_id, played_at, time_zone, course, note, shots, chances, saved, revision, deleted_at, by_id, received_at)" +
		" VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (academy_id, id) DO UPDATE SET played_at = excluded.played_at," +
		" time_zone = excluded.time_zone, course = excluded.course, note = excluded.note, shots = excluded.shots, chances = excluded.chances," +
		" saved = excluded.saved, revision = excluded.revision, deleted_at = excluded.deleted_at, by_id = excluded.by_id, received_at = excluded.received_at" +
		" WHERE rounds.student_id = excluded.student_id AND rounds.revision < excluded.revision"
	// saveTally counts the latest rounds anew.
	saveTally = "INSERT INTO round_tallies (academy_id, student_id, rounds, chances, saved)" +
		" SELECT academy_id, student_id, COUNT(*), SUM(chances), SUM(saved) FROM (SELECT academy_id, student_id, chances, saved FROM rounds" +
		" WHERE academy_id = ? AND student_id = ? AND deleted_at IS NULL ORDER BY played_at DESC, id DESC LIMIT ?) AS latest" +
		" GROUP BY academy_id, student_id"
	dropTally = "DELETE FROM round_tallies WHERE academy_id = ? AND student_id = ?"
)

// SaveRound implements academy.RoundStore.
func (s roundStore) SaveRound(ctx context.Context, r course.Round) error {
	if !s.writing {
		return errReadOnly
	}
	t := course.TallyOf(r)
	shots := encode(each(r.Shots, func(x course.Shot) shotDoc { return shotDoc(x) }))
	return s.batch(ctx, query{
		sql: saveRound, what: "student",
		args: []any{s.id, r.ID, r.Student, at(r.PlayedAt), r.TimeZone, r.Course, r.Note, shots, t.Chances, t.Saved, r.Revision,
			maybeAt(r.DeletedAt), maybeText(r.By), at(r.ReceivedAt)},
		done: func(changed int64) error {
			if changed == 0 {
				return stale("round")
			}
			return nil
		},
	},
		query{sql: dropTally, args: []any{s.id, r.Student}, what: "student"},
		query{sql: saveTally, args: []any{s.id, r.Student, academy.TallyRounds}, what: "student"})
}

// talliesOf reads what students' latest rounds come to.
func (s *scope) talliesOf(students any, into map[domain.ID]course.Tally) query {
	return query{
		sql:  "SELECT student_id, rounds, chances, saved FROM round_tallies WHERE academy_id = ? AND student_id ~",
		args: []any{s.id, students}, what: "student",
		row: func(scan func(...any) error) error {
			var id domain.ID
			var t course.Tally
			err := scan(&id, &t.Rounds, &t.Chances, &t.Saved)
			into[id] = t
			return err
		},
	}
}
