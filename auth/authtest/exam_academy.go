package authtest

import (
	"errors"
	"testing"
	"time"

	"fringework/auth"
	"fringework/domain"
)

// invite stores an invitation with every field set that needs no group.
func (e *exam) invite(academy domain.ID, by auth.Member, code string, expires time.Time) auth.Invitation {
	e.Helper()
	i := auth.Invitation{
		ID: e.clock.NewID(), Role: domain.Student, Email: "sam@one.example", Name: "Sam", By: by.ID, Coach: by.ID,
		Junior: true, Code: auth.DigestOf(code), Created: e.clock.Now(), Expires: expires,
	}
	e.write(func(tx auth.Tx) error { return tx.AddInvitation(e.ctx, academy, i) })
	return i
}

func (e *exam) invitations() {
	academy, owner := e.owned("one")
	other, _ := e.owned("two")
	i := e.invite(academy, owner, "code", e.clock.Now().Add(time.Hour))
	student := e.member(academy, e.account("sam@one.example").ID, domain.Student)
	ward := auth.Invitation{
		ID: e.clock.NewID(), Role: domain.Guardian, By: owner.ID, Student: student.ID,
		Code: auth.DigestOf("ward"), Created: e.clock.Now(), Expires: i.Expires,
	}
	e.write(func(tx auth.Tx) error { return tx.AddInvitation(e.ctx, academy, ward) })
	e.read(func(tx auth.Tx) error {
		for code, want := range map[string]auth.Invitation{"code": i, "ward": ward} {
			got, err := tx.Invitation(e.ctx, academy, want.ID)
			if err != nil {
				return err
			}
			e.same("Invitation", got, want)
			in, got, err := tx.InvitationByCode(e.ctx, auth.DigestOf(code))
			if err != nil {
				return err
			}
			e.same("academy of the code", in, academy)
			e.same("InvitationByCode", got, want)
		}
		return nil
	})
	e.kind("unknown code", domain.NotFound, func(tx auth.Tx) error {
		_, _, err := tx.InvitationByCode(e.ctx, auth.DigestOf("other"))
		return err
	})
	e.kind("seen from another academy", domain.NotFound, func(tx auth.Tx) error {
		_, err := tx.Invitation(e.ctx, other, i.ID)
		return err
	})
	e.kind("code taken", domain.Conflict, func(tx auth.Tx) error {
		again := i
		again.ID = e.clock.NewID()
		return tx.AddInvitation(e.ctx, academy, again)
	})
}

func (e *exam) invitationLists() {
	academy, owner := e.owned("one")
	other, stranger := e.owned("two")
	coach := e.member(academy, e.account("cat@one.example").ID, domain.Coach)
	now := e.clock.Now()
	one := e.invite(academy, owner, "1", now.Add(time.Hour))
	two := e.invite(academy, coach, "2", now.Add(time.Hour))
	three := e.invite(academy, coach, "3", now) // expired at once
	four := e.invite(academy, coach, "4", now.Add(time.Hour))
	e.invite(other, stranger, "5", now.Add(time.Hour))
	e.wrote("revoke", true, func(tx auth.Tx) (bool, error) { return tx.RevokeInvitation(e.ctx, academy, four.ID, now) })
	list := func(what string, q auth.InvitationQuery, want ...domain.ID) {
		e.Helper()
		if q.Page.Limit == 0 {
			q.Page.Limit = 10
		}
		e.read(func(tx auth.Tx) error {
			got, err := tx.Invitations(e.ctx, academy, q)
			var ids []domain.ID
			for _, i := range got {
				ids = append(ids, i.ID)
			}
			e.same(what, ids, want)
			return err
		})
	}
	list("all", auth.InvitationQuery{}, one.ID, two.ID, three.ID, four.ID)
	list("open", auth.InvitationQuery{OpenAt: now}, one.ID, two.ID)
	list("the coach's", auth.InvitationQuery{By: coach.ID}, two.ID, three.ID, four.ID)
	list("the coach's open ones", auth.InvitationQuery{By: coach.ID, OpenAt: now}, two.ID)
	list("first page", auth.InvitationQuery{Page: domain.Page{Limit: 2}}, one.ID, two.ID)
	list("second page", auth.InvitationQuery{Page: domain.Page{Limit: 2, After: two.ID}}, three.ID, four.ID)
	list("the end", auth.InvitationQuery{Page: domain.Page{Limit: 2, After: four.ID}})
}

