package integration_test

import (
	"net/url"
	"strconv"
	"strings"
	"testing"

	"fringework/api"
)

func (c *caller) refreshed(token string) (in api.SignedIn) {
	c.Helper()
	c.post("/v1/tokens/refresh", object{"refresh_token": token}).want(200).into(&in)
	return in
}

// A refresh token repeats its answer until its successor is used; an older one
// ends the whole family.
func testRefresh(t *testing.T, s *service) {
	p := s.found(t, "Refresh Academy", "Rafe")
	other := p.signIn()
	c := p.as("")
	first := p.refresh
	second := c.refreshed(first)
	if second.RefreshToken == first || second.AccessToken == p.token {
		t.Error("a refresh gave the same tokens again")
	}
	// A reply lost on the way: the same answer, while nobody went on from it.
	if again := c.refreshed(first); again.RefreshToken != second.RefreshToken {
		t.Error("a repeated refresh gave another successor")
	}
	third := c.refreshed(second.RefreshToken)
	p.as(third.AccessToken).get("/v1/me").want(200)

	c.post("/v1/tokens/refresh", object{"refresh_token": first}).problem(401, "refresh_refused")
	c.post("/v1/tokens/refresh", object{"refresh_token": third.RefreshToken}).problem(401, "refresh_refused")
	for _, token := range []string{p.token, second.AccessToken, third.AccessToken} {
		p.as(token).get("/v1/me").problem(401, "token_refused")
	}
	other.get("/v1/me").want(200) // another sign-in of the same person goes on
	if kinds := eventKinds(other.caller); kinds["sign-in.replayed"] != 1 {
		t.Errorf("the log has %v; want one sign-in.replayed", kinds)
	}
	c.post("/v1/tokens/refresh", object{"refresh_token": "fwr_nonsense"}).problem(401, "refresh_refused")
	c.post("/v1/tokens/refresh", object{}).problem(422, "body_invalid")
}

// The pages keep their refresh token where scripts cannot read it.
func testCookie(t *testing.T, s *service) {
	p := s.found(t, "Cookie Academy", "Cora")
	c := p.as("")
	body := object{"email": p.email, "password": password, "keep": "cookie"}
	got := c.post("/v1/sign-in", body).want(200)
	var in api.SignedIn
	got.into(&in)
	kept := got.header.Get("Set-Cookie")
	for _, want := range []string{"__Host-fringework=fwr_", "HttpOnly", "Secure", "SameSite=Strict", "Path=/"} {
		if !strings.Contains(kept, want) {
			t.Errorf("cookie %q; want it to have %s", kept, want)
		}
	}
	if in.RefreshToken != "" {
		t.Error("the refresh token is in the answer as well")
	}
	cookie := header("Cookie", strings.Split(kept, ";")[0])
	next := c.post("/v1/tokens/refresh", object{}, cookie).want(200)
	if again := next.header.Get("Set-Cookie"); again == "" || again == kept {
		t.Errorf("the refresh set the cookie %q; want a fresh one", again)
	}
	c.post("/v1/tokens/refresh", object{}, cookie, header("Sec-Fetch-Site", "cross-site")).problem(403, "cross_site")
	c.post("/v1/sign-in", body, header("Sec-Fetch-Site", "cross-site")).problem(403, "cross_site")
	out := c.post("/v1/sign-out", nil, header("Cookie", strings.Split(next.header.Get("Set-Cookie"), ";")[0])).want(204)
	if gone := out.header.Get("Set-Cookie"); !strings.Contains(gone, "Max-Age=0") {
		t.Errorf("signing out set %q; want the cookie forgotten", gone)
	}
}

