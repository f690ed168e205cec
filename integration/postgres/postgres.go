//go:build unix

// Package postgres gives tests a PostgreSQL of their own: a throwaway cluster
// for a test binary, and in it a fresh database for each test. Nothing of it is
// left behind, also when the binary is interrupted.
//
//	func TestMain(m *testing.M) { postgres.Main(m) }
//
//	func TestStore(t *testing.T) { db := open(t, postgres.Database(t)) … }
//
// Tests that need PostgreSQL fail without it; they never skip.
package postgres

import (
	"context"
	"fmt"
	"net/url"
	"os"
	"os/signal"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

// AdminURL is the environment variable that names a running PostgreSQL to make
// databases in, as a role that may, instead of a cluster of the tests' own.
const AdminURL = "FRINGEWORK_TEST_POSTGRES"

// shared is the server of this test binary, started when first needed.
var shared struct {
	once   sync.Once
	server *Server
	err    error
}

var databases atomic.Int64

// Main runs the tests of a package and stops the cluster that they started, if
// any, also when the binary is told to end. Call it from TestMain.
func Main(m *testing.M) {
	os.Exit(run(m))
}

func run(m *testing.M) int {
	defer stopShared()
	signals := make(chan os.Signal, 1)
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM)
	go func() {
		<-signals
		stopShared()
		os.Exit(1)
	}()
	return m.Run()
}

func stopShared() {
	shared.once.Do(func() { shared.err = fmt.Errorf("postgres: the tests are over") })
	if shared.server != nil {
		dropTemplate()
		shared.server.Stop()
	}
}

// Database makes a fresh database for a test, dropped when the test ends, and
// gives its URL. The test fails, with what to do about it, if there is no
// PostgreSQL.
func Database(t testing.TB) string {
	t.Helper()
	shared.once.Do(func() { shared.server, shared.err = Start(Options{}) })
	if shared.err != nil {
		t.Fatal(shared.err)
	}
	return shared.server.Database(t)
}

// Database makes a fresh database on this server, as the function does.
func (s *Server) Database(t testing.TB) string {
	t.Helper()
	return s.database(t, "")
}

func (s *Server) database(t testing.TB, like string) string {
	t.Helper()
	name := fmt.Sprintf("fringework_test_%d_%d", os.Getpid(), databases.Add(1))
	if err := s.admin("CREATE DATABASE " + name + like); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.admin("DROP DATABASE IF EXISTS " + name + " WITH (FORCE)"); err != nil {
			t.Error(err)
		}
	})
	return s.named(name)
}

// template is a database that others are copies of.
var template struct {
	once sync.Once
	name string
	err  error
}

// Copy makes a fresh database for a test like Database, as a copy of one that
// prepare was given once in this test binary, to make its schema.
func Copy(t testing.TB, prepare func(url string) error) string {
	t.Helper()
	template.once.Do(func() {
		shared.once.Do(func() { shared.server, shared.err = Start(Options{}) })
		if template.err = shared.err; template.err != nil {
			return
		}
		template.name = fmt.Sprintf("fringework_test_%d_template", os.Getpid())
		if template.err = shared.server.admin("CREATE DATABASE " + template.name); template.err == nil {
			template.err = prepare(shared.server.named(template.name))
		}
	})
	if template.err != nil {
		t.Fatal(template.err)
	}
	return shared.server.database(t, " TEMPLATE "+template.name+" STRATEGY FILE_COPY")
}

// dropTemplate leaves nothing behind on a server that goes on.
func dropTemplate() {
	if shared.server.dir == "" && template.name != "" {
		_ = shared.server.admin("DROP DATABASE IF EXISTS " + template.name + " WITH (FORCE)")
	}
}

// named is the URL of a database on this server.
func (s *Server) named(database string) string {
	u := *s.url
	u.Path = "/" + database
	return u.String()
}

// admin runs one statement outside any test's database.
func (s *Server) admin(statement string) error {
	ctx, cancel := context.WithTimeout(context.Background(), 3*time.Minute)
	defer cancel()
	conn, err := pgx.Connect(ctx, s.url.String())
	if err != nil {
		return fmt.Errorf("postgres: %w", err)
	}
	defer conn.Close(ctx)
	if _, err := conn.Exec(ctx, statement); err != nil {
		return fmt.Errorf("postgres: %s: %w", statement, err)
	}
	return nil
}

// Options say how a cluster differs from the usual.
type Options struct {
	// Durable keeps fsync on, for tests of what survives a crash. Otherwise
	// commits do not wait for the disk.
	Durable bool
}

// Start starts a cluster of one's own, or finds the one that AdminURL names.
// The caller stops it.
func Start(o Options) (*Server, error) {
	if text := os.Getenv(AdminURL); text != "" && !o.Durable {
		u, err := url.Parse(text)
		if err != nil {
			return nil, fmt.Errorf("postgres: %s is not a URL such as postgres://postgres@localhost/postgres", AdminURL)
		}
		s := &Server{url: u}
		if err := s.admin("SELECT 1"); err != nil {
			return nil, fmt.Errorf("postgres: the server that %s names does not answer: %w", AdminURL, err)
		}
		return s, nil
	}
	return startCluster(o)
}
