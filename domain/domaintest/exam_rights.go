package domaintest

import (
	"context"
	"errors"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/webhook"
)

// calendar is the address of the fixture's student.
func (f *Fixture) calendar() academy.CalendarLink {
	return academy.CalendarLink{Student: f.Student, Token: [32]byte{3, 1}, Created: examNow}
}

// guardians: who waits for a student's word reads nothing, until let or for good.
func (e *exam) guardians() {
	second, gone := e.Join(e, domain.Guardian), e.Join(e, domain.Guardian)
	if err := errors.Join(e.s.AddLink(e.Academy, second, e.Student), e.s.AddLink(e.Academy, gone, e.Student)); err != nil {
		e.Fatal(err)
	}
	write(e, e.s.People, func(tx academy.Store) error {
		m, err := tx.Member(e.ctx, gone)
		m.RemovedAt, m.Revision = examNow, 2
		return errors.Join(err, tx.SaveMember(e.ctx, m))
	})
	guardians := func() map[domain.ID]time.Time {
		all := get(e, e.s.Guardians, func(tx academy.GuardianStore) ([]academy.Guardian, error) { return tx.GuardiansOf(e.ctx, e.Student) })
		e.same("in order", slices.IsSortedFunc(all, func(a, b academy.Guardian) int { return compareIDs(a.ID, b.ID) }), true)
		asked := map[domain.ID]time.Time{}
		for _, g := range all {
			asked[g.ID] = g.AskedAt
			e.same("role and e-mail", g.Role == domain.Guardian && g.Email != "", true)
		}
		return asked
	}
	wards := func(of domain.ID) []domain.ID {
		all := get(e, e.s.Guardians, func(tx academy.GuardianStore) ([]academy.Member, error) { return tx.Wards(e.ctx, of) })
		return idsOf(all, func(m academy.Member) domain.ID { return m.ID })
	}
	reads := func() (bool, bool) {
		return get(e, e.s.People, func(tx academy.Store) (bool, error) { return tx.WorksWith(e.ctx, e.Guardian, e.Student) }),
			len(get(e, e.s.People, func(tx academy.Store) ([]academy.Member, error) {
				return tx.Members(e.ctx, academy.MemberFilter{VisibleTo: e.Guardian, Role: domain.Student}, all)
			})) > 0
	}
	zero := time.Time{}
	e.same("guardians", guardians(), map[domain.ID]time.Time{e.Guardian: zero, second: zero})
	e.same("wards", wards(e.Guardian), []domain.ID{e.Student})
	e.same("a coach's wards", len(wards(e.Coach)), 0)
	ask := func(since time.Time) {
		write(e, e.s.People, func(tx academy.Store) error { return tx.AskOfGuardians(e.ctx, e.Student, since) })
	}
	ask(examNow)
	e.same("once asked", guardians(), map[domain.ID]time.Time{e.Guardian: examNow, second: examNow})
	one, all := reads()
	e.same("reads while waiting", one || all || len(wards(e.Guardian)) > 0, false)
	e.same("a coach works on", get(e, e.s.People, func(tx academy.Store) (bool, error) { return tx.WorksWith(e.ctx, e.Coach, e.Student) }), true)
	change := func(what string, want bool, fn func(tx academy.GuardianStore) (bool, error)) {
		var got bool
		write(e, e.s.Guardians, func(tx academy.GuardianStore) (err error) {
			got, err = fn(tx)
			return err
		})
		e.same(what, got, want)
	}
	let := func(g domain.ID) func(academy.GuardianStore) (bool, error) {
		return func(tx academy.GuardianStore) (bool, error) { return tx.LetGuardian(e.ctx, g, e.Student) }
	}
	end := func(g domain.ID) func(academy.GuardianStore) (bool, error) {
		return func(tx academy.GuardianStore) (bool, error) { return tx.EndGuardian(e.ctx, g, e.Student) }
	}
	change("let", true, let(e.Guardian))
	change("let again", false, let(e.Guardian))
	change("let nobody", false, let(examID()))
	one, all = reads()
	e.same("reads again", one && all, true)
	change("end", true, end(second))
	change("end again", false, end(second))
	change("end a coach", false, end(e.Coach))
	e.same("in the end", guardians(), map[domain.ID]time.Time{e.Guardian: zero})
	ask(examNow)
	ask(zero)
	e.same("a junior again", guardians(), map[domain.ID]time.Time{e.Guardian: zero})
}

