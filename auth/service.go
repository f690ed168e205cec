package auth

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/go-webauthn/webauthn/webauthn"

	"fringework/domain"
)

// Config is what a Service is made of. Durations left zero take the default
// named beside them.
type Config struct {
	Store   Store
	Keys    *Keyring
	Hasher  *Hasher
	Limiter Limiter
	Env     domain.Env

	// Issuer and Audience go into access tokens and are required of them:
	// the service's own address, and the name of its API.
	Issuer   string
	Audience string

	// Mail says that letters are sent. Without it none are queued, and whatever
	// needs one goes another way.
	Mail bool
	// Party is whose passkeys these are (NewParty); without it there are none.
	Party *webauthn.WebAuthn

	// AccessLife is how long an access token lives: 10 minutes.
	AccessLife time.Duration
	// RefreshIdle is how long a refresh token may stay unused: 30 days.
	RefreshIdle time.Duration
	// FamilyLife is how long one sign-in lasts at most: 180 days.
	FamilyLife time.Duration
	// InvitationLife is how long an invitation stays open: 14 days.
	InvitationLife time.Duration
}

func (c Config) withDefaults() Config {
	for _, d := range []struct {
		field *time.Duration
		value time.Duration
	}{
		{&c.AccessLife, 10 * time.Minute},
		{&c.RefreshIdle, 30 * 24 * time.Hour},
		{&c.FamilyLife, 180 * 24 * time.Hour},
		{&c.InvitationLife, 14 * 24 * time.Hour},
	} {
		if *d.field == 0 {
			*d.field = d.value
		}
	}
	return c
}

func (c Config) check() error {
	if c.Store == nil || c.Keys == nil || c.Hasher == nil || c.Limiter == nil || c.Env.Now == nil || c.Env.NewID == nil {
		return errors.New("auth: a part is missing")
	}
	if c.Issuer == "" || c.Audience == "" {
		return errors.New("auth: issuer and audience must be set")
	}
	if c.AccessLife < time.Second || c.AccessLife > time.Hour {
		return fmt.Errorf("auth: access tokens of %v; want 1 s to 1 h", c.AccessLife)
	}
	if c.RefreshIdle < c.AccessLife || c.FamilyLife < c.RefreshIdle || c.InvitationLife < time.Minute {
		return errors.New("auth: want access life <= refresh idle <= family life, invitation life >= 1 min")
	}
	return nil
}

// Service is the use cases of signing in, inviting and keys. Its methods may
// be called by many goroutines.
type Service struct {
	Config
	// Tokens makes and reads the access tokens.
	Tokens *Tokens
}

// New makes a Service, or says what is wrong with its configuration.
func New(c Config) (*Service, error) {
	c = c.withDefaults()
	if err := c.check(); err != nil {
		return nil, err
	}
	return &Service{Config: c, Tokens: NewTokens(c.Issuer, c.Audience, c.AccessLife, c.Keys, c.Env)}, nil
}

// now is the instant of a use case, as rows keep it.
func (s *Service) now() time.Time { return s.Env.Now().UTC().Truncate(time.Millisecond) }

// errRaced says that somebody else made the same account this moment, so the
// use case should look again.
var errRaced = errors.New("auth: lost a race")

// retried runs a use case again when it lost a race, which can happen about as
// often as there are parallel requests.
func retried(fn func() error) error {
	for range 8 {
		if err := fn(); !errors.Is(err, errRaced) {
			return err
		}
	}
	return domain.Errorf(domain.Conflict, "try_again", "Somebody else is changing the same thing. Send the request again.").Because(errRaced)
}

// allowed refuses a member whose role may not try an action. Software is
// always refused: no scope lets it change anything here.
func allowed(a domain.Actor, action Action) error {
	if a.Academy == "" || a.Member == "" || !May(a.Role, nil, action) {
		return domain.Errorf(domain.Forbidden, "not_allowed", "Your role does not allow this (%s). Ask the academy's owner.", action)
	}
	return nil
}

// isNotFound reports whether err says that something is absent.
func isNotFound(err error) bool { return err != nil && domain.KindOf(err) == domain.NotFound }

// Authenticate tells who holds a bearer token (an access token alone, without
// "Bearer"). The store is asked once, so that signing out, removal, revocation
// and a new role act at once. A token that is not good is Unauthenticated,
// whatever is wrong with it; the cause is for the log.
func (s *Service) Authenticate(ctx context.Context, bearer string) (Identity, error) {
	g, err := s.Tokens.read(bearer)
	if err != nil {
		return Identity{}, refusal(err)
	}
	var id Identity
	switch {
	case g.app != "":
		id, err = s.app(ctx, g)
	case g.family != "":
		id, err = s.person(ctx, g)
	default:
		id, err = s.software(ctx, g)
	}
	if isNotFound(err) {
		return Identity{}, errBadToken().Because(err)
	}
	return id, err
}

func (s *Service) person(ctx context.Context, g grant) (Identity, error) {
	access, err := s.Store.MemberAccess(ctx, g.family, g.academy, g.member)
	if err != nil {
		return Identity{}, err
	}
	if access.Account != g.subject {
		return Identity{}, domain.ErrNotFound("sign-in")
	}
	actor := domain.Actor{Academy: g.academy, Member: g.member, Role: access.Role}
	return Identity{Actor: actor, Account: g.subject, Family: g.family, Expires: g.expires}, nil
}

func (s *Service) software(ctx context.Context, g grant) (Identity, error) {
	access, err := s.Store.KeyAccess(ctx, g.academy, g.subject)
	if err != nil {
		return Identity{}, err
	}
	actor := domain.Actor{Academy: g.academy, Key: g.subject}
	return Identity{Actor: actor, Scopes: g.scopes.Within(access.Scopes), Expires: g.expires}, nil
}

// app is an app that asks for a member.
func (s *Service) app(ctx context.Context, g grant) (Identity, error) {
	access, err := s.Store.AppAccess(ctx, g.academy, g.family)
	if err != nil {
		return Identity{}, err
	}
	if access.App != g.app || access.Member != g.member {
		return Identity{}, domain.ErrNotFound("connection")
	}
	actor := domain.Actor{Academy: g.academy, Member: g.member, Role: access.Role, App: g.app}
	return Identity{Actor: actor, Account: g.subject, Connection: g.family, Scopes: g.scopes, Expires: g.expires}, nil
}

// Sweep deletes what has expired and limits nobody any more, in small steps,
// and reports how many rows. Run it now and then.
func (s *Service) Sweep(ctx context.Context) (total int, err error) {
	const step = 500
	now := s.now()
	for _, sweep := range []func(tx Tx) (int, error){
		func(tx Tx) (int, error) { return tx.SweepFamilies(ctx, now, step) },
		func(tx Tx) (int, error) { return tx.SweepConnections(ctx, now, step) },
		func(tx Tx) (int, error) { return tx.SweepAttempts(ctx, now, step) },
		func(tx Tx) (int, error) { return tx.SweepTickets(ctx, now, step) },
	} {
		for n := step; n == step; {
			err = s.Store.Write(ctx, func(tx Tx) (err error) {
				n, err = sweep(tx)
				return err
			})
			if err != nil {
				return total, err
			}
			total += n
		}
	}
	return total, nil
}
