package auth_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"fringework/auth"
	"fringework/domain"
)

const fresh = "eleven tin whistles"

func mailing(c *auth.Config) { c.Mail = true }

// letter takes the next letter from the queue, which must be of a kind and to an
// address.
func (w *fixture) letter(kind auth.LetterKind, to string) auth.Letter {
	w.Helper()
	l, err := w.NextLetter(w.ctx, time.Minute)
	w.ok(err)
	w.same("letter", fmt.Sprint(l.Kind, " to ", l.To), fmt.Sprint(kind, " to ", to))
	w.ok(w.SettleLetter(w.ctx, l, 0))
	return l
}

func (w *fixture) noLetter() {
	w.Helper()
	if l, err := w.NextLetter(w.ctx, time.Minute); domain.KindOf(err) != domain.NotFound {
		w.Errorf("got the letter %s to %s, %v; want none", l.Kind, l.To, err)
	}
}

// founded signs up where there is mail, by the link.
func (w *fixture) founded(name string) auth.SignedIn {
	w.Helper()
	out := w.signUp(name)
	if !out.Mailed || out.Access != "" {
		w.Fatalf("got %+v; want a link sent and nothing else", out)
	}
	in, err := w.ConfirmSignUp(w.ctx, w.letter(auth.LetterSignUp, name+"@example.org").Token, home)
	w.ok(err)
	return in
}

func TestForgottenPassword(t *testing.T) {
	w := newFixture(t, mailing)
	in := w.founded("olga")
	w.ok(w.ForgotPassword(w.ctx, " OLGA@example.org", away))
	token := w.letter(auth.LetterReset, "olga@example.org").Token
	w.same("token kept", strings.Contains(w.kept(), token), false)
	w.invalid("a common one", w.UseReset(w.ctx, token, "password1", away), "/new_password")
	w.ok(w.UseReset(w.ctx, token, fresh, away))
	w.refused("again", w.UseReset(w.ctx, token, fresh, away), domain.NotFound, "no_reset")
	w.letter(auth.LetterPassword, "olga@example.org")
	_, err := w.Authenticate(w.ctx, in.Access)
	w.refused("a sign-in from before", err, domain.Unauthenticated, "token_refused")
	_, err = w.signIn("olga@example.org", password)
	w.refused("the old password", err, domain.Unauthenticated, "sign_in_refused")
	_, err = w.signIn("olga@example.org", fresh)
	w.ok(err)
	e := w.last(in.Current.Academy)
	w.same("log", e.Kind, "password.changed")
	w.same("by", e.Actor, in.Current.Member)
	w.noLetter()
}

func TestForgottenTellsNothing(t *testing.T) {
	w := newFixture(t, mailing)
	w.founded("olga")
	for _, email := range []string{"nobody@example.org", "nonsense", ""} {
		w.ok(w.ForgotPassword(w.ctx, email, home))
	}
	w.noLetter()
	w.ok(w.ForgotPassword(w.ctx, "olga@example.org", home))
	token := w.letter(auth.LetterReset, "olga@example.org").Token
	w.clock.Advance(time.Hour)
	w.refused("after an hour", w.UseReset(w.ctx, token, fresh, home), domain.NotFound, "no_reset")
	for _, email := range []string{"olga@example.org", "nobody@example.org"} {
		var err error
		n := 0
		for ; err == nil && n < 50; n++ {
			err = w.ForgotPassword(w.ctx, email, home)
		}
		w.refused("many to "+email, err, domain.TooMany, "too_many_attempts")
		w.clock.Advance(time.Hour)
	}
}

func TestForgottenWithoutMail(t *testing.T) {
	w := newFixture(t)
	w.signUp("olga")
	e := w.refusal("no mail", w.ForgotPassword(w.ctx, "olga@example.org", home), domain.Conflict, "mail_off")
	if !strings.Contains(e.Detail, "your coach") {
		t.Errorf("told %q; want whom to ask", e.Detail)
	}
}

