// Package webhook tells other software of an academy's events at addresses that
// its owner names, by the Standard Webhooks specification
// (https://github.com/standard-webhooks/standard-webhooks).
//
// The academy's log is the outbox: an event is in it once the transaction that
// caused it is committed, and never otherwise. Each endpoint has a position in the
// log; a worker leases an endpoint, makes a delivery of each event after the
// position that the endpoint wants, and tries those that are due until they
// succeed. So an upload costs nothing more for being told, nothing is lost when a
// process dies, and what is delivered twice has the same ID. A general queue was
// weighed: those that keep jobs on both engines bring a schema and a transaction of
// their own, beside a log that has all they would store.
package webhook

import (
	"fmt"
	"hash/fnv"
	"net/url"
	"slices"
	"strings"
	"time"

	"fringework/domain"
)

// Endpoint is an address that is told of events.
type Endpoint struct {
	ID   domain.ID
	Name string
	URL  string
	// Kinds of events that it is told of, in order; empty for all of [Kinds].
	Kinds []string
	// Secret signs what is sent, in the form of the specification: "whsec_" and
	// base64.
	Secret string
	// OldSecret, the one before a rotation, signs as well until OldUntil.
	OldSecret string
	OldUntil  time.Time
	CreatedBy domain.ID
	CreatedAt time.Time
	Revision  int

	// Position is the number of the last event of the log that was dealt with.
	Position int64
	// FailingSince is when the first of the latest failures was, without a success
	// after it, and Failures how many there were; zero while all is well.
	FailingSince time.Time
	Failures     int
	// HoldUntil is until when nothing is sent, after failures in a row.
	HoldUntil time.Time
	// DisabledAt is when it was switched off, and Disabled why; zero and empty
	// while it is on.
	DisabledAt time.Time
	Disabled   Reason
}

// Reason says why an endpoint is switched off.
type Reason string

// The reasons: by an owner, since it failed for days, and since it answered 410.
const (
	ByOwner Reason = "by_owner"
	Failing Reason = "failing"
	GoneFor Reason = "gone"
)

// Reasons lists them.
func Reasons() []Reason { return []Reason{ByOwner, Failing, GoneFor} }

// On reports whether the endpoint is told of events.
func (e Endpoint) On() bool { return e.DisabledAt.IsZero() }

// Wants reports whether the endpoint is told of events of a kind.
func (e Endpoint) Wants(kind string) bool {
	if len(e.Kinds) == 0 {
		return slices.Contains(Kinds(), kind)
	}
	return slices.Contains(e.Kinds, kind)
}

// Secrets are those that sign at an instant, the present one first.
func (e Endpoint) Secrets(at time.Time) []string {
	if e.OldSecret != "" && at.Before(e.OldUntil) {
		return []string{e.Secret, e.OldSecret}
	}
	return []string{e.Secret}
}

// Kinds are the kinds of events that an endpoint can be told of.
func Kinds() []string {
	return []string{
		"session.stored", "session.extended", "session.edited", "session.deleted", "session.restored",
		"milestone.made", "milestone.withdrawn", "milestone.held", "milestone.reopened", "reason.raised", "reason.cleared",
		"assignment.made", "assignment.paused", "assignment.resumed", "assignment.moved", "assignment.ended",
		"adjustment.made", "adjustment.ended", "member.joined",
	}
}

// Ping is the kind of a delivery that an owner asked for to try an endpoint. It is
// no event of the log.
const Ping = "webhook.ping"

// State says how a delivery stands.
type State string

// The states: still to be tried, taken by the receiver, and given up.
const (
	Waiting   State = "waiting"
	Delivered State = "delivered"
	Failed    State = "failed"
)

// States lists them.
func States() []State { return []State{Waiting, Delivered, Failed} }

// Delivery is an event on its way to an endpoint.
type Delivery struct {
	// ID is the same at every try, so that receivers can tell repetitions.
	ID       domain.ID
	Endpoint domain.ID
	// Event is the number in the log; 0 for a ping.
	Event   int64
	Kind    string
	Subject domain.ID
	Student domain.ID
	At      time.Time
	State   State
	// Attempts counts tries since FirstAt; Due is when the next is.
	Attempts int
	Due      time.Time
	FirstAt  time.Time
	LastAt   time.Time
	// Status is the HTTP status of the last answer, 0 without one, and Failure what
	// went wrong, in words.
	Status  int
	Failure string
}

// Result is what came of a try.
type Result struct {
	// Status is the HTTP status; 0 without an answer.
	Status int
	// Failure says in words what went wrong; empty when the delivery was taken.
	Failure string
	// RetryAfter is how long the receiver asked to wait; 0 without a word.
	RetryAfter time.Duration
}

