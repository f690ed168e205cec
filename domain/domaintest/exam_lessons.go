package domaintest

import (
	"bytes"
	"context"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/practice"
)

// lesson is one of the fixture's student by the coach, that afternoon.
func (f *Fixture) lesson(id domain.ID, revision int) academy.Lesson {
	return academy.Lesson{
		ID: id, Student: f.Student, Coach: f.Coach, StartsAt: examNow.Truncate(time.Minute).Add(5 * time.Hour), Minutes: 45,
		Cue: "Brush the grass ⛳", Drill: "Two tees, ten balls.", Notes: "Grip is weak.",
		Revision: revision, CreatedAt: examNow, UpdatedAt: examNow,
	}
}

// media is a clip of the fixture's lesson, in two parts.
func (f *Fixture) media(id domain.ID) academy.Media {
	return academy.Media{
		ID: id, Lesson: f.Lesson, Student: f.Student, Type: "video/webm", Size: academy.MediaPart + 77,
		KeepUntil: examDay.AddDays(30), By: f.Coach, AddedAt: examNow,
	}
}

// clip is content of so many bytes, no two parts of it alike.
func clip(size int) []byte {
	content := make([]byte, size)
	for i := range content {
		content[i] = byte(i*7 + i/academy.MediaPart)
	}
	return content
}

// named is a lesson as a store gives it.
func (e *exam) named(l academy.Lesson, media ...academy.Media) academy.Lesson {
	m := get(e, e.s.People, func(tx academy.Store) (academy.Member, error) { return tx.Member(e.ctx, l.Student) })
	l.StudentName, l.Media = m.Name, media
	return l
}

// lessonsKept: kept as given, listed latest first, of those whom somebody may see.
func (e *exam) lessonsKept() {
	save := func(l academy.Lesson) {
		write(e, e.s.Lessons, func(tx academy.LessonStore) error { return tx.SaveLesson(e.ctx, l) })
	}
	list := func(f academy.LessonFilter) []academy.Lesson {
		f.Limit = max(f.Limit, 9)
		return get(e, e.s.Lessons, func(tx academy.LessonStore) ([]academy.Lesson, error) { return tx.Lessons(e.ctx, f) })
	}
	first := e.named(e.lesson(e.Lesson, 1), e.media(e.Media))
	one := func(id domain.ID) academy.Lesson {
		return get(e, e.s.Lessons, func(tx academy.LessonStore) (academy.Lesson, error) { return tx.Lesson(e.ctx, id) })
	}
	e.same("Lesson", one(e.Lesson), first)
	same, later, others := e.lesson(examID(), 1), e.lesson(examID(), 1), e.lesson(examID(), 1)
	later.StartsAt, later.Coach = later.StartsAt.AddDate(0, 0, 7), e.Owner
	others.Student, others.StartsAt = e.Spare, others.StartsAt.Add(-time.Hour)
	for _, l := range []academy.Lesson{later, same, others} {
		save(l)
	}
	same, later, others = e.named(same), e.named(later), e.named(others)
	e.same("all", list(academy.LessonFilter{}), []academy.Lesson{later, same, first, others})
	e.same("of a student", list(academy.LessonFilter{Student: e.Spare}), []academy.Lesson{others})
	e.same("by a coach", list(academy.LessonFilter{Coach: e.Owner}), []academy.Lesson{later})
	for what, id := range map[string]domain.ID{"a coach": e.Coach, "a guardian": e.Guardian, "the student": e.Student} {
		e.same("seen by "+what, list(academy.LessonFilter{VisibleTo: id}), []academy.Lesson{later, same, first})
	}
	e.same("from then on", list(academy.LessonFilter{From: first.StartsAt}), []academy.Lesson{later, same, first})
	e.same("until then", list(academy.LessonFilter{Until: first.StartsAt}), []academy.Lesson{others})
	e.same("a page", list(academy.LessonFilter{Before: same.StartsAt, BeforeID: same.ID}), []academy.Lesson{first, others})
	write(e, e.s.People, func(tx academy.Store) error {
		m, err := tx.Member(e.ctx, e.Spare)
		if err != nil {
			return err
		}
		m.Junior, m.Revision = true, m.Revision+1
		return tx.SaveMember(e.ctx, m)
	})
	e.same("for apps", len(list(academy.LessonFilter{ForApps: true})), 3)

	edited := first
	edited.Cue, edited.Drill, edited.Notes, edited.Minutes, edited.StartsAt, edited.Revision, edited.UpdatedAt = "Soft hands", "", "", 30, first.StartsAt.Add(time.Hour), 2, examNow.Add(time.Minute)
	save(edited)
	e.same("edited", one(e.Lesson), edited)
	refuse(e, "an earlier revision", e.s.Lessons, domain.Stale, func(tx academy.LessonStore) error { return tx.SaveLesson(e.ctx, e.lesson(e.Lesson, 2)) })
	nobodys := e.lesson(examID(), 1)
	nobodys.Student = examID()
	refuse(e, "of nobody", e.s.Lessons, domain.NotFound, func(tx academy.LessonStore) error { return tx.SaveLesson(e.ctx, nobodys) })
	write(e, e.s.Lessons, func(tx academy.LessonStore) error { return tx.DeleteLesson(e.ctx, e.Lesson) })
	refuse(e, "deleted", e.s.Lessons, domain.NotFound, func(tx academy.LessonStore) error { _, err := tx.Lesson(e.ctx, e.Lesson); return err })
	refuse(e, "deleted again", e.s.Lessons, domain.NotFound, func(tx academy.LessonStore) error { return tx.DeleteLesson(e.ctx, e.Lesson) })
	e.same("its media", get(e, e.s.Media, func(tx academy.MediaStore) (academy.MediaUse, error) { return tx.MediaUse(e.ctx) }), academy.MediaUse{})
}