// TestHandedReset: without mail, an owner or the student's coach hands a link on,
// and the student is told once.
func TestHandedReset(t *testing.T) {
	w := newFixture(t)
	owner := w.who(w.signUp("olga"))
	coach := w.member(owner, auth.Invite{Role: domain.Coach}, "carl")
	other := w.member(owner, auth.Invite{Role: domain.Coach}, "cora")
	student := w.member(coach, auth.Invite{Role: domain.Student}, "stan")
	second := w.member(owner, auth.Invite{Role: domain.Coach}, "oleg")
	w.ok(w.memory.SetRole(w.ctx, owner.Academy, second.Member, domain.Owner))
	stranger := w.who(w.signUp("sven"))
	hand := func(by auth.Identity, m domain.ID) error {
		_, _, err := w.HandReset(w.ctx, by, m)
		return err
	}
	w.refused("a student", hand(student, student.Member), domain.Forbidden, "not_allowed")
	for name, c := range map[string]struct {
		by auth.Identity
		of domain.ID
	}{
		"another coach's student": {other, student.Member}, "a coach, by a coach": {coach, other.Member},
		"of another academy": {stranger, student.Member}, "nobody": {owner, "nonsense"}, "an owner, by a coach": {coach, owner.Member},
	} {
		w.refused(name, hand(c.by, c.of), domain.NotFound, "not_found")
	}
	w.refused("an owner", hand(owner, second.Member), domain.Forbidden, "owner_reset")
	w.ok(hand(owner, coach.Member))

	token, expires, err := w.HandReset(w.ctx, coach, student.Member)
	w.ok(err)
	w.same("good for", expires.Sub(w.clock.Now().Truncate(time.Millisecond)), 24*time.Hour)
	w.same("log", w.last(owner.Academy).Kind, "reset-link.made")
	w.clock.Advance(time.Minute)
	later, _, err := w.HandReset(w.ctx, owner, student.Member)
	w.ok(err)
	w.refused("one overtaken by another", w.UseReset(w.ctx, token, fresh, home), domain.NotFound, "no_reset")
	w.ok(w.UseReset(w.ctx, later, fresh, home))
	in, err := w.signIn("stan@example.org", fresh)
	w.ok(err)
	var by []string
	for _, n := range in.Notices {
		by = append(by, n.By)
	}
	w.same("told", strings.Join(by, " "), "carl olga")
	in, err = w.signIn("stan@example.org", fresh)
	w.ok(err)
	w.same("told again", len(in.Notices), 0)
	w.ok(w.memory.RemoveMember(w.ctx, owner.Academy, student.Member, w.clock.Now()))
	w.refused("somebody removed", hand(owner, student.Member), domain.NotFound, "not_found")
}

// TestHandedResetStaysInTheAcademy: an owner does not get at what somebody has in
// another academy.
func TestHandedResetStaysInTheAcademy(t *testing.T) {
	w := newFixture(t)
	owner := w.who(w.signUp("olga"))
	w.signUp("carl")
	_, code := w.invite(owner, auth.Invite{Role: domain.Coach})
	joined, err := w.AcceptInvitation(w.ctx, acceptance(code, "carl"))
	w.ok(err)
	_, _, err = w.HandReset(w.ctx, owner, joined.Current.Member)
	w.refused("of two academies", err, domain.Conflict, "other_academies")
}

// TestResetKeepsTheSecondFactor: a link gives nobody the second half.
func TestResetKeepsTheSecondFactor(t *testing.T) {
	w := newFixture(t)
	owner := w.who(w.signUp("olga"))
	w.protect(owner)
	token, err := w.OperatorReset(w.ctx, "olga@example.org")
	w.ok(err)
	w.ok(w.UseReset(w.ctx, token, fresh, home))
	in, err := w.signIn("olga@example.org", fresh)
	w.ok(err)
	w.same("asked", in.Second != nil, true)
	_, err = w.OperatorReset(w.ctx, "nobody@example.org")
	w.refused("nobody", err, domain.NotFound, "not_found")
}

