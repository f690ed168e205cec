package integration_test

import (
	"crypto/ed25519"
	"encoding/base64"
	"encoding/json"
	"strings"
	"testing"
)

// forger signs tokens with a key of the service, or with one that it takes for
// such, following RFC 7515 alone.
type forger struct {
	testing.TB
	private ed25519.PrivateKey
}

// forger reads the key that signs.
func (s *service) forger(t testing.TB) forger {
	t.Helper()
	var set struct{ Keys []struct{ D string } }
	if err := json.Unmarshal([]byte(readFile(t, s.keys)), &set); err != nil {
		t.Fatal(err)
	}
	seed, err := base64.RawURLEncoding.DecodeString(set.Keys[0].D)
	if err != nil {
		t.Fatal(err)
	}
	return forger{t, ed25519.NewKeyFromSeed(seed)}
}

// part decodes a part of a token.
func (f forger) part(token string, i int) (o object) {
	f.Helper()
	raw, err := base64.RawURLEncoding.DecodeString(strings.Split(token, ".")[i])
	if err == nil {
		err = json.Unmarshal(raw, &o)
	}
	if err != nil {
		f.Fatal(err)
	}
	return o
}

// forge signs a token again after an edit of its header and its claims.
func (f forger) forge(token string, edit func(header, claims object)) string {
	f.Helper()
	header, claims := f.part(token, 0), f.part(token, 1)
	edit(header, claims)
	var parts []string
	for _, part := range []object{header, claims} {
		text, err := json.Marshal(part)
		if err != nil {
			f.Fatal(err)
		}
		parts = append(parts, base64.RawURLEncoding.EncodeToString(text))
	}
	signed := strings.Join(parts, ".")
	return signed + "." + base64.RawURLEncoding.EncodeToString(ed25519.Sign(f.private, []byte(signed)))
}

// What RFC 8725 warns of, on a route that any good token may ask.
func testTokens(t *testing.T, s *service) {
	owner := s.found(t, "Tokens Academy", "Tove")
	f := s.forger(t)
	good := owner.token
	claims := f.part(good, 1)
	header := f.part(good, 0)
	if header["alg"] != "EdDSA" || header["kid"] == nil || header["typ"] != "at+jwt" {
		t.Errorf("header %v; want EdDSA with a kid, typ at+jwt (RFC 9068, section 2.1)", header)
	}
	life := claims["exp"].(float64) - claims["iat"].(float64)
	if claims["iss"] != "http://localhost:8080" || claims["aud"] == nil || life <= 0 || life > 600 {
		t.Errorf("claims %v; want iss, aud and at most ten minutes", claims)
	}
	_, other, err := ed25519.GenerateKey(nil)
	if err != nil {
		t.Fatal(err)
	}
	same := func(_, _ object) {}
	set := func(name string, value any) func(_, _ object) { return func(_, claims object) { claims[name] = value } }
	head := func(name string, value any) func(_, _ object) { return func(header, _ object) { header[name] = value } }
	unsigned := strings.Split(f.forge(good, head("alg", "none")), ".")
	for _, c := range []struct {
		name, token string
		status      int
	}{
		{"signed again", f.forge(good, same), 200},
		{"another key under our kid", forger{t, other}.forge(good, same), 401},
		{"unknown kid", f.forge(good, head("kid", "elsewhere")), 401},
		{"no kid", f.forge(good, func(header, _ object) { delete(header, "kid") }), 401},
		{"alg none, unsigned", unsigned[0] + "." + unsigned[1] + ".", 401},
		{"alg HS256 over the public key's signature", f.forge(good, head("alg", "HS256")), 401},
		{"another typ", f.forge(good, head("typ", "JWT")), 401},
		{"critical extension", f.forge(good, head("crit", []string{"exp"})), 401},
		{"expired", f.forge(good, set("exp", claims["iat"].(float64)-3600)), 401},
		{"without an end", f.forge(good, func(_, claims object) { delete(claims, "exp") }), 401},
		{"another issuer", f.forge(good, set("iss", "https://elsewhere.example")), 401},
		{"another audience", f.forge(good, set("aud", []string{"elsewhere"})), 401},
		{"issued in the future", f.forge(good, set("iat", claims["exp"].(float64)+3600)), 401},
		{"another academy", f.forge(good, set("academy", newID())), 401},
		{"another member", f.forge(good, set("member", newID())), 401},
		{"another account", f.forge(good, set("sub", newID())), 401},
		{"claims changed, signature kept", strings.Join([]string{strings.Split(good, ".")[0], strings.Split(f.forge(good, set("exp", 1e10)), ".")[1], strings.Split(good, ".")[2]}, "."), 401},
		{"a refresh token", owner.refresh, 401},
		{"nonsense", "nonsense", 401},
		{"very long", strings.Repeat("a", 8000), 401},
	} {
		got := owner.as(c.token).get("/v1/academy")
		if got.status != c.status {
			t.Errorf("%s: status %d; want %d", c.name, got.status, c.status)
		}
		if c.status != 401 {
			continue
		}
		if challenge := got.header.Get("WWW-Authenticate"); !strings.HasPrefix(challenge, "Bearer ") || !strings.Contains(challenge, `error="invalid_token"`) {
			t.Errorf("%s: challenge %q; want Bearer with invalid_token (RFC 6750, section 3)", c.name, challenge)
		}
	}
}
