package api_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"fringework/api"
	"fringework/auth"
	"fringework/domain"
)

// TestWeeklyLetter: who gets it, and how it is stopped, signed in or by its address.
func TestWeeklyLetter(t *testing.T) {
	h := newFixture(t)
	c := h.cast()
	coach := c.coach.AccessToken
	missing := func(token string) string {
		t.Helper()
		w := read[api.WeeklyLetter](h, "/v1/me/weekly-letter", token)
		return fmt.Sprint(w.Wanted, " ", w.Missing)
	}
	for token, want := range map[string]string{coach: "true mail", c.student.AccessToken: "true junior"} {
		if got := missing(token); got != want {
			t.Errorf("without mail: %s; want %s", got, want)
		}
	}
	h.do("GET", "/v1/me/weekly-letter", nil, as(c.guardian.AccessToken)).problem(403, "role_refused")
	h.config.Auth.Mail = true
	if got := missing(coach); got != "true confirmation" {
		t.Errorf("not confirmed: %s", got)
	}
	next := func(kind auth.LetterKind) auth.Letter {
		t.Helper()
		l, err := h.config.Auth.NextLetter(t.Context(), time.Minute)
		if err != nil || l.Kind != kind {
			t.Fatalf("letter %s, %v; want %s", l.Kind, err, kind)
		}
		return l
	}
	h.do("POST", "/v1/me/email/verify", nil, as(coach)).want(202)
	h.do("POST", "/v1/email/confirm", object{"token": next(auth.LetterVerify).Token}).want(204)
	if got := missing(coach); got != "true " {
		t.Errorf("confirmed: %s", got)
	}
	at(t, h.do("PUT", "/v1/me/weekly-letter", object{}, as(coach)).problem(422, "body_invalid"), "/wanted")

	send := func() int {
		t.Helper()
		n, err := h.config.Digests.Send(t.Context(), c.coach.Membership.AcademyID, []domain.ID{c.coach.Membership.MemberID})
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	if n := send(); n != 1 {
		t.Fatalf("%d letters; want one", n)
	}
	l := next(auth.LetterDigest)
	path := "/unsubscribe/" + l.Token
	// Looking stops nothing, whoever looks and however often.
	for range 2 {
		page := h.do("GET", path, nil).want(200)
		if text := string(page.body); !strings.Contains(text, "Stop the weekly letter?") || !strings.Contains(text, `<form method="post">`) ||
			!strings.Contains(page.header.Get("Content-Security-Policy"), "form-action 'self'") || page.header.Get("Cache-Control") != "no-store" {
			t.Errorf("the page is %s\n%v", text, page.header)
		}
		if got := missing(coach); got != "true " {
			t.Errorf("after looking: %s", got)
		}
	}
	h.do("GET", path+"?x=1", nil).problem(400, "parameter_invalid")
	// As a mail program does (RFC 8058), and then the button, or a second time.
	for range 2 {
		done := h.do("POST", path, "List-Unsubscribe=One-Click", set("Content-Type", "application/x-www-form-urlencoded")).want(200)
		if !strings.Contains(string(done.body), "You no longer get the weekly letter") {
			t.Errorf("got %s", done.body)
		}
		if got := missing(coach); got != "false " {
			t.Errorf("stopped: %s", got)
		}
	}
	h.clock.Advance(7 * 24 * time.Hour)
	if n := send(); n != 0 {
		t.Errorf("%d letters, though it was stopped", n)
	}
	var in api.SignedIn
	h.do("POST", "/v1/sign-in", object{"email": c.coach.Account.Email, "password": password}).want(200).read(&in)
	coach = in.AccessToken
	h.do("PUT", "/v1/me/weekly-letter", object{"wanted": true}, as(coach)).want(200)
	if got := missing(coach); got != "true " {
		t.Errorf("wanted again: %s", got)
	}
	for _, wrong := range []string{"/unsubscribe/x", path[:len(path)-2], "/unsubscribe/fwl_"} {
		if page := h.do("GET", wrong, nil, set("Accept", "text/html,*/*;q=0.8")).want(404); !strings.Contains(string(page.body), "This address stops no letter") {
			t.Errorf("to a browser: %s", page.body)
		}
		h.do("GET", wrong, nil).problem(404, "no_letter")
		h.do("POST", wrong, "List-Unsubscribe=One-Click", set("Content-Type", "application/x-www-form-urlencoded")).problem(404, "no_letter")
	}
	if strings.Contains(h.log.String(), "fwl_") {
		t.Error("the log has the secret address")
	}
}
