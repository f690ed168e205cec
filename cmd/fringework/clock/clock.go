// Package clock is the program's clock, which tests may set to another day.
package clock

import (
	"encoding/binary"
	"net/http"
	"time"

	"github.com/google/uuid"

	"fringework/domain"
)

// Clock goes as the machine's does, but is off by so much; the zero value is the
// machine's.
type Clock struct{ Off time.Duration }

// From is a clock that shows an instant now, or two milliseconds later. It is off
// by whole milliseconds, so that instants and identities tick together.
func From(now time.Time) Clock {
	return Clock{-time.Since(now).Truncate(time.Millisecond) + time.Millisecond}
}

// Now is what the clock shows, in UTC to the millisecond.
func (c Clock) Now() time.Time { return time.Now().Add(c.Off).UTC().Truncate(time.Millisecond) }

// NewID makes a UUIDv7 (RFC 9562 §5.7) by the clock, above all made before in this
// process.
func (c Clock) NewID() domain.ID {
	id := uuid.Must(uuid.NewV7())
	ms := binary.BigEndian.Uint64(id[:8])>>16 + uint64(c.Off.Milliseconds())
	for i := range 6 {
		id[i] = byte(ms >> (40 - 8*i))
	}
	return domain.ID(id.String())
}

// Dated says in every answer what the clock shows, where net/http would say what
// the machine's does: pages correct their times by it.
func (c Clock) Dated(next http.Handler) http.Handler {
	if c.Off == 0 {
		return next
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Date", c.Now().Format(http.TimeFormat))
		next.ServeHTTP(w, r)
	})
}
