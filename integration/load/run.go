//go:build linux

package main

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"time"

	"github.com/jackc/pgx/v5"

	"fringework/auth"
	"fringework/integration/postgres"
)

const (
	sqliteEngine   = "sqlite"
	postgresEngine = "postgres"
)

// bench is what all measurements share.
type bench struct {
	seconds  float64
	clients  []int
	profiles string
	dir      string
	cluster  *postgres.Server
	master   int // the cluster's first process
	names    int
	running  []*service
}

// service is the service, or the handlers it is held against, on a database of
// its own.
type service struct {
	process
	bench    *bench
	role     string
	database string
	engine   string
}

// postgres starts the cluster, with its durability on.
func (b *bench) postgres(ctx context.Context) (*postgres.Server, error) {
	if b.cluster != nil {
		return b.cluster, nil
	}
	var err error
	if b.cluster, err = postgres.Start(postgres.Options{Durable: true}); err != nil {
		return nil, err
	}
	b.master, err = firstProcess(ctx, b.cluster.URL())
	return b.cluster, err
}

// fresh names a new, empty database.
func (b *bench) fresh(ctx context.Context, engine string) (string, error) {
	b.names++
	name := fmt.Sprintf("load%d", b.names)
	if engine == sqliteEngine {
		return "sqlite:" + filepath.Join(b.dir, name+".db"), nil
	}
	cluster, err := b.postgres(ctx)
	if err != nil {
		return "", err
	}
	if err := execute(ctx, cluster.URL(), "CREATE DATABASE "+name); err != nil {
		return "", err
	}
	return renamed(cluster.URL(), name), nil
}

// renamed is a URL with another database in it.
func renamed(text, database string) string {
	u, err := url.Parse(text)
	if err != nil {
		panic(err) // the cluster's own
	}
	u.Path = "/" + database
	return u.String()
}

// execute runs statements, each by itself.
func execute(ctx context.Context, database string, statements ...string) error {
	conn, err := pgx.Connect(ctx, database)
	if err != nil {
		return err
	}
	defer conn.Close(ctx)
	for _, s := range statements {
		if _, err := conn.Exec(ctx, s); err != nil {
			return fmt.Errorf("%s: %w", s, err)
		}
	}
	return nil
}

// serve starts the service or the handlers on a fresh database.
func (b *bench) serve(ctx context.Context, engine, role string) (*service, error) {
	database, err := b.fresh(ctx, engine)
	if err != nil {
		return nil, err
	}
	return b.serveOn(ctx, engine, role, database)
}

func (b *bench) serveOn(ctx context.Context, engine, role, database string) (*service, error) {
	s := &service{bench: b, role: role, database: database, engine: engine}
	if err := s.begin(ctx); err != nil {
		return nil, err
	}
	b.running = append(b.running, s)
	return s, nil
}

func (s *service) begin(ctx context.Context) (err error) {
	args := []string{s.database}
	if s.role == serviceRole {
		keys := filepath.Join(s.bench.dir, "keys.json")
		if _, _, err := auth.LoadOrCreateKeyring(keys); err != nil {
			return err
		}
		args = append(args, keys)
	}
	s.process, err = start(ctx, s.role, args...)
	return err
}

// away stops the service, works on its database, and starts it again.
func (s *service) away(ctx context.Context, work func() error) error {
	s.stop()
	if err := work(); err != nil {
		return err
	}
	return s.begin(ctx)
}

// pair is the service and the handlers on databases of their own.
func (b *bench) pair(ctx context.Context, engine string) (ours, theirs *service, err error) {
	if ours, err = b.serve(ctx, engine, serviceRole); err != nil {
		return nil, nil, err
	}
	theirs, err = b.serve(ctx, engine, barestRole)
	return ours, theirs, err
}

// founded is a pair whose service has an academy with students who have so
// many sessions behind each, the last a while before fresh ones begin.
func (b *bench) founded(ctx context.Context, engine string, students int) (*academy, *service, *service, error) {
	ours, theirs, err := b.pair(ctx, engine)
	if err != nil {
		return nil, nil, nil, err
	}
	a, err := found(ctx, ours.url, students)
	if err != nil {
		return nil, nil, nil, err
	}
	err = ours.seeded(ctx, func(seed seeder) error { return seed(a, behind, a.from) })
	return a, ours, theirs, err
}

type seeder func(a *academy, sessions int, until time.Time) error

// seeded puts careers into the service's database while it is away.
func (s *service) seeded(ctx context.Context, work func(seeder) error) error {
	return s.away(ctx, func() error {
		db, err := openRepo(ctx, s.database)
		if err != nil {
			return err
		}
		err = work(func(a *academy, sessions int, until time.Time) error {
			return career(ctx, db, a, sessions, until)
		})
		if err == nil && s.engine != sqliteEngine {
			_, err = db.SQL().ExecContext(ctx, "ANALYZE") // as PostgreSQL does by itself in time
		}
		return errors.Join(err, db.Close())
	})
}

// cpu is the processor time that a request costs: of the process and, with
// PostgreSQL, of the whole cluster.
func (s *service) cpu() (own, database time.Duration, err error) {
	if own, err = s.process.cpu(); err != nil || s.engine == sqliteEngine {
		return own, 0, err
	}
	database, err = treeCPU(s.bench.master)
	return own, database, err
}

// release stops what a measurement started and removes its databases.
func (b *bench) release(ctx context.Context) error {
	var errs []error
	for _, s := range b.running {
		s.stop()
		if s.engine == postgresEngine && b.cluster != nil {
			u, err := url.Parse(s.database)
			if err == nil && u.Path != "" {
				err = execute(ctx, b.cluster.URL(), "DROP DATABASE IF EXISTS "+u.Path[1:]+" WITH (FORCE)")
			}
			errs = append(errs, err)
		} else {
			path := s.database[len("sqlite:"):]
			for _, suffix := range []string{"", "-wal", "-shm", ".lock"} {
				_ = os.Remove(path + suffix) // some of them never were
			}
		}
	}
	b.running = nil
	return errors.Join(errs...)
}

// close ends everything.
func (b *bench) close() {
	for _, s := range b.running {
		s.stop()
	}
	if b.cluster != nil {
		b.cluster.Stop()
	}
	_ = os.RemoveAll(b.dir) // in the temporary directory
}
