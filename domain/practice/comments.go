package practice

import (
	"context"
	"slices"
	"strings"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
)

// Comment is what a coach or a student wrote under a session.
type Comment struct {
	ID      domain.ID
	Session domain.ID
	Author  domain.ID
	// AuthorName is filled in by the service; the store does not keep it.
	AuthorName string
	// ReplyTo is the comment that it answers; empty for none.
	ReplyTo domain.ID
	// Text is empty once the comment is deleted.
	Text string
	At   time.Time
	// EditedAt is when the author last changed the words, DeletedAt when they took
	// them back; zero otherwise.
	EditedAt  time.Time
	DeletedAt time.Time
}

// CommentStore is what commenting on a session needs kept.
type CommentStore interface {
	domain.EventLog
	academy.Viewing
	Session(ctx context.Context, id domain.ID) (Session, error)
	// Comments gives those under a session, oldest first.
	Comments(ctx context.Context, session domain.ID) ([]Comment, error)
	AddComment(ctx context.Context, c Comment) error
	// SaveComment keeps text, EditedAt and DeletedAt of a comment that is there.
	SaveComment(ctx context.Context, c Comment) error
	// RemoveComment forgets a comment that is there.
	RemoveComment(ctx context.Context, c Comment) error
}

func checkComment(text string) error {
	var p domain.Problems
	if strings.TrimSpace(text) == "" {
		p.Add("/text", "is empty; write what you want to say")
	}
	checkText(&p, "/text", text, maxNote)
	return p.Err("comment_invalid", "The comment was not saved.")
}

// Comment keeps a comment under a session.
func (s Service) Comment(ctx context.Context, a domain.Actor, session domain.ID, text string) (Comment, error) {
	return s.comment(ctx, a, session, "", text)
}

// Reply answers a comment. A reply to a reply answers what that answered, so that
// there are no replies of replies.
func (s Service) Reply(ctx context.Context, a domain.Actor, session, to domain.ID, text string) (Comment, error) {
	return s.comment(ctx, a, session, to, text)
}

func (s Service) comment(ctx context.Context, a domain.Actor, session, to domain.ID, text string) (c Comment, err error) {
	if err := checkComment(text); err != nil {
		return Comment{}, err
	}
	err = s.Talking.Write(ctx, a.Academy, func(tx CommentStore) error {
		on, err := visibleSession(ctx, tx, a, session)
		if err != nil {
			return err
		}
		c = Comment{ID: s.Env.NewID(), Session: session, Author: a.Member, Text: text, At: s.Env.Now()}
		data := map[string]any{"comment_id": c.ID}
		if to != "" {
			answered, err := findComment(ctx, tx, session, to)
			if err != nil {
				return err
			}
			if !answered.DeletedAt.IsZero() {
				return errDeleted()
			}
			c.ReplyTo = answered.ID
			if answered.ReplyTo != "" {
				c.ReplyTo = answered.ReplyTo
			}
			data["reply_to"] = c.ReplyTo
		}
		if err := tx.AddComment(ctx, c); err != nil {
			return err
		}
		if err := tx.Record(ctx, a.Event(c.At, "comment.made", session, on.Student, data)); err != nil {
			return err
		}
		named := []Comment{c}
		err = nameAuthors(ctx, tx, named)
		c = named[0]
		return err
	})
	return c, err
}

// EditComment changes the words of one's own comment; everybody sees that they were
// changed.
func (s Service) EditComment(ctx context.Context, a domain.Actor, session, id domain.ID, text string) (c Comment, err error) {
	if err := checkComment(text); err != nil {
		return Comment{}, err
	}
	err = s.Talking.Write(ctx, a.Academy, func(tx CommentStore) error {
		student, own, err := ownComment(ctx, tx, a, session, id)
		if err != nil {
			return err
		}
		c = own
		if !c.DeletedAt.IsZero() {
			return errDeleted()
		}
		if c.Text != text {
			c.Text, c.EditedAt = text, s.Env.Now()
			if err := tx.SaveComment(ctx, c); err != nil {
				return err
			}
			if err := tx.Record(ctx, a.Event(c.EditedAt, "comment.edited", session, student, map[string]any{"comment_id": c.ID})); err != nil {
				return err
			}
		}
		named := []Comment{c}
		err = nameAuthors(ctx, tx, named)
		c = named[0]
		return err
	})
	return c, err
}

// DeleteComment takes back one's own comment. One that was answered stays in its place
// without its words, so that the answers have something to stand under. Doing it again
// changes nothing.
func (s Service) DeleteComment(ctx context.Context, a domain.Actor, session, id domain.ID) error {
	return s.Talking.Write(ctx, a.Academy, func(tx CommentStore) error {
		student, c, err := ownComment(ctx, tx, a, session, id)
		if err != nil || !c.DeletedAt.IsZero() {
			return err
		}
		all, err := tx.Comments(ctx, session)
		if err != nil {
			return err
		}
		now := s.Env.Now()
		if slices.ContainsFunc(all, func(other Comment) bool { return other.ReplyTo == id }) {
			c.Text, c.EditedAt, c.DeletedAt = "", time.Time{}, now
			err = tx.SaveComment(ctx, c)
		} else {
			err = tx.RemoveComment(ctx, c)
		}
		if err != nil {
			return err
		}
		return tx.Record(ctx, a.Event(now, "comment.deleted", session, student, map[string]any{"comment_id": c.ID}))
	})
}

func errDeleted() error {
	return domain.Errorf(domain.Conflict, "comment_deleted", "This comment was deleted. Write a new one instead.")
}

func findComment(ctx context.Context, tx CommentStore, session, id domain.ID) (Comment, error) {
	all, err := tx.Comments(ctx, session)
	if err != nil {
		return Comment{}, err
	}
	i := slices.IndexFunc(all, func(c Comment) bool { return c.ID == id })
	if i < 0 {
		return Comment{}, domain.ErrNotFound("comment")
	}
	return all[i], nil
}

// ownComment finds a comment of the actor's, and whose session it is under.
func ownComment(ctx context.Context, tx CommentStore, a domain.Actor, session, id domain.ID) (student domain.ID, c Comment, err error) {
	on, err := visibleSession(ctx, tx, a, session)
	if err != nil {
		return "", c, err
	}
	if c, err = findComment(ctx, tx, session, id); err != nil {
		return "", c, err
	}
	if c.Author != a.Member {
		return "", c, domain.Errorf(domain.Forbidden, "not_yours", "Only who wrote a comment may change or delete it.")
	}
	return on.Student, c, nil
}

// Comments lists the comments under a session, oldest first.
func (s Service) Comments(ctx context.Context, a domain.Actor, session domain.ID) (cs []Comment, err error) {
	err = s.Reading.Read(ctx, a.Academy, func(tx ReadStore) error {
		if _, err := visibleSession(ctx, tx, a, session); err != nil {
			return err
		}
		if cs, err = tx.Comments(ctx, session); err != nil {
			return err
		}
		return nameAuthors(ctx, tx, cs)
	})
	return cs, err
}

// nameAuthors fills in who wrote the comments: one look for each author.
func nameAuthors(ctx context.Context, tx academy.Viewing, cs []Comment) error {
	names := map[domain.ID]string{"": ""} // software has no name here
	for i, c := range cs {
		if _, known := names[c.Author]; !known {
			author, err := tx.Member(ctx, c.Author)
			if err != nil {
				return err
			}
			names[c.Author] = author.Name
		}
		cs[i].AuthorName = names[c.Author]
	}
	return nil
}
