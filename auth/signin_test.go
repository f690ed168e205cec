package auth_test

import (
	"context"
	"strings"
	"testing"
	"time"

	"fringework/auth"
	"fringework/auth/authtest"
	"fringework/domain"
)

func TestSignUpAcademy(t *testing.T) {
	w := newFixture(t)
	in := w.signUp("olga")
	id := w.who(in)
	w.same("role", id.Role, domain.Owner)
	w.same("academy", id.Academy, in.Current.Academy)
	w.same("member", id.Member, in.Current.Member)
	w.same("academy's name", in.Current.AcademyName, "Academy of olga")
	w.same("memberships", len(in.Memberships), 1)
	w.same("account", id.Account, in.Account.ID)
	w.same("hash handed out", in.Account.Password, "")
	w.same("events", w.kinds(id.Academy), "academy.created member.joined")
	joined := w.last(id.Academy)
	w.same("who joined", joined.Subject, id.Member)
	w.same("role in the log", joined.Data["role"], "owner")
	w.same("access life", in.AccessExpires.Sub(start.Truncate(time.Second)), 10*time.Minute)
	w.same("refresh life", in.RefreshExpires.Sub(start), 30*24*time.Hour)
	w.ok(w.memory.Read(w.ctx, func(tx auth.Tx) error {
		m, err := tx.Member(w.ctx, id.Academy, id.Member)
		w.same("name", m.Name, "olga")
		w.same("time zone", m.TimeZone, "Europe/Dublin")
		w.same("created, in whole milliseconds", m.Created, start)
		return err
	}))
}

func TestNewAccountSaysWhenItWasMade(t *testing.T) {
	w := newFixture(t)
	in := w.signUp("olga")
	w.same("told at once", in.Account.Created, start)
	account, _, err := w.Me(w.ctx, in.Account.ID)
	w.ok(err)
	w.same("kept", account.Created, in.Account.Created)
}

func TestSignUpWithAnAccount(t *testing.T) {
	w := newFixture(t)
	first := w.signUp("olga")
	again := auth.SignUp{AcademyName: "Second", TimeZone: "UTC", Name: "Olga", Email: "OLGA@example.org ", Password: "wrong password", Address: home}
	_, err := w.SignUpAcademy(w.ctx, again)
	e := w.refusal("wrong password", err, domain.Unauthenticated, "sign_in_refused")
	if !strings.Contains(e.Detail, "Give its password") {
		t.Errorf("told %q; want what to do about the account", e.Detail)
	}
	again.Password = password
	second, err := w.SignUpAcademy(w.ctx, again)
	w.ok(err)
	w.same("account", second.Account.ID, first.Account.ID)
	w.same("memberships", len(second.Memberships), 2)
	w.same("current academy", second.Current.AcademyName, "Second")
	w.same("role there", w.who(second).Role, domain.Owner)
	w.same("the first sign-in stays in the first academy", w.who(first).Academy, first.Current.Academy)
}

func TestSignUpInvalid(t *testing.T) {
	w := newFixture(t)
	_, err := w.SignUpAcademy(w.ctx, auth.SignUp{})
	w.invalid("empty", err, "/academy_name", "/time_zone", "/name", "/email", "/password")
	w.same("accounts made", strings.Contains(w.kept(), "Email"), false)
}

func TestSignUpIsLimited(t *testing.T) {
	w := newFixture(t)
	var err error
	n := 0
	for ; err == nil && n < 100; n++ {
		_, err = w.SignUpAcademy(w.ctx, auth.SignUp{
			AcademyName: "A", TimeZone: "UTC", Name: "A", Email: strings.Repeat("a", n+1) + "@example.org", Password: password, Address: away,
		})
	}
	e := w.refusal("many academies from one address", err, domain.TooMany, "too_many_attempts")
	w.clock.Advance(time.Duration(e.RetryAfter) * time.Second)
	w.signUp("olga")
}

