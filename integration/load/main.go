//go:build linux

// Command load measures the service beside the barest handlers that could be,
// and prints ratios:
//
//	go run ./integration/load
//	go run ./integration/load -engine sqlite -only upload,dashboard -seconds 6
//
// Both sides answer over real HTTP on loopback, each in a process of its own, in
// short rounds that alternate, so that a busy machine hits both. The barest
// handler has the service's router, driver and durability, and one prepared
// statement a request. Processor time is getrusage of the process and, with
// PostgreSQL, that of all the cluster's processes besides. The times themselves
// say little from machine to machine; the ratios do.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"time"

	"fringework/integration/child"
)

// measurement is one thing that can be measured.
type measurement struct {
	name    string
	engines []string
	measure func(ctx context.Context, b *bench, engine string) (table, error)
}

var (
	onBoth     = []string{sqliteEngine, postgresEngine}
	onSQLite   = []string{sqliteEngine}
	onPostgres = []string{postgresEngine}
)

func measurements() []measurement {
	return []measurement{
		{"upload", onBoth, measureUpload},
		{"pgbench", onPostgres, measurePgbench},
		{"growing", onBoth, measureGrowing},
		{"turns", onPostgres, measureTurns},
		{"written", onSQLite, measureWritten},
		{"size", onBoth, measureSize},
		{"student", onBoth, measureStudent},
		{"dashboard", onBoth, measureDashboard},
		{"spans", onBoth, measureSpans},
		{"academies", onBoth, measureAcademies},
		{"viewers", onPostgres, measureViewers},
	}
}

func main() {
	if role := child.Role(); role != "" {
		if err := beChild(role, os.Args[1:]); err != nil {
			fmt.Fprintln(os.Stderr, "load:", err)
			os.Exit(1)
		}
		return
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	err := run(ctx, os.Args[1:])
	stop()
	if err != nil {
		fmt.Fprintln(os.Stderr, "load:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, args []string) (err error) {
	var names []string
	for _, m := range measurements() {
		names = append(names, m.name)
	}
	flags := flag.NewFlagSet("load", flag.ContinueOnError)
	engine := flags.String("engine", "both", "sqlite, postgres or both")
	only := flags.String("only", "", "measure only these, with commas between: "+strings.Join(names, ", "))
	seconds := flags.Float64("seconds", 3, "how long each side is driven for each figure")
	clients := flags.String("clients", "1,4,16", "how many clients upload at once")
	profiles := flags.String("profile", "", "a directory for CPU profiles of the service, one for each measurement")
	if err := flags.Parse(args); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			return nil
		}
		return err
	}
	b := &bench{seconds: *seconds, profiles: *profiles}
	for text := range strings.SplitSeq(*clients, ",") {
		n, err := strconv.Atoi(text)
		if err != nil || n < 1 {
			return fmt.Errorf("-clients %q: write numbers with commas between", *clients)
		}
		b.clients = append(b.clients, n)
	}
	var wanted []string
	if *only != "" {
		wanted = strings.Split(*only, ",")
	}
	for _, w := range wanted {
		if !slices.Contains(names, w) {
			return fmt.Errorf("-only %s: there is no such measurement; there are %s", w, strings.Join(names, ", "))
		}
	}
	if !slices.Contains([]string{"both", sqliteEngine, postgresEngine}, *engine) {
		return fmt.Errorf("-engine %s: it is sqlite, postgres or both", *engine)
	}
	if b.profiles != "" {
		if err := os.MkdirAll(b.profiles, 0o755); err != nil {
			return err
		}
	}
	if b.dir, err = os.MkdirTemp("", "fringework-load-"); err != nil {
		return err
	}
	defer b.close()
	for _, m := range measurements() {
		if len(wanted) > 0 && !slices.Contains(wanted, m.name) {
			continue
		}
		for _, e := range m.engines {
			if *engine != "both" && *engine != e {
				continue
			}
			begin := time.Now()
			t, err := m.measure(ctx, b, e)
			if err = errors.Join(err, b.release(context.WithoutCancel(ctx))); err != nil {
				return fmt.Errorf("%s on %s: %w", m.name, e, err)
			}
			if err := printTables(os.Stdout, t); err != nil {
				return err
			}
			fmt.Fprintf(os.Stderr, "(%s on %s took %.0f s)\n", m.name, e, time.Since(begin).Seconds())
		}
	}
	return nil
}