// calendars: one for each student, found by student and by token.
func (e *exam) calendars() {
	by := func(token byte) (academy.CalendarLink, error) {
		var l academy.CalendarLink
		err := e.s.Calendars.Read(e.ctx, e.Academy, func(tx academy.CalendarStore) (err error) {
			l, err = tx.CalendarByToken(e.ctx, [32]byte{token, 1})
			return err
		})
		return l, err
	}
	of := func() academy.CalendarLink {
		return get(e, e.s.Calendars, func(tx academy.CalendarStore) (academy.CalendarLink, error) { return tx.Calendar(e.ctx, e.Student) })
	}
	e.same("Calendar", of(), e.calendar())
	found, err := by(3)
	e.same("CalendarByToken", found, e.calendar())
	e.same("error", err, nil)
	next := e.calendar()
	next.Token[0], next.Created = 4, examNow.Add(time.Hour)
	write(e, e.s.Calendars, func(tx academy.CalendarStore) error { return tx.SaveCalendar(e.ctx, next) })
	e.same("made anew", of(), next)
	_, err = by(3)
	e.same("the old address", domain.KindOf(err), domain.NotFound)
	for _, want := range []bool{true, false} {
		write(e, e.s.Calendars, func(tx academy.CalendarStore) error {
			ended, err := tx.EndCalendar(e.ctx, e.Student)
			e.same("ended", ended, want)
			return err
		})
	}
	refuse(e, "ended", e.s.Calendars, domain.NotFound, func(tx academy.CalendarStore) error { _, err := tx.Calendar(e.ctx, e.Student); return err })
	refuse(e, "of nobody", e.s.Calendars, domain.NotFound, func(tx academy.CalendarStore) error {
		return tx.SaveCalendar(e.ctx, academy.CalendarLink{Student: examID(), Token: [32]byte{9}, Created: examNow})
	})
}

func (e *exam) practised() []academy.Practised {
	return get(e, e.s.Rights, func(tx academy.RightsStore) ([]academy.Practised, error) { return tx.Practised(e.ctx) })
}

func (e *exam) erase(id domain.ID) {
	e.Helper()
	write(e, e.s.Rights, func(tx academy.RightsStore) error { return tx.Erase(e.ctx, id) })
}

