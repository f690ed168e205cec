package api

import (
	"time"

	"github.com/labstack/echo/v4"

	"fringework/auth"
	"fringework/domain"
	"fringework/domain/academy"
)

// Member is an account in an academy, with a role.
type Member struct {
	ID    domain.ID `json:"id" binding:"required" format:"uuid"`
	Role  string    `json:"role" binding:"required" extensions:"x-words=roles" example:"student"`
	Name  string    `json:"name" binding:"required" example:"Tomas Brandt"`
	Email string    `json:"email" binding:"required" format:"email" example:"tomas@example.org"`
	// TimeZone is an IANA name; a student's practice weeks are counted in it.
	TimeZone string `json:"time_zone" binding:"required" example:"Europe/Lisbon"`
	// Units says how lengths are shown: in feet and yards, or in metres.
	Units string `json:"units" binding:"required" enums:"feet,metres" example:"feet"`
	// Junior is true for a junior student, whose sessions are stored only with a
	// guardian's consent.
	Junior    bool       `json:"junior" binding:"required"`
	ConsentAt *time.Time `json:"consent_at,omitempty" format:"date-time"`
	ConsentBy domain.ID  `json:"consent_by,omitempty" format:"uuid"`
	// ConsentWithdrawnAt is when a guardian withdrew or refused consent last; absent
	// while it is given, and before anybody was asked.
	ConsentWithdrawnAt *time.Time `json:"consent_withdrawn_at,omitempty" format:"date-time"`
	// ConsentWithdrawnBy is the member who did.
	ConsentWithdrawnBy domain.ID `json:"consent_withdrawn_by,omitempty" format:"uuid"`
	// ReportsAt is when a guardian agreed that the junior's report may be shared by
	// links, AppsAt that software with a key may read the junior's data.
	ReportsAt *time.Time `json:"reports_at,omitempty" format:"date-time"`
	AppsAt    *time.Time `json:"apps_at,omitempty" format:"date-time"`
	// MediaAt is when a guardian agreed that photos and clips of the junior may be kept
	// with lessons.
	MediaAt *time.Time `json:"media_at,omitempty" format:"date-time"`
	// MatchesAt is when a guardian agreed that the junior plays matches.
	MatchesAt *time.Time `json:"matches_at,omitempty" format:"date-time"`
	// RemovedAt is when the member was removed; absent while they are in the academy.
	RemovedAt *time.Time `json:"removed_at,omitempty" format:"date-time"`
	JoinedAt  time.Time  `json:"joined_at" binding:"required" format:"date-time"`
	Revision  int        `json:"revision" binding:"required" minimum:"1"`
} // @name Member

// MemberPage is one page of the academy's members.
type MemberPage struct {
	Items []Member `json:"items" binding:"required"`
	Links Links    `json:"links" binding:"required"`
} // @name MemberPage

// MemberPatch is a JSON Merge Patch of a member.
type MemberPatch struct {
	Name     patched[string] `json:"name" swaggertype:"string" minLength:"1" maxLength:"120" example:"Tomas Brandt"`
	TimeZone patched[string] `json:"time_zone" swaggertype:"string" example:"Europe/Lisbon"`
	Units    patched[string] `json:"units" swaggertype:"string" enums:"feet,metres" example:"metres"`
	// Role can be changed by an owner, between coach and owner.
	Role patched[string] `json:"role" swaggertype:"string" enums:"owner,coach" example:"coach"`
	// Junior can be set by an owner or a coach, and taken back by an owner.
	Junior patched[bool] `json:"junior" swaggertype:"boolean" example:"true"`
} // @name MemberPatch

func (r MemberPatch) read() (academy.MemberChange, error) {
	var p domain.Problems
	c := academy.MemberChange{
		Name: r.Name.read(&p, "/name"), TimeZone: r.TimeZone.read(&p, "/time_zone"),
		Units: typed[academy.Units](r.Units.read(&p, "/units")), Role: typed[domain.Role](r.Role.read(&p, "/role")),
		Junior: r.Junior.read(&p, "/junior"),
	}
	return c, p.Err("member_invalid", "The member was not changed.")
}

// typed gives an optional text the type it stands for.
func typed[T ~string](text *string) *T {
	if text == nil {
		return nil
	}
	v := T(*text)
	return &v
}

func encodeMember(m academy.Member) Member {
	return Member{
		ID: m.ID, Role: string(m.Role), Name: m.Name, Email: m.Email, TimeZone: m.TimeZone, Units: string(m.Units),
		Junior: m.Junior, ConsentAt: instant(m.ConsentAt), ConsentBy: m.ConsentBy,
		ConsentWithdrawnAt: instant(m.ConsentEndedAt), ConsentWithdrawnBy: m.ConsentEndedBy, ReportsAt: instant(m.ReportsAt), AppsAt: instant(m.AppsAt), MediaAt: instant(m.MediaAt), MatchesAt: instant(m.MatchesAt),
		RemovedAt: instant(m.RemovedAt), JoinedAt: m.JoinedAt.UTC(), Revision: m.Revision,
	}
}

