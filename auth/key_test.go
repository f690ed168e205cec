package auth_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"fringework/auth"
	"fringework/domain"
)

// keyed is an academy whose owner has made a key.
type keyed struct {
	*fixture
	owner  auth.Identity
	key    auth.AppKey
	secret string
}

func newKeyed(t *testing.T) keyed {
	w := newFixture(t)
	k := keyed{fixture: w, owner: w.who(w.signUp("olga"))}
	var err error
	k.key, k.secret, err = w.CreateKey(w.ctx, k.owner.Actor, " Club display ", auth.Scopes{auth.SessionsRead, auth.ProgressRead})
	w.ok(err)
	return k
}

func (k keyed) request() auth.KeyRequest {
	return auth.KeyRequest{GrantType: "client_credentials", ClientID: string(k.key.ID), ClientSecret: k.secret, Address: home}
}

func TestKeyExchange(t *testing.T) {
	k := newKeyed(t)
	k.same("name", k.key.Name, "Club display")
	e := k.last(k.owner.Academy)
	k.same("event", e.Kind, "key.created")
	k.same("scopes in the log", e.Data["scopes"], "sessions:read progress:read")
	token, err := k.ExchangeKey(k.ctx, k.request())
	k.ok(err)
	k.same("scopes", token.Scopes.String(), "sessions:read progress:read")
	if token.ExpiresIn < 599 || token.ExpiresIn > 600 {
		t.Errorf("expires_in %d, want 10 minutes", token.ExpiresIn)
	}
	id, err := k.Authenticate(k.ctx, token.Access)
	k.ok(err)
	k.same("actor", id.Actor, domain.Actor{Academy: k.owner.Academy, Key: k.key.ID})
	k.same("software", id.Software(), true)
	k.same("account", id.Account, domain.ID(""))
	k.same("may read sessions", id.May(auth.SessionRead), true)
	k.same("may read events", id.May(auth.EventRead), false)
	k.same("may write sessions", id.May(auth.SessionWrite), false)
	got, err := k.Key(k.ctx, k.owner.Actor, k.key.ID)
	k.ok(err)
	k.same("last used", got.Used, k.clock.Now())

	narrow := k.request()
	narrow.Scope = "progress:read"
	token, err = k.ExchangeKey(k.ctx, narrow)
	k.ok(err)
	id, err = k.Authenticate(k.ctx, token.Access)
	k.ok(err)
	k.same("narrower scopes", id.Scopes.String(), "progress:read")
}

// TestKeyExchangeErrors walks the codes of RFC 6749 §5.2.
func TestKeyExchangeErrors(t *testing.T) {
	k := newKeyed(t)
	for name, c := range map[string]struct {
		change func(*auth.KeyRequest)
		want   auth.OAuthCode
	}{
		"no grant type":      {func(r *auth.KeyRequest) { r.GrantType = "" }, auth.InvalidRequest},
		"password grant":     {func(r *auth.KeyRequest) { r.GrantType = "password" }, auth.UnsupportedGrantType},
		"grant in capitals":  {func(r *auth.KeyRequest) { r.GrantType = "Client_Credentials" }, auth.UnsupportedGrantType},
		"no client":          {func(r *auth.KeyRequest) { r.ClientID = "" }, auth.InvalidClient},
		"no secret":          {func(r *auth.KeyRequest) { r.ClientSecret = "" }, auth.InvalidClient},
		"wrong secret":       {func(r *auth.KeyRequest) { r.ClientSecret += "x" }, auth.InvalidClient},
		"unknown client":     {func(r *auth.KeyRequest) { r.ClientID = string(k.clock.NewID()) }, auth.InvalidClient},
		"nonsense client":    {func(r *auth.KeyRequest) { r.ClientID = "' OR 1=1 --\x00" }, auth.InvalidClient},
		"account for client": {func(r *auth.KeyRequest) { r.ClientID, r.ClientSecret = string(k.owner.Account), password }, auth.InvalidClient},
		"scope not given":    {func(r *auth.KeyRequest) { r.Scope = "progress:read events:read" }, auth.InvalidScope},
		"unknown scope":      {func(r *auth.KeyRequest) { r.Scope = "all" }, auth.InvalidScope},
	} {
		r := k.request()
		c.change(&r)
		_, err := k.ExchangeKey(k.ctx, r)
		var e *auth.OAuthError
		if !errors.As(err, &e) || e.Code != c.want {
			t.Errorf("%s: got %v, want %s", name, err, c.want)
			continue
		}
		if !strings.HasPrefix(err.Error(), string(c.want)+": ") {
			t.Errorf("%s: the log would say %q", name, err)
		}
		// RFC 6749 §5.2: %x20-21 / %x23-5B / %x5D-7E.
		for _, r := range e.Description {
			if r < 0x20 || r > 0x7e || r == '"' || r == '\\' {
				t.Errorf("%s: description holds %q", name, r)
			}
		}
	}
}

