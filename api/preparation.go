package api

import (
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
	"fringework/domain/estimate"
)

// LessonPreparation is what changed for a student since the lesson before.
type LessonPreparation struct {
	Lesson  Lesson       `json:"lesson" binding:"required"`
	Student StudentBrief `json:"student" binding:"required"`
	// Previous is the lesson before; absent for the first.
	Previous *Lesson `json:"previous,omitempty"`
	// Since is when that was, or four weeks before this one without it.
	Since time.Time `json:"since" binding:"required" format:"date-time"`
	// Practice counts all that was practised since.
	Practice Tally        `json:"practice" binding:"required"`
	Skills   []SkillSince `json:"skills" binding:"required"`
	// Hints are what to look at, in words: the most pressing first, at most four.
	Hints []string `json:"hints" binding:"required" example:"Try one club for a whole session."`
	// Attention are the reasons to look at the student.
	Attention []Stall `json:"attention" binding:"required"`
	// Written are the student's own words since, latest first.
	Written []Written `json:"written" binding:"required"`
} // @name LessonPreparation

// SkillSince is a student at a skill since a lesson.
type SkillSince struct {
	SkillID domain.ID `json:"skill_id" binding:"required" format:"uuid"`
	Name    string    `json:"name" binding:"required"`
	// Before is the rate as it stood at the lesson before, Now as it stands. That one
	// follows the other shows no cause.
	Before *RateThen `json:"before,omitempty"`
	Now    *RateThen `json:"now,omitempty"`
	// Practice counts what was practised since, with the misses.
	Practice Tally `json:"practice" binding:"required"`
	// Passed are the steps passed since.
	Passed   []Milestone `json:"passed" binding:"required"`
	NextTier *Tier       `json:"next_tier,omitempty"`
	// Stuck says that the skill was practised since and no step was passed.
	Stuck bool `json:"stuck" binding:"required"`
} // @name SkillSince

// RateThen is a rate as it stood at a time.
type RateThen struct {
	RadiusM    float64  `json:"radius_m" binding:"required" example:"1.524"`
	Mean       float64  `json:"mean" binding:"required" example:"0.59"`
	Interval80 Interval `json:"interval_80" binding:"required"`
} // @name RateThen

// Written is something that a student wrote.
type Written struct {
	// Kind is where: the note of a session, a comment under one, or a message.
	Kind string `json:"kind" binding:"required" extensions:"x-words=written_kinds" example:"note"`
	// SessionID is what a note or a comment is about.
	SessionID domain.ID `json:"session_id,omitempty" format:"uuid"`
	Text      string    `json:"text" binding:"required" example:"Wet green, everything ran out."`
	At        time.Time `json:"at" binding:"required" format:"date-time"`
} // @name Written

// mostHints is how many things to look at are named.
const mostHints = 4

func (e progressEncoder) preparation(p academy.Preparation) LessonPreparation {
	out := LessonPreparation{
		Lesson: encodeLesson(p.Lesson), Student: encodeStudentBrief(p.Row.Student), Since: p.Since.UTC(), Practice: encodeTally(p.Practice),
		Skills: each(p.Skills, encodeSkillSince), Attention: e.attention(p.Row), Hints: e.hints(p),
		Written: each(p.Written, func(w academy.Written) Written {
			return Written{Kind: string(w.Kind), SessionID: w.Session, Text: w.Text, At: w.At.UTC()}
		}),
	}
	if p.Previous != nil {
		previous := encodeLesson(*p.Previous)
		out.Previous = &previous
	}
	return out
}

// hints say what to look at: what the reasons advise that nobody has seen yet, then
// which way the misses lean.
func (e progressEncoder) hints(p academy.Preparation) []string {
	all := []string{}
	for _, a := range p.Row.Attention {
		if _, does := a.Words(e.reader); a.Acknowledged == nil && does != "" {
			all = append(all, does)
		}
	}
	for _, s := range p.Skills {
		if way := advice.Leaning(s.Since.Misses); way != "" {
			short, _, _ := strings.Cut(way, ";") // the page draws the rest
			all = append(all, s.Skill.Name+", misses: "+strings.ToLower(short[:1])+short[1:]+".")
		}
	}
	return all[:min(len(all), mostHints)]
}

func encodeSkillSince(s academy.SkillSince) SkillSince {
	out := SkillSince{
		SkillID: s.State.Skill, Name: s.Skill.Name, Practice: encodeTally(s.Since), Passed: each(s.Passed, encodeMilestone), Stuck: s.Stuck,
		Before: rateThen(s.Before, s.Radius), Now: rateThen(s.Now, s.Radius),
	}
	if next, open := s.State.Next(); open {
		tier := encodeTier(next)
		out.NextTier = &tier
	}
	return out
}

func rateThen(r *estimate.Rate, radius domain.Length) *RateThen {
	if r == nil {
		return nil
	}
	return &RateThen{RadiusM: radius.Metres(), Mean: r.Mean, Interval80: encodeInterval(r.Interval80)}
}

// prepareLesson reads what to know before a lesson.
//
//	@Summary		Prepare a lesson
//	@Description	For coaches and owners: what changed since the lesson before. Sessions, balls and time; for each skill the rate then and now with their intervals, steps passed, and misses; reasons to look at the student; what the student wrote; the last cue. Rates then and now show no cause. Sentences write lengths in the units that you prefer.
//	@ID				prepareLesson
//	@Tags			Lessons
//	@Produce		json
//	@Param			lesson_id		path		string	true	"The lesson"	format(uuid)
//	@Param			If-None-Match	header		string	false	"The ETag you already have"
//	@Success		200				{object}	LessonPreparation
//	@Success		304				"Not modified"
//	@Failure		400,401,403,404,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/lessons/{lesson_id}/preparation [get]
func (s *Server) prepareLesson(c echo.Context) error {
	id, err := pathID(c, "lesson_id")
	if err != nil {
		return err
	}
	p, err := s.Lessons.Prepare(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	encoder, err := s.readerStyle(c, p.Row.Student)
	if err != nil {
		return err
	}
	return ok(c, 0, encoder.preparation(p))
}
