package api

import (
	"github.com/labstack/echo/v4"
	"net/http"

	"fringework/domain"
	"fringework/domain/academy"
)

// AssignmentsChange does one thing with the programmes of many students: those named,
// those of a group, or both.
type AssignmentsChange struct {
	// Action is what to do with each student's assignments.
	Action     string      `json:"action" validate:"required" enums:"assign,move,pause,resume,end" example:"pause"`
	StudentIDs []domain.ID `json:"student_ids,omitempty" maxItems:"500" format:"uuid"`
	GroupID    domain.ID   `json:"group_id,omitempty" format:"uuid"`
	// ProgrammeID is which of their programmes is meant: required to assign and
	// to move; without it all of them are paused, resumed or ended.
	ProgrammeID domain.ID `json:"programme_id,omitempty" format:"uuid"`
	// Version is what to assign or to move to; the latest published one by default.
	Version *int `json:"version,omitempty" minimum:"1" example:"2"`
	// Adjustments says what becomes of a student's adjustments when moving: keep
	// keeps those that still change something of the new version.
	Adjustments string `json:"adjustments,omitempty" enums:"keep,end" default:"keep" example:"keep"`
	// StartDate is the first day of week 1; required to assign.
	StartDate string `json:"start_date,omitempty" format:"date" example:"2026-05-04"`
	// From, Until and Reason are of a pause; it begins today by default.
	From   string `json:"from,omitempty" format:"date" example:"2026-07-01"`
	Until  string `json:"until,omitempty" format:"date" example:"2026-07-15"`
	Reason string `json:"reason,omitempty" maxLength:"400" example:"holiday"`
	// On is the first day after a pause, to resume; today by default.
	On string `json:"on,omitempty" format:"date" example:"2026-07-15"`
} // @name AssignmentsChange

// AssignmentsChangeResult is what became of one student: the assignments as they stand now, or
// a problem.
type AssignmentsChangeResult struct {
	StudentID domain.ID `json:"student_id" binding:"required" format:"uuid"`
	// Name is absent for somebody you may not see.
	Name        string              `json:"name,omitempty" example:"Edda Falk"`
	Assignments []ChangedAssignment `json:"assignments" binding:"required"`
	Problem     *Problem            `json:"problem,omitempty"`
} // @name AssignmentsChangeResult

// ChangedAssignment is an assignment after the action.
type ChangedAssignment struct {
	Assignment
	// MovedWeeks are weeks of versions before a move whose sessions count for a
	// week of another number.
	MovedWeeks []MovedWeek `json:"moved_weeks" binding:"required"`
} // @name ChangedAssignment

// AssignmentsChangeResults are in the order of the request, the group's students last.
type AssignmentsChangeResults struct {
	Results []AssignmentsChangeResult `json:"results" binding:"required"`
} // @name AssignmentsChangeResults

func (r AssignmentsChange) read() (academy.ManyRequest, error) {
	var p, form domain.Problems
	out := academy.ManyRequest{
		Action: academy.ManyAction(r.Action), Students: bodyIDs(&p, r.StudentIDs), Group: bodyID(&p, "/group_id", r.GroupID),
		Programme: bodyID(&p, "/programme_id", r.ProgrammeID), Version: orElse(r.Version, 0), Start: bodyDate(&p, "/start_date", r.StartDate),
		Pause: academy.Pause{From: bodyDate(&p, "/from", r.From), Until: bodyDate(&p, "/until", r.Until), Reason: r.Reason},
		On:    bodyDate(&p, "/on", r.On), EndAdjustments: r.Adjustments == "end",
	}
	if r.Adjustments != "" && r.Adjustments != "keep" && r.Adjustments != "end" {
		p.Add("/adjustments", "is %q; give keep or end", r.Adjustments)
	}
	asked := out
	asked.Version = max(1, out.Version) // the latest, where none is given
	asked.Check(&form)
	p.Beside(form.Fields())
	return out, p.Err("assignment_invalid", "Nothing was changed.")
}

// changeAssignments does the same with many students' programmes.
//
//	@Summary		Assign, move, pause, resume or end for many students
//	@Description	Does the same for each student, with a result for each: one who is refused keeps nobody else from it. A request that is wrong as a whole is refused as a whole.
//	@ID				changeAssignments
//	@Tags			Assignments
//	@Accept			json
//	@Produce		json
//	@Param			change	body		AssignmentsChange	true	"What to do, and for whom"
//	@Success		200		{object}	AssignmentsChangeResults
//	@Failure		400,401,403,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/assignments/bulk [post]
func (s *Server) changeAssignments(c echo.Context) error {
	var body AssignmentsChange
	if err := decode(c, &body); err != nil {
		return err
	}
	r, err := body.read()
	if err != nil {
		return err
	}
	if body.Version == nil && r.Programme != "" && (r.Action == academy.GiveAll || r.Action == academy.MoveAll) {
		named := academy.AssignRequest{Programme: r.Programme}
		if err := s.latestVersion(c, &named, false); err != nil {
			return err
		}
		r.Version = named.Version
	}
	changed, err := s.Academy.Many(c.Request().Context(), actor(c), r)
	if err != nil {
		return err
	}
	out, err := results(c, changed, func(r academy.ManyResult) error { return r.Err }, encodeChangeResult)
	if err != nil {
		return err
	}
	return writeJSON(c, http.StatusOK, AssignmentsChangeResults{Results: out})
}

func encodeChangeResult(_ int, r academy.ManyResult, p *Problem) AssignmentsChangeResult {
	return AssignmentsChangeResult{StudentID: r.Student, Name: r.Name, Problem: p, Assignments: each(r.Assignments, func(a academy.Assignment) ChangedAssignment {
		return ChangedAssignment{Assignment: encodeAssignment(a), MovedWeeks: encodeMovedWeeks(a)}
	})}
}
