package api

import (
	"fmt"
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
)

// AssignRequest gives a published version to students, to a group, or to both.
type AssignRequest struct {
	ProgrammeID domain.ID `json:"programme_id" validate:"required" format:"uuid"`
	// Version is optional; the latest published one by default.
	Version    *int        `json:"version,omitempty" minimum:"1" example:"1"`
	StudentIDs []domain.ID `json:"student_ids,omitempty" maxItems:"2000" format:"uuid"`
	GroupID    domain.ID   `json:"group_id,omitempty" format:"uuid"`
	// StartDate is the first day of week 1, in each student's own time zone.
	StartDate string `json:"start_date" validate:"required" format:"date" example:"2026-05-04"`
	// Tests asks for a first test of each skill that is new to the student, and for an
	// end test of it from the last week on.
	Tests *bool `json:"tests,omitempty" default:"true" example:"true"`
} // @name AssignRequest

// PauseRequest stops an assignment's weeks from a day on.
type PauseRequest struct {
	// From is the first day of the pause; by default today, in the student's
	// time zone.
	From string `json:"from,omitempty" format:"date" example:"2026-07-01"`
	// Until is the first day after the pause, if its end is known; without it the
	// pause lasts until it is resumed.
	Until string `json:"until,omitempty" format:"date" example:"2026-07-15"`
	// Reason is a note for the coach.
	Reason string `json:"reason,omitempty" maxLength:"400" example:"holiday"`
} // @name PauseRequest

// ResumeRequest ends a pause.
type ResumeRequest struct {
	// On is the first day after the pause; by default today, in the student's
	// time zone.
	On string `json:"on,omitempty" format:"date" example:"2026-07-15"`
} // @name ResumeRequest

// MoveRequest moves an assignment to another version of its programme.
type MoveRequest struct {
	Version int `json:"version" validate:"required" minimum:"1" example:"2"`
	// Adjustments says what becomes of the student's adjustments: keep keeps those
	// that still change something of the new version, end ends all of them.
	Adjustments string `json:"adjustments,omitempty" enums:"keep,end" default:"keep" example:"keep"`
} // @name MoveRequest

// Pause is a break in an assignment. Later weeks move back by its days.
type Pause struct {
	// From is the first day of the pause.
	From string `json:"from" binding:"required" format:"date" example:"2026-07-01"`
	// Until is the first day after the pause; absent while no end is known.
	Until  string `json:"until,omitempty" format:"date" example:"2026-07-15"`
	Reason string `json:"reason,omitempty"`
} // @name Pause

// Position is how far an assignment has got today, in the student's time zone.
type Position struct {
	// Phase is how far the programme has come.
	Phase string `json:"phase" binding:"required" enums:"upcoming,running,paused,finished,ended" example:"running"`
	// Week counts from 1. It is 0 before the start, and the last week after the end.
	Week int `json:"week" binding:"required" example:"2"`
	// Day is the day of that week, from 1; 0 before the start.
	Day int `json:"day" binding:"required" example:"3"`
	// From is the first day of week 1, before the start.
	From string `json:"from,omitempty" format:"date" example:"2026-11-30"`
	// Until is the first day after the pause, while paused and if its end is known.
	Until string `json:"until,omitempty" format:"date" example:"2026-07-15"`
} // @name Position

// Assignment is a published version given to a student from a date.
type Assignment struct {
	ID          domain.ID `json:"id" binding:"required" format:"uuid"`
	StudentID   domain.ID `json:"student_id" binding:"required" format:"uuid"`
	ProgrammeID domain.ID `json:"programme_id" binding:"required" format:"uuid"`
	Version     int       `json:"version" binding:"required" example:"1"`
	StartDate   string    `json:"start_date" binding:"required" format:"date" example:"2026-05-04"`
	Pauses      []Pause   `json:"pauses" binding:"required"`
	// EndedAt is when a coach ended it.
	EndedAt *time.Time `json:"ended_at,omitempty" format:"date-time"`
	// Sessions is how many sessions were logged for it.
	Sessions int `json:"sessions" binding:"required" example:"5"`
	// Tests says whether first tests and end tests are asked for.
	Tests     bool      `json:"tests" binding:"required"`
	Revision  int       `json:"revision" binding:"required" example:"1"`
	CreatedBy domain.ID `json:"created_by" binding:"required" format:"uuid"`
	CreatedAt time.Time `json:"created_at" binding:"required" format:"date-time"`
} // @name Assignment

