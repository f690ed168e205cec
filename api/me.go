package api

import "github.com/labstack/echo/v4"

// Me is the person who is signed in.
type Me struct {
	Account Account `json:"account" binding:"required"`
	// Memberships are all academies of the account, in the order joined.
	Memberships []Membership `json:"memberships" binding:"required"`
	// Member is the person as a member of the access token's academy; absent if
	// the account belongs to no academy.
	Member *Member `json:"member,omitempty"`
} // @name Me

// MePatch is a JSON Merge Patch of yourself as a member.
type MePatch struct {
	Name     patched[string] `json:"name" swaggertype:"string" minLength:"1" maxLength:"120" example:"Ines Duarte"`
	TimeZone patched[string] `json:"time_zone" swaggertype:"string" example:"Europe/Lisbon"`
	// Units says how lengths are shown: in feet and yards, or in metres.
	Units patched[string] `json:"units" swaggertype:"string" enums:"feet,metres" example:"metres"`
} // @name MePatch

func (s *Server) me(c echo.Context) (Me, error) {
	ctx, id := c.Request().Context(), identity(c)
	account, in, err := s.Auth.Me(ctx, id.Account)
	if err != nil {
		return Me{}, err
	}
	me := Me{Account: encodeAccount(account), Memberships: each(in, encodeMembership)}
	if id.Member == "" {
		return me, nil
	}
	m, err := s.Academy.Member(ctx, id.Actor, id.Member)
	if err != nil {
		return Me{}, err
	}
	member := encodeMember(m)
	me.Member = &member
	return me, nil
}

// getMe reads who asks.
//
//	@Summary	Read your account
//	@ID			getMe
//	@Tags		Me
//	@Produce	json
//	@Param		If-None-Match	header		string	false	"The ETag you already have"
//	@Success	200				{object}	Me
//	@Success	304				"Not modified"
//	@Failure	400,401,403,429,500,503	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/me [get]
func (s *Server) getMe(c echo.Context) error {
	me, err := s.me(c)
	if err != nil {
		return err
	}
	return ok(c, 0, me)
}

// patchMe changes oneself as a member.
//
//	@Summary		Change your name, time zone or units
//	@Description	Send a JSON Merge Patch (RFC 7396). It applies to the academy of the access token. A student's practice weeks are counted in the student's time zone.
//	@ID				patchMe
//	@Tags			Me
//	@Accept			json,application/merge-patch+json
//	@Produce		json
//	@Param			If-Match	header		string	false	"The ETag of the version you are changing"
//	@Param			patch		body		MePatch	true	"What changes"
//	@Success		200			{object}	Me
//	@Failure		400,401,403,409,412,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/me [patch]
func (s *Server) patchMe(c echo.Context) error {
	var r MePatch
	if err := decodePatch(c, &r); err != nil {
		return err
	}
	me, err := s.me(c)
	if err != nil {
		return err
	}
	if err := unchanged(c, me); err != nil {
		return err
	}
	// Whatever changes the member after the look above makes this fail, if the
	// client cares.
	revision := 0
	if c.Request().Header.Get("If-Match") != "" {
		revision = me.Member.Revision
	}
	patch := MemberPatch{Name: r.Name, TimeZone: r.TimeZone, Units: r.Units}
	if _, err := s.changeMember(c, me.Member.ID, revision, patch); err != nil {
		return err
	}
	return s.getMe(c)
}