func TestKeyExchangeGuessesAreLimited(t *testing.T) {
	k := newKeyed(t)
	r := k.request()
	r.ClientSecret, r.Address = "wrong", away
	for range 30 {
		_, err := k.ExchangeKey(k.ctx, r)
		var e *auth.OAuthError
		if !errors.As(err, &e) || e.Code != auth.InvalidClient {
			t.Fatalf("guess: got %v", err)
		}
	}
	r.ClientSecret = k.secret
	_, err := k.ExchangeKey(k.ctx, r)
	e := k.refusal("right secret while limited", err, domain.TooMany, "too_many_attempts")
	_, err = k.ExchangeKey(k.ctx, k.request())
	k.ok(err) // from elsewhere
	k.clock.Advance(time.Duration(e.RetryAfter) * time.Second)
	_, err = k.ExchangeKey(k.ctx, r)
	k.ok(err)
}

func TestRevokeKey(t *testing.T) {
	k := newKeyed(t)
	token, err := k.ExchangeKey(k.ctx, k.request())
	k.ok(err)
	stranger := k.who(k.signUp("stan"))
	k.refused("another academy", k.RevokeKey(k.ctx, stranger.Actor, k.key.ID), domain.NotFound, "not_found")
	_, err = k.Key(k.ctx, stranger.Actor, k.key.ID)
	k.refused("seen from another academy", err, domain.NotFound, "not_found")
	k.refused("nonsense", k.RevokeKey(k.ctx, k.owner.Actor, "x\x00"), domain.NotFound, "not_found")
	for range 2 {
		k.ok(k.RevokeKey(k.ctx, k.owner.Actor, k.key.ID))
	}
	k.same("revoked once in the log", strings.Count(k.kinds(k.owner.Academy), "key.revoked"), 1)
	_, err = k.Authenticate(k.ctx, token.Access)
	k.refused("its token", err, domain.Unauthenticated, "token_refused")
	_, err = k.ExchangeKey(k.ctx, k.request())
	var e *auth.OAuthError
	if !errors.As(err, &e) || e.Code != auth.InvalidClient {
		t.Errorf("exchange after revoking: got %v", err)
	}
	list, err := k.ListKeys(k.ctx, k.owner.Actor, domain.Page{Limit: 10})
	k.ok(err)
	if len(list) != 1 || list[0].Revoked.IsZero() {
		t.Errorf("list: %+v", list)
	}
}

func TestCreateKeyInvalid(t *testing.T) {
	k := newKeyed(t)
	for name, scopes := range map[string]auth.Scopes{"none": nil, "unknown": {"all"}, "one unknown": {auth.CalcUse, "all"}, "two in one": {"calc:use  all"}} {
		_, _, err := k.CreateKey(k.ctx, k.owner.Actor, "Key", scopes)
		k.invalid(name, err, "/scopes")
	}
	_, _, err := k.CreateKey(k.ctx, k.owner.Actor, " ", nil)
	k.invalid("empty", err, "/name", "/scopes")
	made, _, err := k.CreateKey(k.ctx, k.owner.Actor, "Key", auth.Scopes{auth.CalcUse, auth.CalcUse})
	k.ok(err)
	k.same("scope named twice", made.Scopes.String(), "calc:use")
	for range auth.MaxKeys - 2 {
		_, _, err = k.CreateKey(k.ctx, k.owner.Actor, "Key", auth.Scopes{auth.CalcUse})
		k.ok(err)
	}
	_, _, err = k.CreateKey(k.ctx, k.owner.Actor, "Key", auth.Scopes{auth.CalcUse})
	k.refused("one too many", err, domain.Conflict, "too_many_keys")
	k.ok(k.RevokeKey(k.ctx, k.owner.Actor, made.ID))
	_, _, err = k.CreateKey(k.ctx, k.owner.Actor, "Key", auth.Scopes{auth.CalcUse})
	k.ok(err)
}

func TestKeysAreTheOwners(t *testing.T) {
	k := newKeyed(t)
	coach := k.member(k.owner, auth.Invite{Role: domain.Coach}, "cat")
	for name, a := range map[string]domain.Actor{
		"coach":    coach.Actor,
		"software": {Academy: k.owner.Academy, Key: k.key.ID},
		"nobody":   {},
		"homeless": {Role: domain.Owner},
	} {
		_, _, err := k.CreateKey(k.ctx, a, "Key", auth.Scopes{auth.CalcUse})
		k.refused(name, err, domain.Forbidden, "not_allowed")
		_, err = k.ListKeys(k.ctx, a, domain.Page{Limit: 10})
		k.refused(name, err, domain.Forbidden, "not_allowed")
		_, err = k.Key(k.ctx, a, k.key.ID)
		k.refused(name, err, domain.Forbidden, "not_allowed")
		k.refused(name, k.RevokeKey(k.ctx, a, k.key.ID), domain.Forbidden, "not_allowed")
	}
}
