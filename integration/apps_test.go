package integration_test

import (
	"context"
	"errors"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"golang.org/x/oauth2"

	"fringework/api"
	"fringework/domain"
)

// returnTo is where people return to apps.
const returnTo = "https://diary.example/connected?from=fringework"

var anApp = object{"name": "Swing diary", "redirect_uris": []string{returnTo}, "scopes": []string{"progress:read", "sessions:read", "events:read"}}

// verifier is what a code is asked for, and exchanged, with.
const verifier = "a verifier of at least forty-three characters"

// asked is what an app sends people with.
func asked(app domain.ID) object {
	return object{
		"response_type": "code", "client_id": app, "redirect_uri": returnTo, "state": "x",
		"code_challenge": oauth2.S256ChallengeFromVerifier(verifier), "code_challenge_method": "S256",
	}
}

// allowing is a yes to it.
func allowing(app domain.ID) object {
	yes := asked(app)
	yes["allow"] = true
	return yes
}

// role is what somebody is.
func (p *person) role() domain.Role {
	p.Helper()
	return domain.Role(read[api.Me](p.caller, "/v1/me").Memberships[0].Role)
}

// registerApp registers an app.
func (p *person) registerApp(app object) api.AppCreated {
	p.Helper()
	return made[api.AppCreated](p.caller, "/v1/apps", app)
}

// connected is an app that somebody has let in: what it calls with, and the
// connection.
type connected struct {
	*caller
	api.OAuthToken
	ID domain.ID
}

// connect lets an app in.
func (p *person) connect(app api.AppCreated) connected {
	p.Helper()
	var answer api.AuthorizationAnswer
	p.post("/v1/oauth/authorizations", allowing(app.ID)).want(200).into(&answer)
	back, err := url.Parse(answer.ReturnTo)
	if err != nil {
		p.Fatal(err)
	}
	fields := url.Values{"grant_type": {"authorization_code"}, "code": {back.Query().Get("code")}, "redirect_uri": {returnTo}, "code_verifier": {verifier}}
	c := connected{}
	out := p.service.caller(p.TB)
	out.post("/v1/oauth/token", fields.Encode(), form, basic(string(app.ID), app.ClientSecret)).want(200).into(&c.OAuthToken)
	c.caller = out.as(c.AccessToken)
	items := read[api.ConnectionPage](p.caller, "/v1/connections?limit=200").Items
	c.ID = items[len(items)-1].ID
	return c
}

// oauthClient is the client library golang.org/x/oauth2, which knows nothing of us,
// with what it calls by.
type oauthClient struct {
	*oauth2.Config
	ctx context.Context
}

// oauthClient configures it as the service's metadata say, but for where the tests
// have it listen.
func (s *service) oauthClient(c *caller, app api.AppCreated) oauthClient {
	meta := read[api.OAuthMetadata](c, "/.well-known/oauth-authorization-server")
	here := func(address string) string { return s.url + strings.TrimPrefix(address, meta.Issuer) }
	client := &http.Client{Transport: from{c}}
	return oauthClient{
		Config: &oauth2.Config{
			ClientID: string(app.ID), ClientSecret: app.ClientSecret, RedirectURL: returnTo, Scopes: []string{"progress:read", "sessions:read"},
			Endpoint: oauth2.Endpoint{AuthURL: here(meta.AuthorizationEndpoint), TokenURL: here(meta.TokenEndpoint), AuthStyle: oauth2.AuthStyleInHeader},
		},
		ctx: context.WithValue(c.Context(), oauth2.HTTPClient, client),
	}
}

// from sends from a caller's address, and holds what is sent to the description.
type from struct{ c *caller }

func (f from) RoundTrip(r *http.Request) (*http.Response, error) {
	r.Header.Set("X-Forwarded-For", f.c.address)
	return f.c.client.Transport.RoundTrip(r)
}

// page does what the page at the authorization endpoint does with its address: it
// passes the query on, and gives the query that the person returns to the app with.
func (p *person) page(address string, allow bool) url.Values {
	p.Helper()
	at, err := url.Parse(address)
	if err != nil || at.Path != "/connect" {
		p.Fatalf("%s: %v; want the page that asks people", address, err)
	}
	decision := object{"allow": allow}
	for name, values := range at.Query() {
		decision[name] = values[0]
	}
	var answer api.AuthorizationAnswer
	p.post("/v1/oauth/authorizations", decision).want(200).into(&answer)
	back, err := url.Parse(answer.ReturnTo)
	if err != nil || !strings.HasPrefix(answer.ReturnTo, returnTo+"&") {
		p.Fatalf("sent to %s: %v; want the app's own address", answer.ReturnTo, err)
	}
	return back.Query()
}

