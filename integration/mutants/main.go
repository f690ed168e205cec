// Command mutants asks whether the tests of a package notice when its code is
// wrong. It makes one small change at a time, compiles the package's tests
// against it, and runs them: a change that they let pass has survived.
//
//	go run ./integration/mutants ./domain/streak ./domain/curriculum
//	go run ./integration/mutants -only 'rules.go:1[0-9][0-9]$' ./domain/curriculum
//
// It prints what survived and the score of each package: the share killed of
// the mutants that are not listed as equivalent in equivalent.yaml, each with
// the reason. It fails when a score is below the least one, and when an entry
// of the list is out of date.
package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"regexp"
	"slices"
	"sync"
	"text/tabwriter"
)

func main() {
	var o options
	flag.Float64Var(&o.least, "least", 90, "per cent of the mutants that must be killed")
	flag.StringVar(&o.only, "only", "", "regular expression that file.go:line must match")
	flag.StringVar(&o.list, "equivalent", "integration/mutants/equivalent.yaml", "list of equivalent mutants")
	flag.BoolVar(&o.all, "all", false, "print the mutants that were killed as well")
	flag.Parse()
	o.patterns = flag.Args()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	err := o.run(ctx, os.Stdout, os.Stderr)
	stop()
	if err != nil {
		fmt.Fprintln(os.Stderr, "mutants:", err)
		os.Exit(1)
	}
}

type options struct {
	least      float64
	only, list string
	all        bool
	patterns   []string
}

func (o options) run(ctx context.Context, w, progress io.Writer) error {
	only, err := regexp.Compile(o.only)
	if err != nil {
		return err
	}
	list, err := readList(o.list)
	if err != nil {
		return err
	}
	if len(o.patterns) == 0 {
		return fmt.Errorf("name at least one package, such as ./domain/streak")
	}
	targets, err := find(ctx, o.patterns)
	if err != nil {
		return err
	}
	dir, err := os.MkdirTemp("", "mutants")
	if err != nil {
		return err
	}
	defer func() { _ = os.RemoveAll(dir) }()
	good := true
	for i, t := range targets {
		here := filepath.Join(dir, fmt.Sprint(i))
		if err := os.Mkdir(here, 0o700); err != nil {
			return err
		}
		if err := t.prepare(ctx, here); err != nil {
			return err
		}
		var lock sync.Mutex
		done := 0
		results, err := t.run(ctx, func(m Mutant) bool { return only.MatchString(at(m)) }, func(r Result) {
			lock.Lock()
			defer lock.Unlock()
			if done++; done%50 == 0 {
				fmt.Fprintf(progress, "%s: %d mutants\n", t.name(), done)
			}
			if r.Outcome == Survived {
				fmt.Fprintf(progress, "%s/%s: %s\n", t.name(), at(r.Mutant), r.Change)
			}
		})
		if err != nil {
			return err
		}
		s := list.judge(t.name(), results, o.only == "")
		if err := s.print(w, t.name(), o.all); err != nil {
			return err
		}
		good = good && s.percent() >= o.least && len(s.stale) == 0
	}
	if !good {
		return fmt.Errorf("a score is below %g %%, or the list of equivalent mutants is out of date", o.least)
	}
	return nil
}

func at(m Mutant) string { return fmt.Sprintf("%s:%d", m.File, m.Line) }

// print writes the table of a package and its score.
func (s score) print(w io.Writer, name string, all bool) error {
	table := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	for _, r := range s.results {
		if all || r.Outcome == Survived && !slices.Contains(s.equivalent, r) {
			fmt.Fprintf(table, "%s/%s\t%s\t%s\t%s\n", name, at(r.Mutant), r.Change, s.word(r), r.Text)
		}
	}
	for _, e := range s.stale {
		fmt.Fprintf(table, "%s\t%s\tlisted as equivalent, but %s\t%s\n", e.In, e.Change, e.fault, e.Line)
	}
	if err := table.Flush(); err != nil {
		return err
	}
	_, err := fmt.Fprintf(w, "%s: %.1f %%: %d killed of %d, besides %d equivalent\n", name, s.percent(), s.killed, s.mutants, len(s.equivalent))
	return err
}

func (s score) word(r Result) string {
	if slices.Contains(s.equivalent, r) {
		return "equivalent"
	}
	return string(r.Outcome)
}
