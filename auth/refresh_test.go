package auth_test

import (
	"errors"
	"strings"
	"sync"
	"testing"
	"time"

	"fringework/auth"
	"fringework/auth/authtest"
	"fringework/domain"
)

func TestRefreshChain(t *testing.T) {
	w := newFixture(t)
	in := w.signUp("olga")
	seen := map[string]bool{in.Refresh: true}
	for range 20 {
		w.clock.Advance(9 * time.Minute)
		next, err := w.Refresh(w.ctx, in.Refresh, "", away)
		w.ok(err)
		if seen[next.Refresh] {
			t.Fatal("a refresh token was given twice")
		}
		seen[next.Refresh] = true
		id := w.who(next)
		w.same("family", id.Family, w.family(in))
		w.same("academy", id.Academy, in.Current.Academy)
		w.same("refresh life", next.RefreshExpires.Sub(w.clock.Now()), 30*24*time.Hour)
		in = next
	}
}

func TestRefreshReplayEndsTheFamily(t *testing.T) {
	w := newFixture(t)
	stolen := w.signUp("olga")
	other, err := w.signIn("olga@example.org", password)
	w.ok(err)
	next, err := w.Refresh(w.ctx, stolen.Refresh, "", home)
	w.ok(err)
	last, err := w.Refresh(w.ctx, next.Refresh, "", home)
	w.ok(err) // at once: the age of a token says nothing
	_, err = w.Refresh(w.ctx, stolen.Refresh, "", away)
	e := w.refusal("a token once its successor was used", err, domain.Unauthenticated, "refresh_refused")
	w.same("what its holder is told", strings.Contains(e.Detail, "old copy of this sign-in"), true)
	for name, in := range map[string]auth.SignedIn{"successor": next, "newest": last} {
		_, err = w.Refresh(w.ctx, in.Refresh, "", home)
		e = w.refusal(name+" after it", err, domain.Unauthenticated, "refresh_refused")
		w.same("what the device is told", strings.Contains(e.Detail, "old copy of this sign-in"), true)
	}
	for name, in := range map[string]auth.SignedIn{"first": stolen, "second": next, "third": last} {
		_, err = w.Authenticate(w.ctx, in.Access)
		w.refused(name+" access token after it", err, domain.Unauthenticated, "token_refused")
	}
	w.who(other) // another device is not touched
	academy := stolen.Current.Academy
	w.same("events", w.kinds(academy), "academy.created member.joined sign-in.replayed")
	w.same("whose", w.last(academy).Subject, stolen.Current.Member)
	_, err = w.Refresh(w.ctx, stolen.Refresh, "", away)
	w.refused("replay of an ended family", err, domain.Unauthenticated, "refresh_refused")
	w.same("events after that", w.kinds(academy), "academy.created member.joined sign-in.replayed")
}

// TestRefreshLostReply: the same request repeated gives the same successor, as
// long as the sign-in lasts; the repetitions do not make it last longer.
func TestRefreshLostReply(t *testing.T) {
	w := newFixture(t)
	in := w.signUp("olga")
	next, err := w.Refresh(w.ctx, in.Refresh, "", home)
	w.ok(err)
	for _, later := range []time.Duration{0, time.Second, time.Minute, 24 * time.Hour, 29*24*time.Hour - 61*time.Second - time.Millisecond} {
		w.clock.Advance(later)
		again, err := w.Refresh(w.ctx, in.Refresh, "", home)
		w.ok(err)
		w.same("successor", again.Refresh, next.Refresh)
		w.same("its end", again.RefreshExpires, next.RefreshExpires)
		w.who(again)
	}
	w.same("events", w.kinds(in.Current.Academy), "academy.created member.joined")
	next, err = w.Refresh(w.ctx, next.Refresh, "", home)
	w.ok(err)
	w.clock.Advance(30 * 24 * time.Hour)
	_, err = w.Refresh(w.ctx, next.Refresh, "", home)
	e := w.refusal("30 days later", err, domain.Unauthenticated, "refresh_refused")
	w.same("what its holder is told", strings.Contains(e.Detail, "not used for a long time"), true)
}

