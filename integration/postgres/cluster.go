//go:build unix

package postgres

import (
	"errors"
	"fmt"
	"io"
	"net"
	"net/url"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"time"
)

// Server is a running PostgreSQL.
type Server struct {
	url *url.URL
	// The rest is empty for a server that was running already.
	dir      string
	programs string
	as       *syscall.Credential
	port     int
	settings []string
	process  *exec.Cmd
	exited   chan struct{}
	// orphaned ends the watch over the tests when it closes.
	orphaned io.Closer
	watch    *exec.Cmd
	stop     sync.Once
}

// errMissing says how to get PostgreSQL.
func errMissing() error {
	return fmt.Errorf("postgres: no initdb and postgres in PATH or in /usr/lib/postgresql/*/bin; install them "+
		"(Debian: apt-get install postgresql; macOS: brew install postgresql), or name a running server in %s", AdminURL)
}

// findPrograms gives the directory with initdb and postgres, the newest one.
func findPrograms() (string, error) {
	dirs := filepath.SplitList(os.Getenv("PATH"))
	packaged, _ := filepath.Glob("/usr/lib/postgresql/*/bin")
	slices.SortFunc(packaged, func(a, b string) int { return release(b) - release(a) })
	for _, dir := range append(dirs, packaged...) {
		if executable(filepath.Join(dir, "initdb")) && executable(filepath.Join(dir, "postgres")) {
			// Where others of its programs are as well, if these are links.
			path, err := filepath.EvalSymlinks(filepath.Join(dir, "postgres"))
			return filepath.Dir(path), err
		}
	}
	return "", errMissing()
}

// release reads 15 from /usr/lib/postgresql/15/bin.
func release(dir string) int {
	n, _ := strconv.Atoi(filepath.Base(filepath.Dir(dir)))
	return n
}

func executable(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.Mode().IsRegular() && info.Mode()&0o111 != 0
}

// unprivileged gives whom to run as: PostgreSQL refuses to run as root.
func unprivileged() (*syscall.Credential, error) {
	if os.Geteuid() != 0 {
		return nil, nil
	}
	for _, name := range []string{"postgres", "nobody"} {
		u, err := user.Lookup(name)
		if err != nil {
			continue
		}
		uid, err1 := strconv.ParseUint(u.Uid, 10, 32)
		gid, err2 := strconv.ParseUint(u.Gid, 10, 32)
		if err := errors.Join(err1, err2); err != nil {
			return nil, err
		}
		return &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}, nil
	}
	return nil, errors.New("postgres: PostgreSQL does not run as root, and there is no user postgres or nobody")
}

func startCluster(o Options) (*Server, error) {
	programs, err := findPrograms()
	if err != nil {
		return nil, err
	}
	as, err := unprivileged()
	if err != nil {
		return nil, err
	}
	dir, err := os.MkdirTemp("", "fringework-postgres-")
	if err != nil {
		return nil, err
	}
	s := &Server{dir: dir, programs: programs, as: as}
	if !o.Durable {
		s.settings = []string{"fsync=off", "synchronous_commit=off", "full_page_writes=off"}
	}
	err = s.guard()
	if err == nil {
		err = s.create()
	}
	if err == nil {
		err = s.launch()
	}
	if err != nil {
		s.Stop()
		return nil, err
	}
	return s, nil
}

// cleanUp waits until the tests are gone, which closes its input however they
// ended, and then ends the server and removes its files.
const cleanUp = `read _
pid=$(head -n 1 "$1/data/postmaster.pid" 2>/dev/null)
tries=0
while [ -n "$pid" ] && [ $tries -lt 100 ] && kill -QUIT "$pid" 2>/dev/null; do sleep 0.1; tries=$((tries + 1)); done
rm -rf "$1"`

// guard starts a watch over the tests, for when they cannot stop the server
// themselves: a panic, a time-out, a kill.
func (s *Server) guard() (err error) {
	s.watch = exec.Command("/bin/sh", "-c", cleanUp, "sh", s.dir)
	s.watch.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	if s.orphaned, err = s.watch.StdinPipe(); err != nil {
		return err
	}
	return s.watch.Start()
}

// create makes the cluster's files.
func (s *Server) create() error {
	if s.as != nil {
		if err := os.Chown(s.dir, int(s.as.Uid), int(s.as.Gid)); err != nil {
			return err
		}
	}
	initdb := s.command("initdb", "-D", s.Data(), "-U", "postgres", "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync")
	if out, err := initdb.CombinedOutput(); err != nil {
		return fmt.Errorf("postgres: initdb: %w\n%s", err, out)
	}
	return nil
}

// Dir is the folder that is the cluster's own, removed with it; empty for a server that
// was running already.
func (s *Server) Dir() string { return s.dir }

// Data is the folder of the cluster's files, in Dir.
func (s *Server) Data() string { return filepath.Join(s.dir, "data") }

// command runs one of the programs.
func (s *Server) command(name string, args ...string) *exec.Cmd {
	cmd := exec.Command(filepath.Join(s.programs, name), args...)
	s.Lend(cmd)
	return cmd
}

