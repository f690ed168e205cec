package estimate

import (
	"math"
	"testing"
)

// The limits of the flags were set on simulated learners, or are our choice
// (flags.go); here each is met from both sides.

const little = 1e-9

// after judges sessions of 20 balls, all with the same chances, and gives the
// flags that stand then.
func after(sessions int, now chances, next float64) *flags {
	g := &flags{}
	for i := 1; i <= sessions; i++ {
		g.judge(standing{now, 1, next, i, 20}, i-1)
	}
	return g
}

// improving raises nothing.
var improving = chances{neverRose: 0.1, levelled: 0.1, rising: 0.8}

func TestSlippingAtItsLimits(t *testing.T) {
	falls := func(p float64) chances { return chances{falling: p, rising: 1 - p} }
	for _, c := range []struct {
		sessions        int
		falling, fallen float64
		want            bool
	}{
		{6, 0.82 + little, 1, true}, {6, 0.82, 1, false}, {5, 0.9, 1, false}, {7, 0.9, 1, true},
		{6, 0.9, 0.3, true}, {6, 0.9, 0.3 - little, false}, // a fall of 0.3 logits matters
	} {
		g := &flags{}
		for i := 1; i <= c.sessions; i++ {
			g.judge(standing{falls(c.falling), c.fallen, math.NaN(), i, 20}, i-1)
		}
		if g.slipping.on != c.want {
			t.Errorf("%d sessions, falling %v by %v: slipping is %v, want %v", c.sessions, c.falling, c.fallen, g.slipping.on, c.want)
		}
	}
	for _, c := range []struct {
		falling float64
		want    bool
	}{{0.3, true}, {0.3 - little, false}} {
		g := after(6, falls(0.9), math.NaN())
		if g.judge(standing{falls(c.falling), 0, math.NaN(), 7, 20}, 6); g.slipping.on != c.want {
			t.Errorf("raised, then falling %v: slipping is %v, want %v", c.falling, g.slipping.on, c.want)
		}
		if g.slipping.raised != 5 {
			t.Errorf("slipping was raised at session index %d, want 5, the sixth", g.slipping.raised)
		}
	}
	// A student who slips is not told to be flat or slow as well.
	for _, rest := range []chances{{falling: 0.85, neverRose: 0.15}, {falling: 0.85, slow: 0.15}} {
		g := &flags{flat: latch{on: true}, slow: latch{on: true}}
		if g.judge(standing{rest, 1, math.NaN(), 9, 20}, 8); !g.slipping.on || g.flat.on || g.slow.on {
			t.Errorf("slipping %v, flat %v and slow %v, want slipping alone", g.slipping.on, g.flat.on, g.slow.on)
		}
	}
}