func TestSignIn(t *testing.T) {
	w := newFixture(t)
	w.signUp("olga")
	in, err := w.signIn(" OLGA@Example.org", password)
	w.ok(err)
	w.same("role", w.who(in).Role, domain.Owner)
	for name, c := range map[string][2]string{
		"wrong password":      {"olga@example.org", password + "x"},
		"password too long":   {"olga@example.org", strings.Repeat("x", 100_000)},
		"empty password":      {"olga@example.org", ""},
		"unknown e-mail":      {"nobody@example.org", password},
		"no e-mail":           {"", password},
		"nonsense for e-mail": {"\x00' OR 1=1 --", password},
	} {
		_, err := w.signIn(c[0], c[1])
		e := w.refusal(name, err, domain.Unauthenticated, "sign_in_refused")
		w.same(name+": text", e.Detail, "The e-mail or the password is wrong.")
	}
}

func TestSignInChoosesAnAcademy(t *testing.T) {
	w := newFixture(t)
	first := w.signUp("olga")
	second, err := w.SignUpAcademy(w.ctx, auth.SignUp{AcademyName: "Second", TimeZone: "UTC", Name: "Olga", Email: "olga@example.org", Password: password, Address: home})
	w.ok(err)
	stranger := w.signUp("stan")
	at := func(academy domain.ID) (auth.SignedIn, error) {
		return w.SignIn(w.ctx, auth.Credentials{Email: "olga@example.org", Password: password, Academy: academy, Address: home})
	}
	in, err := at("")
	w.ok(err)
	w.same("without choice: the one joined first", in.Current.Academy, first.Current.Academy)
	in, err = at(second.Current.Academy)
	w.ok(err)
	w.same("chosen", w.who(in).Academy, second.Current.Academy)
	_, err = at(stranger.Current.Academy)
	w.refused("somebody else's academy", err, domain.NotFound, "not_found")
	_, err = at("nonsense")
	w.refused("no academy", err, domain.NotFound, "not_found")
}

func TestSignInWithoutAcademy(t *testing.T) {
	w := newFixture(t)
	in := w.signUp("olga")
	w.ok(w.memory.RemoveMember(w.ctx, in.Current.Academy, in.Current.Member, w.clock.Now()))
	_, err := w.Authenticate(w.ctx, in.Access)
	w.refused("the removed member's token", err, domain.Unauthenticated, "token_refused")
	in, err = w.signIn("olga@example.org", password)
	w.ok(err)
	id := w.who(in)
	w.same("academy", id.Academy, domain.ID(""))
	w.same("current", in.Current, (*auth.Membership)(nil))
	w.same("may read the account", id.May(auth.AccountRead), true)
	w.same("may read an academy", id.May(auth.AcademyRead), false)
	account, memberships, err := w.Me(w.ctx, id.Account)
	w.ok(err)
	w.same("me", account.Email, "olga@example.org")
	w.same("hash handed out", account.Password, "")
	w.same("memberships", len(memberships), 0)
}

// TestPasswordGuessing: whoever waits exactly as long as told gets another
// try, and the right password works then.
func TestPasswordGuessing(t *testing.T) {
	w := newFixture(t)
	w.signUp("olga")
	guess := func() error {
		_, err := w.signIn("olga@example.org", "wrong guess")
		return err
	}
	tries, longest := 0, 0
	for range 60 {
		err := guess()
		if domain.KindOf(err) == domain.Unauthenticated {
			tries++
			continue
		}
		e := w.refusal("guess", err, domain.TooMany, "too_many_attempts")
		if e.RetryAfter < 1 || e.RetryAfter > 15*60 {
			t.Fatalf("RetryAfter %d s, want 1 s to 15 min", e.RetryAfter)
		}
		longest = max(longest, e.RetryAfter)
		w.clock.Advance(time.Duration(e.RetryAfter)*time.Second - time.Millisecond)
		if e.RetryAfter > 1 {
			w.refused("a millisecond early", guess(), domain.TooMany, "too_many_attempts")
		}
		w.clock.Advance(time.Millisecond)
		w.refused("after the wait it was told", guess(), domain.Unauthenticated, "sign_in_refused")
		tries++
	}
	if tries < 20 || longest != 15*60 {
		t.Errorf("%d tries, longest wait %d s; want the wait to grow to 900 s", tries, longest)
	}
	_, err := w.signIn("olga@example.org", password)
	e := w.refusal("right password while limited", err, domain.TooMany, "too_many_attempts")
	w.clock.Advance(time.Duration(e.RetryAfter) * time.Second)
	_, err = w.signIn("olga@example.org", password)
	w.ok(err)
}

