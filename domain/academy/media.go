package academy

import (
	"context"
	"slices"
	"time"

	"fringework/domain"
)

// MediaStore is what photos and clips of lessons need kept.
type MediaStore interface {
	domain.EventLog
	Viewing

	// Lesson finds a lesson with its media.
	Lesson(ctx context.Context, id domain.ID) (Lesson, error)
	// AddMedia keeps media with its content, which is Media.Size bytes.
	AddMedia(ctx context.Context, m Media, content []byte) error
	// MediaPart gives one part of the content, counted from 0.
	MediaPart(ctx context.Context, media domain.ID, part int) ([]byte, error)
	// DeleteMedia deletes media with its content.
	DeleteMedia(ctx context.Context, media domain.ID) error
	// MediaUse counts all media of the academy.
	MediaUse(ctx context.Context) (MediaUse, error)
	// DueMedia gives media that were to be kept until a day before this one, and those
	// of juniors whose guardians do not agree, in order of identity, so many at most.
	DueMedia(ctx context.Context, before domain.Date, limit int) ([]Media, error)
}

// MediaUse is how much an academy's media take.
type MediaUse struct {
	Count int
	Bytes int64
}

// MediaService is what can be done with photos and clips of lessons. The edge has
// checked that the actor's role may try.
type MediaService struct {
	Store domain.Transactor[MediaStore]
	Env   domain.Env
}

// Content is a photo or a clip as it came, looked at and cleaned by the edge.
type Content struct {
	// Type is one of MediaTypes, found in the content itself.
	Type  string
	Bytes []byte
}

// Add keeps a photo or a clip with a lesson for so many days from today, as agreed with
// the student. A junior's is kept only with a guardian's consent.
func (s MediaService) Add(ctx context.Context, a domain.Actor, lesson domain.ID, days int, c Content) (m Media, err error) {
	if err := c.check(days); err != nil {
		return Media{}, err
	}
	now := s.Env.Now()
	err = s.Store.Write(ctx, a.Academy, func(tx MediaStore) error {
		l, of, err := openMedia(ctx, tx, a, lesson)
		if err != nil {
			return err
		}
		if err := mayKeep(ctx, tx, of, l, c); err != nil {
			return err
		}
		m = Media{
			ID: s.Env.NewID(), Lesson: l.ID, Student: l.Student, Type: c.Type, Size: len(c.Bytes),
			KeepUntil: domain.DateOf(now, of.Zone()).AddDays(days - 1), By: a.Member, AddedAt: now,
		}
		if err := tx.AddMedia(ctx, m, c.Bytes); err != nil {
			return err
		}
		return tx.Record(ctx, a.Event(now, "lesson-media.added", l.ID, l.Student, map[string]any{"type": m.Type, "size": m.Size, "keep_until": m.KeepUntil.String()}))
	})
	return m, err
}

func (c Content) check(days int) error {
	var p domain.Problems
	if days < 1 || days > MaxMediaDays {
		p.Add("/days", "is %d; give the 1 to %d days that you agreed with the student", days, MaxMediaDays)
	}
	if !slices.Contains(MediaTypes(), c.Type) || len(c.Bytes) == 0 {
		p.Add("", "is no photo or clip; send a JPEG or PNG photo, or an MP4 or WebM clip")
	}
	if len(c.Bytes) > MaxMedia {
		p.Add("", "is %d MB; send at most %d MB", len(c.Bytes)>>20, MaxMedia>>20)
	}
	return p.Err("media_invalid", "Nothing was kept.")
}

// mayKeep refuses what nobody agreed to, and what has no room.
func mayKeep(ctx context.Context, tx MediaStore, of Member, l Lesson, c Content) error {
	if !of.MayPractise() {
		return ErrConsent(ctx, tx, of, "nothing was kept", "Ask the guardian first.")
	}
	if !of.ForMedia() {
		return domain.Errorf(domain.Conflict, "media_not_agreed", "%s is a junior whose guardian has not agreed to photos and clips: nothing was kept. Ask the guardian to agree on their page first.", of.Name)
	}
	if len(l.Media) >= maxLessonMedia {
		return domain.Errorf(domain.Conflict, "media_many", "This lesson has %d photos and clips already. Delete one first.", len(l.Media))
	}
	use, err := tx.MediaUse(ctx)
	if err != nil {
		return err
	}
	if use.Bytes+int64(len(c.Bytes)) > MediaQuota {
		return domain.Errorf(domain.Conflict, "media_full", "The academy's photos and clips take %d of %d MB. Delete some that are no longer needed first.", use.Bytes>>20, MediaQuota>>20)
	}
	return nil
}

