package academy

import (
	"context"
	"crypto/sha256"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
)

// CalendarLink is the secret address of a student's calendar. Each student has one at
// most; a new one replaces it.
type CalendarLink struct {
	Student domain.ID
	// Token is the digest of the address's token, which is shown once.
	Token   [sha256.Size]byte
	Created time.Time
}

// CalendarStore is what calendars need kept.
type CalendarStore interface {
	domain.EventLog
	Viewing

	// Calendar finds a student's; it is NotFound without one.
	Calendar(ctx context.Context, student domain.ID) (CalendarLink, error)
	// CalendarByToken finds one by the digest of its token.
	CalendarByToken(ctx context.Context, token [sha256.Size]byte) (CalendarLink, error)
	SaveCalendar(ctx context.Context, l CalendarLink) error
	// EndCalendar forgets a student's. It reports false when there is none.
	EndCalendar(ctx context.Context, student domain.ID) (bool, error)
}

// CalendarService is what can be done with calendars.
type CalendarService struct {
	Store   domain.Transactor[CalendarStore]
	Reading domain.Transactor[ReadStore]
	Lessons domain.Transactor[LessonStore]
	Env     domain.Env
}

// CalendarWeek is one week of a programme, for a calendar.
type CalendarWeek struct {
	Assignment domain.ID
	// Number counts the programme's weeks from 1, of Weeks.
	Number, Weeks int
	// First is its Monday, in the student's time zone.
	First     domain.Date
	Programme string
	Week      curriculum.Week
	SkillName string
	// Changed is when the programme was given or last changed for the student.
	Changed time.Time
}

// StudentCalendar is what a calendar shows.
type StudentCalendar struct {
	Student Member
	Weeks   []CalendarWeek
	// Competitions are those that are not over, in order of date, as of when they were
	// changed last.
	Competitions []Competition
	Changed      time.Time
	// Lessons are those of the last calendarPast days and to come, latest first.
	Lessons []Lesson
}

// A calendar shows so many lessons at most, from so many days ago.
const (
	calendarLessons = 100
	calendarPast    = 28
)

// Make makes the address of the actor's own calendar, with the digest of its token.
// An earlier address shows nothing from then on.
func (s CalendarService) Make(ctx context.Context, a domain.Actor, token [sha256.Size]byte) (l CalendarLink, err error) {
	err = s.Store.Write(ctx, a.Academy, func(tx CalendarStore) error {
		m, err := Student(ctx, tx, a, a.Member)
		if err != nil {
			return err
		}
		if !m.MayPractise() {
			return ErrConsent(ctx, tx, m, "there is no calendar", "Ask the guardian first.")
		}
		l = CalendarLink{Student: m.ID, Token: token, Created: s.Env.Now()}
		if err := tx.SaveCalendar(ctx, l); err != nil {
			return err
		}
		return tx.Record(ctx, a.Event(l.Created, "calendar.made", m.ID, m.ID, nil))
	})
	return l, err
}

// Link tells of the actor's own calendar; it is NotFound without one.
func (s CalendarService) Link(ctx context.Context, a domain.Actor) (l CalendarLink, err error) {
	err = s.Store.ReadOnce(ctx, a.Academy, func(tx CalendarStore) error {
		l, err = tx.Calendar(ctx, a.Member)
		return err
	})
	return l, err
}

// Withdraw ends the address of the actor's own calendar. Doing it again changes
// nothing.
func (s CalendarService) Withdraw(ctx context.Context, a domain.Actor) error {
	return s.Store.Write(ctx, a.Academy, func(tx CalendarStore) error {
		ended, err := tx.EndCalendar(ctx, a.Member)
		if err != nil || !ended {
			return err
		}
		return tx.Record(ctx, a.Event(s.Env.Now(), "calendar.withdrawn", a.Member, a.Member, nil))
	})
}

// Shown gives what an address of an academy shows now: this week and those to come,
// of every programme under way or about to begin, and competitions that are not over. It is NotFound once the address was
// withdrawn, the student has left, or a junior's guardian has withdrawn consent.
func (s CalendarService) Shown(ctx context.Context, in domain.ID, token [sha256.Size]byte) (c StudentCalendar, err error) {
	err = s.Store.Read(ctx, in, func(tx CalendarStore) error {
		l, err := tx.CalendarByToken(ctx, token)
		if err != nil {
			return err
		}
		c.Student, err = tx.Member(ctx, l.Student)
		if err == nil && (!c.Student.Active() || c.Student.Role != domain.Student || !c.Student.MayPractise()) {
			err = domain.ErrNotFound("calendar")
		}
		return err
	})
	if err != nil {
		return StudentCalendar{}, err
	}
	err = s.Reading.Read(ctx, in, func(tx ReadStore) error {
		c.Weeks = nil
		stored, err := tx.Stored(ctx, []domain.ID{c.Student.ID})
		if err != nil {
			return err
		}
		today := domain.DateOf(s.Env.Now(), c.Student.Zone())
		work, err := works(ctx, tx, stored, today)
		for _, w := range work {
			c.Weeks = append(c.Weeks, w.calendar()...)
		}
		season := stored.Seasons[c.Student.ID]
		c.Competitions, c.Changed = season.ahead(today), season.Changed
		return err
	})
	if err != nil {
		return c, err
	}
	err = s.Lessons.Read(ctx, in, func(tx LessonStore) error {
		c.Lessons, err = tx.Lessons(ctx, LessonFilter{Student: c.Student.ID, From: s.Env.Now().AddDate(0, 0, -calendarPast), Limit: calendarLessons})
		return err
	})
	return c, err
}

// calendar gives the weeks of a programme from the one under way on; none of one that
// is over, or that waits for a pause to end.
func (w Work) calendar() (weeks []CalendarWeek) {
	changed := w.Assignment.CreatedAt
	for _, at := range []time.Time{w.Version.PublishedAt, latest(w.Adjustments)} {
		if at.After(changed) {
			changed = at
		}
	}
	from := w.Position.Week
	switch w.Position.Phase {
	case Upcoming:
		from = 1
	case Running:
	case Paused:
		if w.Position.Until == (domain.Date{}) {
			return nil
		}
	default:
		return nil
	}
	for n := from; n <= len(w.Weeks); n++ {
		week := w.Weeks[n-1]
		skill, _ := w.Version.SkillByID(week.Skill)
		weeks = append(weeks, CalendarWeek{
			Assignment: w.Assignment.ID, Number: n, Weeks: len(w.Weeks), First: w.Assignment.WeekStart(n),
			Programme: w.Version.Content.Name, Week: week, SkillName: skill.Name, Changed: changed,
		})
	}
	return weeks
}

// latest is when the latest of some adjustments was made; zero without any.
func latest(all []Adjustment) (at time.Time) {
	for _, x := range all {
		if x.CreatedAt.After(at) {
			at = x.CreatedAt
		}
	}
	return at
}
