package api

import (
	"errors"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/auth"
	"fringework/domain"
)

// InvitationRequest says whom to invite, and in which role.
type InvitationRequest struct {
	// Role is the role to invite to. Only owners invite coaches; nobody can invite
	// an owner.
	Role string `json:"role" validate:"required" enums:"coach,student,guardian" example:"student"`
	// Email is optional; if given, only this address can accept.
	Email string `json:"email,omitempty" format:"email" maxLength:"254" example:"tomas@example.org"`
	// Name is the invited person's name, shown to them.
	Name string `json:"name,omitempty" maxLength:"100" example:"Tomas Brandt"`
	// CoachID is the coach to link a student to. Students invited by a coach are
	// always linked to that coach.
	CoachID domain.ID `json:"coach_id,omitempty" format:"uuid"`
	// GroupID is the group to add a student to.
	GroupID domain.ID `json:"group_id,omitempty" format:"uuid"`
	// StudentID is the junior whom a guardian looks after; required for guardians.
	StudentID domain.ID `json:"student_id,omitempty" format:"uuid"`
	// Junior says that a student is a junior.
	Junior bool `json:"junior,omitempty"`
	// ProgrammeID is the programme that a student is given on joining.
	ProgrammeID domain.ID `json:"programme_id,omitempty" format:"uuid"`
	// Version is optional; the latest published one by default.
	Version *int `json:"version,omitempty" minimum:"1" example:"1"`
	// StartDate is the first day of week 1, in the student's own time zone, also
	// for a student who joins later. Required with a programme.
	StartDate string `json:"start_date,omitempty" format:"date" example:"2026-05-04"`
} // @name InvitationRequest

// Invitation lets one person join the academy, once, in one role.
type Invitation struct {
	ID    domain.ID `json:"id" binding:"required" format:"uuid"`
	Role  string    `json:"role" binding:"required" enums:"coach,student,guardian" example:"student"`
	State string    `json:"state" binding:"required" enums:"open,accepted,revoked,expired" example:"open"`
	Email string    `json:"email,omitempty" format:"email"`
	Name  string    `json:"name,omitempty" example:"Tomas Brandt"`
	// InvitedBy is the member who sent it.
	InvitedBy domain.ID `json:"invited_by" binding:"required" format:"uuid"`
	CoachID   domain.ID `json:"coach_id,omitempty" format:"uuid"`
	GroupID   domain.ID `json:"group_id,omitempty" format:"uuid"`
	StudentID domain.ID `json:"student_id,omitempty" format:"uuid"`
	Junior    bool      `json:"junior" binding:"required"`
	// Gives is the programme that the student is given on joining.
	Gives     *Gift     `json:"gives,omitempty"`
	CreatedAt time.Time `json:"created_at" binding:"required" format:"date-time"`
	ExpiresAt time.Time `json:"expires_at" binding:"required" format:"date-time"`
	// AcceptedBy is the member who joined with it.
	AcceptedBy domain.ID  `json:"accepted_by,omitempty" format:"uuid"`
	AcceptedAt *time.Time `json:"accepted_at,omitempty" format:"date-time"`
	RevokedAt  *time.Time `json:"revoked_at,omitempty" format:"date-time"`
} // @name Invitation

// Gift is a published version that a student is given on joining.
type Gift struct {
	ProgrammeID domain.ID `json:"programme_id" binding:"required" format:"uuid"`
	Version     int       `json:"version" binding:"required" example:"1"`
	StartDate   string    `json:"start_date" binding:"required" format:"date" example:"2026-05-04"`
} // @name Gift

func encodeGift(g auth.Gift) *Gift {
	if g.Programme == "" {
		return nil
	}
	return &Gift{ProgrammeID: g.Programme, Version: g.Version, StartDate: g.Start.String()}
}

