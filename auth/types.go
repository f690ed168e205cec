package auth

import (
	"crypto/sha256"
	"crypto/subtle"
	"time"

	"fringework/domain"
)

// Digest is the SHA-256 of a secret of at least 128 random bits. Such secrets
// cannot be guessed from their digest, so no slow hash is needed; passwords are
// another matter (Hasher).
type Digest [sha256.Size]byte

// DigestOf hashes a secret.
func DigestOf(secret string) Digest { return sha256.Sum256([]byte(secret)) }

// Is reports, in constant time, whether d is the digest of secret.
func (d Digest) Is(secret string) bool {
	other := DigestOf(secret)
	return subtle.ConstantTimeCompare(d[:], other[:]) == 1
}

// Account is a person who can sign in.
type Account struct {
	ID domain.ID
	// Email is normalised (NormalEmail) and unique among all accounts.
	Email string
	// Name is what the person is called, 1 to 100 characters.
	Name string
	// Password is an encoded argon2id hash, never the password.
	Password string
	Created  time.Time
	// Verified is when the e-mail was shown to be the person's, by a link sent to
	// it; zero if never.
	Verified time.Time
}

// Academy is the tenant, as far as signing up makes it.
type Academy struct {
	ID   domain.ID
	Name string
	// TimeZone is an IANA name such as "Europe/Dublin".
	TimeZone string
	Created  time.Time
}

// Member is an account in one academy.
type Member struct {
	ID      domain.ID
	Account domain.ID
	Role    domain.Role
	// Name is what the person is called in this academy.
	Name string
	// TimeZone is the member's own, an IANA name.
	TimeZone string
	// Junior marks a student who needs a guardian's consent.
	Junior bool
	// AppsAgreed says that a junior's guardian has agreed that apps may read the
	// junior's data. It is read alone.
	AppsAgreed bool
	Created    time.Time
	// Removed is when the member left; zero while they belong.
	Removed time.Time
}

// Membership is one academy that an account belongs to, for choosing among
// them.
type Membership struct {
	Academy     domain.ID
	AcademyName string
	Member      domain.ID
	Role        domain.Role
	// Left says that they belong no more; see LeavingTx.Everywhere.
	Left bool
	// FactorRequired says that owners and coaches of the academy must have a
	// second factor.
	FactorRequired bool
}

// NeedsFactor reports whether this member must have a second factor.
func (m Membership) NeedsFactor() bool {
	return m.FactorRequired && (m.Role == domain.Owner || m.Role == domain.Coach)
}

// EndReason says why a family ended.
type EndReason string

// The reasons.
const (
	SignedOut       EndReason = "signed-out"
	Replayed        EndReason = "replayed"
	PasswordChanged EndReason = "password-changed"
	FactorChanged   EndReason = "factor-changed"
	// Of connections to apps alone: by the member or an owner, by the app itself,
	// with the app, because a code was used twice, or because the member came back
	// after having left.
	Disconnected EndReason = "disconnected"
	GivenBack    EndReason = "given-back"
	AppRevoked   EndReason = "app-revoked"
	CodeReused   EndReason = "code-reused"
	Rejoined     EndReason = "rejoined"
)

// Family is one sign-in on one device: the chain of refresh tokens that came
// from it, of which one is current. Only digests of the tokens are kept.
type Family struct {
	ID      domain.ID
	Account domain.ID
	// Academy and Member are where the device is now; both empty for an
	// account that belongs nowhere.
	Academy domain.ID
	Member  domain.ID
	// Lineage is the digest of the secret that every token of the family
	// carries. It tells a replay of an old token from a guess.
	Lineage Digest
	// Current is the digest of the newest refresh token.
	Current Digest
	// Previous is the digest of the token before, which gives Current again until
	// that is used, and Salt what Current was derived with. Both zero before the
	// first refresh.
	Previous Digest
	Salt     Digest
	// Origin is a digest of the network address of the sign-in (Origin).
	Origin  string
	Created time.Time
	// Rotated is when Current was made.
	Rotated time.Time
	// Expires is when the family ends whatever happens.
	Expires time.Time
	// Ended is when it was ended, zero while it lives, and Why says by what.
	Ended time.Time
	Why   EndReason
}

// Invitation lets one person join an academy in one role, once.
type Invitation struct {
	ID   domain.ID
	Role domain.Role
	// Email, when set, is the only (normalised) e-mail that may accept.
	Email string
	// Name is whom it is meant for, shown to them; may be empty.
	Name string
	// By is the member who made it.
	By domain.ID
	// Coach is the member whom an invited student is linked to, if anybody.
	Coach domain.ID
	// Group is what an invited student is added to, if anything.
	Group domain.ID
	// Student is the junior whom an invited guardian may read.
	Student domain.ID
	// Junior marks an invited student as a junior.
	Junior bool
	// Gives is what an invited student is given on joining, if anything.
	Gives Gift
	// Code is the digest of the code; the code itself is shown once.
	Code    Digest
	Created time.Time
	Expires time.Time
	// Accepted and AcceptedBy (a member) are set once it is used.
	Accepted   time.Time
	AcceptedBy domain.ID
	// Revoked is when it was withdrawn, zero otherwise.
	Revoked time.Time
}

// Gift is a published version that an invited student is given on joining. The
// zero Gift is none.
type Gift struct {
	Programme domain.ID
	Version   int
	// Start is the first day of week 1 in the student's own time zone, also for
	// those who join later, so that a group keeps step.
	Start domain.Date
}

// InvitationState is what has become of an invitation.
type InvitationState string

// The states.
const (
	Open     InvitationState = "open"
	Accepted InvitationState = "accepted"
	Revoked  InvitationState = "revoked"
	Expired  InvitationState = "expired"
)

// State tells the state at an instant. An invitation expires at Expires
// itself.
func (i Invitation) State(now time.Time) InvitationState {
	switch {
	case !i.Accepted.IsZero():
		return Accepted
	case !i.Revoked.IsZero():
		return Revoked
	case !now.Before(i.Expires):
		return Expired
	}
	return Open
}

// AppKey is an application key: third-party software asking for one academy.
// Its ID is the OAuth client_id.
type AppKey struct {
	ID     domain.ID
	Name   string
	Scopes Scopes
	// Secret is the digest of the client secret, which is shown once.
	Secret Digest
	// By is the member who made it.
	By      domain.ID
	Created time.Time
	// Used is when it was last exchanged, zero if never.
	Used time.Time
	// Revoked is when it was withdrawn, zero while it is good.
	Revoked time.Time
}

// MemberAccess says who a signed-in person is and in what role, this moment.
type MemberAccess struct {
	Account domain.ID
	// Role is empty when no member was asked for.
	Role domain.Role
}

// KeyAccess is what an application key may do this moment.
type KeyAccess struct {
	Scopes Scopes
}
