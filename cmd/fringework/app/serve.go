package app

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"runtime/debug"
	"time"

	"fringework/api/docs"
	pages "fringework/api/web"
	"fringework/auth"
	"fringework/repo"
)

// serviceFlags are what the service needs beside its database.
type serviceFlags struct {
	Listen         string   `help:"Address to listen on; port 0 picks a free port." default:"127.0.0.1:8080" env:"FRINGEWORK_LISTEN"`
	PublicURL      string   `help:"Address that people reach the service at; used in tokens and links. By default the one it listens on, such as http://localhost:8080." env:"FRINGEWORK_PUBLIC_URL" placeholder:"URL"`
	TrustedProxies int      `help:"How many proxies of your own add to X-Forwarded-For; 0 ignores the header." type:"proxies" default:"0" env:"FRINGEWORK_TRUSTED_PROXIES"`
	Origins        []string `help:"Web origins that may call the API from a browser." env:"FRINGEWORK_ORIGINS" placeholder:"ORIGIN,…"`
	KeepEvents     int      `help:"For how many days to keep the academies' logs, at least 30; 0 for ever." type:"days" default:"0" env:"FRINGEWORK_KEEP_EVENTS" placeholder:"DAYS"`
	WebhooksInside bool     `help:"Let webhooks go to private and local addresses, and without TLS: whoever owns an academy here then reaches what this machine reaches." env:"FRINGEWORK_WEBHOOKS_INSIDE"`
	MemberRequests int      `help:"How many requests a minute are taken of one member, and of each app that a member has let in; 0 for any number." type:"requests" default:"600" env:"FRINGEWORK_MEMBER_REQUESTS"`
	KeyRequests    int      `help:"How many requests a minute are taken of one application key; 0 for any number." type:"requests" default:"600" env:"FRINGEWORK_KEY_REQUESTS"`
	AppRequests    int      `help:"How many requests a minute are taken of one app, whoever it asks for; 0 for any number." type:"requests" default:"3000" env:"FRINGEWORK_APP_REQUESTS"`
	CheapPasswords bool     `help:"Hash passwords at next to no cost, for tests alone." hidden:"" env:"FRINGEWORK_CHEAP_PASSWORDS"`
}

func (f serviceFlags) hashing() auth.HashParams {
	if f.CheapPasswords {
		return auth.CheapHashParams()
	}
	return auth.DefaultHashParams()
}

// limits are those on requests; a service made without flags has none.
func (f serviceFlags) limits() auth.RequestLimits {
	return auth.RequestLimits{Member: f.MemberRequests, Key: f.KeyRequests, App: f.AppRequests}
}

// maxRequests is the highest limit on requests a minute: what is finer than a
// millisecond is not counted.
const maxRequests = 60_000

type serveCmd struct {
	databaseFlag
	keyFlags
	serviceFlags
	Telemetry telemetryFlags `embed:""`
	Mail      mailFlags      `embed:"" prefix:"mail-"`
	Drain     duration       `help:"When stopping, how long to keep serving while /readyz says 503, so that load balancers stop sending requests." default:"0s" env:"FRINGEWORK_DRAIN"`
	Grace     duration       `help:"After that, how long open requests may take to finish." default:"15s" env:"FRINGEWORK_GRACE"`
}

// Help is printed under the command's own --help.
func (serveCmd) Help() string {
	return `With the embedded database everything is in one file; the signing keys are
created beside it. With PostgreSQL any number of replicas can serve one database.
All of them need the same signing keys and do not start without them.

  fringework serve
  fringework serve --database sqlite:/var/lib/fringework/academy.db
  fringework serve --database postgres://fringework@db/fringework --signing-keys-file keys.json`
}

// Validate implements kong.Validatable.
func (c *serveCmd) Validate() error {
	if err := c.serviceFlags.Validate(); err != nil {
		return err
	}
	return c.Telemetry.validate()
}

// leastEvents is for how many days the log is kept at least: longer than a webhook is
// tried, and than a consumer is away.
const leastEvents = 30

