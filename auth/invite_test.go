package auth_test

import (
	"fmt"
	"regexp"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"fringework/auth"
	"fringework/domain"
)

// staff is an academy with an owner, two coaches, and a junior of the first.
type staff struct {
	*fixture
	owner, coach, other, junior auth.Identity
}

func newStaff(t *testing.T) staff {
	w := newFixture(t)
	s := staff{fixture: w}
	s.owner = w.who(w.signUp("olga"))
	s.coach = w.member(s.owner, auth.Invite{Role: domain.Coach}, "cat")
	s.other = w.member(s.owner, auth.Invite{Role: domain.Coach}, "carl")
	s.junior = w.member(s.coach, auth.Invite{Role: domain.Student, Junior: true}, "jo")
	return s
}

func (s staff) linked(coach, student auth.Identity) (ok bool) {
	s.Helper()
	s.ok(s.memory.Read(s.ctx, func(tx auth.Tx) (err error) {
		ok, err = tx.Linked(s.ctx, s.owner.Academy, coach.Member, student.Member)
		return err
	}))
	return ok
}

func TestInviteAndAccept(t *testing.T) {
	s := newStaff(t)
	s.same("coach's role", s.coach.Role, domain.Coach)
	s.same("junior's role", s.junior.Role, domain.Student)
	s.same("junior linked to who invited", s.linked(s.coach, s.junior), true)
	s.same("junior linked to another coach", s.linked(s.other, s.junior), false)
	s.ok(s.memory.Read(s.ctx, func(tx auth.Tx) error {
		m, err := tx.Member(s.ctx, s.owner.Academy, s.junior.Member)
		s.same("junior", m.Junior, true)
		s.same("time zone, the academy's", m.TimeZone, "Europe/Dublin")
		return err
	}))
	joined := s.last(s.owner.Academy)
	s.same("event", joined.Kind, "member.joined")
	s.same("whose data", joined.Student, s.junior.Member)
	s.same("coach in the log", joined.Data["coach"], string(s.coach.Member))
	s.same("events", s.kinds(s.owner.Academy), "academy.created member.joined"+
		strings.Repeat(" invitation.made invitation.accepted member.joined", 3))
}

// TestInviteWho walks who invites whom.
func TestInviteWho(t *testing.T) {
	s := newStaff(t)
	ward := s.junior.Member
	guardian := s.member(s.owner, auth.Invite{Role: domain.Guardian, Student: ward}, "gus")
	key := domain.Actor{Academy: s.owner.Academy, Key: s.clock.NewID()}
	all := []domain.Role{domain.Owner, domain.Coach, domain.Student, domain.Guardian, "", "admin"}
	for name, c := range map[string]struct {
		by      domain.Actor
		invites []domain.Role
		tries   bool
	}{
		"owner":    {s.owner.Actor, []domain.Role{domain.Coach, domain.Student, domain.Guardian}, true},
		"coach":    {s.coach.Actor, []domain.Role{domain.Student, domain.Guardian}, true},
		"student":  {s.junior.Actor, nil, false},
		"guardian": {guardian.Actor, nil, false},
		"key":      {key, nil, false},
		"nobody":   {domain.Actor{}, nil, false},
	} {
		for _, role := range all {
			in := auth.Invite{Role: role}
			if role == domain.Guardian {
				in.Student = ward
			}
			_, _, err := s.Invite(s.ctx, c.by, in)
			want := false
			for _, r := range c.invites {
				want = want || r == role
			}
			switch {
			case want && err != nil:
				t.Errorf("%s invites %q: %v", name, role, err)
			case !want && c.tries:
				s.invalid(name+" invites "+string(role), err, "/role")
			case !want:
				s.refused(name+" invites "+string(role), err, domain.Forbidden, "not_allowed")
			}
		}
	}
}