// written: the student's own words since an instant, latest first, without what was
// deleted.
func (e *exam) written() {
	written := func(since time.Time, limit int) []academy.Written {
		return get(e, e.s.Lessons, func(tx academy.LessonStore) ([]academy.Written, error) {
			return tx.Written(e.ctx, e.Spare, since, limit)
		})
	}
	s := practice.Session{ID: examID(), Student: e.Spare, TimeZone: "Europe/Oslo", StartedAt: examStart, Revision: 1, Note: "Wet green."}
	e.Put(e.T, s)
	gone := s
	gone.ID, gone.Note, gone.StartedAt = examID(), "Gone.", examStart.AddDate(0, 0, -1)
	e.Put(e.T, gone)
	if err := e.practice().Delete(e.ctx, e.Actor(), gone.ID, e.Spare, 2); err != nil {
		e.Fatal(err)
	}
	said := practice.Comment{ID: examID(), Session: s.ID, Author: e.Spare, Text: "Why?", At: examStart.Add(2 * time.Hour)}
	coachs := practice.Comment{ID: examID(), Session: s.ID, Author: e.Coach, Text: "Well done.", At: examStart.Add(3 * time.Hour)}
	write(e, e.s.Comments, func(tx practice.CommentStore) error {
		if err := tx.AddComment(e.ctx, said); err != nil {
			return err
		}
		return tx.AddComment(e.ctx, coachs)
	})
	m := e.message(e.Spare, "See you on Monday.", 0)
	m.Student, m.At = e.Spare, examStart.Add(time.Hour)
	write(e, e.s.Messages, func(tx academy.MessageStore) error { return tx.AddMessage(e.ctx, m) })
	want := []academy.Written{
		{Kind: academy.WrittenComment, Session: s.ID, Text: said.Text, At: said.At},
		{Kind: academy.WrittenMessage, Text: m.Text, At: m.At},
		{Kind: academy.WrittenNote, Session: s.ID, Text: s.Note, At: s.StartedAt},
	}
	e.same("all", written(time.Time{}, 9), want)
	e.same("since", written(m.At, 9), want[:2])
	e.same("the latest", written(time.Time{}, 1), want[:1])
}

