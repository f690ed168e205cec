package api_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"golang.org/x/oauth2"

	"fringework/api"
	"fringework/auth"
)

const (
	diary    = "https://diary.example/connected"
	verifier = "a verifier of at least forty-three characters"
)

// app registers an app and has a coach let it in; it gives the code.
func (h *fixture) app(c cast, public bool) (app api.AppCreated, code string) {
	h.Helper()
	h.do("POST", "/v1/apps", object{"name": "Swing diary", "redirect_uris": []string{diary}, "scopes": []string{"progress:read", "calc:use"}, "public": public}, as(c.owner.AccessToken)).want(201).read(&app)
	return app, h.allow(c, app)
}

func (h *fixture) allow(c cast, app api.AppCreated) string {
	h.Helper()
	var answer api.AuthorizationAnswer
	h.do("POST", "/v1/oauth/authorizations", object{
		"response_type": "code", "client_id": app.ID, "redirect_uri": diary, "code_challenge": oauth2.S256ChallengeFromVerifier(verifier), "code_challenge_method": "S256", "allow": true,
	}, as(c.coach.AccessToken)).want(200).read(&answer)
	back, err := url.Parse(answer.ReturnTo)
	if err != nil {
		h.Fatal(err)
	}
	return back.Query().Get("code")
}

func exchange(app api.AppCreated, code string) string {
	return url.Values{"grant_type": {"authorization_code"}, "client_id": {string(app.ID)}, "code": {code}, "redirect_uri": {diary}, "code_verifier": {verifier}}.Encode()
}

// at sends a form to an address about tokens.
func (h *fixture) formAt(path, body string, changes ...func(*http.Request)) answer {
	h.Helper()
	return h.do("POST", path, body, append([]func(*http.Request){set("Content-Type", "application/x-www-form-urlencoded")}, changes...)...)
}

// The clock is moved here; package integration goes through everything else on
// both engines.
func TestCodeExpires(t *testing.T) {
	h := newFixture(t)
	c := h.cast()
	app, code := h.app(c, true)
	if app.ClientSecret != "" || !app.Public {
		t.Errorf("app %+v; want no secret", app)
	}
	h.clock.Advance(auth.CodeLife)
	c.coach.AccessToken = h.again(c.coach)
	var e api.OAuthProblem
	h.form(exchange(app, code)).want(400).read(&e)
	if e.Error != "invalid_grant" {
		t.Errorf("after a minute: %+v; want invalid_grant", e)
	}
	code = h.allow(c, app)
	h.clock.Advance(auth.CodeLife - time.Millisecond)
	var token api.OAuthToken
	h.form(exchange(app, code)).want(200).read(&token)
	h.do("GET", "/v1/dashboard", nil, as(token.AccessToken)).want(200)
	h.clock.Advance(10*time.Minute + time.Minute)
	h.do("GET", "/v1/dashboard", nil, as(token.AccessToken)).problem(401, "token_expired")
	if book := h.log.String(); !strings.Contains(book, `"app":"`+string(app.ID)) || strings.Contains(book, code) || strings.Contains(book, token.RefreshToken) {
		t.Error("the log does not name the app, or has a code or a token in it")
	}
}

func (h *fixture) again(in api.SignedIn) string {
	h.Helper()
	var out api.SignedIn
	h.do("POST", "/v1/tokens/refresh", object{"refresh_token": in.RefreshToken}).want(200).read(&out)
	return out.AccessToken
}

func TestTokenAddresses(t *testing.T) {
	h := newFixture(t)
	c := h.cast()
	app, code := h.app(c, false)
	var token api.OAuthToken
	h.form(exchange(app, code), basic(string(app.ID), app.ClientSecret)).want(200).read(&token)
	about := url.Values{"token": {token.RefreshToken}}.Encode()
	var state api.Introspection
	h.formAt("/v1/oauth/introspect", about, basic(string(app.ID), app.ClientSecret)).want(200).read(&state)
	if !state.Active || state.Scope != "progress:read calc:use" || state.ExpiresAt != h.clock.Now().Add(30*24*time.Hour).Unix() {
		t.Errorf("introspected %+v; want it to end after thirty days", state)
	}
	h.formAt("/v1/oauth/introspect", about+"&"+about, basic(string(app.ID), app.ClientSecret)).want(400)
	h.formAt("/v1/oauth/revoke", about, basic(string(app.ID), app.ClientSecret)).want(200)
	h.formAt("/v1/oauth/introspect", about, basic(string(app.ID), app.ClientSecret)).want(200).read(&state)
	meta := read[api.OAuthMetadata](h, "/.well-known/oauth-authorization-server", "")
	if meta.Issuer != "https://fringework.example" || meta.AuthorizationEndpoint != meta.Issuer+"/connect" {
		t.Errorf("metadata %+v", meta)
	}
}

// RateLimit header fields for HTTP, draft-ietf-httpapi-ratelimit-headers-10.
func TestRequestLimits(t *testing.T) {
	h := newFixture(t, func(c *api.Config) { c.Quota = auth.NewQuota(auth.RequestLimits{Member: 60, Key: 2, App: 3}, nil) })
	c := h.cast()
	h.clock.Advance(2 * time.Minute)
	got := h.do("GET", "/v1/calc", nil, as(c.coach.AccessToken)).want(200)
	if policy, limit := got.header.Get("RateLimit-Policy"), got.header.Get("RateLimit"); policy != `"member";q=60;w=60` || limit != `"member";r=59;t=1` {
		t.Errorf("RateLimit-Policy %s, RateLimit %s; want 59 of 60 left", policy, limit)
	}
	_, key := h.key(c.owner.AccessToken, "calc:use")
	for range 2 {
		h.do("GET", "/v1/calc", nil, as(key)).want(200)
	}
	// By hand: 2 a minute are one every 30 s.
	got = h.do("GET", "/v1/calc", nil, as(key))
	got.problem(429, "too_many_requests")
	if wait, limit := got.header.Get("Retry-After"), got.header.Get("RateLimit"); wait != "30" || limit != `"key";r=0;t=60` {
		t.Errorf("Retry-After %s, RateLimit %s; want 30 seconds and nothing left", wait, limit)
	}
	h.do("GET", "/v1/members", nil, as(key)).problem(429, "too_many_requests")
	h.clock.Advance(30 * time.Second)
	h.do("GET", "/v1/calc", nil, as(key)).want(200)
	app, code := h.app(c, true)
	var token api.OAuthToken
	h.form(exchange(app, code)).want(200).read(&token)
	for range 3 {
		got = h.do("GET", "/v1/calc", nil, as(token.AccessToken)).want(200)
	}
	if limit := got.header.Get("RateLimit"); limit != `"member-app";r=57;t=3, "app";r=0;t=60` {
		t.Errorf("RateLimit %s; want both limits of an app", limit)
	}
	h.do("GET", "/v1/calc", nil, as(token.AccessToken)).problem(429, "too_many_requests")
	h.do("GET", "/v1/calc", nil, as(c.coach.AccessToken)).want(200)
}
