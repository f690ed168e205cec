//go:build unix

// Package child runs a copy of the running program as a process of its own, to
// be measured or killed: the service, above all.
//
//	func main() {
//		if role := child.Role(); role != "" { … child.Serve(ctx, os.Args[1], os.Args[2]) … }
//		c, err := child.Start(ctx, child.Service, database, keys)
package child

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"syscall"
	"time"

	"fringework/cmd/fringework/app"
)

// roleVariable tells a copy of the program what to be.
const roleVariable = "FRINGEWORK_CHILD_ROLE"

// Service is the role of the service.
const Service = "service"

// Role is what this process was started to be; empty if nobody's child.
func Role() string { return os.Getenv(roleVariable) }

// Serve serves a database as the binary does, until ctx ends. It is the only
// place that knows how the service is started.
func Serve(ctx context.Context, database, keys string) error {
	code := app.Run(ctx, []string{
		"serve", "--listen", "127.0.0.1:0", "--database", database, "--signing-keys-file", keys,
		"--public-url", "http://localhost:8080", // tokens outlast a start on another port
		"--cheap-passwords", "--trusted-proxies", "1", "--grace", "2s",
		"--member-requests", "0", "--key-requests", "0", "--app-requests", "0", // to be loaded, and besieged
	}, app.Streams{In: strings.NewReader(""), Out: io.Discard, Err: os.Stderr})
	if code != 0 {
		return fmt.Errorf("the service ended with %d", code)
	}
	return nil
}

// Until gives a context that ends with this process's input, as a child's does
// when its parent stops it or is gone. What comes before is given to obey.
func Until(obey func(line string)) (context.Context, context.CancelFunc) {
	ctx, cancel := context.WithCancel(context.Background())
	go func() {
		for lines := bufio.NewScanner(os.Stdin); lines.Scan(); {
			obey(lines.Text())
		}
		cancel()
	}()
	return ctx, cancel
}

// Child is a running copy of this program.
type Child struct {
	// URL is where it answers, once it serves.
	URL     string
	role    string
	process *exec.Cmd
	in      io.WriteCloser
	out     *bufio.Scanner
	address chan string
	ended   chan struct{}
	logTail []string
}

var listening = regexp.MustCompile(`msg=serving (?:.* )?address=(\S+)`)

// Start starts a copy and waits until it serves.
func Start(ctx context.Context, role string, args ...string) (*Child, error) {
	c, err := Launch(ctx, role, args...)
	if err != nil {
		return nil, err
	}
	return c, c.Await(ctx)
}

// Launch starts a copy, which is killed if ctx ends, and does not wait.
func Launch(ctx context.Context, role string, args ...string) (*Child, error) {
	self, err := os.Executable()
	if err != nil {
		return nil, err
	}
	c := &Child{role: role, process: exec.CommandContext(ctx, self, args...), address: make(chan string, 1), ended: make(chan struct{})}
	c.process.Env = append(os.Environ(), roleVariable+"="+role)
	// An interrupt at the terminal is for the parent, whose end ends this: its
	// input closes.
	c.process.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	in, err1 := c.process.StdinPipe()
	out, err2 := c.process.StdoutPipe()
	log, err3 := c.process.StderrPipe()
	if err := errors.Join(err1, err2, err3); err != nil {
		return nil, err
	}
	c.in, c.out = in, bufio.NewScanner(out)
	if err := c.process.Start(); err != nil {
		return nil, err
	}
	go c.read(log)
	return c, nil
}

// Await waits until the copy serves; if it does not, it is stopped.
func (c *Child) Await(ctx context.Context) error {
	select {
	case a := <-c.address:
		c.URL = "http://" + a
		return nil
	case <-c.ended:
	case <-ctx.Done():
		_ = c.Stop()
		return ctx.Err()
	case <-time.After(5 * time.Minute):
	}
	_ = c.Stop() // the log says how it ended
	return fmt.Errorf("the %s does not serve: %s", c.role, c.Log())
}

// read reads the log: the address in it, and the last lines.
func (c *Child) read(log io.Reader) {
	defer close(c.ended)
	lines := bufio.NewScanner(log)
	for lines.Scan() {
		if m := listening.FindStringSubmatch(lines.Text()); m != nil {
			c.address <- m[1]
		}
		if c.logTail = append(c.logTail, lines.Text()); len(c.logTail) > 10 {
			c.logTail = c.logTail[1:]
		}
	}
}

// Log is the last lines that the copy wrote; call it when it has ended.
func (c *Child) Log() string {
	<-c.ended
	return strings.Join(c.logTail, "\n")
}

// Stop ends the copy, waits for its end and says how it went. It may be called
// again.
func (c *Child) Stop() error {
	if c == nil || c.process == nil {
		return nil
	}
	c.in.Close()
	select {
	case <-c.ended:
	case <-time.After(10 * time.Second):
		_ = c.process.Process.Kill()
	}
	return c.wait()
}

// Kill ends the copy at once, by SIGKILL, and waits for its end.
func (c *Child) Kill() {
	if c == nil || c.process == nil {
		return
	}
	_ = c.process.Process.Kill() // it may have ended already
	_ = c.wait()
}

func (c *Child) wait() error {
	<-c.ended
	err := c.process.Wait()
	c.process = nil
	if err != nil {
		return fmt.Errorf("the %s: %w: %s", c.role, err, c.Log())
	}
	return nil
}

// Ask sends a line to the copy and gives the line that it answers.
func (c *Child) Ask(question string) (string, error) {
	if _, err := fmt.Fprintln(c.in, question); err != nil {
		return "", err
	}
	if !c.out.Scan() {
		return "", fmt.Errorf("no answer to %q", question)
	}
	return c.out.Text(), nil
}