// TestStrangersDoNotLockOut: guessing from many addresses slows strangers
// down, and not the owner where they have signed in before.
func TestStrangersDoNotLockOut(t *testing.T) {
	w := newFixture(t)
	w.signUp("olga")
	guess := func(i int) error {
		address := "203.0.113." + strings.Repeat("1", i%3+1) + ":" + strings.Repeat("x", i) // as good as many
		_, err := w.SignIn(w.ctx, auth.Credentials{Email: "olga@example.org", Password: "wrong guess", Address: address})
		return err
	}
	var err error
	n := 0
	for ; n < 100 && domain.KindOf(err) != domain.TooMany || n == 0; n++ {
		err = guess(n)
	}
	w.same("guesses from many addresses until limited", n, 21)
	_, err = w.SignIn(w.ctx, auth.Credentials{Email: "olga@example.org", Password: password, Address: away})
	e := w.refusal("the owner at a new address meanwhile", err, domain.TooMany, "too_many_attempts")
	if e.RetryAfter > 60 {
		t.Errorf("the owner waits %d s at a new address; want at most 60", e.RetryAfter)
	}
	_, err = w.signIn("olga@example.org", password)
	w.ok(err)
	// Nobody else's account is touched.
	w.signUp("stan")
	_, err = w.SignIn(w.ctx, auth.Credentials{Email: "stan@example.org", Password: password, Address: away})
	w.ok(err)
}

// TestOneAddressManyAccounts: a list of leaked passwords tried from one
// address is slowed down although each account is tried once.
func TestOneAddressManyAccounts(t *testing.T) {
	w := newFixture(t)
	var err error
	n := 0
	for ; n < 200; n++ {
		_, err = w.SignIn(w.ctx, auth.Credentials{Email: strings.Repeat("a", n%60+1) + "@example.org", Password: password, Address: away})
		if domain.KindOf(err) == domain.TooMany {
			break
		}
	}
	if n > 60 {
		t.Errorf("%d accounts tried from one address", n)
	}
	w.signUp("olga")
	_, err = w.signIn("olga@example.org", password)
	w.ok(err)
}

// TestSuccessIsNotLimited: right passwords cost nothing, however many.
func TestSuccessIsNotLimited(t *testing.T) {
	w := newFixture(t)
	w.signUp("olga")
	for range 100 {
		_, err := w.signIn("olga@example.org", password)
		w.ok(err)
	}
	for range 5 { // and gives no more guesses than before
		_, err := w.signIn("olga@example.org", "wrong guess")
		w.refused("guess", err, domain.Unauthenticated, "sign_in_refused")
	}
	_, err := w.signIn("olga@example.org", "wrong guess")
	w.refused("sixth guess", err, domain.TooMany, "too_many_attempts")
}

func TestLimitSurvivesARestart(t *testing.T) {
	w := newFixture(t)
	w.signUp("olga")
	for range 5 {
		_, err := w.signIn("olga@example.org", "wrong guess")
		w.refused("guess", err, domain.Unauthenticated, "sign_in_refused")
	}
	c := w.Config
	c.Limiter = auth.NewStoreLimiter(w.memory)
	restarted, err := auth.New(c)
	w.ok(err)
	_, err = restarted.SignIn(w.ctx, auth.Credentials{Email: "olga@example.org", Password: password, Address: home})
	w.refused("after a restart", err, domain.TooMany, "too_many_attempts")
}

func TestStrongerHashAtSignIn(t *testing.T) {
	w := newFixture(t)
	w.signUp("olga")
	strong, err := auth.NewHasher(auth.HashParams{MemoryKiB: 16, Passes: 1, Threads: 1}, 1)
	w.ok(err)
	w.Hasher = strong
	for range 2 {
		_, err = w.signIn("olga@example.org", password)
		w.ok(err)
		w.ok(w.memory.Read(w.ctx, func(tx auth.Tx) error {
			a, err := tx.AccountByEmail(w.ctx, "olga@example.org")
			if !strings.HasPrefix(a.Password, "$argon2id$v=19$m=16,") {
				t.Errorf("hash kept: %s, want m=16", a.Password)
			}
			return err
		}))
	}
}