func testSignIns(t *testing.T, s *service) {
	p := s.found(t, "Password Academy", "Pia")
	here, elsewhere := p.signIn(), p.signIn()

	t.Run("sign out", func(t *testing.T) {
		q := p.in(t).signIn()
		q.post("/v1/sign-out", nil).want(204)
		q.get("/v1/me").problem(401, "token_refused")
		q.as("").post("/v1/tokens/refresh", object{"refresh_token": q.refresh}).problem(401, "refresh_refused")
		r := p.in(t).signIn()
		r.as("").post("/v1/sign-out", object{"refresh_token": r.refresh}).want(204)
		r.get("/v1/me").problem(401, "token_refused")
	})
	t.Run("a new password ends the other sign-ins", func(t *testing.T) {
		const fresh = "eleven tin whistles"
		here, elsewhere := here.in(t), elsewhere.in(t)
		wrongAt(t, here.put("/v1/me/password", object{"current_password": "wrong", "new_password": fresh}).problem(422, "password"), "/current_password", "not the password")
		wrongAt(t, here.put("/v1/me/password", object{"current_password": password, "new_password": "short"}).problem(422, "password"), "/new_password", "8")
		here.put("/v1/me/password", object{"current_password": password, "new_password": fresh}).want(204)
		here.get("/v1/me").want(200)
		elsewhere.get("/v1/me").problem(401, "token_refused")
		c := here.as("")
		c.post("/v1/sign-in", object{"email": p.email, "password": password}).problem(401, "sign_in_refused")
		c.post("/v1/sign-in", object{"email": strings.ToUpper(p.email), "password": fresh}).want(200)
	})
	t.Run("nothing is kept by caches", func(t *testing.T) {
		got := p.in(t).as("").post("/v1/sign-in", object{"email": p.email, "password": "eleven tin whistles"}).want(200)
		if cache := got.header.Get("Cache-Control"); cache != "no-store" {
			t.Errorf("Cache-Control %q; want no-store", cache)
		}
	})
}

// Guessing is slowed down, for whoever guesses.
func testLimits(t *testing.T, s *service) {
	p := s.found(t, "Limits Academy", "Lina")
	guess := func(c *caller) answer {
		return c.post("/v1/sign-in", object{"email": p.email, "password": "a wrong password"})
	}
	stranger := s.caller(t)
	var last answer
	for range 10 {
		if last = guess(stranger); last.status == 429 {
			break
		}
		last.problem(401, "sign_in_refused")
	}
	last.problem(429, "too_many_attempts")
	wait, err := strconv.Atoi(last.header.Get("Retry-After"))
	if err != nil || wait < 1 || wait > 3600 {
		t.Errorf("Retry-After %q; want whole seconds up to an hour", last.header.Get("Retry-After"))
	}
	// The right password does not help who has guessed too often …
	stranger.post("/v1/sign-in", object{"email": p.email, "password": password}).problem(429, "too_many_attempts")
	// … and nobody else is kept out.
	p.signIn()
	other := s.caller(t)
	other.post("/v1/sign-in", object{"email": p.email, "password": password}).want(200)

	t.Run("codes and secrets", func(t *testing.T) {
		for name, try := range map[string]func(*caller) answer{
			"invitation codes": func(c *caller) answer {
				return c.post("/v1/invitations/inspect", object{"code": "NOTACODENOTACODENOTACODENO"})
			},
			"client secrets": func(c *caller) answer {
				body := url.Values{"grant_type": {"client_credentials"}, "client_id": {string(newID())}, "client_secret": {"fwk_wrong"}}
				return c.post("/v1/oauth/token", body.Encode(), form)
			},
			"refresh tokens": func(c *caller) answer {
				return c.post("/v1/tokens/refresh", object{"refresh_token": "fwr_nonsense"})
			},
		} {
			c, limited := s.caller(t), false
			for range 40 {
				if got := try(c); got.status == 429 {
					limited = got.header.Get("Retry-After") != ""
					break
				}
			}
			if !limited {
				t.Errorf("%s: nothing slows guessing down", name)
			}
		}
	})
	t.Run("new academies", func(t *testing.T) {
		c := s.caller(t)
		statuses := map[int]int{}
		for range 35 {
			got := c.post("/v1/academies", object{"academy_name": "Many", "time_zone": "Europe/Lisbon", "name": "Max", "email": mailbox("Max"), "password": password})
			statuses[got.status]++
		}
		if statuses[201] == 0 || statuses[429] == 0 || statuses[201]+statuses[429] != 35 {
			t.Errorf("signing up 35 academies from one address was answered %v; want 201 and then 429", statuses)
		}
	})
}