// erasing a student: nothing of them is left but how much was practised.
func (e *exam) erasing() {
	before := e.practised()
	e.same("practised at all", len(before) > 0 && before[0].Students == 1 && before[0].Sessions > 0 && before[0].Balls > 0, true)
	e.erase(e.Student)
	after := e.practised()
	for i := range before {
		before[i].Erased = 1
	}
	e.same("what was practised", after, before)
	refuse(e, "member", e.s.Rights, domain.NotFound, func(tx academy.RightsStore) error { return tx.Erase(e.ctx, e.Student) })
	refuse(e, "session", e.s.Sessions, domain.NotFound, func(tx practice.ReadStore) error { _, err := tx.Session(e.ctx, e.Session); return err })
	refuse(e, "assignment", e.s.Assignments, domain.NotFound, func(tx academy.AssignmentStore) error { _, err := tx.Assignment(e.ctx, e.Assignment); return err })
	refuse(e, "calendar", e.s.Calendars, domain.NotFound, func(tx academy.CalendarStore) error { _, err := tx.Calendar(e.ctx, e.Student); return err })
	refuse(e, "report", e.s.Reports, domain.NotFound, func(tx academy.ReportStore) error { _, err := tx.ReportLink(e.ctx, e.Link.Token); return err })
	e.same("comments", len(get(e, e.s.Sessions, func(tx practice.ReadStore) ([]practice.Comment, error) { return tx.Comments(e.ctx, e.Session) })), 0)
	e.same("messages", len(get(e, e.s.Messages, func(tx academy.MessageStore) ([]academy.Message, error) { return tx.Messages(e.ctx, e.Student, all) })), 0)
	e.same("states", len(get(e, e.s.Sessions, func(tx practice.ReadStore) ([]progress.State, error) { return tx.States(e.ctx, []domain.ID{e.Student}) })), 0)
	e.same("group", len(get(e, e.s.Groups, func(tx academy.GroupStore) (academy.Group, error) { return tx.Group(e.ctx, e.Group) }).Students), 0)
	e.same("wards", len(get(e, e.s.Guardians, func(tx academy.GuardianStore) ([]academy.Member, error) { return tx.Wards(e.ctx, e.Guardian) })), 0)
	members := get(e, e.s.People, func(tx academy.Store) ([]academy.Member, error) {
		return tx.Members(e.ctx, academy.MemberFilter{Removed: true}, all)
	})
	for _, m := range members {
		e.same("a member erased", m.ID == e.Student || m.ID == domain.Nobody, false)
	}
	log := get(e, e.s.Events, func(tx academy.EventStore) ([]domain.Event, error) { return tx.Events(e.ctx, 0, 1000) })
	for i, x := range log {
		e.same("numbers without gaps", x.Seq, int64(i+1))
		e.same("an event about them", x.Student == e.Student || x.Subject == e.Student || x.Actor == e.Student, false)
	}
	// A second one is added to the first.
	e.erase(e.Spare)
	e.same("of one who never practised", e.practised(), before)
}

// erasing a coach: what is the students' stays, without the coach.
func (e *exam) erasingACoach() {
	said := practice.Comment{ID: examID(), Session: e.Session, Author: e.Coach, Text: "Good hands.", At: examNow}
	write(e, e.s.Comments, func(tx practice.CommentStore) error { return tx.AddComment(e.ctx, said) })
	e.erase(e.Coach)
	said.Author, said.Text, said.DeletedAt = domain.Nobody, "", examNow
	found := get(e, e.s.Sessions, func(tx practice.ReadStore) ([]practice.Comment, error) { return tx.Comments(e.ctx, e.Session) })
	e.same("the comment", slices.Contains(found, said), true)
	a := get(e, e.s.Adjustments, func(tx academy.AdjustmentStore) (academy.Adjustment, error) {
		return tx.Adjustment(e.ctx, e.Adjustment)
	})
	e.same("the adjustment", []any{a.CreatedBy, a.Text}, []any{domain.ID(domain.Nobody), "Once a week is enough."})
	l := get(e, e.s.Reports, func(tx academy.ReportStore) (academy.ReportLink, error) { return tx.ReportLink(e.ctx, e.Link.Token) })
	e.same("the report", l.By, domain.ID(domain.Nobody))
	p := get(e, e.s.Curriculum, func(tx curriculum.Store) (curriculum.Programme, error) { return tx.Programme(e.ctx, e.Programme) })
	e.same("the programme", p.CreatedBy, domain.ID(domain.Nobody))
	v := get(e, e.s.Curriculum, func(tx curriculum.Store) (curriculum.Version, error) { return tx.Version(e.ctx, e.Programme, 1) })
	e.same("the version", v.PublishedBy, domain.ID(domain.Nobody))
	stored := get(e, e.s.Reading, func(tx academy.ReadStore) (academy.Stored, error) { return tx.Stored(e.ctx, []domain.ID{e.Student}) })
	i := slices.IndexFunc(stored.Acknowledgements, func(a academy.Acknowledgement) bool { return a.Reason == advice.Flat })
	e.same("the acknowledgement", stored.Acknowledgements[i].By, domain.ID(domain.Nobody))
	words := get(e, e.s.Quiet, func(tx academy.QuietStore) ([]academy.QuietWord, error) { return tx.QuietWords(e.ctx, e.Student) })
	e.same("the word on quiet tests", words[0].By, domain.ID(domain.Nobody))
	nobody := get(e, e.s.People, func(tx academy.Store) (academy.Member, error) { return tx.Member(e.ctx, domain.Nobody) })
	e.same("nobody", []any{nobody.Name, nobody.Email, nobody.Active()}, []any{"", "", false})
	e.same("coaches", len(get(e, e.s.People, func(tx academy.Store) ([]domain.ID, error) { return tx.CoachesOf(e.ctx, e.Student) })), 0)
}