func TestChangePassword(t *testing.T) {
	w := newFixture(t)
	here := w.signUp("olga")
	there, err := w.signIn("olga@example.org", password)
	w.ok(err)
	id := w.who(here)
	const fresh = "rake between balls"
	w.refused("wrong password counts as bad input", w.ChangePassword(w.ctx, id, "wrong", fresh, home), domain.Invalid, "password")
	w.invalid("wrong password", w.ChangePassword(w.ctx, id, "wrong", fresh, home), "/current_password")
	w.invalid("short new one", w.ChangePassword(w.ctx, id, password, "short", home), "/new_password")
	w.ok(w.ChangePassword(w.ctx, id, password, fresh, home))
	w.who(here)
	_, err = w.Refresh(w.ctx, here.Refresh, "", home)
	w.ok(err)
	_, err = w.Authenticate(w.ctx, there.Access)
	w.refused("the other sign-in's token", err, domain.Unauthenticated, "token_refused")
	_, err = w.Refresh(w.ctx, there.Refresh, "", home)
	w.refused("the other sign-in's refresh token", err, domain.Unauthenticated, "refresh_refused")
	_, err = w.signIn("olga@example.org", password)
	w.refused("the old password", err, domain.Unauthenticated, "sign_in_refused")
	_, err = w.signIn("olga@example.org", fresh)
	w.ok(err)
	e := w.last(id.Academy)
	w.same("event", e.Kind, "password.changed")
	w.same("by", e.Actor, id.Member)
}

func TestResetPassword(t *testing.T) {
	w := newFixture(t)
	in := w.signUp("olga")
	academy := in.Current.Academy
	w.invalid("nonsense", w.ResetPassword(w.ctx, "olga", "short"), "/email", "/new_password")
	w.refused("nobody", w.ResetPassword(w.ctx, "nobody@example.org", "rake between balls"), domain.NotFound, "not_found")
	w.ok(w.ResetPassword(w.ctx, "Olga@example.org", "rake between balls"))
	_, err := w.Authenticate(w.ctx, in.Access)
	w.refused("earlier token", err, domain.Unauthenticated, "token_refused")
	_, err = w.signIn("olga@example.org", "rake between balls")
	w.ok(err)
	w.same("by the system", w.last(academy).Actor, domain.ID(""))
}

type ctx = context.Context

// racing is a store on which something happens just before the n-th write.
type racing struct {
	auth.Store
	n    int
	then func()
}

func (r *racing) Write(ctx ctx, fn func(auth.Tx) error) error {
	if r.n--; r.n == 0 {
		r.then()
	}
	return r.Store.Write(ctx, fn)
}

// TestSignInWhilePasswordChanges: a password proven just before it was changed
// opens nothing.
func TestSignInWhilePasswordChanges(t *testing.T) {
	w := newFixture(t, func(c *auth.Config) { c.Limiter = authtest.Unlimited{} })
	w.signUp("olga")
	plain := w.Store
	// The only write of a sign-in stores the family.
	w.Store = &racing{plain, 1, func() {
		w.Store = plain
		w.ok(w.ResetPassword(w.ctx, "olga@example.org", "rake between balls"))
	}}
	_, err := w.signIn("olga@example.org", password)
	w.refused("old password", err, domain.Unauthenticated, "sign_in_refused")
}

// TestSignUpsOfOneEmailAtOnce: the loser of the race finds the account there
// and proves its password.
func TestSignUpsOfOneEmailAtOnce(t *testing.T) {
	for other, right := range map[string]bool{password: true, "another password": false} {
		w := newFixture(t, func(c *auth.Config) { c.Limiter = authtest.Unlimited{} })
		plain := w.Store
		w.Store = &racing{plain, 1, func() {
			w.Store = plain
			w.signUp("olga")
		}}
		_, err := w.SignUpAcademy(w.ctx, auth.SignUp{
			AcademyName: "Mine", TimeZone: "UTC", Name: "Olga", Email: "olga@example.org", Password: other, Address: home,
		})
		if right {
			w.ok(err)
		} else {
			w.refused("other password", err, domain.Unauthenticated, "sign_in_refused")
		}
	}
}

