package academy

import (
	"context"
	"time"

	"fringework/domain"
)

// LessonStore is what lessons need kept.
type LessonStore interface {
	domain.EventLog
	Viewing

	// Lesson finds a lesson with its media.
	Lesson(ctx context.Context, id domain.ID) (Lesson, error)
	// Lessons lists lessons with their media and the students' names, latest first.
	Lessons(ctx context.Context, f LessonFilter) ([]Lesson, error)
	// SaveLesson keeps a lesson, but for its media.
	SaveLesson(ctx context.Context, l Lesson) error
	// DeleteLesson deletes a lesson with its media.
	DeleteLesson(ctx context.Context, id domain.ID) error
	// Written gives what a student wrote since an instant, latest first.
	Written(ctx context.Context, student domain.ID, since time.Time, limit int) ([]Written, error)
}

// LessonFilter asks for a stretch of lessons of active students, latest first; zero
// values do not narrow.
type LessonFilter struct {
	Student domain.ID
	// Coach keeps those that a coach gives.
	Coach domain.ID
	// VisibleTo keeps those of students whom this member works with, and ForApps
	// leaves out those of juniors whom software may not read.
	VisibleTo domain.ID
	ForApps   bool
	// From and Until bound the start: From included, Until not.
	From, Until time.Time
	// Before, when set, is the position after which to go on: when a lesson starts
	// and, among equal ones, the identity.
	Before   time.Time
	BeforeID domain.ID
	Limit    int
}

// Written is something that a student wrote.
type Written struct {
	// Kind is where: WrittenNote, WrittenComment or WrittenMessage.
	Kind WrittenKind
	// Session is what a note or a comment is about.
	Session domain.ID
	Text    string
	At      time.Time
}

// WrittenKind is where a student wrote something.
type WrittenKind string

// The kinds: the note of a session, a comment under one, a message to the coaches.
const (
	WrittenNote    WrittenKind = "note"
	WrittenComment WrittenKind = "comment"
	WrittenMessage WrittenKind = "message"
)

// WrittenKinds lists them.
func WrittenKinds() []WrittenKind { return []WrittenKind{WrittenNote, WrittenComment, WrittenMessage} }

// LessonService is what can be done with lessons. The edge has checked that the
// actor's role may try.
type LessonService struct {
	Store   domain.Transactor[LessonStore]
	Reading domain.Transactor[ReadStore]
	Env     domain.Env
}

// PlanRequest asks for lessons of several students, one after the other: the first
// begins at First, each next one when the one before is over.
type PlanRequest struct {
	Students []domain.ID
	First    time.Time
	// Minutes is how long each is; UsualLesson when 0.
	Minutes int
}

// Plan puts lessons of the actor's on the calendar: all of them or none.
func (s LessonService) Plan(ctx context.Context, a domain.Actor, r PlanRequest) (all []Lesson, err error) {
	if r.Minutes == 0 {
		r.Minutes = UsualLesson
	}
	now := s.Env.Now()
	if err := r.check(now); err != nil {
		return nil, err
	}
	err = s.Store.Write(ctx, a.Academy, func(tx LessonStore) error {
		all = nil
		for i, id := range r.Students {
			m, err := Student(ctx, tx, a, id)
			if err != nil {
				return err
			}
			l := Lesson{
				ID: s.Env.NewID(), Student: id, StudentName: m.Name, Coach: a.Member, Minutes: r.Minutes,
				StartsAt: r.First.UTC().Truncate(time.Minute).Add(time.Duration(i*r.Minutes) * time.Minute), Revision: 1, CreatedAt: now, UpdatedAt: now,
			}
			if err := tx.SaveLesson(ctx, l); err != nil {
				return err
			}
			if err := tx.Record(ctx, a.Event(now, "lesson.planned", l.ID, id, map[string]any{"starts_at": l.StartsAt, "minutes": l.Minutes})); err != nil {
				return err
			}
			all = append(all, l)
		}
		return nil
	})
	return all, err
}

func (r PlanRequest) check(now time.Time) error {
	var p domain.Problems
	if n := len(r.Students); n == 0 || n > maxTogether {
		p.Add("/student_ids", "names %d students; name 1 to %d", n, maxTogether)
	}
	seen := map[domain.ID]bool{}
	for _, id := range r.Students {
		if seen[id] {
			p.Add("/student_ids", "names a student twice; name each once")
			break
		}
		seen[id] = true
	}
	Lesson{StartsAt: r.First, Minutes: r.Minutes}.check(&p, now)
	return p.Err("lesson_invalid", "No lesson was planned.")
}

