package estimate

import (
	"math"
	"testing"
)

// The limits of the flags were set on simulated learners, or are our choice
// (stall.go); here each is met from both sides.

const little = 1e-9

// after judges sessions of 20 balls, all with the same chances, and gives the
// flags that stand then.
func after(sessions int, now chances, next float64) *flags {
	g := &flags{}
	for i := 1; i <= sessions; i++ {
		g.judge(now, next, i, 20, i-1)
	}
	return g
}

// improving raises nothing.
var improving = chances{neverRose: 0.1, levelled: 0.1, rising: 0.8}

func TestSlippingAtItsLimits(t *testing.T) {
	falls := func(p float64) chances { return chances{falling: p, rising: 1 - p} }
	for _, c := range []struct {
		sessions int
		falling  float64
		want     bool
	}{{6, 0.62 + little, true}, {6, 0.62, false}, {5, 0.9, false}, {7, 0.9, true}} {
		if g := after(c.sessions, falls(c.falling), math.NaN()); g.slipping.on != c.want {
			t.Errorf("%d sessions, falling %v: slipping is %v, want %v", c.sessions, c.falling, g.slipping.on, c.want)
		}
	}
	for _, c := range []struct {
		falling float64
		want    bool
	}{{0.3, true}, {0.3 - little, false}} {
		g := after(6, falls(0.9), math.NaN())
		if g.judge(falls(c.falling), math.NaN(), 7, 20, 6); g.slipping.on != c.want {
			t.Errorf("raised, then falling %v: slipping is %v, want %v", c.falling, g.slipping.on, c.want)
		}
		if g.slipping.raised != 5 {
			t.Errorf("slipping was raised at session index %d, want 5, the sixth", g.slipping.raised)
		}
	}
	// A student who slips is not told to be flat as well.
	if g := after(9, chances{falling: 0.7, neverRose: 0.3}, math.NaN()); !g.slipping.on || g.flat.on {
		t.Errorf("slipping %v and flat %v, want slipping alone", g.slipping.on, g.flat.on)
	}
}

func TestFlatAtItsLimits(t *testing.T) {
	// The rest falls, but not so much as to be slipping.
	stays := func(neverRose, levelled, rising float64) chances {
		return chances{falling: 1 - neverRose - levelled - rising, neverRose: neverRose, levelled: levelled, rising: rising}
	}
	for _, c := range []struct {
		why      string
		sessions int
		now      chances
		want     bool
	}{
		{"never rose, below 0.05", 8, stays(0.6, 0, 0.03-little), true},
		{"never rose, at 0.05", 8, stays(0.6, 0, 0.03+little), false},
		{"levelled off, below 0.10", 8, stays(0, 0.6, 0.06-little), true},
		{"levelled off, at 0.10", 8, stays(0, 0.6, 0.06+little), false},
		{"never rose, too early", 7, stays(0.9, 0, 0), false},
		{"the first look, below 0.24", 15, stays(0.5, 0, 0.12-little), true},
		{"the first look, at 0.24", 15, stays(0.5, 0, 0.12+little), false},
		{"before the first look", 14, stays(0.5, 0, 0.12-little), false},
	} {
		if g := after(c.sessions, c.now, math.NaN()); g.flat.on != c.want {
			t.Errorf("%s, %d sessions: flat is %v, want %v", c.why, c.sessions, g.flat.on, c.want)
		}
	}
	// The first look is one session, and the student's, not the window's.
	late := after(15, improving, math.NaN())
	if late.judge(stays(0.5, 0, 0.12-little), math.NaN(), 16, 20, 15); late.flat.on {
		t.Error("the sixteenth session is judged by the limit of the first look")
	}
	part := &flags{truncated: true}
	if part.judge(stays(0.5, 0, 0.12-little), math.NaN(), 15, 20, 14); part.flat.on {
		t.Error("the fifteenth session of a window is taken for the student's")
	}
	for _, c := range []struct {
		rising float64
		want   bool
	}{{0.5, true}, {0.5 + little, false}} {
		g := after(8, stays(0.9, 0, 0), math.NaN())
		if g.judge(chances{neverRose: 1 - c.rising, rising: c.rising}, math.NaN(), 9, 20, 8); g.flat.on != c.want {
			t.Errorf("raised, then rising %v: flat is %v, want %v", c.rising, g.flat.on, c.want)
		}
	}
}

