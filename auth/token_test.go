package auth

import (
	"crypto/ed25519"
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"time"

	"fringework/domain"

	"github.com/golang-jwt/jwt/v5"
)

const (
	testIssuer   = "https://fringework.example"
	testAudience = "https://fringework.example/v1"
	testLife     = 10 * time.Minute
)

var tokenTime = time.Date(2026, 5, 1, 12, 0, 0, 0, time.UTC)

// tokenBench is a reader of tokens, its clock, and the means to forge.
type tokenBench struct {
	*Tokens
	now *time.Time
}

func newTokenBench(t *testing.T) tokenBench {
	t.Helper()
	now := tokenTime
	env := domain.Env{Now: func() time.Time { return now }, NewID: func() domain.ID { return "0190a000-0000-7000-8000-000000000009" }}
	return tokenBench{NewTokens(testIssuer, testAudience, testLife, rfc8037Ring(t), env), &now}
}

func personGrant() grant {
	return grant{subject: "account", family: "family", academy: "academy", member: "member", expires: tokenTime.Add(testLife)}
}

// good is the header and claims of a token as it should be.
func (b tokenBench) good() (header, claims map[string]any) {
	return map[string]any{"alg": "EdDSA", "typ": "at+jwt", "kid": b.Keyring().ActiveID(*b.now)},
		map[string]any{
			"iss": testIssuer, "aud": testAudience, "sub": "account", "client_id": "fringework",
			"sid": "family", "academy": "academy", "member": "member", "jti": "1",
			"iat": tokenTime.Unix(), "exp": tokenTime.Add(testLife).Unix(),
		}
}

// forge signs any header and claims with the active key, or as sign does.
func (b tokenBench) forge(t *testing.T, header, claims map[string]any, sign func(input string) []byte) string {
	t.Helper()
	var parts []string
	for _, part := range []map[string]any{header, claims} {
		text, err := json.Marshal(part)
		if err != nil {
			t.Fatal(err)
		}
		parts = append(parts, encode(text))
	}
	input := strings.Join(parts, ".")
	if sign == nil {
		sign = func(input string) []byte { return ed25519.Sign(b.Keyring().signers[0].private, []byte(input)) }
	}
	return input + "." + encode(sign(input))
}

func TestTokenRoundTrip(t *testing.T) {
	b := newTokenBench(t)
	for name, want := range map[string]grant{
		"person":                 personGrant(),
		"person without academy": {subject: "account", family: "family", expires: tokenTime.Add(testLife)},
		"key":                    {subject: "key", academy: "academy", scopes: Scopes{SessionsRead, CalcUse}, expires: tokenTime.Add(testLife)},
	} {
		token, err := b.issue(want)
		if err != nil {
			t.Fatal(err)
		}
		got, err := b.read(token)
		if err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if got.subject != want.subject || got.family != want.family || got.academy != want.academy ||
			got.member != want.member || got.scopes.String() != want.scopes.String() || !got.expires.Equal(want.expires) {
			t.Errorf("%s: got %+v, want %+v", name, got, want)
		}
	}
}

// TestTokenShape holds the token to the claims that RFC 9068 §2.2 requires.
func TestTokenShape(t *testing.T) {
	b := newTokenBench(t)
	token, err := b.issue(personGrant())
	if err != nil {
		t.Fatal(err)
	}
	var c map[string]any
	parsed, _, err := jwt.NewParser().ParseUnverified(token, jwt.MapClaims{})
	if err != nil {
		t.Fatal(err)
	}
	c = parsed.Claims.(jwt.MapClaims)
	for _, name := range []string{"iss", "exp", "aud", "sub", "client_id", "iat", "jti"} {
		if c[name] == nil || c[name] == "" {
			t.Errorf("claim %s is missing: %v", name, c)
		}
	}
	if parsed.Header["typ"] != "at+jwt" || parsed.Header["alg"] != "EdDSA" {
		t.Errorf("header: %v", parsed.Header)
	}
	if len(token) > 1024 {
		t.Errorf("token of %d bytes; it goes with every request, so keep it under 1 KiB", len(token))
	}
}

