package auth_test

import (
	"strings"
	"testing"

	"fringework/auth"
	"fringework/domain"
)

// invitees makes people of a list of names, each with an e-mail after a comma.
func invitees(list ...string) (people []auth.Invitee) {
	for _, line := range list {
		name, email, _ := strings.Cut(line, ",")
		people = append(people, auth.Invitee{Name: name, Email: email})
	}
	return people
}

func TestInviteStudents(t *testing.T) {
	s := newStaff(t)
	programme, day := s.clock.NewID(), domain.Date{Year: 2026, Month: 11, Day: 30}
	s.ok(s.memory.AddVersion(s.ctx, s.owner.Academy, programme, 2))
	common := auth.Invite{Gives: auth.Gift{Programme: programme, Version: 2, Start: day}}
	people := invitees("Edda Falk", "Finn,FINN@example.org", "Gry,not an address", ",", "Hal,finn@example.org", strings.Repeat("x", 101), ",ida@example.org")
	people[0].Junior = true
	all, err := s.InviteStudents(s.ctx, s.coach.Actor, common, people)
	s.ok(err)
	s.same("results", len(all), len(people))
	for i, pointers := range [][]string{nil, nil, {"/email"}, {"/name"}, {"/email"}, {"/name"}, nil} {
		if pointers != nil {
			s.invalid(people[i].Name, all[i].Err, pointers...)
			s.same("code of one refused", all[i].Code, "")
			continue
		}
		s.ok(all[i].Err)
		got := all[i].Invitation
		s.same("role", got.Role, domain.Student)
		s.same("coach", got.Coach, s.coach.Member)
		s.same("gives", got.Gives, common.Gives)
		s.same("code is kept as its digest", got.Code, auth.DigestOf(all[i].Code))
	}
	s.same("junior", all[0].Invitation.Junior, true)
	s.same("e-mail", all[1].Invitation.Email, "finn@example.org")
	last := s.last(s.owner.Academy)
	s.same("event", last.Kind, "invitation.made")
	s.same("programme in the log", last.Data["programme_id"], string(programme))
	s.same("start in the log", last.Data["start_date"], "2026-11-30")
	for k, v := range last.Data {
		if text, ok := v.(string); ok && strings.Contains(text, "ida") {
			t.Errorf("the log tells at %s who was invited: %s", k, text)
		}
	}

	in, err := s.AcceptInvitation(s.ctx, acceptance(all[0].Code, "edda"))
	s.ok(err)
	if in.Accepted == nil {
		t.Fatal("the acceptance does not tell of the invitation")
	}
	s.same("gives on joining", in.Accepted.Gives, common.Gives)
	s.same("who joined", in.Accepted.AcceptedBy, in.Current.Member)
	s.same("in whose name", in.Accepted.Inviter, s.coach.Actor)
	again, err := s.AcceptInvitation(s.ctx, acceptance(all[0].Code, "edda"))
	s.ok(err)
	s.same("the same when repeated", *again.Accepted, *in.Accepted)
	plain, err := s.signIn("edda@example.org", password)
	s.ok(err)
	if plain.Accepted != nil {
		t.Errorf("signing in accepts %+v; want nothing", plain.Accepted)
	}
}

// Who belongs to the academy already is told of, and who belongs to another is not;
// several names are no name.
func TestInviteStudentsRows(t *testing.T) {
	s := newStaff(t)
	s.who(s.signUp("zoe"))
	people := append(invitees("Jo,JO@example.org", "Zoe,zoe@example.org", "Edda Falk; Finn Moe", "Edda\tFalk", "Edda\nFinn"), auth.Invitee{Email: "cat@example.org"})
	all, err := s.InviteStudents(s.ctx, s.coach.Actor, auth.Invite{}, people)
	s.ok(err)
	for _, i := range []int{0, 5} {
		s.refused(people[i].Email, all[i].Err, domain.Conflict, "already_member")
		s.same("field", domain.FieldsOf(all[i].Err)[0].Pointer, "/email")
	}
	s.ok(all[1].Err)
	for _, i := range []int{2, 3, 4} {
		s.invalid(people[i].Name, all[i].Err, "/name")
	}
	_, _, err = s.Invite(s.ctx, s.coach.Actor, auth.Invite{Role: domain.Student, Email: "jo@example.org"})
	s.refused("one by one", err, domain.Conflict, "already_member")
	guardian := auth.Invite{Role: domain.Guardian, Student: s.junior.Member, Email: "gus@example.org"}
	s.member(s.coach, guardian, "gus")
	_, _, err = s.Invite(s.ctx, s.coach.Actor, guardian) // perhaps of another junior
	s.ok(err)
}

