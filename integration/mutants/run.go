package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"
)

// Outcome is what became of a mutant.
type Outcome string

// The outcomes. A mutant that never ends was noticed, so it is killed.
const (
	Killed   Outcome = "killed"
	Hung     Outcome = "killed (hung)"
	Survived Outcome = "survived"
	// Unsound mutants do not compile and are no mutants.
	Unsound Outcome = "does not compile"
)

// Result is a mutant and what became of it.
type Result struct {
	Mutant
	Outcome Outcome
}

// target is a package with its own tests, which are what its mutants meet.
type target struct {
	Dir          string
	Name         string
	ImportPath   string
	GoFiles      []string
	TestGoFiles  []string
	XTestGoFiles []string
	Module       struct{ Path, Dir string }

	dir     string // for what is built
	sources map[string][]byte
	flags   []string // of the test binary
	seconds int      // of processor time that one run of the tests may take
}

// find looks up the packages of a pattern, without those that have no tests.
func find(ctx context.Context, patterns []string) ([]*target, error) {
	out, err := exec.CommandContext(ctx, "go", append([]string{"list", "-json"}, patterns...)...).Output()
	if err != nil {
		return nil, fmt.Errorf("go list: %w", explained(err))
	}
	var all []*target
	for d := json.NewDecoder(bytes.NewReader(out)); d.More(); {
		var t target
		if err := d.Decode(&t); err != nil {
			return nil, err
		}
		if len(t.TestGoFiles)+len(t.XTestGoFiles) > 0 {
			all = append(all, &t)
		}
	}
	if len(all) == 0 {
		return nil, fmt.Errorf("no package with tests in %v", patterns)
	}
	return all, nil
}

// name is the package's path inside its module.
func (t *target) name() string {
	return strings.TrimPrefix(strings.TrimPrefix(t.ImportPath, t.Module.Path), "/")
}

// prepare runs the tests as they are: they must pass, and how long they take
// says when a mutant hangs.
func (t *target) prepare(ctx context.Context, dir string) error {
	t.dir = dir
	t.flags = []string{"-test.failfast", "-test.run=."}
	deps, err := exec.CommandContext(ctx, "go", "list", "-deps", "-test", t.ImportPath).Output()
	if err != nil {
		return fmt.Errorf("go list: %w", explained(err))
	}
	if slices.Contains(strings.Fields(string(deps)), "pgregory.net/rapid") {
		// The same cases every time, and no search for a smaller failure.
		t.flags = append(t.flags, "-rapid.seed=1", "-rapid.nofailfile", "-rapid.shrinktime=1ms")
	}
	binary := filepath.Join(dir, "unchanged.test")
	if out, err := t.build(ctx, binary, ""); err != nil {
		return fmt.Errorf("%s: %w\n%s", t.ImportPath, err, out)
	}
	t.seconds = 600
	out, took, err := t.test(ctx, binary, -1)
	if err != nil {
		return fmt.Errorf("%s fails unchanged: %w\n%s", t.ImportPath, err, out)
	}
	t.seconds = 3 + int(4*took.Seconds())
	return os.Remove(binary)
}

// overlay has the compiler read other content in place of the package's files.
func (t *target) overlay(name string, content map[string][]byte) (string, error) {
	replace := map[string]string{}
	for file, source := range content {
		other := filepath.Join(t.dir, name+"-"+file)
		if err := os.WriteFile(other, source, 0o600); err != nil {
			return "", err
		}
		replace[filepath.Join(t.Dir, file)] = other
	}
	list, err := json.Marshal(map[string]any{"Replace": replace})
	if err != nil {
		return "", err
	}
	file := filepath.Join(t.dir, name+".json")
	return file, os.WriteFile(file, list, 0o600)
}

func (t *target) build(ctx context.Context, binary, overlay string) ([]byte, error) {
	args := []string{"test", "-c", "-gcflags=-e", "-ldflags=-s -w", "-o", binary}
	if overlay != "" {
		args = append(args, "-overlay", overlay)
	}
	return exec.CommandContext(ctx, "go", append(args, t.ImportPath)...).CombinedOutput()
}

// memory bounds the address space of a mutant, in KiB: some grow without end.
const memory = 6 << 20

// asleep is how long a mutant may take that waits for something and uses no
// processor.
const asleep = 10 * time.Minute

// test runs a test binary as a mutant, or as it is when the number is below 0.
// Its time is counted on the processor, so that a busy machine spoils nothing.
func (t *target) test(ctx context.Context, binary string, mutant int) (out []byte, took time.Duration, err error) {
	ctx, cancel := context.WithTimeout(ctx, asleep)
	defer cancel()
	limited := fmt.Sprintf(`ulimit -v %d 2>/dev/null; ulimit -t %d; exec "$0" "$@"`, memory, t.seconds)
	cmd := exec.CommandContext(ctx, "sh", append([]string{"-c", limited, binary}, t.flags...)...)
	cmd.Dir = t.Dir
	cmd.Env = append(os.Environ(), "GOMAXPROCS=1", chosen+"="+strconv.Itoa(mutant))
	out, err = cmd.CombinedOutput()
	if cmd.ProcessState != nil {
		took = cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
	}
	return out, took, err
}

