package domaintest

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"maps"
	"slices"
	"strings"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/practice"
	"fringework/domain/progress"
)

// Rights gives the service of what people may do with what is kept about them.
func (m *Memory) Rights() academy.RightsService {
	return academy.RightsService{Store: opener[academy.RightsStore]{m}, Env: m.Env()}
}

// Guardians gives the service of the guardians.
func (m *Memory) Guardians() academy.GuardianService {
	return academy.GuardianService{Store: opener[academy.GuardianStore]{m}, Env: m.Env()}
}

// Calendars gives the service of the calendars.
func (m *Memory) Calendars() academy.CalendarService {
	return academy.CalendarService{Store: opener[academy.CalendarStore]{m}, Reading: opener[academy.ReadStore]{m}, Lessons: opener[academy.LessonStore]{m}, Env: m.Env()}
}

// Erase implements academy.RightsStore.
func (t *tx) Erase(_ context.Context, member domain.ID) error {
	if err := t.change(); err != nil {
		return err
	}
	if err := t.known(member); err != nil {
		return err
	}
	t.count(member)
	t.eraseStudent(member)
	t.eraseAuthor(member)
	for i, e := range t.events {
		t.events[i] = without(e, member)
	}
	delete(t.members, member)
	t.members[domain.Nobody] = academy.Member{
		ID: domain.Nobody, Account: domain.Nobody, Role: domain.Guardian, TimeZone: "UTC", Units: academy.FeetAndYards,
		RemovedAt: time.Unix(0, 0).UTC(), Revision: 1, JoinedAt: time.Unix(0, 0).UTC(),
	}
	return nil
}

// count adds a student's practice to what is counted of erased ones.
func (t *tx) count(student domain.ID) {
	for _, s := range t.states {
		if s.Student == student {
			p := t.erased[s.Skill]
			all := academy.AddPractised(map[domain.ID]academy.Practised{s.Skill: p}, []progress.State{s})
			all[0].Erased, all[0].Students = p.Erased+1, 0
			t.erased[s.Skill] = all[0]
		}
	}
}

// eraseStudent takes away what is a student's own.
func (t *tx) eraseStudent(id domain.ID) {
	maps.DeleteFunc(t.comments, func(_ domain.ID, c practice.Comment) bool { return t.sessions[c.Session].Student == id })
	maps.DeleteFunc(t.sessions, func(_ domain.ID, s stored) bool { return s.Student == id })
	maps.DeleteFunc(t.assignments, func(_ domain.ID, a academy.Assignment) bool { return a.Student == id })
	maps.DeleteFunc(t.adjustments, func(_ domain.ID, a academy.Adjustment) bool { return a.Student == id })
	maps.DeleteFunc(t.reports, func(_ domain.ID, l academy.ReportLink) bool { return l.Student == id })
	maps.DeleteFunc(t.silences, func(s silence, _ academy.Acknowledgement) bool { return s.student == id })
	maps.DeleteFunc(t.refusals, func(k academy.RefusalKey, _ academy.Refusal) bool { return k.Student == id })
	maps.DeleteFunc(t.messages, func(_ domain.ID, m academy.Message) bool { return m.Student == id || m.Author == id })
	for k, r := range t.rounds {
		if r.Student == id {
			delete(t.rounds, k)
		}
	}
	maps.DeleteFunc(t.lessons, func(_ domain.ID, l academy.Lesson) bool { return l.Student == id })
	maps.DeleteFunc(t.media, func(_ domain.ID, m keptMedia) bool { return m.Student == id })
	ofStudent := func(k atSkill) bool { return k.student == id }
	maps.DeleteFunc(t.tracks, func(k atSkill, _ progress.Track) bool { return ofStudent(k) })
	maps.DeleteFunc(t.states, func(k atSkill, _ progress.State) bool { return ofStudent(k) })
	maps.DeleteFunc(t.periods, func(k atSkill, _ []progress.Period) bool { return ofStudent(k) })
	delete(t.habits, id)
	delete(t.bags, id)
	delete(t.quiet, id)
	delete(t.seasons, id)
	delete(t.calendars, id)
	delete(t.digests, id)
	t.letters = slices.DeleteFunc(slices.Clone(t.letters), func(l academy.DigestLetter) bool { return names(l, id) })
	t.insights = insights{}
	for k, g := range t.groups {
		g.Students = slices.DeleteFunc(slices.Clone(g.Students), func(s domain.ID) bool { return s == id })
		t.groups[k] = g
	}
	ofMember := func(l link) bool { return l.member == id || l.student == id }
	maps.DeleteFunc(t.links, func(l link, _ bool) bool { return ofMember(l) })
	maps.DeleteFunc(t.asked, func(l link, _ time.Time) bool { return ofMember(l) })
	maps.DeleteFunc(t.reads, func(l link, _ domain.ID) bool { return ofMember(l) })
	maps.DeleteFunc(t.marks, func(l link, _ int) bool { return ofMember(l) })
}

