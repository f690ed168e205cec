package api

import (
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/practice"
)

const commentPath = sessionPath + "/comments/:comment_id"

// CommentRequest is a coach's comment on a session.
type CommentRequest struct {
	Text string `json:"text" validate:"required" minLength:"1" maxLength:"4000" example:"Nicely on plan. Next time, start with the test."`
} // @name CommentRequest

// Comment is a comment on a session.
type Comment struct {
	ID         domain.ID `json:"id" binding:"required" format:"uuid"`
	SessionID  domain.ID `json:"session_id" binding:"required" format:"uuid"`
	AuthorID   domain.ID `json:"author_id" binding:"required" format:"uuid"`
	AuthorName string    `json:"author_name" binding:"required" example:"Ruben Ashgrove"`
	// ReplyTo is the comment that it answers; absent for none.
	ReplyTo domain.ID `json:"reply_to,omitempty" format:"uuid"`
	// Text is empty once the comment was deleted.
	Text      string    `json:"text" binding:"required"`
	CreatedAt time.Time `json:"created_at" binding:"required" format:"date-time"`
	// EditedAt is when its author last changed it.
	EditedAt *time.Time `json:"edited_at,omitempty" format:"date-time"`
	// DeletedAt is when its author deleted it: one that was answered stays in its
	// place, others go.
	DeletedAt *time.Time `json:"deleted_at,omitempty" format:"date-time"`
} // @name Comment

// CommentList is the comments on a session, oldest first.
type CommentList struct {
	Items []Comment `json:"items" binding:"required"`
} // @name CommentList

func encodeComment(m practice.Comment) Comment {
	return Comment{
		ID: m.ID, SessionID: m.Session, AuthorID: m.Author, AuthorName: m.AuthorName, ReplyTo: m.ReplyTo, Text: m.Text,
		CreatedAt: m.At.UTC(), EditedAt: instant(m.EditedAt), DeletedAt: instant(m.DeletedAt),
	}
}

// createComment keeps a comment under a session.
//
//	@Summary	Comment on a session
//	@ID			createComment
//	@Tags		Sessions
//	@Accept		json
//	@Produce	json
//	@Param		session_id	path		string			true	"The session"	format(uuid)
//	@Param		comment		body		CommentRequest	true	"The comment"
//	@Success	201			{object}	Comment
//	@Failure	400,401,403,404,413,415,422,429,500	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/sessions/{session_id}/comments [post]
func (s *Server) createComment(c echo.Context) error {
	id, err := pathID(c, "session_id")
	if err != nil {
		return err
	}
	var r CommentRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	comment, err := s.Practice.Comment(c.Request().Context(), actor(c), id, r.Text)
	if err != nil {
		return err
	}
	return created(c, "/v1/sessions/"+string(id)+"/comments", 0, encodeComment(comment))
}

// listComments lists the comments under a session.
//
//	@Summary	List the comments on a session
//	@ID			listComments
//	@Tags		Sessions
//	@Produce	json
//	@Param		session_id	path		string	true	"The session"	format(uuid)
//	@Success	200			{object}	CommentList
//	@Success	304			"Not modified"
//	@Failure	400,401,403,404,429,500	{object}	Problem
//	@Security	Bearer
//	@Router		/v1/sessions/{session_id}/comments [get]
func (s *Server) listComments(c echo.Context) error {
	id, err := pathID(c, "session_id")
	if err != nil {
		return err
	}
	comments, err := s.Practice.Comments(c.Request().Context(), actor(c), id)
	if err != nil {
		return err
	}
	return ok(c, 0, CommentList{Items: each(comments, encodeComment)})
}

// replyToComment answers a comment.
//
//	@Summary		Reply to a comment
//	@Description	For the student whose session it is, their coaches and owners. A reply to a reply answers the comment above both.
//	@ID				replyToComment
//	@Tags			Sessions
//	@Accept			json
//	@Produce		json
//	@Param			session_id	path		string			true	"The session"	format(uuid)
//	@Param			comment_id	path		string			true	"The comment"	format(uuid)
//	@Param			comment		body		CommentRequest	true	"The reply"
//	@Success		201			{object}	Comment
//	@Failure		400,401,403,404,409,413,415,422,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/sessions/{session_id}/comments/{comment_id}/replies [post]
func (s *Server) replyToComment(c echo.Context) error {
	session, id, err := commentID(c)
	if err != nil {
		return err
	}
	var r CommentRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	reply, err := s.Practice.Reply(c.Request().Context(), actor(c), session, id, r.Text)
	if err != nil {
		return err
	}
	return created(c, "/v1/sessions/"+string(session)+"/comments", 0, encodeComment(reply))
}

// editComment changes the words of one's own comment.
//
//	@Summary		Edit your comment
//	@Description	Only who wrote it may. Everybody sees that it was edited, and when.
//	@ID				editComment
//	@Tags			Sessions
//	@Accept			json
//	@Produce		json
//	@Param			session_id	path		string			true	"The session"	format(uuid)
//	@Param			comment_id	path		string			true	"The comment"	format(uuid)
//	@Param			comment		body		CommentRequest	true	"The new words"
//	@Success		200			{object}	Comment
//	@Failure		400,401,403,404,409,413,415,422,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/sessions/{session_id}/comments/{comment_id} [put]
func (s *Server) editComment(c echo.Context) error {
	session, id, err := commentID(c)
	if err != nil {
		return err
	}
	var r CommentRequest
	if err := decode(c, &r); err != nil {
		return err
	}
	comment, err := s.Practice.EditComment(c.Request().Context(), actor(c), session, id, r.Text)
	if err != nil {
		return err
	}
	return ok(c, 0, encodeComment(comment))
}

// deleteComment takes back one's own comment.
//
//	@Summary		Delete your comment
//	@Description	Only who wrote it may. One that was answered stays in its place without its words, so that the answers make sense; it says that it was deleted.
//	@ID				deleteComment
//	@Tags			Sessions
//	@Produce		json
//	@Param			session_id	path	string	true	"The session"	format(uuid)
//	@Param			comment_id	path	string	true	"The comment"	format(uuid)
//	@Success		204			"Deleted"
//	@Failure		400,401,403,404,429,500	{object}	Problem
//	@Security		Bearer
//	@Router			/v1/sessions/{session_id}/comments/{comment_id} [delete]
func (s *Server) deleteComment(c echo.Context) error {
	session, id, err := commentID(c)
	if err != nil {
		return err
	}
	if err := s.Practice.DeleteComment(c.Request().Context(), actor(c), session, id); err != nil {
		return err
	}
	return noContent(c)
}

// commentID reads a session and a comment from the path.
func commentID(c echo.Context) (session, comment domain.ID, err error) {
	if session, err = pathID(c, "session_id"); err != nil {
		return "", "", err
	}
	comment, err = pathID(c, "comment_id")
	return session, comment, err
}
