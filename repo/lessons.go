package repo

import (
	"context"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
)

type lessonRow struct {
	AcademyID domain.ID `gorm:"primaryKey"`
	ID        domain.ID `gorm:"primaryKey"`
	StudentID domain.ID
	CoachID   domain.ID
	StartsAt  int64
	Minutes   int
	Cue       string
	Drill     string
	Notes     string
	Revision  int
	CreatedAt int64 `gorm:"autoCreateTime:false"`
	UpdatedAt int64 `gorm:"autoUpdateTime:false"`
	// Name is the student's, read beside the row.
	Name string `gorm:"->"`
}

// TableName names the table.
func (lessonRow) TableName() string { return "lessons" }

func (r lessonRow) lesson() academy.Lesson {
	return academy.Lesson{
		ID: r.ID, Student: r.StudentID, StudentName: r.Name, Coach: r.CoachID, StartsAt: instant(r.StartsAt), Minutes: r.Minutes,
		Cue: r.Cue, Drill: r.Drill, Notes: r.Notes, Revision: r.Revision, CreatedAt: instant(r.CreatedAt), UpdatedAt: instant(r.UpdatedAt),
	}
}

type mediaRow struct {
	AcademyID domain.ID
	ID        domain.ID
	LessonID  domain.ID
	StudentID domain.ID
	Type      string
	Size      int
	KeepUntil string
	ByID      *domain.ID
	AddedAt   int64
}

// TableName names the table.
func (mediaRow) TableName() string { return "lesson_media" }

func (r mediaRow) media() (academy.Media, error) {
	until, err := date(r.KeepUntil)
	return academy.Media{
		ID: r.ID, Lesson: r.LessonID, Student: r.StudentID, Type: r.Type, Size: r.Size, KeepUntil: until,
		By: orEmpty(r.ByID), AddedAt: instant(r.AddedAt),
	}, err
}

// lessons reads lessons with their media.
type lessons struct{ *scope }

// lessonColumns are what a lesson is read from.
const lessonColumns = "lessons.*, members.name"

// Lesson implements academy.LessonStore and academy.MediaStore.
func (s lessons) Lesson(ctx context.Context, id domain.ID) (academy.Lesson, error) {
	var r lessonRow
	err := on(ctx, s.tx).Table("lessons").Select(lessonColumns).Joins("JOIN members ON members.academy_id = lessons.academy_id AND members.id = lessons.student_id").
		Where("lessons.academy_id = ? AND lessons.id = ?", s.id, id).Take(&r).Error
	if err != nil {
		return academy.Lesson{}, fail(err, "lesson")
	}
	all := []academy.Lesson{r.lesson()}
	err = s.illustrate(ctx, all)
	return all[0], err
}

// illustrate reads the media of lessons.
func (s lessons) illustrate(ctx context.Context, all []academy.Lesson) error {
	if len(all) == 0 {
		return nil
	}
	ids, at := make([]string, len(all)), map[domain.ID]int{}
	for i, l := range all {
		ids[i], at[l.ID] = string(l.ID), i
	}
	var rows []mediaRow
	if err := s.rows(ctx).Where(s.within("lesson_id", ids)).Order("id").Find(&rows).Error; err != nil {
		return fail(err, "lesson")
	}
	for _, r := range rows {
		m, err := r.media()
		if err != nil {
			return err
		}
		l := &all[at[m.Lesson]]
		l.Media = append(l.Media, m)
	}
	return nil
}

// Lessons implements academy.LessonStore.
func (s lessons) Lessons(ctx context.Context, f academy.LessonFilter) ([]academy.Lesson, error) {
	q := on(ctx, s.tx).Table("lessons").Select(lessonColumns).Joins("JOIN members ON members.academy_id = lessons.academy_id AND members.id = lessons.student_id").
		Where("lessons.academy_id = ? AND members.removed_at IS NULL", s.id).Order("lessons.starts_at DESC, lessons.id DESC").Limit(f.Limit)
	if f.Student != "" {
		q = q.Where("lessons.student_id = ?", f.Student)
	}
	if f.Coach != "" {
		q = q.Where("lessons.coach_id = ?", f.Coach)
	}
	if f.VisibleTo != "" {
		q = q.Where("lessons.student_id IN (?)", s.linkedTo(f.VisibleTo))
	}
	if f.ForApps {
		q = q.Where("(members.junior = ? OR members.apps_at IS NOT NULL)", false)
	}
	q = since(q, "lessons.starts_at", f.From)
	if !f.Until.IsZero() {
		q = q.Where("lessons.starts_at < ?", at(f.Until))
	}
	if !f.Before.IsZero() {
		q = q.Where("(lessons.starts_at, lessons.id) < (?, ?)", at(f.Before), f.BeforeID)
	}
	var rows []lessonRow
	if err := q.Find(&rows).Error; err != nil {
		return nil, fail(err, "lesson")
	}
	all := each(rows, lessonRow.lesson)
	return all, s.illustrate(ctx, all)
}

// SaveLesson implements academy.LessonStore.
func (s lessonStore) SaveLesson(ctx context.Context, l academy.Lesson) error {
	row := lessonRow{
		AcademyID: s.id, ID: l.ID, StudentID: l.Student, CoachID: l.Coach, StartsAt: at(l.StartsAt), Minutes: l.Minutes,
		Cue: l.Cue, Drill: l.Drill, Notes: l.Notes, Revision: l.Revision, CreatedAt: at(l.CreatedAt), UpdatedAt: at(l.UpdatedAt),
	}
	return s.save(ctx, &row, l.ID, l.Revision, "lesson", "starts_at", "minutes", "cue", "drill", "notes", "updated_at")
}