// testApps goes through what an app and its people do, by a client library that
// knows nothing of us.
func testApps(t *testing.T, s *service) {
	a := s.open(t, "Appleby")
	app := a.owner.registerApp(anApp)
	lib := s.oauthClient(a.owner.caller, app)
	var asking api.Authorization
	a.student.post("/v1/oauth/authorizations/inspect", asked(app.ID)).want(200).into(&asking)
	if asking.AppName != "Swing diary" || asking.RegisteredBy != "Odile Appleby" || asking.MemberName != "Sunniva Appleby" || len(asking.Asks) != 3 || asking.NeedsGuardian {
		t.Errorf("asked %+v; want the app, the owner, the student, and three things", asking)
	}
	back := a.student.page(lib.AuthCodeURL("some state", oauth2.S256ChallengeOption(verifier)), true)
	if back.Get("state") != "some state" || back.Get("iss") != publicURL || back.Get("from") != "fringework" {
		t.Errorf("returned with %v; want the state and the issuer", back)
	}
	token, err := lib.Exchange(lib.ctx, back.Get("code"), oauth2.VerifierOption(verifier))
	if err != nil {
		t.Fatal(err)
	}
	if token.Extra("member_id") != string(a.student.id) || token.Extra("academy_id") != string(a.owner.academy) {
		t.Errorf("token %+v; want whose it is", token)
	}
	get := func(token *oauth2.Token, path string) int {
		t.Helper()
		request, err := http.NewRequestWithContext(lib.ctx, http.MethodGet, s.url+path, nil)
		if err != nil {
			t.Fatal(err)
		}
		response, err := lib.Client(lib.ctx, token).Do(request)
		if err != nil {
			t.Fatal(err)
		}
		response.Body.Close()
		return response.StatusCode
	}
	own := "/v1/students/" + string(a.student.id) + "/progress"
	for path, want := range map[string]int{own: 200, "/v1/sessions?student_id=" + string(a.student.id): 200, "/v1/dashboard": 403, "/v1/me": 403, "/v1/events": 403, "/v1/students/" + string(a.coach.id) + "/progress": 404} {
		if got := get(token, path); got != want {
			t.Errorf("GET %s by the app: %d; want %d", path, got, want)
		}
	}
	// The library refreshes by itself once the access token has expired.
	token.Expiry = began.AddDate(-1, 0, 0)
	next, err := lib.TokenSource(lib.ctx, token).Token()
	if err != nil || next.AccessToken == token.AccessToken || next.RefreshToken == token.RefreshToken {
		t.Fatalf("refreshed to %+v, %v; want other tokens", next, err)
	}
	if got := get(next, own); got != 200 {
		t.Errorf("with the next token: %d", got)
	}
	if _, err := lib.TokenSource(lib.ctx, &oauth2.Token{RefreshToken: next.RefreshToken}).Token(); err != nil {
		t.Errorf("refresh: %v", err)
	}
	// The first is two behind now, so two hold the chain.
	wrong(t, "an old refresh token", "invalid_grant", func() error {
		_, err := lib.TokenSource(lib.ctx, &oauth2.Token{RefreshToken: token.RefreshToken}).Token()
		return err
	})
	if got := get(next, own); got != 401 {
		t.Errorf("after that: %d; want 401", got)
	}
	if kinds := eventKinds(a.owner.caller); kinds["app.replayed"] != 1 || kinds["app.registered"] != 1 {
		t.Errorf("the log has %v; want the alarm", kinds)
	}
	testAppLists(t, a, app)
	testTokenAddresses(t, s, a, app)
}

// testAppLists ends connections by either side.
func testAppLists(t *testing.T, a academy, app api.AppCreated) {
	mine, theirs := a.student.connect(app), a.coach.connect(app)
	path := "/v1/apps/" + string(app.ID)
	if items := read[api.ConnectionPage](a.owner.caller, path+"/connections").Items; len(items) != 2 || items[0].MemberName != "Sunniva Appleby" {
		t.Errorf("connections %+v; want the student's and the coach's", items)
	}
	for _, list := range []string{"/v1/apps", path, path + "/connections", "/v1/connections"} {
		tag := a.owner.get(list).want(200).header.Get("ETag")
		a.owner.get(list, header("If-None-Match", tag)).want(304)
	}
	if got := read[api.App](a.owner.caller, path); got.Public || !slices.Equal(got.RedirectURIs, []string{returnTo}) {
		t.Errorf("app %+v", got)
	}
	a.student.del("/v1/connections/" + string(mine.ID)).want(204)
	mine.get("/v1/students/"+string(a.student.id)+"/progress").problem(401, "token_refused")
	theirs.get("/v1/dashboard").want(200)
	a.owner.del("/v1/connections/" + string(theirs.ID)).want(204)
	theirs.get("/v1/dashboard").problem(401, "token_refused")
	last := a.coach.connect(app)
	a.owner.del(path).want(204)
	last.get("/v1/dashboard").problem(401, "token_refused")
	a.coach.post("/v1/oauth/authorizations/inspect", asked(app.ID)).problem(422, "app_request")
}