// AssignmentList is the assignments that were made.
type AssignmentList struct {
	Items []Assignment `json:"items" binding:"required"`
	// Had are those of the group's students who had the programme already.
	Had []Assignment `json:"had" binding:"required"`
} // @name AssignmentList

// AssignmentPage is one page of assignments.
type AssignmentPage struct {
	Items []Assignment `json:"items" binding:"required"`
	Links Links        `json:"links" binding:"required"`
} // @name AssignmentPage

// AssignmentDetail is an assignment and how far it has got today.
type AssignmentDetail struct {
	Assignment
	// ProgrammeName and Weeks are those of the assigned version.
	ProgrammeName string   `json:"programme_name" binding:"required" example:"Six weeks around the green"`
	Weeks         int      `json:"weeks" binding:"required" example:"6"`
	Position      Position `json:"position" binding:"required"`
	// Planned is how many sessions were planned up to today.
	Planned int `json:"planned" binding:"required" example:"6"`
	// MovedWeeks are weeks of versions before a move whose sessions count for a
	// week of another number, since that week has what was done in them.
	MovedWeeks []MovedWeek `json:"moved_weeks" binding:"required"`
} // @name AssignmentDetail

// MovedWeek is a week of an earlier version that changed places.
type MovedWeek struct {
	Version int `json:"version" binding:"required" example:"1"`
	Week    int `json:"week" binding:"required" example:"2"`
	// CountsFor is the week of the present version that its sessions count for;
	// absent when that has nothing like it.
	CountsFor int `json:"counts_for,omitempty" example:"3"`
} // @name MovedWeek

func encodeAssignment(a academy.Assignment) Assignment {
	return Assignment{
		ID: a.ID, StudentID: a.Student, ProgrammeID: a.Programme, Version: a.Version, StartDate: a.Start.String(),
		Pauses: each(a.Pauses, func(p academy.Pause) Pause {
			return Pause{From: p.From.String(), Until: p.Until.String(), Reason: p.Reason}
		}),
		EndedAt: instant(a.EndedAt), Sessions: a.Sessions, Tests: a.Tests, Revision: a.Revision, CreatedBy: a.CreatedBy, CreatedAt: a.CreatedAt.UTC(),
	}
}

func encodePosition(p academy.Position, start domain.Date) Position {
	x := Position{Phase: string(p.Phase), Week: p.Week, Day: p.Day, Until: p.Until.String()}
	if p.Phase == academy.Upcoming {
		x.From = start.String()
	}
	return x
}

func encodeAssignmentDetail(a academy.Assignment, c curriculum.Content, today domain.Date) AssignmentDetail {
	return AssignmentDetail{
		Assignment: encodeAssignment(a), ProgrammeName: c.Name, Weeks: len(c.Weeks),
		Position: encodePosition(a.On(today, len(c.Weeks)), a.Start), Planned: a.Planned(today, c.Weeks),
		MovedWeeks: encodeMovedWeeks(a),
	}
}

func encodeMovedWeeks(a academy.Assignment) []MovedWeek {
	return each(a.MovedWeeks(), func(m academy.MovedWeek) MovedWeek { return MovedWeek{m.Version, m.Week, m.For} })
}

// bodyDate reads a date from a body; an empty one is the zero Date.
func bodyDate(p *domain.Problems, at, text string) domain.Date {
	if text == "" {
		return domain.Date{}
	}
	d, err := domain.ParseDate(text)
	if err != nil {
		p.Add(at, "is %q; write a date as YYYY-MM-DD", text)
	}
	return d
}

