package api

import (
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/curriculum"
)

// Programme is a programme with its draft and the number of its latest version.
type Programme struct {
	ID    domain.ID        `json:"id" binding:"required" format:"uuid"`
	Draft ProgrammeContent `json:"draft" binding:"required"`
	// Problems is what to correct before publishing, with pointers into the draft.
	// If it is empty, the draft can be published.
	Problems []ProblemField `json:"problems" binding:"required"`
	// Warnings is what is worth changing before publishing, with pointers into the
	// draft: blocks that count for less than they seem, steps that no block can pass
	// or hardly a student will, drills that do not suit the shot.
	Warnings []ProblemField `json:"warnings" binding:"required"`
	// Published is the number of the latest version; 0 before the first.
	Published  int        `json:"published" binding:"required"`
	ArchivedAt *time.Time `json:"archived_at,omitempty" format:"date-time"`
	Revision   int        `json:"revision" binding:"required"`
	CreatedBy  domain.ID  `json:"created_by" binding:"required" format:"uuid"`
	CreatedAt  time.Time  `json:"created_at" binding:"required" format:"date-time"`
	UpdatedAt  time.Time  `json:"updated_at" binding:"required" format:"date-time"`
} // @name Programme

// ProgrammeSummary is a programme without its weeks.
type ProgrammeSummary struct {
	ID   domain.ID `json:"id" binding:"required" format:"uuid"`
	Name string    `json:"name" binding:"required"`
	Text string    `json:"text,omitempty"`
	// Published is the number of the latest version; 0 before the first.
	Published  int        `json:"published" binding:"required"`
	ArchivedAt *time.Time `json:"archived_at,omitempty" format:"date-time"`
	Revision   int        `json:"revision" binding:"required"`
	CreatedBy  domain.ID  `json:"created_by" binding:"required" format:"uuid"`
	CreatedAt  time.Time  `json:"created_at" binding:"required" format:"date-time"`
	UpdatedAt  time.Time  `json:"updated_at" binding:"required" format:"date-time"`
} // @name ProgrammeSummary

// ProgrammePage is one page of the academy's programmes.
type ProgrammePage struct {
	Items []ProgrammeSummary `json:"items" binding:"required"`
	Links Links              `json:"links" binding:"required"`
} // @name ProgrammePage

// CloneRequest names a copy.
type CloneRequest struct {
	// Name of the copy; by default the original's followed by "(copy)".
	Name string `json:"name,omitempty" maxLength:"120"`
} // @name CloneRequest

func encodeProgramme(p curriculum.Programme, found curriculum.Findings) Programme {
	return Programme{
		ID: p.ID, Draft: encodeContent(p.Draft), Problems: each(found.Problems, problemField), Warnings: each(found.Warnings, problemField), Published: p.Published,
		ArchivedAt: instant(p.ArchivedAt), Revision: p.Revision, CreatedBy: p.CreatedBy,
		CreatedAt: p.CreatedAt.UTC(), UpdatedAt: p.UpdatedAt.UTC(),
	}
}

func encodeProgrammeSummary(p curriculum.Programme) ProgrammeSummary {
	return ProgrammeSummary{
		ID: p.ID, Name: p.Draft.Name, Text: p.Draft.Text, Published: p.Published,
		ArchivedAt: instant(p.ArchivedAt), Revision: p.Revision, CreatedBy: p.CreatedBy,
		CreatedAt: p.CreatedAt.UTC(), UpdatedAt: p.UpdatedAt.UTC(),
	}
}

func readContent(c echo.Context, decode decoder) (curriculum.Content, error) {
	var r ProgrammeContent
	if err := decode(c, &r); err != nil {
		return curriculum.Content{}, err
	}
	return r.read()
}

// answerProgramme answers with a programme as it stands after a change, and
// with what keeps it from publication.
func (s *Server) answerProgramme(c echo.Context, status int, id domain.ID) error {
	write, err := s.lengthWriter(c)
	if err != nil {
		return err
	}
	p, found, err := s.Curriculum.Programme(c.Request().Context(), actor(c), id, write)
	if err != nil {
		return err
	}
	outOfReach, err := s.Read.OutOfReach(c.Request().Context(), actor(c), p, write)
	if err != nil {
		return err
	}
	found.Warnings = append(found.Warnings, outOfReach...)
	if status == http.StatusCreated {
		return created(c, "/v1/programmes/"+string(p.ID), p.Revision, encodeProgramme(p, found))
	}
	return ok(c, p.Revision, encodeProgramme(p, found))
}

// createProgramme keeps a new draft.
//
//	@Summary		Create a programme
//	@Description	Saves a draft, finished or not; problems lists what to correct before publishing.
//	@ID				createProgramme
//	@Tags			Programmes
//	@Accept			json
//	@Produce		json
//	@Param			programme	body		ProgrammeContent	true	"The draft"
//	@Success		201			{object}	Programme
//	@Failure		400,401,403,413,415,422,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/programmes [post]
func (s *Server) createProgramme(c echo.Context) error {
	content, err := readContent(c, decode)
	if err != nil {
		return err
	}
	p, err := s.Curriculum.CreateProgramme(c.Request().Context(), actor(c), content)
	if err != nil {
		return err
	}
	return s.answerProgramme(c, http.StatusCreated, p.ID)
}

