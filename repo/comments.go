package repo

import (
	"context"

	"gorm.io/gorm"

	"fringework/domain"
	"fringework/domain/practice"
)

type commentRow struct {
	AcademyID domain.ID
	SessionID domain.ID
	ID        domain.ID
	AuthorID  *domain.ID
	ReplyTo   *domain.ID
	Text      string
	At        int64
	EditedAt  *int64
	DeletedAt *int64
}

// TableName names the table.
func (commentRow) TableName() string { return "comments" }

func (r commentRow) comment() practice.Comment {
	return practice.Comment{
		ID: r.ID, Session: r.SessionID, Author: orEmpty(r.AuthorID), ReplyTo: orEmpty(r.ReplyTo), Text: r.Text, At: instant(r.At),
		EditedAt: maybeInstant(r.EditedAt), DeletedAt: maybeInstant(r.DeletedAt),
	}
}

// comments reads those under sessions.
type comments struct{ *scope }

// Comments implements practice.ReadStore and practice.CommentStore.
func (s comments) Comments(ctx context.Context, session domain.ID) ([]practice.Comment, error) {
	var rows []commentRow
	if err := s.rows(ctx).Where("session_id = ?", session).Order("id").Find(&rows).Error; err != nil {
		return nil, fail(err, "session")
	}
	return each(rows, commentRow.comment), nil
}

// AddComment implements practice.CommentStore.
func (s commentStore) AddComment(ctx context.Context, c practice.Comment) error {
	return s.insert(ctx, &commentRow{
		AcademyID: s.id, SessionID: c.Session, ID: c.ID, AuthorID: maybeText(c.Author), ReplyTo: maybeText(c.ReplyTo), Text: c.Text, At: at(c.At),
		EditedAt: maybeAt(c.EditedAt), DeletedAt: maybeAt(c.DeletedAt),
	}, 1, "session")
}

// SaveComment implements practice.CommentStore.
func (s commentStore) SaveComment(ctx context.Context, c practice.Comment) error {
	r := s.one(ctx, c).Model(&commentRow{}).Updates(map[string]any{"text": c.Text, "edited_at": maybeAt(c.EditedAt), "deleted_at": maybeAt(c.DeletedAt)})
	return there(r, "comment")
}

// RemoveComment implements practice.CommentStore.
func (s commentStore) RemoveComment(ctx context.Context, c practice.Comment) error {
	return there(s.one(ctx, c).Delete(&commentRow{}), "comment")
}

func (s commentStore) one(ctx context.Context, c practice.Comment) *gorm.DB {
	return s.scope.rows(ctx).Where("session_id = ? AND id = ?", c.Session, c.ID)
}

// there wants a change to have changed something.
func there(r *gorm.DB, what string) error {
	changed, err := did(r, what)
	if err == nil && !changed {
		err = domain.ErrNotFound(what)
	}
	return err
}