// bodyIDs reads the student_ids of a body.
func bodyIDs(p *domain.Problems, ids []domain.ID) []domain.ID {
	var out []domain.ID
	for i, id := range ids {
		at := fmt.Sprintf("/student_ids/%d", i)
		if id == "" {
			p.Add(at, "is empty; give a student's ID or remove the entry")
		}
		out = append(out, bodyID(p, at, id))
	}
	return out
}

func (r AssignRequest) read() (academy.AssignRequest, error) {
	var p domain.Problems
	out := academy.AssignRequest{
		Programme: bodyID(&p, "/programme_id", r.ProgrammeID), Version: orElse(r.Version, 0),
		Group: bodyID(&p, "/group_id", r.GroupID), Start: bodyDate(&p, "/start_date", r.StartDate),
		Students: bodyIDs(&p, r.StudentIDs), Untested: r.Tests != nil && !*r.Tests,
	}
	if r.ProgrammeID == "" {
		p.Add("/programme_id", "is missing; give the ID of the programme to assign")
	}
	if r.StartDate == "" {
		p.Add("/start_date", "is missing; give the first day of week 1 as YYYY-MM-DD")
	}
	return out, p.Err("assignment_invalid", "The programme was not assigned.")
}

// assignmentInvalid is one thing wrong with a request to assign.
func assignmentInvalid(pointer, detail string) error {
	var p domain.Problems
	p.Add(pointer, "%s", detail)
	return p.Err("assignment_invalid", "The programme was not assigned.")
}

// latestVersion fills in the version when the request names none.
func (s *Server) latestVersion(c echo.Context, r *academy.AssignRequest, named bool) error {
	if named {
		return nil
	}
	p, _, err := s.Curriculum.Programme(c.Request().Context(), actor(c), r.Programme, domain.Length.String)
	switch {
	case domain.KindOf(err) == domain.NotFound:
		return assignmentInvalid("/programme_id", "names no programme of this academy; check the ID")
	case err != nil:
		return err
	case p.Published == 0:
		return assignmentInvalid("/programme_id", "names a programme without a published version; publish it first")
	}
	r.Version = p.Published
	return nil
}

// createAssignments gives a version to students.
//
//	@Summary		Assign a programme
//	@Description	Gives a published version to students, to a group, or to both, from a date in each student's own time zone. If one of them cannot get it, nobody does. A group can be given a programme again: those of it who lack it get it, and the answer names who had it. A junior gets it with easier changes at once, each an adjustment to undo: shots from three quarters of the distance, and no session longer than 40 minutes, where the programme has more.
//	@ID				createAssignments
//	@Tags			Assignments
//	@Accept			json
//	@Produce		json
//	@Param			assignment	body		AssignRequest	true	"The programme, the students and the start date"
//	@Success		200			{object}	AssignmentList	"Everybody had it already"
//	@Success		201			{object}	AssignmentList
//	@Failure		400,401,403,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/assignments [post]
func (s *Server) createAssignments(c echo.Context) error {
	var body AssignRequest
	if err := decode(c, &body); err != nil {
		return err
	}
	r, err := body.read()
	if err != nil {
		return err
	}
	if err := s.latestVersion(c, &r, body.Version != nil); err != nil {
		return err
	}
	given, err := s.Academy.Give(c.Request().Context(), actor(c), r)
	if domain.KindOf(err) == domain.NotFound && r.Group != "" {
		return assignmentInvalid("/group_id", "names no group of this academy; check the ID")
	}
	if err != nil {
		return err
	}
	list := AssignmentList{Items: each(given.Made, encodeAssignment), Had: each(given.Had, encodeAssignment)}
	location := "/v1/assignments"
	switch len(given.Made) {
	case 0:
		return writeJSON(c, http.StatusOK, list)
	case 1:
		location += "/" + string(given.Made[0].ID)
	}
	return created(c, location, 0, list)
}

