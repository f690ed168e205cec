package auth

import (
	"context"
	"time"

	"fringework/domain"
)

// Store keeps accounts, families, members, invitations and keys of all
// academies. Signing up and accepting an invitation touch rows that belong to
// nobody's academy together with rows of one, so this store, unlike those of
// the domain, is not opened for an academy; each method on academy rows names
// it first instead.
//
// Absent rows are reported as domain.NotFound, clashes of a unique key as
// domain.Conflict. After a Conflict the transaction may be unusable: the caller
// returns the error. Instants come in UTC and whole milliseconds, and come back
// the same; the zero time stands for "not" and comes back as the zero time.
// Identities are canonical UUIDs, or empty for "none" where a type says so.
type Store interface {
	// Read runs fn on a consistent snapshot.
	Read(ctx context.Context, fn func(Tx) error) error
	// Write runs fn in one transaction; a nil return means committed and
	// durable, an error rolls back and is returned as it is. fn may run again
	// when the database asks for a retry.
	Write(ctx context.Context, fn func(Tx) error) error

	// MemberAccess tells, in one look, what a signed-in person may do now. It is
	// NotFound when the family is absent or ended, and, unless academy and
	// member are both empty, when there is no such member in that academy, the
	// member was removed, or belongs to another account than the family.
	MemberAccess(ctx context.Context, family, academy, member domain.ID) (MemberAccess, error)
	// Belonging gives, in one look, an account without its password and what
	// Memberships lists of it. It is NotFound when the account is absent.
	Belonging(ctx context.Context, account domain.ID) (Account, []Membership, error)
	// KeyAccess tells, in one look, what an application key may do now. It is
	// NotFound when the key is absent, in another academy, or revoked.
	KeyAccess(ctx context.Context, academy, key domain.ID) (KeyAccess, error)
	// AppAccess tells, in one look, for whom an app may ask by a connection now. It
	// is NotFound when the connection is absent, in another academy or ended, the app
	// was revoked, or the member was removed, has another role than when they agreed,
	// or is a junior without a guardian's consent.
	AppAccess(ctx context.Context, academy, connection domain.ID) (AppAccess, error)
}

// Tx is one transaction on a Store. It is large, because signing up, accepting
// an invitation and refreshing touch accounts, members, sign-ins and the log at
// once; what needs one part takes that part.
type Tx interface {
	AccountTx
	FamilyTx
	MemberTx
	InvitationTx
	KeyTx
	AppTx
	AttemptTx
	LeavingTx
	FactorTx
	TicketTx
	MailTx

	// Record appends an event to an academy's log and numbers it.
	Record(ctx context.Context, academy domain.ID, e domain.Event) error
}

// AccountTx keeps accounts. They belong to no academy.
type AccountTx interface {
	// AddAccount stores a new account. Conflict when the e-mail is taken.
	AddAccount(ctx context.Context, a Account) error
	// Account finds an account by identity. NotFound when absent.
	Account(ctx context.Context, id domain.ID) (Account, error)
	// AccountByEmail finds an account by its normalised e-mail, compared
	// byte for byte. NotFound when absent.
	AccountByEmail(ctx context.Context, email string) (Account, error)
	// SetPassword replaces the encoded hash was by hash. It reports false, and
	// changes nothing, when the account is absent or its hash is not was.
	SetPassword(ctx context.Context, account domain.ID, was, hash string) (bool, error)
	// VerifyEmail stores Verified of an account.
	VerifyEmail(ctx context.Context, account domain.ID, at time.Time) error
	// SetEmail stores another (normalised) e-mail of an account, and when it was
	// verified. Conflict when it is taken.
	SetEmail(ctx context.Context, account domain.ID, email string, verified time.Time) error
	// Memberships lists the academies an account belongs to now (removed
	// members left out), ordered by the member's identity, which is the order
	// of joining.
	Memberships(ctx context.Context, account domain.ID) ([]Membership, error)
}

