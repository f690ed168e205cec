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

// InvitationRequest is whom to invite, and as what.
type InvitationRequest struct {
	// Role is what the invited person will be. Coaches do not invite coaches,
	// and nobody invites owners.
	Role string `json:"role" validate:"required" enums:"coach,student,guardian" example:"student"`
	// Email, when given, is the only one that may accept.
	Email string `json:"email,omitempty" format:"email" maxLength:"254" example:"tomas@example.org"`
	// Name is whom it is for, shown to them.
	Name string `json:"name,omitempty" maxLength:"100" example:"Tomas Brandt"`
	// CoachID is whom a student will be linked to; a coach's students are
	// always their own.
	CoachID domain.ID `json:"coach_id,omitempty" format:"uuid"`
	// GroupID is what a student will be added to.
	GroupID domain.ID `json:"group_id,omitempty" format:"uuid"`
	// StudentID is the junior whom a guardian will read; guardians need it.
	StudentID domain.ID `json:"student_id,omitempty" format:"uuid"`
	// Junior marks a student as a junior.
	Junior bool `json:"junior,omitempty"`
} // @name InvitationRequest

// Invitation lets one person join the academy in one role, once.
type Invitation struct {
	ID    domain.ID `json:"id" binding:"required" format:"uuid"`
	Role  string    `json:"role" binding:"required" enums:"coach,student,guardian" example:"student"`
	State string    `json:"state" binding:"required" enums:"open,accepted,revoked,expired" example:"open"`
	Email string    `json:"email,omitempty" format:"email"`
	Name  string    `json:"name,omitempty" example:"Tomas Brandt"`
	// InvitedBy is the member who made it.
	InvitedBy domain.ID `json:"invited_by" binding:"required" format:"uuid"`
	CoachID   domain.ID `json:"coach_id,omitempty" format:"uuid"`
	GroupID   domain.ID `json:"group_id,omitempty" format:"uuid"`
	StudentID domain.ID `json:"student_id,omitempty" format:"uuid"`
	Junior    bool      `json:"junior" binding:"required"`
	CreatedAt time.Time `json:"created_at" binding:"required" format:"date-time"`
	ExpiresAt time.Time `json:"expires_at" binding:"required" format:"date-time"`
	// AcceptedBy is the member whom it made.
	AcceptedBy domain.ID  `json:"accepted_by,omitempty" format:"uuid"`
	AcceptedAt *time.Time `json:"accepted_at,omitempty" format:"date-time"`
	RevokedAt  *time.Time `json:"revoked_at,omitempty" format:"date-time"`
} // @name Invitation

// InvitationCreated is a new invitation with its code, which is shown this
// once.
type InvitationCreated struct {
	Invitation
	// Code is what the invited person accepts with; it may be typed from
	// paper, in any case and with spaces.
	Code string `json:"code" binding:"required" example:"EXAMPLEONLYNOTAREALCODE234"`
	// Link opens the page on which to accept. The code is in its fragment,
	// which browsers do not send.
	Link string `json:"link" binding:"required" format:"uri" example:"https://fringework.example/join#EXAMPLEONLYNOTAREALCODE234"`
} // @name InvitationCreated

// InvitationPage is a stretch of the academy's invitations.
type InvitationPage struct {
	Items []Invitation `json:"items" binding:"required"`
	Links Links        `json:"links" binding:"required"`
} // @name InvitationPage

// CodeRequest carries an invitation's code.
type CodeRequest struct {
	Code string `json:"code" validate:"required" maxLength:"64" example:"EXAMPLEONLYNOTAREALCODE234"`
} // @name CodeRequest

// InvitationView is what accepting an invitation means.
type InvitationView struct {
	AcademyName string `json:"academy_name" binding:"required" example:"Links End Short Game"`
	Role        string `json:"role" binding:"required" enums:"coach,student,guardian" example:"student"`
	// Name is whom it is for, InvitedBy the name of who made it, and Student
	// that of the junior, for a guardian.
	Name      string `json:"name,omitempty" example:"Tomas Brandt"`
	InvitedBy string `json:"invited_by" binding:"required" example:"Ines Duarte"`
	Student   string `json:"student,omitempty"`
	Junior    bool   `json:"junior" binding:"required"`
	// EmailBound says that only one e-mail, not told here, may accept.
	EmailBound bool `json:"email_bound" binding:"required"`
	// TimeZone is the academy's, as a proposal.
	TimeZone  string    `json:"time_zone" binding:"required" example:"Europe/Lisbon"`
	ExpiresAt time.Time `json:"expires_at" binding:"required" format:"date-time"`
} // @name InvitationView

