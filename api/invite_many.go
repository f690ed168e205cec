package api

import (
	"errors"
	"net/http"

	"github.com/labstack/echo/v4"

	"fringework/auth"
	"fringework/domain"
	"fringework/domain/academy"
)

// InviteManyRequest invites several students alike.
type InviteManyRequest struct {
	Items []Invitee `json:"items" validate:"required" minItems:"1" maxItems:"200"`
	// CoachID is the coach to link the students to; you by default.
	CoachID domain.ID `json:"coach_id,omitempty" format:"uuid"`
	// GroupID is the group to add the students to.
	GroupID domain.ID `json:"group_id,omitempty" format:"uuid"`
	// ProgrammeID is the programme that each student is given on joining.
	ProgrammeID domain.ID `json:"programme_id,omitempty" format:"uuid"`
	// Version is optional; the latest published one by default.
	Version *int `json:"version,omitempty" minimum:"1" example:"1"`
	// StartDate is the first day of week 1, in each student's own time zone, also
	// for those who join later. Required with a programme.
	StartDate string `json:"start_date,omitempty" format:"date" example:"2026-05-04"`
} // @name InviteManyRequest

// Invitee is one of several students to invite: a name, an e-mail or both.
type Invitee struct {
	// Name has up to 100 characters.
	Name string `json:"name,omitempty" example:"Tomas Brandt"`
	// Email is optional; if given, only this address can accept. A wrong one is told
	// in the result.
	Email  string `json:"email,omitempty" example:"tomas@example.org"`
	Junior bool   `json:"junior,omitempty"`
} // @name Invitee

// InviteResult is what became of one of several: an invitation with its code, or
// a problem.
type InviteResult struct {
	// Name and Email are as they were sent.
	Name       string             `json:"name,omitempty" example:"Tomas Brandt"`
	Email      string             `json:"email,omitempty" example:"tomas@example.org"`
	Invitation *InvitationCreated `json:"invitation,omitempty"`
	Problem    *Problem           `json:"problem,omitempty"`
} // @name InviteResult

// InviteManyResults are in the order of the request.
type InviteManyResults struct {
	Results []InviteResult `json:"results" binding:"required"`
} // @name InviteManyResults

// createInvitations invites several students.
//
//	@Summary		Invite several students
//	@Description	Invites up to 200 students alike, with a result for each. Those that are in order are invited together; the others come with a problem, and can be sent again once corrected. If what they have in common is wrong, nobody is invited. The codes are shown only this once.
//	@ID				createInvitations
//	@Tags			Invitations
//	@Accept			json
//	@Produce		json
//	@Param			invitations	body		InviteManyRequest	true	"The students, and what they are given on joining"
//	@Success		200			{object}	InviteManyResults
//	@Failure		400,401,403,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/invitations/bulk [post]
func (s *Server) createInvitations(c echo.Context) error {
	var r InviteManyRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	gives, err := s.gift(c, r.ProgrammeID, r.Version, r.StartDate)
	if err != nil {
		return notInvited(err, "Nobody was invited.")
	}
	people := each(r.Items, func(i Invitee) auth.Invitee { return auth.Invitee(i) })
	common := auth.Invite{Coach: r.CoachID, Group: r.GroupID, Gives: gives}
	all, err := s.Auth.InviteStudents(c.Request().Context(), actor(c), common, people)
	if err != nil {
		return notInvited(err, "Nobody was invited.")
	}
	out, err := results(c, all, func(i auth.Invited) error { return i.Err }, func(i int, one auth.Invited, p *Problem) InviteResult {
		result := InviteResult{Name: r.Items[i].Name, Email: r.Items[i].Email, Problem: p}
		if p == nil {
			made := s.invitationCreated(c, one.Invitation, one.Code)
			result.Invitation = &made
		}
		return result
	})
	if err != nil {
		return err
	}
	noStore(c)
	return writeJSON(c, http.StatusOK, InviteManyResults{Results: out})
}

// notInvited words a refusal of what an invitation is made of: one of the programme
// that it gives is no assignment yet.
func notInvited(err error, detail string) error {
	var de *domain.Error
	if !errors.As(err, &de) || de.Kind != domain.Invalid {
		return err
	}
	out := *de
	out.Code, out.Detail = "invitation_invalid", detail
	return renamed(&out, invitationNames)
}

// gift reads what an invited student is given on joining.
func (s *Server) gift(c echo.Context, programme domain.ID, version *int, start string) (auth.Gift, error) {
	if programme == "" {
		var p domain.Problems
		if version != nil {
			p.Add("/version", "is of no programme; give programme_id too, or leave it out")
		}
		if start != "" {
			p.Add("/start_date", "is of no programme; give programme_id too, or leave it out")
		}
		return auth.Gift{}, p.Err("invitation_invalid", "The invitation was not created.")
	}
	r, err := AssignRequest{ProgrammeID: programme, Version: version, StartDate: start}.read()
	if err != nil {
		return auth.Gift{}, err
	}
	if err := s.latestVersion(c, &r, version != nil); err != nil {
		return auth.Gift{}, err
	}
	err = s.Academy.CheckGift(c.Request().Context(), actor(c), r)
	return auth.Gift{Programme: r.Programme, Version: r.Version, Start: r.Start}, err
}

// giveOnJoining gives the programme that came with an invitation. An acceptance
// that is sent again comes here again, so that a reply that was lost loses
// nothing.
func (s *Server) giveOnJoining(c echo.Context, i auth.AcceptedInvitation) error {
	if i.Gives.Programme == "" || i.Inviter.Academy == "" {
		return nil
	}
	return s.Academy.GiveOnJoining(c.Request().Context(), i.Inviter, i.AcceptedBy, i.Accepted, academy.AssignRequest{
		Programme: i.Gives.Programme, Version: i.Gives.Version, Start: i.Gives.Start,
	})
}
