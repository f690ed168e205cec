package auth_test

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"fringework/auth"
	"fringework/auth/authtest"
	"fringework/domain"
)

const (
	issuer   = "https://fringework.example"
	audience = "https://fringework.example/v1"
	home     = "192.0.2.1"
	away     = "198.51.100.7"
	password = "a towel on the fringe"
)

var start = time.Date(2026, 5, 1, 12, 0, 0, int(123*time.Millisecond), time.UTC)

// fixture is a service on a store in memory with a clock that the test moves.
type fixture struct {
	*testing.T
	*auth.Service
	ctx    context.Context
	memory *authtest.Memory
	clock  *authtest.Clock
}

func newFixture(t *testing.T, change ...func(*auth.Config)) *fixture {
	t.Helper()
	hasher, err := auth.NewHasher(auth.CheapHashParams(), 4)
	if err != nil {
		t.Fatal(err)
	}
	keys, err := auth.Ephemeral()
	if err != nil {
		t.Fatal(err)
	}
	w := &fixture{T: t, ctx: t.Context(), memory: authtest.NewMemory(), clock: authtest.NewClock(start)}
	c := auth.Config{
		Store: w.memory, Keys: keys, Hasher: hasher, Limiter: auth.NewStoreLimiter(w.memory),
		Env: w.clock.Env(), Issuer: issuer, Audience: audience,
	}
	for _, f := range change {
		f(&c)
	}
	if w.Service, err = auth.New(c); err != nil {
		t.Fatal(err)
	}
	return w
}

// ok fails the test on an error.
func (w *fixture) ok(err error) {
	w.Helper()
	if err != nil {
		w.Fatal(err)
	}
}

// refused holds an error to a kind and a code.
func (w *fixture) refused(what string, err error, kind domain.Kind, code string) {
	w.Helper()
	_ = w.refusal(what, err, kind, code)
}

// refusal is refused, and returns the error for more to be asked of it.
func (w *fixture) refusal(what string, err error, kind domain.Kind, code string) *domain.Error {
	w.Helper()
	var e *domain.Error
	if !errors.As(err, &e) || e.Kind != kind || e.Code != code {
		w.Errorf("%s: got %v, want kind %d, code %s", what, err, kind, code)
		return &domain.Error{}
	}
	return e
}

// invalid holds an error to the pointers it names.
func (w *fixture) invalid(what string, err error, pointers ...string) {
	w.Helper()
	var e *domain.Error
	if !errors.As(err, &e) || e.Kind != domain.Invalid {
		w.Errorf("%s: got %v, want Invalid", what, err)
		return
	}
	var got []string
	for _, f := range e.Fields {
		got = append(got, f.Pointer)
	}
	if strings.Join(got, " ") != strings.Join(pointers, " ") {
		w.Errorf("%s: got pointers %q, want %q", what, got, pointers)
	}
}

func (w *fixture) same(what string, got, want any) {
	w.Helper()
	if got != want {
		w.Errorf("%s: got %v, want %v", what, got, want)
	}
}

// signUp makes an academy with its owner.
func (w *fixture) signUp(name string) auth.SignedIn {
	w.Helper()
	in, err := w.SignUpAcademy(w.ctx, auth.SignUp{
		AcademyName: "Academy of " + name, TimeZone: "Europe/Dublin", Name: name,
		Email: name + "@example.org", Password: password, Address: home,
	})
	w.ok(err)
	return in
}

func (w *fixture) signIn(email, password string) (auth.SignedIn, error) {
	return w.SignIn(w.ctx, auth.Credentials{Email: email, Password: password, Address: home})
}

// who authenticates what somebody signed in holds.
func (w *fixture) who(in auth.SignedIn) auth.Identity {
	w.Helper()
	id, err := w.Authenticate(w.ctx, in.Access)
	w.ok(err)
	return id
}

// invite makes an invitation and gives its code.
func (w *fixture) invite(by auth.Identity, in auth.Invite) (auth.Invitation, string) {
	w.Helper()
	i, code, err := w.Invite(w.ctx, by.Actor, in)
	w.ok(err)
	return i, code
}

// join has somebody new accept a code.
func (w *fixture) join(code, name string) auth.SignedIn {
	w.Helper()
	in, err := w.AcceptInvitation(w.ctx, acceptance(code, name))
	w.ok(err)
	return in
}

func acceptance(code, name string) auth.Accept {
	return auth.Accept{Code: code, Email: name + "@example.org", Password: password, Name: name, Address: home}
}

// member invites and joins in one go.
func (w *fixture) member(by auth.Identity, in auth.Invite, name string) auth.Identity {
	w.Helper()
	_, code := w.invite(by, in)
	return w.who(w.join(code, name))
}

// kinds gives the kinds of the academy's events in order.
func (w *fixture) kinds(academy domain.ID) string {
	w.Helper()
	events, err := w.memory.Events(w.ctx, academy)
	w.ok(err)
	var kinds []string
	for _, e := range events {
		kinds = append(kinds, e.Kind)
	}
	return strings.Join(kinds, " ")
}

// last gives the academy's last event.
func (w *fixture) last(academy domain.ID) domain.Event {
	w.Helper()
	events, err := w.memory.Events(w.ctx, academy)
	w.ok(err)
	if len(events) == 0 {
		w.Fatal("no events")
	}
	return events[len(events)-1]
}

// kept is everything in the store as text.
func (w *fixture) kept() string { return fmt.Sprintf("%+v %[1]x", w.memory.Keep()) }
