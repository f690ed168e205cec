package auth

import (
	"context"
	"crypto/sha256"
	"encoding/base64"
	"net/netip"
	"slices"
	"strings"
	"time"

	"fringework/domain"
)

// Bucket allows Burst attempts at once and then one in every Every. It empties
// by itself: whoever waits as long as they were told gets their attempt, and
// attempts refused on the way cost nothing, so nobody can be locked out for
// good, only slowed down.
type Bucket struct {
	// Name is what is limited, without personal data in it.
	Name  string
	Burst int
	Every time.Duration
}

// take decides one attempt by the generic cell rate algorithm (ITU-T I.371).
// full is the bucket's one number: the instant at which it will be as good as
// new. It gives the next such instant and, when the attempt is refused, the
// instant as it stands and how long to wait.
func (b Bucket) take(full, now time.Time) (next time.Time, wait time.Duration) {
	if full.Before(now) {
		full = now
	}
	full = b.atMost(full, now)
	next = full.Add(b.Every)
	if wait = next.Sub(now) - time.Duration(b.Burst)*b.Every; wait > 0 {
		return full, wait
	}
	return next, 0
}

// atMost is full as a bucket can have it now: after a whole burst. A later instant
// was stored by a clock that was ahead, and must not lock out for as long.
func (b Bucket) atMost(full, now time.Time) time.Time {
	if latest := now.Add(time.Duration(b.Burst) * b.Every); full.After(latest) {
		return latest
	}
	return full
}

// Limiter limits attempts at guessing. now is UTC in whole milliseconds.
type Limiter interface {
	// Take spends one attempt of every bucket. When any is out of attempts it
	// spends none and says how long to wait.
	Take(ctx context.Context, now time.Time, buckets ...Bucket) (wait time.Duration, err error)
	// Refund gives back one attempt of every bucket, after a success.
	Refund(ctx context.Context, buckets ...Bucket) error
	// Wait says what Take would, and spends nothing.
	Wait(ctx context.Context, now time.Time, buckets ...Bucket) (time.Duration, error)
}

// StoreLimiter is a Limiter kept in a Store: replicas share it and it survives
// restarts.
type StoreLimiter struct{ store Store }

// NewStoreLimiter makes a limiter on a store.
func NewStoreLimiter(s Store) *StoreLimiter { return &StoreLimiter{store: s} }

// Take implements Limiter.
func (s *StoreLimiter) Take(ctx context.Context, now time.Time, buckets ...Bucket) (wait time.Duration, err error) {
	err = s.store.Write(ctx, func(tx Tx) error {
		wait = 0
		buckets := inOrder(buckets)
		stand, next := make([]time.Time, len(buckets)), make([]time.Time, len(buckets))
		for i, b := range buckets {
			var err error
			if stand[i], err = tx.Attempt(ctx, b.Name); err != nil {
				return err
			}
			var w time.Duration
			next[i], w = b.take(stand[i], now)
			wait = max(wait, w)
		}
		for i, b := range buckets {
			if wait > 0 {
				next[i] = b.atMost(stand[i], now)
			}
			if next[i].Equal(stand[i]) {
				continue
			}
			if err := tx.SetAttempt(ctx, b.Name, next[i]); err != nil {
				return err
			}
		}
		return nil
	})
	return wait, err
}

// Refund implements Limiter.
func (s *StoreLimiter) Refund(ctx context.Context, buckets ...Bucket) error {
	return s.store.Write(ctx, func(tx Tx) error {
		for _, b := range inOrder(buckets) {
			full, err := tx.Attempt(ctx, b.Name)
			if err == nil && !full.IsZero() {
				err = tx.SetAttempt(ctx, b.Name, full.Add(-b.Every))
			}
			if err != nil {
				return err
			}
		}
		return nil
	})
}

