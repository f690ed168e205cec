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
	// Last is the number to send as after next time (as before, with order=latest):
	// that of the last event here, or the one you sent if there was none.
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
//	@Description	The audit trail: every change, in order. Remember the number of the last event you have seen and ask for what came after it. Events never change, so you miss nothing and see nothing twice; but of people who were erased, and after as long as the academy says, only number, time and kind are left. To keys, the same is left of juniors while no guardian agrees that software may read their data. They are kept for ever unless the operator has set for how long; a number before what is kept answers 410.
//	@Description	With order=latest the log is read from its end: the latest event first, and before instead of after.
//	@Description
//	@Description	The schema lists the kinds so far. A sign-in is replayed when a refresh token was used twice, which ends it, and an app when its code or refresh token was, which disconnects it; message.sent is without the words, and member.erased without the member: it has the SHA-256 of their ID, for whoever keeps copies. A milestone is made again when it moves to another ball; of milestones the subject is the skill, of reasons the student, and of exports and imports the academy. More kinds may follow, so ignore those that you do not know.
//	@ID				listEvents
//	@Tags			Events
//	@Produce		json
//	@Param			after	query		int		false	"The number of the last event you have seen"	minimum(0)	default(0)
//	@Param			order	query		string	false	"oldest (the default) or latest first"			Enums(oldest, latest)
//	@Param			before	query		int		false	"With order=latest: only events before this number"	minimum(1)
//	@Param			limit	query		int		false	"Page size"							minimum(1)	maximum(200)	default(50)
//	@Success		200		{object}	EventPage
//	@Success		304		"Not modified"
//	@Failure		400,401,403,410,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/events [get]
func (s *Server) listEvents(c echo.Context) error {
	q := newQuery(c)
	after := q.number("after", 0, math.MaxInt, 0)
	before := q.number("before", 1, math.MaxInt, 0)
	limit := q.number("limit", 1, maxLimit, defaultLimit)
	latest := q.word("order", "oldest", "latest") == "latest"
	if latest && after > 0 {
		q.fail("after", "is for order=oldest; use before, or leave out order")
	}
	if !latest && before > 0 {
		q.fail("before", "is for order=latest; use after, or add order=latest")
	}
	if err := q.done(); err != nil {
		return err
	}
	read, from := s.Events.Events, after
	if latest {
		read, from = s.Events.Latest, before
	}
	events, err := read(c.Request().Context(), actor(c), int64(from), limit+1)
	if err != nil {
		return err
	}
	page := EventPage{Last: int64(from)}
	more := len(events) > limit
	events = events[:min(len(events), limit)]
	if len(events) > 0 {
		page.Last = events[len(events)-1].Seq
	}
	if more {
		position := "?after="
		if latest {
			position = "?order=latest&before="
		}
		page.Links.Next = c.Request().URL.Path + position + strconv.FormatInt(page.Last, 10) + "&limit=" + strconv.Itoa(limit)
	}
	page.Items = each(events, encodeEvent)
	return ok(c, 0, page)
}

// Change says that something changed. Read what it is now with its own request.
type Change struct {
	// Number is the event's number in the log: rising, but with gaps.
	Number int64     `json:"number" binding:"required" minimum:"1" example:"42"`
	At     time.Time `json:"at" binding:"required" format:"date-time"`
	// Kind says what happened last; listEvents lists the kinds. There may be more in
	// future.
	Kind string `json:"kind" binding:"required" example:"session.stored"`
	// SubjectID is what changed: the first word of the kind says what it is.
	SubjectID domain.ID `json:"subject_id,omitempty" format:"uuid"`
	// StudentID is the student whose data it is, if any.
	StudentID domain.ID `json:"student_id,omitempty" format:"uuid"`
} // @name Change

// ChangePage is one page of what changed.
type ChangePage struct {
	Items []Change `json:"items" binding:"required"`
	// Last is the number to send as after next time. Keep it once you have read what
	// the items name.
	Last int64 `json:"last" binding:"required" minimum:"0" example:"42"`
	// Newest is the number of the latest event in the log: you have seen all once
	// last is as high.
	Newest int64 `json:"newest" binding:"required" minimum:"0" example:"42"`
	Links  Links `json:"links" binding:"required"`
} // @name ChangePage

// listChanges tells what changed.
//
//	@Summary		Follow what changed
//	@Description	The academy's change feed, on the log: what changed of what you may read, deletions included, in order. Of several events about one thing on a page only the latest is given, and a session in progress is told of when it starts, pauses for five minutes and ends, not at each upload.
//	@Description
//	@Description	To keep a copy: ask with limit=1 and without after for newest, read the lists, then ask for what came after that number, read each thing named (404 means that it was deleted, or is none of yours any more), keep last, and go on after it. Stop at any point and go on from the last number you kept: nothing is missed, whatever is written meanwhile, and reading a thing twice does no harm. When you may see a student who is new to you (coach.linked, member.joined, consent.given), read the student's lists.
//	@Description	Keys and apps are not told of juniors while no guardian agrees that software may read their data; at consent.given, read the student anew.
//	@Description	Events are kept for ever unless the operator has set for how long. A number before what is kept, or after the latest event (as after a return to a backup), answers 410: begin anew as above.
//	@ID				listChanges
//	@Tags			Events
//	@Produce		json
//	@Param			after	query		int	false	"The number up to which you know all; without it, from the oldest event kept"	minimum(0)	default(0)
//	@Param			limit	query		int	false	"How many events of the log to look at"	minimum(1)	maximum(200)	default(50)
//	@Success		200		{object}	ChangePage
//	@Success		304		"Not modified"
//	@Failure		400,401,403,410,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/changes [get]
func (s *Server) listChanges(c echo.Context) error {
	q := newQuery(c)
	after := q.number("after", 0, math.MaxInt, 0)
	limit := q.number("limit", 1, maxLimit, defaultLimit)
	if err := q.done(); err != nil {
		return err
	}
	changes, err := s.Events.Changes(c.Request().Context(), actor(c), int64(after), limit, identity(c).MayHear)
	if err != nil {
		return err
	}
	page := ChangePage{Last: changes.Last, Newest: changes.Newest, Items: each(changes.Events, func(e domain.Event) Change {
		return Change{Number: e.Seq, At: e.At.UTC(), Kind: e.Kind, SubjectID: e.Subject, StudentID: e.Student}
	})}
	if page.Last < page.Newest {
		page.Links.Next = c.Request().URL.Path + "?after=" + strconv.FormatInt(page.Last, 10) + "&limit=" + strconv.Itoa(limit)
	}
	return ok(c, 0, page)
}
