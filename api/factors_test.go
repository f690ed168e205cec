package api_test

import (
	"strings"
	"testing"
	"time"

	"github.com/pquerna/otp/totp"

	"fringework/api"
)

// shown is the code that an app shows by the clock, half a minute later than the
// last.
func (h *fixture) shown(secret string) string {
	h.Helper()
	h.clock.Advance(30 * time.Second)
	code, err := totp.GenerateCode(secret, h.clock.Now())
	if err != nil {
		h.Fatal(err)
	}
	return code
}

func TestSecondFactor(t *testing.T) {
	h := newFixture(t)
	in := h.signUp("Ines")
	me := as(in.AccessToken)
	at(t, h.do("POST", "/v1/me/authenticator", object{"password": "no"}, me).problem(422, "password"), "/password")
	var e api.Enrolment
	h.do("POST", "/v1/me/authenticator", object{"password": password}, me).want(200).read(&e)
	if n := len(e.Picture); n < 21 || strings.Trim(e.Picture[0], "01") != "" || !strings.HasPrefix(e.Picture[0], "11111110") {
		t.Errorf("picture of %d rows, the first %q; want a QR code", n, e.Picture[0])
	}
	at(t, h.do("POST", "/v1/me/authenticator/confirm", object{"code": "12"}, me).problem(422, "code_refused"), "/code")
	var codes api.RecoveryCodes
	h.do("POST", "/v1/me/authenticator/confirm", object{"code": h.shown(e.Secret)}, me).want(200).read(&codes)

	credentials := object{"email": "ines@example.org", "password": password, "keep": "cookie"}
	got := h.do("POST", "/v1/sign-in", credentials).want(202)
	if got.header.Get("Set-Cookie") != "" {
		t.Error("a cookie before the second step")
	}
	var second api.SecondStep
	got.read(&second)
	if strings.Join(second.Methods, " ") != "authenticator recovery_code" {
		t.Errorf("methods %q", second.Methods)
	}
	step := object{"ticket": second.Ticket, "code": "000000", "keep": "cookie"}
	h.do("POST", "/v1/sign-in/code", step).problem(401, "code_refused")
	step["code"] = h.shown(e.Secret)
	if kept := h.do("POST", "/v1/sign-in/code", step).want(200).header.Get("Set-Cookie"); !strings.HasPrefix(kept, "__Host-fringework=fwr_") {
		t.Errorf("cookie %q; want the refresh token", kept)
	}

	h.do("PUT", "/v1/academy/second-factor", object{"required": true}, me).want(200)
	if f := read[api.SecondFactor](h, "/v1/me/second-factor", in.AccessToken); !f.Required || f.AuthenticatorSince == nil || f.RecoveryCodesLeft != 10 {
		t.Errorf("got %+v; want an app, ten codes, and that it is required", f)
	}
	h.do("POST", "/v1/me/authenticator/remove", object{"password": password, "code": h.shown(e.Secret)}, me).problem(409, "second_factor_required")
	h.do("PUT", "/v1/academy/second-factor", object{"required": false}, me).want(200)
	h.do("POST", "/v1/me/recovery-codes", object{"password": password, "code": codes.Codes[0]}, me).want(200).read(&codes)
	h.do("POST", "/v1/me/authenticator/remove", object{"password": password, "code": codes.Codes[0]}, me).want(204)
	h.do("POST", "/v1/sign-in", credentials).want(200)
}
