package api

import (
	"math"
	"strconv"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
)

// Event is one entry of the academy's log.
type Event struct {
	// Number counts the academy's events from 1, without gaps, in the order in
	// which the changes were committed.
	Number int64 `json:"number" binding:"required" minimum:"1" example:"42"`
	// At is when the change was made.
	At time.Time `json:"at" binding:"required" format:"date-time"`
	// Kind says what happened: what changed, and how. There may be more in future.
	Kind string `json:"kind" binding:"required" example:"session.stored"`
	// ActorID is the member or application key that did it; absent if nobody was
	// signed in.
	ActorID domain.ID `json:"actor_id,omitempty" format:"uuid"`
	// SubjectID is what changed: the first word of the kind says what it is.
	SubjectID domain.ID `json:"subject_id,omitempty" format:"uuid"`
	// StudentID is the student whose data it is, if any.
	StudentID domain.ID `json:"student_id,omitempty" format:"uuid"`
	// Data depends on the kind. It may gain members.
	Data map[string]any `json:"data,omitempty"`
} // @name Event

// EventPage is one page of the academy's log.
type EventPage struct {
	Items []Event `json:"items" binding:"required"`
	// Last is the number to send as after next time: that of the last event here,
	// or the one you sent if there was none.
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
//	@Description	The audit trail and change feed: every change, in order. Remember the number of the last event you have seen and ask for what came after it. Events never change or disappear, so you miss nothing and see nothing twice; but of people who were erased, and after as long as the academy says, only number, time and kind are left.
//	@Description
//	@Description	The schema lists the kinds so far. A sign-in is replayed when a refresh token was used twice, which ends it, and an app when its code or refresh token was, which disconnects it; message.sent is without the words, and member.erased without the member: it has the SHA-256 of their ID, for whoever keeps copies. More kinds may follow, so ignore those that you do not know.
//	@ID				listEvents
//	@Tags			Events
//	@Produce		json
//	@Param			after	query		int	false	"The number of the last event you have seen"	minimum(0)	default(0)
//	@Param			limit	query		int	false	"Page size"							minimum(1)	maximum(200)	default(50)
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