func (e *exam) closing() {
	academy, owner := e.owned("one")
	other, _ := e.owned("two")
	now := e.clock.Now()
	end := now.Add(time.Hour)
	take := func(academy, id domain.ID, at time.Time) func(auth.Tx) (bool, error) {
		return func(tx auth.Tx) (bool, error) { return tx.TakeInvitation(e.ctx, academy, id, owner.ID, at) }
	}
	revoke := func(academy, id domain.ID, at time.Time) func(auth.Tx) (bool, error) {
		return func(tx auth.Tx) (bool, error) { return tx.RevokeInvitation(e.ctx, academy, id, at) }
	}
	taken, revoked, expired := e.invite(academy, owner, "1", end), e.invite(academy, owner, "2", end), e.invite(academy, owner, "3", end)
	e.wrote("take from another academy", false, take(other, taken.ID, now))
	e.wrote("revoke from another academy", false, revoke(other, taken.ID, now))
	e.wrote("take at the last instant", true, take(academy, taken.ID, end.Add(-time.Millisecond)))
	e.wrote("take twice", false, take(academy, taken.ID, now))
	e.wrote("revoke what was taken", false, revoke(academy, taken.ID, now))
	e.wrote("revoke", true, revoke(academy, revoked.ID, now))
	e.wrote("revoke twice", false, revoke(academy, revoked.ID, now))
	e.wrote("take what was revoked", false, take(academy, revoked.ID, now))
	e.wrote("take what has expired", false, take(academy, expired.ID, end))
	e.wrote("revoke what has expired", false, revoke(academy, expired.ID, end))
	e.wrote("take what is absent", false, take(academy, e.clock.NewID(), now))
	taken.Accepted, taken.AcceptedBy = end.Add(-time.Millisecond), owner.ID
	revoked.Revoked = now
	e.read(func(tx auth.Tx) error {
		for _, want := range []auth.Invitation{taken, revoked, expired} {
			got, err := tx.Invitation(e.ctx, academy, want.ID)
			if err != nil {
				return err
			}
			e.same("Invitation", got, want)
		}
		return nil
	})
}

func (e *exam) takeRace() {
	academy, owner := e.owned("one")
	i := e.invite(academy, owner, "code", e.clock.Now().Add(time.Hour))
	wins := e.race(8, func(tx auth.Tx, _ int) (bool, error) {
		return tx.TakeInvitation(e.ctx, academy, i.ID, owner.ID, e.clock.Now())
	})
	e.same("winners of a race for an invitation", wins, 1)
}

func (e *exam) keys() {
	academy, owner := e.owned("one")
	other, _ := e.owned("two")
	now := e.clock.Now()
	added := func(name string) auth.AppKey {
		k := auth.AppKey{
			ID: e.clock.NewID(), Name: name, Scopes: auth.Scopes{auth.ProgressRead, auth.SessionsRead},
			Secret: auth.DigestOf(name), By: owner.ID, Created: now,
		}
		e.write(func(tx auth.Tx) error { return tx.AddKey(e.ctx, academy, k) })
		return k
	}
	one, two := added("one"), added("two")
	revoke := func(academy, id domain.ID) func(auth.Tx) (bool, error) {
		return func(tx auth.Tx) (bool, error) { return tx.RevokeKey(e.ctx, academy, id, now.Add(time.Second)) }
	}
	e.wrote("revoke from another academy", false, revoke(other, one.ID))
	e.wrote("revoke", true, revoke(academy, one.ID))
	e.wrote("revoke twice", false, revoke(academy, one.ID))
	e.wrote("revoke what is absent", false, revoke(academy, e.clock.NewID()))
	e.write(func(tx auth.Tx) error { return tx.TouchKey(e.ctx, academy, two.ID, now.Add(time.Minute)) })
	one.Revoked, two.Used = now.Add(time.Second), now.Add(time.Minute)
	e.read(func(tx auth.Tx) error {
		in, got, err := tx.KeyByID(e.ctx, one.ID)
		if err != nil {
			return err
		}
		e.same("academy of the key", in, academy)
		e.same("KeyByID", got, one)
		list, err := tx.Keys(e.ctx, academy, domain.Page{Limit: 10})
		if err != nil {
			return err
		}
		e.same("Keys", list, []auth.AppKey{one, two})
		list, err = tx.Keys(e.ctx, academy, domain.Page{After: one.ID, Limit: 1})
		if err != nil {
			return err
		}
		e.same("second page", list, []auth.AppKey{two})
		list, err = tx.Keys(e.ctx, other, domain.Page{Limit: 10})
		e.same("keys of another academy", len(list), 0)
		return err
	})
	e.read(func(tx auth.Tx) error {
		n, err := tx.GoodKeys(e.ctx, academy)
		e.same("good keys", n, 1)
		return err
	})
	e.kind("absent key", domain.NotFound, func(tx auth.Tx) error {
		_, _, err := tx.KeyByID(e.ctx, e.clock.NewID())
		return err
	})
	e.keyAccess(academy, other, one, two)
}

