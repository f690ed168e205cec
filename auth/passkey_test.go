package auth_test

import (
	"testing"
	"time"

	"github.com/descope/virtualwebauthn"
	"github.com/google/uuid"

	"fringework/auth"
	"fringework/auth/authtest"
	"fringework/domain"
)

func withPasskeys(c *auth.Config) {
	party, err := auth.NewParty(issuer)
	if err != nil {
		panic(err)
	}
	c.Party = party
}

// device is an authenticator of an independent library, in a browser at an address.
type device struct {
	*fixture
	virtualwebauthn.Authenticator
	at virtualwebauthn.RelyingParty
}

func (w *fixture) device(account domain.ID) *device {
	handle := uuid.MustParse(string(account))
	d := &device{fixture: w, at: virtualwebauthn.RelyingParty{ID: "fringework.example", Name: "Fringework", Origin: issuer}}
	d.Authenticator = virtualwebauthn.NewAuthenticatorWithOptions(virtualwebauthn.AuthenticatorOptions{UserHandle: handle[:]})
	return d
}

// make answers a challenge for a new passkey.
func (d *device) make(c auth.Challenge) []byte {
	d.Helper()
	options, err := virtualwebauthn.ParseAttestationOptions(string(c.Options))
	d.ok(err)
	key := authtest.NewPasskey()
	d.AddCredential(key)
	return []byte(virtualwebauthn.CreateAttestationResponse(d.at, d.Authenticator, key, *options))
}

// unlock answers a challenge with the device's first passkey, counting its uses.
func (d *device) unlock(c auth.Challenge) []byte {
	d.Helper()
	options, err := virtualwebauthn.ParseAssertionOptions(string(c.Options))
	d.ok(err)
	d.Credentials[0].Counter++
	return []byte(virtualwebauthn.CreateAssertionResponse(d.at, d.Authenticator, d.Credentials[0], *options))
}

// addPasskey makes a passkey for an account.
func (d *device) addPasskey(id auth.Identity) (auth.Passkey, []string) {
	d.Helper()
	c, err := d.BeginPasskey(d.ctx, id, password, home)
	d.ok(err)
	p, codes, err := d.AddPasskey(d.ctx, id, c.Ticket, "Phone", d.make(c), home)
	d.ok(err)
	return p, codes
}

func (d *device) challenge() auth.Challenge {
	d.Helper()
	c, err := d.BeginPasskeySignIn(d.ctx, home)
	d.ok(err)
	return c
}

func (d *device) enter(c auth.Challenge, answer []byte) error {
	_, err := d.PasskeySignIn(d.ctx, c.Ticket, answer, "", home)
	return err
}

func TestPasskey(t *testing.T) {
	w := newFixture(t, withPasskeys)
	first := w.signUp("olga")
	id := w.who(first)
	d := w.device(id.Account)
	_, err := w.BeginPasskey(w.ctx, id, "no", home)
	w.invalid("wrong password", err, "/password")
	p, codes := d.addPasskey(id)
	w.same("name", p.Name, "Phone")
	w.same("recovery codes", len(codes), 10)
	w.same("log", w.last(id.Academy).Data["method"], any("passkey"))

	w.clock.Advance(time.Hour)
	c := d.challenge()
	answer := d.unlock(c)
	in, err := w.PasskeySignIn(w.ctx, c.Ticket, answer, "", home)
	w.ok(err)
	w.same("role", w.who(in).Role, domain.Owner)
	w.refused("the same answer again", d.enter(c, answer), domain.Unauthenticated, "passkey_refused")
	w.refused("the answer to another challenge", d.enter(d.challenge(), answer), domain.Unauthenticated, "passkey_refused")
	f, err := w.Factors(w.ctx, id.Account)
	w.ok(err)
	w.same("used", f.Passkeys[0].Used, w.clock.Now())

	// With the password, the passkey or a recovery code is asked for.
	second, err := w.signIn("olga@example.org", password)
	w.ok(err)
	w.same("asked for", second.Second.Methods[0], auth.ByPasskey)
	w.invalid("to remove it, wrong code", w.RemovePasskey(w.ctx, id, p.ID, auth.Confirmation{Password: password, Code: "000000", Address: home}), "/code")
	w.refused("no such", w.RemovePasskey(w.ctx, id, w.clock.NewID(), auth.Confirmation{Password: password, Code: codes[0], Address: home}), domain.NotFound, "not_found")
	w.ok(w.RemovePasskey(w.ctx, id, p.ID, auth.Confirmation{Password: password, Code: codes[0], Address: home}))
	c = d.challenge()
	w.refused("once it is removed", d.enter(c, d.unlock(c)), domain.Unauthenticated, "passkey_refused")
	second, err = w.signIn("olga@example.org", password)
	w.ok(err)
	w.same("asked without one", second.Second == nil, true)
}