// InvitationCreated is a new invitation with its code. The code is shown only
// this once.
type InvitationCreated struct {
	Invitation
	// Code is what the invited person accepts with. It may be typed in capital or
	// small letters and with spaces.
	Code string `json:"code" binding:"required" example:"EXAMPLEONLYNOTAREALCODE234"`
	// Link opens the page to accept on. The code is in its fragment, which
	// browsers do not send to the server.
	Link string `json:"link" binding:"required" format:"uri" example:"https://fringework.example/join#EXAMPLEONLYNOTAREALCODE234"`
} // @name InvitationCreated

// InvitationPage is one page of the academy's invitations.
type InvitationPage struct {
	Items []Invitation `json:"items" binding:"required"`
	Links Links        `json:"links" binding:"required"`
} // @name InvitationPage

// CodeRequest is the code of an invitation.
type CodeRequest struct {
	Code string `json:"code" validate:"required" maxLength:"64" example:"EXAMPLEONLYNOTAREALCODE234"`
} // @name CodeRequest

// InvitationView is an invitation as the invited person sees it.
type InvitationView struct {
	AcademyName string `json:"academy_name" binding:"required" example:"Links End Short Game"`
	Role        string `json:"role" binding:"required" enums:"coach,student,guardian" example:"student"`
	// Name is the invited person's name, InvitedBy the name of the person who sent
	// it, and Student the junior's name, for a guardian.
	Name      string `json:"name,omitempty" example:"Tomas Brandt"`
	InvitedBy string `json:"invited_by" binding:"required" example:"Ines Duarte"`
	Student   string `json:"student,omitempty"`
	Junior    bool   `json:"junior" binding:"required"`
	// EmailBound is true if only one e-mail address, not shown here, can accept.
	EmailBound bool `json:"email_bound" binding:"required"`
	// TimeZone is the academy's, as a suggestion.
	TimeZone  string    `json:"time_zone" binding:"required" example:"Europe/Lisbon"`
	ExpiresAt time.Time `json:"expires_at" binding:"required" format:"date-time"`
} // @name InvitationView

// AcceptRequest says who accepts an invitation.
type AcceptRequest struct {
	Code string `json:"code" validate:"required" maxLength:"64" example:"EXAMPLEONLYNOTAREALCODE234"`
	// Email and Password are for a new account, or those of an existing one. Leave
	// them out if you are signed in.
	Email    string `json:"email,omitempty" format:"email" maxLength:"254" example:"tomas@example.org"`
	Password string `json:"password,omitempty" format:"password" example:"nine quiet lanterns"`
	// SecondFactor is a code of your app or a recovery code, for an account with a
	// second factor.
	SecondFactor string `json:"second_factor,omitempty" maxLength:"64"`
	// Name is the member's name; optional if you are signed in.
	Name string `json:"name,omitempty" maxLength:"100" example:"Tomas Brandt"`
	// TimeZone is the member's own, an IANA name; the academy's by default.
	TimeZone string `json:"time_zone,omitempty" example:"Europe/Lisbon"`
	// Keep is optional: "cookie" puts the refresh token in a cookie that scripts
	// cannot read, instead of in the answer. Only for pages of this host.
	Keep string `json:"keep,omitempty" enums:"cookie"`
} // @name AcceptRequest

func (s *Server) encodeInvitation(i auth.Invitation) Invitation {
	return Invitation{
		ID: i.ID, Role: string(i.Role), State: string(i.State(s.Now())), Email: i.Email, Name: i.Name,
		InvitedBy: i.By, CoachID: i.Coach, GroupID: i.Group, StudentID: i.Student, Junior: i.Junior,
		Gives: encodeGift(i.Gives), CreatedAt: i.Created.UTC(), ExpiresAt: i.Expires.UTC(),
		AcceptedBy: i.AcceptedBy, AcceptedAt: instant(i.Accepted), RevokedAt: instant(i.Revoked),
	}
}

