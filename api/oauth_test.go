package api_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"fringework/api"
	"fringework/auth"
)

func TestKeys(t *testing.T) {
	h := newFixture(t)
	c := h.cast()
	made := h.do("POST", "/v1/keys", object{"name": "Newsletter", "scopes": []string{"sessions:read", "members:read", "sessions:read"}}, as(c.owner.AccessToken)).want(201)
	var k api.KeyCreated
	made.read(&k)
	path := "/v1/keys/" + string(k.ID)
	if got := made.header.Get("Location"); got != path {
		t.Errorf("Location %q; want %q", got, path)
	}
	if got := made.header.Get("Cache-Control"); got != "no-store" {
		t.Errorf("Cache-Control %q; want no-store", got)
	}
	got := h.do("GET", path, nil, as(c.owner.AccessToken)).want(200)
	if strings.Contains(string(got.body), k.ClientSecret) || !strings.HasPrefix(k.ClientSecret, "fwk_") {
		t.Errorf("the secret %q is shown again: %s", k.ClientSecret, got.body)
	}
	if page := read[api.KeyPage](h, "/v1/keys", c.owner.AccessToken); len(page.Items) != 1 || strings.Join(page.Items[0].Scopes, " ") != "sessions:read members:read" {
		t.Errorf("keys %+v", page.Items)
	}
	at(t, h.do("POST", "/v1/keys", object{"name": "", "scopes": []string{"calc:use"}}, as(c.owner.AccessToken)).problem(422, "key"), "/name")
	for _, scopes := range []any{[]string{}, []string{"everything"}, nil, []string{"calc:use", "x"}} {
		at(t, h.do("POST", "/v1/keys", object{"name": "A", "scopes": scopes}, as(c.owner.AccessToken)).problem(422, "key"), "/scopes")
	}
	stranger := h.signUp("Olga")
	h.do("GET", path, nil, as(stranger.AccessToken)).problem(404, "not_found")
	h.do("DELETE", path, nil, as(stranger.AccessToken)).problem(404, "not_found")
	h.do("GET", path, nil, as(c.coach.AccessToken)).problem(403, "role_refused")
	h.do("DELETE", path, nil, as(c.owner.AccessToken)).want(204)
	h.do("DELETE", path, nil, as(c.owner.AccessToken)).want(204)
	if k := read[api.Key](h, path, c.owner.AccessToken); k.RevokedAt == nil {
		t.Error("revoked_at is absent")
	}
}

// form sends a token request with its parameters in the body.
func (h *fixture) form(body string, changes ...func(*http.Request)) answer {
	h.Helper()
	return h.do("POST", "/v1/oauth/token", body, append([]func(*http.Request){set("Content-Type", "application/x-www-form-urlencoded")}, changes...)...)
}

func basic(id, secret string) func(*http.Request) {
	return func(r *http.Request) { r.SetBasicAuth(id, secret) }
}

// TestToken is RFC 6749: §2.3.1 for the credentials, §4.4 for the grant, §5.1
// for the answer.
func TestToken(t *testing.T) {
	h := newFixture(t)
	owner := h.signUp("Ines").AccessToken
	k, access := h.key(owner, "members:read", "events:read")
	id, secret := string(k.ID), k.ClientSecret
	for name, got := range map[string]answer{
		"basic":           h.form("grant_type=client_credentials", basic(id, secret)),
		"encoded basic":   h.form("grant_type=client_credentials", basic(url.QueryEscape(id), strings.ReplaceAll(secret, "_", "%5F"))),
		"body":            h.form(url.Values{"grant_type": {"client_credentials"}, "client_id": {id}, "client_secret": {secret}}.Encode()),
		"id in both":      h.form("grant_type=client_credentials&client_id="+id, basic(id, secret)),
		"unknown ignored": h.form("grant_type=client_credentials&resource=x&resource=y", basic(id, secret)),
		"charset":         h.form("grant_type=client_credentials", basic(id, secret), set("Content-Type", "application/x-www-form-urlencoded; charset=UTF-8")),
		"empty scope":     h.form("grant_type=client_credentials&scope=", basic(id, secret)),
	} {
		t.Run(name, func(t *testing.T) {
			var token api.OAuthToken
			got.want(200).read(&token)
			if token.TokenType != "Bearer" || token.ExpiresIn != 600 || token.Scope != "members:read events:read" {
				t.Errorf("token %+v", token)
			}
			if got.header.Get("Cache-Control") != "no-store" || got.header.Get("Pragma") != "no-cache" {
				t.Errorf("Cache-Control %q, Pragma %q; want no-store and no-cache (§5.1)", got.header.Get("Cache-Control"), got.header.Get("Pragma"))
			}
			h.do("GET", "/v1/members", nil, as(token.AccessToken)).want(200)
		})
	}
	var narrow api.OAuthToken
	h.form("grant_type=client_credentials&scope=events:read", basic(id, secret)).want(200).read(&narrow)
	h.do("GET", "/v1/events", nil, as(narrow.AccessToken)).want(200)
	h.do("GET", "/v1/members", nil, as(narrow.AccessToken)).problem(403, "scope_missing")
	// No scope lets software change anything.
	h.do("PATCH", "/v1/academy", `{"name":"Mine"}`, as(access)).problem(403, "members_only")
	if got := read[api.Key](h, "/v1/keys/"+id, owner); got.UsedAt == nil {
		t.Error("used_at is absent")
	}
	h.do("DELETE", "/v1/keys/"+id, nil, as(owner)).want(204)
	h.do("GET", "/v1/members", nil, as(access)).problem(401, "token_refused")
}

