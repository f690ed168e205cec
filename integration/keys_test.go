package integration_test

import (
	"net/url"
	"strings"
	"testing"

	"fringework/api"
)

// Application keys: the client credentials grant of RFC 6749, section 4.4.
func testKeys(t *testing.T, s *service) {
	a := s.open(t, "Keyes")
	k := made[api.KeyCreated](a.owner.caller, "/v1/keys", object{"name": "Club website", "scopes": []string{"progress:read", "sessions:read"}})
	id, secret := string(k.ID), k.ClientSecret
	ask := func(c *caller, fields url.Values, changes ...change) answer {
		return c.post("/v1/oauth/token", fields.Encode(), append([]change{form}, changes...)...)
	}
	grant := func(more ...string) url.Values {
		v := url.Values{"grant_type": {"client_credentials"}}
		for i := 0; i < len(more); i += 2 {
			v.Set(more[i], more[i+1])
		}
		return v
	}
	t.Run("by HTTP Basic or in the body", func(t *testing.T) {
		c := s.caller(t)
		var token api.OAuthToken
		got := ask(c, grant(), basic(id, secret)).want(200)
		got.into(&token)
		if token.TokenType != "Bearer" || token.ExpiresIn <= 0 || token.ExpiresIn > 600 || token.Scope != "progress:read sessions:read" && token.Scope != "sessions:read progress:read" {
			t.Errorf("token %+v; want a bearer token of both scopes for at most ten minutes", token)
		}
		if got.header.Get("Cache-Control") != "no-store" || got.header.Get("Pragma") != "no-cache" {
			t.Errorf("headers %v; want no-store and no-cache (RFC 6749, section 5.1)", got.header)
		}
		ask(c, grant("client_id", id, "client_secret", secret)).want(200)
		c.as(token.AccessToken).get("/v1/students/" + string(a.student.id) + "/progress").want(200)
		c.as(token.AccessToken).get("/v1/members").problem(403, "scope_missing")
	})
	t.Run("a narrower scope", func(t *testing.T) {
		c := s.caller(t)
		var token api.OAuthToken
		ask(c, grant("scope", "sessions:read"), basic(id, secret)).want(200).into(&token)
		if token.Scope != "sessions:read" {
			t.Errorf("scope %q; want the one asked for", token.Scope)
		}
		c.as(token.AccessToken).get("/v1/sessions?student_id=" + string(a.student.id)).want(200)
		c.as(token.AccessToken).get("/v1/students/"+string(a.student.id)+"/progress").problem(403, "scope_missing")
	})
	t.Run("errors as section 5.2 says", func(t *testing.T) {
		for _, x := range []struct {
			name   string
			fields url.Values
			basic  change
			status int
			code   string
		}{
			{"no grant type", url.Values{}, basic(id, secret), 400, "invalid_request"},
			{"another grant type", url.Values{"grant_type": {"password"}}, basic(id, secret), 400, "unsupported_grant_type"},
			{"a scope that the key has not", grant("scope", "members:read"), basic(id, secret), 400, "invalid_scope"},
			{"an unknown scope", grant("scope", "everything"), basic(id, secret), 400, "invalid_scope"},
			{"a wrong secret", grant(), basic(id, "fwk_wrong"), 401, "invalid_client"},
			{"an unknown client", grant(), basic(string(newID()), secret), 401, "invalid_client"},
			{"no client", grant(), header("Accept", "*/*"), 401, "invalid_client"},
			{"credentials twice", grant("client_id", id, "client_secret", secret), basic(id, secret), 400, "invalid_request"},
			{"a parameter twice", url.Values{"grant_type": {"client_credentials", "client_credentials"}}, basic(id, secret), 400, "invalid_request"},
		} {
			got := ask(s.caller(t), x.fields, x.basic).want(x.status)
			var e api.OAuthProblem
			got.into(&e)
			if e.Error != x.code {
				t.Errorf("%s: %s; want %s", x.name, got.body, x.code)
			}
			if x.status == 401 && !strings.HasPrefix(got.header.Get("WWW-Authenticate"), "Basic ") {
				t.Errorf("%s: challenge %q; want Basic", x.name, got.header.Get("WWW-Authenticate"))
			}
		}
	})
	t.Run("shown once", func(t *testing.T) {
		list := a.owner.in(t).get("/v1/keys").want(200)
		one := a.owner.in(t).get("/v1/keys/" + id).want(200)
		if strings.Contains(string(list.body)+string(one.body), secret) {
			t.Error("a secret is shown again")
		}
		var stored api.Key
		one.into(&stored)
		if stored.UsedAt == nil {
			t.Errorf("the key is %+v; want when it was used", stored)
		}
	})
	t.Run("revoked", func(t *testing.T) {
		c := s.caller(t)
		var token api.OAuthToken
		ask(c, grant(), basic(id, secret)).want(200).into(&token)
		a.owner.in(t).del("/v1/keys/" + id).want(204)
		a.owner.in(t).del("/v1/keys/" + id).want(204)
		c.as(token.AccessToken).get("/v1/sessions?student_id="+string(a.student.id)).problem(401, "token_refused")
		ask(c, grant(), basic(id, secret)).want(401)
	})
	wrongAt(t, a.owner.post("/v1/keys", object{"name": "X", "scopes": []string{"everything"}}).problem(422, "key"), "/scopes", "sessions:read")
}
