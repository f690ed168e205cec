package api

import (
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/academy"
)

// MessageRequest is words for a student's thread.
type MessageRequest struct {
	Text string `json:"text" validate:"required" minLength:"1" maxLength:"4000" example:"Bring the 56 on Tuesday."`
} // @name MessageRequest

// MessageManyRequest is words for many students: those named, those of a group,
// or both.
type MessageManyRequest struct {
	StudentIDs []domain.ID `json:"student_ids,omitempty" maxItems:"500" format:"uuid"`
	GroupID    domain.ID   `json:"group_id,omitempty" format:"uuid"`
	Text       string      `json:"text" validate:"required" minLength:"1" maxLength:"4000" example:"The practice green is closed on Sunday."`
} // @name MessageManyRequest

// Message is words between a student and the coaches that are about no session.
type Message struct {
	ID         domain.ID `json:"id" binding:"required" format:"uuid"`
	StudentID  domain.ID `json:"student_id" binding:"required" format:"uuid"`
	AuthorID   domain.ID `json:"author_id" binding:"required" format:"uuid"`
	AuthorName string    `json:"author_name" binding:"required" example:"Ruben Ashgrove"`
	Text       string    `json:"text" binding:"required"`
	CreatedAt  time.Time `json:"created_at" binding:"required" format:"date-time"`
	// Unread says that somebody else wrote it since you last marked the thread as
	// read.
	Unread bool `json:"unread" binding:"required"`
} // @name Message

// MessagePage is one page of a student's thread, the latest first.
type MessagePage struct {
	Items []Message `json:"items" binding:"required"`
	Links Links     `json:"links" binding:"required"`
} // @name MessagePage

// MessageResult is what became of a message to one of many: sent, or a problem.
type MessageResult struct {
	StudentID domain.ID `json:"student_id" binding:"required" format:"uuid"`
	// Name is absent for somebody you may not see.
	Name string `json:"name,omitempty" example:"Edda Falk"`
	// MessageID is the message; absent when it was not sent.
	MessageID domain.ID `json:"message_id,omitempty" format:"uuid"`
	Problem   *Problem  `json:"problem,omitempty"`
} // @name MessageResult

// MessageManyResults are in the order of the request, the group's students last.
type MessageManyResults struct {
	Results []MessageResult `json:"results" binding:"required"`
} // @name MessageManyResults

// MessagesRead says how far you have read.
type MessagesRead struct {
	// UpTo is the latest message that you have read.
	UpTo domain.ID `json:"up_to" validate:"required" format:"uuid"`
} // @name MessagesRead

// UnreadThread is a student whose messages you have not read.
type UnreadThread struct {
	StudentID domain.ID `json:"student_id" binding:"required" format:"uuid"`
	Name      string    `json:"name" binding:"required" example:"Edda Falk"`
	// Messages is how many the student wrote, LastAt when the last of them.
	Messages int       `json:"messages" binding:"required" example:"2"`
	LastAt   time.Time `json:"last_at" binding:"required" format:"date-time"`
} // @name UnreadThread

// UnreadThreads are the students whose messages you have not read, by name.
type UnreadThreads struct {
	Items []UnreadThread `json:"items" binding:"required"`
} // @name UnreadThreads

func encodeMessage(m academy.Message) Message {
	return Message{
		ID: m.ID, StudentID: m.Student, AuthorID: m.Author, AuthorName: m.AuthorName, Text: m.Text, CreatedAt: m.At.UTC(), Unread: m.Unread,
	}
}

// createMessage adds to a student's thread.
//
//	@Summary		Write to a student, or as a student to your coaches
//	@Description	Each student has one thread with the coaches. A junior's needs a guardian's consent, and the guardian reads it.
//	@ID				createMessage
//	@Tags			Messages
//	@Accept			json
//	@Produce		json
//	@Param			student_id	path		string			true	"The student"	format(uuid)
//	@Param			message		body		MessageRequest	true	"The words"
//	@Success		201			{object}	Message
//	@Failure		400,401,403,404,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/students/{student_id}/messages [post]
func (s *Server) createMessage(c echo.Context) error {
	id, err := pathID(c, "student_id")
	if err != nil {
		return err
	}
	var r MessageRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	m, err := s.Messages.Write(c.Request().Context(), actor(c), id, r.Text)
	if err != nil {
		return err
	}
	return created(c, "/v1/students/"+string(id)+"/messages", 0, encodeMessage(m))
}