// meet runs the tests against a mutant.
func (t *target) meet(ctx context.Context, binary string, mutant int) (Outcome, error) {
	_, _, err := t.test(ctx, binary, mutant)
	var failed *exec.ExitError
	switch {
	case ctx.Err() != nil:
		return "", ctx.Err()
	case err == nil:
		return Survived, nil
	case !errors.As(err, &failed):
		return "", err
	case failed.ExitCode() < 0: // by a signal
		return Hung, nil
	}
	return Killed, nil
}

// alone compiles one mutant and meets it: for constants and variables of the
// package, which are set before a mutant could be chosen.
func (t *target) alone(ctx context.Context, m Mutant, n int) (Outcome, error) {
	name := strconv.Itoa(n)
	overlay, err := t.overlay(name, map[string][]byte{m.File: m.Apply(t.sources[m.File])})
	if err != nil {
		return "", err
	}
	binary := filepath.Join(t.dir, name+".test")
	defer os.Remove(binary)
	if _, err := t.build(ctx, binary, overlay); err != nil {
		return Unsound, ctx.Err()
	}
	return t.meet(ctx, binary, -1)
}

// mutants lists those of all the package's files.
func (t *target) mutants() (all []Mutant, err error) {
	t.sources = map[string][]byte{}
	for _, name := range t.GoFiles {
		source, err := os.ReadFile(filepath.Join(t.Dir, name))
		if err != nil {
			return nil, err
		}
		t.sources[name] = source
		mutants, err := Mutants(name, source)
		if err != nil {
			return nil, err
		}
		all = append(all, mutants...)
	}
	return all, nil
}

// complaint is an error of the compiler.
var complaint = regexp.MustCompile(`(?m)(?:^|[/\\])together-([^/\\:]+\.go):(\d+):\d+: (.*)$`)

// together compiles the mutants that can be chosen while the tests run into one
// binary. Those that do not compile are taken out and given back.
func (t *target) together(ctx context.Context, mutants map[int]Mutant) (binary string, unsound []int, err error) {
	binary = filepath.Join(t.dir, "together.test")
	for {
		content := map[string][]byte{switchFile: []byte(switchSource(t.Name))}
		schemas := map[string]schema{}
		for name, source := range t.sources {
			own := map[int]Mutant{}
			for n, m := range mutants {
				if m.File == name {
					own[n] = m
				}
			}
			if schemas[name], err = schemaOf(name, source, own); err != nil {
				return "", nil, err
			}
			content[name] = schemas[name].source
		}
		overlay, err := t.overlay("together", content)
		if err != nil {
			return "", nil, err
		}
		out, err := t.build(ctx, binary, overlay)
		if err == nil {
			return binary, unsound, nil
		}
		if ctx.Err() != nil {
			return "", nil, ctx.Err()
		}
		before := len(mutants)
		for _, c := range complaint.FindAllStringSubmatch(string(out), -1) {
			line, _ := strconv.Atoi(c[2])
			if n, ok := schemas[c[1]].at(line); ok {
				if _, there := mutants[n]; there {
					delete(mutants, n)
					unsound = append(unsound, n)
				}
			}
		}
		if len(mutants) == before {
			return "", nil, fmt.Errorf("the mutants of %s do not compile together: %w\n%s", t.ImportPath, err, out)
		}
	}
}

// run meets the mutants that are wanted, as many at a time as there are
// processors to use, and gives the results in the order of the files.
func (t *target) run(ctx context.Context, wanted func(Mutant) bool, told func(Result)) ([]Result, error) {
	all, err := t.mutants()
	if err != nil {
		return nil, err
	}
	all = slices.DeleteFunc(all, func(m Mutant) bool { return !wanted(m) })
	choosable := map[int]Mutant{}
	for n, m := range all {
		if m.inBody {
			choosable[n] = m
		}
	}
	binary, unsound, err := t.together(ctx, choosable)
	if err != nil {
		return nil, err
	}
	if out, _, err := t.test(ctx, binary, -1); err != nil {
		return nil, fmt.Errorf("%s fails with no mutant chosen: %w\n%s", t.ImportPath, err, out)
	}
	try := func(n int) (Outcome, error) {
		switch {
		case !all[n].inBody:
			return t.alone(ctx, all[n], n)
		case slices.Contains(unsound, n):
			return Unsound, nil
		}
		return t.meet(ctx, binary, n)
	}
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	results := make([]Result, len(all))
	next := make(chan int)
	var workers sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		workers.Go(func() {
			for n := range next {
				o, err := try(n)
				if err != nil {
					cancel(err)
					continue
				}
				results[n] = Result{all[n], o}
				told(results[n])
			}
		})
	}
	for n := range all {
		next <- n
	}
	close(next)
	workers.Wait()
	return results, context.Cause(ctx)
}

// explained adds what a command wrote to its error.
func explained(err error) error {
	if e, ok := errors.AsType[*exec.ExitError](err); ok {
		return fmt.Errorf("%w: %s", err, bytes.TrimSpace(e.Stderr))
	}
	return err
}