// forgetting: old events keep number, time and kind.
func (e *exam) forgetting() {
	record := func(at time.Time) {
		write(e, e.s.Groups, func(tx academy.GroupStore) error {
			return tx.Record(e.ctx, domain.Event{At: at, Actor: e.Coach, Kind: "ball.lost", Subject: e.Student, Student: e.Student, Data: map[string]any{"where": "pond"}})
		})
	}
	log := func() []domain.Event {
		return get(e, e.s.Events, func(tx academy.EventStore) ([]domain.Event, error) { return tx.Events(e.ctx, 0, 1000) })
	}
	forget := func(before time.Time) (n int) {
		write(e, e.s.Rights, func(tx academy.RightsStore) (err error) {
			n, err = tx.ForgetEvents(e.ctx, before)
			return err
		})
		return n
	}
	record(examNow.AddDate(-9, 0, 0))
	record(examNow.AddDate(-8, 0, 0))
	last := len(log())
	e.same("one is so old", forget(examNow.AddDate(-8, 0, 0)), 1)
	e.same("and only once", forget(examNow.AddDate(-8, 0, 0)), 0)
	events := log()[last-2:]
	e.same("forgotten", events[0], domain.Event{Seq: int64(last - 1), At: examNow.AddDate(-9, 0, 0), Kind: "ball.lost", Subject: domain.Nobody, Data: map[string]any{}})
	e.same("kept", []any{events[1].Actor, events[1].Subject, events[1].Student, len(events[1].Data)}, []any{e.Coach, e.Student, e.Student, 1})
}

// forApps: software sees a junior once a guardian agreed.
func (e *exam) forApps() {
	seen := func() (bool, bool) {
		ms := get(e, e.s.People, func(tx academy.Store) ([]academy.Member, error) {
			return tx.Members(e.ctx, academy.MemberFilter{ForApps: true}, all)
		})
		others := get(e, e.s.Queue, func(tx webhook.QueueStore) ([]academy.Member, error) {
			return tx.Members(e.ctx, academy.MemberFilter{NotForApps: true, Removed: true}, all)
		})
		e.same("those whom software may not read", slices.ContainsFunc(others, func(m academy.Member) bool { return m.ID == e.Student }),
			!slices.ContainsFunc(ms, func(m academy.Member) bool { return m.ID == e.Student }))
		as := get(e, e.s.Assignments, func(tx academy.AssignmentStore) ([]academy.Assignment, error) {
			return tx.Assignments(e.ctx, academy.AssignmentFilter{ForApps: true}, all)
		})
		return slices.ContainsFunc(ms, func(m academy.Member) bool { return m.ID == e.Student }), len(as) > 0
	}
	member, given := seen()
	e.same("an adult", member && given, true)
	m := get(e, e.s.People, func(tx academy.Store) (academy.Member, error) { return tx.Member(e.ctx, e.Student) })
	m.Junior, m.Revision = true, 2
	m.ConsentEndedAt, m.ConsentEndedBy, m.ReportsAt = examNow, e.Guardian, examNow
	write(e, e.s.People, func(tx academy.Store) error { return tx.SaveMember(e.ctx, m) })
	member, given = seen()
	e.same("a junior", member || given, false)
	e.same("Member", get(e, e.s.People, func(tx academy.Store) (academy.Member, error) { return tx.Member(e.ctx, e.Student) }), m)
	m.AppsAt, m.MatchesAt, m.Revision = examNow.Add(time.Minute), examNow.Add(time.Hour), 3
	write(e, e.s.People, func(tx academy.Store) error { return tx.SaveMember(e.ctx, m) })
	member, given = seen()
	e.same("a junior whose guardian agreed", member && given, true)
	var o practice.Opened
	write(e, e.s.Practice, func(tx practice.Store) (err error) {
		o, err = tx.Open(e.ctx, e.openingOf())
		return err
	})
	e.same("as opened", []any{o.Student.AppsAt, o.Student.MatchesAt, o.Student.ConsentEndedAt, o.Student.ConsentEndedBy}, []any{m.AppsAt, m.MatchesAt, m.ConsentEndedAt, m.ConsentEndedBy})
}