// LeavingTx takes people out of everything that is kept.
type LeavingTx interface {
	// Everywhere lists all members that an account is or was, removed ones too, in
	// order of the member's identity.
	Everywhere(ctx context.Context, account domain.ID) ([]Membership, error)
	// OtherOwner reports whether an academy has an owner beside a member, and keeps
	// that owner from leaving until the transaction ends.
	OtherOwner(ctx context.Context, academy, member domain.ID) (bool, error)
	// EraseMember takes a member out of everything that is kept of an academy, as
	// the domain's own erasing does. NotFound when absent.
	EraseMember(ctx context.Context, academy, member domain.ID) error
	// DeleteAccount deletes an account and its sign-ins, if they are still there. It
	// has no members any more.
	DeleteAccount(ctx context.Context, account domain.ID) error
}

// FamilyTx keeps sign-ins. They belong to an account.
type FamilyTx interface {
	// AddFamily stores a new family.
	AddFamily(ctx context.Context, f Family) error
	// Family finds a family, ended ones too. NotFound when absent.
	Family(ctx context.Context, id domain.ID) (Family, error)
	// SaveFamily stores Academy, Member, Current, Previous, Salt and Rotated
	// of f if the family still lives and its stored Current still is was; else
	// it reports false and changes nothing. Of several transactions that save
	// on the same was, with another Current each, exactly one is told true.
	SaveFamily(ctx context.Context, f Family, was Digest) (bool, error)
	// EndFamily ends a family. It reports false, and changes nothing, when the
	// family is absent or ended already.
	EndFamily(ctx context.Context, id domain.ID, at time.Time, why EndReason) (bool, error)
	// EndFamilies ends all living families of an account but one (none when
	// except is empty) and reports how many.
	EndFamilies(ctx context.Context, account, except domain.ID, at time.Time, why EndReason) (int, error)
	// KnownOrigin reports whether any family of the account, ended ones too,
	// was started from origin.
	KnownOrigin(ctx context.Context, account domain.ID, origin string) (bool, error)
	// SweepFamilies deletes families that expired before an instant, at most
	// limit of them, and reports how many.
	SweepFamilies(ctx context.Context, before time.Time, limit int) (int, error)
}

// MemberTx keeps academies and what joining one touches. The rows are shared
// with the domain's own stores.
type MemberTx interface {
	// AddAcademy stores a new academy, with an empty event log.
	AddAcademy(ctx context.Context, a Academy) error
	// Academy finds an academy. NotFound when absent.
	Academy(ctx context.Context, academy domain.ID) (Academy, error)
	// AddMember stores a new member. Conflict when the account already has a
	// member in the academy, removed ones included.
	AddMember(ctx context.Context, academy domain.ID, m Member) error
	// Reinstate stores Role, Name, TimeZone and Junior of a removed member and
	// makes them belong again. It reports false, and changes nothing, when
	// there is no such member or they are not removed.
	Reinstate(ctx context.Context, academy domain.ID, m Member) (bool, error)
	// Member finds a member, removed ones too. NotFound when absent.
	Member(ctx context.Context, academy, member domain.ID) (Member, error)
	// MemberOfAccount finds an account's member in an academy, removed ones
	// too. NotFound when there is none.
	MemberOfAccount(ctx context.Context, academy, account domain.ID) (Member, error)
	// Link links a coach (or owner) and a student; it is no error if they are
	// linked already. NotFound when either member is absent.
	Link(ctx context.Context, academy, coach, student domain.ID, at time.Time) error
	// Linked reports whether a coach and a student are linked now.
	Linked(ctx context.Context, academy, coach, student domain.ID) (bool, error)
	// Guard makes a guardian a reader of a student's data; it is no error if
	// they are already. NotFound when either member is absent.
	Guard(ctx context.Context, academy, guardian, student domain.ID, at time.Time) error
	// HasGroup reports whether a group exists and is in use (not archived).
	HasGroup(ctx context.Context, academy, group domain.ID) (bool, error)
	// Join adds a student to a group; it is no error if they are in it
	// already. NotFound when the group or the member is absent.
	Join(ctx context.Context, academy, group, student domain.ID, at time.Time) error
}

