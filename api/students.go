package api

import (
	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/academy"
)

// CoachRef names a coach who works with a student.
type CoachRef struct {
	// ID identifies the coach as a member.
	ID domain.ID `json:"id" binding:"required" format:"uuid"`
} // @name CoachRef

// CoachList is the coaches of a student.
type CoachList struct {
	Items []CoachRef `json:"items" binding:"required"`
} // @name CoachList

// ConsentRequest gives or withdraws a guardian's consent.
type ConsentRequest struct {
	// Given is whether the junior's practice may be stored, and read by their coaches.
	Given *bool `json:"given" validate:"required" example:"true"`
	// Reports is whether coaches may share the junior's report by links, Apps whether
	// software with a key of the academy may read the junior's data, Matches whether
	// those who play a match with the junior see the junior's name and balls in it. Left
	// out, each stays as it is; without consent there is none of them.
	Reports *bool `json:"reports,omitempty" example:"false"`
	Apps    *bool `json:"apps,omitempty" example:"false"`
	// Media is whether coaches may keep photos and clips of the junior with lessons.
	// Without it, those that are kept are deleted within the hour.
	Media *bool `json:"media,omitempty" example:"false"`
	// Matches is whether the junior may play matches: those who play along see the
	// junior's name and balls.
	Matches *bool `json:"matches,omitempty" example:"false"`
} // @name ConsentRequest

// listCoaches lists the coaches of a student.
//
//	@Summary	List a student's coaches
//	@ID			listCoaches
//	@Tags		Students
//	@Produce	json
//	@Param		student_id	path		string	true	"The student"	format(uuid)
//	@Success	200			{object}	CoachList
//	@Success	304			"Not modified"
//	@Failure	400,401,403,404,429,500,503	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/students/{student_id}/coaches [get]
func (s *Server) listCoaches(c echo.Context) error {
	student, err := pathID(c, "student_id")
	if err != nil {
		return err
	}
	ids, err := s.Academy.CoachesOf(c.Request().Context(), actor(c), student)
	if err != nil {
		return err
	}
	return ok(c, 0, CoachList{Items: each(ids, func(id domain.ID) CoachRef { return CoachRef{ID: id} })})
}

// linkCoach makes a coach work with a student.
//
//	@Summary		Link a coach and a student
//	@Description	The coach can see the student at once. Linking twice changes nothing.
//	@ID				linkCoach
//	@Tags			Students
//	@Produce		json
//	@Param			student_id	path	string	true	"The student"	format(uuid)
//	@Param			coach_id	path	string	true	"The coach"		format(uuid)
//	@Success		204			"Linked"
//	@Failure		400,401,403,404,409,413,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/students/{student_id}/coaches/{coach_id} [put]
func (s *Server) linkCoach(c echo.Context) error { return s.setLink(c, true) }

// unlinkCoach ends that.
//
//	@Summary		Unlink a coach and a student
//	@Description	The coach loses access to the student at once.
//	@ID				unlinkCoach
//	@Tags			Students
//	@Produce		json
//	@Param			student_id	path	string	true	"The student"	format(uuid)
//	@Param			coach_id	path	string	true	"The coach"		format(uuid)
//	@Success		204			"Unlinked"
//	@Failure		400,401,403,404,409,413,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/students/{student_id}/coaches/{coach_id} [delete]
func (s *Server) unlinkCoach(c echo.Context) error { return s.setLink(c, false) }

func (s *Server) setLink(c echo.Context, linked bool) error {
	student, err := pathID(c, "student_id")
	if err != nil {
		return err
	}
	coach, err := pathID(c, "coach_id")
	if err != nil {
		return err
	}
	if err := s.Academy.Link(c.Request().Context(), actor(c), coach, student, linked); err != nil {
		return err
	}
	return noContent(c)
}

// putConsent records a guardian's consent.
//
//	@Summary		Give or withdraw consent for a junior
//	@Description	For the junior's guardian, or an owner who has the consent on paper. Without consent no new session of the junior is stored; earlier ones are kept. Each sharing is asked for by itself. A guardian may always withdraw.
//	@ID				putConsent
//	@Tags			Students
//	@Accept			json
//	@Produce		json
//	@Param			student_id	path		string			true	"The junior"	format(uuid)
//	@Param			consent		body		ConsentRequest	true	"Whether consent is given"
//	@Success		200			{object}	Member
//	@Failure		400,401,403,404,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/students/{student_id}/consent [put]
func (s *Server) putConsent(c echo.Context) error {
	student, err := pathID(c, "student_id")
	if err != nil {
		return err
	}
	var r ConsentRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	if r.Given == nil {
		return missing("/given", "give true to consent, false to withdraw consent")
	}
	m, err := s.Academy.Consent(c.Request().Context(), actor(c), student, academy.ConsentChange{Given: *r.Given, Reports: r.Reports, Apps: r.Apps, Media: r.Media, Matches: r.Matches})
	if err != nil {
		return err
	}
	return ok(c, m.Revision, encodeMember(m))
}

// missing refuses a body without a member whose absence must not be taken for
// a value.
func missing(pointer, remedy string) error {
	var p domain.Problems
	p.Add(pointer, "is missing; %s", remedy)
	return p.Err("member_missing", "A required member is missing.")
}
