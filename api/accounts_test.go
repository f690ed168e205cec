package api_test

import (
	"strconv"
	"strings"
	"testing"
	"time"

	"fringework/api"
	"fringework/auth"
)

func TestSignUp(t *testing.T) {
	h := newFixture(t)
	got := h.do("POST", "/v1/academies", object{
		"academy_name": "Links End", "time_zone": "Europe/Lisbon", "name": "Ines", "email": "Ines@Example.org", "password": password,
	}).want(201)
	if location := got.header.Get("Location"); location != "/v1/academy" {
		t.Errorf("Location %q; want /v1/academy", location)
	}
	if cache := got.header.Get("Cache-Control"); cache != "no-store" {
		t.Errorf("Cache-Control %q; want no-store", cache)
	}
	var in api.SignedIn
	got.read(&in)
	if in.TokenType != "Bearer" || in.ExpiresIn != 600 || in.Membership == nil || in.Membership.Role != "owner" || in.Account.Email != "ines@example.org" {
		t.Errorf("signed in as %+v", in)
	}
	a := read[api.Academy](h, "/v1/academy", in.AccessToken)
	if a.Name != "Links End" || a.TimeZone != "Europe/Lisbon" || a.ID != in.Membership.AcademyID {
		t.Errorf("academy %+v", a)
	}
}

func TestSignUpTellsEverythingWrong(t *testing.T) {
	p := newFixture(t).do("POST", "/v1/academies", object{
		"academy_name": "", "time_zone": "Nowhere", "name": " ", "email": "ines", "password": "short",
	}).problem(422, "sign_up")
	var got []string
	for _, e := range p.Errors {
		got = append(got, e.Pointer)
	}
	want := []string{"/academy_name", "/time_zone", "/name", "/email", "/password"}
	if len(got) != len(want) {
		t.Fatalf("wrong at %q; want %q", got, want)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("wrong at %q; want %q", got[i], want[i])
		}
	}
}

func TestSignIn(t *testing.T) {
	h := newFixture(t)
	first := h.signUp("Ines")
	other := h.signUp("Olga")
	var second api.SignedIn
	h.do("POST", "/v1/academies", object{
		"academy_name": "Second", "time_zone": "UTC", "name": "Ines", "email": "ines@example.org", "password": password,
	}).want(201).read(&second)

	credentials := object{"email": " INES@example.org ", "password": password}
	var in api.SignedIn
	h.do("POST", "/v1/sign-in", credentials).want(200).read(&in)
	if in.Membership.AcademyID != first.Membership.AcademyID || len(in.Memberships) != 2 {
		t.Errorf("signed in to %+v of %d; want the academy joined first, of 2", in.Membership, len(in.Memberships))
	}
	credentials["academy_id"] = second.Membership.AcademyID
	h.do("POST", "/v1/sign-in", credentials).want(200).read(&in)
	if in.Membership.AcademyID != second.Membership.AcademyID {
		t.Errorf("signed in to %+v; want the second academy", in.Membership)
	}
	credentials["academy_id"] = other.Membership.AcademyID
	h.do("POST", "/v1/sign-in", credentials).problem(404, "not_found")

	if p := h.do("POST", "/v1/sign-in", object{"email": "ines@example.org"}).problem(422, "credentials_missing"); len(p.Errors) != 1 || p.Errors[0].Pointer != "/password" {
		t.Errorf("without a password: %+v; want that it is missing", p)
	}
	wrong := h.do("POST", "/v1/sign-in", object{"email": "ines@example.org", "password": "wrong password"})
	unknown := h.do("POST", "/v1/sign-in", object{"email": "nobody@example.org", "password": "wrong password"})
	p, q := wrong.problem(401, "sign_in_refused"), unknown.problem(401, "sign_in_refused")
	if p.Detail != q.Detail {
		t.Errorf("a wrong password (%q) and an unknown e-mail (%q) can be told apart", p.Detail, q.Detail)
	}
	if got := wrong.header.Get("WWW-Authenticate"); got != `Bearer realm="fringework"` {
		t.Errorf("WWW-Authenticate %q; want no error code, since no token was sent (RFC 6750 §3.1)", got)
	}
}