// mediaKept: kept as given, in parts, counted, and due once their days are over or a
// junior's guardian does not agree.
func (e *exam) mediaKept() {
	part := func(n int) []byte {
		return get(e, e.s.Media, func(tx academy.MediaStore) ([]byte, error) { return tx.MediaPart(e.ctx, e.Media, n) })
	}
	due := func(before domain.Date, limit int) []domain.ID {
		all := get(e, e.s.Media, func(tx academy.MediaStore) ([]academy.Media, error) { return tx.DueMedia(e.ctx, before, limit) })
		return idsOf(all, func(m academy.Media) domain.ID { return m.ID })
	}
	use := func() academy.MediaUse {
		return get(e, e.s.Media, func(tx academy.MediaStore) (academy.MediaUse, error) { return tx.MediaUse(e.ctx) })
	}
	m := e.media(e.Media)
	e.same("content", bytes.Equal(append(part(0), part(1)...), clip(m.Size)), true)
	for _, n := range []int{-1, 2} {
		refuse(e, "a part that is not there", e.s.Media, domain.NotFound, func(tx academy.MediaStore) error { _, err := tx.MediaPart(e.ctx, e.Media, n); return err })
	}
	second := m
	second.ID, second.Type, second.Size, second.KeepUntil = examID(), "image/jpeg", 9, m.KeepUntil.AddDays(1)
	write(e, e.s.Media, func(tx academy.MediaStore) error { return tx.AddMedia(e.ctx, second, clip(9)) })
	e.same("of the lesson", get(e, e.s.Media, func(tx academy.MediaStore) (academy.Lesson, error) { return tx.Lesson(e.ctx, e.Lesson) }).Media, []academy.Media{m, second})
	e.same("use", use(), academy.MediaUse{Count: 2, Bytes: int64(m.Size + 9)})
	e.same("none due", len(due(m.KeepUntil, 9)), 0)
	e.same("one due", due(second.KeepUntil, 9), []domain.ID{m.ID})
	e.same("both due", due(second.KeepUntil.AddDays(1), 9), []domain.ID{m.ID, second.ID})
	e.same("so many", due(second.KeepUntil.AddDays(1), 1), []domain.ID{m.ID})
	consent := func(change func(*academy.Member)) {
		write(e, e.s.People, func(tx academy.Store) error {
			student, err := tx.Member(e.ctx, e.Student)
			if err != nil {
				return err
			}
			change(&student)
			student.Revision++
			return tx.SaveMember(e.ctx, student)
		})
	}
	consent(func(s *academy.Member) { s.Junior, s.ConsentAt, s.ConsentBy = true, examNow, e.Guardian })
	e.same("a junior's", len(due(m.KeepUntil, 9)), 2)
	consent(func(s *academy.Member) { s.MediaAt = examNow })
	e.same("agreed to", len(due(m.KeepUntil, 9)), 0)
	consent(func(s *academy.Member) { s.ConsentAt, s.ConsentBy = time.Time{}, "" })
	e.same("no consent at all", len(due(m.KeepUntil, 9)), 2)

	lost := m
	lost.ID, lost.Lesson = examID(), examID()
	refuse(e, "of no lesson", e.s.Media, domain.NotFound, func(tx academy.MediaStore) error { return tx.AddMedia(e.ctx, lost, clip(lost.Size)) })
	write(e, e.s.Media, func(tx academy.MediaStore) error { return tx.DeleteMedia(e.ctx, m.ID) })
	e.same("what is left", use(), academy.MediaUse{Count: 1, Bytes: 9})
	refuse(e, "deleted", e.s.Media, domain.NotFound, func(tx academy.MediaStore) error { return tx.DeleteMedia(e.ctx, m.ID) })
}

func lessonCalls() []Call {
	of := func(s Stores) domain.Transactor[academy.LessonStore] { return s.Lessons }
	return slices.Concat(logCalls(of), viewingCalls(of), []Call{
		call(of, "Lesson", func(ctx context.Context, tx academy.LessonStore, f *Fixture) (bool, error) {
			return some(tx.Lesson(ctx, f.Lesson))
		}),
		call(of, "Lessons", func(ctx context.Context, tx academy.LessonStore, f *Fixture) (bool, error) {
			return some(tx.Lessons(ctx, academy.LessonFilter{Student: f.Student, Limit: 9}))
		}),
		call(of, "Lessons", func(ctx context.Context, tx academy.LessonStore, f *Fixture) (bool, error) {
			return some(tx.Lessons(ctx, academy.LessonFilter{VisibleTo: f.Coach, Limit: 9}))
		}),
		call(of, "SaveLesson", func(ctx context.Context, tx academy.LessonStore, f *Fixture) (bool, error) {
			return changed(tx.SaveLesson(ctx, f.lesson(f.Lesson, 2)))
		}),
		call(of, "DeleteLesson", func(ctx context.Context, tx academy.LessonStore, f *Fixture) (bool, error) {
			return changed(tx.DeleteLesson(ctx, f.Lesson))
		}),
		call(of, "Written", func(ctx context.Context, tx academy.LessonStore, f *Fixture) (bool, error) {
			return some(tx.Written(ctx, f.Student, time.Time{}, 9))
		}),
	})
}

func mediaCalls() []Call {
	of := func(s Stores) domain.Transactor[academy.MediaStore] { return s.Media }
	return slices.Concat(logCalls(of), viewingCalls(of), []Call{
		call(of, "Lesson", func(ctx context.Context, tx academy.MediaStore, f *Fixture) (bool, error) {
			return some(tx.Lesson(ctx, f.Lesson))
		}),
		call(of, "AddMedia", func(ctx context.Context, tx academy.MediaStore, f *Fixture) (bool, error) {
			m := f.media(examID())
			return changed(tx.AddMedia(ctx, m, clip(m.Size)))
		}),
		call(of, "MediaPart", func(ctx context.Context, tx academy.MediaStore, f *Fixture) (bool, error) {
			return some(tx.MediaPart(ctx, f.Media, 0))
		}),
		call(of, "DeleteMedia", func(ctx context.Context, tx academy.MediaStore, f *Fixture) (bool, error) {
			return changed(tx.DeleteMedia(ctx, f.Media))
		}),
		call(of, "MediaUse", func(ctx context.Context, tx academy.MediaStore, f *Fixture) (bool, error) {
			return some(tx.MediaUse(ctx))
		}),
		call(of, "DueMedia", func(ctx context.Context, tx academy.MediaStore, f *Fixture) (bool, error) {
			return some(tx.DueMedia(ctx, examDay.AddDays(99), 9))
		}),
	})
}
