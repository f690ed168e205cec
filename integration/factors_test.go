package integration_test

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/descope/virtualwebauthn"
	"github.com/google/uuid"
	"github.com/pquerna/otp/totp"

	"fringework/api"
	"fringework/auth/authtest"
)

// codeOf is what an app shows some steps of half a minute from now.
func codeOf(t testing.TB, secret string, later int) string {
	t.Helper()
	code, err := totp.GenerateCode(secret, clock.Now().Add(time.Duration(later)*30*time.Second))
	if err != nil {
		t.Fatal(err)
	}
	return code
}

// An app for codes from the set-up to the end, as an API client sees it.
func testSecondFactor(t *testing.T, s *service) {
	p := s.found(t, "Second Academy", "Sasha")
	other := p.signIn()
	again := object{"password": password}
	wrongAt(t, p.post("/v1/me/authenticator", object{"password": "no"}).problem(422, "password"), "/password", "not the password")
	var e api.Enrolment
	p.post("/v1/me/authenticator", again).want(200).into(&e)
	// Each code is of a later step than the one before, as somebody would wait.
	var codes api.RecoveryCodes
	p.post("/v1/me/authenticator/confirm", object{"code": codeOf(t, e.Secret, -1)}).want(200).into(&codes)
	other.get("/v1/me").problem(401, "token_refused")

	credentials := object{"email": p.email, "password": password}
	var second api.SecondStep
	got := p.as("").post("/v1/sign-in", credentials).want(202)
	got.into(&second)
	if cache := got.header.Get("Cache-Control"); cache != "no-store" {
		t.Errorf("Cache-Control %q; want no-store", cache)
	}
	p.as("").post("/v1/sign-in/code", object{"ticket": second.Ticket, "code": codeOf(t, e.Secret, -1)}).problem(401, "code_refused")
	var in api.SignedIn
	p.as("").post("/v1/sign-in/code", object{"ticket": second.Ticket, "code": codes.Codes[0]}).want(200).into(&in)
	p.as("").post("/v1/sign-in/code", object{"ticket": second.Ticket, "code": codes.Codes[1]}).problem(401, "sign_in_again")

	var f api.SecondFactor
	p.get("/v1/me/second-factor").want(200).into(&f)
	if f.AuthenticatorSince == nil || f.RecoveryCodesLeft != 9 || f.Required {
		t.Errorf("got %+v; want an app, nine codes, nothing required", f)
	}
	p.put("/v1/academy/second-factor", object{"required": true}).want(200)
	confirm := object{"password": password, "code": codes.Codes[1]}
	p.post("/v1/me/authenticator/remove", confirm).problem(409, "second_factor_required")
	p.put("/v1/academy/second-factor", object{"required": false}).want(200)
	p.post("/v1/me/recovery-codes", confirm).want(200).into(&codes)
	p.post("/v1/me/authenticator/remove", object{"password": password, "code": codes.Codes[1]}).want(204)
	p.as("").post("/v1/sign-in", credentials).want(200)
	if kinds := eventKinds(p.caller); kinds["second-factor.added"] != 1 || kinds["second-factor.removed"] != 1 {
		t.Errorf("the log has %v; want one factor added and removed", kinds)
	}
}

// A passkey from being made to being removed, by an authenticator of an independent
// library.
func testPasskeys(t *testing.T, s *service) {
	p := s.found(t, "Passkey Academy", "Pascal")
	var me api.Me
	p.get("/v1/me").want(200).into(&me)
	handle := uuid.MustParse(string(me.Account.ID))
	party := virtualwebauthn.RelyingParty{ID: "localhost", Name: "Fringework", Origin: publicURL}
	device := virtualwebauthn.NewAuthenticatorWithOptions(virtualwebauthn.AuthenticatorOptions{UserHandle: handle[:]})
	key := authtest.NewPasskey()

	var c api.PasskeyChallenge
	p.post("/v1/me/passkeys/begin", object{"password": password}).want(200).into(&c)
	creation, err := virtualwebauthn.ParseAttestationOptions(given(t, c))
	if err != nil {
		t.Fatal(err)
	}
	answer := json.RawMessage(virtualwebauthn.CreateAttestationResponse(party, device, key, *creation))
	body := object{"ticket": c.Ticket, "name": "Phone", "credential": answer}
	added := made[api.PasskeyAdded](p.caller, "/v1/me/passkeys", body)
	p.post("/v1/me/passkeys", body).problem(409, "passkey_late")

	stranger := p.as("")
	stranger.post("/v1/sign-in/passkey/begin", nil).want(200).into(&c)
	request, err := virtualwebauthn.ParseAssertionOptions(given(t, c))
	if err != nil {
		t.Fatal(err)
	}
	key.Counter++
	answer = json.RawMessage(virtualwebauthn.CreateAssertionResponse(party, device, key, *request))
	body = object{"ticket": c.Ticket, "credential": answer}
	var in api.SignedIn
	stranger.post("/v1/sign-in/passkey", body).want(200).into(&in)
	s.signedIn(t, in, "Pascal").get("/v1/academy").want(200)
	stranger.post("/v1/sign-in/passkey", body).problem(401, "passkey_refused")
	p.post("/v1/me/passkeys/"+string(added.Passkey.ID)+"/remove", object{"password": password, "code": added.Codes[0]}).want(204)
	p.signIn()
}

// given is what a browser is given of a challenge.
func given(t testing.TB, c api.PasskeyChallenge) string {
	t.Helper()
	text, err := json.Marshal(c.Options)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}
