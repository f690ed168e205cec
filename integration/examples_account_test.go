package integration_test

import (
	"encoding/json"
	"strings"

	"github.com/descope/virtualwebauthn"
	"github.com/google/uuid"

	"fringework/api"
	"fringework/auth/authtest"
)

// accounts walks through what needs mail, a second factor or a passkey, on a service
// of its own.
func (r *recorder) accounts() {
	r.Helper()
	box := newMailServer(r.T)
	s := start(r.T, engines[0], "--mail-server", "smtp+plain://"+box.address, "--mail-from", "Saltmarsh <post@saltmarsh.example>")
	nobody := s.caller(r.T)
	keep := func(c *caller, op, path string, body any) answer {
		r.Helper()
		method, _, _ := strings.Cut(op, " ")
		got := c.do(method, path, body)
		r.keep(op, body, got)
		return got
	}
	post := func(path string, body any) answer { return keep(nobody, "POST "+path, path, body) }
	const ines, fresh = "ines@links-end.example", "nineteen copper spoons"
	keep(nobody, "GET /v1/sign-in/ways", "/v1/sign-in/ways", nil)
	keep(nobody, "POST /v1/academies 202", "/v1/academies", object{"academy_name": "Links End Short Game", "time_zone": "Europe/Lisbon", "name": "Ines Duarte", "email": ines, "password": password})
	post("/v1/academies/confirm", object{"token": box.token(ines, "Make your academy")})
	post("/v1/password/forgotten", object{"email": ines})
	post("/v1/password/reset", object{"token": box.token(ines, "Set a new password"), "new_password": fresh})
	box.token(ines, "password was changed")
	credentials := object{"email": ines, "password": fresh}
	var in api.SignedIn
	nobody.post("/v1/sign-in", credentials).want(200).into(&in)
	me := nobody.as(in.AccessToken)
	open := made[api.InvitationCreated](me, "/v1/invitations", object{"role": "student"})
	keep(nobody, "POST /v1/invitations/accept 202", "/v1/invitations/accept", object{"code": open.Code, "name": "Tomas Brandt", "email": "tomas@links-end.example", "password": password})
	box.token("tomas@links-end.example", "Join Links End")
	mine := func(op string, body any) answer {
		r.Helper()
		_, path, _ := strings.Cut(op, " ")
		return keep(me, op, path, body)
	}
	mine("POST /v1/me/email/verify", nil)
	post("/v1/email/confirm", object{"token": box.token(ines, "Confirm")})
	mine("PUT /v1/me/email", object{"email": "ines.duarte@links-end.example", "password": fresh})
	r.passkey(in.Account, mine, post, fresh)

	var e api.Enrolment
	mine("POST /v1/me/authenticator", object{"password": fresh}).into(&e)
	mine("POST /v1/me/authenticator/confirm", object{"code": codeOf(r.T, e.Secret, 0)})
	var second api.SecondStep
	keep(nobody, "POST /v1/sign-in 202", "/v1/sign-in", credentials).into(&second)
	post("/v1/sign-in/code", object{"ticket": second.Ticket, "code": codeOf(r.T, e.Secret, 1)})
	var codes api.RecoveryCodes
	confirmed := func() object {
		code := codes.Codes[0]
		codes.Codes = codes.Codes[1:]
		return object{"password": fresh, "code": code}
	}
	codes.Codes = r.recovery
	mine("POST /v1/me/recovery-codes", confirmed()).into(&codes)
	keep(me, "POST /v1/me/passkeys/{passkey_id}/remove", "/v1/me/passkeys/"+string(r.key)+"/remove", confirmed())
	mine("POST /v1/me/authenticator/remove", confirmed())
}

// passkey makes one and signs in with it.
func (r *recorder) passkey(account api.Account, mine, post func(string, any) answer, password string) {
	r.Helper()
	handle := uuid.MustParse(string(account.ID))
	party := virtualwebauthn.RelyingParty{ID: "localhost", Name: "Fringework", Origin: publicURL}
	device := virtualwebauthn.NewAuthenticatorWithOptions(virtualwebauthn.AuthenticatorOptions{UserHandle: handle[:]})
	key := authtest.NewPasskey()
	var c api.PasskeyChallenge
	mine("POST /v1/me/passkeys/begin", object{"password": password}).into(&c)
	creation, err := virtualwebauthn.ParseAttestationOptions(given(r.T, c))
	if err != nil {
		r.Fatal(err)
	}
	made := json.RawMessage(virtualwebauthn.CreateAttestationResponse(party, device, key, *creation))
	var added api.PasskeyAdded
	mine("POST /v1/me/passkeys", object{"ticket": c.Ticket, "name": "Phone", "credential": made}).into(&added)
	r.recovery, r.key = added.Codes, added.Passkey.ID
	post("/v1/sign-in/passkey/begin", nil).into(&c)
	request, err := virtualwebauthn.ParseAssertionOptions(given(r.T, c))
	if err != nil {
		r.Fatal(err)
	}
	key.Counter++
	unlocked := json.RawMessage(virtualwebauthn.CreateAssertionResponse(party, device, key, *request))
	post("/v1/sign-in/passkey", object{"ticket": c.Ticket, "credential": unlocked})
}
