package domaintest

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
)

// keptMedia is media with its content.
type keptMedia struct {
	academy.Media
	content []byte
}

// Lessons gives the service of the lessons.
func (m *Memory) Lessons() academy.LessonService {
	return academy.LessonService{Store: opener[academy.LessonStore]{m}, Reading: opener[academy.ReadStore]{m}, Env: m.Env()}
}

// LessonMedia gives the service of the photos and clips of lessons.
func (m *Memory) LessonMedia() academy.MediaService {
	return academy.MediaService{Store: opener[academy.MediaStore]{m}, Env: m.Env()}
}

// Lesson implements academy.LessonStore and academy.MediaStore.
func (t *tx) Lesson(_ context.Context, id domain.ID) (academy.Lesson, error) {
	if err := t.call(); err != nil {
		return academy.Lesson{}, err
	}
	l, ok := t.lessons[id]
	if !ok {
		return academy.Lesson{}, domain.ErrNotFound("lesson")
	}
	return t.whole(l), nil
}

// whole is a lesson with its media and the student's name.
func (t *tx) whole(l academy.Lesson) academy.Lesson {
	l.StudentName = t.members[l.Student].Name
	for _, m := range t.media {
		if m.Lesson == l.ID {
			l.Media = append(l.Media, m.Media)
		}
	}
	slices.SortFunc(l.Media, func(a, b academy.Media) int { return compareIDs(a.ID, b.ID) })
	return l
}

// Lessons implements academy.LessonStore.
func (t *tx) Lessons(_ context.Context, f academy.LessonFilter) ([]academy.Lesson, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	var all []academy.Lesson
	for l := range maps.Values(t.lessons) {
		at := l.StartsAt.Compare(f.Before)
		switch {
		case !t.members[l.Student].Active(), f.Student != "" && l.Student != f.Student, f.Coach != "" && l.Coach != f.Coach:
		case f.VisibleTo != "" && f.VisibleTo != l.Student && !t.linked(f.VisibleTo, l.Student):
		case f.ForApps && !t.members[l.Student].ForApps():
		case l.StartsAt.Before(f.From), !f.Until.IsZero() && !l.StartsAt.Before(f.Until):
		case !f.Before.IsZero() && (at > 0 || at == 0 && l.ID >= f.BeforeID):
		default:
			all = append(all, t.whole(l))
		}
	}
	slices.SortFunc(all, func(a, b academy.Lesson) int { return cmp.Or(b.StartsAt.Compare(a.StartsAt), compareIDs(b.ID, a.ID)) })
	return all[:min(len(all), f.Limit)], nil
}

// SaveLesson implements academy.LessonStore.
func (t *tx) SaveLesson(_ context.Context, l academy.Lesson) error {
	if err := t.change(); err != nil {
		return err
	}
	if err := next("lesson", l.Revision, t.lessons[l.ID].Revision); err != nil {
		return err
	}
	if err := t.known(l.Student, l.Coach); err != nil {
		return err
	}
	l.Media, l.StudentName = nil, ""
	t.lessons[l.ID] = l
	return nil
}

// DeleteLesson implements academy.LessonStore.
func (t *tx) DeleteLesson(_ context.Context, id domain.ID) error {
	if err := t.change(); err != nil {
		return err
	}
	if _, ok := t.lessons[id]; !ok {
		return domain.ErrNotFound("lesson")
	}
	delete(t.lessons, id)
	maps.DeleteFunc(t.media, func(_ domain.ID, m keptMedia) bool { return m.Lesson == id })
	return nil
}

// Written implements academy.LessonStore.
func (t *tx) Written(_ context.Context, student domain.ID, since time.Time, limit int) ([]academy.Written, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	var all []academy.Written
	for _, s := range t.sessions {
		if s.Student == student && !s.Deleted() && s.Note != "" {
			all = append(all, academy.Written{Kind: academy.WrittenNote, Session: s.ID, Text: s.Note, At: s.StartedAt})
		}
	}
	for _, c := range t.comments {
		if c.Author == student && c.DeletedAt.IsZero() {
			all = append(all, academy.Written{Kind: academy.WrittenComment, Session: c.Session, Text: c.Text, At: c.At})
		}
	}
	for _, m := range t.messages {
		if m.Student == student && m.ByStudent() {
			all = append(all, academy.Written{Kind: academy.WrittenMessage, Text: m.Text, At: m.At})
		}
	}
	all = slices.DeleteFunc(all, func(w academy.Written) bool { return w.At.Before(since) })
	slices.SortFunc(all, func(a, b academy.Written) int {
		return cmp.Or(b.At.Compare(a.At), cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Text, b.Text))
	})
	return all[:min(len(all), limit)], nil
}

// AddMedia implements academy.MediaStore.
func (t *tx) AddMedia(_ context.Context, m academy.Media, content []byte) error {
	if err := t.change(); err != nil {
		return err
	}
	if _, ok := t.lessons[m.Lesson]; !ok {
		return domain.ErrNotFound("lesson")
	}
	if err := t.known(m.Student); err != nil {
		return err
	}
	t.media[m.ID] = keptMedia{m, slices.Clone(content)}
	return nil
}

// MediaPart implements academy.MediaStore.
func (t *tx) MediaPart(_ context.Context, media domain.ID, part int) ([]byte, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	m, ok := t.media[media]
	if !ok || part < 0 || part >= m.Parts() {
		return nil, domain.ErrNotFound("photo or clip")
	}
	return slices.Clone(m.content[part*academy.MediaPart : min(m.Size, (part+1)*academy.MediaPart)]), nil
}

// DeleteMedia implements academy.MediaStore.
func (t *tx) DeleteMedia(_ context.Context, media domain.ID) error {
	if err := t.change(); err != nil {
		return err
	}
	if _, ok := t.media[media]; !ok {
		return domain.ErrNotFound("photo or clip")
	}
	delete(t.media, media)
	return nil
}

// MediaUse implements academy.MediaStore.
func (t *tx) MediaUse(context.Context) (u academy.MediaUse, err error) {
	for _, m := range t.media {
		u.Count++
		u.Bytes += int64(m.Size)
	}
	return u, t.call()
}

// DueMedia implements academy.MediaStore.
func (t *tx) DueMedia(_ context.Context, before domain.Date, limit int) ([]academy.Media, error) {
	if err := t.call(); err != nil {
		return nil, err
	}
	var due []academy.Media
	for _, m := range t.media {
		if m.KeepUntil.Before(before) || !t.members[m.Student].ForMedia() {
			due = append(due, m.Media)
		}
	}
	slices.SortFunc(due, func(a, b academy.Media) int { return compareIDs(a.ID, b.ID) })
	return due[:min(len(due), limit)], nil
}
