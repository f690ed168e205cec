//go:build unix

package guide_test

import (
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fringework/integration/postgres"
)

// served are the flags of a service that tests ask: at a free port, and as fast as they
// can.
func served(database string, flags ...string) []string {
	return append([]string{
		"fringework", "serve", "--listen", "127.0.0.1:0", "--log-format", "json", "--database", database,
		"--public-url", "http://localhost:8080", // tokens outlast a start on another port
		"--cheap-passwords", "--member-requests", "0",
	}, flags...)
}

const (
	stopService  = "systemctl stop fringework\n"
	startService = "systemctl start fringework\n"
)

// restoring does the commands of a restore in order; the service is stopped and started
// where the guide says so.
func (s *session) restoring(t *testing.T, blocks []string, stop, start func()) (said string) {
	t.Helper()
	var all strings.Builder
	stopped, started := false, false
	for _, block := range blocks {
		switch block {
		case stopService:
			stop()
			stopped = true
		case startService:
			start()
			started = true
		default:
			said := s.do(t, block)
			all.WriteString(said)
			if strings.Contains(block, "fringework rebuild") && !strings.Contains(said, "Kept Green: 2 students, 0 differences") {
				t.Errorf("the rebuild of what was restored says\n%s", said)
			}
		}
	}
	if !stopped || !started {
		t.Fatal("the guide does not stop the service, or does not start it again")
	}
	return all.String()
}

// A backup of the embedded database, made while sessions are uploaded, is restored by
// the guide.
func TestEmbeddedDatabaseIsRestoredByTheGuide(t *testing.T) {
	m := here(t)
	file, keys, backups, copies := filepath.Join(m.dir, "academy.db"), filepath.Join(m.dir, "academy.keys.json"), t.TempDir(), t.TempDir()
	flags := served("sqlite:" + file)
	service := m.serve(t, nil, flags...)
	at := practise(t, service.url)
	at.another(t, 20)

	blocks := section(t, "### Embedded database: back up")
	operator := &session{machine: m, set: with(t, blocks[0], map[string]string{"FILE": file, "KEYS": keys, "BACKUPS": backups, "COPIES": copies})}
	before := time.Now()
	for _, block := range blocks[1:] {
		operator.do(t, block)
	}
	after := time.Now()
	at.another(t, 20)

	made, err := filepath.Glob(filepath.Join(backups, "*.db"))
	if err != nil || len(made) != 1 {
		t.Fatalf("the guide made the backups %v (%v); want one", made, err)
	}
	blocks = section(t, "### Embedded database: restore")
	operator.set = with(t, blocks[0], map[string]string{"FILE": file, "KEYS": keys, "COPIES": copies, "BACKUP": made[0]})
	operator.restoring(t, blocks[1:], func() {
		at.leave()
		service.stop(t)
	}, func() { service = m.serve(t, nil, flags...) })
	at.check(t, service.url, before, after)
	service.stop(t)
}

// A PostgreSQL whose changes are archived while sessions are uploaded is restored by the
// guide to a point in time: every session acknowledged before it is there, and none sent
// after it.
func TestPostgreSQLIsRestoredToAPointInTimeByTheGuide(t *testing.T) {
	server, err := postgres.Start(postgres.Options{Durable: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(server.Stop)
	m := on(t, server)
	database, values := settle(t, &m, server)

	t.Run("as composed", func(t *testing.T) { asComposed(t, m, server, database) })

	// As the guide has it done once.
	blocks := section(t, "### PostgreSQL: archive every change, once")
	operator := &session{machine: m, set: with(t, blocks[0], values)}
	for _, block := range blocks[1:] {
		operator.do(t, block)
	}
	operator.must(t, nil, "fringework", "admin", "keys", "new", "--out", "keys.json")
	flags := served(database, "--signing-keys-file", "keys.json")
	service := m.serve(t, nil, flags...)
	at := practise(t, service.url)
	at.another(t, 20)

	for _, block := range section(t, "### PostgreSQL: back up") {
		operator.do(t, block)
	}
	at.another(t, 20)
	point := time.Now()
	at.eraseOne(t)
	at.another(t, 20)

	made, err := filepath.Glob(filepath.Join(values["BACKUPS"], "base-*"))
	if err != nil || len(made) != 1 {
		t.Fatalf("the guide made the base backups %v (%v); want one", made, err)
	}
	values["BASE"], values["POINT"], values["DATABASE"] = made[0], point.UTC().Format("2006-01-02 15:04:05.000000+00"), database
	blocks = section(t, "### PostgreSQL: restore to a point in time")
	operator.set = with(t, blocks[0], values)
	said := operator.restoring(t, blocks[1:], func() {
		at.leave()
		service.stop(t)
	}, func() { service = m.serve(t, nil, flags...) })
	if !strings.Contains(said, erased) {
		t.Errorf("the guide does not name %s, who was erased and is there again", erased)
	}
	at.check(t, service.url, point, point)
	service.stop(t)
}

// settle lets a server be started by its own tools alone, as on a machine of its own,
// and gives the database and where the guide finds things.
func settle(t *testing.T, m *machine, server *postgres.Server) (database string, values map[string]string) {
	t.Helper()
	u, err := url.Parse(server.URL())
	if err != nil {
		t.Fatal(err)
	}
	m.env = append(m.env, "PGHOST="+u.Hostname(), "PGPORT="+u.Port(), "PGUSER="+u.User.Username())
	values = map[string]string{
		"DATA": server.Data(), "ARCHIVE": filepath.Join(server.Dir(), "archive"), "BACKUPS": filepath.Join(server.Dir(), "backups"),
	}
	conf, err := os.OpenFile(filepath.Join(server.Data(), "postgresql.conf"), os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	_, err = conf.WriteString("\nlisten_addresses = '127.0.0.1'\nport = " + u.Port() + "\nunix_socket_directories = ''\nmax_connections = 200\nshared_buffers = 64MB\n")
	if err != nil || conf.Close() != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { m.run(t, nil, "pg_ctl", "stop", "--pgdata="+server.Data(), "--mode=immediate", "--wait") })
	return server.URL(), values
}
