package academy

import (
	"context"
	"slices"
	"strings"
	"time"

	"fringework/domain"
)

// Message is words between a student and the coaches that are about no session.
// Each student has one thread, which all coaches of theirs share.
type Message struct {
	ID      domain.ID
	Student domain.ID
	// Author is a coach, an owner or the student.
	Author domain.ID
	// AuthorName is filled in when it is read.
	AuthorName string
	Text       string
	At         time.Time
	// Unread is filled in for whoever reads: somebody else wrote it since they
	// last looked.
	Unread bool
}

// ByStudent reports whether the student wrote it.
func (m Message) ByStudent() bool { return m.Author == m.Student }

// UnreadThread is a thread with replies that a coach has not read.
type UnreadThread struct {
	Student domain.ID
	// Name is filled in when it is read.
	Name string
	// Messages is how many the student wrote, LastAt when the last of them.
	Messages int
	LastAt   time.Time
}

// MessageStore keeps messages. Marks of how far somebody has read are no events.
type MessageStore interface {
	domain.EventLog
	Viewing
	Listing

	Group(ctx context.Context, id domain.ID) (Group, error)
	AddMessage(ctx context.Context, m Message) error
	// Messages gives a student's thread, the latest first, at most page.Limit,
	// before page.After when that is set.
	Messages(ctx context.Context, student domain.ID, page domain.Page) ([]Message, error)
	// ReadTo gives the last message of a student's thread that a member has read;
	// empty for none.
	ReadTo(ctx context.Context, member, student domain.ID) (domain.ID, error)
	SaveReadTo(ctx context.Context, member, student, message domain.ID) error
	// UnreadThreads gives the threads of students with messages of their own that a
	// member has not read, in order of the student.
	UnreadThreads(ctx context.Context, member domain.ID) ([]UnreadThread, error)
}

// MessageService is what can be done with messages.
type MessageService struct {
	Store domain.Transactor[MessageStore]
	Env   domain.Env
}

// maxMessage is how many characters a message has at most.
const maxMessage = 4000

// CheckMessage notes what is wrong with the words of a message, at /text.
func CheckMessage(p *domain.Problems, text string) {
	if strings.TrimSpace(text) == "" {
		p.Add("/text", "is empty; write what you want to say")
	}
	checkText(p, "/text", text, maxMessage)
}

func checkMessage(text string) error {
	var p domain.Problems
	CheckMessage(&p, text)
	return p.Err("message_invalid", "The message was not sent.")
}

// Write adds a message to a student's thread, by a coach of theirs, an owner or
// the student. A junior's thread needs a guardian's consent, as their practice
// does.
func (s MessageService) Write(ctx context.Context, a domain.Actor, student domain.ID, text string) (m Message, err error) {
	if err := checkMessage(text); err != nil {
		return Message{}, err
	}
	err = s.Store.Write(ctx, a.Academy, func(tx MessageStore) error {
		to, err := Student(ctx, tx, a, student)
		if err != nil {
			return err
		}
		if m, err = s.add(ctx, tx, a, to, text); err != nil {
			return err
		}
		author, err := tx.Member(ctx, a.Member)
		m.AuthorName = author.Name
		return err
	})
	return m, err
}

// add keeps a message and marks it as read by its author. The log tells that one
// was sent, and not what it says.
func (s MessageService) add(ctx context.Context, tx MessageStore, a domain.Actor, to Member, text string) (Message, error) {
	if !to.MayPractise() {
		return Message{}, ErrConsent(ctx, tx, to, "the message was not sent", "Ask the guardian first.")
	}
	m := Message{ID: s.Env.NewID(), Student: to.ID, Author: a.Member, Text: text, At: s.Env.Now()}
	if err := tx.AddMessage(ctx, m); err != nil {
		return m, err
	}
	if err := tx.SaveReadTo(ctx, a.Member, to.ID, m.ID); err != nil {
		return m, err
	}
	return m, tx.Record(ctx, a.Event(m.At, "message.sent", m.ID, to.ID, nil))
}

