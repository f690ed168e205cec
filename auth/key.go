package auth

import (
	"context"
	"time"

	"fringework/domain"
)

// MaxKeys is how many good application keys an academy may have.
const MaxKeys = 50

// CreateKey makes an application key for the asker's academy and its secret,
// which is shown this once. Bad fields are Invalid, at /name and /scopes.
func (s *Service) CreateKey(ctx context.Context, a domain.Actor, name string, scopes Scopes) (k AppKey, secret string, err error) {
	if err := allowed(a, KeyManage); err != nil {
		return AppKey{}, "", err
	}
	var p domain.Problems
	name = checkName(&p, "/name", name)
	known, ok := ParseScopes(scopes.String())
	if !ok || len(known) == 0 {
		p.Add("/scopes", "is %q; give one or more of %s", scopes, listed(AllScopes()))
	}
	if err := p.Err("key", "The key was not created."); err != nil {
		return AppKey{}, "", err
	}
	raw := newSecret()
	secret = keyPrefix + encode(raw[:])
	err = s.Store.Write(ctx, func(tx Tx) error {
		now := s.now()
		k = AppKey{ID: s.Env.NewID(), Name: name, Scopes: known, Secret: DigestOf(secret), By: a.Member, Created: now}
		return addKey(ctx, tx, a, k)
	})
	if err != nil {
		return AppKey{}, "", err
	}
	return k, secret, nil
}

func addKey(ctx context.Context, tx Tx, a domain.Actor, k AppKey) error {
	n, err := tx.GoodKeys(ctx, a.Academy)
	if err != nil {
		return err
	}
	if n >= MaxKeys {
		return domain.Errorf(domain.Conflict, "too_many_keys", "The academy already has %d keys. Revoke one that is no longer used first.", n)
	}
	if err := tx.AddKey(ctx, a.Academy, k); err != nil {
		return err
	}
	return tx.Record(ctx, a.Academy, domain.Event{
		At: k.Created, Actor: a.Member, Kind: "key.created", Subject: k.ID,
		Data: map[string]any{"name": k.Name, "scopes": k.Scopes.String()},
	})
}

// ListKeys gives the academy's keys ordered by identity, revoked ones too.
func (s *Service) ListKeys(ctx context.Context, a domain.Actor, page domain.Page) (list []AppKey, err error) {
	if err := allowed(a, KeyManage); err != nil {
		return nil, err
	}
	err = s.Store.Read(ctx, func(tx Tx) (err error) {
		list, err = tx.Keys(ctx, a.Academy, page)
		return err
	})
	return list, err
}

// Key gives one of the academy's keys, a revoked one too.
func (s *Service) Key(ctx context.Context, a domain.Actor, id domain.ID) (k AppKey, err error) {
	if err := allowed(a, KeyManage); err != nil {
		return AppKey{}, err
	}
	err = s.Store.Read(ctx, func(tx Tx) (err error) {
		k, err = ownKey(ctx, tx, a, id)
		return err
	})
	return k, err
}

func ownKey(ctx context.Context, tx KeyTx, a domain.Actor, id domain.ID) (AppKey, error) {
	if !isID(id) {
		return AppKey{}, domain.ErrNotFound("key")
	}
	academy, k, err := tx.KeyByID(ctx, id)
	if isNotFound(err) || err == nil && academy != a.Academy {
		return AppKey{}, domain.ErrNotFound("key")
	}
	return k, err
}

// RevokeKey withdraws a key; its tokens stop working at once. Withdrawing
// again changes nothing.
func (s *Service) RevokeKey(ctx context.Context, a domain.Actor, id domain.ID) error {
	if err := allowed(a, KeyManage); err != nil {
		return err
	}
	return s.Store.Write(ctx, func(tx Tx) error {
		now := s.now()
		k, err := ownKey(ctx, tx, a, id)
		if err != nil {
			return err
		}
		revoked, err := tx.RevokeKey(ctx, a.Academy, id, now)
		if err != nil || !revoked {
			return err
		}
		return tx.Record(ctx, a.Academy, domain.Event{
			At: now, Actor: a.Member, Kind: "key.revoked", Subject: id, Data: map[string]any{"name": k.Name},
		})
	})
}