// TestFlatAndSlowAtTheirLimits: flat goes up when a gain worth having has a
// chance below 4 % and a small one below 26 % of the rest, slow when they have one
// below 10 % and above 40 %; between the two neither goes up and neither comes down.
func TestFlatAndSlowAtTheirLimits(t *testing.T) {
	// The rest is divided between a slow rise, staying, and a fall that is not
	// likely enough to be slipping.
	with := func(rising, small float64) chances {
		rest := 1 - rising
		return chances{falling: rest * 0.1, neverRose: rest * (0.6 - small), levelled: rest * 0.3, slow: rest * small, rising: rising}
	}
	for _, c := range []struct {
		why        string
		sessions   int
		now        chances
		flat, slow bool
	}{
		{"a gain improbable", 6, with(0.03-little, 0.1), true, false},
		{"a gain at 3 %", 6, with(0.03, 0.1), false, false},
		{"too early", 5, with(0, 0.1), false, false},
		{"a small gain improbable", 6, with(0.02, 0.26-little), true, false},
		{"a small gain at 26 %", 6, with(0.02, 0.26+little), false, false},
		{"a small gain at 40 %", 6, with(0.02, 0.4-little), false, false},
		{"a small gain likely", 6, with(0.02, 0.4+little), false, true},
		{"a small gain likely, a great one below 10 %", 6, with(0.10-little, 0.5), false, true},
		{"a small gain likely, a great one at 10 %", 6, with(0.10, 0.5), false, false},
		{"a small gain likely, too early", 5, with(0.02, 0.5), false, false},
	} {
		if g := after(c.sessions, c.now, math.NaN()); g.flat.on != c.flat || g.slow.on != c.slow {
			t.Errorf("%s: flat %v and slow %v, want %v and %v", c.why, g.flat.on, g.slow.on, c.flat, c.slow)
		}
	}
	for _, c := range []struct {
		why          string
		before, then chances
		flat, slow   bool
	}{
		{"flat, then a gain at 40 %", with(0, 0), with(0.4, 0), true, false},
		{"flat, then a gain likely", with(0, 0), with(0.4+little, 0), false, false},
		{"flat, then neither", with(0, 0), with(0.02, 0.3), true, false},
		{"flat, then slow", with(0, 0), with(0.02, 0.5), false, true},
		{"slow, then a gain at 40 %", with(0, 0.5), with(0.4, 0.5), false, true},
		{"slow, then a gain likely", with(0, 0.5), with(0.4+little, 0.5), false, false},
		{"slow, then neither", with(0, 0.5), with(0.02, 0.26+little), false, true},
		{"slow, then flat", with(0, 0.5), with(0.02, 0.26-little), true, false},
		{"slow, then no small gain, and a great one at 3 %", with(0, 0.5), with(0.03, 0.2), false, false},
	} {
		g := after(6, c.before, math.NaN())
		if g.judge(standing{c.then, 0, math.NaN(), 7, 20}, 6); g.flat.on != c.flat || g.slow.on != c.slow {
			t.Errorf("%s: flat %v and slow %v, want %v and %v", c.why, g.flat.on, g.slow.on, c.flat, c.slow)
		}
	}
	// The limits themselves belong to neither.
	for small, up := range map[float64]flags{0.4: {}, 0.26: {slow: latch{on: true}}} {
		g := up
		if g.judge(standing{chances{neverRose: 1 - small, slow: small}, 0, math.NaN(), 7, 20}, 6); g.flat.on || g.slow.on != up.slow.on {
			t.Errorf("a small gain at exactly %v: flat %v and slow %v, want neither to change", small, g.flat.on, g.slow.on)
		}
	}
	if g := after(8, chances{rising: 1}, math.NaN()); g.flat.on || g.slow.on || g.slipping.on {
		t.Errorf("a certain rise: %+v, want no flag", g)
	}
}

// TestFlatAfterAMilestone: six sessions first, the sixth included.
func TestFlatAfterAMilestone(t *testing.T) {
	flat := chances{neverRose: 1}
	g := after(12, flat, math.NaN())
	g.milestone()
	if g.flat.on || g.slow.on || g.overreached.on || g.outgrown.on {
		t.Error("a milestone leaves a flag up")
	}
	for i := 1; i <= 7; i++ {
		g.judge(standing{flat, 1, math.NaN(), 12 + i, 20}, 11+i)
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
			g.judge(standing{improving, 1, c.next, i, balls}, i-1)
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
		g.judge(standing{improving, 1, c.then, 4, 20}, 3)
		if g.overreached.on != c.overreached || g.outgrown.on != c.outgrown {
			t.Errorf("%v, then %v: overreached %v, outgrown %v, want %v, %v", c.raise, c.then, g.overreached.on, g.outgrown.on, c.overreached, c.outgrown)
		}
	}
	// Three easy sessions in a row: a harder one between starts them anew.
	g := &flags{}
	for i, next := range []float64{0.99, 0.99, 0.9, 0.99, 0.99, 0.99} {
		g.judge(standing{improving, 1, next, i + 1, 20}, i)
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
		{chances{falling: 0.04, neverRose: 0.04, levelled: 0.42, slow: 0.3, rising: 0.2}, true}, // a slow rise is one
		{chances{levelled: 0.1, rising: 0.9}, true},
		{chances{neverRose: 0.1, rising: 0.9}, true},
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
