package domaintest

import (
	"context"
	"errors"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
)

// message is one in the thread of the fixture's student.
func (f *Fixture) message(author domain.ID, text string, after time.Duration) academy.Message {
	return academy.Message{ID: examID(), Student: f.Student, Author: author, Text: text, At: examNow.Add(after)}
}

// messages: a thread comes latest first, and what is unread follows the marks.
func (e *exam) messages() {
	one, two, three := e.message(e.Coach, "Well done ⛳", 0), e.message(e.Student, "Thanks", time.Minute), e.message(e.Student, "And now?", time.Hour)
	other := academy.Message{ID: examID(), Student: e.Spare, Author: e.Spare, Text: "Hello?", At: examNow}
	write(e, e.s.Messages, func(tx academy.MessageStore) error {
		return errors.Join(tx.AddMessage(e.ctx, one), tx.AddMessage(e.ctx, two), tx.AddMessage(e.ctx, three), tx.AddMessage(e.ctx, other))
	})
	thread := func(p domain.Page) []academy.Message {
		return get(e, e.s.Messages, func(tx academy.MessageStore) ([]academy.Message, error) { return tx.Messages(e.ctx, e.Student, p) })
	}
	first := academy.Message{ID: e.Message, Student: e.Student, Author: e.Student, Text: "Windy today.", At: examNow}
	e.same("thread", thread(all), []academy.Message{three, two, one, first})
	e.same("a page", thread(domain.Page{Limit: 1, After: three.ID}), []academy.Message{two})
	e.same("no thread", len(get(e, e.s.Messages, func(tx academy.MessageStore) ([]academy.Message, error) { return tx.Messages(e.ctx, e.Coach, all) })), 0)

	unread := func(member domain.ID) []academy.UnreadThread {
		return get(e, e.s.Messages, func(tx academy.MessageStore) ([]academy.UnreadThread, error) { return tx.UnreadThreads(e.ctx, member) })
	}
	mark := func(member, student, to domain.ID) {
		write(e, e.s.Messages, func(tx academy.MessageStore) error { return tx.SaveReadTo(e.ctx, member, student, to) })
	}
	his := academy.UnreadThread{Student: e.Student, Messages: 3, LastAt: three.At}
	nobodys := academy.UnreadThread{Student: e.Spare, Messages: 1, LastAt: other.At}
	sorted := func(list ...academy.UnreadThread) []academy.UnreadThread {
		slices.SortFunc(list, func(a, b academy.UnreadThread) int { return compareIDs(a.Student, b.Student) })
		return list
	}
	e.same("the coach's", unread(e.Coach), sorted(his, nobodys))
	e.same("those of one who has no part in it", unread(e.Owner), sorted(nobodys))
	mark(e.Owner, e.Student, one.ID)
	his.Messages = 2
	e.same("those of one who has read it", unread(e.Owner), sorted(his, nobodys))
	mark(e.Coach, e.Student, two.ID)
	mark(e.Coach, e.Student, three.ID)
	mark(e.Coach, e.Spare, other.ID)
	e.same("once all is read", len(unread(e.Coach)), 0)
	for member, want := range map[domain.ID]domain.ID{e.Coach: three.ID, e.Owner: one.ID, e.Guardian: ""} {
		e.same("ReadTo", get(e, e.s.Messages, func(tx academy.MessageStore) (domain.ID, error) { return tx.ReadTo(e.ctx, member, e.Student) }), want)
	}
	// A coach who left coaches nobody, so the student's words call everybody.
	write(e, e.s.People, func(tx academy.Store) error {
		m, err := tx.Member(e.ctx, e.Coach)
		m.RemovedAt, m.Revision = examNow, 2
		return errors.Join(err, tx.SaveMember(e.ctx, m))
	})
	e.same("once the coach has left", len(unread(e.Guardian)), 2)
	no := examID()
	for what, m := range map[string]academy.Message{
		"to nobody": {ID: examID(), Student: no, Author: e.Coach, Text: "?", At: examNow}, "by nobody": {ID: examID(), Student: e.Student, Author: no, Text: "?", At: examNow},
	} {
		refuse(e, "message "+what, e.s.Messages, domain.NotFound, func(tx academy.MessageStore) error { return tx.AddMessage(e.ctx, m) })
	}
	refuse(e, "read by nobody", e.s.Messages, domain.NotFound, func(tx academy.MessageStore) error { return tx.SaveReadTo(e.ctx, no, e.Student, one.ID) })
}

// link is one to the report of the fixture's student.
func (f *Fixture) link(token byte) academy.ReportLink {
	return academy.ReportLink{
		ID: examID(), Student: f.Student, Token: [32]byte{token, 1}, Words: "Keep going ⛳", By: f.Coach, Created: examNow, Expires: examNow.Add(time.Hour),
	}
}