// SendResult is what became of a message to one of many.
type SendResult struct {
	Student domain.ID
	Name    string
	Message Message
	Err     error
}

// Send adds the same message to the threads of many students: those named, those
// of a group, or both. Those who may have it get it together; the results, in the
// order of the request, tell of the others.
func (s MessageService) Send(ctx context.Context, a domain.Actor, students []domain.ID, group domain.ID, text string) (results []SendResult, err error) {
	if err := checkMessage(text); err != nil {
		return nil, err
	}
	err = s.Store.Write(ctx, a.Academy, func(tx MessageStore) error {
		results = nil
		visible, err := visibleStudents(ctx, tx, a)
		if err != nil {
			return err
		}
		var p domain.Problems
		ids, err := asked(ctx, tx, visible, students, group, &p)
		if err == nil {
			err = p.Err("message_invalid", "The message was not sent.")
		}
		if err != nil {
			return err
		}
		for _, id := range ids {
			m, ok := visible[id]
			r := SendResult{Student: id, Name: m.Name, Err: domain.ErrNotFound("student")}
			if ok {
				r.Message, r.Err = s.add(ctx, tx, a, m, text)
			}
			if kind := domain.KindOf(r.Err); r.Err != nil && kind != domain.NotFound && kind != domain.Conflict {
				return r.Err
			}
			results = append(results, r)
		}
		return nil
	})
	return results, err
}

// Thread reads a student's messages, the latest first, before page.After when
// that is set. A guardian reads a junior's as well.
func (s MessageService) Thread(ctx context.Context, a domain.Actor, student domain.ID, page domain.Page) (all []Message, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx MessageStore) error {
		if _, err := Student(ctx, tx, a, student); err != nil {
			return err
		}
		if all, err = tx.Messages(ctx, student, page); err != nil || len(all) == 0 {
			return err
		}
		read, err := tx.ReadTo(ctx, a.Member, student)
		if err != nil {
			return err
		}
		names := map[domain.ID]string{}
		for i := range all {
			m := &all[i]
			if _, known := names[m.Author]; !known {
				author, err := tx.Member(ctx, m.Author)
				if err != nil {
					return err
				}
				names[m.Author] = author.Name
			}
			m.AuthorName = names[m.Author]
			m.Unread = m.Author != a.Member && m.ID > read
		}
		return nil
	})
	return all, err
}

// MarkRead marks a student's thread as read by the actor up to a message. A mark
// never goes back.
func (s MessageService) MarkRead(ctx context.Context, a domain.Actor, student, message domain.ID) error {
	return s.Store.Write(ctx, a.Academy, func(tx MessageStore) error {
		if _, err := Student(ctx, tx, a, student); err != nil {
			return err
		}
		read, err := tx.ReadTo(ctx, a.Member, student)
		if err != nil || message <= read {
			return err
		}
		latest, err := tx.Messages(ctx, student, domain.Page{Limit: 1})
		if err != nil {
			return err
		}
		if len(latest) == 0 || message > latest[0].ID {
			var p domain.Problems
			p.Add("/up_to", "is no message of this student; give the ID of the latest that was read")
			return p.Err("message_invalid", "The messages were not marked as read.")
		}
		return tx.SaveReadTo(ctx, a.Member, student, message)
	})
}

// Unread tells a coach or an owner whose replies they have not read, by name.
func (s MessageService) Unread(ctx context.Context, a domain.Actor) (threads []UnreadThread, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx MessageStore) error {
		threads = nil
		all, err := tx.UnreadThreads(ctx, a.Member)
		if err != nil || len(all) == 0 {
			return err
		}
		visible, err := visibleStudents(ctx, tx, a)
		for _, t := range all {
			if m, ok := visible[t.Student]; ok {
				t.Name = m.Name
				threads = append(threads, t)
			}
		}
		return err
	})
	slices.SortStableFunc(threads, func(a, b UnreadThread) int { return strings.Compare(a.Name, b.Name) })
	return threads, err
}