// TestPasskeyRefusals: a page of another address, a device that did not make sure
// of its user, a stranger's account, a copied device.
func TestPasskeyRefusals(t *testing.T) {
	w := newFixture(t, withPasskeys)
	id, other := w.who(w.signUp("olga")), w.who(w.signUp("eve"))
	d := w.device(id.Account)
	d.addPasskey(id)

	for name, spoil := range map[string]func(*device){
		"another address":  func(d *device) { d.at.Origin = "https://fringework.evil" },
		"another host":     func(d *device) { d.at.ID = "evil.example" },
		"nobody made sure": func(d *device) { d.Options.UserNotVerified = true },
		"nobody there":     func(d *device) { d.Options.UserNotPresent = true },
		"another account":  func(d *device) { h := uuid.MustParse(string(other.Account)); d.Options.UserHandle = h[:] },
		"no account":       func(d *device) { d.Options.UserHandle = []byte("x") },
		"another key": func(d *device) {
			d.Credentials = []virtualwebauthn.Credential{authtest.NewPasskey()}
		},
		"a copied device": func(d *device) { d.Credentials[0].Counter = 0 },
	} {
		c := d.challenge()
		w.ok(d.enter(c, d.unlock(c)))
		spoilt := *d
		spoilt.Credentials = append([]virtualwebauthn.Credential(nil), d.Credentials...)
		spoil(&spoilt)
		c = d.challenge()
		w.refused(name, d.enter(c, spoilt.unlock(c)), domain.Unauthenticated, "passkey_refused")
	}
	c := d.challenge()
	w.refused("nonsense", d.enter(c, []byte("{}")), domain.Unauthenticated, "passkey_refused")
	c = d.challenge()
	answer := d.unlock(c)
	w.clock.Advance(11 * time.Minute)
	w.refused("too late", d.enter(c, answer), domain.Unauthenticated, "passkey_refused")

	begun, err := w.BeginPasskey(w.ctx, other, password, home)
	w.ok(err)
	_, _, err = w.AddPasskey(w.ctx, id, begun.Ticket, "Theirs", d.make(begun), home)
	w.invalid("begun by somebody else", err, "/credential")
	_, _, err = w.AddPasskey(w.ctx, id, "fwt_nothing", "Phone", nil, home)
	w.refused("never begun", err, domain.Conflict, "passkey_late")
	begun, err = w.BeginPasskey(w.ctx, id, password, home)
	w.ok(err)
	_, _, err = w.AddPasskey(w.ctx, id, begun.Ticket, " ", nil, home)
	w.invalid("no name", err, "/name")
	foreign := *d
	foreign.at.Origin = "https://fringework.evil"
	_, _, err = w.AddPasskey(w.ctx, id, begun.Ticket, "Phone", foreign.make(begun), home)
	w.invalid("made at another address", err, "/credential")
}

// TestPasskeyCounts: a passkey is the second factor that an academy asks for.
func TestPasskeyCounts(t *testing.T) {
	w := newFixture(t, withPasskeys)
	in := w.signUp("olga")
	id := w.who(in)
	w.device(id.Account).addPasskey(id)
	w.ok(w.RequireFactor(w.ctx, id, true))
	in, err := w.Refresh(w.ctx, in.Refresh, "", home)
	w.ok(err)
	w.same("academy", w.who(in).Academy, id.Academy)
	w.ok(w.ResetFactors(w.ctx, "olga@example.org"))
	f, err := w.Factors(w.ctx, id.Account)
	w.ok(err)
	w.same("after the operator", f.Any(), false)
}

func TestPasskeysOff(t *testing.T) {
	w := newFixture(t)
	id := w.who(w.signUp("olga"))
	_, err := w.BeginPasskey(w.ctx, id, password, home)
	w.refused("to make one", err, domain.Conflict, "passkeys_off")
	_, _, err = w.AddPasskey(w.ctx, id, "", "", nil, home)
	w.refused("to add one", err, domain.Conflict, "passkeys_off")
	_, err = w.BeginPasskeySignIn(w.ctx, home)
	w.refused("to begin", err, domain.Conflict, "passkeys_off")
	_, err = w.PasskeySignIn(w.ctx, "", nil, "", home)
	w.refused("to sign in", err, domain.Conflict, "passkeys_off")
	for address, good := range map[string]bool{
		"https://practice.example.org": true, "http://localhost:8080": true, "http://practice.example.org": false, "": false, "practice.example.org": false,
	} {
		_, err := auth.NewParty(address)
		w.same(address, err == nil, good)
	}
}
