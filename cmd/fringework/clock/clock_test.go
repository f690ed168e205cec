package clock_test

import (
	"encoding/binary"
	"encoding/hex"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"fringework/cmd/fringework/clock"
)

// A clock goes on from the instant it was set to, and what is made by it says so.
func TestClock(t *testing.T) {
	for _, at := range []string{"1999-12-31T23:59:59Z", "2028-02-29T10:00:00Z", "2100-01-01T00:00:00Z"} {
		start, err := time.Parse(time.RFC3339, at)
		if err != nil {
			t.Fatal(err)
		}
		c := clock.From(start)
		begun := func(what string, got time.Time, unit time.Duration) {
			t.Helper()
			// It cannot be later than what the clock shows now.
			if got.Before(start.Truncate(unit)) || got.After(c.Now()) || got.Location() != time.UTC {
				t.Errorf("set to %s, %s says %s; want it to go on from there, in UTC", at, what, got)
			}
		}
		begun("the clock", c.Now(), time.Millisecond)

		for last := c.NewID(); c.Now().Before(start.Add(20 * time.Millisecond)); {
			next := c.NewID()
			if next <= last {
				t.Fatalf("%s follows %s; want identities that rise", next, last)
			}
			last = next
		}
		raw, err := hex.DecodeString(strings.ReplaceAll(string(c.NewID()), "-", ""))
		if err != nil {
			t.Fatal(err)
		}
		ms := binary.BigEndian.Uint64(append([]byte{0, 0}, raw[:6]...))
		begun("an identity", time.UnixMilli(int64(ms)).UTC(), time.Millisecond)

		answer := httptest.NewRecorder()
		c.Dated(http.NotFoundHandler()).ServeHTTP(answer, httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/", nil))
		date, err := http.ParseTime(answer.Header().Get("Date"))
		if err != nil {
			t.Fatal(err)
		}
		begun("an answer", date, time.Second)
	}
}
