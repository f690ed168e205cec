package auth

import (
	"errors"
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"fringework/domain"

	"github.com/golang-jwt/jwt/v5"
)

const (
	// tokenType is the typ of an access token, RFC 9068 §2.1.
	tokenType = "at+jwt"
	// maxToken is the longest token looked at, in bytes.
	maxToken = 4 << 10
	// leeway is how far the clocks of replicas may differ.
	leeway = 30 * time.Second
	// firstParty is the client_id of tokens that people get by signing in;
	// RFC 9068 §2.2 requires one.
	firstParty = "fringework"
)

// grant is what an access token says.
type grant struct {
	// subject is an account, or a key when family is empty.
	subject domain.ID
	// family is a sign-in, or a connection when app is not empty.
	family  domain.ID
	app     domain.ID
	academy domain.ID
	member  domain.ID
	scopes  Scopes
	expires time.Time
}

// claims is the JSON of a grant, RFC 7519 and RFC 9068 §2.2.
type claims struct {
	jwt.RegisteredClaims
	Family  domain.ID `json:"sid,omitempty"`
	Academy domain.ID `json:"academy,omitempty"`
	Member  domain.ID `json:"member,omitempty"`
	Client  string    `json:"client_id"`
	Scope   string    `json:"scope,omitempty"`
}

// Tokens makes and reads access tokens.
type Tokens struct {
	issuer   string
	audience string
	life     time.Duration
	env      domain.Env
	keys     atomic.Pointer[Keyring]
	parser   *jwt.Parser
	verified verified
}

// verified are tokens whose signature and claims were found good, so that the
// requests of one token verify it once. Whether its sign-in still stands is
// looked up each time.
type verified struct {
	mu    sync.Mutex
	known map[string]verifiedGrant
}

type verifiedGrant struct {
	grant
	keys *Keyring
	// The token was found good at from; until is when it expires or its retired
	// key verifies no more.
	from, until time.Time
}

// keptTokens bounds the memory of verified: some megabytes.
const keptTokens = 4096

// find gives what a token grants, if it was verified with the same keys and is
// still good without any leeway.
func (v *verified) find(bearer string, keys *Keyring, now time.Time) (grant, bool) {
	v.mu.Lock()
	defer v.mu.Unlock()
	g, ok := v.known[bearer]
	return g.grant, ok && g.keys == keys && !now.Before(g.from) && now.Before(g.until)
}

func (v *verified) keep(bearer string, g verifiedGrant) {
	v.mu.Lock()
	defer v.mu.Unlock()
	if v.known == nil || len(v.known) >= keptTokens {
		v.known = map[string]verifiedGrant{}
	}
	v.known[bearer] = g
}

// NewTokens makes a maker and reader of access tokens for one issuer and one
// audience, none of which lives longer than life. env gives the clock and the
// tokens' own identities.
func NewTokens(issuer, audience string, life time.Duration, keys *Keyring, env domain.Env) *Tokens {
	t := &Tokens{issuer: issuer, audience: audience, life: life, env: env}
	t.keys.Store(keys)
	t.parser = jwt.NewParser(
		jwt.WithValidMethods([]string{algorithm}),
		jwt.WithIssuer(issuer),
		jwt.WithAudience(audience),
		jwt.WithExpirationRequired(),
		jwt.WithIssuedAt(),
		jwt.WithLeeway(leeway),
		jwt.WithStrictDecoding(),
		jwt.WithTimeFunc(env.Now),
	)
	return t
}

// Keep is how long a retired key still verifies.
func (t *Tokens) Keep() time.Duration { return KeepKeys(t.life) }

// UseKeyring swaps the keyring, as after a rotation; it may be called while
// tokens are made and read.
func (t *Tokens) UseKeyring(k *Keyring) { t.keys.Store(k) }

// Keyring is the keyring in use.
func (t *Tokens) Keyring() *Keyring { return t.keys.Load() }

// issue signs a grant.
func (t *Tokens) issue(g grant) (string, error) {
	client := firstParty
	switch {
	case g.app != "":
		client = string(g.app)
	case g.family == "":
		client = string(g.subject)
	}
	key := t.keys.Load().signer(t.env.Now())
	token := jwt.NewWithClaims(jwt.SigningMethodEdDSA, claims{
		RegisteredClaims: jwt.RegisteredClaims{
			Issuer:    t.issuer,
			Subject:   string(g.subject),
			Audience:  jwt.ClaimStrings{t.audience},
			ExpiresAt: jwt.NewNumericDate(g.expires),
			IssuedAt:  jwt.NewNumericDate(t.env.Now()),
			ID:        string(t.env.NewID()),
		},
		Family: g.family, Academy: g.academy, Member: g.member,
		Client: client, Scope: g.scopes.String(),
	})
	token.Header["typ"] = tokenType
	token.Header["kid"] = key.id
	return token.SignedString(key.private)
}