// AcceptRequest is who accepts an invitation.
type AcceptRequest struct {
	Code string `json:"code" validate:"required" maxLength:"64" example:"EXAMPLEONLYNOTAREALCODE234"`
	// Email and Password are of an account to be made, or the right ones of an
	// account that exists; they are not needed by whoever is signed in.
	Email    string `json:"email,omitempty" format:"email" maxLength:"254" example:"tomas@example.org"`
	Password string `json:"password,omitempty" format:"password" example:"nine quiet lanterns"`
	// Name is what the member is called; whoever is signed in may leave it out.
	Name string `json:"name,omitempty" maxLength:"100" example:"Tomas Brandt"`
	// TimeZone is the member's own, an IANA name; the academy's without it.
	TimeZone string `json:"time_zone,omitempty" example:"Europe/Lisbon"`
	// Keep says "cookie" to get the refresh token in a cookie that scripts cannot
	// read, for pages of this very host, instead of in the answer.
	Keep string `json:"keep,omitempty" enums:"cookie"`
} // @name AcceptRequest

func (s *Server) encodeInvitation(i auth.Invitation) Invitation {
	return Invitation{
		ID: i.ID, Role: string(i.Role), State: string(i.State(s.Now())), Email: i.Email, Name: i.Name,
		InvitedBy: i.By, CoachID: i.Coach, GroupID: i.Group, StudentID: i.Student, Junior: i.Junior,
		CreatedAt: i.Created.UTC(), ExpiresAt: i.Expires.UTC(),
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
//	@Description	Owners invite coaches, students and guardians; coaches invite students, who are linked to them, and guardians of juniors they work with. The answer has the code, which is shown this once, and a link to hand on. An invitation is good once, for 14 days unless configured otherwise.
//	@ID				createInvitation
//	@Tags			Invitations
//	@Accept			json
//	@Produce		json
//	@Param			invitation	body		InvitationRequest	true	"Whom, and as what"
//	@Success		201			{object}	InvitationCreated
//	@Failure		400,401,403,413,415,422,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/invitations [post]
func (s *Server) createInvitation(c echo.Context) error {
	var r InvitationRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	i, code, err := s.Auth.Invite(c.Request().Context(), actor(c), auth.Invite{
		Role: domain.Role(r.Role), Email: r.Email, Name: r.Name,
		Coach: r.CoachID, Group: r.GroupID, Student: r.StudentID, Junior: r.Junior,
	})
	if err != nil {
		return renamed(err, map[string]string{"/coach": "/coach_id", "/group": "/group_id", "/student": "/student_id"})
	}
	noStore(c)
	return created(c, "/v1/invitations/"+string(i.ID), 0, InvitationCreated{
		Invitation: s.encodeInvitation(i), Code: code, Link: s.publicURL(c) + "/join#" + code,
	})
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
//	@Description	An owner sees all, a coach their own.
//	@ID				listInvitations
//	@Tags			Invitations
//	@Produce		json
//	@Param			open	query		bool	false	"Only those that can still be accepted"
//	@Param			limit	query		int		false	"How many at most"	minimum(1)	maximum(200)	default(50)
//	@Param			cursor	query		string	false	"Where to go on, from links.next"
//	@Success		200		{object}	InvitationPage
//	@Success		304		"Not modified"
//	@Failure		400,401,403,429,500	{object}	Problem
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
//	@Param		If-None-Match	header		string	false	"The entity tag you have"
//	@Success	200				{object}	Invitation
//	@Success	304				"Not modified"
//	@Failure	400,401,403,404,429,500	{object}	Problem
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
//	@Description	One that was accepted or has expired cannot be withdrawn. Withdrawing again changes nothing.
//	@ID				revokeInvitation
//	@Tags			Invitations
//	@Produce		json
//	@Param			invitation_id	path	string	true	"The invitation"	format(uuid)
//	@Success		204				"Withdrawn"
//	@Failure		400,401,403,404,409,429,500	{object}	Problem
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
//	@Summary	See what an invitation means
//	@ID			inspectInvitation
//	@Tags		Invitations
//	@Accept		json
//	@Produce	json
//	@Param		code	body		CodeRequest	true	"The code"
//	@Success	200		{object}	InvitationView
//	@Failure	400,404,409,413,415,429,500	{object}	Problem
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
//	@Description	Makes an account, or takes the one whose e-mail and password are given or whose access token is sent, and signs it in to the academy. Repeated by the same account it signs in and changes nothing else, so that a lost reply does no harm.
//	@ID				acceptInvitation
//	@Tags			Invitations
//	@Accept			json
//	@Produce		json
//	@Param			acceptance	body		AcceptRequest	true	"The code, and who accepts"
//	@Success		200			{object}	SignedIn
//	@Failure		400,401,403,404,409,413,415,422,429,500	{object}	Problem
//	@Security		Bearer
//	@x-optional-security	true
//	@Router			/v1/invitations/accept [post]
func (s *Server) acceptInvitation(c echo.Context) error {
	var r AcceptRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	in := auth.Accept{
		Code: r.Code, Email: r.Email, Password: r.Password, Name: r.Name, TimeZone: r.TimeZone, Address: c.RealIP(),
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
	return s.answerSignedIn(c, signed, r.Keep, err)
}