func TestInviteInvalid(t *testing.T) {
	s := newStaff(t)
	adult := s.member(s.coach, auth.Invite{Role: domain.Student}, "al")
	stranger := s.who(s.signUp("stan"))
	gone := s.member(s.owner, auth.Invite{Role: domain.Coach}, "gone")
	s.ok(s.memory.RemoveMember(s.ctx, gone.Academy, gone.Member, s.clock.Now()))
	group := s.clock.NewID()
	s.ok(s.memory.AddGroup(s.ctx, stranger.Academy, group))
	none := s.clock.NewID()
	for name, c := range map[string]struct {
		by   auth.Identity
		in   auth.Invite
		want []string
	}{
		"bad e-mail and name":          {s.owner, auth.Invite{Role: domain.Coach, Email: "x", Name: "a\nb"}, []string{"/email", "/name"}},
		"all that coaches do not have": {s.owner, auth.Invite{Role: domain.Coach, Coach: none, Group: none, Junior: true, Student: none}, []string{"/coach", "/group", "/junior", "/student"}},
		"guardian of nobody":           {s.owner, auth.Invite{Role: domain.Guardian}, []string{"/student"}},
		"guardian of an adult":         {s.owner, auth.Invite{Role: domain.Guardian, Student: adult.Member}, []string{"/student"}},
		"guardian of a coach":          {s.owner, auth.Invite{Role: domain.Guardian, Student: s.coach.Member}, []string{"/student"}},
		"guardian of an absent":        {s.owner, auth.Invite{Role: domain.Guardian, Student: none}, []string{"/student"}},
		"guardian of nonsense":         {s.owner, auth.Invite{Role: domain.Guardian, Student: "x\x00"}, []string{"/student"}},
		"guardian of another's junior": {s.other, auth.Invite{Role: domain.Guardian, Student: s.junior.Member}, []string{"/student"}},
		"student for another coach":    {s.coach, auth.Invite{Role: domain.Student, Coach: s.other.Member}, []string{"/coach"}},
		"student for a student":        {s.owner, auth.Invite{Role: domain.Student, Coach: s.junior.Member}, []string{"/coach"}},
		"student for a removed coach":  {s.owner, auth.Invite{Role: domain.Student, Coach: gone.Member}, []string{"/coach"}},
		"student for a stranger":       {s.owner, auth.Invite{Role: domain.Student, Coach: stranger.Member}, []string{"/coach"}},
		"group of another academy":     {s.owner, auth.Invite{Role: domain.Student, Group: group}, []string{"/group"}},
		"group nonsense":               {s.owner, auth.Invite{Role: domain.Student, Group: "x", Coach: "x"}, []string{"/coach", "/group"}},
	} {
		_, _, err := s.Invite(s.ctx, c.by.Actor, c.in)
		s.invalid(name, err, c.want...)
	}
}

func TestCode(t *testing.T) {
	s := newStaff(t)
	seen := map[string]bool{}
	for range 20 {
		_, code := s.invite(s.owner, auth.Invite{Role: domain.Coach})
		// 26 letters of 5 bits each are 130 bits.
		if !regexp.MustCompile(`^[A-Z2-7]{26,}$`).MatchString(code) || seen[code] {
			t.Errorf("code %q", code)
		}
		seen[code] = true
	}
	_, code := s.invite(s.owner, auth.Invite{Role: domain.Coach})
	typed := strings.ToLower(code[:13]) + " - " + code[13:] + "\n"
	if _, err := s.InspectInvitation(s.ctx, strings.TrimSpace(typed), home); err != nil {
		t.Errorf("as typed from paper: %v", err)
	}
	for name, wrong := range map[string]string{"one letter more": code + "A", "one less": code[:25], "empty": "", "NUL": "\x00"} {
		_, err := s.InspectInvitation(s.ctx, wrong, home)
		s.refused(name, err, domain.NotFound, "no_invitation")
		_, err = s.AcceptInvitation(s.ctx, acceptance(wrong, "x"))
		s.refused(name, err, domain.NotFound, "no_invitation")
	}
}

func TestCodeGuessesAreLimited(t *testing.T) {
	s := newStaff(t)
	_, code := s.invite(s.owner, auth.Invite{Role: domain.Coach})
	for range 30 {
		_, err := s.InspectInvitation(s.ctx, "WRONG", away)
		s.refused("guess", err, domain.NotFound, "no_invitation")
	}
	_, err := s.InspectInvitation(s.ctx, code, away)
	e := s.refusal("right code while limited", err, domain.TooMany, "too_many_attempts")
	in := acceptance(code, "x")
	in.Address = away
	_, err = s.AcceptInvitation(s.ctx, in)
	s.refused("accepting while limited", err, domain.TooMany, "too_many_attempts")
	s.clock.Advance(time.Duration(e.RetryAfter) * time.Second)
	_, err = s.InspectInvitation(s.ctx, code, away)
	s.ok(err)
}

