//go:build unix

// Package guide does what the operator's guide says: its commands are run as they are
// printed, on the real program and a PostgreSQL of the tests' own, while sessions are
// uploaded. The files for running the service are held to the program and the image.
package guide_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"fringework/integration/postgres"
)

// deploy is where the guide is, and the files that it speaks of.
const deploy = "../../cmd/fringework/deploy/"

// program is a folder with the program in it, built when it is first needed.
var program struct {
	once sync.Once
	dir  string
	err  error
}

func TestMain(m *testing.M) {
	code := m.Run()
	if program.dir != "" {
		_ = os.RemoveAll(program.dir)
	}
	os.Exit(code)
}

// build gives the folder with the program. Other users may run it: PostgreSQL's does.
func build(t *testing.T) string {
	t.Helper()
	program.once.Do(func() { program.dir, program.err = compile() })
	if program.err != nil {
		t.Fatal(program.err)
	}
	return program.dir
}

func compile() (dir string, err error) {
	if dir, err = os.MkdirTemp("", "fringework-program-"); err != nil {
		return "", err
	}
	if out, err := exec.Command("go", "build", "-o", dir, "fringework/cmd/fringework").CombinedOutput(); err != nil {
		return dir, fmt.Errorf("go build: %w\n%s", err, out)
	}
	return dir, os.Chmod(dir, 0o755)
}

func read(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// machine is where commands are run: who runs them, where, and what they find.
type machine struct {
	dir string
	env []string
	// lend has a command run by another user; nil for whoever runs the tests.
	lend func(*exec.Cmd)
}

// here is a machine on which the tests' own user runs commands.
func here(t *testing.T) machine {
	return machine{dir: t.TempDir(), env: []string{"PATH=" + build(t) + ":" + os.Getenv("PATH")}}
}

// on is the machine of a PostgreSQL: its user, and its programs before others.
func on(t *testing.T, s *postgres.Server) machine {
	dir := build(t)
	return machine{dir: s.Dir(), lend: func(cmd *exec.Cmd) {
		s.Lend(cmd)
		for i, v := range cmd.Env {
			if path, ok := strings.CutPrefix(v, "PATH="); ok {
				cmd.Env[i] = "PATH=" + dir + ":" + path
			}
		}
	}}
}

// command prepares a command there; env finds it where the machine has its programs.
func (m machine) command(env []string, args ...string) *exec.Cmd {
	cmd := exec.Command("env", args...)
	cmd.Env = os.Environ()
	if m.lend != nil {
		m.lend(cmd)
	}
	cmd.Dir = m.dir
	cmd.Env = append(append(cmd.Env, m.env...), env...)
	return cmd
}

// run runs a command and gives its exit code and all that it wrote.
func (m machine) run(t *testing.T, env []string, args ...string) (code int, said string) {
	t.Helper()
	var all bytes.Buffer
	cmd := m.command(env, args...)
	cmd.Stdout, cmd.Stderr = &all, &all
	if err := cmd.Run(); err != nil && cmd.ProcessState == nil {
		t.Fatal(err)
	}
	return cmd.ProcessState.ExitCode(), all.String()
}

// must runs a command that must succeed.
func (m machine) must(t *testing.T, env []string, args ...string) string {
	t.Helper()
	code, said := m.run(t, env, args...)
	if code != 0 {
		t.Fatalf("%s: exit code %d\n%s", strings.Join(args, " "), code, said)
	}
	return said
}

// process is the service, running.
type process struct {
	url    string
	cmd    *exec.Cmd
	log    *logBook
	exited chan struct{}
}

// serve starts the service on a free port and waits until it says where.
func (m machine) serve(t *testing.T, env []string, args ...string) *process {
	t.Helper()
	p := &process{cmd: m.command(env, args...), log: &logBook{}, exited: make(chan struct{})}
	p.cmd.Stdout, p.cmd.Stderr = p.log, p.log
	if err := p.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	go func() {
		_ = p.cmd.Wait() // how it ended is in its state
		close(p.exited)
	}()
	t.Cleanup(func() {
		_ = p.cmd.Process.Kill() // usually it has ended
		<-p.exited
	})
	p.url = "http://" + p.address(t)
	return p
}

// address waits for the address in the log, which must be JSON.
func (p *process) address(t *testing.T) string {
	t.Helper()
	deadline := time.After(5 * time.Minute)
	for {
		for line := range strings.Lines(p.log.String()) {
			var entry struct{ Msg, Address string }
			if json.Unmarshal([]byte(line), &entry) == nil && entry.Msg == "serving" {
				return entry.Address
			}
		}
		select {
		case <-p.exited:
			t.Fatalf("the service ended before it served\n%s", p.log)
		case <-deadline:
			t.Fatalf("the service does not serve after five minutes\n%s", p.log)
		case <-time.After(5 * time.Millisecond):
		}
	}
}

// stop tells the service to end, as a service manager does; it must do so well.
func (p *process) stop(t *testing.T) {
	t.Helper()
	if err := p.cmd.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatalf("%v\n%s", err, p.log)
	}
	<-p.exited
	if code := p.cmd.ProcessState.ExitCode(); code != 0 {
		t.Errorf("the service ended with %d\n%s", code, p.log)
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
