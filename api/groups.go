package api

import (
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/academy"
)

// GroupRequest is a group as a coach writes it.
type GroupRequest struct {
	Name string `json:"name" validate:"required" minLength:"1" maxLength:"120" example:"Saturday juniors"`
	// StudentIDs are all the students of the group whom you may see.
	StudentIDs []domain.ID `json:"student_ids" validate:"required" maxItems:"500" format:"uuid"`
} // @name GroupRequest

// Group is a named group of students.
type Group struct {
	ID   domain.ID `json:"id" binding:"required" format:"uuid"`
	Name string    `json:"name" binding:"required" example:"Saturday juniors"`
	// StudentIDs are its students whom you may see, in the order they joined the
	// academy.
	StudentIDs []domain.ID `json:"student_ids" binding:"required" format:"uuid"`
	Revision   int         `json:"revision" binding:"required" minimum:"1"`
	CreatedAt  time.Time   `json:"created_at" binding:"required" format:"date-time"`
} // @name Group

// GroupPage is one page of the academy's groups.
type GroupPage struct {
	Items []Group `json:"items" binding:"required"`
	Links Links   `json:"links" binding:"required"`
} // @name GroupPage

// GroupDetail is a group, and the programmes that it has in common.
type GroupDetail struct {
	Group
	// Programmes are those under way or to come that at least half of the group
	// have.
	Programmes []GroupProgramme `json:"programmes" binding:"required"`
} // @name GroupDetail

// GroupProgramme is a programme that a group has in common.
type GroupProgramme struct {
	ProgrammeID   domain.ID `json:"programme_id" binding:"required" format:"uuid"`
	ProgrammeName string    `json:"programme_name" binding:"required" example:"Six weeks around the green"`
	// Version and StartDate are as most of the group have it.
	Version   int      `json:"version" binding:"required" example:"1"`
	StartDate string   `json:"start_date" binding:"required" format:"date" example:"2026-05-04"`
	Weeks     int      `json:"weeks" binding:"required" example:"6"`
	Position  Position `json:"position" binding:"required"`
	// LackingIDs are the students of the group who do not have it, newcomers for
	// instance.
	LackingIDs []domain.ID `json:"lacking_ids" binding:"required" format:"uuid"`
} // @name GroupProgramme

func encodeGroupProgramme(p academy.GroupProgramme) GroupProgramme {
	return GroupProgramme{
		ProgrammeID: p.Programme, ProgrammeName: p.Name, Version: p.Version, StartDate: p.Start.String(),
		Weeks: p.Weeks, Position: encodePosition(p.Position, p.Start), LackingIDs: append([]domain.ID{}, p.Lacking...),
	}
}

// groupDetail is a group with the programmes that it has in common.
func (s *Server) groupDetail(c echo.Context, g academy.Group) (GroupDetail, error) {
	all, err := s.Academy.GroupProgrammes(c.Request().Context(), actor(c), g.ID)
	return GroupDetail{Group: encodeGroup(g), Programmes: each(all, encodeGroupProgramme)}, err
}

func encodeGroup(g academy.Group) Group {
	return Group{
		ID: g.ID, Name: g.Name, Revision: g.Revision, CreatedAt: g.CreatedAt.UTC(),
		StudentIDs: each(g.Students, func(id domain.ID) domain.ID { return id }),
	}
}

func readGroup(c echo.Context, decode decoder) (GroupRequest, error) {
	var r GroupRequest
	if err := decode(c, &r); err != nil {
		return r, err
	}
	if r.StudentIDs == nil {
		return r, missing("/student_ids", "give an array; [] empties the group")
	}
	return r, nil
}