func rightsCalls() []Call {
	of := func(s Stores) domain.Transactor[academy.RightsStore] { return s.Rights }
	return slices.Concat(logCalls(of), viewingCalls(of), listingCalls(of), []Call{
		call(of, "Academy", func(ctx context.Context, tx academy.RightsStore, f *Fixture) (bool, error) {
			a, err := tx.Academy(ctx)
			return a.ID == f.Academy, err
		}),
		call(of, "SaveMember", func(ctx context.Context, tx academy.RightsStore, f *Fixture) (bool, error) {
			return changed(tx.SaveMember(ctx, academy.Member{ID: f.Student, Role: domain.Student, Name: "Kit", TimeZone: "UTC", Units: academy.InMetres, Revision: 2}))
		}),
		call(of, "Practised", func(ctx context.Context, tx academy.RightsStore, _ *Fixture) (bool, error) {
			return some(tx.Practised(ctx))
		}),
		call(of, "ForgetEvents", func(ctx context.Context, tx academy.RightsStore, _ *Fixture) (bool, error) {
			return some(tx.ForgetEvents(ctx, examNow.AddDate(1, 0, 0)))
		}),
		call(of, "Erase", func(ctx context.Context, tx academy.RightsStore, f *Fixture) (bool, error) {
			return changed(tx.Erase(ctx, f.Student))
		}),
	})
}

func guardianCalls() []Call {
	of := func(s Stores) domain.Transactor[academy.GuardianStore] { return s.Guardians }
	return slices.Concat(logCalls(of), viewingCalls(of), []Call{
		call(of, "GuardiansOf", func(ctx context.Context, tx academy.GuardianStore, f *Fixture) (bool, error) {
			return some(tx.GuardiansOf(ctx, f.Student))
		}),
		call(of, "Wards", func(ctx context.Context, tx academy.GuardianStore, f *Fixture) (bool, error) {
			return some(tx.Wards(ctx, f.Guardian))
		}),
		blind(of, "LetGuardian", func(ctx context.Context, tx academy.GuardianStore, f *Fixture) error {
			_, err := tx.LetGuardian(ctx, f.Guardian, f.Student)
			return err
		}),
		call(of, "EndGuardian", func(ctx context.Context, tx academy.GuardianStore, f *Fixture) (bool, error) {
			return tx.EndGuardian(ctx, f.Guardian, f.Student)
		}),
	})
}

func calendarCalls() []Call {
	of := func(s Stores) domain.Transactor[academy.CalendarStore] { return s.Calendars }
	return slices.Concat(logCalls(of), viewingCalls(of), []Call{
		call(of, "Calendar", func(ctx context.Context, tx academy.CalendarStore, f *Fixture) (bool, error) {
			return some(tx.Calendar(ctx, f.Student))
		}),
		call(of, "CalendarByToken", func(ctx context.Context, tx academy.CalendarStore, f *Fixture) (bool, error) {
			return some(tx.CalendarByToken(ctx, f.calendar().Token))
		}),
		call(of, "SaveCalendar", func(ctx context.Context, tx academy.CalendarStore, f *Fixture) (bool, error) {
			return changed(tx.SaveCalendar(ctx, f.calendar()))
		}),
		call(of, "EndCalendar", func(ctx context.Context, tx academy.CalendarStore, f *Fixture) (bool, error) {
			return tx.EndCalendar(ctx, f.Student)
		}),
	})
}
