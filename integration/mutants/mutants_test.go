package main

import (
	"context"
	"go/parser"
	"go/token"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

const sample = `package p

import (
	"errors"
	"math"
)

const most = 9

func near[T any](all []T, _ int) (n int, err error) {
	if len(all) > most && !full(all...) {
		return 0, errors.New("x")
	}
	for i := range all {
		n += 2
		skip(i, math.Inf(1))
	}
	return n * 3, nil
}

func (c *counter) next() {
	c.at++
	for c.more() {
		c.at = -c.at
		return
	}
}

func full[T any](all ...T) bool { return len(all) < 4 || 0.5 < rate }
`

// TestMutants lists by hand every change of the sample.
func TestMutants(t *testing.T) {
	found, err := Mutants("p.go", []byte(sample))
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, m := range found {
		got = append(got, m.Func+": "+m.Change)
	}
	want := []string{
		"most: 9 → 10", "most: 9 → 8",
		"near: && → ||", "near: > → >=", "near: > → <=", "near: ! left out",
		"near: 0 → 1", "near: 0 → -1",
		"near: left out: n += 2", "near: += → -=", "near: 2 → 3", "near: 2 → 1",
		"near: left out: skip(i, math.Inf(1))",
		"near: * → /", "near: 3 → 4", "near: 3 → 2",
		"counter.next: left out: c.at++", "counter.next: ++ → --",
		"counter.next: c.more() negated",
		"counter.next: left out: c.at = -c.at", "counter.next: minus left out",
		"counter.next: left out: return",
		"full: || → &&", "full: < → <=", "full: < → >=", "full: 4 → 5", "full: 4 → 3",
		"full: 0.5 → 0.55", "full: 0.5 → 0.45", "full: < → <=, 2nd", "full: < → >=, 2nd",
	}
	slices.Sort(got)
	slices.Sort(want)
	if !slices.Equal(got, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	for _, m := range found {
		changed := m.Apply([]byte(sample))
		if string(changed) == sample || strings.Count(string(changed), "\n") != strings.Count(sample, "\n") {
			t.Errorf("%s: got\n%s", m.Change, changed)
		}
		if _, err := parser.ParseFile(token.NewFileSet(), "p.go", changed, parser.SkipObjectResolution); err != nil {
			t.Errorf("%s: %v", m.Change, err)
		}
		if m.inBody != (m.Func != "most") {
			t.Errorf("%s in %s: in a body is %v", m.Change, m.Func, m.inBody)
		}
	}
}

// module writes a module whose test knows two values of a function.
func module(t *testing.T) (dir string) {
	t.Helper()
	dir = t.TempDir()
	for name, text := range map[string]string{
		"go.mod": "module m\n\ngo 1.26\n",
		"p/p.go": "package p\n\nconst least = 5\n\n// Fits says whether n is enough.\nfunc Fits(n int, _ string) bool { return n >= least }\n\n" +
			"func Sum(all ...int) (s int) {\n\tfor i := 0; i < len(all); i++ {\n\t\ts += all[i]\n\t}\n\treturn s\n}\n",
		"p/p_test.go": "package p\n\nimport \"testing\"\n\nfunc TestFits(t *testing.T) {\n\tif Fits(3, \"\") || !Fits(5, \"\") || Sum(1, 2) != 3 {\n\t\tt.Fail()\n\t}\n}\n",
	} {
		file := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(file), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	t.Chdir(dir)
	return dir
}

func run(t *testing.T, o options, list string) (table string, err error) {
	t.Helper()
	o.list = filepath.Join(t.TempDir(), "list.yaml")
	if err := os.WriteFile(o.list, []byte(list), 0o600); err != nil {
		t.Fatal(err)
	}
	o.patterns = []string{"./p"}
	var b strings.Builder
	err = o.run(context.Background(), &b, io.Discard)
	return b.String(), err
}

// TestRun: the module's test kills all but one change, which makes 4 enough:
// its test knows 3 and 5 alone. A loop without an end is killed as well.
func TestRun(t *testing.T) {
	dir := module(t)
	before, err := os.ReadFile(filepath.Join(dir, "p/p.go"))
	if err != nil {
		t.Fatal(err)
	}
	table, err := run(t, options{least: 50, all: true}, "[]")
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []string{"p/p.go:3", "5 → 4", "survived", "5 → 6", ">= → >", "killed", "++ → --", "p: "} {
		if !strings.Contains(table, row) {
			t.Errorf("the table lacks %q:\n%s", row, table)
		}
	}
	if n := strings.Count(table, "survived"); n != 1 {
		t.Errorf("%d survived, want 1:\n%s", n, table)
	}
	if table, err := run(t, options{least: 100}, "[]"); err == nil {
		t.Errorf("a survivor passes for 100 %%:\n%s", table)
	}
	const listed = "- {in: p least, line: const least = 5, changes: [5 → 4], because: nobody asks for four}\n"
	if table, err := run(t, options{least: 100}, listed); err != nil || strings.Contains(table, "survived") {
		t.Errorf("with the survivor listed: %v\n%s", err, table)
	}
	for fault, entry := range map[string]string{
		"a test notices it":       "- {in: p least, line: const least = 5, changes: [5 → 6], because: wrong}\n",
		"there is no such mutant": "- {in: p least, line: const least = 7, changes: [7 → 8], because: gone}\n",
	} {
		if table, err := run(t, options{least: 50}, listed+entry); err == nil || !strings.Contains(table, fault) {
			t.Errorf("an entry at fault: %v, want %q told\n%s", err, fault, table)
		}
	}
	if _, err := run(t, options{}, "- {in: p least, line: x, changes: [y]}\n"); err == nil {
		t.Error("an entry without a reason is taken")
	}
	if after, err := os.ReadFile(filepath.Join(dir, "p/p.go")); err != nil || string(after) != string(before) {
		t.Errorf("the source was changed: %v\n%s", err, after)
	}
}

// TestRunRefuses: a package whose tests fail as it is has no score.
func TestRunRefuses(t *testing.T) {
	dir := module(t)
	file := filepath.Join(dir, "p/p_test.go")
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, []byte(strings.Replace(string(text), "!= 3", "!= 4", 1)), 0o600); err != nil {
		t.Fatal(err)
	}
	if table, err := run(t, options{}, "[]"); err == nil || !strings.Contains(err.Error(), "fails unchanged") {
		t.Errorf("got %v\n%s", err, table)
	}
	if err := (options{}).run(context.Background(), io.Discard, io.Discard); err == nil {
		t.Error("no package is taken for an answer")
	}
}

// TestListIsUpToDate: every entry of the list names a change that there is.
func TestListIsUpToDate(t *testing.T) {
	l, err := readList("equivalent.yaml")
	if err != nil {
		t.Fatal(err)
	}
	of := map[string]map[string]bool{} // by package: the keys of its mutants
	for _, e := range l {
		pkg, _, _ := strings.Cut(e.In, " ")
		if of[pkg] == nil {
			of[pkg] = map[string]bool{}
			files, err := filepath.Glob(filepath.Join("../..", pkg, "*.go"))
			if err != nil {
				t.Fatal(err)
			}
			for _, file := range files {
				source, err := os.ReadFile(file)
				if err != nil {
					t.Fatal(err)
				}
				mutants, err := Mutants(filepath.Base(file), source)
				if err != nil {
					t.Fatal(err)
				}
				for _, m := range mutants {
					of[pkg][strings.Join([]string{pkg + " " + m.Func, m.Text, m.Change}, "\n")] = true
				}
			}
		}
		for _, c := range e.Changes {
			if !of[pkg][strings.Join([]string{e.In, e.Line, c}, "\n")] {
				t.Errorf("%s: there is no change %q of %q; correct integration/mutants/equivalent.yaml, or strike it off", e.In, c, e.Line)
			}
		}
	}
}
