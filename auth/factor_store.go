package auth

import (
	"context"
	"time"

	"fringework/domain"
)

// Authenticator is an account's app that shows codes (TOTP, RFC 6238).
type Authenticator struct {
	Account domain.ID
	// Secret is what the codes are computed from, 20 random bytes. The service
	// computes them too, so it is kept, sealed. No code fits an empty one.
	Secret  []byte
	Created time.Time
	// Confirmed is when the first code was shown; zero until then, and until then
	// no code is asked for.
	Confirmed time.Time
	// Step is the latest step of 30 s whose code was accepted; that of an earlier
	// one is a replay.
	Step int64
}

// Passkey is a key pair (WebAuthn) of which the service knows the public half.
type Passkey struct {
	ID      domain.ID
	Account domain.ID
	// Credential is the authenticator's own name of it, unique among all accounts.
	Credential []byte
	// Name is what its owner calls it.
	Name string
	// Doc is the public key and the counter, as the library of passkeys writes
	// them in JSON.
	Doc     string
	Created time.Time
	// Used is when somebody last signed in with it, zero if never.
	Used time.Time
}

// FactorTx keeps what accounts sign in with beside a password.
type FactorTx interface {
	// Authenticator finds an account's app, without its secret when the key that it was
	// sealed with was lost. NotFound when there is none.
	Authenticator(ctx context.Context, account domain.ID) (Authenticator, error)
	// SaveAuthenticator stores an account's app in the place of any other.
	SaveAuthenticator(ctx context.Context, a Authenticator) error
	// UseStep notes that the code of a step was accepted. It reports false, and
	// changes nothing, when there is no app or its Step is not before. Of several
	// transactions that use one step, exactly one is told true.
	UseStep(ctx context.Context, account domain.ID, step int64) (bool, error)
	// RemoveAuthenticator forgets an account's app; it is no error if there is none.
	RemoveAuthenticator(ctx context.Context, account domain.ID) error

	// AddPasskey stores a new passkey. Conflict when its Credential is known.
	AddPasskey(ctx context.Context, p Passkey) error
	// Passkeys lists an account's, ordered by identity.
	Passkeys(ctx context.Context, account domain.ID) ([]Passkey, error)
	// SavePasskey stores Doc and Used of a passkey.
	SavePasskey(ctx context.Context, p Passkey) error
	// RemovePasskey forgets a passkey. It reports false when the account has none
	// of that identity.
	RemovePasskey(ctx context.Context, account, id domain.ID) (bool, error)

	// SetRecoveryCodes stores digests in the place of all others of the account.
	SetRecoveryCodes(ctx context.Context, account domain.ID, codes []Digest) error
	// TakeRecoveryCode forgets one code. It reports false when the account has no
	// such. Of several transactions that take one code, exactly one is told true.
	TakeRecoveryCode(ctx context.Context, account domain.ID, code Digest) (bool, error)
	// RecoveryCodes counts those that are left.
	RecoveryCodes(ctx context.Context, account domain.ID) (int, error)

	// RequireFactor says whether owners and coaches of an academy must have a
	// second factor.
	RequireFactor(ctx context.Context, academy domain.ID, required bool) error
}

// Purpose says what a ticket is good for.
type Purpose string

// Ticket is something given once: its holder has the secret, the store the
// digest.
type Ticket struct {
	Digest  Digest
	Purpose Purpose
	// Account is whose it is; empty for somebody without an account.
	Account domain.ID
	// Doc is what must be remembered for it, in JSON.
	Doc string
	// Misses is how often something wrong was presented with it.
	Misses  int
	Created time.Time
	Expires time.Time
}

// TicketTx keeps tickets.
type TicketTx interface {
	// AddTicket stores a new ticket.
	AddTicket(ctx context.Context, t Ticket) error
	// Ticket finds one, expired ones too. NotFound when absent.
	Ticket(ctx context.Context, d Digest) (Ticket, error)
	// MissTicket adds one to Misses; it is no error if the ticket is absent.
	MissTicket(ctx context.Context, d Digest) error
	// TakeTicket deletes a ticket. It reports false when it is absent. Of several
	// transactions that take one ticket, exactly one is told true.
	TakeTicket(ctx context.Context, d Digest) (bool, error)
	// Tickets lists those of an account for a purpose, the oldest first.
	Tickets(ctx context.Context, account domain.ID, purpose Purpose) ([]Ticket, error)
	// DropTickets deletes those of an account for a purpose.
	DropTickets(ctx context.Context, account domain.ID, purpose Purpose) error
	// SweepTickets deletes those that expired before an instant, at most limit of
	// them, and reports how many.
	SweepTickets(ctx context.Context, before time.Time, limit int) (int, error)
}
