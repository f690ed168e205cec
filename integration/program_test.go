package integration_test

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// TestProgram runs the program as a process of its own, as people do.
func TestProgram(t *testing.T) {
	p := build(t)
	for _, c := range []struct {
		name string
		test func(*testing.T, program, engine)
	}{
		{"the README's walk", testWalk},
	} {
		t.Run(c.name, func(t *testing.T) {
			onBoth(t, func(t *testing.T, e engine) { c.test(t, p, e) })
		})
	}
}

// program is the path of the built program.
type program string

// build builds the program.
func build(t *testing.T) program {
	t.Helper()
	path := filepath.Join(t.TempDir(), "fringework")
	if out, err := exec.Command("go", "build", "-o", path, "fringework/cmd/fringework").CombinedOutput(); err != nil {
		t.Fatalf("go build: %v\n%s", err, out)
	}
	return program(path)
}

// process is the program, running.
type process struct {
	*exec.Cmd
	url  string
	log  *logBook
	exit chan int
}

// serve starts a server in a directory and waits until it serves.
func (p program) serve(t *testing.T, dir, database string, flags ...string) *process {
	t.Helper()
	args := append([]string{"serve", "--listen", "127.0.0.1:0", "--log-format", "json", "--database", database}, flags...)
	s := p.start(t, dir, args...)
	s.url = "http://" + s.log.address(t, s.exit)
	return s
}

// start starts the program; it ends with the test at the latest.
func (p program) start(t *testing.T, dir string, args ...string) *process {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	s := &process{Cmd: exec.CommandContext(ctx, string(p), clocked(args...)...), log: &logBook{}, exit: make(chan int, 1)}
	s.Dir, s.Stdout, s.Stderr = dir, s.log, s.log
	s.Env = append(os.Environ(), "HOME="+dir)
	endWithParent(s.Cmd)
	if err := s.Start(); err != nil {
		t.Fatal(err)
	}
	go func() {
		_ = s.Wait() // how it ended is in the exit code
		s.exit <- s.ProcessState.ExitCode()
	}()
	t.Cleanup(func() {
		cancel()
		s.wait()
	})
	return s
}

// wait waits for the end and gives the exit code, -1 after a kill.
func (s *process) wait() int {
	code := <-s.exit
	s.exit <- code
	return code
}

// shell runs a script with bash and gives what it wrote.
func shell(t *testing.T, dir, script string) string {
	t.Helper()
	cmd := exec.Command("bash", "-c", script)
	cmd.Dir = dir
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	if err := cmd.Run(); err != nil {
		t.Fatalf("bash: %v\n%s%s\nthe script was\n%s", err, out.String(), errs.String(), script)
	}
	if strings.TrimSpace(errs.String()) != "" {
		t.Errorf("the script complains: %s", errs.String())
	}
	return out.String()
}