func TestRefresh(t *testing.T) {
	h := newFixture(t)
	in := h.signUp("Ines")
	var next, again api.SignedIn
	h.do("POST", "/v1/tokens/refresh", object{"refresh_token": in.RefreshToken}).want(200).read(&next)
	h.clock.Advance(24 * time.Hour)
	h.do("POST", "/v1/tokens/refresh", object{"refresh_token": in.RefreshToken}).want(200).read(&again)
	if next.RefreshToken == in.RefreshToken || again.RefreshToken != next.RefreshToken {
		t.Error("want a new refresh token, and the same one for a reply that was lost")
	}
	h.do("POST", "/v1/tokens/refresh", object{"refresh_token": next.RefreshToken}).want(200).read(&next)
	h.do("POST", "/v1/tokens/refresh", object{"refresh_token": in.RefreshToken}).problem(401, "refresh_refused")
	// That token was older, which has ended the sign-in.
	h.do("POST", "/v1/tokens/refresh", object{"refresh_token": next.RefreshToken}).problem(401, "refresh_refused")
	h.do("GET", "/v1/me", nil, as(next.AccessToken)).problem(401, "token_refused")
	h.do("POST", "/v1/tokens/refresh", object{"refresh_token": "fwr_nonsense"}).problem(401, "refresh_refused")
}

func TestAccessTokenEnds(t *testing.T) {
	h := newFixture(t)
	in := h.signUp("Ines")
	h.clock.Advance(11 * time.Minute)
	got := h.do("GET", "/v1/me", nil, as(in.AccessToken))
	got.problem(401, "token_expired")
	if challenge := got.header.Get("WWW-Authenticate"); challenge != `Bearer realm="fringework", error="invalid_token"` {
		t.Errorf("WWW-Authenticate %q; want error=invalid_token (RFC 6750 §3.1)", challenge)
	}
	h.do("POST", "/v1/tokens/refresh", object{"refresh_token": in.RefreshToken}).want(200)
	for name, header := range map[string]string{
		"none": "", "another scheme": "Basic aW5lczpwYXNz", "no token": "Bearer ", "nonsense": "Bearer x.y.z",
		"a refresh token": "Bearer " + in.RefreshToken,
	} {
		t.Run(name, func(t *testing.T) {
			if got := h.do("GET", "/v1/me", nil, set("Authorization", header)); got.status != 401 {
				t.Errorf("status %d; want 401", got.status)
			}
		})
	}
}

// TestSchemeIsCaseInsensitive holds RFC 9110 §11.1.
func TestSchemeIsCaseInsensitive(t *testing.T) {
	h := newFixture(t)
	in := h.signUp("Ines")
	h.do("GET", "/v1/me", nil, set("Authorization", "bEARER "+in.AccessToken)).want(200)
}

func TestSignOut(t *testing.T) {
	h := newFixture(t)
	h.do("POST", "/v1/sign-out", nil).problem(401, "token_missing")
	in := h.signUp("Ines")
	h.do("POST", "/v1/sign-out", nil, as(in.AccessToken)).want(204)
	h.do("GET", "/v1/me", nil, as(in.AccessToken)).problem(401, "token_refused")

	h.do("POST", "/v1/sign-in", object{"email": "ines@example.org", "password": password}).want(200).read(&in)
	h.do("POST", "/v1/sign-out", object{"refresh_token": in.RefreshToken}).want(204)
	h.do("GET", "/v1/me", nil, as(in.AccessToken)).problem(401, "token_refused")
	h.do("POST", "/v1/sign-out", object{"refresh_token": "none of ours"}).want(204)

	h.do("POST", "/v1/sign-in", object{"email": "ines@example.org", "password": password}).want(200).read(&in)
	_, software := h.key(in.AccessToken, "members:read")
	h.do("POST", "/v1/sign-out", nil, as(software)).problem(403, "members_only")
}

func TestChangePassword(t *testing.T) {
	h := newFixture(t)
	in := h.signUp("Ines")
	var elsewhere api.SignedIn
	h.do("POST", "/v1/sign-in", object{"email": "ines@example.org", "password": password}).want(200).read(&elsewhere)

	at(t, h.do("PUT", "/v1/me/password", object{"current_password": "wrong one", "new_password": "nine quiet lanterns"}, as(in.AccessToken)).
		problem(422, "password"), "/current_password")
	at(t, h.do("PUT", "/v1/me/password", object{"current_password": password, "new_password": "short"}, as(in.AccessToken)).
		problem(422, "password"), "/new_password")
	h.do("PUT", "/v1/me/password", object{"current_password": password, "new_password": "nine quiet lanterns"}, as(in.AccessToken)).want(204)
	h.do("GET", "/v1/me", nil, as(in.AccessToken)).want(200)
	h.do("GET", "/v1/me", nil, as(elsewhere.AccessToken)).problem(401, "token_refused")
	h.do("POST", "/v1/sign-in", object{"email": "ines@example.org", "password": password}).problem(401, "sign_in_refused")
	h.do("POST", "/v1/sign-in", object{"email": "ines@example.org", "password": "nine quiet lanterns"}).want(200)
}