// createGroup keeps a new group.
//
//	@Summary	Create a group
//	@ID			createGroup
//	@Tags		Groups
//	@Accept		json
//	@Produce	json
//	@Param		group	body		GroupRequest	true	"The group"
//	@Success	201		{object}	GroupDetail
//	@Failure	400,401,403,413,415,422,429,500	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/groups [post]
func (s *Server) createGroup(c echo.Context) error {
	r, err := readGroup(c, decode)
	if err != nil {
		return err
	}
	g, err := s.Academy.CreateGroup(c.Request().Context(), actor(c), r.Name, r.StudentIDs)
	if err != nil {
		return err
	}
	out, err := s.groupDetail(c, g)
	if err != nil {
		return err
	}
	return created(c, "/v1/groups/"+string(g.ID), g.Revision, out)
}

// listGroups lists groups.
//
//	@Summary	List groups
//	@ID			listGroups
//	@Tags		Groups
//	@Produce	json
//	@Param		limit	query		int		false	"Page size"	minimum(1)	maximum(200)	default(50)
//	@Param		cursor	query		string	false	"Where to continue, from links.next"
//	@Success	200		{object}	GroupPage
//	@Success	304		"Not modified"
//	@Failure	400,401,403,429,500	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/groups [get]
func (s *Server) listGroups(c echo.Context) error {
	q := newQuery(c)
	page := q.page()
	if err := q.done(); err != nil {
		return err
	}
	groups, err := s.Academy.Groups(c.Request().Context(), actor(c), page)
	if err != nil {
		return err
	}
	items, links := pageOf(c, page, groups, func(g academy.Group) domain.ID { return g.ID }, encodeGroup)
	return ok(c, 0, GroupPage{Items: items, Links: links})
}

// getGroup reads a group.
//
//	@Summary	Read a group
//	@ID			getGroup
//	@Tags		Groups
//	@Produce	json
//	@Param		group_id		path		string	true	"The group"	format(uuid)
//	@Param		If-None-Match	header		string	false	"The ETag you already have"
//	@Success	200				{object}	GroupDetail
//	@Success	304				"Not modified"
//	@Failure	400,401,403,404,429,500	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/groups/{group_id} [get]
func (s *Server) getGroup(c echo.Context) error {
	id, err := pathID(c, "group_id")
	if err != nil {
		return err
	}
	g, err := s.Academy.Group(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	out, err := s.groupDetail(c, g)
	if err != nil {
		return err
	}
	return ok(c, g.Revision, out)
}

// updateGroup replaces a group.
//
//	@Summary		Replace a group
//	@Description	Students whom you may not see stay in the group.
//	@ID				updateGroup
//	@Tags			Groups
//	@Accept			json
//	@Produce		json
//	@Param			group_id	path		string			true	"The group"	format(uuid)
//	@Param			If-Match	header		string			false	"The ETag of the version you are changing"
//	@Param			group		body		GroupRequest	true	"The group"
//	@Success		200			{object}	GroupDetail
//	@Failure		400,401,403,404,412,413,415,422,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/groups/{group_id} [put]
func (s *Server) updateGroup(c echo.Context) error {
	id, err := pathID(c, "group_id")
	if err != nil {
		return err
	}
	revision, err := ifMatch(c)
	if err != nil {
		return err
	}
	r, err := readGroup(c, decodeReadBack[GroupDetail])
	if err != nil {
		return err
	}
	g, err := s.Academy.ChangeGroup(c.Request().Context(), actor(c), id, revision, r.Name, r.StudentIDs)
	if err != nil {
		return err
	}
	out, err := s.groupDetail(c, g)
	if err != nil {
		return err
	}
	return ok(c, g.Revision, out)
}

// deleteGroup forgets a group.
//
//	@Summary		Delete a group
//	@Description	The students and their assignments are kept.
//	@ID				deleteGroup
//	@Tags			Groups
//	@Produce		json
//	@Param			group_id	path	string	true	"The group"	format(uuid)
//	@Success		204			"Deleted"
//	@Failure		400,401,403,404,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/groups/{group_id} [delete]
func (s *Server) deleteGroup(c echo.Context) error {
	id, err := pathID(c, "group_id")
	if err != nil {
		return err
	}
	if err := s.Academy.DeleteGroup(c.Request().Context(), actor(c), id); err != nil {
		return err
	}
	return noContent(c)
}