// LessonChange is what may be changed of a lesson.
type LessonChange struct {
	StartsAt          time.Time
	Minutes           int
	Cue, Drill, Notes string
}

// Change changes a lesson of a student whom the actor may see; revision is what the
// actor has read, 0 for no check. What was agreed about media stays.
func (s LessonService) Change(ctx context.Context, a domain.Actor, id domain.ID, revision int, c LessonChange) (l Lesson, err error) {
	err = s.Store.Write(ctx, a.Academy, func(tx LessonStore) error {
		var m Member
		if l, m, err = openLesson(ctx, tx, a, id); err != nil {
			return err
		}
		if err := domain.CheckRevision("lesson", revision, l.Revision); err != nil {
			return err
		}
		l.StartsAt, l.Minutes, l.Cue, l.Drill, l.Notes = c.StartsAt.UTC().Truncate(time.Minute), c.Minutes, c.Cue, c.Drill, c.Notes
		var p domain.Problems
		now := s.Env.Now()
		l.check(&p, now)
		if err := p.Err("lesson_invalid", "The lesson was not saved."); err != nil {
			return err
		}
		if (l.Cue != "" || l.Drill != "" || l.Notes != "") && !m.MayPractise() {
			return ErrConsent(ctx, tx, m, "nothing was written about them", "Ask the guardian first.")
		}
		l.Revision++
		l.UpdatedAt = now
		if err := tx.SaveLesson(ctx, l); err != nil {
			return err
		}
		l = l.seenBy(a, m, domain.DateOf(now, m.Zone()))
		return tx.Record(ctx, a.Event(now, "lesson.changed", id, l.Student, map[string]any{"revision": l.Revision, "starts_at": l.StartsAt, "minutes": l.Minutes, "cue": l.Cue != ""}))
	})
	return l, err
}

// openLesson finds a lesson of a student whom the actor may see.
func openLesson(ctx context.Context, tx LessonStore, a domain.Actor, id domain.ID) (l Lesson, m Member, err error) {
	if l, err = tx.Lesson(ctx, id); err != nil {
		return l, m, err
	}
	if m, err = Student(ctx, tx, a, l.Student); err != nil && domain.KindOf(err) == domain.NotFound {
		err = domain.ErrNotFound("lesson")
	}
	return l, m, err
}

// Delete deletes a lesson with its media.
func (s LessonService) Delete(ctx context.Context, a domain.Actor, id domain.ID) error {
	return s.Store.Write(ctx, a.Academy, func(tx LessonStore) error {
		l, _, err := openLesson(ctx, tx, a, id)
		if err != nil {
			return err
		}
		if err := tx.DeleteLesson(ctx, id); err != nil {
			return err
		}
		return tx.Record(ctx, a.Event(s.Env.Now(), "lesson.deleted", id, l.Student, map[string]any{"media": len(l.Media)}))
	})
}

// Get reads a lesson of a student whom the actor may see.
func (s LessonService) Get(ctx context.Context, a domain.Actor, id domain.ID) (l Lesson, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx LessonStore) error {
		var m Member
		if l, m, err = openLesson(ctx, tx, a, id); err == nil {
			l = l.seenBy(a, m, domain.DateOf(s.Env.Now(), m.Zone()))
		}
		return err
	})
	return l, err
}

// List reads lessons of the students whom the actor may see, latest first.
func (s LessonService) List(ctx context.Context, a domain.Actor, f LessonFilter) (all []Lesson, err error) {
	f.VisibleTo, f.ForApps = Scope(a), a.ByApp()
	now := s.Env.Now()
	err = s.Store.Read(ctx, a.Academy, func(tx LessonStore) error {
		if f.Student != "" {
			if _, err := Student(ctx, tx, a, f.Student); err != nil {
				return err
			}
		}
		if all, err = tx.Lessons(ctx, f); err != nil {
			return err
		}
		members := map[domain.ID]Member{}
		for i, l := range all {
			m, known := members[l.Student]
			if !known {
				if m, err = tx.Member(ctx, l.Student); err != nil {
					return err
				}
				members[l.Student] = m
			}
			all[i] = l.seenBy(a, m, domain.DateOf(now, m.Zone()))
		}
		return nil
	})
	return all, err
}
