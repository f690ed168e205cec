package auth

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"fringework/domain"
)

// vault is one over keys and a clock that the test changes.
func vault(t *testing.T) (v Vault, tokens *Tokens, now *time.Time) {
	t.Helper()
	ring, err := GenerateKeyring()
	if err != nil {
		t.Fatal(err)
	}
	at := tokenTime
	tokens = NewTokens(testIssuer, testAudience, testLife, ring, domain.Env{Now: func() time.Time { return at }})
	return tokens.Vault(), tokens, &at
}

// What is sealed opens at its place alone, is never sealed twice alike, and shows
// nothing of the secret.
func TestSeal(t *testing.T) {
	v, _, _ := vault(t)
	secret := []byte("a secret of a webhook")
	sealed, err := v.Seal(secret, "webhooks/a/b/secret")
	if err != nil {
		t.Fatal(err)
	}
	again, err := v.Seal(secret, "webhooks/a/b/secret")
	if err != nil || again == sealed {
		t.Errorf("sealed twice: %q and %q, %v; want two texts", sealed, again, err)
	}
	if strings.Contains(sealed, string(secret)) || strings.ContainsAny(sealed, " \n") {
		t.Errorf("sealed: %q", sealed)
	}
	if got, err := v.Open(sealed, "webhooks/a/b/secret"); err != nil || !bytes.Equal(got, secret) {
		t.Errorf("opened: %q, %v; want %q", got, err, secret)
	}
	if prefix, err := v.Fresh(); err != nil || !strings.HasPrefix(sealed, prefix) {
		t.Errorf("what is sealed now begins %q, %v; want %q", sealed, err, prefix)
	}
	last := len(sealed) - 1
	for name, c := range map[string]struct{ stored, place string }{
		"another place":     {sealed, "webhooks/a/c/secret"},
		"another byte":      {sealed[:last-1] + string(sealed[last-1]^1) + sealed[last:], "webhooks/a/b/secret"},
		"cut off":           {sealed[:len(sealedPrefix)+20], "webhooks/a/b/secret"},
		"another key":       {strings.Replace(sealed, sealedPrefix, sealedPrefix+"x", 1), "webhooks/a/b/secret"},
		"no base64url":      {sealed + "!", "webhooks/a/b/secret"},
		"nothing but a key": {sealedPrefix, "webhooks/a/b/secret"},
	} {
		if got, err := v.Open(c.stored, c.place); err == nil || strings.Contains(err.Error(), string(secret)) {
			t.Errorf("%s: got %q, %v; want it refused", name, got, err)
		}
	}
	if got, err := v.Open("whsec_c3RvcmVk", "anywhere"); err != nil || string(got) != "whsec_c3RvcmVk" {
		t.Errorf("what was stored before there was sealing: %q, %v", got, err)
	}
}

// A rotation of either kind leaves what is sealed readable, and what is sealed from
// its time on has the new key.
func TestSealAfterRotation(t *testing.T) {
	v, tokens, now := vault(t)
	seal := func() string {
		t.Helper()
		sealed, err := v.Seal([]byte("secret"), "place")
		if err != nil {
			t.Fatal(err)
		}
		return sealed
	}
	before := seal()
	begins := now.Add(10 * time.Minute)
	ring, err := tokens.Keyring().Rotate(*now, begins, time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	if ring, err = ring.RotateSealing(*now, begins); err != nil {
		t.Fatal(err)
	}
	tokens.UseKeyring(ring)
	waits := seal()
	*now = begins
	after := seal()
	kid := func(sealed string) string { return strings.Split(sealed, ".")[1] }
	if kid(before) != kid(waits) || kid(after) == kid(before) {
		t.Errorf("sealed by %s, while the new key waits by %s, then by %s; want the new one then alone", kid(before), kid(waits), kid(after))
	}
	for _, sealed := range []string{before, waits, after} {
		if got, err := v.Open(sealed, "place"); err != nil || string(got) != "secret" {
			t.Errorf("%s opens to %q, %v", sealed, got, err)
		}
	}
	if prefix, err := v.Fresh(); err != nil || strings.HasPrefix(before, prefix) || !strings.HasPrefix(after, prefix) {
		t.Errorf("fresh is what begins with %q, %v; want the last alone", prefix, err)
	}
	tokens.UseKeyring(&Keyring{signers: ring.signers})
	if _, err := v.Seal(nil, "place"); err == nil {
		t.Error("sealed without a key")
	}
}