// TestTokenRules breaks one rule at a time of a token that is good otherwise.
// Rules of RFC 7519 §4.1, RFC 7515 §4.1.11, RFC 8725 §3 and RFC 9068 §4.
func TestTokenRules(t *testing.T) {
	b := newTokenBench(t)
	type object = map[string]any
	hour := int64(3600)
	none := func(string) []byte { return nil }
	public := b.Keyring().signers[0].public
	hs256 := func(secret []byte) func(string) []byte {
		return func(input string) []byte {
			mac, err := jwt.SigningMethodHS256.Sign(input, secret)
			if err != nil {
				t.Fatal(err)
			}
			return mac
		}
	}
	for name, c := range map[string]struct {
		change func(h, c object)
		sign   func(string) []byte
		good   bool
	}{
		"as it should be":         {func(h, c object) {}, nil, true},
		"aud among others":        {func(h, c object) { c["aud"] = []string{"other", testAudience} }, nil, true},
		"nbf now":                 {func(h, c object) { c["nbf"] = tokenTime.Unix() }, nil, true},
		"unknown claim":           {func(h, c object) { c["colour"] = "green" }, nil, true},
		"alg none":                {func(h, c object) { h["alg"] = "none" }, none, false},
		"alg None":                {func(h, c object) { h["alg"] = "None" }, none, false},
		"no alg":                  {func(h, c object) { delete(h, "alg") }, nil, false},
		"HS256 by the public key": {func(h, c object) { h["alg"] = "HS256" }, hs256(public), false},
		"HS256 by its text":       {func(h, c object) { h["alg"] = "HS256" }, hs256([]byte(rfc8037Public)), false},
		"HS512 named":             {func(h, c object) { h["alg"] = "HS512" }, nil, false},
		"no signature":            {func(h, c object) {}, none, false},
		"typ JWT":                 {func(h, c object) { h["typ"] = "JWT" }, nil, false},
		"no typ":                  {func(h, c object) { delete(h, "typ") }, nil, false},
		"typ not text":            {func(h, c object) { h["typ"] = 1 }, nil, false},
		"unknown kid":             {func(h, c object) { h["kid"] = "other" }, nil, false},
		"no kid":                  {func(h, c object) { delete(h, "kid") }, nil, false},
		"empty kid":               {func(h, c object) { h["kid"] = "" }, nil, false},
		"crit":                    {func(h, c object) { h["crit"] = []string{"exp"} }, nil, false},
		"own key in the header":   {func(h, c object) { delete(h, "kid"); h["jwk"] = object{"kty": "OKP", "x": rfc8037Public} }, nil, false},
		"wrong iss":               {func(h, c object) { c["iss"] = "https://other.example" }, nil, false},
		"no iss":                  {func(h, c object) { delete(c, "iss") }, nil, false},
		"wrong aud":               {func(h, c object) { c["aud"] = testIssuer }, nil, false},
		"no aud":                  {func(h, c object) { delete(c, "aud") }, nil, false},
		"empty aud":               {func(h, c object) { c["aud"] = []string{} }, nil, false},
		"no exp":                  {func(h, c object) { delete(c, "exp") }, nil, false},
		"exp as text":             {func(h, c object) { c["exp"] = "never" }, nil, false},
		"exp past":                {func(h, c object) { c["exp"] = tokenTime.Unix() - hour }, nil, false},
		"nbf future":              {func(h, c object) { c["nbf"] = tokenTime.Unix() + hour }, nil, false},
		"iat future":              {func(h, c object) { c["iat"] = tokenTime.Unix() + hour }, nil, false},
		"no iat":                  {func(h, c object) { delete(c, "iat") }, nil, false},
		"no jti":                  {func(h, c object) { delete(c, "jti") }, nil, false},
		"no sub":                  {func(h, c object) { delete(c, "sub") }, nil, false},
		"member without academy":  {func(h, c object) { delete(c, "academy") }, nil, false},
		"academy without member":  {func(h, c object) { delete(c, "member") }, nil, false},
		"person with scope":       {func(h, c object) { c["scope"] = "calc:use" }, nil, false},
		"neither person nor key":  {func(h, c object) { delete(c, "sid") }, nil, false},
		"key of another client": {func(h, c object) {
			delete(c, "sid")
			delete(c, "member")
			c["client_id"] = "x"
			c["scope"] = "calc:use"
		}, nil, false},
		"key without scope": {func(h, c object) { delete(c, "sid"); delete(c, "member"); c["client_id"] = "account" }, nil, false},
		"key with unknown scope": {func(h, c object) {
			delete(c, "sid")
			delete(c, "member")
			c["client_id"] = "account"
			c["scope"] = "all"
		}, nil, false},
		"key as it should be": {func(h, c object) {
			delete(c, "sid")
			delete(c, "member")
			c["client_id"] = "account"
			c["scope"] = "calc:use"
		}, nil, true},
		"longer than 4 KiB":          {func(h, c object) { c["colour"] = strings.Repeat("green", 1000) }, nil, false},
		"signed by a key not on it":  {func(h, c object) {}, func(input string) []byte { return strangerSigns(t, input) }, false},
		"kid of another ring's name": {func(h, c object) { h["kid"] = "../../keys.json" }, nil, false},
	} {
		t.Run(name, func(t *testing.T) {
			header, claims := b.good()
			c.change(header, claims)
			_, err := b.read(b.forge(t, header, claims, c.sign))
			if (err == nil) != c.good {
				t.Errorf("got %v, want accepted %v", err, c.good)
			}
		})
	}
}