// openMedia finds a lesson of a student whom the actor may see.
func openMedia(ctx context.Context, tx MediaStore, a domain.Actor, lesson domain.ID) (l Lesson, of Member, err error) {
	if l, err = tx.Lesson(ctx, lesson); err != nil {
		return l, of, err
	}
	if of, err = Student(ctx, tx, a, l.Student); err != nil && domain.KindOf(err) == domain.NotFound {
		err = domain.ErrNotFound("lesson")
	}
	return l, of, err
}

// find finds one of a lesson's media that the actor may see now.
func (s MediaService) find(ctx context.Context, tx MediaStore, a domain.Actor, lesson, media domain.ID) (Media, error) {
	l, of, err := openMedia(ctx, tx, a, lesson)
	if err != nil {
		return Media{}, err
	}
	for _, m := range l.seenBy(a, of, domain.DateOf(s.Env.Now(), of.Zone())).Media {
		if m.ID == media {
			return m, nil
		}
	}
	return Media{}, domain.ErrNotFound("photo or clip")
}

// Find finds one of a lesson's media.
func (s MediaService) Find(ctx context.Context, a domain.Actor, lesson, media domain.ID) (m Media, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx MediaStore) error {
		m, err = s.find(ctx, tx, a, lesson, media)
		return err
	})
	return m, err
}

// Part reads a part, counted from 0, of the content of media that Find gave.
func (s MediaService) Part(ctx context.Context, a domain.Actor, m Media, part int) (data []byte, err error) {
	err = s.Store.ReadOnce(ctx, a.Academy, func(tx MediaStore) error {
		data, err = tx.MediaPart(ctx, m.ID, part)
		return err
	})
	return data, err
}

// Delete deletes one of a lesson's media: by a coach, the student or a guardian.
func (s MediaService) Delete(ctx context.Context, a domain.Actor, lesson, media domain.ID) error {
	return s.Store.Write(ctx, a.Academy, func(tx MediaStore) error {
		m, err := s.find(ctx, tx, a, lesson, media)
		if err != nil {
			return err
		}
		return s.drop(ctx, tx, a, m, "asked")
	})
}

// MediaDeleted is the kind of event after which a database's files are to be written
// anew, so that the content is nowhere in them.
const MediaDeleted = "lesson-media.deleted"

// drop deletes media and tells why.
func (s MediaService) drop(ctx context.Context, tx MediaStore, a domain.Actor, m Media, why string) error {
	if err := tx.DeleteMedia(ctx, m.ID); err != nil {
		return err
	}
	return tx.Record(ctx, a.Event(s.Env.Now(), MediaDeleted, m.Lesson, m.Student, map[string]any{"why": why}))
}

// Use counts all media of the actor's academy.
func (s MediaService) Use(ctx context.Context, a domain.Actor) (u MediaUse, err error) {
	err = s.Store.ReadOnce(ctx, a.Academy, func(tx MediaStore) error {
		u, err = tx.MediaUse(ctx)
		return err
	})
	return u, err
}

// dueBatch is how many media are deleted in one transaction at most.
const dueBatch = 50

// Expire deletes what an academy keeps no longer: media whose days are over, and those
// of juniors whose guardians do not agree any more. It says how many that were.
func (s MediaService) Expire(ctx context.Context, academy domain.ID) (n int, err error) {
	now := s.Env.Now()
	// No zone is further ahead than 14 hours; each student's own day decides.
	latest := domain.DateOf(now.Add(14*time.Hour), time.UTC)
	for {
		dropped, seen := 0, 0
		err := s.Store.Write(ctx, academy, func(tx MediaStore) error {
			dropped = 0
			due, err := tx.DueMedia(ctx, latest, dueBatch)
			seen = len(due)
			for _, m := range due {
				of, failed := tx.Member(ctx, m.Student)
				if failed != nil {
					return failed
				}
				if m.kept(of, domain.DateOf(now, of.Zone())) {
					continue
				}
				why := "over"
				if !of.ForMedia() {
					why = "consent"
				}
				if err := s.drop(ctx, tx, domain.Actor{Academy: academy}, m, why); err != nil {
					return err
				}
				dropped++
			}
			return err
		})
		n += dropped
		if err != nil || dropped == 0 || seen < dueBatch {
			return n, err
		}
	}
}