// InvitationQuery picks invitations of an academy.
type InvitationQuery struct {
	// By, when set, picks those made by that member.
	By domain.ID
	// OpenAt, when not zero, picks those neither accepted nor revoked, with
	// Expires after it, and whose maker has not been removed.
	OpenAt time.Time
	Page   domain.Page
}

// InvitationTx keeps invitations.
type InvitationTx interface {
	// AddInvitation stores a new invitation. Conflict when the code is taken;
	// NotFound when it gives a version that is not there.
	AddInvitation(ctx context.Context, academy domain.ID, i Invitation) error
	// Invitation finds an invitation in any state. NotFound when absent.
	Invitation(ctx context.Context, academy, id domain.ID) (Invitation, error)
	// InvitationByCode finds an invitation of any academy, in any state, by
	// the digest of its code. NotFound when absent.
	InvitationByCode(ctx context.Context, code Digest) (academy domain.ID, i Invitation, err error)
	// Invitations lists what a query picks, ordered by identity, at most
	// Page.Limit, after Page.After.
	Invitations(ctx context.Context, academy domain.ID, q InvitationQuery) ([]Invitation, error)
	// TakeInvitation marks an invitation accepted by a member if it is open at
	// the instant; else it reports false and changes nothing. Of several
	// transactions that take one invitation, exactly one is told true. The
	// member is stored already, perhaps in this same transaction.
	TakeInvitation(ctx context.Context, academy, id, member domain.ID, at time.Time) (bool, error)
	// RevokeInvitation marks an invitation revoked if it is open at the
	// instant; else it reports false and changes nothing.
	RevokeInvitation(ctx context.Context, academy, id domain.ID, at time.Time) (bool, error)
}

// KeyTx keeps application keys.
type KeyTx interface {
	// AddKey stores a new key.
	AddKey(ctx context.Context, academy domain.ID, k AppKey) error
	// KeyByID finds a key of any academy, revoked ones too, by its identity,
	// which is unique among all academies. NotFound when absent.
	KeyByID(ctx context.Context, id domain.ID) (academy domain.ID, k AppKey, err error)
	// Keys lists an academy's keys, revoked ones too, ordered by identity, at
	// most Page.Limit, after Page.After.
	Keys(ctx context.Context, academy domain.ID, page domain.Page) ([]AppKey, error)
	// GoodKeys counts the academy's keys that are not revoked. In Write it also
	// keeps others that count from going on until this transaction ends, so that a
	// key added to the count cannot be one too many.
	GoodKeys(ctx context.Context, academy domain.ID) (int, error)
	// RevokeKey marks a key revoked. It reports false, and changes nothing,
	// when the key is absent from the academy or revoked already.
	RevokeKey(ctx context.Context, academy, id domain.ID, at time.Time) (bool, error)
	// TouchKey notes when a key was last exchanged.
	TouchKey(ctx context.Context, academy, id domain.ID, at time.Time) error
}

// AttemptTx keeps what limits guessing (StoreLimiter): one instant per bucket,
// shared by all replicas and kept over restarts. Bucket names hold no personal
// data: addresses and e-mails are hashed into them.
type AttemptTx interface {
	// Attempt reads a bucket's instant, zero when there is none, and locks the
	// bucket, also one that does not exist yet, against every other
	// transaction until this one ends. Callers lock in the order of names.
	Attempt(ctx context.Context, bucket string) (time.Time, error)
	// SetAttempt stores a bucket's instant.
	SetAttempt(ctx context.Context, bucket string, at time.Time) error
	// PeekAttempt reads a bucket's instant, zero when there is none, without
	// locking; it may be used in Read.
	PeekAttempt(ctx context.Context, bucket string) (time.Time, error)
	// SweepAttempts deletes buckets whose instant lies before another, at most
	// limit of them, and reports how many.
	SweepAttempts(ctx context.Context, before time.Time, limit int) (int, error)
}