// listMembers lists members.
//
//	@Summary		List members
//	@Description	Owners see everybody; coaches see the staff and the students linked to them.
//	@ID				listMembers
//	@Tags			Members
//	@Produce		json
//	@Param			role		query		string	false	"Only members with this role"	Extensions(x-words=roles)
//	@Param			group_id	query		string	false	"Only students in this group"	format(uuid)
//	@Param			removed		query		bool	false	"Include members who were removed"
//	@Param			updated_since	query		string	false	"Only those changed at this time or later, RFC 3339. Deletions are not listed, and what is being saved just now may come late: ask a minute back, or follow /v1/changes, which misses nothing"	format(date-time)
//	@Param			limit		query		int		false	"Page size"	minimum(1)	maximum(200)	default(50)
//	@Param			cursor		query		string	false	"Where to continue, from links.next"
//	@Success		200			{object}	MemberPage
//	@Success		304			"Not modified"
//	@Failure		400,401,403,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/members [get]
func (s *Server) listMembers(c echo.Context) error {
	q := newQuery(c)
	page := q.page()
	page.UpdatedSince = q.instant("updated_since")
	f := academy.MemberFilter{
		Role:  domain.Role(q.word("role", words(domain.Roles())...)),
		Group: q.id("group_id"), Removed: q.flag("removed"),
	}
	if err := q.done(); err != nil {
		return err
	}
	members, err := s.Academy.Members(c.Request().Context(), actor(c), f, page)
	if err != nil {
		return err
	}
	items, links := pageOf(c, page, members, func(m academy.Member) domain.ID { return m.ID }, encodeMember)
	return ok(c, 0, MemberPage{Items: items, Links: links})
}

// getMember reads a member.
//
//	@Summary	Read a member
//	@ID			getMember
//	@Tags		Members
//	@Produce	json
//	@Param		member_id		path		string	true	"The member"	format(uuid)
//	@Param		If-None-Match	header		string	false	"The ETag you already have"
//	@Success	200				{object}	Member
//	@Success	304				"Not modified"
//	@Failure	400,401,403,404,429,500,503	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/members/{member_id} [get]
func (s *Server) getMember(c echo.Context) error {
	id, err := pathID(c, "member_id")
	if err != nil {
		return err
	}
	m, err := s.Academy.Member(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	return ok(c, m.Revision, encodeMember(m))
}

// patchMember changes a member.
//
//	@Summary		Change a member
//	@Description	Send a JSON Merge Patch (RFC 7396). You can change your own name, time zone and units; a coach also those of their students, an owner everybody's. An owner can make a coach an owner, or an owner a coach; an academy always has an owner.
//	@ID				patchMember
//	@Tags			Members
//	@Accept			json,application/merge-patch+json
//	@Produce		json
//	@Param			member_id	path		string		true	"The member"	format(uuid)
//	@Param			If-Match	header		string		false	"The ETag of the version you are changing"
//	@Param			patch		body		MemberPatch	true	"What changes"
//	@Success		200			{object}	Member
//	@Failure		400,401,403,404,409,412,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/members/{member_id} [patch]
func (s *Server) patchMember(c echo.Context) error {
	id, err := pathID(c, "member_id")
	if err != nil {
		return err
	}
	revision, err := ifMatch(c)
	if err != nil {
		return err
	}
	var r MemberPatch
	if err := decodePatch(c, &r); err != nil {
		return err
	}
	m, err := s.changeMember(c, id, revision, r)
	if err != nil {
		return err
	}
	return ok(c, m.Revision, encodeMember(m))
}

// changeMember applies a patch; an empty one changes nothing.
func (s *Server) changeMember(c echo.Context, id domain.ID, revision int, r MemberPatch) (academy.Member, error) {
	change, err := r.read()
	if err != nil {
		return academy.Member{}, err
	}
	ctx := c.Request().Context()
	if change == (academy.MemberChange{}) {
		m, err := s.Academy.Member(ctx, actor(c), id)
		if err == nil {
			err = domain.CheckRevision("member", revision, m.Revision)
		}
		return m, err
	}
	if change.Role != nil && !identity(c).May(auth.RoleWrite) {
		// Whether the member exists comes first: it may be none of the
		// asker's business.
		if _, err := s.Academy.Member(ctx, actor(c), id); err != nil {
			return academy.Member{}, err
		}
		return academy.Member{}, refused(identity(c), auth.RoleWrite)
	}
	return s.Academy.ChangeMember(ctx, actor(c), id, revision, change)
}

// removeMember takes a member out of the academy.
//
//	@Summary		Remove a member
//	@Description	Access ends at once. Their data is kept; a new invitation brings them back as the same member.
//	@ID				removeMember
//	@Tags			Members
//	@Produce		json
//	@Param			member_id	path	string	true	"The member"	format(uuid)
//	@Success		204			"Removed"
//	@Failure		400,401,403,404,409,413,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/members/{member_id} [delete]
func (s *Server) removeMember(c echo.Context) error {
	id, err := pathID(c, "member_id")
	if err != nil {
		return err
	}
	if err := s.Academy.RemoveMember(c.Request().Context(), actor(c), id); err != nil {
		return err
	}
	return noContent(c)
}
