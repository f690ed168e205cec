package api_test

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/descope/virtualwebauthn"
	"github.com/google/uuid"
	"github.com/pquerna/otp/totp"

	"fringework/api"
	"fringework/auth"
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

// given is what a browser is given of a challenge.
func (h *fixture) given(c api.PasskeyChallenge) string {
	h.Helper()
	text, err := json.Marshal(c.Options)
	if err != nil {
		h.Fatal(err)
	}
	return string(text)
}

func TestPasskeys(t *testing.T) {
	const home = "https://fringework.example"
	h := newFixture(t, func(c *api.Config) {
		party, err := auth.NewParty(home)
		if err != nil {
			t.Fatal(err)
		}
		c.Auth.Party = party
	})
	in := h.signUp("Ines")
	me := as(in.AccessToken)
	handle := uuid.MustParse(string(in.Account.ID))
	party := virtualwebauthn.RelyingParty{ID: "fringework.example", Name: "Fringework", Origin: home}
	device := virtualwebauthn.NewAuthenticatorWithOptions(virtualwebauthn.AuthenticatorOptions{UserHandle: handle[:]})
	key := virtualwebauthn.NewCredential(virtualwebauthn.KeyTypeEC2)

	var c api.PasskeyChallenge
	h.do("POST", "/v1/me/passkeys/begin", object{"password": password}, me).want(200).read(&c)
	creation, err := virtualwebauthn.ParseAttestationOptions(h.given(c))
	if err != nil {
		t.Fatal(err)
	}
	body := object{"ticket": c.Ticket, "name": "Phone", "credential": json.RawMessage(virtualwebauthn.CreateAttestationResponse(party, device, key, *creation))}
	var added api.PasskeyAdded
	h.do("POST", "/v1/me/passkeys", body, me).want(201).read(&added)
	h.do("POST", "/v1/sign-in/passkey/begin", nil).want(200).read(&c)
	request, err := virtualwebauthn.ParseAssertionOptions(h.given(c))
	if err != nil {
		t.Fatal(err)
	}
	key.Counter++
	body = object{"ticket": c.Ticket, "credential": json.RawMessage(virtualwebauthn.CreateAssertionResponse(party, device, key, *request))}
	h.do("POST", "/v1/sign-in/passkey", body).want(200)
	h.do("POST", "/v1/sign-in/passkey", body).problem(401, "passkey_refused")
	f := read[api.SecondFactor](h, "/v1/me/second-factor", in.AccessToken)
	if len(f.Passkeys) != 1 || f.Passkeys[0].UsedAt == nil || f.Passkeys[0].Name != "Phone" {
		t.Errorf("passkeys %+v; want the phone, used", f.Passkeys)
	}
	if ways := read[api.SignInWays](h, "/v1/sign-in/ways", ""); !ways.Passkeys {
		t.Error("the service does not say that it has passkeys")
	}
	h.do("POST", "/v1/me/passkeys/"+string(added.Passkey.ID)+"/remove", object{"password": password, "code": added.Codes[0]}, me).want(204)
}