func TestInspectInvitation(t *testing.T) {
	s := newStaff(t)
	i, code := s.invite(s.coach, auth.Invite{Role: domain.Guardian, Student: s.junior.Member, Name: "Gus", Email: "gus@example.org"})
	v, err := s.InspectInvitation(s.ctx, code, home)
	s.ok(err)
	s.same("view", v, auth.InvitationView{
		AcademyName: "Academy of olga", Role: domain.Guardian, Name: "Gus", By: "cat", Student: "jo",
		EmailBound: true, TimeZone: "Europe/Dublin", Expires: i.Expires,
	})
	s.clock.Advance(14*24*time.Hour - time.Millisecond)
	_, err = s.InspectInvitation(s.ctx, code, home)
	s.ok(err)
	s.clock.Advance(time.Millisecond)
	_, err = s.InspectInvitation(s.ctx, code, home)
	s.refused("after 14 days", err, domain.Conflict, "invitation_expired")
	_, err = s.AcceptInvitation(s.ctx, acceptance(code, "gus"))
	s.refused("accepting it", err, domain.Conflict, "invitation_expired")
	s.refused("revoking it", s.RevokeInvitation(s.ctx, s.coach.Actor, i.ID), domain.Conflict, "invitation_expired")
}

func TestAcceptTwice(t *testing.T) {
	s := newStaff(t)
	_, code := s.invite(s.owner, auth.Invite{Role: domain.Coach})
	first := s.join(code, "cora")
	events := s.kinds(s.owner.Academy)
	again := s.join(code, "cora") // the reply was lost
	s.same("member", again.Current.Member, first.Current.Member)
	s.same("events", s.kinds(s.owner.Academy), events)
	wrong := acceptance(code, "cora")
	wrong.Password = "not the password"
	_, err := s.AcceptInvitation(s.ctx, wrong)
	s.refused("again with a wrong password", err, domain.Unauthenticated, "sign_in_refused")
	_, err = s.AcceptInvitation(s.ctx, acceptance(code, "dora"))
	s.refused("somebody else", err, domain.Conflict, "invitation_accepted")
	_, err = s.signIn("dora@example.org", password)
	s.refused("an account was made for nothing", err, domain.Unauthenticated, "sign_in_refused")
	_, err = s.InspectInvitation(s.ctx, code, home)
	s.refused("inspecting", err, domain.Conflict, "invitation_accepted")
	s.ok(s.memory.RemoveMember(s.ctx, s.owner.Academy, first.Current.Member, s.clock.Now()))
	_, err = s.AcceptInvitation(s.ctx, acceptance(code, "cora"))
	s.refused("once removed, the old code", err, domain.Conflict, "invitation_accepted")
}

// TestAcceptAtOnce: of parallel acceptances by different people one wins.
func TestAcceptAtOnce(t *testing.T) {
	s := newStaff(t)
	_, code := s.invite(s.owner, auth.Invite{Role: domain.Coach})
	var won, lost atomic.Int32
	var group sync.WaitGroup
	for i := range 8 {
		group.Go(func() {
			_, err := s.AcceptInvitation(s.ctx, acceptance(code, strings.Repeat("x", i+1)))
			if err == nil {
				won.Add(1)
			} else if domain.KindOf(err) == domain.Conflict {
				lost.Add(1)
			}
		})
	}
	group.Wait()
	if won.Load() != 1 || lost.Load() != 7 {
		t.Errorf("%d won, %d were told of the conflict; want 1 and 7", won.Load(), lost.Load())
	}
	s.same("joined", strings.Count(s.kinds(s.owner.Academy), "member.joined"), 5)
}

// TestAcceptRetriedAtOnce: the same person twice at once, as a phone may.
func TestAcceptRetriedAtOnce(t *testing.T) {
	s := newStaff(t)
	_, code := s.invite(s.owner, auth.Invite{Role: domain.Coach})
	members := make([]domain.ID, 4)
	var group sync.WaitGroup
	for i := range members {
		group.Go(func() {
			in, err := s.AcceptInvitation(s.ctx, acceptance(code, "cora"))
			if err != nil {
				t.Error(err)
				return
			}
			members[i] = in.Current.Member
		})
	}
	group.Wait()
	for _, m := range members {
		s.same("member", m, members[0])
	}
	s.same("joined", strings.Count(s.kinds(s.owner.Academy), "member.joined"), 5)
}

