package advice

import (
	"math"
	"testing"

	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// TestTimeMoves: why, from where and how much, within the programme's limits.
func TestTimeMoves(t *testing.T) {
	const technique, random, test = curriculum.Technique, curriculum.Random, curriculum.Test
	limit := func(k curriculum.BlockKind, least, most int) curriculum.Limit {
		return curriculum.Limit{Kind: k, AtLeast: least, AtMost: most}
	}
	settled := stands(26, 1, inRow(circle5, 8, 9)) // no step between
	settled.Assessment.Flat, settled.Assessment.Slow = nil, false
	flat := settled
	flat.Assessment.Flat = &estimate.Flag{}
	slow := settled
	slow.Assessment.Slow = true
	near := stands(24, 1, inRow(circle5, 3, 6))
	low := func() (WeekAhead, progress.State) { // random practice is easy already, so that its circle stays
		w := fourParts()
		w.Plans[0].Blocks[2].Drill.Radius = 8 * 3048
		return w, stands(14, 0, inRow(circle5, 4))
	}
	lowWeek, lowState := low()
	for _, c := range []struct {
		why    string
		week   WeekAhead
		state  progress.State
		limits []curriculum.Limit
		to     curriculum.BlockKind
		has    int
		from   curriculum.BlockKind
		less   int
		reason string
	}{
		{"few inside", lowWeek, lowState, nil, technique, 35, random, 15, "Technique from 25 to 35 % of the time and random practice down to 15 %, because few balls finish inside 5 ft."},
		{"practice elsewhere", fourParts(), lowState, nil, test, 35, random, 15, "The test from 25 to 35 % of the time and random practice down to 15 %, so that enough balls still count."},
		{"the step is near", fourParts(), near, nil, test, 35, random, 15, "The test from 25 to 35 % of the time and random practice down to 15 %, because 6 in a row inside 5 ft is within reach."},
		{"random practice has its least", fourParts(), near, []curriculum.Limit{limit(random, 21, 100)}, test, 35, technique, 15, "The test from 25 to 35 % of the time and technique down to 15 %, because 6 in a row inside 5 ft is within reach."},
		{"random practice may give five", fourParts(), near, []curriculum.Limit{limit(random, 20, 100)}, test, 30, random, 20, "The test from 25 to 30 % of the time and random practice down to 20 %, because 6 in a row inside 5 ft is within reach."},
		{"the test may have seven more", fourParts(), near, []curriculum.Limit{limit(test, 0, 32)}, test, 32, random, 18, "The test from 25 to 32 % of the time and random practice down to 18 %, because 6 in a row inside 5 ft is within reach."},
		{"the test has its most", fourParts(), near, []curriculum.Limit{limit(test, 0, 29)}, "", 0, "", 0, ""},
		{"level", fourParts(), flat, nil, random, 35, technique, 15, "Random practice from 25 to 35 % of the time and technique down to 15 %, because the level has settled."},
		{"slow", fourParts(), slow, nil, random, 35, technique, 15, "Random practice from 25 to 35 % of the time and technique down to 15 %, because the level has settled."},
		{"neither", fourParts(), settled, nil, "", 0, "", 0, ""},
	} {
		c.week.Limits = c.limits
		got := proposed(Propose(practising(c.week, c.state)), MoveTime)
		if c.to == "" {
			if len(got) != 0 {
				t.Errorf("%s: got %+v, want none", c.why, got)
			}
			continue
		}
		if len(got) != 1 {
			t.Errorf("%s: got %+v, want one", c.why, got)
			continue
		}
		p := got[0]
		if s := p.Adjustment.Shares; p.Adjustment.Kind != curriculum.OtherShares || s[0] != (curriculum.KindShare{Kind: c.to, Share: c.has}) || s[1] != (curriculum.KindShare{Kind: c.from, Share: c.less}) {
			t.Errorf("%s: got %+v", c.why, p.Adjustment)
		}
		if p.Until != nextMonday.AddDays(6) || p.Skill != "chip" || p.Of != OfSessions {
			t.Errorf("%s: got %+v", c.why, p)
		}
		if got := p.Reason(Reader{}); got != c.reason {
			t.Errorf("%s: got %q, want %q", c.why, got, c.reason)
		}
	}
}

// TestTimeInTheTest: with ten points more in the test 40 balls of two equal parts
// become 48, 28 of them in the test; the student reads where the time goes.
func TestTimeInTheTest(t *testing.T) {
	s := stands(24, 1, inRow(circle5, 3, 6))
	p := proposed(Propose(practising(fourParts(), s)), MoveTime)[0]
	next, _ := s.Next()
	if now, then := lifted(s, next, 20, 20), lifted(s, next, 20, 28); math.Abs(p.Now-now) > 1e-12 || math.Abs(p.Then-then) > 1e-12 {
		t.Errorf("got %v to %v, want %v to %v", p.Now, p.Then, now, then)
	}
	if got := p.Label(Reader{}, "Chip"); got != "Test 35 % of the time, random practice 15 %" {
		t.Errorf("got %q", got)
	}
	if got := p.ToStudent(Reader{}); got != "More time for the test this week, less for random practice." {
		t.Errorf("got %q", got)
	}
}

// TestTimeNeedsBlocks: nothing moves to a kind that the plan has not, from one that
// it needs, or in a plan where nothing counts.
func TestTimeNeedsBlocks(t *testing.T) {
	s := stands(24, 1, inRow(circle5, 3, 6))
	w := fourParts()
	w.Plans[0].Blocks[1].Share, w.Plans[0].Blocks[2].Share, w.Plans[0].Blocks[0].Share = 14, 14, 47
	if got := proposed(Propose(practising(w, s)), MoveTime); len(got) != 0 {
		t.Errorf("nobody can give five: got %+v", got)
	}
	w.Plans[0].Blocks[1].Share, w.Plans[0].Blocks[0].Share = 15, 46
	if got := proposed(Propose(practising(w, s)), MoveTime); len(got) != 1 || got[0].Adjustment.Shares[1] != (curriculum.KindShare{Kind: curriculum.Technique, Share: 10}) {
		t.Errorf("technique can give five: got %+v", got)
	}
	w = fourParts()
	w.Plans[0].Blocks = w.Plans[0].Blocks[:3]
	w.Plans[0].Blocks[0].Share = 50
	if got := proposed(Propose(practising(w, s)), MoveTime); len(got) != 0 {
		t.Errorf("a plan without a test: got %+v", got)
	}
	w = fourParts()
	w.Plans[0].Blocks[1].Skill, w.Plans[0].Blocks[3].Skill = "putt", "putt"
	if got := proposed(Propose(practising(w, s)), MoveTime); len(got) != 0 {
		t.Errorf("a plan in which nothing counts: got %+v", got)
	}
}

// TestStepNear: both sides of the chance from which on a step is near; a finished
// ladder has none.
func TestStepNear(t *testing.T) {
	s := stepAhead{outing: outing{state: stands(26, 1, inRow(circle5, 3, 9)), wanted: 0.7}, week: fourParts()}
	s.focus, _ = s.state.Focus()
	s.rate, s.to = s.state.Assessment.SessionRate(), s.focus
	for _, c := range []struct {
		now, then     float64
		open, settled bool
		want          curriculum.BlockKind
	}{
		{0.35, 0.35, true, false, curriculum.Test},
		{0.349, 0.349, true, false, ""},
		{0.349, 0.35, true, false, curriculum.Test},
		{0.349, 0.35, true, true, curriculum.Random},
		{0.35, 0.35, true, true, curriculum.Test},
		{0.35, 0.35, false, true, curriculum.Random},
		{0.35, 0.35, false, false, ""},
	} {
		s.now, s.then, s.open, s.state.Assessment.Slow, s.state.Assessment.Flat = c.now, c.then, c.open, c.settled, nil
		if got, _ := s.moved(s.week.Plans[0], false); got.to != c.want {
			t.Errorf("%+v: got %q", c, got.to)
		}
	}
}

// TestLimitsOfAWeek: a kind of block without limits may have any share.
func TestLimitsOfAWeek(t *testing.T) {
	w := WeekAhead{Limits: []curriculum.Limit{{Kind: curriculum.Test, AtLeast: 15, AtMost: 60}}}
	if least, most := w.limits(curriculum.Random); least != 0 || most != 100 {
		t.Errorf("random: got %d to %d, want 0 to 100", least, most)
	}
	if least, most := w.limits(curriculum.Test); least != 15 || most != 60 {
		t.Errorf("test: got %d to %d, want 15 to 60", least, most)
	}
}
