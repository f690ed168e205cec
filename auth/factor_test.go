package auth_test

import (
	"encoding/base32"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/pquerna/otp/totp"

	"fringework/auth"
	"fringework/domain"
)

// app is an app for codes, which reads what it is given as any such does.
type app struct{ secret string }

func (w *fixture) app(e auth.Enrolment) app {
	w.Helper()
	u, err := url.Parse(e.URI)
	w.ok(err)
	w.same("scheme", u.Scheme+"://"+u.Host, "otpauth://totp")
	w.same("secret, typed and in the link", u.Query().Get("secret"), e.Secret)
	raw, err := base32.StdEncoding.WithPadding(base32.NoPadding).DecodeString(e.Secret)
	w.ok(err)
	w.same("bytes of the secret", len(raw), 20)
	if n := len(e.Picture); n < 21 || len(e.Picture[0]) != n || !e.Picture[0][0] || e.Picture[1][1] {
		w.Errorf("the picture of %d rows is no QR code", n)
	}
	return app{e.Secret}
}

// code is what the app shows at the clock's time and some steps later.
func (w *fixture) code(a app, later int) string {
	w.Helper()
	code, err := totp.GenerateCode(a.secret, w.clock.Now().Add(time.Duration(later)*30*time.Second))
	w.ok(err)
	return code
}

// protect sets up an app for an account, and moves the clock on.
func (w *fixture) protect(id auth.Identity) (app, []string) {
	w.Helper()
	e, err := w.BeginAuthenticator(w.ctx, id, password, home)
	w.ok(err)
	a := w.app(e)
	codes, err := w.ConfirmAuthenticator(w.ctx, id, w.code(a, 0))
	w.ok(err)
	w.clock.Advance(time.Minute)
	return a, codes
}

// ticket signs in as far as the second step.
func (w *fixture) ticket(email string) string {
	w.Helper()
	in, err := w.signIn(email, password)
	w.ok(err)
	if in.Second == nil || in.Access != "" || in.Refresh != "" || in.Account.ID != "" {
		w.Fatalf("got %+v; want to be asked for the second factor and nothing else", in)
	}
	return in.Second.Ticket
}

func (w *fixture) finish(ticket, code string) (auth.SignedIn, error) {
	w.Helper()
	return w.FinishSignIn(w.ctx, auth.Code{Ticket: ticket, Code: code, Address: home})
}

func TestSignInInTwoSteps(t *testing.T) {
	w := newFixture(t)
	first := w.signUp("olga")
	other, err := w.signIn("olga@example.org", password)
	w.ok(err)
	id := w.who(first)
	a, codes := w.protect(id)
	w.same("recovery codes", len(codes), 10)
	_, err = w.Authenticate(w.ctx, other.Access)
	w.refused("another sign-in, from before", err, domain.Unauthenticated, "token_refused")
	w.same("this sign-in", w.who(first).Account, id.Account)
	w.same("log", w.last(id.Academy).Kind, "second-factor.added")
	for _, code := range codes {
		w.same("code kept as it is", strings.Contains(w.kept(), strings.ReplaceAll(code, "-", "")), false)
	}

	in, err := w.finish(w.ticket("olga@example.org"), w.code(a, 0))
	w.ok(err)
	w.same("role", w.who(in).Role, domain.Owner)
	f, err := w.Factors(w.ctx, id.Account)
	w.ok(err)
	w.same("left", f.RecoveryCodes, 10)
	w.same("set up", f.Authenticator, start)
}

// TestCodesOnce: the code of a step is good once (RFC 6238 §5.2), in any ticket,
// and so is a ticket.
func TestCodesOnce(t *testing.T) {
	w := newFixture(t)
	a, codes := w.protect(w.who(w.signUp("olga")))
	one, two := w.ticket("olga@example.org"), w.ticket("olga@example.org")
	_, err := w.finish(one, w.code(a, 0))
	w.ok(err)
	_, err = w.finish(two, w.code(a, 0))
	w.refused("the same code again", err, domain.Unauthenticated, "code_refused")
	_, err = w.finish(two, w.code(a, -1))
	w.refused("the code before", err, domain.Unauthenticated, "code_refused")
	_, err = w.finish(one, w.code(a, 1))
	w.refused("the same ticket again", err, domain.Unauthenticated, "sign_in_again")
	_, err = w.finish(two, w.code(a, 1))
	w.ok(err)
	for later, good := range map[int]bool{-2: false, 2: false} {
		w.clock.Advance(10 * time.Minute)
		_, err = w.finish(w.ticket("olga@example.org"), w.code(a, later))
		w.same("a code two steps away", err == nil, good)
	}
	recovery := strings.ToLower(strings.ReplaceAll(codes[3], "-", " "))
	_, err = w.finish(w.ticket("olga@example.org"), recovery)
	w.ok(err)
	_, err = w.finish(w.ticket("olga@example.org"), recovery)
	w.refused("a recovery code again", err, domain.Unauthenticated, "code_refused")
}

