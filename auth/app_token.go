package auth

import (
	"context"
	"crypto/subtle"
	"encoding/base64"
	"time"

	"fringework/domain"
)

// AppTokenRequest is a token request of an app: RFC 6749 §4.1.3 with RFC 7636
// §4.5, or its §6.
type AppTokenRequest struct {
	KeyRequest
	Code         string
	RedirectURI  string
	CodeVerifier string
	RefreshToken string
}

// AppToken is what an app gets (RFC 6749 §5.1).
type AppToken struct {
	KeyToken
	Refresh string
	// Academy and Member are whom the tokens are about.
	Academy domain.ID
	Member  domain.ID
}

// ExchangeApp gives an app tokens for an authorization code or a refresh token, as
// the grant type says. Refusals are *OAuthError; too many wrong secrets are
// domain.TooMany.
//
// A code is good once, for CodeLife; when it comes a second time, two parties have
// it, and the connection ends (RFC 6749 §4.1.2). A refresh token gives its one
// successor until that is used, as Refresh does and for its reasons; an older one
// ends the connection, which the academy's log tells (RFC 9700 §4.14.2).
func (s *Service) ExchangeApp(ctx context.Context, r AppTokenRequest) (AppToken, error) {
	if r.ClientID == "" {
		return AppToken{}, &OAuthError{InvalidClient, "client_id is needed, by HTTP Basic or in the body."}
	}
	academy, app, err := s.appClient(ctx, r.KeyRequest)
	if err != nil {
		return AppToken{}, err
	}
	x := exchange{service: s, request: r, academy: academy, app: app}
	step := x.redeem
	if r.GrantType == "refresh_token" {
		step = x.refresh
	}
	if err := retried(func() error { return s.Store.Write(ctx, func(tx Tx) error { return x.run(ctx, tx, step) }) }); err != nil {
		return AppToken{}, err
	}
	if x.wrong != nil {
		if x.guessed {
			return AppToken{}, s.missed(ctx, secretBucket(Origin(r.Address)), x.wrong)
		}
		return AppToken{}, x.wrong
	}
	return s.handApp(x)
}

// appClient finds out which app asks (RFC 6749 §2.3): one with a secret must prove
// it, one without must not send any.
func (s *Service) appClient(ctx context.Context, r KeyRequest) (academy domain.ID, app App, err error) {
	limit := secretBucket(Origin(r.Address))
	if err := s.waitFor(ctx, limit); err != nil {
		return "", app, err
	}
	err = s.Store.Read(ctx, func(tx Tx) (err error) {
		academy, app, err = findApp(ctx, tx, domain.ID(r.ClientID))
		return err
	})
	if err != nil && !isNotFound(err) {
		return "", app, err
	}
	proven := err == nil && app.Revoked.IsZero() && (app.Public() && r.ClientSecret == "" || !app.Public() && app.Secret.Is(r.ClientSecret))
	if !proven {
		return "", app, s.missed(ctx, limit, &OAuthError{InvalidClient, "The client_id is unknown, its secret is wrong or missing, or the app was withdrawn."})
	}
	return academy, app, nil
}

// exchange is one token request of an app whose name is proven.
type exchange struct {
	service *Service
	request AppTokenRequest
	academy domain.ID
	app     App

	// wrong is the refusal, once the transaction is committed, and guessed says that
	// what was presented never was one of ours.
	wrong   *OAuthError
	guessed bool

	connection Connection
	account    domain.ID
	scopes     Scopes
	token      refreshToken
	good       bool
}

func (x *exchange) refuse(code OAuthCode, description string) error {
	x.wrong = &OAuthError{code, description}
	return nil
}

// run is the transaction of a request. Refusals commit, since some end the
// connection.
func (x *exchange) run(ctx context.Context, tx Tx, step func(context.Context, Tx) error) error {
	x.wrong, x.guessed = nil, false
	return step(ctx, tx)
}

const badCode = "The code is unknown, was used, has expired, or is another app's."

