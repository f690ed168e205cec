package api

import (
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/academy"
)

// lessonPath is where a lesson is, as the router sees it.
const lessonPath = "/v1/lessons/:lesson_id"

// LessonPlanRequest puts lessons on the calendar, one after the other.
type LessonPlanRequest struct {
	// StudentIDs are those taught, in the order of their lessons.
	StudentIDs []domain.ID `json:"student_ids" validate:"required" minItems:"1" maxItems:"60" format:"uuid"`
	// StartsAt is when the first lesson begins; each next one begins when the one
	// before is over.
	StartsAt time.Time `json:"starts_at" validate:"required" format:"date-time" example:"2026-05-13T14:00:00+01:00"`
	// Minutes is how long each one is; 60 if left out.
	Minutes int `json:"minutes,omitempty" minimum:"5" maximum:"480" example:"45"`
} // @name LessonPlanRequest

// LessonBody is what a coach writes of a lesson.
type LessonBody struct {
	// StartsAt is when the lesson begins.
	StartsAt time.Time `json:"starts_at" validate:"required" binding:"required" format:"date-time" example:"2026-05-13T14:00:00+01:00"`
	Minutes  int       `json:"minutes" validate:"required" binding:"required" minimum:"5" maximum:"480" example:"45"`
	// Cue is the one thing that the student keeps in mind, in the student's own words,
	// in one line. It stands until a later lesson has one.
	Cue string `json:"cue,omitempty" maxLength:"140" example:"Brush the grass after the ball"`
	// Drill is what to practise until the next lesson.
	Drill string `json:"drill,omitempty" maxLength:"500" example:"Ten balls between two tees, eyes closed for the last three."`
	// Notes are for coaches: students and guardians do not get them here. A student's
	// download of all that is held on them has them.
	Notes string `json:"notes,omitempty" maxLength:"4000" example:"Weight stays back when the lie is bare."`
} // @name LessonBody

// Lesson is a coach's time with a student.
type Lesson struct {
	ID        domain.ID `json:"id" binding:"required" format:"uuid"`
	StudentID domain.ID `json:"student_id" binding:"required" format:"uuid"`
	// StudentName is the student's name.
	StudentName string `json:"student_name" binding:"required" example:"Ada Lind"`
	// CoachID is who gives it.
	CoachID domain.ID `json:"coach_id" binding:"required" format:"uuid"`
	LessonBody
	// Media are its photos and clips.
	Media     []LessonMedia `json:"media" binding:"required"`
	Revision  int           `json:"revision" binding:"required"`
	UpdatedAt time.Time     `json:"updated_at" binding:"required" format:"date-time"`
} // @name Lesson

// LessonPage is one page of lessons, latest first.
type LessonPage struct {
	Items []Lesson `json:"items" binding:"required"`
	Links Links    `json:"links" binding:"required"`
} // @name LessonPage

// LessonList is the lessons that were planned.
type LessonList struct {
	Items []Lesson `json:"items" binding:"required"`
} // @name LessonList

func encodeLesson(l academy.Lesson) Lesson {
	return Lesson{
		ID: l.ID, StudentID: l.Student, StudentName: l.StudentName, CoachID: l.Coach,
		LessonBody: LessonBody{StartsAt: l.StartsAt.UTC(), Minutes: l.Minutes, Cue: l.Cue, Drill: l.Drill, Notes: l.Notes},
		Media:      each(l.Media, encodeLessonMedia), Revision: l.Revision, UpdatedAt: l.UpdatedAt.UTC(),
	}
}

// planLessons puts lessons on the calendar.
//
//	@Summary		Plan lessons
//	@Description	For coaches and owners: lessons of one or several students, one after the other. All are planned, or none. A student sees when their lesson is at once, and what it says from its day on.
//	@ID				planLessons
//	@Tags			Lessons
//	@Accept			json
//	@Produce		json
//	@Param			lessons	body		LessonPlanRequest	true	"Who and when"
//	@Success		201		{object}	LessonList
//	@Failure		400,401,403,404,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/lessons [post]
func (s *Server) planLessons(c echo.Context) error {
	var r LessonPlanRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	var p domain.Problems
	request := academy.PlanRequest{Students: bodyIDs(&p, r.StudentIDs), First: r.StartsAt, Minutes: r.Minutes}
	if err := p.Err("lesson_invalid", "No lesson was planned."); err != nil {
		return err
	}
	all, err := s.Lessons.Plan(c.Request().Context(), actor(c), request)
	if err != nil {
		return err
	}
	return created(c, "/v1/lessons", 0, LessonList{Items: each(all, encodeLesson)})
}