// TestSignUpTellsNothing: with mail, the answer is the same whether the address
// has an account or not; only its holder reads which.
func TestSignUpTellsNothing(t *testing.T) {
	w := newFixture(t, mailing)
	first := w.founded("olga")
	w.same("role", w.who(first).Role, domain.Owner)
	w.same("verified", first.Account.Verified, start)
	up := auth.SignUp{AcademyName: "Lure", TimeZone: "UTC", Name: "Eve", Email: "olga@example.org", Password: fresh, Address: away}
	known, err := w.SignUpAcademy(w.ctx, up)
	w.ok(err)
	up.Email = "nobody@example.org"
	unknown, err := w.SignUpAcademy(w.ctx, up)
	w.ok(err)
	w.same("answers", fmt.Sprintf("%+v", known), fmt.Sprintf("%+v", unknown))
	l := w.letter(auth.LetterHasAccount, "olga@example.org")
	w.same("a stranger's words", l.Name+l.Academy+l.Token, "")
	token := w.letter(auth.LetterSignUp, "nobody@example.org").Token
	_, err = w.ConfirmSignUp(w.ctx, token, home)
	w.ok(err)
	_, err = w.ConfirmSignUp(w.ctx, token, home)
	w.refused("again", err, domain.NotFound, "no_sign_up_link")

	up.Email, up.Password = "olga@example.org", password
	again, err := w.SignUpAcademy(w.ctx, up)
	w.ok(err)
	w.same("with the right password", len(again.Memberships), 2)
	w.same("account", again.Account.ID, first.Account.ID)
}

// TestSignUpTwiceByMail: of two links to one address, the second finds the account.
func TestSignUpTwiceByMail(t *testing.T) {
	w := newFixture(t, mailing)
	w.signUp("olga")
	w.signUp("olga")
	one, two := w.letter(auth.LetterSignUp, "olga@example.org"), w.letter(auth.LetterSignUp, "olga@example.org")
	_, err := w.ConfirmSignUp(w.ctx, one.Token, home)
	w.ok(err)
	_, err = w.ConfirmSignUp(w.ctx, two.Token, home)
	w.refused("the second", err, domain.Conflict, "email_taken")
}

// TestSignUpByMailAsksForTheFactor: the password alone opens no new academy either.
func TestSignUpByMailAsksForTheFactor(t *testing.T) {
	w := newFixture(t, mailing)
	a, _ := w.protect(w.who(w.founded("olga")))
	up := auth.SignUp{AcademyName: "Second", TimeZone: "UTC", Name: "Olga", Email: "olga@example.org", Password: password, Address: home}
	_, err := w.SignUpAcademy(w.ctx, up)
	w.refused("without a code", err, domain.Unauthenticated, "second_factor_needed")
	up.SecondFactor = w.code(a, 0)
	_, err = w.SignUpAcademy(w.ctx, up)
	w.ok(err)
}

func TestChangeEmail(t *testing.T) {
	w := newFixture(t, mailing)
	w.founded("anna")
	id := w.who(w.founded("olga"))
	_, err := w.ChangeEmail(w.ctx, id, "nonsense", password, home)
	w.invalid("no address", err, "/email")
	_, err = w.ChangeEmail(w.ctx, id, "new@example.org", "no", home)
	w.invalid("wrong password", err, "/password")
	waiting, err := w.ChangeEmail(w.ctx, id, "New@example.org", password, home)
	w.ok(err)
	w.same("waiting", waiting, true)
	old := w.letter(auth.LetterVerify, "new@example.org").Token
	_, err = w.ChangeEmail(w.ctx, id, "newer@example.org", password, home)
	w.ok(err)
	token := w.letter(auth.LetterVerify, "newer@example.org").Token
	_, err = w.signIn("olga@example.org", password)
	w.ok(err)
	w.refused("a link overtaken", w.ConfirmEmail(w.ctx, old, home), domain.NotFound, "no_email_link")
	w.ok(w.ConfirmEmail(w.ctx, token, home))
	w.refused("again", w.ConfirmEmail(w.ctx, token, home), domain.NotFound, "no_email_link")
	w.same("told", w.letter(auth.LetterMoved, "olga@example.org").Address, "newer@example.org")
	w.letter(auth.LetterMoved, "newer@example.org")
	_, err = w.signIn("newer@example.org", password)
	w.ok(err)
	w.same("log", w.last(id.Academy).Kind, "email.changed")

	waiting, err = w.ChangeEmail(w.ctx, id, "anna@example.org", password, home)
	w.ok(err)
	w.same("waiting for one that is taken", waiting, true)
	w.refused("taken", w.ConfirmEmail(w.ctx, w.letter(auth.LetterVerify, "anna@example.org").Token, home), domain.Conflict, "email_taken")
}