// eraseAuthor names nobody in what stays of others.
func (t *tx) eraseAuthor(id domain.ID) {
	unnamed := func(by *domain.ID) {
		if *by == id {
			*by = domain.Nobody
		}
	}
	for k, c := range t.comments {
		if c.Author == id {
			c.Author, c.Text = domain.Nobody, ""
			if c.DeletedAt.IsZero() {
				c.DeletedAt = c.At
			}
			t.comments[k] = c
		}
	}
	for k, a := range t.adjustments {
		unnamed(&a.CreatedBy)
		unnamed(&a.EndedBy)
		t.adjustments[k] = a
	}
	for k, a := range t.silences {
		unnamed(&a.By)
		t.silences[k] = a
	}
	for k, words := range t.quiet {
		words = slices.Clone(words)
		for i := range words {
			unnamed(&words[i].By)
		}
		t.quiet[k] = words
	}
	for k, r := range t.refusals {
		unnamed(&r.By)
		t.refusals[k] = r
	}
	for k, l := range t.reports {
		unnamed(&l.By)
		t.reports[k] = l
	}
	for k, s := range t.sessions {
		unnamed(&s.By)
		t.sessions[k] = s
	}
	for k, l := range t.lessons {
		unnamed(&l.Coach)
		t.lessons[k] = l
	}
	for k, m := range t.media {
		unnamed(&m.By)
		t.media[k] = m
	}
	for k, r := range t.rounds {
		unnamed(&r.By)
		t.rounds[k] = r
	}
	for k, a := range t.assignments {
		unnamed(&a.CreatedBy)
		t.assignments[k] = a
	}
	for k, p := range t.programmes {
		unnamed(&p.CreatedBy)
		t.programmes[k] = p
	}
	for k, v := range t.versions {
		unnamed(&v.PublishedBy)
		t.versions[k] = v
	}
	for k, m := range t.members {
		unnamed(&m.ConsentBy)
		unnamed(&m.ConsentEndedBy)
		t.members[k] = m
	}
}

// without is an event without a member.
func without(e domain.Event, member domain.ID) domain.Event {
	data, err := json.Marshal(e.Data)
	if err != nil {
		panic(err) // the stores' own events
	}
	if e.Student == member || e.Subject == member || strings.Contains(string(data), string(member)) {
		if e.Student == member || e.Subject == member {
			e.Subject = domain.Nobody
		}
		e.Data, e.Student = map[string]any{}, ""
	}
	if e.Actor == member {
		e.Actor = ""
	}
	return e
}

// Practised implements academy.RightsStore.
func (t *tx) Practised(context.Context) ([]academy.Practised, error) {
	return academy.AddPractised(t.erased, slices.Collect(maps.Values(t.states))), t.call()
}

// ForgetEvents implements academy.RightsStore.
func (t *tx) ForgetEvents(_ context.Context, before time.Time) (n int, err error) {
	if err := t.change(); err != nil {
		return 0, err
	}
	for i, e := range t.events {
		known := e.Subject != domain.Nobody || e.Actor != "" || e.Student != "" || len(e.Data) > 0
		if known && e.At.Before(before) {
			n++
			t.events[i] = domain.Event{Seq: e.Seq, At: e.At, Kind: e.Kind, Subject: domain.Nobody, Data: map[string]any{}}
		}
	}
	return n, nil
}

// AskOfGuardians implements academy.Store.
func (t *tx) AskOfGuardians(_ context.Context, student domain.ID, since time.Time) error {
	if err := t.change(); err != nil {
		return err
	}
	for l := range t.links {
		if l.student == student && t.members[l.member].Role == domain.Guardian {
			if t.asked[l] = since; since.IsZero() {
				delete(t.asked, l)
			}
		}
	}
	return nil
}