// What is wrong with all of them leaves nobody invited.
func TestInviteStudentsRefusals(t *testing.T) {
	s := newStaff(t)
	before := s.kinds(s.owner.Academy)
	try := func(by domain.Actor, in auth.Invite, people []auth.Invitee) error {
		_, err := s.InviteStudents(s.ctx, by, in, people)
		return err
	}
	one := invitees("Edda")
	s.invalid("nobody", try(s.coach.Actor, auth.Invite{}, nil), "/items")
	s.invalid("too many", try(s.coach.Actor, auth.Invite{}, make([]auth.Invitee, 201)), "/items")
	s.invalid("another's students", try(s.coach.Actor, auth.Invite{Coach: s.other.Member}, one), "/coach")
	s.invalid("no such group", try(s.coach.Actor, auth.Invite{Group: s.clock.NewID()}, one), "/group")
	s.refused("no such version", try(s.coach.Actor, auth.Invite{Gives: auth.Gift{Programme: s.clock.NewID(), Version: 1}}, one), domain.NotFound, "not_found")
	s.refused("a student invites", try(s.junior.Actor, auth.Invite{}, one), domain.Forbidden, "not_allowed")
	s.same("events", s.kinds(s.owner.Academy), before)
	all, err := s.InviteStudents(s.ctx, s.owner.Actor, auth.Invite{}, invitees(","))
	s.ok(err)
	s.invalid("none in order", all[0].Err, "/name")
	s.same("events after none", s.kinds(s.owner.Academy), before)
	if err := try(s.owner.Actor, auth.Invite{Coach: s.other.Member}, one); err != nil {
		t.Errorf("an owner invites for a coach: %v", err)
	}
	_, _, err = s.Invite(s.ctx, s.owner.Actor, auth.Invite{Role: domain.Coach, Gives: auth.Gift{Version: 1}})
	s.invalid("a coach is given nothing", err, "/programme")
}

// An invitation whose maker has left is not open any more, and is not told to be.
func TestInvitationOfWhoLeft(t *testing.T) {
	s := newStaff(t)
	i, code := s.invite(s.other, auth.Invite{Role: domain.Student})
	mine, _ := s.invite(s.owner, auth.Invite{Role: domain.Student})
	s.member(s.other, auth.Invite{Role: domain.Student}, "sam") // whose invitation was used
	at := s.clock.Now()
	s.ok(s.memory.RemoveMember(s.ctx, s.owner.Academy, s.other.Member, at))
	open, err := s.ListInvitations(s.ctx, s.owner.Actor, true, domain.Page{Limit: 99})
	s.ok(err)
	s.same("open ones", len(open), 1)
	s.same("the open one", open[0].ID, mine.ID)
	all, err := s.ListInvitations(s.ctx, s.owner.Actor, false, domain.Page{Limit: 99})
	s.ok(err)
	for _, x := range all {
		want := auth.Accepted
		switch x.ID {
		case i.ID:
			want = auth.Revoked
		case mine.ID:
			want = auth.Open
		}
		s.same("state of "+x.Name, x.State(s.clock.Now()), want)
	}
	got, err := s.Invitation(s.ctx, s.owner.Actor, i.ID)
	s.ok(err)
	s.same("revoked", got.Revoked, at)
	_, err = s.AcceptInvitation(s.ctx, acceptance(code, "late"))
	s.refused("accepting it", err, domain.Conflict, "invitation_revoked")
}