// reportLinks: found by student and by token, ended once.
func (e *exam) reportLinks() {
	one, two := e.link(7), e.link(8)
	other := e.link(9)
	other.Student = e.Spare
	write(e, e.s.Reports, func(tx academy.ReportStore) error {
		return errors.Join(tx.AddReportLink(e.ctx, one), tx.AddReportLink(e.ctx, two), tx.AddReportLink(e.ctx, other))
	})
	end := func(student, id domain.ID) (ended bool) {
		write(e, e.s.Reports, func(tx academy.ReportStore) (err error) {
			ended, err = tx.EndReportLink(e.ctx, student, id, examNow.Add(time.Minute))
			return err
		})
		return ended
	}
	e.same("ended", end(e.Student, one.ID), true)
	e.same("ended again", end(e.Student, one.ID), false)
	one.Ended = examNow.Add(time.Minute)
	list := get(e, e.s.Reports, func(tx academy.ReportStore) ([]academy.ReportLink, error) { return tx.ReportLinks(e.ctx, e.Student) })
	e.same("ReportLinks", list[:2], []academy.ReportLink{two, one})
	e.same("how many", len(list), 3) // with the fixture's own
	for _, want := range []academy.ReportLink{one, two, other} {
		e.same("ReportLink", get(e, e.s.Reports, func(tx academy.ReportStore) (academy.ReportLink, error) { return tx.ReportLink(e.ctx, want.Token) }), want)
	}
	refuse(e, "an unknown token", e.s.Reports, domain.NotFound, func(tx academy.ReportStore) error { _, err := tx.ReportLink(e.ctx, [32]byte{99}); return err })
	refuse(e, "another student's", e.s.Reports, domain.NotFound, func(tx academy.ReportStore) error {
		_, err := tx.EndReportLink(e.ctx, e.Student, other.ID, examNow)
		return err
	})
	refuse(e, "of nobody", e.s.Reports, domain.NotFound, func(tx academy.ReportStore) error {
		wrong := e.link(10)
		wrong.Student = examID()
		return tx.AddReportLink(e.ctx, wrong)
	})
	refuse(e, "a token twice", e.s.Reports, domain.Conflict, func(tx academy.ReportStore) error {
		again := e.link(8)
		return tx.AddReportLink(e.ctx, again)
	})
}

func messageCalls() []Call {
	of := func(s Stores) domain.Transactor[academy.MessageStore] { return s.Messages }
	return slices.Concat(logCalls(of), viewingCalls(of), listingCalls(of), groupOf(of), []Call{
		call(of, "AddMessage", func(ctx context.Context, tx academy.MessageStore, f *Fixture) (bool, error) {
			return changed(tx.AddMessage(ctx, f.message(f.Coach, "Hello", 0)))
		}),
		call(of, "Messages", func(ctx context.Context, tx academy.MessageStore, f *Fixture) (bool, error) {
			return some(tx.Messages(ctx, f.Student, all))
		}),
		call(of, "ReadTo", func(ctx context.Context, tx academy.MessageStore, f *Fixture) (bool, error) {
			return some(tx.ReadTo(ctx, f.Student, f.Student))
		}),
		call(of, "SaveReadTo", func(ctx context.Context, tx academy.MessageStore, f *Fixture) (bool, error) {
			return changed(tx.SaveReadTo(ctx, f.Coach, f.Student, f.Message))
		}),
		call(of, "UnreadThreads", func(ctx context.Context, tx academy.MessageStore, f *Fixture) (bool, error) {
			return some(tx.UnreadThreads(ctx, f.Coach))
		}),
	})
}

func reportCalls() []Call {
	of := func(s Stores) domain.Transactor[academy.ReportStore] { return s.Reports }
	return slices.Concat(logCalls(of), viewingCalls(of), []Call{
		call(of, "Academy", func(ctx context.Context, tx academy.ReportStore, f *Fixture) (bool, error) {
			got, err := tx.Academy(ctx)
			return got.ID == f.Academy, err
		}),
		call(of, "AddReportLink", func(ctx context.Context, tx academy.ReportStore, f *Fixture) (bool, error) {
			return changed(tx.AddReportLink(ctx, f.link(3)))
		}),
		call(of, "ReportLinks", func(ctx context.Context, tx academy.ReportStore, f *Fixture) (bool, error) {
			return some(tx.ReportLinks(ctx, f.Student))
		}),
		call(of, "ReportLink", func(ctx context.Context, tx academy.ReportStore, f *Fixture) (bool, error) {
			return some(tx.ReportLink(ctx, f.Link.Token))
		}),
		call(of, "EndReportLink", func(ctx context.Context, tx academy.ReportStore, f *Fixture) (bool, error) {
			return tx.EndReportLink(ctx, f.Student, f.Link.ID, examNow)
		}),
	})
}