// GuardiansOf implements academy.GuardianStore.
func (t *tx) GuardiansOf(_ context.Context, student domain.ID) (all []academy.Guardian, err error) {
	for l := range t.links {
		if m := t.members[l.member]; l.student == student && m.Role == domain.Guardian && m.Active() {
			all = append(all, academy.Guardian{Member: m, AskedAt: t.asked[l]})
		}
	}
	slices.SortFunc(all, func(a, b academy.Guardian) int { return compareIDs(a.ID, b.ID) })
	return all, t.call()
}

// Wards implements academy.GuardianStore.
func (t *tx) Wards(_ context.Context, guardian domain.ID) (all []academy.Member, err error) {
	for l := range t.links {
		m := t.members[l.student]
		if l.member == guardian && t.members[guardian].Role == domain.Guardian && t.linked(guardian, m.ID) && m.Active() && m.Role == domain.Student {
			all = append(all, m)
		}
	}
	slices.SortFunc(all, func(a, b academy.Member) int { return compareIDs(a.ID, b.ID) })
	return all, t.call()
}

// LetGuardian implements academy.GuardianStore.
func (t *tx) LetGuardian(_ context.Context, guardian, student domain.ID) (bool, error) {
	l := link{guardian, student}
	waits := t.links[l] && !t.asked[l].IsZero()
	delete(t.asked, l)
	return waits, t.change()
}

// EndGuardian implements academy.GuardianStore.
func (t *tx) EndGuardian(_ context.Context, guardian, student domain.ID) (bool, error) {
	l := link{guardian, student}
	known := t.links[l] && t.members[guardian].Role == domain.Guardian
	if known {
		delete(t.links, l)
		delete(t.asked, l)
	}
	return known, t.change()
}

// Calendar implements academy.CalendarStore.
func (t *tx) Calendar(_ context.Context, student domain.ID) (academy.CalendarLink, error) {
	if err := t.call(); err != nil {
		return academy.CalendarLink{}, err
	}
	l, ok := t.calendars[student]
	if !ok {
		return l, domain.ErrNotFound("calendar")
	}
	return l, nil
}

// CalendarByToken implements academy.CalendarStore.
func (t *tx) CalendarByToken(_ context.Context, token [sha256.Size]byte) (academy.CalendarLink, error) {
	if err := t.call(); err != nil {
		return academy.CalendarLink{}, err
	}
	for _, l := range t.calendars {
		if l.Token == token {
			return l, nil
		}
	}
	return academy.CalendarLink{}, domain.ErrNotFound("calendar")
}

// SaveCalendar implements academy.CalendarStore.
func (t *tx) SaveCalendar(_ context.Context, l academy.CalendarLink) error {
	if err := t.change(); err != nil {
		return err
	}
	if err := t.known(l.Student); err != nil {
		return err
	}
	t.calendars[l.Student] = l
	return nil
}

// EndCalendar implements academy.CalendarStore.
func (t *tx) EndCalendar(_ context.Context, student domain.ID) (bool, error) {
	_, known := t.calendars[student]
	delete(t.calendars, student)
	return known, t.change()
}

// comment finds a comment that is there.
func (t *tx) comment(c practice.Comment) (practice.Comment, error) {
	stands, ok := t.comments[c.ID]
	if !ok || stands.Session != c.Session {
		return stands, domain.ErrNotFound("comment")
	}
	return stands, nil
}

// SaveComment implements practice.CommentStore.
func (t *tx) SaveComment(_ context.Context, c practice.Comment) error {
	if err := t.change(); err != nil {
		return err
	}
	stands, err := t.comment(c)
	if err != nil {
		return err
	}
	stands.Text, stands.EditedAt, stands.DeletedAt = c.Text, c.EditedAt, c.DeletedAt
	t.comments[c.ID] = stands
	return nil
}

// RemoveComment implements practice.CommentStore.
func (t *tx) RemoveComment(_ context.Context, c practice.Comment) error {
	if err := t.change(); err != nil {
		return err
	}
	if _, err := t.comment(c); err != nil {
		return err
	}
	delete(t.comments, c.ID)
	return nil
}