func TestMe(t *testing.T) {
	h := newFixture(t)
	c := h.cast()
	for _, in := range []api.SignedIn{c.owner, c.coach, c.student, c.guardian} {
		me := read[api.Me](h, "/v1/me", in.AccessToken)
		if me.Account.ID != in.Account.ID || me.Member == nil || me.Member.ID != in.Membership.MemberID || me.Member.Role != in.Membership.Role {
			t.Errorf("me %+v; want %+v", me, in.Membership)
		}
	}
	// Each member of the patch alone.
	token := c.student.AccessToken
	for patch, want := range map[string]func(api.Member) bool{
		`{"name":"Tom"}`:                      func(m api.Member) bool { return m.Name == "Tom" },
		`{"time_zone":"America/Sao_Paulo"}`:   func(m api.Member) bool { return m.TimeZone == "America/Sao_Paulo" },
		`{"units":"metres"}`:                  func(m api.Member) bool { return m.Units == "metres" },
		`{}`:                                  func(api.Member) bool { return true },
		`{"name":"Tomas","units":"feet"}`:     func(m api.Member) bool { return m.Name == "Tomas" && m.Units == "feet" },
		`{"units":"metres","name":"Tomas B"}`: func(m api.Member) bool { return m.Units == "metres" && m.Name == "Tomas B" },
	} {
		before := read[api.Me](h, "/v1/me", token)
		var me api.Me
		h.do("PATCH", "/v1/me", patch, as(token), set("Content-Type", "application/merge-patch+json")).want(200).read(&me)
		if !want(*me.Member) {
			t.Errorf("%s made %+v of %+v", patch, *me.Member, *before.Member)
		}
		if patch == `{}` && me.Member.Revision != before.Member.Revision {
			t.Errorf("an empty patch made revision %d of %d", me.Member.Revision, before.Member.Revision)
		}
	}
	for patch, pointer := range map[string]string{
		`{"name":null}`: "/name", `{"time_zone":null}`: "/time_zone", `{"units":null}`: "/units",
		`{"name":""}`: "/name", `{"time_zone":"Mars"}`: "/time_zone", `{"units":"yards"}`: "/units",
	} {
		at(t, h.do("PATCH", "/v1/me", patch, as(token)).problem(422, "member_invalid"), pointer)
	}
	at(t, h.do("PATCH", "/v1/me", `{"name":7}`, as(token)).problem(400, "body_invalid"), "/name")
	at(t, h.do("PATCH", "/v1/me", `{"role":"owner"}`, as(token)).problem(400, "body_invalid"), "/role")
	h.do("PATCH", "/v1/me", `name=Tom`, as(token), set("Content-Type", "text/plain")).problem(415, "media_type")
}

// TestMeWithoutAcademy: whoever was removed can still see their account.
func TestMeWithoutAcademy(t *testing.T) {
	h := newFixture(t)
	c := h.cast()
	h.do("DELETE", "/v1/members/"+string(c.coach.Membership.MemberID), nil, as(c.owner.AccessToken)).want(204)
	h.do("GET", "/v1/me", nil, as(c.coach.AccessToken)).problem(401, "token_refused")
	var in api.SignedIn
	h.do("POST", "/v1/tokens/refresh", object{"refresh_token": c.coach.RefreshToken}).want(200).read(&in)
	if in.Membership != nil || len(in.Memberships) != 0 {
		t.Errorf("memberships %+v, %+v; want none", in.Membership, in.Memberships)
	}
	if me := read[api.Me](h, "/v1/me", in.AccessToken); me.Member != nil {
		t.Errorf("member %+v; want none", me.Member)
	}
	h.do("PATCH", "/v1/me", `{"name":"Carl"}`, as(in.AccessToken)).problem(403, "academy_missing")
	h.do("GET", "/v1/academy", nil, as(in.AccessToken)).problem(403, "academy_missing")
}