// How deliveries are tried.
const (
	firstPause   = 5 * time.Second
	pauseGrows   = 5
	longestPause = 6 * time.Hour
	// OffAfter is after how long without any success an endpoint is switched off.
	OffAfter = 5 * 24 * time.Hour
	// GiveUpAfter is for how long a delivery is tried: so much longer that each has
	// many tries left when a receiver comes back that was almost switched off.
	GiveUpAfter = 2 * OffAfter
	// longestWish bounds how long a receiver may ask to wait.
	longestWish = 24 * time.Hour
	// patience is how many failures in a row an endpoint may have before it is
	// held; the hold doubles with each up to longestHold.
	patience    = 5
	firstHold   = 30 * time.Second
	longestHold = 30 * time.Minute
	// SecretsOverlap is for how long the old secret signs beside a new one.
	SecretsOverlap = 24 * time.Hour
	// KeptFor is for how long deliveries that are over are listed.
	KeptFor = 30 * 24 * time.Hour
)

// pauseAfter is how long to wait after so many tries of a delivery: five times as
// long after each, up to six hours, give or take a fifth, so that what failed
// together is not tried together. The chance comes from the delivery itself.
func pauseAfter(id domain.ID, attempts int) time.Duration {
	pause := firstPause
	for range attempts - 1 {
		if pause *= pauseGrows; pause >= longestPause {
			pause = longestPause
			break
		}
	}
	sum := fnv.New32a()
	fmt.Fprintf(sum, "%s %d", id, attempts)
	share := 0.8 + 0.4*float64(sum.Sum32())/float64(1<<32)
	return time.Duration(share * float64(pause))
}

// holdAfter is how long an endpoint is held after so many failures in a row.
func holdAfter(failures int) time.Duration {
	if failures < patience {
		return 0
	}
	hold := firstHold
	for range failures - patience {
		if hold *= 2; hold >= longestHold {
			return longestHold
		}
	}
	return hold
}

// settle brings a delivery and its endpoint up to date with what came of a try, and
// reports whether the endpoint was switched off by it. A ping says nothing about
// the endpoint but that it works.
func settle(e *Endpoint, d *Delivery, r Result, now time.Time) (off bool) {
	if d.Attempts == 0 {
		d.FirstAt = now
	}
	d.Attempts++
	d.LastAt, d.Status, d.Failure = now, r.Status, r.Failure
	if r.Failure == "" {
		d.State = Delivered
		e.FailingSince, e.Failures, e.HoldUntil = time.Time{}, 0, time.Time{}
		return false
	}
	if d.Kind == Ping {
		d.State = Failed
		return false
	}
	if e.Failures == 0 {
		e.FailingSince = now
	}
	e.Failures++
	e.HoldUntil = now.Add(holdAfter(e.Failures))
	d.Due = now.Add(max(pauseAfter(d.ID, d.Attempts), min(r.RetryAfter, longestWish)))
	switch {
	case r.Status == statusGone:
		e.DisabledAt, e.Disabled = now, GoneFor
	case now.Sub(e.FailingSince) >= OffAfter:
		e.DisabledAt, e.Disabled = now, Failing
	case now.Sub(d.FirstAt) >= GiveUpAfter:
		d.State = Failed
	}
	return !e.On()
}

// statusGone is the answer by which a receiver asks to be told nothing any more (RFC
// 9110, section 15.5.11, and the specification).
const statusGone = 410

// Limits of what an owner may ask for.
const (
	maxEndpoints = 10
	maxURL       = 1000
	maxName      = 100
)

// check finds what is wrong with an endpoint. Plain is whether addresses without
// TLS are allowed.
func (e Endpoint) check(plain bool) error {
	var p domain.Problems
	if n := len([]rune(strings.TrimSpace(e.Name))); n == 0 || n > maxName || strings.ContainsRune(e.Name, 0) {
		p.Add("/name", "has %d characters; give 1 to %d that can be printed", n, maxName)
	}
	u, err := url.Parse(e.URL)
	switch {
	case len(e.URL) > maxURL:
		p.Add("/url", "has %d characters; use at most %d", len(e.URL), maxURL)
	case err != nil || u.Host == "" || u.Hostname() == "" || strings.ContainsRune(e.URL, 0):
		p.Add("/url", "is not an address; give one such as https://example.org/hooks/golf")
	case u.Scheme != "https" && !(plain && u.Scheme == "http"):
		p.Add("/url", "does not start with https://; what is sent must not be read on the way")
	case u.User != nil || u.Fragment != "":
		p.Add("/url", "has a name, a password or a fragment in it; leave them out, the signature says who sends")
	}
	for i, kind := range e.Kinds {
		if !slices.Contains(Kinds(), kind) {
			p.Add(fmt.Sprintf("/kinds/%d", i), "is no kind of event that can be told; use one of %s", strings.Join(Kinds(), ", "))
		} else if slices.Contains(e.Kinds[:i], kind) {
			p.Add(fmt.Sprintf("/kinds/%d", i), "is there twice; leave one out")
		}
	}
	return p.Err("webhook_invalid", "The webhook was not saved.")
}