// TestFiveTries: a ticket is good for five codes, and codes are limited over all
// tickets, however often the password is given.
func TestFiveTries(t *testing.T) {
	w := newFixture(t)
	a, _ := w.protect(w.who(w.signUp("olga")))
	ticket := w.ticket("olga@example.org")
	for range 4 {
		_, err := w.finish(ticket, "000000")
		w.refused("a wrong code", err, domain.Unauthenticated, "code_refused")
	}
	_, err := w.finish(ticket, "000000")
	w.refused("the fifth", err, domain.Unauthenticated, "sign_in_again")
	_, err = w.finish(ticket, w.code(a, 0))
	w.refused("a right one then", err, domain.Unauthenticated, "sign_in_again")
	guesses := 5
	for ; err == nil || domain.KindOf(err) == domain.Unauthenticated; guesses++ {
		_, err = w.finish(w.ticket("olga@example.org"), "000000")
		if guesses > 50 {
			t.Fatal("guessing is not slowed down")
		}
	}
	e := w.refusal("many codes", err, domain.TooMany, "too_many_attempts")
	w.clock.Advance(time.Duration(e.RetryAfter) * time.Second)
	_, err = w.finish(w.ticket("olga@example.org"), w.code(a, 0))
	w.ok(err)
}

func TestTicketsOfSignIn(t *testing.T) {
	w := newFixture(t)
	id := w.who(w.signUp("olga"))
	a, _ := w.protect(id)
	late, stale := w.ticket("olga@example.org"), w.ticket("olga@example.org")
	w.ok(w.ChangePassword(w.ctx, id, password, "eleven tin whistles", home))
	_, err := w.finish(stale, w.code(a, 0))
	w.refused("from before the password changed", err, domain.Unauthenticated, "sign_in_again")
	in, err := w.signIn("olga@example.org", "eleven tin whistles")
	w.ok(err)
	w.clock.Advance(11 * time.Minute)
	for name, ticket := range map[string]string{"old": in.Second.Ticket, "dropped": late, "none": "", "made up": "fwt_x"} {
		_, err = w.finish(ticket, w.code(a, 0))
		w.refused(name, err, domain.Unauthenticated, "sign_in_again")
	}
	n, err := w.Sweep(w.ctx)
	w.ok(err)
	if n == 0 || strings.Contains(w.kept(), "second-step") {
		t.Errorf("%d swept; an expired ticket is still kept", n)
	}
}

func TestAuthenticatorIsConfirmed(t *testing.T) {
	w := newFixture(t)
	id := w.who(w.signUp("olga"))
	_, err := w.BeginAuthenticator(w.ctx, id, "not the password", home)
	w.invalid("wrong password", err, "/password")
	_, err = w.ConfirmAuthenticator(w.ctx, id, "123456")
	w.refused("nothing begun", err, domain.Conflict, "authenticator_not_begun")
	e, err := w.BeginAuthenticator(w.ctx, id, password, home)
	w.ok(err)
	_, err = w.ConfirmAuthenticator(w.ctx, id, "nonsense")
	w.invalid("wrong code", err, "/code")
	in, err := w.signIn("olga@example.org", password)
	w.ok(err)
	w.same("asked before it is confirmed", in.Second == nil, true)
	again, err := w.BeginAuthenticator(w.ctx, id, password, home)
	w.ok(err)
	w.same("the same secret", again.Secret == e.Secret, false)
	codes, err := w.ConfirmAuthenticator(w.ctx, id, w.code(w.app(again), 0))
	w.ok(err)
	w.same("codes", len(codes), 10)
	_, err = w.BeginAuthenticator(w.ctx, id, password, home)
	w.refused("a second one", err, domain.Conflict, "authenticator_set")
}

func TestRemoveAuthenticator(t *testing.T) {
	w := newFixture(t)
	id := w.who(w.signUp("olga"))
	a, old := w.protect(id)
	w.invalid("wrong password", w.RemoveAuthenticator(w.ctx, id, auth.Confirmation{Password: "no", Code: w.code(a, 0), Address: home}), "/password")
	w.invalid("wrong code", w.RemoveAuthenticator(w.ctx, id, auth.Confirmation{Password: password, Code: "000000", Address: home}), "/code")
	codes, err := w.RenewRecoveryCodes(w.ctx, id, auth.Confirmation{Password: password, Code: old[0], Address: home})
	w.ok(err)
	_, err = w.RenewRecoveryCodes(w.ctx, id, auth.Confirmation{Password: password, Code: old[1], Address: home})
	w.invalid("a code of the former", err, "/code")
	w.ok(w.RequireFactor(w.ctx, id, true))
	w.refused("required", w.RemoveAuthenticator(w.ctx, id, auth.Confirmation{Password: password, Code: codes[0], Address: home}), domain.Conflict, "second_factor_required")
	w.ok(w.RequireFactor(w.ctx, id, false))
	w.ok(w.RemoveAuthenticator(w.ctx, id, auth.Confirmation{Password: password, Code: codes[0], Address: home}))
	w.same("log", w.last(id.Academy).Kind, "second-factor.removed")
	in, err := w.signIn("olga@example.org", password)
	w.ok(err)
	w.same("asked", in.Second == nil, true)
	f, err := w.Factors(w.ctx, id.Account)
	w.ok(err)
	w.same("codes left", f.RecoveryCodes, 0)
}

