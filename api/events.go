package api

import (
	"math"
	"strconv"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
)

// Event is one line of the academy's ordered log.
type Event struct {
	// Number counts the academy's events: 1, 2, 3 … without gaps, in the order
	// in which the changes were committed.
	Number int64     `json:"number" binding:"required" minimum:"1" example:"42"`
	At     time.Time `json:"at" binding:"required" format:"date-time"`
	// Kind says what happened; see the description of the list. More kinds may
	// come.
	Kind string `json:"kind" binding:"required" example:"session.stored"`
	// ActorID is the member or the application key that did it; absent when
	// nobody's sign-in did.
	ActorID domain.ID `json:"actor_id,omitempty" format:"uuid"`
	// SubjectID is the thing changed, of the sort that the kind begins with.
	SubjectID domain.ID `json:"subject_id,omitempty" format:"uuid"`
	// StudentID is whose data it is, if anybody's.
	StudentID domain.ID `json:"student_id,omitempty" format:"uuid"`
	// Data depends on the kind; members may be added to it.
	Data map[string]any `json:"data,omitempty"`
} // @name Event

// EventPage is a stretch of the academy's log.
type EventPage struct {
	Items []Event `json:"items" binding:"required"`
	// Last is the number to ask after next: that of the last event here, or
	// the one asked after when there is none yet.
	Last  int64 `json:"last" binding:"required" minimum:"0" example:"42"`
	Links Links `json:"links" binding:"required"`
} // @name EventPage

func encodeEvent(e domain.Event) Event {
	return Event{
		Number: e.Seq, At: e.At.UTC(), Kind: e.Kind, ActorID: e.Actor,
		SubjectID: e.Subject, StudentID: e.Student, Data: e.Data,
	}
}

// listEvents reads the log.
//
//	@Summary		Read the academy's log
//	@Description	The audit trail and the change feed: every change, in order. Keep the number of the last event you have seen, and ask for what came after it; an event never changes or goes away, so nothing is missed or seen twice.
//	@Description
//	@Description	Kinds now: academy.created, academy.changed; member.joined, member.changed, member.removed; coach.linked, coach.unlinked; consent.given, consent.withdrawn; group.created, group.changed, group.deleted; invitation.made, invitation.accepted, invitation.revoked; key.created, key.revoked; password.changed; sign-in.replayed (a refresh token was used twice, so the sign-in was ended); skill.created, skill.changed, skill.archived, skill.restored; programme.created, programme.cloned, programme.imported, programme.drafted, programme.published, programme.archived, programme.restored; assignment.made, assignment.paused, assignment.resumed, assignment.moved, assignment.ended; session.stored, session.extended, session.edited, session.deleted, session.restored; comment.made; reason.acknowledged; progress.rebuilt. Clients must expect more.
//	@ID				listEvents
//	@Tags			Events
//	@Produce		json
//	@Param			after	query		int	false	"The number of the last event already seen"	minimum(0)	default(0)
//	@Param			limit	query		int	false	"How many at most"							minimum(1)	maximum(200)	default(50)
//	@Success		200		{object}	EventPage
//	@Success		304		"Not modified"
//	@Failure		400,401,403,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/events [get]
func (s *Server) listEvents(c echo.Context) error {
	q := newQuery(c)
	after := q.number("after", 0, math.MaxInt, 0)
	limit := q.number("limit", 1, maxLimit, defaultLimit)
	if err := q.done(); err != nil {
		return err
	}
	events, err := s.Events.Events(c.Request().Context(), actor(c), int64(after), limit+1)
	if err != nil {
		return err
	}
	page := EventPage{Last: int64(after)}
	more := len(events) > limit
	events = events[:min(len(events), limit)]
	if len(events) > 0 {
		page.Last = events[len(events)-1].Seq
	}
	if more {
		page.Links.Next = c.Request().URL.Path + "?after=" + strconv.FormatInt(page.Last, 10) + "&limit=" + strconv.Itoa(limit)
	}
	page.Items = each(events, encodeEvent)
	return ok(c, 0, page)
}
