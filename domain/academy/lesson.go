package academy

import (
	"slices"
	"strings"
	"time"

	"fringework/domain"
)

// Lesson is the time of a coach with a student: the coach's unit of work.
type Lesson struct {
	ID      domain.ID
	Student domain.ID
	// StudentName is filled in when it is read.
	StudentName string
	// Coach is who gives it.
	Coach    domain.ID
	StartsAt time.Time
	Minutes  int
	// Cue is the one thing that the student keeps in mind, in the student's own words;
	// up to 140 characters. It stands until a later lesson has one.
	Cue string
	// Drill is what to practise until the next lesson, up to 500 characters.
	Drill string
	// Notes are for coaches, up to 4000 characters. Neither the student's pages nor a
	// guardian's show them; the student's download of all that is kept has them.
	Notes string
	// Media are its photos and clips, in the order in which they came.
	Media     []Media
	Revision  int
	CreatedAt time.Time
	UpdatedAt time.Time
}

// Bounds of a lesson.
const (
	minLesson     = 5   // minutes
	maxLesson     = 480 // minutes
	UsualLesson   = 60  // minutes (common practice, no source)
	maxCue        = 140
	maxDrill      = 500
	maxNotes      = 4000
	maxTogether   = 60 // lessons that are planned at once
	lessonHorizon = 2  // years ahead
)

// Media is a photo or a clip of a lesson.
type Media struct {
	ID      domain.ID
	Lesson  domain.ID
	Student domain.ID
	// Type is its media type, one of MediaTypes.
	Type string
	// Size is in bytes.
	Size int
	// KeepUntil is the last day on which it is kept, in the student's time zone.
	KeepUntil domain.Date
	By        domain.ID
	AddedAt   time.Time
}

// Limits of photos and clips. All of an academy's are rows of its database, so that
// one backup has them and one erasure takes them; the limits keep that small.
const (
	// MaxMedia is how many bytes one has at most.
	MaxMedia = 8 << 20
	// MaxClip is how long a clip is at most.
	MaxClip = 20 * time.Second
	// MediaQuota is how many bytes all of an academy have at most.
	MediaQuota = 1 << 30
	// MediaPart is how many bytes a part has, but for the last.
	MediaPart = 256 << 10
	// maxLessonMedia is how many a lesson has at most.
	maxLessonMedia = 6
	// MaxMediaDays is for how many days one may be kept.
	MaxMediaDays = 365
)

// MediaTypes are those that are kept.
func MediaTypes() []string { return []string{"image/jpeg", "video/mp4", "video/webm"} }

// Parts counts the parts that the media is kept in.
func (m Media) Parts() int { return (m.Size + MediaPart - 1) / MediaPart }

// kept reports whether the media may still be shown on a day of the student's.
func (m Media) kept(of Member, today domain.Date) bool {
	return !m.KeepUntil.Before(today) && of.ForMedia()
}

// Day is the local day of the lesson in a zone.
func (l Lesson) Day(zone *time.Location) domain.Date { return domain.DateOf(l.StartsAt, zone) }

// seenBy is the lesson as an actor may read it on a day of the student's: notes are for
// coaches, and before its day a lesson shows the student only when it is.
func (l Lesson) seenBy(a domain.Actor, of Member, today domain.Date) Lesson {
	l.StudentName = of.Name
	l.Media = slices.DeleteFunc(slices.Clone(l.Media), func(m Media) bool { return !m.kept(of, today) || a.ByApp() })
	if teaches(a) {
		return l
	}
	l.Notes = ""
	if today.Before(l.Day(of.Zone())) {
		l.Cue, l.Drill, l.Media = "", "", nil
	}
	return l
}

// teaches reports whether a coach or an owner asks in person.
func teaches(a domain.Actor) bool {
	return (a.Role == domain.Coach || a.Role == domain.Owner) && !a.ByApp()
}

// check holds a lesson to the rules, as of an instant.
func (l Lesson) check(p *domain.Problems, now time.Time) {
	if l.StartsAt.IsZero() {
		p.Add("/starts_at", "is missing; give when the lesson begins")
	} else if l.StartsAt.After(now.AddDate(lessonHorizon, 0, 0)) || l.StartsAt.Before(now.AddDate(-10, 0, 0)) {
		p.Add("/starts_at", "is %s; give a time of the last ten years or the next two", l.StartsAt.UTC().Format(time.DateOnly))
	}
	if l.Minutes < minLesson || l.Minutes > maxLesson {
		p.Add("/minutes", "is %d; give %d to %d minutes", l.Minutes, minLesson, maxLesson)
	}
	checkText(p, "/cue", l.Cue, maxCue)
	if strings.ContainsAny(l.Cue, "\r\n") {
		p.Add("/cue", "has several lines; a cue is one thing in one line")
	}
	checkText(p, "/drill", l.Drill, maxDrill)
	checkText(p, "/notes", l.Notes, maxNotes)
}

// StandingCue gives the lesson whose cue a student keeps in mind on a day: the latest
// one that has begun by then and has one. Lessons are latest first.
func StandingCue(lessons []Lesson, today domain.Date, zone *time.Location) (Lesson, bool) {
	for _, l := range lessons {
		if l.Cue != "" && !today.Before(l.Day(zone)) {
			return l, true
		}
	}
	return Lesson{}, false
}
