package advice

import (
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// cup is a competition so many days after the next Monday.
func cup(days int) Competition { return Competition{Name: "Cup", Date: nextMonday.AddDays(days)} }

// TestTaperWhen: in the three weeks that begin before a competition, and until the day
// before it.
func TestTaperWhen(t *testing.T) {
	for _, c := range []struct {
		why   string
		days  []int // of the competitions, after the Monday
		until int   // the last day, after the Monday; 0 for none
	}{
		{"three weeks before", []int{21}, 6},
		{"a day sooner", []int{22}, 0},
		{"in the week, on its Saturday", []int{5}, 4},
		{"on the next Monday", []int{7}, 6},
		{"on the Tuesday", []int{1}, 0 + 7}, // until the Monday itself
		{"on the Monday, too late", []int{0}, 0},
		{"over", []int{-3}, 0},
		{"over, and another", []int{-3, 12}, 6},
		{"far away", []int{60}, 0},
		{"none", nil, 0},
	} {
		a := practising(fourParts(), stands(24, 1, inRow(circle5, 3, 6)))
		for _, d := range c.days {
			a.Competitions = append(a.Competitions, cup(d))
		}
		all := Propose(a)
		got := proposed(all, Taper)
		if c.until == 0 {
			if len(got) != 0 || len(proposed(all, MoveTime)) != 1 {
				t.Errorf("%s: got %+v, want time to move as without a competition", c.why, all)
			}
			continue
		}
		if len(got) != 1 || got[0].From != nextMonday || got[0].Until != nextMonday.AddDays(c.until%7) || got[0].Skill != "chip" {
			t.Errorf("%s: got %+v, want it until day %d", c.why, got, c.until%7)
		}
		if len(proposed(all, MoveTime)) != 0 {
			t.Errorf("%s: time is moved twice", c.why)
		}
	}
}

// TestTaperWhat: from technique to what is played out, or else to the test, or to random
// practice, within the programme's limits; and said where there is nothing to move.
func TestTaperWhat(t *testing.T) {
	ks := func(k curriculum.BlockKind, share int) curriculum.KindShare {
		return curriculum.KindShare{Kind: k, Share: share}
	}
	const technique, random, test, playout = curriculum.Technique, curriculum.Random, curriculum.Test, curriculum.Playout
	week := func(shares ...curriculum.KindShare) WeekAhead {
		w := fourParts()
		w.Plans[0].Blocks = nil
		for _, s := range shares {
			w.Plans[0].Blocks = append(w.Plans[0].Blocks, curriculum.Block{Kind: s.Kind, Share: s.Share})
		}
		return w
	}
	for _, c := range []struct {
		why    string
		week   WeekAhead
		limits []curriculum.Limit
		want   []curriculum.KindShare
		label  string
		reason string
		text   string
	}{
		{"played out", week(ks(technique, 40), ks(test, 30), ks(playout, 30)), nil, []curriculum.KindShare{ks(playout, 40), ks(technique, 30)},
			"Week of 8 June, before Cup: balls played out 40 % of the time, technique 30 %",
			"Cup begins on 20 June. Balls played out from 30 to 40 % of the time, technique from 40 to 30 %. Coaches commonly do this; nobody has measured it for the short game.",
			"Cup is on 20 June: from 8 June on, more time for balls played out and less for technique."},
		{"no more may be played out", week(ks(technique, 40), ks(test, 30), ks(playout, 30)), []curriculum.Limit{{Kind: playout, AtMost: 33}}, []curriculum.KindShare{ks(test, 40), ks(technique, 30)},
			"Week of 8 June, before Cup: test 40 % of the time, technique 30 %",
			"Cup begins on 20 June. The test from 30 to 40 % of the time, technique from 40 to 30 %. In the test every ball counts, and the day's first ball is cold. Coaches commonly do this; nobody has measured it for the short game.",
			"Cup is on 20 June: from 8 June on, more time for the test and less for technique."},
		{"neither", week(ks(technique, 17), ks(random, 83)), nil, []curriculum.KindShare{ks(random, 90), ks(technique, 10)},
			"Week of 8 June, before Cup: random practice 90 % of the time, technique 10 %",
			"Cup begins on 20 June. Random practice from 83 to 90 % of the time, technique from 17 to 10 %. In random practice each ball has one chance. Plan a block that is played out: each ball from a new place until it is holed, as on the course. Coaches commonly do this; nobody has measured it for the short game.",
			"Cup is on 20 June: from 8 June on, more time for random practice and less for technique."},
		{"technique has its least", week(ks(technique, 40), ks(test, 60)), []curriculum.Limit{{Kind: technique, AtLeast: 36, AtMost: 100}}, nil,
			"Before Cup: the time stays as planned",
			"Cup begins on 20 June. The plan's time stays as it is: it has no technique to spare, or no block to give it to. Plan a block that is played out: each ball from a new place until it is holed, as on the course.", ""},
		{"no technique", week(ks(playout, 100)), nil, nil, "Before Cup: the time stays as planned",
			"Cup begins on 20 June. The plan has no technique to spare, so its time stays as it is.", ""},
	} {
		c.week.Limits = c.limits
		for i := range c.week.Limits {
			if c.week.Limits[i].AtMost == 0 {
				c.week.Limits[i].AtMost = 100
			}
		}
		a := practising(c.week, stands(24, 1, inRow(circle5, 3, 6)))
		a.Competitions = []Competition{cup(12)}
		var got Proposal
		for _, p := range Propose(a) {
			if _, taper := p.grounds.(taperAhead); taper {
				got = p
			}
		}
		if got.grounds == nil {
			t.Errorf("%s: nothing is said", c.why)
			continue
		}
		if !slices.Equal(got.Adjustment.Shares, c.want) || (got.Move == Taper) != (c.want != nil) {
			t.Errorf("%s: got %s, %+v, want %+v", c.why, got.Move, got.Adjustment, c.want)
		}
		if label, reason, text := got.Label(Reader{}, "Chip"), got.Reason(Reader{}), got.ToStudent(Reader{}); label != c.label || reason != c.reason || text != c.text {
			t.Errorf("%s: got\n%s\n%s\n%s\nwant\n%s\n%s\n%s", c.why, label, reason, text, c.label, c.reason, c.text)
		}
		later := c.week
		later.Monday = nextMonday.AddDays(7)
		if n := len(a.Later(later, 1)); (n == 1) != (c.want != nil) {
			t.Errorf("%s: a week later: %d, want only what can be accepted", c.why, n)
		}
	}
	if got := (Ahead{Competitions: []Competition{cup(12)}}).Later(WeekAhead{Monday: nextMonday}, 0); got != nil {
		t.Errorf("a week without plans: got %+v", got)
	}
}

// TestTaperTakesNoTimeFromSteps: whatever the plan, a taper moves at most ten points and
// only from technique, keeps the limits, and leaves the blocks in which steps are passed
// no less time than they had.
func TestTaperTakesNoTimeFromSteps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kinds := rapid.Permutation(curriculum.BlockKinds()).Draw(t, "kinds")[:rapid.IntRange(1, 5).Draw(t, "blocks")]
		w := fourParts()
		plan := &w.Plans[0]
		plan.Blocks = nil
		left := 100
		for i, k := range kinds {
			share := left
			if i < len(kinds)-1 {
				share = rapid.IntRange(2, left-2*(len(kinds)-i-1)).Draw(t, "share") // a minute at least
			}
			left -= share
			plan.Blocks = append(plan.Blocks, curriculum.Block{Kind: k, Share: share})
			if rapid.Bool().Draw(t, "limited") {
				w.Limits = append(w.Limits, curriculum.Limit{Kind: k, AtLeast: rapid.IntRange(0, share).Draw(t, "least"), AtMost: rapid.IntRange(share, 100).Draw(t, "most")})
			}
		}
		a := practising(w)
		a.Competitions = []Competition{cup(rapid.IntRange(1, 21).Draw(t, "days"))}
		for _, p := range proposed(Propose(a), Taper) {
			if l, share, breaks := p.Adjustment.OutOfLimits(w.Week, w.Limits); breaks {
				t.Fatalf("%+v makes %s %d %%", p.Adjustment, l.Kind, share)
			}
			had, has := sharesOf(*plan), sharesOf(w.Adjusted([]curriculum.Adjustment{p.Adjustment}).Plans[0])
			if less := had[curriculum.Technique] - has[curriculum.Technique]; less < leastMoved || less > mostMoved {
				t.Fatalf("technique gives %d points", less)
			}
			for k := range had {
				if k != curriculum.Technique && has[k] < had[k] {
					t.Fatalf("%s has %d %% instead of %d", k, has[k], had[k])
				}
			}
		}
	})
}

