package api

import (
	"fmt"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
)

// AssignRequest gives a published version to students, to a group, or to both.
type AssignRequest struct {
	ProgrammeID domain.ID `json:"programme_id" validate:"required" format:"uuid"`
	// Version is the latest published one when left out.
	Version    *int        `json:"version,omitempty" minimum:"1" example:"1"`
	StudentIDs []domain.ID `json:"student_ids,omitempty" maxItems:"2000"`
	GroupID    domain.ID   `json:"group_id,omitempty" format:"uuid"`
	// StartDate is the first day of week 1, in each student's own time zone.
	StartDate string `json:"start_date" validate:"required" format:"date" example:"2026-05-04"`
} // @name AssignRequest

// PauseRequest stops an assignment's weeks from a day on.
type PauseRequest struct {
	// From is the first day that does not count; today in the student's time
	// zone when left out.
	From string `json:"from,omitempty" format:"date" example:"2026-07-01"`
	// Reason is for the coach.
	Reason string `json:"reason,omitempty" maxLength:"400" example:"holiday"`
} // @name PauseRequest

// ResumeRequest lets an assignment's weeks go on.
type ResumeRequest struct {
	// On is the first day that counts again; today in the student's time zone
	// when left out.
	On string `json:"on,omitempty" format:"date" example:"2026-07-15"`
} // @name ResumeRequest

// MoveRequest takes an assignment to another version of its programme.
type MoveRequest struct {
	Version int `json:"version" validate:"required" minimum:"1" example:"2"`
} // @name MoveRequest

// Pause shifts the later weeks: its days do not count.
type Pause struct {
	From string `json:"from" binding:"required" format:"date" example:"2026-07-01"`
	// Until is the first day that counts again; left out while the pause lasts.
	Until  string `json:"until,omitempty" format:"date" example:"2026-07-15"`
	Reason string `json:"reason,omitempty"`
} // @name Pause

// Position is where an assignment stands today, in the student's time zone.
type Position struct {
	Phase string `json:"phase" binding:"required" enums:"upcoming,running,paused,finished,ended" example:"running"`
	// Week counts from 1; 0 while upcoming, the last week once finished.
	Week int `json:"week" binding:"required" example:"2"`
	// Day is the day of that week, from 1; 0 while upcoming.
	Day int `json:"day" binding:"required" example:"3"`
} // @name Position

// Assignment is a published version given to a student from a date.
type Assignment struct {
	ID          domain.ID `json:"id" binding:"required" format:"uuid"`
	StudentID   domain.ID `json:"student_id" binding:"required" format:"uuid"`
	ProgrammeID domain.ID `json:"programme_id" binding:"required" format:"uuid"`
	Version     int       `json:"version" binding:"required" example:"1"`
	StartDate   string    `json:"start_date" binding:"required" format:"date" example:"2026-05-04"`
	Pauses      []Pause   `json:"pauses" binding:"required"`
	// EndedAt is when it was taken back.
	EndedAt *time.Time `json:"ended_at,omitempty" format:"date-time"`
	// Sessions counts the sessions logged against it.
	Sessions  int       `json:"sessions" binding:"required" example:"5"`
	Revision  int       `json:"revision" binding:"required" example:"1"`
	CreatedBy domain.ID `json:"created_by" binding:"required" format:"uuid"`
	CreatedAt time.Time `json:"created_at" binding:"required" format:"date-time"`
} // @name Assignment

// AssignmentList is the assignments that were made.
type AssignmentList struct {
	Items []Assignment `json:"items" binding:"required"`
} // @name AssignmentList

// AssignmentPage is a stretch of assignments.
type AssignmentPage struct {
	Items []Assignment `json:"items" binding:"required"`
	Links Links        `json:"links" binding:"required"`
} // @name AssignmentPage

// AssignmentDetail is an assignment with where it stands today.
type AssignmentDetail struct {
	Assignment
	// ProgrammeName and Weeks are of the version that it pins.
	ProgrammeName string   `json:"programme_name" binding:"required" example:"Six weeks around the green"`
	Weeks         int      `json:"weeks" binding:"required" example:"6"`
	Position      Position `json:"position" binding:"required"`
	// Planned is how many sessions the programme wanted by today.
	Planned int `json:"planned" binding:"required" example:"6"`
} // @name AssignmentDetail

