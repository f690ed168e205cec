package main

import (
	"fmt"
	"os"
	"strings"

	"go.yaml.in/yaml/v3"
)

// entry says that changes of one line cannot be seen, and why. A line is found
// by its words, so that it may move inside its package.
type entry struct {
	In      string   // "domain/streak Odds.step"
	Line    string   // as it stands, without indentation
	Changes []string // as the table names them
	Because string
}

type list []entry

func readList(name string) (list, error) {
	raw, err := os.ReadFile(name)
	if err != nil {
		return nil, err
	}
	var l list
	if err := yaml.Unmarshal(raw, &l); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	for _, e := range l {
		if e.In == "" || e.Line == "" || len(e.Changes) == 0 || strings.TrimSpace(e.Because) == "" {
			return nil, fmt.Errorf("%s: %q in %q needs in, line, changes and because", name, e.Line, e.In)
		}
	}
	return l, nil
}

// stale is an entry's change that should be struck off the list.
type stale struct {
	In, Line, Change string
	fault            string
}

type score struct {
	results         []Result
	equivalent      []Result
	stale           []stale
	killed, mutants int
}

func (s score) percent() float64 {
	if s.mutants == 0 {
		return 100
	}
	return 100 * float64(s.killed) / float64(s.mutants)
}

// judge counts a package's results against the list. Entries that match
// nothing are only told of when every mutant was tried.
func (l list) judge(name string, results []Result, every bool) (s score) {
	type key struct{ in, line, change string }
	listed := map[key]bool{}
	for _, e := range l {
		if in, _, _ := strings.Cut(e.In, " "); in != name {
			continue
		}
		for _, c := range e.Changes {
			listed[key{e.In, e.Line, c}] = false
		}
	}
	for _, r := range results {
		if r.Outcome == Unsound {
			continue
		}
		s.results = append(s.results, r)
		k := key{name + " " + r.Func, r.Text, r.Change}
		_, ok := listed[k]
		switch {
		case ok && r.Outcome == Survived:
			listed[k] = true
			s.equivalent = append(s.equivalent, r)
			continue
		case ok:
			listed[k] = true
			s.stale = append(s.stale, stale{k.in, k.line, k.change, "a test notices it"})
		}
		s.mutants++
		if r.Outcome != Survived {
			s.killed++
		}
	}
	for _, e := range l {
		for _, c := range e.Changes {
			if matched, ok := listed[key{e.In, e.Line, c}]; every && ok && !matched {
				s.stale = append(s.stale, stale{e.In, e.Line, c, "there is no such mutant"})
			}
		}
	}
	return s
}