// TestTokenErrors is RFC 6749 §5.2.
func TestTokenErrors(t *testing.T) {
	h := newFixture(t)
	owner := h.signUp("Ines").AccessToken
	k, _ := h.key(owner, "members:read")
	id, secret := string(k.ID), k.ClientSecret
	const grant = "grant_type=client_credentials"
	for name, x := range map[string]struct {
		got    answer
		status int
		code   auth.OAuthCode
	}{
		"no grant":          {h.form("", basic(id, secret)), 400, auth.InvalidRequest},
		"another grant":     {h.form("grant_type=password", basic(id, secret)), 400, auth.UnsupportedGrantType},
		"grant twice":       {h.form(grant+"&"+grant, basic(id, secret)), 400, auth.InvalidRequest},
		"no client":         {h.form(grant), 401, auth.InvalidClient},
		"wrong secret":      {h.form(grant, basic(id, secret+"x")), 401, auth.InvalidClient},
		"unknown client":    {h.form(grant, basic(nobody, secret)), 401, auth.InvalidClient},
		"odd client":        {h.form(grant, basic("x", secret)), 401, auth.InvalidClient},
		"another scheme":    {h.form(grant, as(owner)), 401, auth.InvalidClient},
		"bad basic":         {h.form(grant, set("Authorization", "Basic !!!")), 401, auth.InvalidClient},
		"bad escape":        {h.form(grant, basic("%zz", secret)), 401, auth.InvalidClient},
		"credentials twice": {h.form(grant+"&client_secret="+secret, basic(id, secret)), 400, auth.InvalidRequest},
		"two clients":       {h.form(grant+"&client_id="+nobody, basic(id, secret)), 400, auth.InvalidRequest},
		"scope not held":    {h.form(grant+"&scope=events:read", basic(id, secret)), 400, auth.InvalidScope},
		"scope unknown":     {h.form(grant+"&scope=everything", basic(id, secret)), 400, auth.InvalidScope},
		"bad form":          {h.form("grant_type=%zz", basic(id, secret)), 400, auth.InvalidRequest},
		"JSON":              {h.form(`{"grant_type":"client_credentials"}`, basic(id, secret), set("Content-Type", "application/json")), 400, auth.InvalidRequest},
	} {
		t.Run(name, func(t *testing.T) {
			var e api.OAuthProblem
			x.got.want(x.status).read(&e)
			if e.Error != string(x.code) {
				t.Errorf("error %q; want %q", e.Error, x.code)
			}
			if strings.ContainsAny(e.Description, "\"\\") || strings.ContainsFunc(e.Description, func(r rune) bool { return r < 0x20 || r > 0x7e }) {
				t.Errorf("error_description %q; want ASCII without quotes and backslashes (§5.2)", e.Description)
			}
			if got := x.got.header.Get("Content-Type"); got != "application/json" {
				t.Errorf("media type %q; want application/json", got)
			}
			if got := x.got.header.Get("WWW-Authenticate"); (got == `Basic realm="fringework"`) != (x.status == 401) {
				t.Errorf("WWW-Authenticate %q with %d", got, x.status)
			}
			if got := x.got.header.Get("Cache-Control"); got != "no-store" {
				t.Errorf("Cache-Control %q; want no-store", got)
			}
		})
	}
}