// testTokenAddresses gives tokens back and asks about them.
func testTokenAddresses(t *testing.T, s *service, a academy, _ api.AppCreated) {
	app := a.owner.registerApp(anApp)
	c, out := a.coach.connect(app), s.caller(t)
	ask := func(token string) (state api.Introspection) {
		out.post("/v1/oauth/introspect", url.Values{"token": {token}}.Encode(), form, basic(string(app.ID), app.ClientSecret)).want(200).into(&state)
		return state
	}
	if got := ask(c.AccessToken); !got.Active || got.MemberID != a.coach.id || got.ClientID != string(app.ID) || got.Issuer != publicURL || got.TokenType != "Bearer" {
		t.Errorf("introspected %+v; want the coach's", got)
	}
	if got := ask(c.RefreshToken); !got.Active || got.TokenType != "" {
		t.Errorf("introspected the refresh token: %+v", got)
	}
	if got := ask(a.coach.token); got != (api.Introspection{}) {
		t.Errorf("introspected a person's token: %+v; want nothing of it", got)
	}
	out.post("/v1/oauth/introspect", url.Values{"token": {c.AccessToken}}.Encode(), form).want(401)
	out.post("/v1/oauth/revoke", "token_type_hint=access_token", form, basic(string(app.ID), app.ClientSecret)).want(400)
	for range 2 {
		out.post("/v1/oauth/revoke", url.Values{"token": {c.RefreshToken}, "token_type_hint": {"x"}}.Encode(), form, basic(string(app.ID), app.ClientSecret)).want(200)
	}
	if got := ask(c.AccessToken); got.Active {
		t.Errorf("introspected after it was given back: %+v", got)
	}
	c.get("/v1/dashboard").problem(401, "token_refused")
}

// wrong wants the library to be refused with a code of RFC 6749.
func wrong(t *testing.T, what, code string, try func() error) {
	t.Helper()
	err := try()
	if e, ok := errors.AsType[*oauth2.RetrieveError](err); !ok || e.ErrorCode != code {
		t.Errorf("%s: %v; want %s", what, err, code)
	}
}