// Lend has a command run as the server's own user, in its folder, with its programs
// found first, away from the terminal.
func (s *Server) Lend(cmd *exec.Cmd) {
	cmd.Dir = s.dir
	cmd.Env = append(os.Environ(), "LC_ALL=C", "TZ=UTC", "PATH="+s.programs+string(filepath.ListSeparator)+os.Getenv("PATH"))
	// A group of its own, so that an interrupt at the terminal reaches the
	// tests first, which then stop the server.
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true, Credential: s.as}
}

// launch starts the server on a free port of the loopback interface. Another
// process may take the port first, so it tries again.
func (s *Server) launch() (err error) {
	for range 5 {
		if s.port, err = freePort(); err != nil {
			return err
		}
		if err = s.run(); err == nil {
			return nil
		}
	}
	return err
}

func freePort() (int, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return 0, err
	}
	defer l.Close()
	return l.Addr().(*net.TCPAddr).Port, nil
}

// Restart starts the server on the same files and port, after Kill. What the
// killed one had started holds on to its memory for a moment yet.
func (s *Server) Restart() (err error) {
	if s.dir == "" {
		return errors.New("postgres: a server that was running already is not ours to start")
	}
	for begun := time.Now(); ; time.Sleep(100 * time.Millisecond) {
		if err = s.run(); err == nil || time.Since(begun) > time.Minute {
			return err
		}
	}
}

// run starts the server and waits until it answers.
func (s *Server) run() error {
	args := []string{"-D", s.Data(), "-p", strconv.Itoa(s.port), "-c", "listen_addresses=127.0.0.1", "-c", "unix_socket_directories=",
		"-c", "max_connections=200", "-c", "shared_buffers=64MB", "-c", "log_min_messages=warning"}
	for _, setting := range s.settings {
		args = append(args, "-c", setting)
	}
	log, err := os.OpenFile(filepath.Join(s.dir, "log"), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	defer func() { _ = log.Close() }() // the process has its own
	s.process = s.command("postgres", args...)
	s.process.Stdout, s.process.Stderr = log, log
	if err := s.process.Start(); err != nil {
		return fmt.Errorf("postgres: %w", err)
	}
	s.exited = make(chan struct{})
	go func(process *exec.Cmd, exited chan struct{}) {
		_ = process.Wait() // how it ended is in its log
		close(exited)
	}(s.process, s.exited)
	s.url = &url.URL{Scheme: "postgres", User: url.User("postgres"), Host: net.JoinHostPort("127.0.0.1", strconv.Itoa(s.port)), Path: "/postgres", RawQuery: "sslmode=disable"}
	return s.await()
}

// await waits until the server answers.
func (s *Server) await() error {
	deadline := time.Now().Add(3 * time.Minute)
	for {
		err := s.admin("SELECT 1")
		if err == nil {
			return nil
		}
		select {
		case <-s.exited:
			return fmt.Errorf("postgres: the server ended: %s", s.logTail())
		case <-time.After(20 * time.Millisecond):
		}
		if time.Now().After(deadline) {
			s.Kill()
			return fmt.Errorf("postgres: no answer within three minutes: %w; %s", err, s.logTail())
		}
	}
}

func (s *Server) logTail() string {
	b, err := os.ReadFile(filepath.Join(s.dir, "log"))
	if err != nil {
		return err.Error()
	}
	lines := strings.Split(strings.TrimSpace(string(b)), "\n")
	return strings.Join(lines[max(0, len(lines)-20):], "\n")
}

// URL names the server's own database, postgres, as its superuser.
func (s *Server) URL() string { return s.url.String() }

// Kill ends the server and all that it has started at once, by SIGKILL, as a
// crash would. Restart brings it back.
func (s *Server) Kill() {
	if s.process == nil {
		return
	}
	// A server that is held starts nothing more and, not waiting for its children,
	// keeps their identities from being used again.
	if first := s.process.Process; first.Signal(syscall.SIGSTOP) == nil {
		for _, pid := range children(first.Pid) {
			_ = syscall.Kill(pid, syscall.SIGKILL)
		}
	}
	s.signal(syscall.SIGKILL)
}

// Stop ends the server and removes its files; it may be called twice. A server
// that was running already goes on.
func (s *Server) Stop() {
	s.stop.Do(func() {
		if s.dir == "" {
			return
		}
		s.signal(syscall.SIGQUIT) // at once, and its children with it
		_ = os.RemoveAll(s.dir)
		if s.orphaned != nil {
			s.orphaned.Close()
			_ = s.watch.Wait() // it has nothing left to do
		}
	})
}

// signal sends a signal to the server and waits for its end.
func (s *Server) signal(sig syscall.Signal) {
	if s.process == nil {
		return
	}
	_ = s.process.Process.Signal(sig) // it may have ended already
	select {
	case <-s.exited:
	case <-time.After(10 * time.Second):
		_ = s.process.Process.Kill()
		<-s.exited
	}
}
