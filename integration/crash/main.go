//go:build unix

// Command crash kills the service while phones upload to it, again and again,
// and looks each time whether everything that was acknowledged is there, once:
//
//	go run ./integration/crash
//	go run ./integration/crash -engine postgres -kills 20 -seed 7
//
// The service is a process of its own on a durable database. It is killed by
// SIGKILL at random moments, now and then once more while it starts; with
// PostgreSQL, every other time it is the whole database server that is killed
// instead. After each kill, what stands is compared with what was acknowledged,
// and what was not acknowledged is sent again. Every 25 kills, and at the end,
// the progress that is kept is compared with what follows from the balls.
//
// A seed repeats what the phones do, not the moments. A kill takes no page from
// the operating system, so that a loss of power is not tested: what is, is that
// nothing is acknowledged before it is handed over, nothing by halves, and
// nothing twice.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"slices"
	"syscall"

	"fringework/integration/child"
)

const (
	sqliteEngine   = "sqlite"
	postgresEngine = "postgres"
)

func main() {
	if child.Role() != "" {
		os.Exit(serve())
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	err := run(ctx, os.Args[1:], os.Stdout)
	stop()
	if err != nil {
		fmt.Fprintln(os.Stderr, "crash:", err)
		os.Exit(1)
	}
}

// serve is what a copy of this program does: it serves until its input ends, and
// gives the exit code.
func serve() int {
	ctx, cancel := child.Until(func(string) {})
	err := child.Serve(ctx, os.Args[1], os.Args[2])
	cancel()
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return 0
}

// usually is how many kills each engine gets.
var usually = map[string]int{sqliteEngine: 200, postgresEngine: 50}

func run(ctx context.Context, args []string, out io.Writer) error {
	flags := flag.NewFlagSet("crash", flag.ContinueOnError)
	engine := flags.String("engine", "both", "sqlite, postgres or both")
	kills := flags.Int("kills", 0, "how many kills (default 200 with SQLite, 50 with PostgreSQL)")
	seed := flags.Uint64("seed", 1, "repeats what the phones do")
	if err := flags.Parse(args); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			return nil
		}
		return err
	}
	engines := []string{sqliteEngine, postgresEngine}
	if *engine != "both" {
		if !slices.Contains(engines, *engine) {
			return fmt.Errorf("-engine %s: it is sqlite, postgres or both", *engine)
		}
		engines = []string{*engine}
	}
	if *kills < 0 {
		return fmt.Errorf("-kills %d: give a number from 1", *kills)
	}
	var errs []error
	for _, e := range engines {
		n := *kills
		if n == 0 {
			n = usually[e]
		}
		errs = append(errs, trial(ctx, e, n, *seed, out))
	}
	return errors.Join(errs...)
}

// trial kills so many times on an engine. It is an error if anything was found.
func trial(ctx context.Context, engine string, kills int, seed uint64, out io.Writer) error {
	s, err := open(ctx, engine, seed, out)
	if err != nil {
		return fmt.Errorf("%s: %w", engine, err)
	}
	defer s.close()
	for n := 1; n <= kills; n++ {
		if err := s.round(ctx); err != nil {
			return fmt.Errorf("%s, kill %d: %w", engine, n, err)
		}
		if n%every == 0 || n == kills {
			if err := s.rebuild(ctx); err != nil {
				return fmt.Errorf("%s after %d kills: %w", engine, n, err)
			}
			fmt.Fprintf(out, "%s: %s\n", engine, s.tally.line())
		}
	}
	return s.tally.verdict(engine)
}

// every is how many kills there are between two rebuilds.
const every = 25