// TestFlatAfterAMilestone: six sessions first, the sixth included.
func TestFlatAfterAMilestone(t *testing.T) {
	flat := chances{neverRose: 1}
	g := after(12, flat, math.NaN())
	g.milestone()
	if g.flat.on || g.overreached.on || g.outgrown.on {
		t.Error("a milestone leaves a flag up")
	}
	for i := 1; i <= 7; i++ {
		g.judge(flat, math.NaN(), 12+i, 20, 11+i)
		if want := i >= 6; g.flat.on != want {
			t.Errorf("%d sessions after the milestone: flat is %v, want %v", i, g.flat.on, want)
		}
	}
}

func TestTierFlagsAtTheirLimits(t *testing.T) {
	for _, c := range []struct {
		why                   string
		sessions, balls       int
		next                  float64
		overreached, outgrown bool
	}{
		{"below one per cent", 3, 20, 0.01 - little, true, false},
		{"one per cent", 3, 20, 0.01, false, false},
		{"too few sessions", 2, 40, 0.001, false, false},
		{"59 balls", 3, 0, 0.001, false, false},
		{"above 95 per cent", 3, 20, 0.95 + little, false, true},
		{"95 per cent", 3, 20, 0.95, false, false},
		{"easy, too few sessions", 2, 40, 0.99, false, false},
		{"easy, 59 balls", 3, 0, 0.99, false, false},
		{"without a tier", 5, 20, math.NaN(), false, false},
	} {
		g := &flags{}
		for i := 1; i <= c.sessions; i++ {
			balls := c.balls
			if balls == 0 { // 20, 20 and 19
				balls = 20 - i/3
			}
			g.judge(improving, c.next, i, balls, i-1)
		}
		if g.overreached.on != c.overreached || g.outgrown.on != c.outgrown {
			t.Errorf("%s: overreached %v, outgrown %v, want %v, %v", c.why, g.overreached.on, g.outgrown.on, c.overreached, c.outgrown)
		}
	}
	for _, c := range []struct {
		raise, then float64
		overreached bool
		outgrown    bool
	}{
		{0.001, 0.02, true, false}, {0.001, 0.02 + little, false, false},
		{0.99, 0.85, false, true}, {0.99, 0.85 - little, false, false},
	} {
		g := after(3, improving, c.raise)
		g.judge(improving, c.then, 4, 20, 3)
		if g.overreached.on != c.overreached || g.outgrown.on != c.outgrown {
			t.Errorf("%v, then %v: overreached %v, outgrown %v, want %v, %v", c.raise, c.then, g.overreached.on, g.outgrown.on, c.overreached, c.outgrown)
		}
	}
	// Three easy sessions in a row: a harder one between starts them anew.
	g := &flags{}
	for i, next := range []float64{0.99, 0.99, 0.9, 0.99, 0.99, 0.99} {
		g.judge(improving, next, i+1, 20, i)
		if want := i == 5; g.outgrown.on != want {
			t.Errorf("after session %d: outgrown is %v, want %v", i+1, g.outgrown.on, want)
		}
	}
}

// TestRisesAtItsLimits: at least even odds of rising, and at most one in ten of
// never having risen or falling.
func TestRisesAtItsLimits(t *testing.T) {
	for _, c := range []struct {
		now  chances
		want bool
	}{
		{chances{falling: 0.05, neverRose: 0.05 - little, levelled: 0.4, rising: 0.5}, true},
		{chances{falling: 0.05, neverRose: 0.05 + little, levelled: 0.4, rising: 0.5}, false},
		{chances{falling: 0.04, neverRose: 0.04, levelled: 0.42 + little, rising: 0.5 - little}, false},
		{chances{levelled: 0.1, rising: 0.9}, true},
		{chances{falling: 0.2, rising: 0.8}, false},
		{chances{neverRose: 0.2, rising: 0.8}, false},
	} {
		if got := c.now.rises(); got != c.want {
			t.Errorf("%+v: rises is %v, want %v", c.now, got, c.want)
		}
	}
}

// TestLatchStaysUp: it is raised once, keeps when, and comes down only
// when nothing asks for it.
func TestLatchStaysUp(t *testing.T) {
	var f latch
	for i, step := range []struct {
		up, down bool
		on       bool
		raised   int
	}{{false, false, false, 0}, {true, true, true, 1}, {true, true, true, 1}, {false, false, true, 1}, {true, false, true, 1}, {false, true, false, 1}, {false, false, false, 1}, {true, false, true, 7}} {
		if f.set(step.up, step.down, i); f.on != step.on || f.raised != step.raised {
			t.Errorf("step %d: on %v since %d, want %v since %d", i, f.on, f.raised, step.on, step.raised)
		}
	}
}