// TestRefreshSaysWhyItEnded: who holds a token of the sign-in is told, and nobody
// else.
func TestRefreshSaysWhyItEnded(t *testing.T) {
	w := newFixture(t)
	in := w.signUp("olga")
	told := func(token string) string {
		_, err := w.Refresh(w.ctx, token, "", home)
		return w.refusal("after the end", err, domain.Unauthenticated, "refresh_refused").Detail
	}
	out, err := w.signIn("olga@example.org", password)
	w.ok(err)
	w.ok(w.SignOutByRefresh(w.ctx, out.Refresh))
	w.same("signed out", told(out.Refresh), "You signed out. Sign in again.")
	here, err := w.signIn("olga@example.org", password)
	w.ok(err)
	w.ok(w.ChangePassword(w.ctx, w.who(here), password, password+"!", home))
	w.same("changed", told(in.Refresh), "Your password was changed, which ended this sign-in. Sign in again, with the new password.")
	parts := strings.Split(in.Refresh, ".")
	w.same("a guess", told(parts[0]+".x."+parts[2]), "This sign-in has ended. Sign in again.")
}

// TestRefreshAtOnce: parallel refreshes end with one successor for all.
func TestRefreshAtOnce(t *testing.T) {
	w := newFixture(t)
	in := w.signUp("olga")
	got := make([]auth.SignedIn, 8)
	var group sync.WaitGroup
	for i := range got {
		group.Go(func() {
			var err error
			if got[i], err = w.Refresh(w.ctx, in.Refresh, "", home); err != nil {
				t.Error(err)
			}
		})
	}
	group.Wait()
	for _, g := range got {
		w.same("successor", g.Refresh, got[0].Refresh)
		w.who(g)
	}
	_, err := w.Refresh(w.ctx, got[0].Refresh, "", home)
	w.ok(err)
}

// lossy is a store that tells the first n savers that somebody was first, as
// a database with weaker isolation than the one in memory may.
type lossy struct {
	auth.Store
	n int
}

func (l *lossy) Write(ctx ctx, fn func(auth.Tx) error) error {
	return l.Store.Write(ctx, func(tx auth.Tx) error { return fn(lossyTx{tx, l}) })
}

type lossyTx struct {
	auth.Tx
	l *lossy
}

func (t lossyTx) SaveFamily(ctx ctx, f auth.Family, was auth.Digest) (bool, error) {
	if t.l.n--; t.l.n >= 0 {
		return false, nil
	}
	return t.Tx.SaveFamily(ctx, f, was)
}

func TestRefreshLosesRaces(t *testing.T) {
	w := newFixture(t)
	in := w.signUp("olga")
	w.Store = &lossy{w.Store, 3}
	next, err := w.Refresh(w.ctx, in.Refresh, "", home)
	w.ok(err)
	w.Store = &lossy{w.Store, 1000}
	_, err = w.Refresh(w.ctx, next.Refresh, "", home)
	w.refused("always lost", err, domain.Conflict, "try_again")
}

// overtaking is a store in which, just before a refresh is saved for the first
// time, another one goes through.
type overtaking struct {
	auth.Store
	first func()
}

func (o *overtaking) Write(ctx ctx, fn func(auth.Tx) error) error {
	first := o.first
	o.first = nil
	if first == nil {
		return o.Store.Write(ctx, fn)
	}
	overtaken := errors.New("rolled back to run again")
	if err := o.Store.Write(ctx, func(tx auth.Tx) error { return errors.Join(fn(tx), overtaken) }); !errors.Is(err, overtaken) {
		return err
	}
	first()
	return o.Store.Write(ctx, fn)
}