// listProgrammes lists the academy's programmes.
//
//	@Summary	List programmes
//	@ID			listProgrammes
//	@Tags		Programmes
//	@Produce	json
//	@Param		archived	query		bool	false	"Include archived programmes"
//	@Param		limit		query		int		false	"Page size"	minimum(1)	maximum(200)	default(50)
//	@Param		cursor		query		string	false	"Where to continue, from links.next"
//	@Success	200			{object}	ProgrammePage
//	@Success	304			"Not modified"
//	@Failure	400,401,403,429,500	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/programmes [get]
func (s *Server) listProgrammes(c echo.Context) error {
	q := newQuery(c)
	page, archived := q.page(), q.flag("archived")
	if err := q.done(); err != nil {
		return err
	}
	programmes, err := s.Curriculum.Programmes(c.Request().Context(), actor(c), page, archived)
	if err != nil {
		return err
	}
	items, links := pageOf(c, page, programmes, func(p curriculum.Programme) domain.ID { return p.ID }, encodeProgrammeSummary)
	return ok(c, 0, ProgrammePage{Items: items, Links: links})
}

// getProgramme reads a programme with its draft.
//
//	@Summary		Read a programme with its draft
//	@Description	Each block has the minutes that its share comes to; problems lists what to correct before publishing.
//	@ID				getProgramme
//	@Tags			Programmes
//	@Produce		json
//	@Param			programme_id	path		string	true	"The programme"	format(uuid)
//	@Param			If-None-Match	header		string	false	"The ETag you already have"
//	@Success		200				{object}	Programme
//	@Success		304				"Not modified"
//	@Failure		400,401,403,404,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/programmes/{programme_id} [get]
func (s *Server) getProgramme(c echo.Context) error {
	id, err := pathID(c, "programme_id")
	if err != nil {
		return err
	}
	return s.answerProgramme(c, http.StatusOK, id)
}

// saveDraft replaces a programme's draft.
//
//	@Summary		Replace a programme's draft
//	@Description	Published versions do not change.
//	@ID				saveDraft
//	@Tags			Programmes
//	@Accept			json
//	@Produce		json
//	@Param			programme_id	path		string				true	"The programme"	format(uuid)
//	@Param			If-Match		header		string				false	"The ETag of the version you are changing"
//	@Param			programme		body		ProgrammeContent	true	"The draft"
//	@Success		200				{object}	Programme
//	@Failure		400,401,403,404,412,413,415,422,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/programmes/{programme_id} [put]
func (s *Server) saveDraft(c echo.Context) error {
	id, err := pathID(c, "programme_id")
	if err != nil {
		return err
	}
	revision, err := ifMatch(c)
	if err != nil {
		return err
	}
	content, err := readContent(c, decodeReadBack[Programme])
	if err != nil {
		return err
	}
	if _, err := s.Curriculum.SaveDraft(c.Request().Context(), actor(c), id, revision, content); err != nil {
		return err
	}
	return s.answerProgramme(c, http.StatusOK, id)
}

// cloneProgramme starts a new programme from another's draft.
//
//	@Summary	Copy a programme
//	@ID			cloneProgramme
//	@Tags		Programmes
//	@Accept		json
//	@Produce	json
//	@Param		programme_id	path		string			true	"The programme"	format(uuid)
//	@Param		copy			body		CloneRequest	false	"The name of the copy"
//	@Success	201				{object}	Programme
//	@Failure	400,401,403,404,413,415,422,429,500	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/programmes/{programme_id}/clone [post]
func (s *Server) cloneProgramme(c echo.Context) error {
	id, err := pathID(c, "programme_id")
	if err != nil {
		return err
	}
	var r CloneRequest
	if err := decodeOptional(c, &r); err != nil {
		return err
	}
	p, err := s.Curriculum.Clone(c.Request().Context(), actor(c), id, r.Name)
	if err != nil {
		return err
	}
	return s.answerProgramme(c, http.StatusCreated, p.ID)
}

// decodeOptional is decode for an address that takes no body as well.
func decodeOptional(c echo.Context, v any) error {
	if c.Request().ContentLength == 0 {
		return nil
	}
	return decode(c, v)
}

// archiveProgramme puts a programme away.
//
//	@Summary		Archive a programme
//	@Description	Assignments of its versions continue.
//	@ID				archiveProgramme
//	@Tags			Programmes
//	@Produce		json
//	@Param			programme_id	path		string	true	"The programme"	format(uuid)
//	@Success		200				{object}	Programme
//	@Failure		400,401,403,404,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/programmes/{programme_id}/archive [post]
func (s *Server) archiveProgramme(c echo.Context) error { return s.setProgrammeArchived(c, true) }

// restoreProgramme brings an archived programme back.
//
//	@Summary	Restore an archived programme
//	@ID			restoreProgramme
//	@Tags		Programmes
//	@Produce	json
//	@Param		programme_id	path		string	true	"The programme"	format(uuid)
//	@Success	200				{object}	Programme
//	@Failure	400,401,403,404,429,500	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/programmes/{programme_id}/restore [post]
func (s *Server) restoreProgramme(c echo.Context) error { return s.setProgrammeArchived(c, false) }

func (s *Server) setProgrammeArchived(c echo.Context, archived bool) error {
	id, err := pathID(c, "programme_id")
	if err != nil {
		return err
	}
	if _, err := s.Curriculum.ArchiveProgramme(c.Request().Context(), actor(c), id, archived); err != nil {
		return err
	}
	return s.answerProgramme(c, http.StatusOK, id)
}