// testAppRefusals has the library meet every refusal there is.
func testAppRefusals(t *testing.T, s *service) {
	a := s.open(t, "Refton")
	app := a.owner.registerApp(anApp)
	lib := s.oauthClient(a.owner.caller, app)
	challenge := oauth2.S256ChallengeOption(verifier)
	for name, x := range map[string]struct {
		options []oauth2.AuthCodeOption
		allow   bool
		want    string
	}{
		"a no":          {[]oauth2.AuthCodeOption{challenge}, false, "access_denied"},
		"no PKCE":       {nil, true, "invalid_request"},
		"plain PKCE":    {[]oauth2.AuthCodeOption{oauth2.SetAuthURLParam("code_challenge", verifier), oauth2.SetAuthURLParam("code_challenge_method", "plain")}, true, "invalid_request"},
		"implicit":      {[]oauth2.AuthCodeOption{challenge, oauth2.SetAuthURLParam("response_type", "token")}, true, "unsupported_response_type"},
		"unknown scope": {[]oauth2.AuthCodeOption{challenge, oauth2.SetAuthURLParam("scope", "everything")}, true, "invalid_scope"},
		"missing scope": {[]oauth2.AuthCodeOption{challenge, oauth2.SetAuthURLParam("scope", "members:read")}, true, "invalid_scope"},
	} {
		back := a.coach.page(lib.AuthCodeURL("s", x.options...), x.allow)
		if back.Get("error") != x.want || back.Get("code") != "" || back.Get("state") != "s" || back.Get("iss") != publicURL {
			t.Errorf("%s: returned with %v; want %s", name, back, x.want)
		}
	}
	for name, change := range map[string]object{
		"an unknown app":  {"client_id": newID()},
		"another address": {"redirect_uri": "https://evil.example/"},
		"a longer one":    {"redirect_uri": returnTo + "&x=1"},
	} {
		yes := allowing(app.ID)
		maps.Copy(yes, change)
		t.Log(name)
		a.coach.post("/v1/oauth/authorizations", yes).problem(422, "app_request")
	}
	code := func() string {
		t.Helper()
		return a.coach.page(lib.AuthCodeURL("s", challenge), true).Get("code")
	}
	exchange := func(lib oauthClient, code string, options ...oauth2.AuthCodeOption) func() error {
		return func() error {
			_, err := lib.Exchange(lib.ctx, code, options...)
			return err
		}
	}
	proof := oauth2.VerifierOption(verifier)
	wrong(t, "a wrong verifier", "invalid_grant", exchange(lib, code(), oauth2.VerifierOption(oauth2.GenerateVerifier())))
	wrong(t, "no verifier", "invalid_request", exchange(lib, code()))
	wrong(t, "an unknown code", "invalid_grant", exchange(lib, code()+"x", proof))
	wrong(t, "another address", "invalid_grant", exchange(lib, code(), proof, oauth2.SetAuthURLParam("redirect_uri", "https://diary.example/")))
	changed := func(change func(*oauth2.Config)) oauthClient {
		other := *lib.Config
		change(&other)
		return oauthClient{&other, lib.ctx}
	}
	wrong(t, "a wrong secret", "invalid_client", exchange(changed(func(c *oauth2.Config) { c.ClientSecret += "x" }), code(), proof))
	wrong(t, "no secret", "invalid_client", exchange(changed(func(c *oauth2.Config) { c.ClientSecret, c.Endpoint.AuthStyle = "", oauth2.AuthStyleInParams }), code(), proof))
	wrong(t, "an unknown client", "invalid_client", exchange(changed(func(c *oauth2.Config) { c.ClientID = string(newID()) }), code(), proof))
	other := a.owner.registerApp(anApp)
	wrong(t, "another app's code", "invalid_grant", exchange(changed(func(c *oauth2.Config) { c.ClientID, c.ClientSecret = string(other.ID), other.ClientSecret }), code(), proof))
	wrong(t, "by password", "unsupported_grant_type", func() error {
		_, err := lib.PasswordCredentialsToken(lib.ctx, a.coach.email, password)
		return err
	})
	late := code()
	execute(t, s.behind(t), "UPDATE connections SET expires_at = 0 WHERE id = '"+strings.TrimPrefix(strings.Split(late, ".")[0], "fwc_")+"'")
	wrong(t, "an expired code", "invalid_grant", exchange(lib, late, proof))
	once := code()
	token, err := lib.Exchange(lib.ctx, once, proof)
	if err != nil {
		t.Fatal(err)
	}
	wrong(t, "a code a second time", "invalid_grant", exchange(lib, once, proof))
	a.owner.as(token.AccessToken).get("/v1/dashboard").problem(401, "token_refused")

	// What people are now decides.
	wanderer := a.owner.join("Wanda Refton", object{"role": "coach"})
	c := wanderer.connect(app)
	waiting := wanderer.page(lib.AuthCodeURL("s", challenge), true).Get("code")
	a.owner.del("/v1/members/" + string(wanderer.id)).want(204)
	c.get("/v1/dashboard").problem(401, "token_refused")
	wrong(t, "the code of somebody who left", "invalid_grant", exchange(lib, waiting, proof))
	wrong(t, "the refresh token of somebody who left", "invalid_grant", func() error {
		_, err := lib.TokenSource(lib.ctx, &oauth2.Token{RefreshToken: c.RefreshToken}).Token()
		return err
	})
	junior := a.coach.join("Juno Refton", object{"role": "student", "junior": true})
	junior.post("/v1/oauth/authorizations", allowing(app.ID)).problem(409, "consent_missing")
	// Nor does the coach's app see a junior whose guardian has not agreed to apps.
	a.coach.get("/v1/students/" + string(junior.id) + "/progress").want(200)
	a.coach.connect(app).get("/v1/students/"+string(junior.id)+"/progress").problem(404, "not_found")
	a.guardian.post("/v1/oauth/authorizations", allowing(app.ID)).problem(403, "role_refused")
	// The app of one academy is none of another's, but for those who belong to both.
	elsewhere := s.found(t, "Refton the Other", "Otis Refton")
	elsewhere.post("/v1/oauth/authorizations/inspect", asked(app.ID)).problem(422, "app_request")
	s.caller(t).post("/v1/invitations/accept", object{"code": a.owner.invite(object{"role": "coach"}).Code, "name": "Otis", "email": elsewhere.email, "password": password}).want(200)
	var asking api.Authorization
	elsewhere.post("/v1/oauth/authorizations/inspect", asked(app.ID)).want(200).into(&asking)
	if !asking.Elsewhere || asking.AcademyID != a.owner.academy {
		t.Errorf("asked %+v; want the academy to go to", asking)
	}
	elsewhere.post("/v1/oauth/authorizations", allowing(app.ID)).problem(409, "other_academy")
}
