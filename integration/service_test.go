// Package integration tests the service as a whole: the real program, over real
// HTTP, on both engines, with every request and every answer held to the
// description of the API.
//
// What needs no server of its own is a chapter of TestService; its chapters
// share one server for each engine. Each makes its own academy, so they run
// side by side and one never sees another.
package integration_test

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	_ "github.com/jackc/pgx/v5/stdlib" // to look behind the service's back
	_ "modernc.org/sqlite"

	"fringework/auth"
	"fringework/cmd/fringework/app"
	clocks "fringework/cmd/fringework/clock"
	"fringework/integration/day"
	"fringework/integration/postgres"
)

func TestMain(m *testing.M) {
	var err error
	if clock, err = day.Clock(); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	began = clock.Now().Truncate(time.Second)
	postgres.Main(m)
}

var (
	clock clocks.Clock // what the tests and the service go by
	began time.Time    // what it showed when the tests began
)

func TestDay(t *testing.T) { day.Test(t, clock.Now()) }

// clocked sets the program's clock to the tests'.
func clocked(args ...string) []string {
	return append([]string{"--clock", clock.Now().Format(time.RFC3339Nano)}, args...)
}

// engine is a kind of database that the service runs on.
type engine struct {
	name string
	// fresh makes an empty database for a test and gives its URL; ready one that
	// may have the schema already.
	fresh, ready func(testing.TB) string
}

var engines = []engine{
	{"SQLite", freshFile, freshFile},
	{"PostgreSQL", postgres.Database, func(t testing.TB) string { return postgres.Copy(t, migrate) }},
}

func freshFile(t testing.TB) string {
	return "sqlite:" + filepath.Join(t.TempDir(), "academy.db")
}

// migrate brings an empty database up to date.
func migrate(database string) error {
	var errs logBook
	if code := app.Run(context.Background(), []string{"migrate", "--database", database}, app.Streams{Out: &errs, Err: &errs}); code != 0 {
		return fmt.Errorf("migrate ended with %d: %s", code, &errs)
	}
	return nil
}

// onBoth runs a test on each engine, side by side.
func onBoth(t *testing.T, test func(t *testing.T, e engine)) {
	for _, e := range engines {
		t.Run(e.name, func(t *testing.T) {
			t.Parallel()
			test(t, e)
		})
	}
}

// service is a running server.
type service struct {
	// url is where it answers, without a slash at the end.
	url string
	// database is the URL of its database, keys the file of its signing keys.
	database, keys string
	log            *logBook
	transport      *http.Transport
	cancel         context.CancelFunc
	exit           chan int
	// unclean is set by a test that wants more of a stop than it can give.
	unclean bool
}

// start runs "fringework serve" in this process on a fresh database, which need
// not survive a crash, until the test ends. The address that limits on guessing go by is the one that the
// client says, so that tests do not slow each other down.
func start(t testing.TB, e engine, flags ...string) *service {
	t.Helper()
	return startOn(t, e.ready(t), newKeys(t), append([]string{"--relaxed"}, flags...)...)
}

// publicURL is what the services call themselves in tokens and links, also when
// one starts again on another port.
const publicURL = "http://localhost:8080"

// startOn does so on a database that there is, and waits for the disk. Without
// a file of keys the service looks for its own.
func startOn(t testing.TB, database, keys string, flags ...string) *service {
	t.Helper()
	args := append([]string{
		"serve", "--database", database, "--listen", "127.0.0.1:0", "--public-url", publicURL, "--cheap-passwords", "--trusted-proxies", "1", "--log-format", "json",
		"--member-requests", "0", "--key-requests", "0", "--app-requests", "0", // tests ask faster than people
	}, flags...)
	if keys != "" {
		args = append(args, "--signing-keys-file", keys)
	}
	ctx, cancel := context.WithCancel(context.Background())
	s := &service{database: database, keys: keys, log: &logBook{}, cancel: cancel, exit: make(chan int, 1), transport: &http.Transport{MaxIdleConnsPerHost: 32}}
	go func() {
		s.exit <- app.Run(ctx, clocked(args...), app.Streams{In: strings.NewReader(""), Out: s.log, Err: s.log})
	}()
	s.url = "http://" + s.log.address(t, s.exit)
	t.Cleanup(func() {
		if code := s.stop(); code != 0 && !s.unclean {
			t.Errorf("serve ended with %d; want 0\n%s", code, s.log)
		}
	})
	return s
}

// stop ends the server as a signal would and gives its exit code; it may be
// called again.
func (s *service) stop() int {
	s.transport.CloseIdleConnections()
	s.cancel()
	code := <-s.exit
	s.exit <- code
	return code
}

// newKeys makes signing keys in a file.
func newKeys(t testing.TB) string {
	t.Helper()
	keys, err := auth.GenerateKeyring()
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "keys.json")
	if err := keys.Save(file); err != nil {
		t.Fatal(err)
	}
	return file
}

// behind opens the service's database behind its back, to age what is in it, to
// spoil it, or to look at what no address shows.
func (s *service) behind(t testing.TB) *sql.DB {
	t.Helper()
	return openSQL(t, s.database)
}

func openSQL(t testing.TB, database string) *sql.DB {
	t.Helper()
	driver, name := "pgx", database
	if file, ok := strings.CutPrefix(database, "sqlite:"); ok {
		driver, name = "sqlite", "file:"+file+"?_pragma=busy_timeout(5000)"
	}
	db, err := sql.Open(driver, name)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	return db
}

// execute runs a statement that must change one row.
func execute(t testing.TB, db *sql.DB, statement string) {
	t.Helper()
	result, err := db.ExecContext(t.Context(), statement)
	if err != nil {
		t.Fatalf("%s: %v", statement, err)
	}
	if n, err := result.RowsAffected(); err != nil || n != 1 {
		t.Fatalf("%s: %d rows changed (%v); want 1", statement, n, err)
	}
}

// logBook is what a program writes, for reading while it writes.
type logBook struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (l *logBook) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.Write(p)
}

func (l *logBook) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.String()
}

// address waits until a server says in its log, which must be JSON, where it
// listens.
func (l *logBook) address(t testing.TB, ended <-chan int) string {
	t.Helper()
	deadline := time.After(5 * time.Minute)
	for {
		for line := range strings.Lines(l.String()) {
			var entry struct{ Msg, Address string }
			if json.Unmarshal([]byte(line), &entry) == nil && entry.Msg == "serving" {
				return entry.Address
			}
		}
		select {
		case code := <-ended:
			t.Fatalf("the server ended with %d before it served\n%s", code, l)
		case <-deadline:
			t.Fatalf("the server does not serve after five minutes\n%s", l)
		case <-time.After(2 * time.Millisecond):
		}
	}
}

// run runs a command line of the program in this process and gives its exit
// code and what it wrote.
func run(t testing.TB, input string, args ...string) (code int, out, err string) {
	t.Helper()
	var stdout, stderr logBook
	if len(args) > 0 {
		args = clocked(args...)
	}
	code = app.Run(t.Context(), args, app.Streams{In: strings.NewReader(input), Out: &stdout, Err: &stderr})
	return code, stdout.String(), stderr.String()
}

// must runs a command line that must succeed and gives its output.
func must(t testing.TB, args ...string) string {
	t.Helper()
	code, out, err := run(t, "", args...)
	if code != 0 {
		t.Fatalf("fringework %s: exit code %d\n%s%s", strings.Join(args, " "), code, out, err)
	}
	return out
}

// readFile reads a file that must be there.
func readFile(t testing.TB, name string) string {
	t.Helper()
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}
