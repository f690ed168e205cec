package api

import (
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/practice"
)

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
	Text       string    `json:"text" binding:"required"`
	CreatedAt  time.Time `json:"created_at" binding:"required" format:"date-time"`
} // @name Comment

// CommentList is the comments on a session, oldest first.
type CommentList struct {
	Items []Comment `json:"items" binding:"required"`
} // @name CommentList

func encodeComment(m practice.Comment) Comment {
	return Comment{ID: m.ID, SessionID: m.Session, AuthorID: m.Author, AuthorName: m.AuthorName, Text: m.Text, CreatedAt: m.At.UTC()}
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
//	@Failure	400,401,403,404,409,413,415,422,429,500,503	{object}	Problem
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
//	@Failure	400,401,403,404,429,500,503	{object}	Problem
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