func (e *exam) keyAccess(academy, other domain.ID, revoked, good auth.AppKey) {
	e.Helper()
	got, err := e.store.KeyAccess(e.ctx, academy, good.ID)
	e.same("error", err, nil)
	e.same("access", got, auth.KeyAccess{Scopes: good.Scopes})
	for what, at := range map[string][2]domain.ID{
		"revoked key":     {academy, revoked.ID},
		"another academy": {other, good.ID},
		"absent key":      {academy, e.clock.NewID()},
	} {
		if got, err := e.store.KeyAccess(e.ctx, at[0], at[1]); err == nil || domain.KindOf(err) != domain.NotFound {
			e.Errorf("%s: got %+v, %v; want NotFound", what, got, err)
		}
	}
}

// ExerciseWith holds a store to the parts of the contract where rows are shared
// with the domain's own stores.
func ExerciseWith(t *testing.T, open func(t *testing.T) (auth.Store, Probe)) {
	t.Helper()
	for name, check := range map[string]func(*exam, Probe){
		"removal and role": (*exam).removal,
		"app access":       (*exam).appAccess,
		"groups":           (*exam).groups,
		"gifts":            (*exam).gifts,
		"guards":           (*exam).guards,
		"events":           (*exam).events,
	} {
		t.Run(name, func(t *testing.T) {
			store, probe := open(t)
			check(newExam(t, store), probe)
		})
	}
}

// ok fails the exam on an error of a probe.
func (e *exam) ok(err error) {
	e.Helper()
	if err != nil {
		e.Fatal(err)
	}
}

func (e *exam) removal(p Probe) {
	academy, _ := e.owned("one")
	cat := e.account("cat@one.example")
	m := e.member(academy, cat.ID, domain.Coach)
	f := e.family(m.Account, "home")
	e.ok(p.SetRole(e.ctx, academy, m.ID, domain.Owner))
	got, err := e.store.MemberAccess(e.ctx, f.ID, academy, m.ID)
	e.same("error", err, nil)
	e.same("role after a change", got.Role, domain.Owner)

	at := e.clock.Now().Add(time.Minute)
	e.ok(p.RemoveMember(e.ctx, academy, m.ID, at))
	if got, err := e.store.MemberAccess(e.ctx, f.ID, academy, m.ID); err == nil || domain.KindOf(err) != domain.NotFound {
		e.Errorf("access of a removed member: got %+v, %v; want NotFound", got, err)
	}
	e.belongs(cat)
	m.Role, m.Removed = domain.Owner, at
	e.read(func(tx auth.Tx) error {
		in, err := tx.Memberships(e.ctx, m.Account)
		if err != nil {
			return err
		}
		e.same("memberships of a removed member", len(in), 0)
		got, err := tx.MemberOfAccount(e.ctx, academy, m.Account)
		e.same("removed member", got, m)
		return err
	})
	e.kind("a second member beside a removed one", domain.Conflict, func(tx auth.Tx) error {
		again := m
		again.ID = e.clock.NewID()
		return tx.AddMember(e.ctx, academy, again)
	})
	back := m
	back.Role, back.Name, back.TimeZone, back.Junior, back.Removed = domain.Student, "Kate", "UTC", true, time.Time{}
	e.wrote("reinstate", true, func(tx auth.Tx) (bool, error) { return tx.Reinstate(e.ctx, academy, back) })
	e.read(func(tx auth.Tx) error {
		got, err := tx.Member(e.ctx, academy, m.ID)
		e.same("reinstated member", got, back)
		return err
	})
}

func (e *exam) groups(p Probe) {
	academy, _ := e.owned("one")
	other, stranger := e.owned("two")
	student := e.member(academy, e.account("sam@one.example").ID, domain.Student)
	group := e.clock.NewID()
	e.ok(p.AddGroup(e.ctx, academy, group))
	e.read(func(tx auth.Tx) error {
		here, err := tx.HasGroup(e.ctx, academy, group)
		if err != nil {
			return err
		}
		there, err := tx.HasGroup(e.ctx, other, group)
		e.same("group here and in another academy", []bool{here, there}, []bool{true, false})
		return err
	})
	for range 2 { // the second time changes nothing
		e.write(func(tx auth.Tx) error { return tx.Join(e.ctx, academy, group, student.ID, e.clock.Now()) })
	}
	in, err := p.Grouped(e.ctx, academy, group, student.ID)
	e.ok(err)
	e.same("student in the group", in, true)
	for what, fn := range map[string]func(auth.Tx) error{
		"stranger into the group":  func(tx auth.Tx) error { return tx.Join(e.ctx, academy, group, stranger.ID, e.clock.Now()) },
		"group of another academy": func(tx auth.Tx) error { return tx.Join(e.ctx, other, group, stranger.ID, e.clock.Now()) },
	} {
		e.kind(what, domain.NotFound, fn)
	}
	i := auth.Invitation{
		ID: e.clock.NewID(), Role: domain.Student, By: student.ID, Group: group,
		Code: auth.DigestOf("code"), Created: e.clock.Now(), Expires: e.clock.Now().Add(time.Hour),
	}
	e.write(func(tx auth.Tx) error { return tx.AddInvitation(e.ctx, academy, i) })
	e.read(func(tx auth.Tx) error {
		got, err := tx.Invitation(e.ctx, academy, i.ID)
		e.same("invitation to a group", got, i)
		return err
	})
}

