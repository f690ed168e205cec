package authtest

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"sync"
	"time"

	"fringework/auth"
	"fringework/domain"
)

// Clock is a clock that tests move. Its zero value is not useful; see NewClock.
type Clock struct {
	mu  sync.Mutex
	now time.Time
	n   uint32
}

// NewClock makes a clock that stands at an instant.
func NewClock(at time.Time) *Clock { return &Clock{now: at} }

// Now is the instant at which the clock stands.
func (c *Clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

// Advance moves the clock.
func (c *Clock) Advance(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = c.now.Add(d)
}

// Env is the clock with identities made by it.
func (c *Clock) Env() domain.Env { return domain.Env{Now: c.Now, NewID: c.NewID} }

// NewID makes a UUIDv7 (RFC 9562 §5.7) of the clock's instant; later ones of
// the same clock sort after earlier ones.
func (c *Clock) NewID() domain.ID {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.n++
	var b [16]byte
	rand.Read(b[:])
	ms := uint64(c.now.UnixMilli())
	for i := range 6 {
		b[i] = byte(ms >> (40 - 8*i))
	}
	// 26 bits of counter, in rand_a and the start of rand_b.
	b[6], b[7] = 0x70|byte(c.n>>22&0xf), byte(c.n>>14)
	b[8], b[9] = 0x80|byte(c.n>>8&0x3f), byte(c.n)
	h := hex.EncodeToString(b[:])
	return domain.ID(h[:8] + "-" + h[8:12] + "-" + h[12:16] + "-" + h[16:20] + "-" + h[20:])
}

// Unlimited is an auth.Limiter that never limits, for tests of other things.
type Unlimited struct{}

// Take implements auth.Limiter.
func (Unlimited) Take(context.Context, time.Time, ...auth.Bucket) (time.Duration, error) {
	return 0, nil
}

// Refund implements auth.Limiter.
func (Unlimited) Refund(context.Context, ...auth.Bucket) error { return nil }

// Wait implements auth.Limiter.
func (Unlimited) Wait(context.Context, time.Time, ...auth.Bucket) (time.Duration, error) {
	return 0, nil
}
