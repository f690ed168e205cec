package app

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"net"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"fringework/api"
	"fringework/api/hook"
	"fringework/auth"
	"fringework/cmd/fringework/clock"
	"fringework/cmd/fringework/services"
	"fringework/cmd/fringework/telemetry"
	"fringework/domain"
	"fringework/domain/webhook"
	"fringework/repo"
)

// databaseFlag names the database; every command but help has it.
type databaseFlag struct {
	Database string `help:"sqlite:FILE for the embedded database, or postgres://… for PostgreSQL." default:"sqlite:fringework.db" env:"FRINGEWORK_DATABASE"`
	Relaxed  bool   `help:"Acknowledge what is not on the disk yet, for tests alone." hidden:"" env:"FRINGEWORK_RELAXED"`
}

func (f databaseFlag) embedded() bool { return strings.HasPrefix(f.Database, "sqlite:") }

// file is the embedded database's path.
func (f databaseFlag) file() string {
	path := strings.TrimPrefix(f.Database, "sqlite:")
	path, _, _ = strings.Cut(path, "?")
	return path
}

// shown is the database without its password, for logs.
func (f databaseFlag) shown() string {
	if u, err := url.Parse(f.Database); err == nil {
		return u.Redacted()
	}
	return "(unreadable)"
}

func (f databaseFlag) open(s *session) (*repo.DB, error) { return f.openTold(s, nil) }

// openTold is open, with somebody who is told what the database does.
func (f databaseFlag) openTold(s *session, o repo.Observer) (*repo.DB, error) {
	if f.Relaxed {
		s.log.Warn("commits do not wait for the disk: for tests alone")
	}
	db, err := repo.Open(s.ctx, repo.Config{URL: f.Database, Log: s.log, Relaxed: f.Relaxed, Observer: o})
	if err != nil {
		return nil, fmt.Errorf("open the database %s: %w", f.shown(), err)
	}
	return db, nil
}

// openExisting is open for commands that look at what there is: they make no new
// database where none was.
func (f databaseFlag) openExisting(s *session) (*repo.DB, error) {
	if strings.HasPrefix(f.Database, "sqlite:") {
		if _, err := os.Stat(f.file()); err != nil {
			return nil, fmt.Errorf("there is no database %s; name it with --database", f.shown())
		}
	}
	return f.open(s)
}

// keyFlags say where the keys that sign access tokens are.
type keyFlags struct {
	SigningKeys     string `help:"The signing keys themselves, a private JWK Set. It wins over the file." env:"FRINGEWORK_SIGNING_KEYS" placeholder:"JSON"`
	SigningKeysFile string `help:"A file with the signing keys. Made beside the embedded database when absent; with PostgreSQL it must exist." env:"FRINGEWORK_SIGNING_KEYS_FILE" placeholder:"FILE" type:"path"`
}

// existing finds the signing keys. It gives none where they are yet to be made, beside
// the embedded database; with PostgreSQL missing ones are refused.
func (f keyFlags) existing(db databaseFlag, log *slog.Logger) (*auth.Keyring, error) {
	if err := repo.CheckURL(db.Database); err != nil {
		return nil, err
	}
	if f.SigningKeys != "" {
		return auth.ParseKeyring([]byte(f.SigningKeys))
	}
	path := f.path(db)
	if path == "" {
		return nil, errors.New("no signing keys: with PostgreSQL every replica needs the same ones. Make them once with \"fringework admin keys new --out keys.json\" and set FRINGEWORK_SIGNING_KEYS_FILE or FRINGEWORK_SIGNING_KEYS")
	}
	keys, err := auth.LoadKeyring(path)
	if db.embedded() && errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err == nil && auth.Exposed(path) {
		log.Warn("other users of this machine can read the signing keys; that is usual of a mounted secret, and of nothing else", "file", path)
	}
	return keys, err
}

// created makes the signing keys beside the embedded database.
func (f keyFlags) created(db databaseFlag, log *slog.Logger) (*auth.Keyring, error) {
	path := f.path(db)
	keys, created, err := auth.LoadOrCreateKeyring(path)
	if created {
		log.Info("signing keys made", "file", path)
	}
	return keys, err
}

// path is the keys' file; empty when none is named and there is no database
// file to keep it beside.
func (f keyFlags) path(db databaseFlag) string {
	if f.SigningKeysFile != "" || !db.embedded() {
		return f.SigningKeysFile
	}
	file := db.file()
	return strings.TrimSuffix(file, filepath.Ext(file)) + ".keys.json"
}

