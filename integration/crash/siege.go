//go:build unix

package main

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5"
	_ "modernc.org/sqlite" // to check the embedded file behind the service's back

	"fringework/auth"
	"fringework/cmd/fringework/services"
	"fringework/domain"
	"fringework/integration/child"
	"fringework/integration/postgres"
	"fringework/repo"
)

// The students, and how many phones each has; the first phone of the first one
// is the owner's.
const students = 4

var phonesOf = [students]int{3, 2, 1, 1}

// siege is a service under uploads, to be killed.
type siege struct {
	*tally
	engine   string
	rng      *rand.Rand
	dir      string
	database string
	keys     string
	cluster  *postgres.Server
	service  *child.Child

	owner    *person
	skills   [2]domain.ID
	students []*student
	phones   []*phone
	// start is before every session.
	start time.Time

	// dying is set before a kill, over when the phones are to rest.
	dying, over atomic.Bool
	// left is how many requests more are to be acknowledged before reached closes.
	left    atomic.Int64
	reached chan struct{}
}

// open starts the service on a fresh database and gives it an academy.
func open(ctx context.Context, engine string, seed uint64, out io.Writer) (_ *siege, err error) {
	s := &siege{
		tally: &tally{out: out, found: map[finding]int{}}, engine: engine, rng: rand.New(rand.NewPCG(seed, 0)),
		start: time.Now().UTC().Truncate(24*time.Hour).AddDate(0, 0, -300), reached: make(chan struct{}),
	}
	defer func() {
		if err != nil {
			s.close()
		}
	}()
	if s.dir, err = os.MkdirTemp("", "fringework-crash-"); err != nil {
		return nil, err
	}
	s.keys = filepath.Join(s.dir, "keys.json")
	if _, _, err := auth.LoadOrCreateKeyring(s.keys); err != nil {
		return nil, err
	}
	s.database = "sqlite:" + s.file()
	if engine == postgresEngine {
		if s.cluster, err = postgres.Start(postgres.Options{Durable: true}); err != nil {
			return nil, err
		}
		s.database = s.cluster.URL()
	}
	if s.service, err = child.Start(ctx, child.Service, s.database, s.keys); err != nil {
		return nil, err
	}
	if err := s.found(ctx); err != nil {
		return nil, err
	}
	for i, st := range s.students {
		for range phonesOf[i] {
			s.phones = append(s.phones, &phone{of: s, student: st, by: st.person, rng: rand.New(rand.NewPCG(seed, uint64(len(s.phones)+1)))})
		}
	}
	s.phones[0].by = s.owner
	return s, nil
}

func (s *siege) file() string { return filepath.Join(s.dir, "academy.db") }

// close ends what was started and removes its files.
func (s *siege) close() {
	_ = s.service.Stop() // what matters of its end was looked at
	if s.cluster != nil {
		s.cluster.Stop()
	}
	if s.dir != "" {
		_ = os.RemoveAll(s.dir)
	}
}

// heard counts a request that was acknowledged.
func (s *siege) heard() {
	s.add(&s.acknowledged, 1)
	if s.left.Add(-1) == 0 {
		close(s.reached)
	}
}

// round lets the phones upload, kills, lets everything come back, and checks.
func (s *siege) round(ctx context.Context) error {
	if err := s.renewAll(ctx); err != nil {
		return err
	}
	if err := s.killed(ctx); err != nil {
		return err
	}
	return s.check(ctx, false)
}

func (s *siege) renewAll(ctx context.Context) error {
	err := s.renew(ctx, s.owner)
	for _, st := range s.students {
		err = errors.Join(err, s.renew(ctx, st.person))
	}
	return err
}

// most is how many requests are acknowledged between two kills at most.
const most = 40

// killed has the phones upload until something was killed, and that come back.
func (s *siege) killed(ctx context.Context) error {
	s.dying.Store(false)
	s.over.Store(false)
	s.reached = make(chan struct{})
	s.left.Store(1 + s.rng.Int64N(most))
	rested := make(chan struct{})
	var all sync.WaitGroup
	for _, p := range s.phones {
		all.Go(func() { p.practise(ctx) })
	}
	go func() { all.Wait(); close(rested) }()
	defer func() { s.over.Store(true); <-rested }()
	select {
	case <-s.reached:
	case <-rested:
		return errors.New("all phones stopped before the kill")
	case <-time.After(5 * time.Minute):
		return errors.New("the uploads were not acknowledged within five minutes")
	case <-ctx.Done():
		return ctx.Err()
	}
	time.Sleep(time.Duration(s.rng.Int64N(int64(10 * time.Millisecond)))) // any moment
	s.dying.Store(true)
	s.add(&s.kills, 1)
	if s.cluster != nil && s.kills%2 == 0 {
		s.add(&s.databases, 1)
		s.cluster.Kill()
		s.over.Store(true)
		return s.cluster.Restart()
	}
	s.service.Kill()
	s.over.Store(true)
	<-rested
	return s.comeBack(ctx)
}