// TestRefreshOvertaken: a request that found its token good is no replay when its
// successor is used before it is answered. It is sent again, with the newest
// token, and ends nothing.
func TestRefreshOvertaken(t *testing.T) {
	w := newFixture(t)
	first := w.signUp("olga")
	second, err := w.Refresh(w.ctx, first.Refresh, "", home)
	w.ok(err)
	plain, third := w.Store, auth.SignedIn{}
	w.Store = &overtaking{Store: plain, first: func() {
		third, err = w.Refresh(w.ctx, second.Refresh, "", home)
		w.ok(err)
	}}
	_, err = w.Refresh(w.ctx, first.Refresh, "", home)
	w.refused("overtaken", err, domain.Conflict, "try_again")
	w.same("events", w.kinds(first.Current.Academy), "academy.created member.joined")
	w.who(third)
	_, err = w.Refresh(w.ctx, third.Refresh, "", home)
	w.ok(err)
	_, err = w.Refresh(w.ctx, first.Refresh, "", home)
	w.refused("a new request with the old token", err, domain.Unauthenticated, "refresh_refused")
	w.same("events after it", w.kinds(first.Current.Academy), "academy.created member.joined sign-in.replayed")
}

func TestRefreshEnds(t *testing.T) {
	w := newFixture(t)
	idle := w.signUp("olga")
	w.clock.Advance(30*24*time.Hour - time.Millisecond)
	in, err := w.Refresh(w.ctx, idle.Refresh, "", home)
	w.ok(err)
	w.clock.Advance(30 * 24 * time.Hour)
	_, err = w.Refresh(w.ctx, in.Refresh, "", home)
	w.refused("after 30 days without use", err, domain.Unauthenticated, "refresh_refused")

	in, err = w.signIn("olga@example.org", password)
	w.ok(err)
	began := w.clock.Now()
	for w.clock.Now().Sub(began) < 179*24*time.Hour {
		w.clock.Advance(24*time.Hour + time.Minute)
		in, err = w.Refresh(w.ctx, in.Refresh, "", home)
		w.ok(err)
	}
	w.same("end of the family", in.RefreshExpires, began.Add(180*24*time.Hour))
	w.clock.Advance(in.RefreshExpires.Sub(w.clock.Now()) - time.Second)
	in, err = w.Refresh(w.ctx, in.Refresh, "", home)
	w.ok(err)
	if in.AccessExpires.After(in.RefreshExpires) {
		t.Errorf("access token until %v, family until %v", in.AccessExpires, in.RefreshExpires)
	}
	w.clock.Advance(time.Second)
	_, err = w.Refresh(w.ctx, in.Refresh, "", home)
	w.refused("after 180 days", err, domain.Unauthenticated, "refresh_refused")
	n, err := w.Sweep(w.ctx)
	w.ok(err)
	w.same("rows swept: the first family, ended by age", n >= 1, true)
	w.clock.Advance(time.Millisecond)
	_, err = w.Sweep(w.ctx)
	w.ok(err)
	n, err = w.Sweep(w.ctx)
	w.ok(err)
	w.same("rows swept again", n, 0)
	_, err = w.Refresh(w.ctx, in.Refresh, "", home)
	w.refused("once swept", err, domain.Unauthenticated, "refresh_refused")
}