// renamed gives err with the pointers of its fields as this API names them.
func renamed(err error, names map[string]string) error {
	var de *domain.Error
	if !errors.As(err, &de) || len(de.Fields) == 0 {
		return err
	}
	out := *de
	out.Fields = slices.Clone(de.Fields)
	for i, f := range out.Fields {
		if name, ok := names[f.Pointer]; ok {
			out.Fields[i].Pointer = name
		}
	}
	return &out
}

// createInvitation makes an invitation.
//
//	@Summary		Invite a person
//	@Description	Owners invite coaches, students and guardians. Coaches invite students, who are then linked to them, and guardians of juniors they work with. The answer has the code, shown only this once, and a link to pass on. An invitation can be used once, within 14 days unless configured otherwise.
//	@ID				createInvitation
//	@Tags			Invitations
//	@Accept			json
//	@Produce		json
//	@Param			invitation	body		InvitationRequest	true	"Whom to invite, and in which role"
//	@Success		201			{object}	InvitationCreated
//	@Failure		400,401,403,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/invitations [post]
func (s *Server) createInvitation(c echo.Context) error {
	var r InvitationRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	const refused = "The invitation was not created."
	gives, err := s.gift(c, r.ProgrammeID, r.Version, r.StartDate)
	if err != nil {
		return notInvited(err, refused)
	}
	i, code, err := s.Auth.Invite(c.Request().Context(), actor(c), auth.Invite{
		Role: domain.Role(r.Role), Email: r.Email, Name: r.Name,
		Coach: r.CoachID, Group: r.GroupID, Student: r.StudentID, Junior: r.Junior, Gives: gives,
	})
	if err != nil {
		return notInvited(err, refused)
	}
	noStore(c)
	return created(c, "/v1/invitations/"+string(i.ID), 0, s.invitationCreated(c, i, code))
}

// invitationNames are the members of a request that package auth names otherwise.
var invitationNames = map[string]string{
	"/coach": "/coach_id", "/group": "/group_id", "/student": "/student_id", "/programme": "/programme_id",
}

func (s *Server) invitationCreated(c echo.Context, i auth.Invitation, code string) InvitationCreated {
	return InvitationCreated{Invitation: s.encodeInvitation(i), Code: code, Link: s.publicURL(c) + "/join#" + code}
}

// publicURL is where the service is reached from outside, without a slash at
// the end.
func (s *Server) publicURL(c echo.Context) string {
	if s.PublicURL != "" {
		return strings.TrimRight(s.PublicURL, "/")
	}
	return c.Scheme() + "://" + c.Request().Host
}

// listInvitations lists invitations.
//
//	@Summary		List invitations
//	@Description	Owners see all invitations, coaches the ones they sent.
//	@ID				listInvitations
//	@Tags			Invitations
//	@Produce		json
//	@Param			open	query		bool	false	"Only invitations that can still be accepted"
//	@Param			limit	query		int		false	"Page size"	minimum(1)	maximum(200)	default(50)
//	@Param			cursor	query		string	false	"Where to continue, from links.next"
//	@Success		200		{object}	InvitationPage
//	@Success		304		"Not modified"
//	@Failure		400,401,403,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/invitations [get]
func (s *Server) listInvitations(c echo.Context) error {
	q := newQuery(c)
	page, open := q.page(), q.flag("open")
	if err := q.done(); err != nil {
		return err
	}
	list, err := s.Auth.ListInvitations(c.Request().Context(), actor(c), open, page)
	if err != nil {
		return err
	}
	items, links := pageOf(c, page, list, func(i auth.Invitation) domain.ID { return i.ID }, s.encodeInvitation)
	return ok(c, 0, InvitationPage{Items: items, Links: links})
}

