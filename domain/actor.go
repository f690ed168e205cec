package domain

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"time"
)

// ID names a thing: a UUID in its canonical lower-case text form.
type ID string

// Nobody is the nil UUID (RFC 9562, section 5.9). It stands for people who were
// erased, and is no member whom anybody sees.
const Nobody = "00000000-0000-0000-0000-000000000000"

// Role is what a member is in an academy.
type Role string

// The roles.
const (
	Owner    Role = "owner"
	Coach    Role = "coach"
	Student  Role = "student"
	Guardian Role = "guardian"
)

// Roles lists them.
func Roles() []Role { return []Role{Owner, Coach, Student, Guardian} }

// Actor is who asks, as the edge established it for this one request.
type Actor struct {
	Academy ID
	// Member is the member who asks; empty when software asks with a key.
	Member ID
	// Role is the member's role; empty for software.
	Role Role
	// Key is the application key that asks; empty for a person.
	Key ID
	// App is the app of others that asks for the member, who has let it in; empty for
	// the member themselves.
	App ID
}

// Software reports whether an application key asks. Its scopes were checked at
// the edge; inside them it sees the whole academy.
func (a Actor) Software() bool { return a.Key != "" }

// ByApp reports whether other software asks: with a key, or for a member who has let
// it in. It sees juniors only if their guardian agreed to that.
func (a Actor) ByApp() bool { return a.Key != "" || a.App != "" }

// SeesAll reports whether every student of the academy is the actor's to see.
func (a Actor) SeesAll() bool { return a.Role == Owner || a.Software() }

// Transactor runs a use case in one transaction on the store S, which sees one
// academy and nothing else. A non-nil error from fn rolls everything back and
// is returned as it is. fn may run again when the database asks for a retry,
// so it must not keep effects outside the store.
type Transactor[S any] interface {
	// Read runs fn on a consistent snapshot; the store refuses writes.
	Read(ctx context.Context, academy ID, fn func(S) error) error
	// ReadOnce is Read for an fn that asks the store one thing, which costs less.
	ReadOnce(ctx context.Context, academy ID, fn func(S) error) error
	// Write runs fn with writing; a nil return means committed and durable.
	Write(ctx context.Context, academy ID, fn func(S) error) error
}

// Event is one line of an academy's ordered log, written in the transaction of
// the change it tells of. The audit trail, the change feed, webhooks and the
// live view all read this one log.
type Event struct {
	// Seq is given by the store: 1, 2, 3 … without gaps in commit order.
	Seq int64
	At  time.Time
	// Actor is the member or key that made the change, empty for the system.
	Actor ID
	// Kind is a noun and a past participle: "session.stored".
	Kind string
	// Subject is the thing changed, named by its ID.
	Subject ID
	// Student is whose data it is, if anybody's.
	Student ID
	// Data is what a reader needs to know, without secrets: before and after
	// of an edit, for instance. Values are JSON-encodable.
	Data map[string]any
}

// EventLog is the part of a store that every writing use case needs.
type EventLog interface {
	// Record appends an event; the store numbers it.
	Record(ctx context.Context, e Event) error
}

// Env is what the domain must be given from outside to be deterministic.
type Env struct {
	// Now is the clock.
	Now func() time.Time
	// NewID makes a fresh, time-ordered identity (UUIDv7).
	NewID func() ID
}

// Event makes an event of the actor's doing; student is empty when the change
// is nobody's data.
func (a Actor) Event(at time.Time, kind string, subject, student ID, data map[string]any) Event {
	by := a.Member
	if a.Software() {
		by = a.Key
	}
	return Event{At: at, Actor: by, Kind: kind, Subject: subject, Student: student, Data: data}
}

// CheckRevision gives a Stale error unless wanted, what the asker had read, is
// what stands; a wanted of 0 asks for no check.
func CheckRevision(what string, wanted, stands int) error {
	if wanted == 0 || wanted == stands {
		return nil
	}
	e := Errorf(Stale, "stale", "The %s has changed since you read it. Read it again and repeat your change.", what)
	e.Stored = &Standing{Revision: stands}
	return e
}

// Erased is the event of a member being erased. It does not name them: whoever keeps
// copies finds theirs by the SHA-256 of the member's identity.
func (a Actor) Erased(at time.Time, member ID) Event {
	digest := sha256.Sum256([]byte(member))
	if a.Member == member {
		a.Member = ""
	}
	return a.Event(at, "member.erased", Nobody, "", map[string]any{"member_sha256": hex.EncodeToString(digest[:])})
}