// OAuthCode is an error code of RFC 6749 §5.2.
type OAuthCode string

// The codes that ExchangeKey answers.
const (
	InvalidRequest       OAuthCode = "invalid_request"
	InvalidClient        OAuthCode = "invalid_client"
	InvalidGrant         OAuthCode = "invalid_grant"
	InvalidScope         OAuthCode = "invalid_scope"
	UnsupportedGrantType OAuthCode = "unsupported_grant_type"
)

// OAuthError is a refusal in the terms of RFC 6749 §5.2. The edge writes it as
// that section says (invalid_client as 401, the rest as 400), not as a
// problem document.
type OAuthError struct {
	Code OAuthCode
	// Description is for the developer: ASCII without quotes and backslashes,
	// as the RFC asks.
	Description string
}

// Error implements error.
func (e *OAuthError) Error() string { return string(e.Code) + ": " + e.Description }

// KeyRequest is a client credentials request, RFC 6749 §4.4.2.
type KeyRequest struct {
	// GrantType must be "client_credentials".
	GrantType    string
	ClientID     string
	ClientSecret string
	// Scope is space-separated; empty asks for all the key has.
	Scope string
	// Address is the network address that asks.
	Address string
}

// KeyToken is what software gets for its key, RFC 6749 §4.4.3: a bearer token
// without a refresh token.
type KeyToken struct {
	Access string
	// Expires is the token's end, and ExpiresIn the seconds until then.
	Expires   time.Time
	ExpiresIn int
	Scopes    Scopes
}

// ExchangeKey gives software an access token for its key. Refusals are
// *OAuthError; too many wrong secrets are domain.TooMany.
func (s *Service) ExchangeKey(ctx context.Context, r KeyRequest) (KeyToken, error) {
	if err := r.check(); err != nil {
		return KeyToken{}, err
	}
	academy, k, err := s.client(ctx, r)
	if err != nil {
		return KeyToken{}, err
	}
	scopes, ok := ParseScopes(r.Scope)
	if !ok || len(scopes.Without(k.Scopes)) > 0 {
		return KeyToken{}, &OAuthError{InvalidScope, "This key may ask for: " + k.Scopes.String() + "."}
	}
	if len(scopes) == 0 {
		scopes = k.Scopes
	}
	now := s.now()
	err = s.Store.Write(ctx, func(tx Tx) error { return tx.TouchKey(ctx, academy, k.ID, now) })
	if err != nil {
		return KeyToken{}, err
	}
	t := KeyToken{Expires: now.Add(s.AccessLife).Truncate(time.Second), Scopes: scopes}
	t.ExpiresIn = int(t.Expires.Sub(now) / time.Second)
	t.Access, err = s.Tokens.issue(grant{subject: k.ID, academy: academy, scopes: scopes, expires: t.Expires})
	return t, err
}

func (r KeyRequest) check() error {
	switch {
	case r.GrantType == "":
		return &OAuthError{InvalidRequest, "grant_type is missing; use client_credentials."}
	case r.GrantType != "client_credentials":
		return &OAuthError{UnsupportedGrantType, "Only grant_type client_credentials is served here."}
	case r.ClientID == "" || r.ClientSecret == "":
		return &OAuthError{InvalidClient, "client_id and client_secret are needed, by HTTP Basic or in the body."}
	}
	return nil
}

// client proves a key's secret, within the limits on guessing.
func (s *Service) client(ctx context.Context, r KeyRequest) (academy domain.ID, k AppKey, err error) {
	limit := secretBucket(Origin(r.Address))
	if err := s.waitFor(ctx, limit); err != nil {
		return "", k, err
	}
	err = domain.ErrNotFound("key")
	if id := domain.ID(r.ClientID); isID(id) {
		err = s.Store.Read(ctx, func(tx Tx) (err error) {
			academy, k, err = tx.KeyByID(ctx, id)
			return err
		})
	}
	if err != nil && !isNotFound(err) {
		return "", k, err
	}
	if err != nil || !k.Secret.Is(r.ClientSecret) || !k.Revoked.IsZero() {
		return "", k, s.missed(ctx, limit, &OAuthError{InvalidClient, "The client_id is unknown, its secret is wrong, or the key was revoked."})
	}
	return academy, k, nil
}
