package api

import (
	"context"
	"runtime"
	"sync"
	"time"

	"github.com/labstack/echo/v4"

	"fringework/domain"
)

// How much one asker may have under way at once, and all together in this process.
const (
	liveEach, liveAll = 12, 2000
	calcEach          = 4
	// calcWait is how long a calculation waits for a processor.
	calcWait = 10 * time.Second
	// askAgain is in how many seconds whoever has too much under way may ask again.
	askAgain = 1
)

// slots bounds what is under way at once: of each asker, and of all.
type slots struct {
	each, all int
	// what names it in the plural, such as "live streams".
	what string

	mu    sync.Mutex
	of    map[domain.ID]int
	total int
}

// take takes a slot for an asker, to be given back by release.
func (s *slots) take(asker domain.ID) (release func(), err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	switch {
	case s.of[asker] >= s.each:
		e := domain.Errorf(domain.TooMany, "too_many_at_once", "You have %d %s under way, as many as one member or key may. End one, or wait for one to end.", s.of[asker], s.what)
		e.RetryAfter = askAgain
		return nil, e
	case s.all > 0 && s.total >= s.all:
		e := domain.Errorf(domain.Unavailable, "busy", "The service has as many %s under way as it can take. Try again in a moment.", s.what)
		e.RetryAfter = retrySoon
		return nil, e
	}
	if s.of == nil {
		s.of = map[domain.ID]int{}
	}
	s.of[asker]++
	s.total++
	return sync.OnceFunc(func() { s.release(asker) }), nil
}

func (s *slots) release(asker domain.ID) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.total--
	if s.of[asker]--; s.of[asker] == 0 {
		delete(s.of, asker)
	}
}

// askerOf is the member, the key, or the account of no academy that asks.
func askerOf(c echo.Context) domain.ID {
	id := identity(c)
	switch {
	case id.Software():
		return id.Key
	case id.Member != "":
		return id.Member
	}
	return id.Account
}

// work lets as many calculations run at once as there are processors.
type work struct {
	slots      slots
	processors chan struct{}
}

func newWork() *work {
	return &work{slots: slots{each: calcEach, what: "calculations"}, processors: make(chan struct{}, runtime.GOMAXPROCS(0))}
}

// begin waits for a processor, and gives it back by end.
func (w *work) begin(ctx context.Context, asker domain.ID) (end func(), err error) {
	release, err := w.slots.take(asker)
	if err != nil {
		return nil, err
	}
	ctx, cancel := context.WithTimeout(ctx, calcWait)
	defer cancel()
	select {
	case w.processors <- struct{}{}:
		return func() { <-w.processors; release() }, nil
	case <-ctx.Done():
		release()
		return nil, tooMuchToCalculate()
	}
}

func tooMuchToCalculate() error {
	e := domain.Errorf(domain.Unavailable, "busy", "The service has too much to calculate at the moment. Try again in a moment.")
	e.RetryAfter = retrySoon
	return e
}
