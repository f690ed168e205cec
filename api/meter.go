package api

import (
	"maps"
	"sync"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
	"fringework/domain/practice"
)

// ballsADay is how many balls of one student this process takes from one sender in a
// day, counting each as often as it is sent: a phone sends the whole session after every ball, and a long
// day of practice comes to a fifth of this; so does an import of ten years.
const ballsADay = 1_000_000

// meter bounds how much is sent in a day, by allowances that fill up again steadily
// over one. It is this process's own: it protects the machine.
type meter struct {
	aDay int
	mu   sync.Mutex
	// spent is until when each allowance is spent, in time of a day's worth.
	spent map[string]time.Time
}

// meteredAtMost is how many allowances are remembered before those are forgotten that
// are whole again.
const meteredAtMost = 10_000

// take spends n of an allowance, or says how long to wait for as much.
func (m *meter) take(whose string, n int, now time.Time) (wait time.Duration) {
	const day = 24 * time.Hour
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.spent == nil {
		m.spent = map[string]time.Time{}
	}
	if len(m.spent) >= meteredAtMost {
		maps.DeleteFunc(m.spent, func(_ string, until time.Time) bool { return !until.After(now) })
	}
	until := m.spent[whose]
	if until.Before(now) {
		until = now
	}
	if latest := now.Add(day); until.After(latest) {
		until = latest // the clock was ahead
	}
	next := until.Add(time.Duration(float64(n) / float64(m.aDay) * float64(day)))
	if wait = next.Sub(now) - day; wait > 0 {
		return wait
	}
	m.spent[whose] = next
	return 0
}

// metered refuses a session when more balls of its student were sent today than anybody
// strikes. Each sender has allowances of their own, so that nobody spends another's.
func (s *Server) metered(c echo.Context, session practice.Session) error {
	balls := 0
	for _, b := range session.Blocks {
		balls += len(b.Balls)
	}
	wait := s.balls.take(string(askerOf(c)+" "+session.Student), balls, s.Now())
	if wait == 0 {
		return nil
	}
	e := domain.Errorf(domain.TooMany, "too_many_balls",
		"More than %d balls were sent for this student in a day. Keep the session and send it again later; send a session that goes on less often.", s.balls.aDay)
	e.RetryAfter = int(wait/time.Second) + 1
	return e
}
