package api_test

import (
	"bytes"
	"encoding/json"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"fringework/api"
	"fringework/auth"
	"fringework/auth/authtest"
	"fringework/cmd/fringework/services"
	"fringework/openapi/contract"
	"fringework/repo"
)

// fixture is a service on a fresh embedded database, with a clock that tests
// move, held to its description.
type fixture struct {
	*testing.T
	handler http.Handler
	server  *api.Server
	clock   *authtest.Clock
	log     *logBook
	config  api.Config
}

// logBook is a log that tests read.
type logBook struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (l *logBook) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.Write(p)
}

func (l *logBook) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.String()
}

// newFixture opens a fixture; changes adjust its configuration.
func newFixture(t *testing.T, changes ...func(*api.Config)) *fixture {
	t.Helper()
	h := &fixture{T: t, clock: authtest.NewClock(time.Date(2026, 5, 4, 8, 0, 0, 0, time.UTC)), log: &logBook{}}
	log := slog.New(slog.NewJSONHandler(h.log, nil))
	db, err := repo.Open(t.Context(), repo.Config{URL: "sqlite:" + filepath.Join(t.TempDir(), "fixture.db"), Log: log})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close() })
	keys, err := auth.Ephemeral()
	if err != nil {
		t.Fatal(err)
	}
	all, err := services.New(db, h.clock.Env())
	if err != nil {
		t.Fatal(err)
	}
	signIn, err := all.Auth(keys, auth.CheapHashParams(), "https://fringework.example")
	if err != nil {
		t.Fatal(err)
	}
	signIn.Limiter = authtest.Unlimited{}
	h.config = all.API(signIn, log)
	h.config.Version = "test"
	for _, change := range changes {
		change(&h.config)
	}
	h.server = api.New(h.config)
	h.handler = contract.Wrap(t, h.server)
	return h
}

// answer is what a service said.
type answer struct {
	*testing.T
	status int
	header http.Header
	body   []byte
}

// set gives a request a header.
func set(name, value string) func(*http.Request) {
	return func(r *http.Request) { r.Header.Set(name, value) }
}

// as sends an access token.
func as(token string) func(*http.Request) { return set("Authorization", "Bearer "+token) }

// do sends a request with a body: nothing for nil, a string as it is, anything
// else as JSON.
func (h *fixture) do(method, path string, body any, changes ...func(*http.Request)) answer {
	h.Helper()
	var reader io.Reader
	switch b := body.(type) {
	case nil:
	case string:
		reader = strings.NewReader(b)
	default:
		text, err := json.Marshal(b)
		if err != nil {
			h.Fatal(err)
		}
		reader = bytes.NewReader(text)
	}
	r := httptest.NewRequestWithContext(h.Context(), method, path, reader)
	if body != nil {
		r.Header.Set("Content-Type", "application/json")
	}
	for _, change := range changes {
		change(r)
	}
	w := httptest.NewRecorder()
	h.handler.ServeHTTP(w, r)
	return answer{h.T, w.Code, w.Result().Header, w.Body.Bytes()}
}

// want fails the test at once unless the status is as wanted.
func (a answer) want(status int) answer {
	a.Helper()
	if a.status != status {
		a.Fatalf("status %d; want %d\n%s", a.status, status, a.body)
	}
	return a
}

// problem wants a problem document of a status and a code.
func (a answer) problem(status int, code string) api.Problem {
	a.Helper()
	a.want(status)
	var p api.Problem
	a.read(&p)
	if p.Code != code {
		a.Errorf("code %q; want %q: %s", p.Code, code, a.body)
	}
	if got := a.header.Get("Content-Type"); got != "application/problem+json" {
		a.Errorf("media type %q; want application/problem+json", got)
	}
	return p
}

// at wants the one thing wrong to be at a pointer or parameter.
func at(t *testing.T, p api.Problem, where string) {
	t.Helper()
	if len(p.Errors) != 1 || p.Errors[0].Pointer != where && p.Errors[0].Parameter != where {
		t.Errorf("errors %+v; want one at %q", p.Errors, where)
	}
}

func (a answer) read(v any) {
	a.Helper()
	if err := json.Unmarshal(a.body, v); err != nil {
		a.Fatalf("%v in %s", err, a.body)
	}
}

// read sends a GET and gives its body, which must be there.
func read[T any](h *fixture, path, token string) (v T) {
	h.Helper()
	h.do("GET", path, nil, as(token)).want(200).read(&v)
	return v
}

// object is a JSON body.
type object = map[string]any

const password = "seventeen brass kettles"

// signUp makes an academy and gives its owner's sign-in.
func (h *fixture) signUp(name string) (in api.SignedIn) {
	h.Helper()
	h.do("POST", "/v1/academies", object{
		"academy_name": "Academy of " + name, "time_zone": "Europe/Lisbon",
		"name": name, "email": strings.ToLower(name) + "@example.org", "password": password,
	}).want(201).read(&in)
	return in
}

// invite makes an invitation with somebody's token.
func (h *fixture) invite(token string, body object) (i api.InvitationCreated) {
	h.Helper()
	h.do("POST", "/v1/invitations", body, as(token)).want(201).read(&i)
	return i
}

// accept accepts an invitation by a fresh account.
func (h *fixture) accept(code, name string) (in api.SignedIn) {
	h.Helper()
	h.do("POST", "/v1/invitations/accept", object{
		"code": code, "name": name, "email": strings.ToLower(name) + "@example.org", "password": password,
	}).want(200).read(&in)
	return in
}

// join invites and accepts.
func (h *fixture) join(token, name string, body object) api.SignedIn {
	h.Helper()
	return h.accept(h.invite(token, body).Code, name)
}

// cast is an academy with one person of every role; the student is a junior
// linked to the coach, the guardian theirs.
type cast struct{ owner, coach, student, guardian api.SignedIn }

func (h *fixture) cast() (c cast) {
	h.Helper()
	c.owner = h.signUp("Ines")
	c.coach = h.join(c.owner.AccessToken, "Carl", object{"role": "coach"})
	c.student = h.join(c.coach.AccessToken, "Tomas", object{"role": "student", "junior": true})
	c.guardian = h.join(c.coach.AccessToken, "Greta", object{"role": "guardian", "student_id": c.student.Membership.MemberID})
	return c
}

// key makes an application key and exchanges it for a token.
func (h *fixture) key(token string, scopes ...string) (k api.KeyCreated, access string) {
	h.Helper()
	h.do("POST", "/v1/keys", object{"name": "Newsletter", "scopes": scopes}, as(token)).want(201).read(&k)
	var t api.OAuthToken
	h.do("POST", "/v1/oauth/token", "grant_type=client_credentials", set("Content-Type", "application/x-www-form-urlencoded"),
		func(r *http.Request) { r.SetBasicAuth(string(k.ID), k.ClientSecret) }).want(200).read(&t)
	return k, t.AccessToken
}