// listAssignments lists assignments.
//
//	@Summary	List assignments
//	@ID			listAssignments
//	@Tags		Assignments
//	@Produce	json
//	@Param		student_id		query		string	false	"Only those of this student"	format(uuid)
//	@Param		programme_id	query		string	false	"Only those of this programme"	format(uuid)
//	@Param		current			query		bool	false	"Only those that have not been ended"
//	@Param			updated_since	query		string	false	"Only those changed at this time or later, RFC 3339. Deletions are not listed, and what is being saved just now may come late: ask a minute back, or follow /v1/changes, which misses nothing. The count of sessions is none of that"	format(date-time)
//	@Param		limit			query		int		false	"Page size"	minimum(1)	maximum(200)	default(50)
//	@Param		cursor			query		string	false	"Where to continue, from links.next"
//	@Success	200				{object}	AssignmentPage
//	@Success	304				"Not modified"
//	@Failure	400,401,403,429,500,503	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/assignments [get]
func (s *Server) listAssignments(c echo.Context) error {
	q := newQuery(c)
	page := q.page()
	page.UpdatedSince = q.instant("updated_since")
	f := academy.AssignmentFilter{Student: q.id("student_id"), Programme: q.id("programme_id"), Current: q.flag("current")}
	if err := q.done(); err != nil {
		return err
	}
	assignments, err := s.Academy.Assignments(c.Request().Context(), actor(c), f, page)
	if err != nil {
		return err
	}
	items, links := pageOf(c, page, assignments, func(a academy.Assignment) domain.ID { return a.ID }, encodeAssignment)
	return ok(c, 0, AssignmentPage{Items: items, Links: links})
}

// getAssignment reads an assignment and where it stands.
//
//	@Summary	Read an assignment and how far it has got
//	@ID			getAssignment
//	@Tags		Assignments
//	@Produce	json
//	@Param		assignment_id	path		string	true	"The assignment"	format(uuid)
//	@Param		If-None-Match	header		string	false	"The ETag you already have"
//	@Success	200				{object}	AssignmentDetail
//	@Success	304				"Not modified"
//	@Failure	400,401,403,404,429,500,503	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/assignments/{assignment_id} [get]
func (s *Server) getAssignment(c echo.Context) error {
	id, err := pathID(c, "assignment_id")
	if err != nil {
		return err
	}
	return s.answerAssignment(c, id)
}

// answerAssignment answers with an assignment as it stands.
func (s *Server) answerAssignment(c echo.Context, id domain.ID) error {
	ctx := c.Request().Context()
	a, v, err := s.Academy.Assignment(ctx, actor(c), id)
	if err != nil {
		return err
	}
	student, err := s.Academy.Member(ctx, actor(c), a.Student)
	if err != nil {
		return err
	}
	return ok(c, a.Revision, encodeAssignmentDetail(a, v.Content, domain.DateOf(s.Now(), student.Zone())))
}

// changeAssignment binds a change of an assignment, makes it and answers with
// what stands.
func (s *Server) changeAssignment(c echo.Context, change func(id domain.ID, revision int) error) error {
	id, err := pathID(c, "assignment_id")
	if err != nil {
		return err
	}
	revision, err := ifMatch(c)
	if err != nil {
		return err
	}
	if err := change(id, revision); err != nil {
		return err
	}
	return s.answerAssignment(c, id)
}

