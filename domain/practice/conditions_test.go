package practice_test

import (
	"slices"
	"testing"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/greenside"
	"fringework/domain/practice"
	"fringework/domain/streak"
)

// playedOut is a block of balls that took so many strokes; 1 is holed at once.
func playedOut(strokes ...int) practice.Block {
	b := practice.Block{Kind: curriculum.Playout, Skill: "pitch", Radius: ft5, Seconds: 600}
	for _, n := range strokes {
		ball := practice.Ball{Outcome: streak.Out, Strokes: n}
		if n == 1 {
			ball.Outcome = streak.Holed
		}
		b.Balls = append(b.Balls, ball)
	}
	return b
}

// TestCheckConditions: each fault is named with what to do about it, all at once.
func TestCheckConditions(t *testing.T) {
	in := func(kind curriculum.BlockKind, change func(b *practice.Block)) func(s *practice.Session) {
		return func(s *practice.Session) {
			s.Blocks[0] = block(kind, "pitch", "i")
			change(&s.Blocks[0])
		}
	}
	strokes := func(n int) func(b *practice.Block) { return func(b *practice.Block) { b.Balls[0].Strokes = n } }
	const ball = "/blocks/0/balls/0/strokes"
	for _, c := range []struct {
		why    string
		change func(s *practice.Session)
		want   string
	}{
		{"a green", func(s *practice.Session) { s.Surface = curriculum.OnGreen }, ""},
		{"a mat, on a rainy day's plan", func(s *practice.Session) {
			s.Surface, s.Variant, s.Assignment, s.Week, s.Plan = curriculum.OnMat, curriculum.InRain, "as", 1, 1
		}, ""},
		{"two faults at once", func(s *practice.Session) {
			s.Surface, s.Variant, s.Assignment, s.Week, s.Plan = "sand", "snow", "as", 1, 1
		},
			`[/surface: "sand" is not a surface; use green, mat, carpet or garden, or leave it out on a green]` +
				` [/variant: "snow" is not a version of a plan; use short, one_ball, closed_green or rain, or leave it out for the plan as it stands]`},
		{"a version of no plan", func(s *practice.Session) { s.Variant = curriculum.OneBall },
			"[/variant: is given without assignment_id; say which plan this is a version of, or leave it out]"},
		{"a quiet retest", in(curriculum.Test, func(b *practice.Block) { b.Purpose, b.Quiet = curriculum.Retest, true }), ""},
		{"no such purpose", in(curriculum.Test, func(b *practice.Block) { b.Purpose = "fun" }),
			`[/blocks/0/purpose: "fun" is not a purpose; use first_test, end_test or retest, or leave it out]`},
		{"a quiet warm-up with a purpose", in(curriculum.Warmup, func(b *practice.Block) { b.Purpose, b.Quiet = curriculum.EndTest, true }),
			"[/blocks/0/purpose: only a test has a purpose; leave it out or make the block a test]" +
				" [/blocks/0/quiet: only a test is quiet; leave it out or make the block a test]"},
		{"strokes of a test", in(curriculum.Test, strokes(2)),
			"[" + ball + ": are counted where a ball is played until it is holed; leave them out or make the block playout]"},
		{"a place that was not finished", in(curriculum.Playout, strokes(0)), ""},
		{"a retest of eleven", in(curriculum.Test, func(b *practice.Block) {
			b.Purpose, b.Balls = curriculum.Retest, slices.Repeat([]practice.Ball{{Outcome: streak.In}}, 11)
		}), "[/blocks/0/balls: has 11 balls, and a retest has 10; put the others into a block of their own]"},
		{"a closed green, on a green", func(s *practice.Session) { s.Assignment, s.Week, s.Plan, s.Variant = "a", 1, 1, curriculum.ClosedGreen },
			"[/surface: is a green, which is closed; say which of mat, carpet or garden it was played on]"},
		{"no match", func(s *practice.Session) { s.Match = domain.Nobody }, `[/match_id: "` + string(domain.Nobody) + `" is no match; the calculation "match" makes the ID of a code]`},
		{"up and down", in(curriculum.Playout, strokes(2)), ""},
		{"fifteen", in(curriculum.Playout, strokes(15)), ""},
		{"sixteen", in(curriculum.Playout, strokes(16)), "[" + ball + ": is 16; give the strokes until the ball was holed, 1 to 15, or leave them out when it was not]"},
		{"minus one", in(curriculum.Playout, strokes(-1)), "[" + ball + ": is -1; give the strokes until the ball was holed, 1 to 15, or leave them out when it was not]"},
		{"holed by a stroke that left it inside", in(curriculum.Playout, strokes(1)),
			"[" + ball + `: is 1, and the first stroke did not hole the ball; give 2 or more, or make the ball "holed"]`},
		{"holed at once", func(s *practice.Session) { s.Blocks[0] = playedOut(1) }, ""},
		{"holed twice", func(s *practice.Session) { s.Blocks[0] = playedOut(1); s.Blocks[0].Balls[0].Strokes = 2 },
			"[" + ball + ": is 2, and the ball was holed at once; give 1, or say where the first stroke left it]"},
	} {
		s := session("s", 1, block(curriculum.Test, "pitch", "io"))
		c.change(&s)
		err := s.Check(now)
		if got := ""; err != nil || c.want != "" {
			if err != nil {
				got = err.Error()
			}
			if want := "session_invalid: The session was not saved. Keep it, correct it and send it again. " + c.want; got != want {
				t.Errorf("%s:\ngot  %s\nwant %s", c.why, got, want)
			}
		}
	}
}