// env is the clock and the identities of the real world.
func env(c clock.Clock) domain.Env { return domain.Env{Now: c.Now, NewID: c.NewID} }

// server is everything that serves.
type server struct {
	clock    clock.Clock
	services *services.Services
	auth     *auth.Service
	api      *api.Server
	sender   webhook.Sender
	// keys takes up changed keys; nil where none are changed.
	keys *keyWatch
	// errands is where the operator's commands reach the service; nil for nowhere.
	errands net.Listener
	// post sends letters; nil where there is no mail.
	post *mailer
	// telemetry is what is told of it all; nil for nothing. metrics is where they are
	// read; nil for nowhere.
	telemetry *telemetry.Telemetry
	metrics   net.Listener
}

// newServer wires the services over a database, and the API over them. What an
// earlier release kept in another form is made anew first.
func newServer(ctx context.Context, db *repo.DB, keys *auth.Keyring, f serviceFlags, told *telemetry.Telemetry, c clock.Clock, log *slog.Logger) (*server, error) {
	all, err := services.New(db, domain.Env{Now: c.Now, NewID: c.NewID})
	if err != nil {
		return nil, err
	}
	if err := all.Prepare(ctx, log); err != nil {
		return nil, err
	}
	signIn, err := all.Auth(keys, f.hashing(), f.PublicURL)
	if err != nil {
		return nil, err
	}
	all.Retention.Keep, all.Webhooks.Plain = time.Duration(f.KeepEvents)*24*time.Hour, f.WebhooksInside
	config := all.API(signIn, log)
	config.Quota = auth.NewQuota(f.limits(), db.RequestBuckets())
	config.Version, config.TrustedProxies, config.Origins = version(), f.TrustedProxies, f.Origins
	if told != nil {
		config.Observer, all.Begin, all.Watching.Told = told, told.Begin, told.Reason
	}
	s := &server{clock: c, services: all, auth: signIn, api: api.New(config), sender: hook.New(f.WebhooksInside)}
	s.watch(told, db)
	return s, nil
}

// background does what is done beside answering, until ctx ends.
func (s *server) background(ctx context.Context, log *slog.Logger) {
	go s.sweep(ctx, log)
	var asked sync.WaitGroup
	asked.Go(func() { serveErrands(ctx, s.errands, s.auth, s.api.PublicURL, log) })
	asked.Go(func() { s.serveMetrics(ctx, s.metrics, log) })
	defer asked.Wait()
	if s.keys != nil {
		go s.keys.run(ctx)
	}
	if s.post != nil {
		courier := s.post.courier(s.auth, s.services.Digests, log)
		if s.telemetry != nil {
			courier.Begin = s.telemetry.BeginLetter
		}
		go courier.Run(ctx)
		go s.services.RunDigests(ctx, log)
	}
	go s.services.RunInsights(ctx, log)
	go s.services.RunReasons(ctx, log)
	go s.services.RunWebhooks(ctx, s.sender, log)
	s.services.Run(ctx, log)
}

// sweep forgets what has expired, now and then, until ctx ends.
func (s *server) sweep(ctx context.Context, log *slog.Logger) {
	ticker := time.NewTicker(time.Hour)
	defer ticker.Stop()
	for {
		if n, err := s.auth.Sweep(ctx); err != nil && ctx.Err() == nil {
			log.Warn("expired sign-ins were not removed", "error", err)
		} else if n > 0 {
			log.Info("expired sign-ins removed", "rows", n)
		}
		if n, err := s.services.ForgetEvents(ctx); err != nil && ctx.Err() == nil {
			log.Warn("old events were not removed", "error", err)
		} else if n > 0 {
			log.Info("old events removed", "rows", n)
		}
		if _, err := s.services.Forget(ctx); err != nil && ctx.Err() == nil {
			log.Warn("answers kept for a day were not removed", "error", err)
		}
		s.services.Reseal(ctx, log)
		select {
		case <-ctx.Done():
			return
		case <-ticker.C:
		}
	}
}

// mustBeEmpty refuses a database that somebody uses.
func mustBeEmpty(ctx context.Context, db *repo.DB) error {
	academies, err := db.Academies(ctx)
	if err != nil {
		return err
	}
	if len(academies) > 0 {
		return errors.New("the database has an academy in it already; name a fresh directory or an empty database")
	}
	return nil
}