func TestAcceptInvalid(t *testing.T) {
	s := newStaff(t)
	_, code := s.invite(s.owner, auth.Invite{Role: domain.Coach})
	_, err := s.AcceptInvitation(s.ctx, auth.Accept{Code: code, TimeZone: "Europe/Atlantis"})
	s.invalid("empty", err, "/name", "/time_zone", "/email", "/password")
	_, bound := s.invite(s.owner, auth.Invite{Role: domain.Coach, Email: "Cora@Example.org"})
	_, err = s.AcceptInvitation(s.ctx, acceptance(bound, "dora"))
	s.invalid("bound to another e-mail", err, "/email")
	if strings.Contains(err.Error(), "cora") {
		t.Errorf("the error tells the e-mail: %v", err)
	}
	id := s.who(s.signUp("stan"))
	_, err = s.AcceptInvitation(s.ctx, auth.Accept{Code: bound, Account: id.Account, Address: home})
	s.invalid("bound, signed in as another", err, "/email")
	s.join(bound, "cora")
}

func TestAcceptWithAnAccount(t *testing.T) {
	s := newStaff(t)
	stan := s.who(s.signUp("stan"))
	_, code := s.invite(s.owner, auth.Invite{Role: domain.Student})
	wrong := acceptance(code, "stan")
	wrong.Password = "not the password"
	_, err := s.AcceptInvitation(s.ctx, wrong)
	s.refused("wrong password", err, domain.Unauthenticated, "sign_in_refused")
	in, err := s.AcceptInvitation(s.ctx, auth.Accept{Code: code, Account: stan.Account, TimeZone: "Pacific/Auckland", Address: home})
	s.ok(err)
	s.same("academy", in.Current.Academy, s.owner.Academy)
	s.same("role", in.Current.Role, domain.Student)
	s.same("memberships", len(in.Memberships), 2)
	s.ok(s.memory.Read(s.ctx, func(tx auth.Tx) error {
		m, err := tx.Member(s.ctx, s.owner.Academy, in.Current.Member)
		s.same("name, the account's", m.Name, "stan")
		s.same("time zone", m.TimeZone, "Pacific/Auckland")
		return err
	}))
	_, second := s.invite(s.owner, auth.Invite{Role: domain.Coach})
	_, err = s.AcceptInvitation(s.ctx, acceptance(second, "stan"))
	s.refused("a member already", err, domain.Conflict, "already_member")
	s.same("role after it", s.who(in).Role, domain.Student)
	_, err = s.InspectInvitation(s.ctx, second, home)
	s.ok(err) // not used up by it
}

func TestAcceptComesBack(t *testing.T) {
	s := newStaff(t)
	s.ok(s.memory.RemoveMember(s.ctx, s.owner.Academy, s.junior.Member, s.clock.Now()))
	_, code := s.invite(s.other, auth.Invite{Role: domain.Student})
	s.clock.Advance(time.Hour)
	back := s.who(s.join(code, "jo"))
	s.same("member", back.Member, s.junior.Member)
	s.same("linked to who invited now", s.linked(s.other, back), true)
	s.ok(s.memory.Read(s.ctx, func(tx auth.Tx) error {
		m, err := tx.Member(s.ctx, back.Academy, back.Member)
		s.same("junior still, whatever the new invitation says", m.Junior, true)
		s.same("removed", m.Removed.IsZero(), true)
		s.same("member since", m.Created, start)
		return err
	}))
	s.same("event", s.last(back.Academy).Kind, "member.joined")
}

func TestGuardians(t *testing.T) {
	s := newStaff(t)
	gus := s.member(s.coach, auth.Invite{Role: domain.Guardian, Student: s.junior.Member}, "gus")
	s.same("whose data", s.last(gus.Academy).Student, s.junior.Member)
	sister := s.member(s.coach, auth.Invite{Role: domain.Student, Junior: true}, "kim")
	guards := func(student auth.Identity) bool {
		ok, err := s.memory.Guarded(s.ctx, gus.Academy, gus.Member, student.Member)
		s.ok(err)
		return ok
	}
	s.same("reads the junior", guards(s.junior), true)
	s.same("reads another junior", guards(sister), false)
	_, code := s.invite(s.coach, auth.Invite{Role: domain.Guardian, Student: sister.Member})
	again := s.who(s.join(code, "gus"))
	s.same("same member", again.Member, gus.Member)
	s.same("reads both", guards(s.junior) && guards(sister), true)
	e := s.last(gus.Academy)
	s.same("event", e.Kind, "invitation.accepted")
	s.same("whose data", e.Student, sister.Member)

	_, code = s.invite(s.coach, auth.Invite{Role: domain.Guardian, Student: sister.Member})
	s.ok(s.memory.RemoveMember(s.ctx, gus.Academy, sister.Member, s.clock.Now()))
	_, err := s.AcceptInvitation(s.ctx, acceptance(code, "gert"))
	s.refused("the junior has left", err, domain.Conflict, "invitation_revoked")
}