// redeem exchanges a code.
func (x *exchange) redeem(ctx context.Context, tx Tx) error {
	r, now := x.request, x.service.now()
	switch {
	case r.Code == "":
		return x.refuse(InvalidRequest, "code is missing.")
	case r.CodeVerifier == "":
		return x.refuse(InvalidRequest, "code_verifier is missing; PKCE (RFC 7636) is required.")
	}
	c, ok, err := x.find(ctx, tx, r.Code)
	if err != nil {
		return err
	}
	if !ok {
		x.guessed = true
		return x.refuse(InvalidGrant, badCode)
	}
	switch {
	case !c.Exchanged.IsZero():
		if err := x.service.endConnection(ctx, tx, x.academy, c, "", "app.replayed", CodeReused); err != nil {
			return err
		}
		return x.refuse(InvalidGrant, badCode)
	case !c.Ended.IsZero() || !now.Before(c.Expires):
		return x.refuse(InvalidGrant, badCode)
	case c.Redirect != r.RedirectURI:
		return x.refuse(InvalidGrant, "redirect_uri is not the one that the code was asked for with.")
	case !proves(r.CodeVerifier, c.Challenge):
		return x.refuse(InvalidGrant, "code_verifier does not belong to the code_challenge.")
	}
	if err := x.settle(ctx, tx, &c); err != nil || x.wrong != nil {
		return err
	}
	x.scopes, x.token = c.Scopes, newRefreshToken(c.ID)
	was := c.Current
	c.Lineage, c.Current = DigestOf(x.token.lineage), DigestOf(x.token.secret)
	c.Exchanged, c.Rotated, c.Expires = now, now, now.Add(x.service.FamilyLife)
	return x.save(ctx, tx, c, was)
}

// find finds the connection of a code that is one of the app's.
func (x *exchange) find(ctx context.Context, tx AppTx, code string) (c Connection, ok bool, err error) {
	const name = len(codePrefix)
	if len(code) < name+36 || len(code) > 256 || code[:name] != codePrefix || !isID(domain.ID(code[name:name+36])) {
		return c, false, nil
	}
	_, c, err = tx.ConnectionByID(ctx, domain.ID(code[name:name+36]))
	if isNotFound(err) {
		return c, false, nil
	}
	return c, err == nil && c.App == x.app.ID && c.Code.Is(code), err
}

// proves reports whether a verifier is the one that a challenge was made from: 43
// to 128 characters (RFC 7636 §§4.1 and 4.6).
func proves(verifier, challenge string) bool {
	if len(verifier) < 43 || len(verifier) > 128 {
		return false
	}
	sum := DigestOf(verifier)
	return subtle.ConstantTimeCompare([]byte(base64.RawURLEncoding.EncodeToString(sum[:])), []byte(challenge)) == 1
}

const badMember = "The person left the academy, has another role there now, or is a junior whose guardian does not agree. Ask them to connect the app again."

// settle holds a connection to what its member is now.
func (x *exchange) settle(ctx context.Context, tx Tx, c *Connection) error {
	m, err := tx.Member(ctx, x.academy, c.Member)
	if err != nil {
		return err
	}
	x.account = m.Account
	if !m.Removed.IsZero() || m.Role != c.Role || m.Junior && !m.AppsAgreed {
		return x.refuse(InvalidGrant, badMember)
	}
	return nil
}

const badRefresh = "The refresh token is unknown, was used, has expired or was revoked, or is another app's. Ask the person to connect the app again."