// pauseAssignment stops an assignment's weeks.
//
//	@Summary		Pause an assignment
//	@Description	For a holiday or an injury. The later weeks move back by the days paused.
//	@ID				pauseAssignment
//	@Tags			Assignments
//	@Accept			json
//	@Produce		json
//	@Param			assignment_id	path		string			true	"The assignment"	format(uuid)
//	@Param			If-Match		header		string			false	"The ETag of the version you are changing"
//	@Param			pause			body		PauseRequest	false	"The first day and the reason"
//	@Success		200				{object}	AssignmentDetail
//	@Failure		400,401,403,404,409,412,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/assignments/{assignment_id}/pause [post]
func (s *Server) pauseAssignment(c echo.Context) error {
	return s.changeAssignment(c, func(id domain.ID, revision int) error {
		var r PauseRequest
		if err := decodeOptional(c, &r); err != nil {
			return err
		}
		var p domain.Problems
		pause := academy.Pause{From: bodyDate(&p, "/from", r.From), Until: bodyDate(&p, "/until", r.Until), Reason: r.Reason}
		if err := p.Err("pause_invalid", "The assignment was not paused."); err != nil {
			return err
		}
		_, err := s.Academy.Pause(c.Request().Context(), actor(c), id, revision, pause)
		return err
	})
}

// resumeAssignment lets an assignment's weeks go on.
//
//	@Summary	Resume an assignment
//	@ID			resumeAssignment
//	@Tags		Assignments
//	@Accept		json
//	@Produce	json
//	@Param		assignment_id	path		string			true	"The assignment"	format(uuid)
//	@Param		If-Match		header		string			false	"The ETag of the version you are changing"
//	@Param		resumption		body		ResumeRequest	false	"The first day after the pause"
//	@Success	200				{object}	AssignmentDetail
//	@Failure	400,401,403,404,409,412,413,415,422,429,500,503	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/assignments/{assignment_id}/resume [post]
func (s *Server) resumeAssignment(c echo.Context) error {
	return s.changeAssignment(c, func(id domain.ID, revision int) error {
		var r ResumeRequest
		if err := decodeOptional(c, &r); err != nil {
			return err
		}
		var p domain.Problems
		on := bodyDate(&p, "/on", r.On)
		if err := p.Err("date_invalid", "The assignment was not resumed."); err != nil {
			return err
		}
		_, err := s.Academy.Resume(c.Request().Context(), actor(c), id, revision, on)
		return err
	})
}

// moveAssignment takes an assignment to another version.
//
//	@Summary		Move an assignment to another version of its programme
//	@Description	The student keeps every milestone. Past practice also counts for the new ladders. Where weeks changed places between the versions, sessions count for the week that has what was done in them; moved_weeks tells which. Adjustments that still fit are kept, unless you end them.
//	@ID				moveAssignment
//	@Tags			Assignments
//	@Accept			json
//	@Produce		json
//	@Param			assignment_id	path		string		true	"The assignment"	format(uuid)
//	@Param			If-Match		header		string		false	"The ETag of the version you are changing"
//	@Param			move			body		MoveRequest	true	"The version to move to"
//	@Success		200				{object}	AssignmentDetail
//	@Failure		400,401,403,404,409,412,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/assignments/{assignment_id}/move [post]
func (s *Server) moveAssignment(c echo.Context) error {
	return s.changeAssignment(c, func(id domain.ID, revision int) error {
		var r MoveRequest
		if err := decode(c, &r); err != nil {
			return err
		}
		if r.Adjustments != "" && r.Adjustments != "keep" && r.Adjustments != "end" {
			return assignmentInvalid("/adjustments", "is not a choice; give keep or end")
		}
		_, err := s.Academy.Move(c.Request().Context(), actor(c), id, revision, r.Version, r.Adjustments != "end")
		return err
	})
}

// endAssignment takes an assignment back.
//
//	@Summary		End an assignment
//	@Description	The student keeps the sessions and milestones. Its adjustments end with it.
//	@ID				endAssignment
//	@Tags			Assignments
//	@Produce		json
//	@Param			assignment_id	path		string	true	"The assignment"	format(uuid)
//	@Param			If-Match		header		string	false	"The ETag of the version you are changing"
//	@Success		200				{object}	AssignmentDetail
//	@Failure		400,401,403,404,409,412,413,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/assignments/{assignment_id}/end [post]
func (s *Server) endAssignment(c echo.Context) error {
	return s.changeAssignment(c, func(id domain.ID, revision int) error {
		_, err := s.Academy.End(c.Request().Context(), actor(c), id, revision)
		return err
	})
}