// TestRequiredOfCoaches: a coach without a second factor gets as far as setting
// one up; a student is not asked.
func TestRequiredOfCoaches(t *testing.T) {
	w := newFixture(t)
	owner := w.who(w.signUp("olga"))
	_, code := w.invite(owner, auth.Invite{Role: domain.Coach})
	coach := w.join(code, "carl")
	student := w.member(owner, auth.Invite{Role: domain.Student}, "stan")
	w.refused("without one of one's own", w.RequireFactor(w.ctx, owner, true), domain.Conflict, "second_factor_first")
	w.refused("a student", w.RequireFactor(w.ctx, student, true), domain.Forbidden, "not_allowed")
	w.protect(owner)
	w.ok(w.RequireFactor(w.ctx, owner, true))

	next, err := w.Refresh(w.ctx, coach.Refresh, "", home)
	w.ok(err)
	id := w.who(next)
	w.same("academy, refreshed", id.Academy, domain.ID(""))
	w.same("memberships", len(next.Memberships), 1)
	w.same("may set one up", id.May(auth.AccountWrite), true)
	in, err := w.signIn("carl@example.org", password)
	w.ok(err)
	w.same("academy, signed in", w.who(in).Academy, domain.ID(""))
	f, err := w.Factors(w.ctx, id.Account)
	w.ok(err)
	w.same("told", f.Required, true)
	w.protect(w.who(next))
	next, err = w.Refresh(w.ctx, next.Refresh, owner.Academy, home)
	w.ok(err)
	w.same("academy, with one", w.who(next).Academy, owner.Academy)
	in, err = w.signIn("stan@example.org", password)
	w.ok(err)
	w.same("a student", w.who(in).Academy, owner.Academy)
}

// TestFactorWhereverAPasswordIsAsked: there is no way round by an invitation or by
// a new academy.
func TestFactorWhereverAPasswordIsAsked(t *testing.T) {
	w := newFixture(t)
	owner := w.who(w.signUp("olga"))
	coach := w.who(w.signUp("carl"))
	a, _ := w.protect(coach)
	_, code := w.invite(owner, auth.Invite{Role: domain.Coach})
	in := acceptance(code, "carl")
	_, err := w.AcceptInvitation(w.ctx, in)
	w.refused("without a code", err, domain.Unauthenticated, "second_factor_needed")
	in.SecondFactor = "000000"
	_, err = w.AcceptInvitation(w.ctx, in)
	w.refused("wrong code", err, domain.Unauthenticated, "code_refused")
	in.SecondFactor = w.code(a, 0)
	joined, err := w.AcceptInvitation(w.ctx, in)
	w.ok(err)
	w.same("role", w.who(joined).Role, domain.Coach)
	up := auth.SignUp{AcademyName: "Second", TimeZone: "UTC", Name: "Carl", Email: "carl@example.org", Password: password, Address: home}
	_, err = w.SignUpAcademy(w.ctx, up)
	w.refused("a new academy", err, domain.Unauthenticated, "second_factor_needed")
	w.clock.Advance(time.Minute)
	up.SecondFactor = w.code(a, 0)
	_, err = w.SignUpAcademy(w.ctx, up)
	w.ok(err)
	for range 12 {
		_, err = w.SignUpAcademy(w.ctx, auth.SignUp{AcademyName: "Third", TimeZone: "UTC", Name: "Carl", Email: "carl@example.org", Password: password, SecondFactor: "000000", Address: home})
	}
	w.refused("guessing there", err, domain.TooMany, "too_many_attempts")
}

func TestResetFactors(t *testing.T) {
	w := newFixture(t)
	in := w.signUp("olga")
	id := w.who(in)
	w.protect(id)
	w.refused("nobody", w.ResetFactors(w.ctx, "nobody@example.org"), domain.NotFound, "not_found")
	w.ok(w.ResetFactors(w.ctx, " OLGA@example.org"))
	_, err := w.Authenticate(w.ctx, in.Access)
	w.refused("signed in", err, domain.Unauthenticated, "token_refused")
	again, err := w.signIn("olga@example.org", password)
	w.ok(err)
	w.same("asked", again.Second == nil, true)
	e := w.last(id.Academy)
	w.same("log", e.Kind, "second-factor.removed")
	w.same("by", e.Actor, domain.ID(""))
}