func encodeAssignment(a academy.Assignment) Assignment {
	return Assignment{
		ID: a.ID, StudentID: a.Student, ProgrammeID: a.Programme, Version: a.Version, StartDate: a.Start.String(),
		Pauses: each(a.Pauses, func(p academy.Pause) Pause {
			return Pause{From: p.From.String(), Until: p.Until.String(), Reason: p.Reason}
		}),
		EndedAt: instant(a.EndedAt), Sessions: a.Sessions, Revision: a.Revision, CreatedBy: a.CreatedBy, CreatedAt: a.CreatedAt.UTC(),
	}
}

func encodePosition(p academy.Position) Position {
	return Position{Phase: string(p.Phase), Week: p.Week, Day: p.Day}
}

func encodeAssignmentDetail(a academy.Assignment, c curriculum.Content, today domain.Date) AssignmentDetail {
	return AssignmentDetail{
		Assignment: encodeAssignment(a), ProgrammeName: c.Name, Weeks: len(c.Weeks),
		Position: encodePosition(a.On(today, len(c.Weeks))), Planned: a.Planned(today, c.Weeks),
	}
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

func (r AssignRequest) read() (academy.AssignRequest, error) {
	var p domain.Problems
	out := academy.AssignRequest{
		Programme: bodyID(&p, "/programme_id", r.ProgrammeID), Version: orElse(r.Version, 0),
		Group: bodyID(&p, "/group_id", r.GroupID), Start: bodyDate(&p, "/start_date", r.StartDate),
	}
	for i, id := range r.StudentIDs {
		at := fmt.Sprintf("/student_ids/%d", i)
		if id == "" {
			p.Add(at, "is empty; give a student's ID or leave it out")
		}
		out.Students = append(out.Students, bodyID(&p, at, id))
	}
	if r.ProgrammeID == "" {
		p.Add("/programme_id", "is missing; say which programme to assign")
	}
	if r.StartDate == "" {
		p.Add("/start_date", "is missing; give the first day of week 1 as YYYY-MM-DD")
	}
	return out, p.Err("assignment_invalid", "The assignment cannot be made.")
}

// assignmentInvalid is one thing wrong with a request to assign.
func assignmentInvalid(pointer, detail string) error {
	var p domain.Problems
	p.Add(pointer, "%s", detail)
	return p.Err("assignment_invalid", "The assignment cannot be made.")
}

// latestVersion fills in the version when the request names none.
func (s *Server) latestVersion(c echo.Context, r *academy.AssignRequest, named bool) error {
	if named {
		return nil
	}
	p, _, err := s.Curriculum.Programme(c.Request().Context(), actor(c), r.Programme)
	switch {
	case domain.KindOf(err) == domain.NotFound:
		return assignmentInvalid("/programme_id", "there is no such programme in this academy")
	case err != nil:
		return err
	case p.Published == 0:
		return assignmentInvalid("/programme_id", "has no published version yet; publish the programme first")
	}
	r.Version = p.Published
	return nil
}

// createAssignments gives a version to students.
//
//	@Summary		Assign a programme
//	@Description	Gives a published version to students, to a group, or to both, from a date in each student's own time zone. All of them get it, or nobody does.
//	@ID				createAssignments
//	@Tags			Assignments
//	@Accept			json
//	@Produce		json
//	@Param			assignment	body		AssignRequest	true	"What to whom from when"
//	@Success		201			{object}	AssignmentList
//	@Failure		400,401,403,409,413,415,422,429,500	{object}	Problem
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
	made, err := s.Academy.Assign(c.Request().Context(), actor(c), r)
	if domain.KindOf(err) == domain.NotFound && r.Group != "" {
		return assignmentInvalid("/group_id", "there is no such group in this academy")
	}
	if err != nil {
		return err
	}
	location := "/v1/assignments"
	if len(made) == 1 {
		location += "/" + string(made[0].ID)
	}
	return created(c, location, 0, AssignmentList{Items: each(made, encodeAssignment)})
}

