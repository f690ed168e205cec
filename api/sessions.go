package api

import (
	"context"
	"fmt"
	"net/http"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/practice"
)

// sessionPath is where a session is, as the router sees it.
const sessionPath = "/v1/sessions/:session_id"

// SessionPage is one page of a student's sessions, latest first.
type SessionPage struct {
	Items []Session `json:"items" binding:"required"`
	Links Links     `json:"links" binding:"required"`
} // @name SessionPage

// clientID reads the ID of a session or a round from the path; the client made it,
// so what is wrong with it is told.
func clientID(c echo.Context, what string) (domain.ID, error) {
	remedy := "; make one UUID of version 7 (RFC 9562) for each " + what + " and use it for every upload"
	name := what + "_id"
	text := c.Param(name)
	id, err := uuid.Parse(text)
	switch {
	case err != nil || len(text) != 36:
		return "", badParameter(name, "is not a UUID"+remedy)
	case id.Version() != 7 || id.Variant() != uuid.RFC4122:
		return "", badParameter(name, fmt.Sprintf("is a UUID of version %d", id.Version())+remedy)
	}
	return domain.ID(id.String()), nil
}

// putSession stores a revision of a session.
//
//	@Summary		Store a revision of a session
//	@Description	Send the whole session so far, each time with a higher revision. Uploads may be late and out of order: the highest revision is kept. The same revision with the same content gets the same answer again. The same revision with other content is refused (revision_conflict), and so is a lower one (revision_superseded); stored says which revision is kept. 201 the first time, 200 afterwards.
//	@ID				putSession
//	@Tags			Sessions
//	@Accept			json
//	@Produce		json
//	@Param			session_id	path		string			true	"The ID of the session, a UUIDv7 that the client makes"	format(uuid)
//	@Param			session		body		SessionRequest	true	"The session so far"
//	@Success		200			{object}	SessionResult
//	@Success		201			{object}	SessionResult
//	@Failure		400,401,403,404,409,413,415,422,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/sessions/{session_id} [put]
func (s *Server) putSession(c echo.Context) error {
	id, err := clientID(c, "session")
	if err != nil {
		return err
	}
	var r SessionRequest
	if err := decodeReadBack[SessionResult](c, &r); err != nil {
		return err
	}
	session, err := r.read(id)
	if err != nil {
		return err
	}
	outcome, err := s.Practice.Put(c.Request().Context(), actor(c), session)
	if err != nil {
		return err
	}
	if outcome.Created {
		return created(c, "/v1/sessions/"+string(id), outcome.Session.Revision, encodeOutcome(outcome))
	}
	return ok(c, outcome.Session.Revision, encodeOutcome(outcome))
}