// comeBack starts the service after a kill, now and then with another while it
// starts.
func (s *siege) comeBack(ctx context.Context) (err error) {
	if s.rng.IntN(8) == 0 {
		if s.service, err = child.Launch(ctx, child.Service, s.database, s.keys); err != nil {
			return err
		}
		time.Sleep(time.Duration(s.rng.Int64N(int64(100 * time.Millisecond))))
		s.service.Kill()
		s.add(&s.starting, 1)
	}
	if err := s.alone(ctx); err != nil {
		return err
	}
	s.service, err = child.Start(ctx, child.Service, s.database, s.keys)
	return err
}

// alone waits until PostgreSQL has done what the killed service had asked it
// for.
func (s *siege) alone(ctx context.Context) error {
	if s.cluster == nil {
		return nil
	}
	ctx, cancel := context.WithTimeout(ctx, 5*time.Minute)
	defer cancel()
	conn, err := pgx.Connect(ctx, s.database)
	if err != nil {
		return err
	}
	defer conn.Close(ctx)
	for others := 1; others > 0; {
		err := conn.QueryRow(ctx, "SELECT count(*) FROM pg_stat_activity WHERE backend_type = 'client backend' AND pid <> pg_backend_pid()").Scan(&others)
		if err != nil {
			return err
		}
	}
	return nil
}

// checkFile looks whether the embedded database is whole.
func (s *siege) checkFile(ctx context.Context) error {
	if s.cluster != nil {
		return nil
	}
	db, err := sql.Open("sqlite", "file:"+s.file()+"?mode=ro&_pragma=busy_timeout(10000)")
	if err != nil {
		return err
	}
	defer db.Close()
	var answer string
	if err := db.QueryRowContext(ctx, "PRAGMA integrity_check").Scan(&answer); err != nil {
		return err
	}
	if answer != "ok" {
		s.find(lost, "integrity_check says %s", answer)
	}
	var broken int
	err = db.QueryRowContext(ctx, "SELECT count(*) FROM pragma_foreign_key_check").Scan(&broken)
	if broken > 0 {
		s.find(lost, "%d rows point nowhere", broken)
	}
	return err
}

// rebuild stops the service, has the log told of every session that goes on,
// twice, compares what is kept with what follows from the balls, and starts the service
// again.
func (s *siege) rebuild(ctx context.Context) error {
	if err := s.service.Stop(); err != nil {
		return err
	}
	if err := s.behind(ctx); err != nil {
		return err
	}
	var err error
	if s.service, err = child.Start(ctx, child.Service, s.database, s.keys); err != nil {
		return err
	}
	if err := s.renewAll(ctx); err != nil {
		return err
	}
	return s.check(ctx, true)
}

// behind works on the database while the service is away.
func (s *siege) behind(ctx context.Context) (err error) {
	db, err := repo.Open(ctx, repo.Config{URL: s.database, Log: slog.New(slog.DiscardHandler), Timeout: 5 * time.Minute})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	// An hour later every session that goes on has paused.
	later := time.Now().UTC().Truncate(time.Millisecond).Add(time.Hour)
	all, err := services.New(db, domain.Env{Now: func() time.Time { return later }, NewID: newID})
	if err != nil {
		return err
	}
	for untold := 1; untold > 0; {
		grown, err := db.Grown(ctx, later, 1)
		if err != nil {
			return err
		}
		untold = len(grown)
		if err := all.TellPaused(ctx); err != nil { // the last time in vain
			return err
		}
	}
	academies, err := db.Academies(ctx)
	if err != nil {
		return err
	}
	for _, a := range academies {
		compared, differences, err := all.Rebuild.Rebuild(ctx, a.ID, false)
		if err != nil {
			return err
		}
		s.add(&s.compared, compared)
		for _, d := range differences {
			s.find(differs, "%s", strings.TrimSpace(fmt.Sprint(d)))
		}
	}
	return nil
}
