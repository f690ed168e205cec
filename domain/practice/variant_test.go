package practice_test

import (
	"testing"

	"fringework/domain/curriculum"
)

// TestVersionsArePlans: a session is held against the version of its plan for the day:
// its own minutes, kinds and least number of balls. The hour of four quarters has 20
// minutes in short, five a block, and 40 in rain; ten balls are half of the short one's.
func TestVersionsArePlans(t *testing.T) {
	for _, c := range []struct {
		name    string
		variant curriculum.Variant
		surface curriculum.Surface
		kind    curriculum.BlockKind // of block 4, which the plan tests
		planned int                  // of that block, in seconds
		expects int                  // balls
		counts  bool                 // with ten balls in five minutes
	}{
		{"the plan", "", "", curriculum.Test, 900, 60, false},
		{"in short", curriculum.ShortHour, "", curriculum.Technique, 300, 20, true},
		{"a test in short", curriculum.ShortHour, "", curriculum.Test, 0, 20, true},
		{"in rain", curriculum.InRain, "", curriculum.Technique, 600, 40, false},
		{"one ball", curriculum.OneBall, "", curriculum.Playout, 900, 47, false}, // 30 minutes of balls, 30 of 35 places an hour
		{"on a mat", curriculum.ClosedGreen, curriculum.OnMat, curriculum.Technique, 900, 60, false},
		{"no such day", curriculum.InRain, curriculum.OnMat, curriculum.Test, 900, 60, false},
	} {
		h := open(t)
		s := session("s", 1, block(c.kind, h.pitch, "oooooooooo"))
		s.Assignment, s.Week, s.Plan, s.Variant, s.Surface = h.work, 1, 1, c.variant, c.surface
		s.Blocks[0].PlanBlock, s.Blocks[0].Seconds = 4, 300
		got := h.put(ada, s)
		if e := got.Session.Effort(); got.Session.Blocks[0].Planned != c.planned || e.Expected() != c.expects || got.Session.Counts() != c.counts {
			t.Errorf("%s: %d s planned, %d balls expected, counts %v; want %d, %d, %v", c.name, got.Session.Blocks[0].Planned, e.Expected(), got.Session.Counts(), c.planned, c.expects, c.counts)
		}
	}
}

// TestNoVersionPassesAStep: twelve in a row pass a step in a test, and none in any
// version, whatever kind of block a client says it was; on a green they still count for
// the rate.
func TestNoVersionPassesAStep(t *testing.T) {
	for _, day := range append(curriculum.Days(), curriculum.Day{}) {
		h := open(t)
		s := session("s", 1, block(curriculum.Test, h.pitch, "iiiiiiiiiiii"))
		s.Assignment, s.Week, s.Plan, s.Variant, s.Surface = h.work, 1, 1, day.Variant, day.Surface
		got := h.put(ada, s)
		if passed := len(got.Milestones) > 0; passed != (day.Variant == "") {
			t.Errorf("%q on %q: %d steps are passed", day.Variant, day.Surface, len(got.Milestones))
		}
		state := h.kept(adaID).States[0]
		if rated := state.Recent.Judged > 0; rated == day.Surface.Off() {
			t.Errorf("%q on %q: %d balls count for the rate", day.Variant, day.Surface, state.Recent.Judged)
		}
		if best := state.Best().Length; best > 0 != (day.Variant == "") {
			t.Errorf("%q on %q: a best of %d", day.Variant, day.Surface, best)
		}
	}
}

// TestVersionsTimesAreTold: what a version leaves out is not missed.
func TestVersionsTimesAreTold(t *testing.T) {
	h := open(t)
	s := session("s", 1, block(curriculum.Technique, h.pitch, "oooooooooooo"))
	s.Assignment, s.Week, s.Plan, s.Variant = h.work, 1, 1, curriculum.ShortHour
	s.Blocks[0].PlanBlock, s.Blocks[0].Seconds = 2, 300
	var planned int
	var test bool
	for _, k := range h.put(ada, s).Session.Time().Times {
		planned += k.Planned
		test = test || k.Kind == string(curriculum.Test)
	}
	if planned != 1200 || test {
		t.Errorf("%d s planned, a test among them: %v; want 1200 and none", planned, test)
	}
}
