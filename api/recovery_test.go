package api_test

import (
	"strings"
	"testing"
	"time"

	"fringework/api"
	"fringework/auth"
)

// mailed takes the next letter that waits.
func (h *fixture) mailed(kind auth.LetterKind) auth.Letter {
	h.Helper()
	l, err := h.config.Auth.NextLetter(h.Context(), time.Minute)
	if err != nil || l.Kind != kind {
		h.Fatalf("letter %s, %v; want %s", l.Kind, err, kind)
	}
	return l
}

func TestMailRoutes(t *testing.T) {
	h := newFixture(t, func(c *api.Config) { c.Auth.Mail = true })
	up := object{"academy_name": "Links End", "time_zone": "UTC", "name": "Ines", "email": "ines@example.org", "password": password}
	h.do("POST", "/v1/academies", up).want(202)
	begin := object{"token": h.mailed(auth.LetterSignUp).Token}
	var in api.SignedIn
	h.do("POST", "/v1/academies/confirm", begin).want(201).read(&in)
	h.do("POST", "/v1/academies/confirm", begin).problem(404, "no_sign_up_link")
	if in.Account.EmailVerifiedAt == nil {
		t.Error("the address that the link was sent to is not verified")
	}
	up["password"] = "not her password"
	one := h.do("POST", "/v1/academies", up).want(202)
	up["email"] = "nobody@example.org"
	two := h.do("POST", "/v1/academies", up).want(202)
	if string(one.body) != string(two.body) {
		t.Errorf("the answers differ: %s and %s", one.body, two.body)
	}
	h.mailed(auth.LetterHasAccount)
	h.mailed(auth.LetterSignUp)
	open := h.invite(in.AccessToken, object{"role": "student"})
	h.do("POST", "/v1/invitations/accept", object{"code": open.Code, "name": "Tomas", "email": "tomas@example.org", "password": password}).want(202)
	var joined api.SignedIn
	h.do("POST", "/v1/academies/confirm", object{"token": h.mailed(auth.LetterJoin).Token}).want(201).read(&joined)
	if joined.Membership == nil || joined.Membership.Role != "student" {
		t.Errorf("joined %+v; want a student", joined.Membership)
	}

	h.do("POST", "/v1/password/forgotten", object{"email": "ines@example.org"}).want(202)
	h.do("POST", "/v1/password/reset", object{"token": h.mailed(auth.LetterReset).Token, "new_password": "nine quiet lanterns"}).want(204)
	h.mailed(auth.LetterPassword)
	h.do("POST", "/v1/sign-in", object{"email": "ines@example.org", "password": "nine quiet lanterns"}).want(200).read(&in)
	me := as(in.AccessToken)
	h.do("POST", "/v1/me/email/verify", nil, me).want(202)
	h.do("POST", "/v1/email/confirm", object{"token": h.mailed(auth.LetterVerify).Token}).want(204)
	var change api.EmailChange
	h.do("PUT", "/v1/me/email", object{"email": "new@example.org", "password": "nine quiet lanterns"}, me).want(200).read(&change)
	if !change.Waiting {
		t.Error("the address was changed before its link was opened")
	}
	if ways := read[api.SignInWays](h, "/v1/sign-in/ways", ""); !ways.Mail {
		t.Error("the service does not say that it sends mail")
	}
}

func TestHandReset(t *testing.T) {
	h := newFixture(t)
	owner := h.signUp("Ines")
	student := h.accept(h.invite(owner.AccessToken, object{"role": "student"}).Code, "Tomas")
	var link api.ResetLink
	h.do("POST", "/v1/members/"+string(student.Membership.MemberID)+"/reset-link", nil, as(owner.AccessToken)).want(201).read(&link)
	if !strings.HasSuffix(link.Link, "/reset#"+link.Token) {
		t.Errorf("link %q", link.Link)
	}
	h.do("POST", "/v1/password/reset", object{"token": link.Token, "new_password": "nine quiet lanterns"}).want(204)
	h.do("POST", "/v1/sign-in", object{"email": student.Account.Email, "password": "nine quiet lanterns"}).want(200).read(&student)
	if len(student.Notices) != 1 || student.Notices[0].By != "Ines" {
		t.Errorf("told %+v; want who made the link", student.Notices)
	}
}