// refresh exchanges a refresh token for its successor.
func (x *exchange) refresh(ctx context.Context, tx Tx) error {
	if x.request.RefreshToken == "" {
		return x.refuse(InvalidRequest, "refresh_token is missing.")
	}
	t, ok := parseToken(appRefreshPrefix, x.request.RefreshToken)
	if !ok {
		x.guessed = true
		return x.refuse(InvalidGrant, badRefresh)
	}
	_, c, err := tx.ConnectionByID(ctx, t.family)
	if isNotFound(err) || err == nil && (c.App != x.app.ID || !c.Lineage.Is(t.lineage)) {
		x.guessed = true
		return x.refuse(InvalidGrant, badRefresh)
	}
	if err != nil {
		return err
	}
	now := x.service.now()
	if !c.Ended.IsZero() || !now.Before(x.service.ConnectionEnd(c)) {
		return x.refuse(InvalidGrant, badRefresh)
	}
	if x.scopes, ok = ParseScopes(x.request.Scope); !ok || len(x.scopes.Without(c.Scopes)) > 0 {
		return x.refuse(InvalidScope, "The person allowed: "+c.Scopes.String()+".")
	}
	if len(x.scopes) == 0 {
		x.scopes = c.Scopes
	}
	return x.advance(ctx, tx, c, t, now)
}

// advance makes the successor current, gives it again while it is unused, or ends a
// connection whose token is older than that.
func (x *exchange) advance(ctx context.Context, tx Tx, c Connection, t refreshToken, now time.Time) error {
	was := c.Current
	switch {
	case c.Current.Is(t.secret):
		c.Previous, c.Salt, c.Rotated = c.Current, newSecret(), now
		x.token = t.successor(c.Salt)
		c.Current = DigestOf(x.token.secret)
	case c.Previous.Is(t.secret):
		x.token = t.successor(c.Salt)
	case x.good:
		return errOvertaken()
	default:
		if err := x.service.endConnection(ctx, tx, x.academy, c, "", "app.replayed", Replayed); err != nil {
			return err
		}
		return x.refuse(InvalidGrant, badRefresh)
	}
	x.good = true
	if err := x.settle(ctx, tx, &c); err != nil || x.wrong != nil {
		return err
	}
	return x.save(ctx, tx, c, was)
}

func (x *exchange) save(ctx context.Context, tx Tx, c Connection, was Digest) error {
	saved, err := tx.SaveConnection(ctx, x.academy, c, was)
	if err == nil && !saved { // a parallel request was first: look at what it made
		err = errRaced
	}
	x.connection = c
	return err
}

// ConnectionEnd is when a connection ends unless the app refreshes before.
func (s *Service) ConnectionEnd(c Connection) time.Time {
	return earlier(c.Rotated.Add(s.RefreshIdle), c.Expires)
}

// handApp writes the tokens of an exchange, once it is committed.
func (s *Service) handApp(x exchange) (AppToken, error) {
	now, c := s.now(), x.connection
	t := AppToken{Refresh: x.token.written(appRefreshPrefix), Academy: x.academy, Member: c.Member}
	t.Scopes, t.Expires = x.scopes, earlier(now.Add(s.AccessLife), c.Expires).Truncate(time.Second)
	t.ExpiresIn = int(t.Expires.Sub(now) / time.Second)
	var err error
	t.Access, err = s.Tokens.issue(grant{
		subject: x.account, family: c.ID, app: c.App, academy: x.academy, member: c.Member, scopes: t.Scopes, expires: t.Expires,
	})
	return t, err
}

// tokenClient finds out which app or key asks about a token.
func (s *Service) tokenClient(ctx context.Context, r KeyRequest) (id domain.ID, public bool, err error) {
	if r.ClientID == "" {
		return "", false, &OAuthError{InvalidClient, "client_id is needed, by HTTP Basic or in the body."}
	}
	if r.ClientSecret != "" {
		known := false
		err = s.Store.Read(ctx, func(tx Tx) error {
			_, _, err := findApp(ctx, tx, domain.ID(r.ClientID))
			known = err == nil
			if isNotFound(err) {
				err = nil
			}
			return err
		})
		if err != nil {
			return "", false, err
		}
		if !known {
			_, k, err := s.client(ctx, r)
			return k.ID, false, err
		}
	}
	_, app, err := s.appClient(ctx, r)
	return app.ID, app.Public(), err
}