func TestAcademy(t *testing.T) {
	h := newFixture(t)
	c := h.cast()
	var a api.Academy
	h.do("PATCH", "/v1/academy", `{"name":"Dunes"}`, as(c.owner.AccessToken)).want(200).read(&a)
	if a.Name != "Dunes" || a.TimeZone != "Europe/Lisbon" {
		t.Errorf("after a new name: %+v", a)
	}
	h.do("PATCH", "/v1/academy", `{"time_zone":"Asia/Tokyo"}`, as(c.owner.AccessToken)).want(200).read(&a)
	if a.Name != "Dunes" || a.TimeZone != "Asia/Tokyo" {
		t.Errorf("after a new time zone: %+v", a)
	}
	h.do("PATCH", "/v1/academy", `{}`, as(c.owner.AccessToken)).want(200)
	at(t, h.do("PATCH", "/v1/academy", `{"name":null}`, as(c.owner.AccessToken)).problem(422, "academy_invalid"), "/name")
	h.do("PATCH", "/v1/academy", `{"name":"Mine"}`, as(c.coach.AccessToken)).problem(403, "role_refused")
	if got := read[api.Academy](h, "/v1/academy", c.student.AccessToken); got != a {
		t.Errorf("the student sees %+v; want %+v", got, a)
	}
}

// TestCookie: a page keeps its refresh token where scripts cannot read it, and
// no page of another site gets at it.
func TestCookie(t *testing.T) {
	h := newFixture(t)
	h.signUp("Ines")
	credentials := object{"email": "ines@example.org", "password": password, "keep": "cookie"}
	page, elsewhere := set("Sec-Fetch-Site", "same-origin"), set("Sec-Fetch-Site", "cross-site")
	h.do("POST", "/v1/sign-in", credentials, elsewhere).problem(403, "cross_site")
	got := h.do("POST", "/v1/sign-in", credentials, page).want(200)
	var in api.SignedIn
	got.read(&in)
	cookie := got.header.Get("Set-Cookie")
	for _, part := range []string{"__Host-fringework=fwr_", "; Path=/", "; HttpOnly", "; Secure", "; SameSite=Strict"} {
		if !strings.Contains(cookie, part) {
			t.Errorf("Set-Cookie %q; want %q in it", cookie, part)
		}
	}
	if mark := got.header.Values("Set-Cookie"); len(mark) != 2 || !strings.HasPrefix(mark[1], "__Host-fringework-kept=1;") || strings.Contains(mark[1], "HttpOnly") || strings.Contains(mark[1], "fwr_") {
		t.Errorf("Set-Cookie %q; want a mark that scripts may read, without the token", mark)
	}
	if in.RefreshToken != "" || in.AccessToken == "" {
		t.Errorf("refresh token %q, access token %q; want the access token alone", in.RefreshToken, in.AccessToken)
	}
	kept, _, _ := strings.Cut(cookie, ";")
	h.do("POST", "/v1/tokens/refresh", object{}, set("Cookie", kept), elsewhere).problem(403, "cross_site")
	next := h.do("POST", "/v1/tokens/refresh", object{}, set("Cookie", kept), page).want(200)
	renewed, _, _ := strings.Cut(next.header.Get("Set-Cookie"), ";")
	if renewed == kept || !strings.HasPrefix(renewed, "__Host-fringework=fwr_") {
		t.Errorf("the cookie is %q after %q; want the next token", renewed, kept)
	}
	next.read(&in)
	out := h.do("POST", "/v1/sign-out", nil, set("Cookie", renewed), page).want(204)
	for _, gone := range out.header.Values("Set-Cookie") {
		if !strings.Contains(gone, "Max-Age=0") {
			t.Errorf("Set-Cookie %q; want the cookie forgotten", gone)
		}
	}
	h.do("GET", "/v1/me", nil, as(in.AccessToken)).problem(401, "token_refused")
	at(t, h.do("POST", "/v1/tokens/refresh", object{}).problem(422, "body_invalid"), "/refresh_token")
	credentials["keep"] = "drawer"
	at(t, h.do("POST", "/v1/sign-in", credentials).problem(422, "body_invalid"), "/keep")
}

// TestGuessingIsSlowed: the answer says how long to wait (RFC 6585 §4).
func TestGuessingIsSlowed(t *testing.T) {
	h := newFixture(t, func(c *api.Config) { c.Auth.Limiter = auth.NewStoreLimiter(c.Auth.Store) })
	h.signUp("Ines")
	for range 5 {
		h.do("POST", "/v1/sign-in", object{"email": "ines@example.org", "password": "a wrong guess"}).problem(401, "sign_in_refused")
	}
	got := h.do("POST", "/v1/sign-in", object{"email": "ines@example.org", "password": password})
	got.problem(429, "too_many_attempts")
	wait, err := strconv.Atoi(got.header.Get("Retry-After"))
	if err != nil || wait < 1 {
		t.Fatalf("Retry-After %q; want seconds", got.header.Get("Retry-After"))
	}
	h.clock.Advance(time.Duration(wait) * time.Second)
	h.do("POST", "/v1/sign-in", object{"email": "ines@example.org", "password": password}).want(200)
}
