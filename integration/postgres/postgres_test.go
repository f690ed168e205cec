//go:build unix

package postgres

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

func TestMain(m *testing.M) {
	if os.Getenv(childMode) != "" {
		child()
		return
	}
	Main(m)
}

// childMode makes this test binary start a cluster, say where it is, and end
// without stopping it.
const childMode = "FRINGEWORK_TEST_POSTGRES_CHILD"

func child() {
	s, err := Start(Options{})
	if err != nil {
		fmt.Print(err)
		os.Exit(3)
	}
	fmt.Print(s.dir)
	panic("the tests end badly")
}

func TestDatabaseIsFresh(t *testing.T) {
	first, second := Database(t), Database(t)
	if first == second {
		t.Fatalf("two databases of one test are the same: %s", first)
	}
	for _, url := range []string{first, second} {
		conn, err := pgx.Connect(t.Context(), url)
		if err != nil {
			t.Fatal(err)
		}
		// A table of the same name in each says that they are apart.
		if _, err := conn.Exec(t.Context(), "CREATE TABLE ball (n int)"); err != nil {
			t.Error(err)
		}
		conn.Close(t.Context())
	}
}

func TestMissingPostgreSQLSaysHowToGetIt(t *testing.T) {
	for _, want := range []string{"apt-get install postgresql", AdminURL} {
		if got := errMissing().Error(); !strings.Contains(got, want) {
			t.Errorf("got %q, want it to name %q", got, want)
		}
	}
}

func TestUnreachableServerFails(t *testing.T) {
	t.Setenv(AdminURL, "postgres://nobody@127.0.0.1:1/none")
	if _, err := Start(Options{}); err == nil || !strings.Contains(err.Error(), AdminURL) {
		t.Errorf("got error %v, want one that names %s", err, AdminURL)
	}
}

// What was committed before a crash is there after it, and so is the port.
func TestKillAndRestart(t *testing.T) {
	s, err := Start(Options{Durable: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Stop)
	ctx := t.Context()
	run := func(sql string) string {
		conn, err := pgx.Connect(ctx, s.url.String())
		if err != nil {
			t.Fatal(err)
		}
		defer conn.Close(context.Background())
		var got string
		if err := conn.QueryRow(ctx, sql).Scan(&got); err != nil && !errors.Is(err, pgx.ErrNoRows) {
			t.Fatal(err)
		}
		return got
	}
	if got := run("SHOW fsync"); got != "on" {
		t.Errorf("fsync of a durable cluster: got %s, want on", got)
	}
	run("CREATE TABLE ball (n int)")
	s.Kill()
	if err := s.Restart(); err != nil {
		t.Fatal(err)
	}
	if got := run("SELECT to_regclass('ball')::text"); got != "ball" {
		t.Errorf("after a crash: got table %q, want ball", got)
	}
}

// Tests that panic leave neither files nor a server.
func TestNothingIsLeftBehind(t *testing.T) {
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), childMode+"=1")
	out, err := cmd.Output()
	var exit *exec.ExitError
	if !errors.As(err, &exit) || exit.ExitCode() != 2 { // 2 is a panic's
		t.Fatalf("the child ended with %v and said %q, want a panic", err, out)
	}
	dir := string(out)
	if os.Getenv(AdminURL) != "" {
		return // there was nothing to leave
	}
	for begun := time.Now(); time.Since(begun) < 2*time.Minute; time.Sleep(50 * time.Millisecond) {
		if _, err := os.Stat(dir); errors.Is(err, fs.ErrNotExist) {
			return
		}
	}
	t.Errorf("%s is still there after two minutes", dir)
}