// read verifies an access token. The error is for the log: whoever sent a bad
// token is told no more than that it is bad or has expired (errTokenExpired).
func (t *Tokens) read(bearer string) (grant, error) {
	if len(bearer) > maxToken {
		return grant{}, fmt.Errorf("token of %d bytes; at most %d", len(bearer), maxToken)
	}
	// Even strict base64 decoding skips line ends (encoding/base64).
	if strings.ContainsAny(bearer, "\r\n") {
		return grant{}, errors.New("line end in the token")
	}
	keys := t.keys.Load()
	if g, ok := t.verified.find(bearer, keys, t.env.Now()); ok {
		return g, nil
	}
	var c claims
	token, err := t.parser.ParseWithClaims(bearer, &c, t.keyFor)
	if err != nil {
		return grant{}, err
	}
	g, err := c.grant()
	if err != nil {
		return grant{}, err
	}
	until := g.expires
	if kid, _ := token.Header["kid"].(string); kid != "" {
		if key, ok := keys.find(kid); ok && !key.retired.IsZero() && key.retired.Add(t.Keep()).Before(until) {
			until = key.retired.Add(t.Keep())
		}
	}
	t.verified.keep(bearer, verifiedGrant{g, keys, t.env.Now(), until})
	return g, nil
}

// keyFor picks the key that a token names, once its header is one of ours.
func (t *Tokens) keyFor(token *jwt.Token) (any, error) {
	if typ, _ := token.Header["typ"].(string); typ != tokenType {
		return nil, fmt.Errorf("typ %q; want %q", typ, tokenType)
	}
	// RFC 7515 §4.1.11: an extension that is critical and not understood
	// makes the token invalid, and none is understood.
	if _, critical := token.Header["crit"]; critical {
		return nil, errors.New("crit header")
	}
	kid, _ := token.Header["kid"].(string)
	key, ok := t.keys.Load().find(kid)
	if !ok || kid == "" {
		return nil, fmt.Errorf("unknown kid %q", kid)
	}
	// A retired key outlives only the tokens it signed before.
	if !key.verifies(t.env.Now(), t.Keep()) {
		return nil, fmt.Errorf("kid %q was retired at %v, or revoked", kid, key.retired)
	}
	return key.public, nil
}

// KeepKeys is how long a retired key must still verify: the longest life of an
// access token and the leeway between clocks.
func KeepKeys(life time.Duration) time.Duration { return life + leeway }

// grant checks that the claims have one of the three shapes that issue makes.
func (c claims) grant() (grant, error) {
	g := grant{subject: domain.ID(c.Subject), family: c.Family, academy: c.Academy, member: c.Member, expires: c.ExpiresAt.UTC()}
	scopes, known := ParseScopes(c.Scope)
	person := c.Family != "" && c.Client == firstParty && c.Scope == "" && (c.Academy == "") == (c.Member == "")
	software := c.Family == "" && c.Client == c.Subject && c.Academy != "" && c.Member == "" && known && len(scopes) > 0
	app := c.Family != "" && isID(domain.ID(c.Client)) && c.Client != c.Subject && c.Academy != "" && c.Member != "" && known && len(scopes) > 0
	if c.Subject == "" || c.IssuedAt == nil || c.ID == "" || !person && !software && !app {
		return grant{}, errors.New("claims are neither a person's nor a key's nor an app's")
	}
	if app {
		g.app = domain.ID(c.Client)
	}
	g.scopes = scopes
	return g, nil
}

// refusal says to whoever sent a bad token what to do.
func refusal(cause error) error {
	if errors.Is(cause, jwt.ErrTokenExpired) {
		return domain.Errorf(domain.Unauthenticated, "token_expired",
			"The access token has expired. Use the refresh token to get a new one, or sign in.").Because(cause)
	}
	return errBadToken().Because(cause)
}

func errBadToken() *domain.Error {
	return domain.Errorf(domain.Unauthenticated, "token_refused", "The access token is not valid. Sign in to get one.")
}