func TestSignOut(t *testing.T) {
	w := newFixture(t)
	first := w.signUp("olga")
	second, err := w.signIn("olga@example.org", password)
	w.ok(err)
	for range 2 {
		w.ok(w.SignOut(w.ctx, w.family(first)))
	}
	_, err = w.Authenticate(w.ctx, first.Access)
	w.refused("token after signing out", err, domain.Unauthenticated, "token_refused")
	_, err = w.Refresh(w.ctx, first.Refresh, "", home)
	w.refused("refresh token after signing out", err, domain.Unauthenticated, "refresh_refused")
	w.who(second)

	w.clock.Advance(time.Hour)
	parts := strings.Split(second.Refresh, ".")
	for _, token := range []string{"", "nonsense", parts[0] + ".x." + parts[2]} {
		w.ok(w.SignOutByRefresh(w.ctx, token))
	}
	second, err = w.Refresh(w.ctx, second.Refresh, "", home)
	w.ok(err)
	for range 2 {
		w.ok(w.SignOutByRefresh(w.ctx, second.Refresh))
	}
	_, err = w.Authenticate(w.ctx, second.Access)
	w.refused("token after signing out by refresh token", err, domain.Unauthenticated, "token_refused")
}

// family gives the family of a refresh token, which it names.
func (w *fixture) family(in auth.SignedIn) domain.ID {
	return domain.ID(strings.TrimPrefix(strings.Split(in.Refresh, ".")[0], "fwr_"))
}

func TestRoleChangeActsAtOnce(t *testing.T) {
	w := newFixture(t)
	owner := w.who(w.signUp("olga"))
	_, code := w.invite(owner, auth.Invite{Role: domain.Coach})
	in := w.join(code, "cat")
	w.same("before", w.who(in).May(auth.KeyManage), false)
	w.ok(w.memory.SetRole(w.ctx, owner.Academy, in.Current.Member, domain.Owner))
	w.same("after", w.who(in).May(auth.KeyManage), true)
}

func TestNoSecretIsKept(t *testing.T) {
	w := newFixture(t)
	in := w.signUp("olga")
	owner := w.who(in)
	_, code := w.invite(owner, auth.Invite{Role: domain.Coach})
	k, secret, err := w.CreateKey(w.ctx, owner.Actor, "Key", auth.Scopes{auth.CalcUse})
	w.ok(err)
	next, err := w.Refresh(w.ctx, in.Refresh, "", home)
	w.ok(err)
	token, err := w.ExchangeKey(w.ctx, auth.KeyRequest{GrantType: "client_credentials", ClientID: string(k.ID), ClientSecret: secret, Address: home})
	w.ok(err)
	kept := w.kept()
	for name, text := range map[string]string{
		"password": password, "access token": in.Access, "code": code, "client secret": secret, "key's token": token.Access,
		"refresh secret": strings.Split(in.Refresh, ".")[2], "successor": strings.Split(next.Refresh, ".")[2],
		"lineage": strings.Split(in.Refresh, ".")[1], "address": home,
	} {
		if text == "" || strings.Contains(kept, text) {
			t.Errorf("the %s is kept", name)
		}
	}
	if !strings.Contains(kept, "olga@example.org") {
		t.Error("the test does not see what is kept")
	}
}

func TestNewRefusesBadConfigurations(t *testing.T) {
	good := newFixture(t).Config
	for name, change := range map[string]func(*auth.Config){
		"no store":         func(c *auth.Config) { c.Store = nil },
		"no keys":          func(c *auth.Config) { c.Keys = nil },
		"no hasher":        func(c *auth.Config) { c.Hasher = nil },
		"no limiter":       func(c *auth.Config) { c.Limiter = nil },
		"no clock":         func(c *auth.Config) { c.Env.Now = nil },
		"no identities":    func(c *auth.Config) { c.Env.NewID = nil },
		"no issuer":        func(c *auth.Config) { c.Issuer = "" },
		"no audience":      func(c *auth.Config) { c.Audience = "" },
		"access for a day": func(c *auth.Config) { c.AccessLife = 24 * time.Hour },
		"idle over life":   func(c *auth.Config) { c.RefreshIdle = c.FamilyLife + 1 },
		"short invitation": func(c *auth.Config) { c.InvitationLife = time.Second },
	} {
		c := good
		change(&c)
		if _, err := auth.New(c); err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}
