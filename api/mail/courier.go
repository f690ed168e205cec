package mail

import (
	"context"
	"errors"
	"log/slog"
	"net/mail"
	"time"

	gomail "github.com/wneessen/go-mail"

	"fringework/auth"
	"fringework/domain"
)

// Queue is where letters wait; auth.Service is one.
type Queue interface {
	// NextLetter gives the letter to send next, for as long as lease to one caller.
	// NotFound when none is due.
	NextLetter(ctx context.Context, lease time.Duration) (auth.Letter, error)
	// SettleLetter forgets a letter, or, when again is positive, makes it due after
	// so long.
	SettleLetter(ctx context.Context, l auth.Letter, again time.Duration) error
}

// Sender takes written letters.
type Sender interface {
	Send(ctx context.Context, m *gomail.Msg) error
}

// Courier sends the letters of a queue. Several may share one. A letter is sent at
// least once: again when the process ends between sending it and noting so, with
// the same Message-ID.
type Courier struct {
	Queue  Queue
	Sender Sender
	From   mail.Address
	// Base is the address at which people reach the service.
	Base string
	// Still reports whether a letter that can be stopped is still wanted, since it may
	// have waited.
	Still func(ctx context.Context, l auth.Letter) (bool, error)
	Log   *slog.Logger
	// Begin, if there is one, is told that a letter is about to be sent; it gives the
	// context for that, and end is told what came of it.
	Begin func(ctx context.Context) (inside context.Context, end func(Outcome, error))
}

// Outcome is what came of a letter.
type Outcome string

// A letter was sent, is tried again unless it expires before, is given up, or is
// dropped since nobody wants it any more.
const (
	Sent    Outcome = "sent"
	Later   Outcome = "later"
	GivenUp Outcome = "given_up"
	Dropped Outcome = "dropped"
)

// Outcomes lists them.
func Outcomes() []Outcome { return []Outcome{Sent, Later, GivenUp, Dropped} }

// lease is how long one courier may take over a letter, longer than it can.
const lease = 5 * time.Minute

// pause is how long a courier waits when there is nothing to send.
const pause = time.Second

// Run sends letters until ctx ends.
func (c Courier) Run(ctx context.Context) {
	ticker := time.NewTicker(pause)
	defer ticker.Stop()
	for {
		if _, err := c.Deliver(ctx); err != nil && ctx.Err() == nil {
			c.Log.Warn("letters were not sent and are tried again", "error", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-ticker.C:
		}
	}
}

// Deliver sends what is due, and says how many letters were sent. A letter that
// cannot be sent now is tried again later; nothing else waits for it.
func (c Courier) Deliver(ctx context.Context) (sent int, err error) {
	for ctx.Err() == nil {
		l, err := c.Queue.NextLetter(ctx, lease)
		if err != nil {
			if domain.KindOf(err) == domain.NotFound {
				err = nil // nothing is due
			}
			return sent, err
		}
		ok, err := c.handle(ctx, l)
		if ok {
			sent++
		}
		if err != nil {
			return sent, err
		}
	}
	return sent, ctx.Err()
}

// handle sends a letter, or puts it off or gives it up, and keeps what it did.
func (c Courier) handle(ctx context.Context, l auth.Letter) (ok bool, err error) {
	end := func(Outcome, error) {}
	if c.Begin != nil {
		ctx, end = c.Begin(ctx)
	}
	sent, again, failed := c.send(ctx, l)
	if failed != nil {
		// Neither the address nor the secret belongs into a log.
		c.Log.Warn("a letter was not sent", "kind", string(l.Kind), "id", string(l.ID), "try", l.Tries, "again_after", again.String(), "error", failed)
	}
	err = c.Queue.SettleLetter(context.WithoutCancel(ctx), l, again)
	switch {
	case sent:
		end(Sent, err)
	case failed == nil:
		end(Dropped, err)
	case again > 0:
		end(Later, failed)
	default:
		end(GivenUp, failed)
	}
	return sent, err
}

// send sends one letter, or says after how long to try again; zero for never. It is
// false for a letter that nobody wants any more.
func (c Courier) send(ctx context.Context, l auth.Letter) (sent bool, again time.Duration, err error) {
	if l.Kind == auth.LetterDigest {
		if still, err := c.Still(ctx, l); err != nil || !still {
			return false, backoffIf(err, l.Tries), err
		}
	}
	t, err := Words(l, c.Base)
	if err != nil {
		return false, 0, err
	}
	m, err := Write(t, Envelope{From: c.From, To: l.To, ID: string(l.ID), Date: l.At})
	if err != nil {
		return false, 0, err
	}
	err = c.Sender.Send(ctx, m)
	if refused := (*gomail.SendError)(nil); errors.As(err, &refused) && !refused.IsTemp() && refused.ErrorCode() >= 500 {
		return false, 0, err // the server will have it at no time
	}
	return err == nil, backoffIf(err, l.Tries), err
}

// backoffIf is how long to wait after an error; zero without one.
func backoffIf(err error, tries int) time.Duration {
	if err == nil {
		return 0
	}
	return backoff(tries)
}

// backoff is how long to wait after so many tries: a minute, then twice as long
// each time, up to six hours. Common practice, no source.
func backoff(tries int) time.Duration {
	return min(time.Minute<<min(max(tries-1, 0), 12), 6*time.Hour)
}