// RevokeToken ends the connection of an app's token, access or refresh, with all
// its tokens (RFC 7009 §2.1). A token that is none of ours, or no good any more,
// is no error; another client's is refused. An access token of a key cannot be
// revoked by itself.
func (s *Service) RevokeToken(ctx context.Context, r KeyRequest, token string) error {
	if token == "" {
		return &OAuthError{InvalidRequest, "token is missing."}
	}
	client, _, err := s.tokenClient(ctx, r)
	if err != nil {
		return err
	}
	id, err := s.Authenticate(ctx, token)
	switch {
	case err == nil && id.Key != "" && id.Key == client:
		return &OAuthError{UnsupportedTokenType, "This token ends within minutes; to end it now, an owner revokes the key."}
	case err == nil && id.App != client:
		return &OAuthError{UnauthorizedClient, "The token was given to somebody else."}
	case err != nil && domain.KindOf(err) != domain.Unauthenticated:
		return err
	}
	family := id.Connection
	t, isRefresh := parseToken(appRefreshPrefix, token)
	if isRefresh {
		family = t.family
	}
	if family == "" {
		return nil
	}
	return s.Store.Write(ctx, func(tx Tx) error {
		academy, c, err := tx.ConnectionByID(ctx, family)
		if isNotFound(err) || err == nil && isRefresh && !c.Lineage.Is(t.lineage) {
			return nil
		}
		if err != nil {
			return err
		}
		if c.App != client {
			return &OAuthError{UnauthorizedClient, "The token was given to somebody else."}
		}
		return s.endConnection(ctx, tx, academy, c, "", "app.disconnected", GivenBack)
	})
}

// TokenState is what a token is worth this moment (RFC 7662 §2.2). The zero
// TokenState is that of one that is not good.
type TokenState struct {
	Active  bool
	Client  domain.ID
	Refresh bool
	Scopes  Scopes
	Subject domain.ID
	Academy domain.ID
	Member  domain.ID
	Expires time.Time
}

// Introspect tells an app or a key, which must prove its secret, about one of its
// own tokens. Others are told as not active, which tells nothing of them (RFC 7662
// §§2.1 and 2.2).
func (s *Service) Introspect(ctx context.Context, r KeyRequest, token string) (state TokenState, err error) {
	if token == "" {
		return state, &OAuthError{InvalidRequest, "token is missing."}
	}
	client, public, err := s.tokenClient(ctx, r)
	if err != nil {
		return state, err
	}
	if public {
		return state, &OAuthError{InvalidClient, "Asking about tokens needs a client_secret."}
	}
	if t, ok := parseToken(appRefreshPrefix, token); ok {
		return s.introspectRefresh(ctx, client, t)
	}
	id, err := s.Authenticate(ctx, token)
	if err != nil && domain.KindOf(err) != domain.Unauthenticated {
		return state, err
	}
	if err != nil || id.App != client && id.Key != client {
		return state, nil //nolint:nilerr // a token that is no good is an answer
	}
	subject := id.Account
	if id.Key != "" {
		subject = id.Key
	}
	return TokenState{Active: true, Client: client, Scopes: id.Scopes, Subject: subject, Academy: id.Academy, Member: id.Member, Expires: id.Expires}, nil
}

func (s *Service) introspectRefresh(ctx context.Context, client domain.ID, t refreshToken) (state TokenState, err error) {
	err = s.Store.Read(ctx, func(tx Tx) error {
		academy, c, err := tx.ConnectionByID(ctx, t.family)
		if err != nil {
			return err
		}
		good := c.App == client && c.Ended.IsZero() && s.now().Before(s.ConnectionEnd(c)) && c.Lineage.Is(t.lineage) && (c.Current.Is(t.secret) || c.Previous.Is(t.secret))
		m, err := tx.Member(ctx, academy, c.Member)
		if err == nil && good && m.Removed.IsZero() && m.Role == c.Role {
			state = TokenState{Active: true, Client: client, Refresh: true, Scopes: c.Scopes, Subject: m.Account, Academy: academy, Member: c.Member, Expires: s.ConnectionEnd(c)}
		}
		return err
	})
	if isNotFound(err) {
		return TokenState{}, nil
	}
	return state, err
}