func strangerSigns(t *testing.T, input string) []byte {
	ring, err := GenerateKeyring()
	if err != nil {
		t.Fatal(err)
	}
	return ed25519.Sign(ring.signers[0].private, []byte(input))
}

// TestTokenExamplesOfOtherAlgorithms sends what RFC 7515 prints: Appendix A.1
// (HS256) and A.5 (unsecured). Values from memory of the RFC.
func TestTokenExamplesOfOtherAlgorithms(t *testing.T) {
	b := newTokenBench(t)
	const payload = "eyJpc3MiOiJqb2UiLA0KICJleHAiOjEzMDA4MTkzODAsDQogImh0dHA6Ly9leGFtcGxlLmNvbS9pc19yb290Ijp0cnVlfQ"
	for name, token := range map[string]string{
		"A.1": "eyJ0eXAiOiJKV1QiLA0KICJhbGciOiJIUzI1NiJ9." + payload + ".dBjftJeZ4CVP-mB92K27uhbUJU1p1r_wW1gFWFOEjXk",
		"A.5": "eyJhbGciOiJub25lIn0." + payload + ".",
	} {
		// The example is well-formed: joe's claims can be read.
		parsed, _, err := jwt.NewParser().ParseUnverified(token, jwt.MapClaims{})
		if err != nil || parsed.Claims.(jwt.MapClaims)["iss"] != "joe" {
			t.Fatalf("%s: misquoted: %v", name, err)
		}
		if _, err := b.read(token); !errors.Is(err, jwt.ErrTokenSignatureInvalid) {
			t.Errorf("%s: got %v, want a refused algorithm", name, err)
		}
	}
}

