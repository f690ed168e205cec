//go:build linux

package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"regexp"
	"runtime/pprof"
	"strconv"
	"strings"
	"syscall"
	"time"

	"fringework/cmd/fringework/app"
)

// roleVariable tells a copy of this program what to be: the service, or the
// handlers that it is held against. Each is a process of its own, so that its
// processor time is its own.
const roleVariable = "FRINGEWORK_LOAD_ROLE"

const (
	serviceRole = "service"
	barestRole  = "barest"
)

// serveService serves a database as the binary does. It is the only place that
// knows how the service is started.
func serveService(ctx context.Context, database, keys string) error {
	code := app.Run(ctx, []string{
		"serve", "--listen", "127.0.0.1:0", "--database", database, "--signing-keys-file", keys,
		"--cheap-passwords", "--trusted-proxies", "1", "--grace", "2s",
	}, app.Streams{In: strings.NewReader(""), Out: io.Discard, Err: os.Stderr})
	if code != 0 {
		return fmt.Errorf("the service ended with %d", code)
	}
	return nil
}

// beChild serves in one of the roles until the input ends.
func beChild(role string, args []string) error {
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	go func() {
		obey(os.Stdin, os.Stdout)
		cancel()
	}()
	if role == serviceRole {
		return serveService(ctx, args[0], args[1])
	}
	return serveBarest(ctx, args[0])
}

// obey answers the parent's questions, a line each: "cpu" gives the microseconds
// that this process has run, "profile FILE" starts a profile and "profiled" ends
// it.
func obey(in io.Reader, out io.Writer) {
	var file *os.File
	lines := bufio.NewScanner(in)
	for lines.Scan() {
		what, arg, _ := strings.Cut(lines.Text(), " ")
		switch what {
		case "cpu":
			var u syscall.Rusage
			if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
				fmt.Fprintln(out, -1)
				continue
			}
			fmt.Fprintln(out, (u.Utime.Nano()+u.Stime.Nano())/1000)
		case "profile":
			var err error
			if file, err = os.Create(arg); err == nil {
				err = pprof.StartCPUProfile(file)
			}
			fmt.Fprintln(out, one(err == nil))
		case "profiled":
			pprof.StopCPUProfile()
			fmt.Fprintln(out, one(file.Close() == nil))
		}
	}
}

func one(ok bool) int {
	if ok {
		return 1
	}
	return -1
}

// child is a running copy of this program.
type child struct {
	url     string
	pid     int
	process *exec.Cmd
	in      io.WriteCloser
	out     *bufio.Scanner
	ended   chan struct{}
	logTail []string
}

var listening = regexp.MustCompile(`msg=serving address=(\S+)`)

// start starts a copy and waits until it serves.
func start(ctx context.Context, role string, args ...string) (*child, error) {
	self, err := os.Executable()
	if err != nil {
		return nil, err
	}
	c := &child{process: exec.Command(self, args...), ended: make(chan struct{})}
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
	c.pid = c.process.Process.Pid
	address := make(chan string, 1)
	go c.read(log, address)
	select {
	case a := <-address:
		c.url = "http://" + a
		return c, nil
	case <-c.ended:
	case <-ctx.Done():
	case <-time.After(time.Minute):
	}
	c.stop()
	return nil, fmt.Errorf("the %s does not serve: %s", role, strings.Join(c.logTail, "\n"))
}

// read reads the log: the address in it, and the last lines.
func (c *child) read(log io.Reader, address chan<- string) {
	defer close(c.ended)
	lines := bufio.NewScanner(log)
	for lines.Scan() {
		if m := listening.FindStringSubmatch(lines.Text()); m != nil {
			address <- m[1]
		}
		if c.logTail = append(c.logTail, lines.Text()); len(c.logTail) > 10 {
			c.logTail = c.logTail[1:]
		}
	}
}

// stop ends the copy and waits for its end. It may be called twice.
func (c *child) stop() {
	if c == nil || c.process == nil {
		return
	}
	c.in.Close()
	select {
	case <-c.ended:
	case <-time.After(10 * time.Second):
		_ = c.process.Process.Kill()
		<-c.ended
	}
	_ = c.process.Wait() // how it ended is in its log
	c.process = nil
}

func (c *child) ask(question string) (int64, error) {
	if _, err := fmt.Fprintln(c.in, question); err != nil {
		return 0, err
	}
	if !c.out.Scan() {
		return 0, fmt.Errorf("no answer to %q; %s", question, strings.Join(c.logTail, "\n"))
	}
	n, err := strconv.ParseInt(c.out.Text(), 10, 64)
	if err == nil && n < 0 {
		err = fmt.Errorf("%q failed", question)
	}
	return n, err
}

// cpu is the processor time that the copy has used.
func (c *child) cpu() (time.Duration, error) {
	n, err := c.ask("cpu")
	return time.Duration(n) * time.Microsecond, err
}