func TestChangeEmailWithoutMail(t *testing.T) {
	w := newFixture(t)
	w.signUp("anna")
	id := w.who(w.signUp("olga"))
	waiting, err := w.ChangeEmail(w.ctx, id, "new@example.org", password, home)
	w.ok(err)
	w.same("waiting", waiting, false)
	in, err := w.signIn("new@example.org", password)
	w.ok(err)
	w.same("verified", in.Account.Verified.IsZero(), true)
	_, err = w.ChangeEmail(w.ctx, id, "anna@example.org", password, home)
	w.refused("taken", err, domain.Conflict, "email_taken")
	w.refused("to verify", w.AskVerify(w.ctx, id, home), domain.Conflict, "mail_off")
}

// TestAlerts: what happened to an account is told at an address known to be its
// holder's, and only there.
func TestAlerts(t *testing.T) {
	w := newFixture(t, mailing)
	first := w.founded("olga")
	id := w.who(first)
	_, err := w.signIn("olga@example.org", password)
	w.ok(err)
	w.noLetter() // from where it always is
	w.clock.Advance(2 * time.Hour)
	_, err = w.SignIn(w.ctx, auth.Credentials{Email: "olga@example.org", Password: password, Address: away})
	w.ok(err)
	w.letter(auth.LetterSignIn, "olga@example.org")
	_, err = w.SignIn(w.ctx, auth.Credentials{Email: "olga@example.org", Password: password, Address: away})
	w.ok(err)
	w.noLetter()

	token := first.Refresh
	for range 2 {
		first, err = w.Refresh(w.ctx, first.Refresh, "", home)
		w.ok(err)
	}
	_, err = w.Refresh(w.ctx, token, "", away)
	w.refused("a stolen token", err, domain.Unauthenticated, "refresh_refused")
	w.letter(auth.LetterReplayed, "olga@example.org")

	_, code := w.invite(id, auth.Invite{Role: domain.Coach, Email: "carl@example.org"})
	l := w.letter(auth.LetterInvitation, "carl@example.org")
	w.same("invitation", fmt.Sprint(l.Code == code, l.Academy, l.By, l.Role), "trueAcademy of olgaolgacoach")
	carl := w.who(w.join(code, "carl"))
	w.ok(w.ChangePassword(w.ctx, carl, password, fresh, home))
	w.noLetter() // the address has not been confirmed
	w.ok(w.AskVerify(w.ctx, carl, home))
	w.ok(w.ConfirmEmail(w.ctx, w.letter(auth.LetterVerify, "carl@example.org").Token, home))
	w.ok(w.ChangePassword(w.ctx, carl, fresh, password, home))
	w.letter(auth.LetterPassword, "carl@example.org")
	w.protect(carl)
	w.letter(auth.LetterFactor, "carl@example.org")
	w.noLetter()
}

// TestLettersAgain: a letter that could not be sent is due again, until it is worth
// nothing any more.
func TestLettersAgain(t *testing.T) {
	w := newFixture(t, mailing)
	w.founded("olga")
	w.ok(w.ForgotPassword(w.ctx, "olga@example.org", home))
	l, err := w.NextLetter(w.ctx, time.Minute)
	w.ok(err)
	w.same("try", l.Tries, 1)
	w.noLetter()
	w.ok(w.SettleLetter(w.ctx, l, 10*time.Minute))
	w.clock.Advance(10 * time.Minute)
	l, err = w.NextLetter(w.ctx, time.Minute)
	w.ok(err)
	w.same("try", l.Tries, 2)
	w.ok(w.SettleLetter(w.ctx, l, 2*time.Hour)) // after the link has ended
	w.clock.Advance(3 * time.Hour)
	w.noLetter()
}

// TestLateLetters: what is worth nothing any more is not sent, and nothing waits
// behind it.
func TestLateLetters(t *testing.T) {
	w := newFixture(t, mailing)
	id := w.who(w.founded("olga"))
	for _, name := range []string{"carl", "cleo"} {
		w.invite(id, auth.Invite{Role: domain.Coach, Email: name + "@example.org"})
	}
	l, err := w.NextLetter(w.ctx, time.Minute)
	w.ok(err)
	w.clock.Advance(l.Expires.Sub(w.clock.Now()))
	w.noLetter()
	w.ok(w.ForgotPassword(w.ctx, "olga@example.org", home))
	w.letter(auth.LetterReset, "olga@example.org")
	w.noLetter()
}