// Run serves until the process is told to stop.
func (c serveCmd) Run(s *session) error {
	// First of all, since a wrong address should leave nothing behind.
	listener, err := listen(c.Listen)
	if err != nil {
		return err
	}
	defer listener.Close()
	post, err := c.Mail.mailer(c.PublicURL)
	if err != nil {
		return err
	}
	metrics, told, err := c.Telemetry.open(s.ctx, s.log)
	if err != nil {
		return err
	}
	defer closeMetrics(metrics, told, s.log)
	// A passkey belongs to an address for good, so there are some only where the
	// address was set.
	party, partyErr := auth.NewParty(c.PublicURL)
	if c.PublicURL == "" {
		c.PublicURL = localURL(listener.Addr())
	}
	// And before the schema is brought up to date, since without keys nobody could be
	// served.
	keys, err := c.existing(c.databaseFlag, s.log)
	if err != nil {
		return err
	}
	db, err := c.openTold(s, observer(told))
	if err != nil {
		return err
	}
	defer closeAll(db, s.log)
	if keys == nil {
		if keys, err = c.created(c.databaseFlag, s.log); err != nil {
			return err
		}
	}
	if keys, err = c.withSealing(c.databaseFlag, keys, s.log); err != nil {
		return err
	}
	if c.CheapPasswords {
		s.log.Warn("passwords are hashed cheaply: only for tests")
	}
	if os.Getenv("GOGC") == "" {
		// Answers are short-lived garbage over a small heap: memory is cheaper here
		// than collecting it twice as often.
		debug.SetGCPercent(300)
	}
	served, err := newServer(s.ctx, db, keys, c.serviceFlags, told, s.clock, s.log)
	if err != nil {
		return err
	}
	if served.auth.Party = party; partyErr != nil {
		s.log.Info("no passkeys: they need --public-url with https")
	}
	served.metrics = metrics
	served.keys = c.watch(c.databaseFlag, served.auth.Tokens, s)
	served.errands = openErrands(c.socket(), s.log)
	if post != nil {
		served.auth.Mail = true
		served.post = post
	}
	s.log.Info("serving", "url", localURL(listener.Addr()), "public_url", c.PublicURL, "address", listener.Addr().String(), "database", c.shown(), "version", version())
	academies, err := db.Academies(s.ctx)
	if err != nil {
		return err
	}
	if len(academies) == 0 {
		fmt.Fprintf(s.Err, firstSteps, fromHere(listener.Addr()))
	}
	return served.serve(s.ctx, listener, time.Duration(c.Drain), time.Duration(c.Grace), s.log)
}

// localURL is how a browser on this machine reaches what listens at an address,
// be it at all of the machine's.
func localURL(a net.Addr) string {
	host, port, err := net.SplitHostPort(a.String())
	if err != nil {
		return "http://" + a.String()
	}
	if ip := net.ParseIP(host); ip.IsLoopback() || ip.IsUnspecified() {
		host = "localhost"
	}
	return "http://" + net.JoinHostPort(host, port)
}

// fromHere is how a program on this machine reaches what listens at an address.
func fromHere(a net.Addr) string {
	if host, _, err := net.SplitHostPort(a.String()); err == nil && net.ParseIP(host).IsUnspecified() {
		return localURL(a)
	}
	return "http://" + a.String()
}

const firstSteps = `
There is no academy here yet. Create yours in a browser at %[1]s, or with:

  curl -s %[1]s/v1/academies -H 'Content-Type: application/json' -d '{
    "academy_name": "My academy", "time_zone": "Europe/Lisbon",
    "name": "Your name", "email": "you@example.org", "password": "at least 8 characters"}'

The answer has an access token or, where there is a mail server, a letter comes
with a link to open. The API is described at
%[1]s/openapi.json, and the README shows a first week.

`

// serve answers on the listener until ctx ends. Then it goes on for the time of
// drain, saying that it is not ready, takes no more connections, and lets
// requests finish within the grace.
func (s *server) serve(ctx context.Context, l net.Listener, drain, grace time.Duration, log *slog.Logger) error {
	handler := pages.Handler(docs.Handler(s.api.Description, s.api))
	if s.telemetry != nil {
		handler = s.telemetry.Handler(handler)
	}
	web := &http.Server{
		Handler:           s.clock.Dated(handler),
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       30 * time.Second,
		WriteTimeout:      60 * time.Second,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    64 << 10,
		ErrorLog:          slog.NewLogLogger(log.Handler(), slog.LevelWarn),
	}
	background, cancel := context.WithCancel(ctx)
	defer cancel()
	ended := make(chan struct{})
	go func() { s.background(background, log); close(ended) }()
	failed := make(chan error, 1)
	go func() { failed <- web.Serve(l) }()
	tellManager(nowReady, log)
	select {
	case err := <-failed:
		return err
	case <-ctx.Done():
	}
	log.Info("stopping", "drain", drain, "grace", grace)
	tellManager(nowStopping, log)
	s.api.Drain()
	select {
	case err := <-failed:
		return err
	case <-time.After(drain):
	}
	last, done := context.WithTimeout(context.WithoutCancel(ctx), grace)
	defer done()
	err := web.Shutdown(last)
	if errors.Is(err, context.DeadlineExceeded) {
		err = errors.Join(errors.New("some requests did not finish within the grace period"), web.Close())
	}
	cancel()
	<-ended
	return err
}

func closeAll(db *repo.DB, log *slog.Logger) {
	if err := db.Close(); err != nil && !errors.Is(err, os.ErrClosed) {
		log.Error("close the database", "error", err)
	}
}