// getInvitation reads an invitation.
//
//	@Summary	Read an invitation
//	@ID			getInvitation
//	@Tags		Invitations
//	@Produce	json
//	@Param		invitation_id	path		string	true	"The invitation"	format(uuid)
//	@Param		If-None-Match	header		string	false	"The ETag you already have"
//	@Success	200				{object}	Invitation
//	@Success	304				"Not modified"
//	@Failure	400,401,403,404,429,500,503	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/invitations/{invitation_id} [get]
func (s *Server) getInvitation(c echo.Context) error {
	id, err := pathID(c, "invitation_id")
	if err != nil {
		return err
	}
	i, err := s.Auth.Invitation(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	return ok(c, 0, s.encodeInvitation(i))
}

// revokeInvitation withdraws an invitation.
//
//	@Summary		Withdraw an invitation
//	@Description	An accepted or expired invitation cannot be withdrawn. Withdrawing twice changes nothing.
//	@ID				revokeInvitation
//	@Tags			Invitations
//	@Produce		json
//	@Param			invitation_id	path	string	true	"The invitation"	format(uuid)
//	@Success		204				"Withdrawn"
//	@Failure		400,401,403,404,409,413,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/invitations/{invitation_id} [delete]
func (s *Server) revokeInvitation(c echo.Context) error {
	id, err := pathID(c, "invitation_id")
	if err != nil {
		return err
	}
	if err := s.Auth.RevokeInvitation(c.Request().Context(), actor(c), id); err != nil {
		return err
	}
	return noContent(c)
}

// inspectInvitation tells what an invitation means.
//
//	@Summary	Look at an invitation before accepting it
//	@ID			inspectInvitation
//	@Tags		Invitations
//	@Accept		json
//	@Produce	json
//	@Param		code	body		CodeRequest	true	"The code"
//	@Success	200		{object}	InvitationView
//	@Failure	400,404,409,413,415,429,500,503	{object}	Problem
//	@Router		/v1/invitations/inspect [post]
func (s *Server) inspectInvitation(c echo.Context) error {
	var r CodeRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	v, err := s.Auth.InspectInvitation(c.Request().Context(), r.Code, c.RealIP())
	if err != nil {
		return err
	}
	noStore(c)
	return writeJSON(c, http.StatusOK, InvitationView{
		AcademyName: v.AcademyName, Role: string(v.Role), Name: v.Name, InvitedBy: v.By, Student: v.Student,
		Junior: v.Junior, EmailBound: v.EmailBound, TimeZone: v.TimeZone, ExpiresAt: v.Expires.UTC(),
	})
}

// acceptInvitation makes the holder of a code a member.
//
//	@Summary		Accept an invitation
//	@Description	Joins the academy and signs in: with a new account, with the existing account whose e-mail and password you give, or with the account you are signed in to. If the reply was lost, send it again: the same account signs in and nothing else changes. Where the service sends mail and the invitation is bound to no e-mail, a new account begins with a link: the answer is 202, and it is the same if the address has an account and the password is wrong.
//	@ID				acceptInvitation
//	@Tags			Invitations
//	@Accept			json
//	@Produce		json
//	@Param			acceptance	body		AcceptRequest	true	"The code and who accepts it"
//	@Success		200			{object}	SignedIn
//	@Success		202			{object}	MailSent
//	@Failure		400,401,403,404,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@x-optional-security	true
//	@Router			/v1/invitations/accept [post]
func (s *Server) acceptInvitation(c echo.Context) error {
	var r AcceptRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	in := auth.Accept{
		Code: r.Code, Email: r.Email, Password: r.Password, SecondFactor: r.SecondFactor, Name: r.Name, TimeZone: r.TimeZone, Address: c.RealIP(),
	}
	if c.Request().Header.Get(echo.HeaderAuthorization) != "" {
		id, err := s.authenticate(c)
		if err != nil {
			return err
		}
		if !id.May(auth.AccountWrite) {
			return refused(id, auth.AccountWrite)
		}
		in.Account = id.Account
	}
	if err := checkKeep(c, r.Keep); err != nil {
		return err
	}
	signed, err := s.Auth.AcceptInvitation(c.Request().Context(), in)
	if err == nil && signed.Mailed {
		return mailSent(c)
	}
	if err == nil {
		err = s.giveOnJoining(c, *signed.Accepted)
	}
	return s.answerSignedIn(c, signed, r.Keep, err)
}