// TestAcceptOutlivesCoachAndGroup: what is gone meanwhile is left out; but an
// invitation dies with the right of who made it.
func TestAcceptOutlivesCoachAndGroup(t *testing.T) {
	s := newStaff(t)
	group := s.clock.NewID()
	s.ok(s.memory.AddGroup(s.ctx, s.owner.Academy, group))
	_, kept := s.invite(s.owner, auth.Invite{Role: domain.Student, Coach: s.coach.Member, Group: group})
	_, late := s.invite(s.owner, auth.Invite{Role: domain.Student, Coach: s.coach.Member, Group: group})
	_, dead := s.invite(s.coach, auth.Invite{Role: domain.Student})
	first := s.who(s.join(kept, "al"))
	in, err := s.memory.Grouped(s.ctx, first.Academy, group, first.Member)
	s.ok(err)
	s.same("in the group", in, true)
	s.same("linked", s.linked(s.coach, first), true)

	s.ok(s.memory.RemoveMember(s.ctx, s.owner.Academy, s.coach.Member, s.clock.Now()))
	s.Store = groupless{s.Store}
	second := s.who(s.join(late, "bo"))
	s.same("linked to a removed coach", s.linked(s.coach, second), false)
	joined := s.last(second.Academy)
	s.same("coach in the log", joined.Data["coach"], nil)
	s.same("group in the log", joined.Data["group"], nil)
	for name, err := range map[string]error{
		"accepting":  errOf(s.AcceptInvitation(s.ctx, acceptance(dead, "cy"))),
		"inspecting": errOf(s.InspectInvitation(s.ctx, dead, home)),
	} {
		s.refused(name+" an invitation of a removed coach", err, domain.Conflict, "invitation_revoked")
	}
}

func errOf[T any](_ T, err error) error { return err }

// groupless is a store whose groups are archived.
type groupless struct{ auth.Store }

func (g groupless) Write(ctx ctx, fn func(auth.Tx) error) error {
	return g.Store.Write(ctx, func(tx auth.Tx) error { return fn(grouplessTx{tx}) })
}

type grouplessTx struct{ auth.Tx }

func (grouplessTx) HasGroup(ctx, domain.ID, domain.ID) (bool, error) { return false, nil }

func TestRevokeInvitation(t *testing.T) {
	s := newStaff(t)
	mine, code := s.invite(s.coach, auth.Invite{Role: domain.Student})
	stranger := s.who(s.signUp("stan"))
	s.refused("another coach", s.RevokeInvitation(s.ctx, s.other.Actor, mine.ID), domain.NotFound, "not_found")
	s.refused("another academy", s.RevokeInvitation(s.ctx, stranger.Actor, mine.ID), domain.NotFound, "not_found")
	s.refused("a student", s.RevokeInvitation(s.ctx, s.junior.Actor, mine.ID), domain.Forbidden, "not_allowed")
	s.refused("nonsense", s.RevokeInvitation(s.ctx, s.owner.Actor, "x\x00"), domain.NotFound, "not_found")
	_, err := s.Invitation(s.ctx, s.other.Actor, mine.ID)
	s.refused("seen by another coach", err, domain.NotFound, "not_found")
	got, err := s.Invitation(s.ctx, s.owner.Actor, mine.ID)
	s.ok(err)
	s.same("seen by the owner", got, mine)
	for range 2 {
		s.ok(s.RevokeInvitation(s.ctx, s.owner.Actor, mine.ID))
	}
	s.same("revoked once in the log", strings.Count(s.kinds(s.owner.Academy), "invitation.revoked"), 1)
	_, err = s.AcceptInvitation(s.ctx, acceptance(code, "x"))
	s.refused("accepting", err, domain.Conflict, "invitation_revoked")
	used, code := s.invite(s.coach, auth.Invite{Role: domain.Student})
	s.join(code, "al")
	s.refused("a used one", s.RevokeInvitation(s.ctx, s.coach.Actor, used.ID), domain.Conflict, "invitation_accepted")
}