// TestGreenIsTheRule: a session that says it was on a green says what one does that
// leaves it out, and is stored like it.
func TestGreenIsTheRule(t *testing.T) {
	h := open(t)
	s := session("s", 1, block(curriculum.Test, h.pitch, "i"))
	h.put(ada, s)
	s.Surface = curriculum.OnGreen
	if got := h.put(ada, s); got.Session.Surface != "" {
		t.Errorf("a replay is stored on %q, want the green left out", got.Session.Surface)
	}
	s.Surface = curriculum.OnMat
	if _, err := h.s.Put(ctx, ada, s); err == nil {
		t.Error("a mat is taken for a replay of the green")
	}
}

// TestOffTheGreenPassesNoStep: the same balls pass a step on a green and none on
// a mat, where the time counts as well.
func TestOffTheGreenPassesNoStep(t *testing.T) {
	for _, surface := range curriculum.Surfaces() {
		h := open(t)
		s := session("s", 1, block(curriculum.Test, h.pitch, "iiiiiiiiiiii"))
		s.Surface = surface
		s.Green = greenside.Green{StimpFt: 9}
		s.Landings = []practice.Landing{{Club: "56", LoftDeg: 56, Lie: greenside.Fairway, Carry: 5 * ft5, Total: 6 * ft5}}
		got := h.put(ada, s)
		state := h.kept(adaID).States[0]
		if passed := len(got.Milestones) > 0; passed == surface.Off() {
			t.Errorf("%s: %d steps are passed", surface, len(got.Milestones))
		}
		if off := state.Recent.Judged == 0; off != surface.Off() {
			t.Errorf("%s: %d balls count for the rate", surface, state.Recent.Judged)
		}
		if state.Totals.Seconds != s.Blocks[0].Seconds || state.Totals.Balls != 12 {
			t.Errorf("%s: totals are %+v, want the time and the balls", surface, state.Totals)
		}
		if landed := len(s.Landed()) > 0; landed == surface.Off() {
			t.Errorf("%s: %d landings teach of the green", surface, len(s.Landed()))
		}
	}
}

// TestFinishingAPlaceIsNoEdit: the strokes that hole a ball at last are more of the
// same session; other strokes than were said are a correction.
func TestFinishingAPlaceIsNoEdit(t *testing.T) {
	h := open(t)
	kinds := func(revisions ...practice.Block) (last string) {
		s := session("s", 0)
		for _, b := range revisions {
			s.Revision++
			b.Skill = h.pitch
			s.Blocks = []practice.Block{b}
			h.put(ada, s)
		}
		all := h.events()
		return all[len(all)-1]
	}
	if got := kinds(playedOut(2, 0), playedOut(2, 3)); got != "session.extended" {
		t.Errorf("finishing a place: got %s, want session.extended", got)
	}
	h = open(t)
	if got := kinds(playedOut(2, 3), playedOut(2, 2)); got != "session.edited" {
		t.Errorf("other strokes: got %s, want session.edited", got)
	}
}