// getSession reads a session with what it did.
//
//	@Summary	Read a session
//	@ID			getSession
//	@Tags		Sessions
//	@Produce	json
//	@Param		session_id		path		string	true	"The session"	format(uuid)
//	@Param		If-None-Match	header		string	false	"The ETag you already have"
//	@Success	200				{object}	SessionResult
//	@Success	304				"Not modified"
//	@Failure	400,401,403,404,429,500	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/sessions/{session_id} [get]
func (s *Server) getSession(c echo.Context) error {
	id, err := pathID(c, "session_id")
	if err != nil {
		return err
	}
	outcome, err := s.Practice.Get(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	return ok(c, outcome.Session.Revision, encodeOutcome(outcome))
}

// deleteSession stores a deletion.
//
//	@Summary		Delete a session
//	@Description	A deletion is a revision like any other: the highest is kept, and a deletion may arrive before the session itself. A higher revision restores the session.
//	@ID				deleteSession
//	@Tags			Sessions
//	@Produce		json
//	@Param			session_id	path	string	true	"The session"	format(uuid)
//	@Param			revision	query	int		true	"The revision of the deletion"	minimum(1)	maximum(1073741824)
//	@Param			student_id	query	string	false	"Whose session it is; only needed from staff, if the session has not arrived yet"	format(uuid)
//	@Success		204			"Deleted"
//	@Failure		400,401,403,404,409,422,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/sessions/{session_id} [delete]
func (s *Server) deleteSession(c echo.Context) error {
	return storeDeletion(c, "session", s.Practice.Delete)
}

// storeDeletion stores the deletion of what a phone makes the identity of.
func storeDeletion(c echo.Context, what string, store func(ctx context.Context, by domain.Actor, id, student domain.ID, revision int) error) error {
	id, err := clientID(c, what)
	if err != nil {
		return err
	}
	q := newQuery(c)
	revision, student := q.needRevision("revision"), q.id("student_id")
	if err := q.done(); err != nil {
		return err
	}
	if err := store(c.Request().Context(), actor(c), id, student, revision); err != nil {
		return renamed(err, map[string]string{"/student_id": "student_id", "/revision": "revision"})
	}
	return c.NoContent(http.StatusNoContent)
}

// listSessions lists a student's sessions.
//
//	@Summary		List a student's sessions, latest first
//	@Description	Blocks have no balls here; read a single session to get them.
//	@ID				listSessions
//	@Tags			Sessions
//	@Produce		json
//	@Param			student_id	query		string	false	"The student; optional for a student's own sessions"	format(uuid)
//	@Param			from		query		string	false	"Only sessions that started at this time or later, RFC 3339"	format(date-time)
//	@Param			until		query		string	false	"Only sessions that started before this time, RFC 3339"	format(date-time)
//	@Param			limit		query		int		false	"Page size"	minimum(1)	maximum(200)	default(50)
//	@Param			cursor		query		string	false	"Where to continue, from links.next"
//	@Success		200			{object}	SessionPage
//	@Success		304			"Not modified"
//	@Failure		400,401,403,404,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/sessions [get]
func (s *Server) listSessions(c echo.Context) error {
	q := newQuery(c)
	f := practice.SessionFilter{Student: q.studentOr(actor(c)), From: q.instant("from"), Until: q.instant("until")}
	limit := q.number("limit", 1, maxLimit, defaultLimit)
	f.Limit = limit + 1 // one more, to tell whether there is a next page
	f.Before, f.BeforeID = q.timeCursor()
	if err := q.done(); err != nil {
		return err
	}
	sessions, err := s.Practice.List(c.Request().Context(), actor(c), f)
	if err != nil {
		return err
	}
	var links Links
	if len(sessions) > limit {
		sessions = sessions[:limit]
		last := sessions[limit-1]
		links = next(c, last.StartedAt.UTC().Format(time.RFC3339Nano), string(last.ID))
	}
	return ok(c, 0, SessionPage{Items: each(sessions, encodeSession), Links: links})
}

// studentOr reads student_id, which a student may leave out for their own.
func (q *query) studentOr(a domain.Actor) domain.ID {
	id := q.id("student_id")
	switch {
	case id != "":
		return id
	case a.Role == domain.Student:
		return a.Member
	}
	q.fail("student_id", "is missing; say whose")
	return ""
}

// instant reads an RFC 3339 time; the zero time when absent.
func (q *query) instant(name string) time.Time {
	text := q.text(name)
	if text == "" {
		return time.Time{}
	}
	t, err := time.Parse(time.RFC3339Nano, text)
	if err != nil || t.Year() < 1 || t.Year() > 9999 {
		q.fail(name, fmt.Sprintf("is %q; give %s, with + written as %%2B", text, wanted("time.Time")))
	}
	return t.UTC()
}

// timeCursor reads the position in a list in order of time.
func (q *query) timeCursor() (before time.Time, id domain.ID) {
	parts := q.cursor(2)
	if parts[0] == "" {
		return time.Time{}, ""
	}
	before, err := time.Parse(time.RFC3339Nano, parts[0])
	if _, idErr := uuid.Parse(parts[1]); err != nil || idErr != nil {
		q.fail("cursor", notACursor)
	}
	return before, domain.ID(parts[1])
}