// gifts: what an invitation gives comes back, however it is asked for.
func (e *exam) gifts(p Probe) {
	academy, owner := e.owned("one")
	programme := e.clock.NewID()
	e.ok(p.AddVersion(e.ctx, academy, programme, 3))
	day := domain.Date{Year: 2026, Month: 11, Day: 30}
	gives := auth.Invitation{
		ID: e.clock.NewID(), Role: domain.Student, By: owner.ID, Gives: auth.Gift{Programme: programme, Version: 3, Start: day},
		Code: auth.DigestOf("gives"), Created: e.clock.Now(), Expires: e.clock.Now().Add(time.Hour),
	}
	plain := gives
	plain.ID, plain.Gives, plain.Code = e.clock.NewID(), auth.Gift{}, auth.DigestOf("plain")
	e.write(func(tx auth.Tx) error {
		return errors.Join(tx.AddInvitation(e.ctx, academy, gives), tx.AddInvitation(e.ctx, academy, plain))
	})
	e.read(func(tx auth.Tx) error {
		one, err := tx.Invitation(e.ctx, academy, gives.ID)
		e.same("by identity", one, gives)
		_, byCode, codeErr := tx.InvitationByCode(e.ctx, gives.Code)
		e.same("by code", byCode, gives)
		list, listErr := tx.Invitations(e.ctx, academy, auth.InvitationQuery{Page: domain.Page{Limit: 9}})
		if len(list) != 2 {
			e.Fatalf("listed %+v; want two invitations", list)
		}
		e.same("listed", list[0], gives)
		e.same("listed without", list[1], plain)
		return errors.Join(err, codeErr, listErr)
	})
	e.kind("a version that is not there", domain.NotFound, func(tx auth.Tx) error {
		wrong := gives
		wrong.ID, wrong.Code, wrong.Gives.Version = e.clock.NewID(), auth.DigestOf("wrong"), 4
		return tx.AddInvitation(e.ctx, academy, wrong)
	})
}

func (e *exam) guards(p Probe) {
	academy, owner := e.owned("one")
	guardian := e.member(academy, e.account("gus@one.example").ID, domain.Guardian)
	student := e.member(academy, e.account("sam@one.example").ID, domain.Student)
	e.write(func(tx auth.Tx) error { return tx.Guard(e.ctx, academy, guardian.ID, student.ID, e.clock.Now()) })
	for who, want := range map[domain.ID]bool{guardian.ID: true, owner.ID: false} {
		got, err := p.Guarded(e.ctx, academy, who, student.ID)
		e.ok(err)
		e.same("guarded", got, want)
	}
}

func (e *exam) events(p Probe) {
	academy, owner := e.owned("one")
	other, _ := e.owned("two")
	first := domain.Event{
		At: e.clock.Now(), Actor: owner.ID, Kind: "key.created", Subject: e.clock.NewID(), Student: owner.ID,
		Data: map[string]any{"name": "ö \" ⛳"},
	}
	second := domain.Event{At: e.clock.Now().Add(time.Millisecond), Kind: "password.changed", Subject: owner.ID}
	for _, event := range []domain.Event{first, second} {
		e.write(func(tx auth.Tx) error { return tx.Record(e.ctx, academy, event) })
		e.kind("event rolled back", domain.Forbidden, func(tx auth.Tx) error {
			if err := tx.Record(e.ctx, academy, event); err != nil {
				return err
			}
			return domain.Errorf(domain.Forbidden, "no", "No.")
		})
	}
	got, err := p.Events(e.ctx, academy)
	e.ok(err)
	first.Seq, second.Seq = 1, 2
	if len(got) == 2 && len(got[1].Data) == 0 {
		got[1].Data = nil // none and empty are the same
	}
	e.same("events", got, []domain.Event{first, second})
	got, err = p.Events(e.ctx, other)
	e.ok(err)
	e.same("events of another academy", len(got), 0)
}