func TestRefreshSwitchesAcademy(t *testing.T) {
	w := newFixture(t)
	in := w.signUp("olga")
	second, err := w.SignUpAcademy(w.ctx, auth.SignUp{AcademyName: "Second", TimeZone: "UTC", Name: "Olga", Email: "olga@example.org", Password: password, Address: home})
	w.ok(err)
	stranger := w.signUp("stan")

	_, err = w.Refresh(w.ctx, in.Refresh, stranger.Current.Academy, home)
	w.refused("into somebody else's academy", err, domain.NotFound, "not_found")
	next, err := w.Refresh(w.ctx, in.Refresh, second.Current.Academy, home)
	w.ok(err) // the refusal has not used the token up
	w.same("switched", w.who(next).Academy, second.Current.Academy)
	w.same("the other tab stays where it was", w.who(in).Academy, in.Current.Academy)
	next, err = w.Refresh(w.ctx, next.Refresh, "", home)
	w.ok(err)
	w.same("stays", w.who(next).Academy, second.Current.Academy)

	// A repeated request may ask for another academy and is given it.
	_, err = w.Refresh(w.ctx, next.Refresh, second.Current.Academy, home)
	w.ok(err)
	back, err := w.Refresh(w.ctx, next.Refresh, in.Current.Academy, home)
	w.ok(err)
	w.same("back", w.who(back).Academy, in.Current.Academy)

	w.ok(w.memory.RemoveMember(w.ctx, back.Current.Academy, back.Current.Member, w.clock.Now()))
	_, err = w.Authenticate(w.ctx, back.Access)
	w.refused("removed there", err, domain.Unauthenticated, "token_refused")
	back, err = w.Refresh(w.ctx, back.Refresh, "", home)
	w.ok(err)
	w.same("moved to the academy that is left", w.who(back).Academy, second.Current.Academy)
}

// TestRefreshGuesses: made-up tokens end nothing, and are slowed down.
func TestRefreshGuesses(t *testing.T) {
	w := newFixture(t)
	in := w.signUp("olga")
	parts := strings.Split(in.Refresh, ".")
	bad := []string{
		"", "nonsense", in.Access, strings.TrimPrefix(in.Refresh, "fwr_"), in.Refresh + ".x", strings.Repeat("x", 10_000),
		parts[0] + "..", parts[0] + ".x." + parts[2], "fwr_" + string(w.clock.NewID()) + "." + parts[1] + "." + parts[2],
		"fwr_' OR 1=1 --." + parts[1] + "." + parts[2],
	}
	for i := range 30 {
		_, err := w.Refresh(w.ctx, bad[i%len(bad)], "", away)
		w.refused(bad[i%len(bad)], err, domain.Unauthenticated, "refresh_refused")
	}
	_, err := w.Refresh(w.ctx, bad[0], "", away)
	e := w.refusal("one more", err, domain.TooMany, "too_many_attempts")
	_, err = w.Refresh(w.ctx, in.Refresh, "", home)
	w.ok(err) // from elsewhere
	w.clock.Advance(time.Duration(e.RetryAfter) * time.Second)
	_, err = w.Refresh(w.ctx, bad[0], "", away)
	w.refused("after the wait it was told", err, domain.Unauthenticated, "refresh_refused")
}

// TestRefreshTokenIsNoAccessToken and the other way round.
func TestRefreshTokenIsNoAccessToken(t *testing.T) {
	w := newFixture(t, func(c *auth.Config) { c.Limiter = authtest.Unlimited{} })
	in := w.signUp("olga")
	_, err := w.Authenticate(w.ctx, in.Refresh)
	w.refused("refresh token as access token", err, domain.Unauthenticated, "token_refused")
	_, err = w.Refresh(w.ctx, in.Access, "", home)
	w.refused("access token as refresh token", err, domain.Unauthenticated, "refresh_refused")
	w.clock.Advance(11 * time.Minute)
	_, err = w.Authenticate(w.ctx, in.Access)
	w.refused("expired", err, domain.Unauthenticated, "token_expired")
}

// TestTokensOfAnotherService: same keys, other issuer or audience.
func TestTokensOfAnotherService(t *testing.T) {
	w := newFixture(t)
	in := w.signUp("olga")
	for name, change := range map[string]func(*auth.Config){
		"issuer":   func(c *auth.Config) { c.Issuer = "https://other.example" },
		"audience": func(c *auth.Config) { c.Audience = "https://other.example/v1" },
	} {
		c := w.Config
		change(&c)
		other, err := auth.New(c)
		w.ok(err)
		_, err = other.Authenticate(w.ctx, in.Access)
		w.refused("another "+name, err, domain.Unauthenticated, "token_refused")
	}
}
