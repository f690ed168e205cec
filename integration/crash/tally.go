//go:build unix

package main

import (
	"fmt"
	"io"
	"sync"
)

// finding is a kind of thing that must not be.
type finding string

const (
	lost    finding = "lost"    // acknowledged, and not there as it was sent
	doubled finding = "doubled" // there or counted more than once
	wrong   finding = "wrong"   // an answer that is not to be given
	differs finding = "differences"
)

// tally counts what happened. Many may count at once.
type tally struct {
	mu  sync.Mutex
	out io.Writer

	kills, starting, databases int
	// acknowledged requests, and those that a kill left without an answer, of
	// which so many had been stored.
	acknowledged, inFlight, stored int
	found                          map[finding]int
	compared                       int
}

// find counts something that must not be, and tells it.
func (t *tally) find(f finding, format string, args ...any) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.found[f]++
	if t.found[f] <= 20 { // the rest is more of the same
		fmt.Fprintf(t.out, "%s: %s\n", f, fmt.Sprintf(format, args...))
	}
}

func (t *tally) add(n *int, by int) {
	t.mu.Lock()
	defer t.mu.Unlock()
	*n += by
}

func (t *tally) line() string {
	t.mu.Lock()
	defer t.mu.Unlock()
	return fmt.Sprintf("%d kills (%d of the database server) and %d more while starting; %d requests acknowledged, %d in flight at a kill (%d of them stored), "+
		"%d lost, %d doubled, %d wrong answers; %d students' progress compared, %d differences",
		t.kills, t.databases, t.starting, t.acknowledged, t.inFlight, t.stored, t.found[lost], t.found[doubled], t.found[wrong], t.compared, t.found[differs])
}

func (t *tally) verdict(engine string) error {
	n := 0
	for _, found := range t.found {
		n += found
	}
	if n > 0 {
		return fmt.Errorf("%s: %d findings, see above", engine, n)
	}
	return nil
}