func TestTokenText(t *testing.T) {
	b := newTokenBench(t)
	token, err := b.issue(personGrant())
	if err != nil {
		t.Fatal(err)
	}
	parts := strings.Split(token, ".")
	// The last of 86 characters carries 4 bits of the signature and 2 that
	// must be zero (RFC 4648 §3.5); strict decoding refuses others.
	alphabet := "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"
	last := parts[2][len(parts[2])-1]
	loose := token[:len(token)-1] + string(alphabet[strings.IndexByte(alphabet, last)|1])
	for name, text := range map[string]string{
		"empty":              "",
		"one part":           parts[0],
		"two parts":          parts[0] + "." + parts[1],
		"four parts":         token + ".x",
		"padding":            token + "==",
		"space":              " " + token,
		"newline":            token + "\n",
		"loose last bits":    loose,
		"Bearer before it":   "Bearer " + token,
		"a refresh token":    newRefreshToken("0190a000-0000-7000-8000-000000000001").String(),
		"claims of another":  parts[0] + "." + encode([]byte(`{"sub":"x"}`)) + "." + parts[2],
		"NUL":                "\x00",
		"4 KiB of dots":      strings.Repeat(".", 4096),
		"header is no JSON":  encode([]byte("x")) + "." + parts[1] + "." + parts[2],
		"header is an array": encode([]byte("[]")) + "." + parts[1] + "." + parts[2],
	} {
		if _, err := b.read(text); err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}

// TestTokenEnd: RFC 7519 §4.1.4, a token is refused on or after exp, but for a
// small leeway; and §4.1.5, before nbf.
func TestTokenEnd(t *testing.T) {
	b := newTokenBench(t)
	g := personGrant()
	token, err := b.issue(g)
	if err != nil {
		t.Fatal(err)
	}
	for after, good := range map[time.Duration]bool{
		-testLife - 31*time.Second: false, // its iat lies in the future
		-testLife - 29*time.Second: true,
		-time.Second:               true,
		29 * time.Second:           true,
		30 * time.Second:           false,
		time.Hour:                  false,
	} {
		*b.now = g.expires.Add(after)
		_, err := b.read(token)
		if (err == nil) != good {
			t.Errorf("%v after exp: got %v, want accepted %v", after, err, good)
		}
		if after > 0 && err != nil {
			var e *domain.Error
			if !errors.As(refusal(err), &e) || e.Code != "token_expired" || e.Kind != domain.Unauthenticated {
				t.Errorf("an expired token is answered %v", refusal(err))
			}
		}
	}
}

// A rotation refuses no token: the next key verifies before it signs, the old one
// until its last token has run out, and nothing after that.
func TestTokenRotation(t *testing.T) {
	b := newTokenBench(t)
	first := b.Keyring()
	issue := func() string {
		t.Helper()
		g := personGrant()
		g.expires = b.now.Add(testLife)
		token, err := b.issue(g)
		if err != nil {
			t.Fatal(err)
		}
		return token
	}
	good := func(what, token string, want bool) {
		t.Helper()
		if _, err := b.read(token); (err == nil) != want {
			t.Errorf("%s: got %v, want it taken: %v", what, err, want)
		}
	}
	begins := b.now.Add(10 * time.Minute)
	ring, err := first.Rotate(*b.now, begins, KeepKeys(testLife))
	if err != nil {
		t.Fatal(err)
	}
	before := issue()
	b.UseKeyring(ring)
	good("a token of before", before, true)
	waiting := ring.ActiveID(begins)
	// A replica whose clock is ahead signs with the next key already.
	header, claims := b.good()
	header["kid"] = waiting
	good("a token of a key that waits", b.forge(t, header, claims, func(input string) []byte { return ed25519.Sign(ring.signers[1].private, []byte(input)) }), true)
	*b.now = begins.Add(-time.Second)
	last := issue()
	*b.now = begins
	fresh := issue()
	b.UseKeyring(first)
	good("a token of the new key at a replica that missed the file", fresh, false)
	good("the last token of the old key there", last, true)
	b.UseKeyring(ring)
	good("the last token of the old key", last, true)
	good("a token of the new key", fresh, true)
	if got, want := ring.ActiveID(*b.now), waiting; got != want || ring.ActiveID(begins.Add(-time.Second)) != first.ActiveID(*b.now) {
		t.Errorf("after the change %s signs, want %s, and before it the old one", got, want)
	}
	// Even a token that claims a long life dies with its retired key.
	header["kid"], claims["exp"] = first.ActiveID(*b.now), tokenTime.Add(24*time.Hour).Unix()
	long := b.forge(t, header, claims, func(input string) []byte { return ed25519.Sign(first.signers[0].private, []byte(input)) })
	*b.now = begins.Add(KeepKeys(testLife))
	good("a long token while the retired key is kept", long, true)
	*b.now = b.now.Add(time.Second)
	good("a long token afterwards", long, false)
}

// Of keys that leaked no token is good, from the very moment.
func TestTokensOfReplacedKeys(t *testing.T) {
	b := newTokenBench(t)
	token, err := b.issue(personGrant())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := b.read(token); err != nil {
		t.Fatal(err)
	}
	ring, err := b.Keyring().Replace(*b.now, KeepKeys(testLife))
	if err != nil {
		t.Fatal(err)
	}
	if err := ring.Follows(b.Keyring(), *b.now, b.Keep()); err != nil {
		t.Errorf("a replica does not take the new keys up: %v", err)
	}
	b.UseKeyring(ring)
	if _, err := b.read(token); err == nil {
		t.Error("a token of a revoked key is good")
	}
	if fresh, err := b.issue(personGrant()); err != nil {
		t.Error(err)
	} else if _, err := b.read(fresh); err != nil {
		t.Errorf("a token of the new key: %v", err)
	}
	later, err := ring.Replace(b.now.Add(KeepKeys(testLife)+time.Second), KeepKeys(testLife))
	if err != nil || len(later.all()) != 2 {
		t.Errorf("replaced again later there are %d keys, %v; want the new one and the one that it replaces", len(later.all()), err)
	}
}
