package learners

import (
	"math/rand/v2"
	"strings"
	"testing"
)

// TestFound: what the table counts is rare without pressure and common with it.
func TestFound(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	s := struck{sessions: 12, lateFrom: 6, rate: 0.75, drift: drifts[3], stopping: 0.5, beyond: 3}
	calm, _ := found(400, r, func() struck { return s })
	s.drop = 1.5
	troubled, either := found(100, r, func() struck { return s })
	// 5 % and four standard errors; the table says about 95 %.
	if calm > 9.4 || troubled < 80 || either < 70 {
		t.Errorf("found in %v %% without pressure, in %v %% with it, and a difference in %v %%", calm, troubled, either)
	}
}

// TestStruck: sessions end with the run that they stop at, and not before.
func TestStruck(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 6))
	stopped := 0
	for _, session := range (struck{sessions: 400, lateFrom: 4, rate: 0.7, drift: drifts[0], stopping: 1, beyond: 2}).draw(r) {
		run, best := 0, 0
		for _, inside := range session {
			if run++; !inside {
				run = 0
			}
			best = max(best, run)
		}
		if best > 6 || best == 6 && run != 6 || len(session) > 45 || best < 6 && len(session) < 20 {
			t.Fatalf("%d balls, longest run %d, last run %d", len(session), best, run)
		}
		if best == 6 {
			stopped++
		}
	}
	if stopped == 0 || stopped == 400 {
		t.Errorf("%d of 400 sessions stopped", stopped)
	}
	// Late balls of a student who always misses under pressure.
	for _, session := range (struck{sessions: 200, lateFrom: 4, rate: 0.7, drop: 50, drift: drifts[0]}).draw(r) {
		run := 0
		for _, inside := range session {
			if run >= 4 && inside {
				t.Fatal("a late ball is inside")
			}
			if run++; !inside {
				run = 0
			}
		}
	}
}

func TestPressureTable(t *testing.T) {
	table := Pressure(3, 1)
	if n := strings.Count(table, "\n"); n != 2+len(drifts)+5+1+6 {
		t.Errorf("%d lines:\n%s", n, table)
	}
	if Pressure(3, 1) != table {
		t.Error("the same seed gives another table")
	}
}