// listAssignments lists assignments.
//
//	@Summary	List assignments
//	@ID			listAssignments
//	@Tags		Assignments
//	@Produce	json
//	@Param		student_id		query		string	false	"Of this student"	format(uuid)
//	@Param		programme_id	query		string	false	"Of this programme"	format(uuid)
//	@Param		standing		query		bool	false	"Leave out those taken back"
//	@Param		limit			query		int		false	"How many at most"	minimum(1)	maximum(200)	default(50)
//	@Param		cursor			query		string	false	"Where to go on, from links.next"
//	@Success	200				{object}	AssignmentPage
//	@Success	304				"Not modified"
//	@Failure	400,401,403,429,500	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/assignments [get]
func (s *Server) listAssignments(c echo.Context) error {
	q := newQuery(c)
	page := q.page()
	f := academy.AssignmentFilter{Student: q.id("student_id"), Programme: q.id("programme_id"), Current: q.flag("standing")}
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
//	@Summary	Read an assignment and where it stands today
//	@ID			getAssignment
//	@Tags		Assignments
//	@Produce	json
//	@Param		assignment_id	path		string	true	"The assignment"	format(uuid)
//	@Param		If-None-Match	header		string	false	"The entity tag you have"
//	@Success	200				{object}	AssignmentDetail
//	@Success	304				"Not modified"
//	@Failure	400,401,403,404,429,500	{object}	Problem
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
//	@Description	For a holiday or an injury: the later weeks shift by the days paused.
//	@ID				pauseAssignment
//	@Tags			Assignments
//	@Accept			json
//	@Produce		json
//	@Param			assignment_id	path		string			true	"The assignment"	format(uuid)
//	@Param			If-Match		header		string			false	"The entity tag that the change is made to"
//	@Param			pause			body		PauseRequest	false	"From when and why"
//	@Success		200				{object}	AssignmentDetail
//	@Failure		400,401,403,404,409,412,413,415,422,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/assignments/{assignment_id}/pause [post]
func (s *Server) pauseAssignment(c echo.Context) error {
	return s.changeAssignment(c, func(id domain.ID, revision int) error {
		var r PauseRequest
		if err := decodeOptional(c, &r); err != nil {
			return err
		}
		var p domain.Problems
		from := bodyDate(&p, "/from", r.From)
		if n := len([]rune(r.Reason)); n > maxReason {
			p.Add("/reason", "has %d characters; at most %d fit", n, maxReason)
		}
		if err := p.Err("pause_invalid", "The assignment cannot be paused."); err != nil {
			return err
		}
		_, err := s.Academy.Pause(c.Request().Context(), actor(c), id, revision, from, r.Reason)
		return err
	})
}

// maxReason is how many characters the reason of a pause has at most.
const maxReason = 400

// resumeAssignment lets an assignment's weeks go on.
//
//	@Summary	Resume an assignment
//	@ID			resumeAssignment
//	@Tags		Assignments
//	@Accept		json
//	@Produce	json
//	@Param		assignment_id	path		string			true	"The assignment"	format(uuid)
//	@Param		If-Match		header		string			false	"The entity tag that the change is made to"
//	@Param		resumption		body		ResumeRequest	false	"From when on"
//	@Success	200				{object}	AssignmentDetail
//	@Failure	400,401,403,404,409,412,413,415,422,429,500	{object}	Problem
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
		if err := p.Err("date_invalid", "The date does not fit the assignment."); err != nil {
			return err
		}
		_, err := s.Academy.Resume(c.Request().Context(), actor(c), id, revision, on)
		return err
	})
}

// moveAssignment takes an assignment to another version.
//
//	@Summary		Move an assignment to another version of its programme
//	@Description	Milestones stay; what was practised is judged by the new ladders as well.
//	@ID				moveAssignment
//	@Tags			Assignments
//	@Accept			json
//	@Produce		json
//	@Param			assignment_id	path		string		true	"The assignment"	format(uuid)
//	@Param			If-Match		header		string		false	"The entity tag that the change is made to"
//	@Param			move			body		MoveRequest	true	"To which version"
//	@Success		200				{object}	AssignmentDetail
//	@Failure		400,401,403,404,409,412,413,415,422,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/assignments/{assignment_id}/move [post]
func (s *Server) moveAssignment(c echo.Context) error {
	return s.changeAssignment(c, func(id domain.ID, revision int) error {
		var r MoveRequest
		if err := decode(c, &r); err != nil {
			return err
		}
		_, err := s.Academy.Move(c.Request().Context(), actor(c), id, revision, r.Version)
		return err
	})
}

// endAssignment takes an assignment back.
//
//	@Summary		End an assignment
//	@Description	Takes it back; its sessions and milestones stay.
//	@ID				endAssignment
//	@Tags			Assignments
//	@Produce		json
//	@Param			assignment_id	path		string	true	"The assignment"	format(uuid)
//	@Param			If-Match		header		string	false	"The entity tag that the change is made to"
//	@Success		200				{object}	AssignmentDetail
//	@Failure		400,401,403,404,409,412,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/assignments/{assignment_id}/end [post]
func (s *Server) endAssignment(c echo.Context) error {
	return s.changeAssignment(c, func(id domain.ID, revision int) error {
		_, err := s.Academy.End(c.Request().Context(), actor(c), id, revision)
		return err
	})
}