// DeleteLesson implements academy.LessonStore.
func (s lessonStore) DeleteLesson(ctx context.Context, id domain.ID) error {
	if !s.writing {
		return errReadOnly
	}
	return s.batch(ctx,
		query{sql: "DELETE FROM lesson_parts WHERE academy_id = ? AND media_id IN (SELECT id FROM lesson_media WHERE academy_id = ? AND lesson_id = ?)",
			args: []any{s.id, s.id, id}, what: "lesson"},
		query{sql: "DELETE FROM lesson_media WHERE academy_id = ? AND lesson_id = ?", args: []any{s.id, id}, what: "lesson"},
		query{sql: "DELETE FROM lessons WHERE academy_id = ? AND id = ?", args: []any{s.id, id}, what: "lesson", done: found("lesson")},
	)
}

// found wants a statement to have changed a row.
func found(what string) func(int64) error {
	return func(changed int64) error {
		if changed == 0 {
			return domain.ErrNotFound(what)
		}
		return nil
	}
}

// Written implements academy.LessonStore.
func (s lessonStore) Written(ctx context.Context, student domain.ID, since time.Time, limit int) (all []academy.Written, err error) {
	from := at(since)
	err = s.batch(ctx, query{
		sql: "SELECT kind, session_id, text, at FROM (" +
			"SELECT 'note' AS kind, id AS session_id, note AS text, started_at AS at FROM sessions WHERE academy_id = ? AND student_id = ? AND started_at >= ? AND deleted_at IS NULL AND note <> ''" +
			" UNION ALL SELECT 'comment', session_id, text, at FROM comments WHERE academy_id = ? AND author_id = ? AND at >= ? AND deleted_at IS NULL" +
			" UNION ALL SELECT 'message', '', text, at FROM messages WHERE academy_id = ? AND student_id = ? AND author_id = ? AND at >= ?" +
			") AS written ORDER BY at DESC, kind, text LIMIT ?",
		args: []any{s.id, student, from, s.id, student, from, s.id, student, student, from, limit}, what: "student",
		row: func(scan func(...any) error) error {
			var w academy.Written
			var ms int64
			err := scan(&w.Kind, &w.Session, &w.Text, &ms)
			w.At = instant(ms)
			all = append(all, w)
			return err
		},
	})
	return all, err
}

// AddMedia implements academy.MediaStore.
func (s mediaStore) AddMedia(ctx context.Context, m academy.Media, content []byte) error {
	row := mediaRow{
		AcademyID: s.id, ID: m.ID, LessonID: m.Lesson, StudentID: m.Student, Type: m.Type, Size: m.Size,
		KeepUntil: m.KeepUntil.String(), ByID: maybeText(m.By), AddedAt: at(m.AddedAt),
	}
	if err := s.insert(ctx, &row, 1, "lesson"); err != nil {
		return err
	}
	for part := range m.Parts() {
		err := s.batch(ctx, query{
			sql:  "INSERT INTO lesson_parts (academy_id, media_id, part, student_id, data) VALUES (?, ?, ?, ?, ?)",
			args: []any{s.id, m.ID, part, m.Student, content[part*academy.MediaPart : min(len(content), (part+1)*academy.MediaPart)]}, what: "lesson",
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// MediaPart implements academy.MediaStore.
func (s mediaStore) MediaPart(ctx context.Context, media domain.ID, part int) (data []byte, err error) {
	err = s.batch(ctx, query{
		sql:  "SELECT data FROM lesson_parts WHERE academy_id = ? AND media_id = ? AND part = ?",
		args: []any{s.id, media, part}, what: "photo or clip", none: domain.ErrNotFound("photo or clip"),
		row: func(scan func(...any) error) error { return scan(&data) },
	})
	return data, err
}

// DeleteMedia implements academy.MediaStore.
func (s mediaStore) DeleteMedia(ctx context.Context, media domain.ID) error {
	if !s.writing {
		return errReadOnly
	}
	return s.batch(ctx,
		query{sql: "DELETE FROM lesson_parts WHERE academy_id = ? AND media_id = ?", args: []any{s.id, media}, what: "photo or clip"},
		query{sql: "DELETE FROM lesson_media WHERE academy_id = ? AND id = ?", args: []any{s.id, media}, what: "photo or clip", done: found("photo or clip")},
	)
}

// MediaUse implements academy.MediaStore.
func (s mediaStore) MediaUse(ctx context.Context) (u academy.MediaUse, err error) {
	err = s.batch(ctx, query{
		sql: "SELECT COUNT(*), CAST(COALESCE(SUM(size), 0) AS bigint) FROM lesson_media WHERE academy_id = ?", args: []any{s.id}, what: "academy",
		row: func(scan func(...any) error) error { return scan(&u.Count, &u.Bytes) },
	})
	return u, err
}

// DueMedia implements academy.MediaStore.
func (s mediaStore) DueMedia(ctx context.Context, before domain.Date, limit int) ([]academy.Media, error) {
	var rows []mediaRow
	err := s.rows(ctx).Where("keep_until < ? OR student_id IN (SELECT id FROM members WHERE academy_id = ? AND junior = ? AND (media_at IS NULL OR consent_at IS NULL))",
		before.String(), s.id, true).Order("id").Limit(limit).Find(&rows).Error
	if err != nil {
		return nil, fail(err, "academy")
	}
	return tryEach(rows, mediaRow.media)
}