// Wait implements Limiter.
func (s *StoreLimiter) Wait(ctx context.Context, now time.Time, buckets ...Bucket) (wait time.Duration, err error) {
	var overfull []Bucket
	err = s.store.Read(ctx, func(tx Tx) error {
		wait, overfull = 0, nil
		for _, b := range buckets {
			full, err := tx.PeekAttempt(ctx, b.Name)
			if err != nil {
				return err
			}
			if !b.atMost(full, now).Equal(full) {
				overfull = append(overfull, b)
			}
			_, w := b.take(full, now)
			wait = max(wait, w)
		}
		return nil
	})
	if err != nil || len(overfull) == 0 {
		return wait, err
	}
	return wait, s.settle(ctx, now, overfull)
}

// settle stores what a clock that was ahead left as it can be now: the wait that
// was told must come to an end.
func (s *StoreLimiter) settle(ctx context.Context, now time.Time, buckets []Bucket) error {
	return s.store.Write(ctx, func(tx Tx) error {
		for _, b := range inOrder(buckets) {
			full, err := tx.Attempt(ctx, b.Name)
			if most := b.atMost(full, now); err == nil && !most.Equal(full) {
				err = tx.SetAttempt(ctx, b.Name, most)
			}
			if err != nil {
				return err
			}
		}
		return nil
	})
}

// inOrder sorts buckets by name, the order in which all lock.
func inOrder(buckets []Bucket) []Bucket {
	return slices.SortedFunc(slices.Values(buckets), func(a, b Bucket) int {
		return strings.Compare(a.Name, b.Name)
	})
}

// Origin turns a network address into what is limited and remembered about it:
// a digest of the IPv4 address or of the IPv6 /64, which is what one household
// gets. Text that is no address stands for itself.
func Origin(address string) string {
	if ip, err := netip.ParseAddr(address); err == nil {
		ip = ip.Unmap().WithZone("")
		if ip.Is6() {
			p, _ := ip.Prefix(64)
			ip = p.Addr()
		}
		address = ip.String()
	}
	return label("origin", address)
}

// label names a bucket or an origin without telling whose it is.
func label(kind string, of ...string) string {
	sum := sha256.Sum256([]byte(kind + "\x00" + strings.Join(of, "\x00")))
	return kind + ":" + base64.RawURLEncoding.EncodeToString(sum[:16])
}

// The limits on guessing. Passwords are few bits, so they are limited before
// the password is looked at: per account and origin together, per account from
// anywhere unless the origin is one the account has signed in from (so that
// strangers cannot slow the person down at home), and per origin. The second,
// slower bucket of a pair makes the wait grow when guessing goes on. Common
// practice, no source.
func passwordBuckets(email, origin string, known bool) []Bucket {
	buckets := []Bucket{
		{label("password-pair", email, origin), 5, 30 * time.Second},
		{label("password-pair-slow", email, origin), 20, 15 * time.Minute},
		{label("password-origin", origin), 60, 5 * time.Second},
	}
	if known {
		return buckets
	}
	return append(buckets,
		Bucket{label("password-account", email), 20, time.Minute},
		Bucket{label("password-account-slow", email), 100, 10 * time.Minute})
}

// secretBucket limits wrong refresh tokens, invitation codes and client
// secrets per origin. They hold at least 128 random bits, so only failures are
// counted, and this protects the machine more than the secrets.
func secretBucket(origin string) Bucket {
	return Bucket{label("secret-origin", origin), 30, 10 * time.Second}
}

// tooMany says how long to wait, in whole seconds rounded up.
func tooMany(wait time.Duration) error {
	seconds := int((wait + time.Second - 1) / time.Second)
	e := domain.Errorf(domain.TooMany, "too_many_attempts",
		"Too many attempts. Wait %d seconds and try again.", seconds)
	e.RetryAfter = seconds
	return e
}

// signUpBucket limits new academies per origin.
func signUpBucket(origin string) Bucket {
	return Bucket{label("sign-up-origin", origin), 30, time.Minute}
}