// listLessons lists lessons.
//
//	@Summary		List lessons, latest first
//	@Description	Those of the students whom you may see. Notes are for coaches; before a lesson's day its student sees only when it is. The cue that stands is that of the first lesson here that has one and whose day has come.
//	@ID				listLessons
//	@Tags			Lessons
//	@Produce		json
//	@Param			student_id		query		string	false	"Only of this student"	format(uuid)
//	@Param			coach_id		query		string	false	"Only those that this coach gives"	format(uuid)
//	@Param			from			query		string	false	"Only those that begin at this time or later, RFC 3339"	format(date-time)
//	@Param			until			query		string	false	"Only those that begin before this time, RFC 3339"	format(date-time)
//	@Param			limit			query		int		false	"Page size"	minimum(1)	maximum(200)	default(50)
//	@Param			cursor			query		string	false	"Where to continue, from links.next"
//	@Param			If-None-Match	header		string	false	"The ETag you already have"
//	@Success		200				{object}	LessonPage
//	@Success		304				"Not modified"
//	@Failure		400,401,403,404,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/lessons [get]
func (s *Server) listLessons(c echo.Context) error {
	q := newQuery(c)
	limit := q.number("limit", 1, maxLimit, defaultLimit)
	f := academy.LessonFilter{Student: q.id("student_id"), Coach: q.id("coach_id"), From: q.instant("from"), Until: q.instant("until"), Limit: limit + 1}
	f.Before, f.BeforeID = q.timeCursor()
	if err := q.done(); err != nil {
		return err
	}
	all, err := s.Lessons.List(c.Request().Context(), actor(c), f)
	if err != nil {
		return err
	}
	var links Links
	if len(all) > limit {
		all = all[:limit]
		last := all[limit-1]
		links = next(c, last.StartsAt.UTC().Format(time.RFC3339Nano), string(last.ID))
	}
	return ok(c, 0, LessonPage{Items: each(all, encodeLesson), Links: links})
}

// getLesson reads a lesson.
//
//	@Summary	Read a lesson
//	@ID			getLesson
//	@Tags		Lessons
//	@Produce	json
//	@Param		lesson_id		path		string	true	"The lesson"	format(uuid)
//	@Param		If-None-Match	header		string	false	"The ETag you already have"
//	@Success	200				{object}	Lesson
//	@Success	304				"Not modified"
//	@Failure	400,401,403,404,429,500,503	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/lessons/{lesson_id} [get]
func (s *Server) getLesson(c echo.Context) error {
	id, err := pathID(c, "lesson_id")
	if err != nil {
		return err
	}
	l, err := s.Lessons.Get(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	return ok(c, l.Revision, encodeLesson(l))
}

// putLesson changes a lesson.
//
//	@Summary		Change a lesson
//	@Description	For coaches and owners. What you leave out is empty afterwards. Nothing can be written about a junior without a guardian's consent.
//	@ID				putLesson
//	@Tags			Lessons
//	@Accept			json
//	@Produce		json
//	@Param			lesson_id	path		string		true	"The lesson"	format(uuid)
//	@Param			If-Match	header		string		false	"The ETag you have read"
//	@Param			lesson		body		LessonBody	true	"The lesson"
//	@Success		200			{object}	Lesson
//	@Failure		400,401,403,404,409,412,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/lessons/{lesson_id} [put]
func (s *Server) putLesson(c echo.Context) error {
	id, err := pathID(c, "lesson_id")
	if err != nil {
		return err
	}
	revision, err := ifMatch(c)
	if err != nil {
		return err
	}
	var r LessonBody
	if err := decodeReadBack[Lesson](c, &r); err != nil {
		return err
	}
	l, err := s.Lessons.Change(c.Request().Context(), actor(c), id, revision, academy.LessonChange{
		StartsAt: r.StartsAt, Minutes: r.Minutes, Cue: r.Cue, Drill: r.Drill, Notes: r.Notes,
	})
	if err != nil {
		return err
	}
	return ok(c, l.Revision, encodeLesson(l))
}

// deleteLesson deletes a lesson.
//
//	@Summary		Delete a lesson
//	@Description	For coaches and owners. Its photos and clips are deleted with it.
//	@ID				deleteLesson
//	@Tags			Lessons
//	@Produce		json
//	@Param			lesson_id	path	string	true	"The lesson"	format(uuid)
//	@Success		204			"Deleted"
//	@Failure		400,401,403,404,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/lessons/{lesson_id} [delete]
func (s *Server) deleteLesson(c echo.Context) error {
	id, err := pathID(c, "lesson_id")
	if err != nil {
		return err
	}
	if err := s.Lessons.Delete(c.Request().Context(), actor(c), id); err != nil {
		return err
	}
	return noContent(c)
}
