package api_test

import (
	"bufio"
	"context"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"fringework/api"
)

// following is an open stream of what happens.
type following struct {
	lines *bufio.Scanner
	close func()
}

// follow opens a stream at a server, which must answer with a status.
func (h *fixture) follow(url, token string, status int) following {
	h.Helper()
	ctx, cancel := context.WithCancel(h.Context())
	h.Cleanup(cancel)
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, url+"/v1/live", nil)
	if err != nil {
		h.Fatal(err)
	}
	as(token)(r)
	response, err := http.DefaultClient.Do(r)
	if err != nil {
		h.Fatal(err)
	}
	h.Cleanup(func() { _ = response.Body.Close() })
	if response.StatusCode != status {
		h.Errorf("a stream answers %d, want %d", response.StatusCode, status)
	}
	if status >= 400 && response.Header.Get("Retry-After") == "" {
		h.Errorf("a refused stream has the headers %v, want Retry-After", response.Header)
	}
	f := following{bufio.NewScanner(response.Body), func() { cancel(); response.Body.Close() }}
	if f.lines.Scan(); status < 400 && f.lines.Text() != ": following" {
		h.Errorf("the stream begins with %q", f.lines.Text())
	}
	return f
}

// heard gives the kinds of what is told until the stream ends, or once the wanted kind
// was.
func (f following) heard(want string) (kinds []string) {
	for f.lines.Scan() {
		if kind, ok := strings.CutPrefix(f.lines.Text(), "event: "); ok {
			if kinds = append(kinds, kind); kind == want {
				return kinds
			}
		}
	}
	return kinds
}

func (h *fixture) store(n int, token string) {
	h.Helper()
	h.do("PUT", "/v1/sessions/"+sessionID(n), object{"revision": 1, "started_at": "2026-05-04T07:00:00Z"}, as(token)).want(201)
}

// Whoever is removed, signed out or given another role, and whose key is revoked, hears
// nothing more, also where something happens all the time.
func TestBusyAcademyTellsNothingToTheRemoved(t *testing.T) {
	t.Parallel()
	h := newFixture(t)
	owner := h.signUp("Ines")
	student := h.join(owner.AccessToken, "Tomas", object{"role": "student"})
	server := httptest.NewServer(h.server)
	defer server.Close()
	member := func(in api.SignedIn) string { return "/v1/members/" + string(in.Membership.MemberID) }
	second := func(name string) api.SignedIn {
		in := h.join(owner.AccessToken, name, object{"role": "coach"})
		h.do("PATCH", member(in), object{"role": "owner"}, as(owner.AccessToken)).want(200)
		return in
	}
	removed, moved, out := second("Rita"), second("Mona"), second("Otto")
	key, access := h.key(owner.AccessToken, "progress:read")

	streams := map[string]following{}
	for who, token := range map[string]string{"removed": removed.AccessToken, "moved": moved.AccessToken, "out": out.AccessToken, "key": access} {
		streams[who] = h.follow(server.URL, token, 200)
	}
	still := h.follow(server.URL, owner.AccessToken, 200)
	defer still.close()
	h.do("DELETE", member(removed), nil, as(owner.AccessToken)).want(204)
	h.do("PATCH", member(moved), object{"role": "coach"}, as(owner.AccessToken)).want(200)
	h.do("DELETE", "/v1/keys/"+string(key.ID), nil, as(owner.AccessToken)).want(204)
	h.do("POST", "/v1/sign-out", object{"refresh_token": out.RefreshToken}).want(204)
	h.clock.Advance(6 * time.Second)
	h.store(1, student.AccessToken)
	if kinds := still.heard("session.stored"); len(kinds) == 0 {
		t.Error("the owner hears nothing")
	}
	for who, f := range streams {
		defer time.AfterFunc(time.Minute, f.close).Stop()
		if kinds := f.heard(""); len(kinds) > 0 {
			t.Errorf("%s: told of %v", who, kinds)
		}
	}
}

// One member opens as many streams as anybody needs, and no more.
func TestLiveStreamsAreBounded(t *testing.T) {
	t.Parallel()
	h := newFixture(t)
	owner := h.signUp("Ines")
	coach := h.join(owner.AccessToken, "Carl", object{"role": "coach"})
	server := httptest.NewServer(h.server)
	defer server.Close()
	var all []following
	for range 12 {
		all = append(all, h.follow(server.URL, owner.AccessToken, 200))
	}
	h.follow(server.URL, owner.AccessToken, 429).close()
	h.follow(server.URL, coach.AccessToken, 200).close()
	for _, f := range all {
		f.close()
	}
}
