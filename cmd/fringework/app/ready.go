package app

import (
	"context"
	"fmt"
	"net"
	"net/http"
	"time"
)

type readyCmd struct {
	Listen string   `help:"Address that the service listens on." default:"127.0.0.1:8080" env:"FRINGEWORK_LISTEN"`
	Wait   duration `help:"Go on asking for so long, until the service takes requests." default:"0s"`
}

// Help is printed under the command's own --help.
func (readyCmd) Help() string {
	return `Exits with 0 when the service takes requests, and with 1 when it does not: while it
starts or stops, while its database is away, or when nothing answers. It is for images
that have no other program to ask with, and for scripts that wait for a start.

  fringework ready
  fringework ready --wait 1m --listen 127.0.0.1:8081`
}

// Between two questions, and for one answer.
const (
	askedEvery = 100 * time.Millisecond
	askedFor   = 3 * time.Second
)

// Run asks once, or until the time is over.
func (c readyCmd) Run(s *session) error {
	address, err := net.ResolveTCPAddr("tcp", c.Listen)
	if err != nil {
		return fmt.Errorf("%q is no address to ask at; use --listen to name an address and a port, such as 127.0.0.1:8080", c.Listen)
	}
	ctx, cancel := context.WithTimeout(s.ctx, max(time.Duration(c.Wait), askedFor))
	defer cancel()
	for {
		err := askReady(ctx, fromHere(address))
		if err == nil {
			fmt.Fprintln(s.Out, "ready")
			return nil
		}
		if c.Wait == 0 {
			return err
		}
		select {
		case <-ctx.Done():
			return err
		case <-time.After(askedEvery):
		}
	}
}

// askReady gives an error unless the service at a URL takes requests.
func askReady(ctx context.Context, service string) error {
	ctx, cancel := context.WithTimeout(ctx, askedFor)
	defer cancel()
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, service+"/readyz", nil)
	if err != nil {
		return err
	}
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		return fmt.Errorf("no service answers at %s", service)
	}
	defer answer.Body.Close()
	if answer.StatusCode != http.StatusOK {
		return fmt.Errorf("the service at %s answers and is not ready (%d): it is stopping, or its database is away or full", service, answer.StatusCode)
	}
	return nil
}
