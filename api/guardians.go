package api

import (
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/academy"
)

// Guardian is somebody who reads a student's data as a junior's guardian, or because
// the student, now an adult, lets them.
type Guardian struct {
	ID    domain.ID `json:"id" binding:"required" format:"uuid"`
	Name  string    `json:"name" binding:"required" example:"Paula Brandt"`
	Email string    `json:"email" binding:"required" format:"email" example:"paula@example.org"`
	// AskedAt is since when the guardian reads no more, because the student is a
	// junior no more and has not said yet who may read on; absent while they read.
	AskedAt *time.Time `json:"asked_at,omitempty" format:"date-time"`
} // @name Guardian

// GuardianList is the guardians of a student.
type GuardianList struct {
	Items []Guardian `json:"items" binding:"required"`
} // @name GuardianList

// WardList is the students whom a guardian reads.
type WardList struct {
	Items []Member `json:"items" binding:"required"`
} // @name WardList

func encodeGuardian(g academy.Guardian) Guardian {
	return Guardian{ID: g.ID, Name: g.Name, Email: g.Email, AskedAt: instant(g.AskedAt)}
}

// listGuardians lists a student's guardians.
//
//	@Summary	List a student's guardians
//	@ID			listGuardians
//	@Tags		Students
//	@Produce	json
//	@Param		student_id	path		string	true	"The student"	format(uuid)
//	@Success	200			{object}	GuardianList
//	@Success	304			"Not modified"
//	@Failure	400,401,403,404,429,500,503	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/students/{student_id}/guardians [get]
func (s *Server) listGuardians(c echo.Context) error {
	student, err := pathID(c, "student_id")
	if err != nil {
		return err
	}
	all, err := s.Guardians.Guardians(c.Request().Context(), actor(c), student)
	if err != nil {
		return err
	}
	return ok(c, 0, GuardianList{Items: each(all, encodeGuardian)})
}

// letGuardian lets a guardian read on.
//
//	@Summary		Let a former guardian read on
//	@Description	For a student who is a junior no more: guardians read nothing until the student says so. Saying it twice changes nothing.
//	@ID				letGuardian
//	@Tags			Students
//	@Produce		json
//	@Param			student_id	path	string	true	"The student"	format(uuid)
//	@Param			guardian_id	path	string	true	"The guardian"	format(uuid)
//	@Success		204			"They may read"
//	@Failure		400,401,403,404,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/students/{student_id}/guardians/{guardian_id} [put]
func (s *Server) letGuardian(c echo.Context) error { return s.guardian(c, s.Guardians.Let) }

// endGuardian ends that a guardian reads.
//
//	@Summary		End that a guardian reads a student's data
//	@Description	By an owner, by the guardian, or by the student who is a junior no more. It takes effect at once.
//	@ID				endGuardian
//	@Tags			Students
//	@Produce		json
//	@Param			student_id	path	string	true	"The student"	format(uuid)
//	@Param			guardian_id	path	string	true	"The guardian"	format(uuid)
//	@Success		204			"Ended"
//	@Failure		400,401,403,404,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/students/{student_id}/guardians/{guardian_id} [delete]
func (s *Server) endGuardian(c echo.Context) error { return s.guardian(c, s.Guardians.End) }

func (s *Server) guardian(c echo.Context, do guardianChange) error {
	student, err := pathID(c, "student_id")
	if err != nil {
		return err
	}
	guardian, err := pathID(c, "guardian_id")
	if err != nil {
		return err
	}
	if err := do(c.Request().Context(), actor(c), student, guardian); err != nil {
		return err
	}
	return noContent(c)
}

// listWards lists whom the asker reads as a guardian.
//
//	@Summary		List the juniors you look after
//	@Description	Every junior whose data you may read, with or without a programme.
//	@ID				listWards
//	@Tags			Me
//	@Produce		json
//	@Success		200	{object}	WardList
//	@Success		304	"Not modified"
//	@Failure		400,401,403,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/me/juniors [get]
func (s *Server) listWards(c echo.Context) error {
	all, err := s.Guardians.Wards(c.Request().Context(), actor(c))
	if err != nil {
		return err
	}
	return ok(c, 0, WardList{Items: each(all, encodeMember)})
}