func TestListInvitations(t *testing.T) {
	s := newStaff(t)
	_, code := s.invite(s.other, auth.Invite{Role: domain.Student})
	_, err := s.InspectInvitation(s.ctx, code, home)
	s.ok(err)
	count := func(by auth.Identity, open bool, limit int) int {
		list, err := s.ListInvitations(s.ctx, by.Actor, open, domain.Page{Limit: limit})
		s.ok(err)
		return len(list)
	}
	s.same("owner, all", count(s.owner, false, 10), 4)
	s.same("owner, open", count(s.owner, true, 10), 1)
	s.same("owner, a page", count(s.owner, false, 3), 3)
	s.same("coach, their own", count(s.coach, false, 10), 1)
	s.same("coach, their own open ones", count(s.coach, true, 10), 0)
	s.same("other coach", count(s.other, true, 10), 1)
	_, err = s.ListInvitations(s.ctx, s.junior.Actor, false, domain.Page{Limit: 10})
	s.refused("student", err, domain.Forbidden, "not_allowed")
	_, err = s.Invitation(s.ctx, s.junior.Actor, s.clock.NewID())
	s.refused("student", err, domain.Forbidden, "not_allowed")
	s.same("another academy", count(s.who(s.signUp("stan")), false, 10), 0)
}

// TestOpenInvitationTellsNothing: with mail, the answer to an invitation that is bound to
// no e-mail is the same whether the address has an account or not, before and after it
// was used; only the address's holder reads which, and joins.
func TestOpenInvitationTellsNothing(t *testing.T) {
	w := newFixture(t, mailing)
	owner := w.who(w.founded("olga"))
	w.founded("anna")
	_, code := w.invite(owner, auth.Invite{Role: domain.Student})
	accept := func(email, pw string) (auth.SignedIn, error) {
		return w.AcceptInvitation(w.ctx, auth.Accept{Code: code, Email: email, Password: pw, Name: "Eve", Address: away})
	}
	known, err := accept("anna@example.org", fresh)
	w.ok(err)
	unknown, err := accept("nobody@example.org", fresh)
	w.ok(err)
	w.same("answers", fmt.Sprintf("%+v", known), fmt.Sprintf("%+v", unknown))
	w.same("mailed", known.Mailed, true)
	l := w.letter(auth.LetterMayJoin, "anna@example.org")
	w.same("a stranger's words", l.Name+l.Academy+l.Token, "")
	token := w.letter(auth.LetterJoin, "nobody@example.org").Token
	in, err := w.ConfirmSignUp(w.ctx, token, home)
	w.ok(err)
	w.same("joined", [4]any{w.who(in).Role, w.who(in).Academy, in.Account.Verified, in.Accepted != nil}, [4]any{domain.Student, owner.Academy, start, true})
	_, err = w.ConfirmSignUp(w.ctx, token, home)
	w.refused("again", err, domain.NotFound, "no_sign_up_link")
	for _, email := range []string{"anna@example.org", "another@example.org"} {
		_, err = accept(email, fresh)
		w.refused("once it was used, "+email, err, domain.Conflict, "invitation_accepted")
	}
	again, err := accept("nobody@example.org", fresh)
	w.ok(err)
	w.same("a repetition signs in", again.Account.ID, in.Account.ID)

	_, code = w.invite(owner, auth.Invite{Role: domain.Coach})
	joined, err := accept("anna@example.org", password)
	w.ok(err)
	w.same("with the right password", w.who(joined).Role, domain.Coach)

	// A link whose invitation was withdrawn meanwhile makes nothing.
	i, code2 := w.invite(owner, auth.Invite{Role: domain.Student})
	code = code2
	_, err = accept("late@example.org", fresh)
	w.ok(err)
	w.ok(w.RevokeInvitation(w.ctx, owner.Actor, i.ID))
	_, err = w.ConfirmSignUp(w.ctx, w.letter(auth.LetterJoin, "late@example.org").Token, home)
	w.refused("withdrawn", err, domain.Conflict, "invitation_revoked")
}