// listMessages reads a student's thread.
//
//	@Summary	Read a student's messages, the latest first
//	@ID			listMessages
//	@Tags		Messages
//	@Produce	json
//	@Param		student_id	path		string	true	"The student"	format(uuid)
//	@Param		limit		query		int		false	"Page size"	minimum(1)	maximum(200)	default(50)
//	@Param		cursor		query		string	false	"Where to continue, from links.next"
//	@Success	200			{object}	MessagePage
//	@Success	304			"Not modified"
//	@Failure	400,401,403,404,429,500,503	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/students/{student_id}/messages [get]
func (s *Server) listMessages(c echo.Context) error {
	id, err := pathID(c, "student_id")
	if err != nil {
		return err
	}
	q := newQuery(c)
	page := q.page()
	if err := q.done(); err != nil {
		return err
	}
	all, err := s.Messages.Thread(c.Request().Context(), actor(c), id, page)
	if err != nil {
		return err
	}
	items, links := pageOf(c, page, all, func(m academy.Message) domain.ID { return m.ID }, encodeMessage)
	return ok(c, 0, MessagePage{Items: items, Links: links})
}

// markMessages marks a student's thread as read.
//
//	@Summary	Mark a student's messages as read by you
//	@ID			markMessages
//	@Tags		Messages
//	@Accept		json
//	@Produce	json
//	@Param		student_id	path	string			true	"The student"	format(uuid)
//	@Param		read		body	MessagesRead	true	"How far"
//	@Success	204			"Marked"
//	@Failure	400,401,403,404,409,413,415,422,429,500,503	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/students/{student_id}/messages/read [put]
func (s *Server) markMessages(c echo.Context) error {
	id, err := pathID(c, "student_id")
	if err != nil {
		return err
	}
	var r MessagesRead
	if err := decode(c, &r); err != nil {
		return err
	}
	var p domain.Problems
	upTo := bodyID(&p, "/up_to", r.UpTo)
	if r.UpTo == "" {
		p.Add("/up_to", "is missing; give the ID of the latest message that was read")
	}
	if err := p.Err("message_invalid", "The messages were not marked as read."); err != nil {
		return err
	}
	if err := s.Messages.MarkRead(c.Request().Context(), actor(c), id, upTo); err != nil {
		return err
	}
	return noContent(c)
}

// sendMessages writes to many students.
//
//	@Summary		Write the same to many students
//	@Description	Adds the message to the thread of each, with a result for each.
//	@ID				sendMessages
//	@Tags			Messages
//	@Accept			json
//	@Produce		json
//	@Param			message	body		MessageManyRequest	true	"The words, and who gets them"
//	@Success		200		{object}	MessageManyResults
//	@Failure		400,401,403,409,413,415,422,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/messages [post]
func (s *Server) sendMessages(c echo.Context) error {
	var r MessageManyRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	var p domain.Problems
	ids, group := bodyIDs(&p, r.StudentIDs), bodyID(&p, "/group_id", r.GroupID)
	academy.CheckMessage(&p, r.Text)
	if err := p.Err("message_invalid", "The message was not sent."); err != nil {
		return err
	}
	sent, err := s.Messages.Send(c.Request().Context(), actor(c), ids, group, r.Text)
	if err != nil {
		return err
	}
	out, err := results(c, sent, func(r academy.SendResult) error { return r.Err }, func(_ int, r academy.SendResult, p *Problem) MessageResult {
		return MessageResult{StudentID: r.Student, Name: r.Name, MessageID: r.Message.ID, Problem: p}
	})
	if err != nil {
		return err
	}
	return writeJSON(c, http.StatusOK, MessageManyResults{Results: out})
}

// listUnread tells whose messages are new.
//
//	@Summary		List the students whose messages you have not read
//	@Description	Those of students whom you coach or whose thread you have read before, and of students without a coach.
//	@ID				listUnread
//	@Tags			Messages
//	@Produce		json
//	@Success		200	{object}	UnreadThreads
//	@Success		304	"Not modified"
//	@Failure		400,401,403,429,500,503	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/messages/unread [get]
func (s *Server) listUnread(c echo.Context) error {
	threads, err := s.Messages.Unread(c.Request().Context(), actor(c))
	if err != nil {
		return err
	}
	return ok(c, 0, UnreadThreads{Items: each(threads, func(t academy.UnreadThread) UnreadThread {
		return UnreadThread{StudentID: t.Student, Name: t.Name, Messages: t.Messages, LastAt: t.LastAt.UTC()}
	})})
}