func sharesOf(p curriculum.Plan) map[curriculum.BlockKind]int {
	shares := map[curriculum.BlockKind]int{}
	for _, b := range p.Blocks {
		shares[b.Kind] += b.Share
	}
	return shares
}

// back is a student whose last session was so many days before the next Monday, with a
// plan that was under way all the time or begins anew.
func back(days int, anew bool, s progress.State) Ahead {
	s.LastAt = nextMonday.AddDays(-days).Start(time.UTC)
	a := practising(fourParts(), s)
	a.Habit.Starts, a.Habit.Sessions = []time.Time{s.LastAt}, 30
	if a.Since = nextMonday.AddDays(-200); anew {
		a.Since = nextMonday
	}
	return a
}

// TestRestart: after three weeks the first two have fewer sessions, one that has lapsed
// is to be asked first, and no more is asked of the student than before.
func TestRestart(t *testing.T) {
	state := stands(36, 1, inRow(circle5, 2, 4, 8, 30)) // would go for two steps at once
	if got := Propose(back(20, true, state)); got[0].Move != Advance || len(proposed(got, Restart)) != 0 {
		t.Errorf("20 days: got %+v", got)
	}
	a := back(90, true, state)
	got := Propose(a)
	if n := len(proposed(got, Advance, Raise, MoveTime)); n != 0 {
		t.Errorf("more is asked after 90 days: %+v", got)
	}
	if want := "Not practised for 90 days by then; we assume that this costs about "; !strings.HasPrefix(got[0].Reason(Reader{}), want) {
		t.Errorf("got %q, want it to begin with %q", got[0].Reason(Reader{}), want)
	}
	first := proposed(got, Restart)
	if len(first) != 1 || first[0].Adjustment.Kind != curriculum.FewerSessions || first[0].Adjustment.PerWeek != 2 || first[0].From != nextMonday || first[0].Until != nextMonday.AddDays(6) {
		t.Fatalf("the first week: got %+v, want half of 3 sessions", first)
	}
	for got, want := range map[string]string{
		first[0].Label(Reader{}, "Chip"): "Start again with 2 sessions instead of 3",
		first[0].Reason(Reader{}):        "A break of 90 days. Half of the planned sessions in the first week and three quarters in the second let the load rise slowly; the shares are our choice.",
		first[0].ToStudent(Reader{}):     "After the break, 2 sessions will do this week. Build up slowly, and stop if it hurts.",
	} {
		if got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	later := a.Weeks[0]
	later.Plans = slices.Clone(later.Plans)
	later.Monday, later.Plans[0].Times = nextMonday.AddDays(7), 4
	second := a.Later(later, 1)
	if len(second) != 1 || second[0].Adjustment.PerWeek != 3 || second[0].From != later.Monday || second[0].Label(Reader{}, "") != "Second week back: 3 sessions instead of 4" {
		t.Errorf("the second week: got %+v, want three quarters of 4", second)
	}
	if third := a.Later(later, 2); third != nil {
		t.Errorf("the third week: got %+v", third)
	}
	one := back(90, true, state)
	one.Weeks[0].Plans[0].Times = 1
	if got := proposed(Propose(one), Restart); len(got) != 0 {
		t.Errorf("of one session none is left out: got %+v", got)
	}
	lapsed := Propose(back(90, false, state))
	if len(lapsed) != 1 || lapsed[0].Move != Hold || !strings.Contains(lapsed[0].Reason(Reader{}), "Find out why") {
		t.Errorf("lapsed: got %+v", lapsed)
	}
	gone := back(90, false, state)
	gone.Competitions = []Competition{cup(12)}
	if got := gone.Later(later, 1); got != nil {
		t.Errorf("lapsed, a week later: got %+v", got)
	}
	for days, want := range map[int]int{1: 3, 7: 3, 8: 0} { // the first session back, before the Monday
		came := back(90, false, state)
		came.Weeks[0].Plans[0].Times = 4
		came.Habit.Starts = append(came.Habit.Starts, nextMonday.AddDays(-days).Start(time.UTC))
		got := proposed(Propose(came), Restart)
		if (len(got) == 1) != (want > 0) || want > 0 && (got[0].Adjustment.PerWeek != want || !strings.HasPrefix(got[0].Label(Reader{}, ""), "Second week back")) {
			t.Errorf("back %d days before the Monday: got %+v, want %d sessions", days, got, want)
		}
	}
	same := back(90, false, state)
	same.Habit.Starts = []time.Time{nextMonday.AddDays(-23).Start(time.UTC), nextMonday.AddDays(-3).Start(time.UTC)}
	if got := proposed(Propose(same), Restart); len(got) != 0 {
		t.Errorf("20 days are no break: got %+v", got)
	}
	never := back(90, true, state)
	never.Habit = progress.Habit{}
	if got := proposed(Propose(never), Restart); len(got) != 0 {
		t.Errorf("who never came does not come back: got %+v", got)
	}
}

// TestRestartIsEasier: what has faded makes a step too hard that was about right, by what
// the academy's students lose; nothing faded, nothing changes. A skill that was never
// practised has nothing to lose.
func TestRestartIsEasier(t *testing.T) {
	state := stands(24, 1, inRow(circle5, 3, 9))
	chance := func(fade float64, days int) Proposal {
		a := back(days, true, state)
		a.Fades = map[domain.ID]estimate.Fade{"chip": {Students: 9, UsualGap: 3, FourWeeks: estimate.FadeAfter{Days: 28, Logits: fade}}}
		return Propose(a)[0]
	}
	none, some := chance(0, 90), chance(1.2, 90)
	if none.Now <= some.Now || some.Move != Ease || !strings.Contains(some.Reason(Reader{}), "by then; your students lose about ") {
		t.Errorf("after fading: %+v, without: %+v", some, none)
	}
	if short := chance(1.2, 10); short.Now != none.Now {
		t.Errorf("ten days are no break: %v, want %v", short.Now, none.Now)
	}
	fresh := back(90, true, state)
	fresh.Skills = nil
	if got := Propose(fresh)[0]; got.Reason(Reader{}) != tooFew(0) {
		t.Errorf("a new skill: got %q", got.Reason(Reader{}))
	}
	// A student who is far ahead of the ladder loses nothing that matters.
	easy := Propose(back(90, true, stands(36, 1, inRow(circle5, 2, 4, 8, 30))))
	if easy[0].Move != Hold || !strings.HasSuffix(easy[0].Reason(Reader{}), "See first what is left, before you ask for more.") {
		t.Errorf("got %s: %q", easy[0].Move, easy[0].Reason(Reader{}))
	}
}
