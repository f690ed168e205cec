//go:build linux

package main

import (
	"context"
	"fmt"
	"os"
	"runtime/pprof"
	"strconv"
	"strings"
	"syscall"
	"time"

	"fringework/integration/child"
)

// The roles of a copy of this program: the service, or the handlers that it is
// held against. Each is a process of its own, so that its processor time is its
// own.
const (
	serviceRole = child.Service
	barestRole  = "barest"
)

// beChild serves in one of the roles until the input ends.
func beChild(role string, args []string) error {
	var o obeyer
	ctx, cancel := child.Until(o.obey)
	defer cancel()
	if role == serviceRole {
		return child.Serve(ctx, args[0], args[1])
	}
	return serveBarest(ctx, args[0])
}

// obeyer answers the parent's questions, a line each: "cpu" gives the
// microseconds that this process has run, "written" the bytes it has caused to be
// written to disk, "profile FILE" starts a profile and "profiled" ends it.
type obeyer struct{ profile *os.File }

func (o *obeyer) obey(line string) {
	what, arg, _ := strings.Cut(line, " ")
	switch what {
	case "cpu":
		var u syscall.Rusage
		if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
			fmt.Println(-1)
			return
		}
		fmt.Println((u.Utime.Nano() + u.Stime.Nano()) / 1000)
	case "written":
		n, err := diskBytes()
		if err != nil {
			n = -1
		}
		fmt.Println(n)
	case "profile":
		var err error
		if o.profile, err = os.Create(arg); err == nil {
			err = pprof.StartCPUProfile(o.profile)
		}
		fmt.Println(one(err == nil))
	case "profiled":
		pprof.StopCPUProfile()
		fmt.Println(one(o.profile.Close() == nil))
	}
}

func one(ok bool) int {
	if ok {
		return 1
	}
	return -1
}

// process is a running copy of this program.
type process struct {
	*child.Child
	url string
}

func start(ctx context.Context, role string, args ...string) (process, error) {
	c, err := child.Start(ctx, role, args...)
	if err != nil {
		return process{}, err
	}
	return process{c, c.URL}, nil
}

// stop ends the copy and waits for its end. It may be called twice.
func (p process) stop() { _ = p.Stop() } // how it ended is in its log

func (p process) ask(question string) (int64, error) {
	answer, err := p.Ask(question)
	if err != nil {
		return 0, err
	}
	n, err := strconv.ParseInt(answer, 10, 64)
	if err == nil && n < 0 {
		err = fmt.Errorf("%q failed", question)
	}
	return n, err
}

// cpu is the processor time that the copy has used.
func (p process) cpu() (time.Duration, error) {
	n, err := p.ask("cpu")
	return time.Duration(n) * time.Microsecond, err
}
