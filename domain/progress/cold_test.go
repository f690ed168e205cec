package progress_test

import (
	"math/rand/v2"
	"reflect"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// retest is a block of balls struck cold inside a circle.
func retest(radius domain.Length, outcomes string) progress.PlayedBlock {
	return progress.PlayedBlock{Kind: "test", Purpose: curriculum.Retest, Balls: balls(radius, outcomes)}
}

// planned is a block of the plan.
func planned(n int, b progress.PlayedBlock) progress.PlayedBlock {
	b.PlanBlock = n
	return b
}

// TestOpening: what a session says of its first ball, its retest and its tests.
func TestOpening(t *testing.T) {
	at := func(block, ball int) time.Time { return day1.Add(time.Duration(1000*block+ball) * time.Second) }
	other := progress.PlayedBlock{Kind: "test", Balls: balls(ft3, "ii")}
	for _, c := range []struct {
		why    string
		off    bool
		blocks []progress.PlayedBlock
		want   progress.SessionSummary
	}{
		{"nothing struck", false, []progress.PlayedBlock{block("warmup", "")}, progress.SessionSummary{}},
		{"the later balls in its circle alone", false, []progress.PlayedBlock{block("warmup", "oii"), other, block("random", "ho")}, progress.SessionSummary{FirstAt: at(0, 0), First: estimate.ColdDay{Later: 4, LaterInside: 3}}},
		{"alone in its circle", false, []progress.PlayedBlock{block("warmup", ""), block("warmup", "h"), other}, progress.SessionSummary{FirstAt: at(1, 0), First: estimate.ColdDay{Inside: true}}},
		{"off the green", true, []progress.PlayedBlock{retest(ft5, "iii"), planned(1, block("test", "iii"))}, progress.SessionSummary{FirstAt: at(0, 0)}},
		{
			"a retest, of which ten balls count", false, []progress.PlayedBlock{retest(ft5, "oiiiiiiiihhhh"), retest(ft3, "iii")},
			progress.SessionSummary{FirstAt: at(0, 0), First: estimate.ColdDay{Later: 12, LaterInside: 12}, Retest: &progress.RetestBalls{Radius: ft5, Retest: estimate.Retest{Balls: 10, Inside: 9}}},
		},
		{"one after other balls", false, []progress.PlayedBlock{block("warmup", "i"), retest(ft5, "iii")}, progress.SessionSummary{FirstAt: at(0, 0), First: estimate.ColdDay{Inside: true, Later: 3, LaterInside: 3}}},
		{
			"tests of the plan, one gone on with", false,
			[]progress.PlayedBlock{planned(4, block("test", "oi")), planned(2, block("test", "ii")), planned(3, block("random", "i")), block("test", "i"), planned(5, retest(ft5, "i")), planned(4, block("test", "io")), planned(4, other)},
			progress.SessionSummary{
				FirstAt: at(0, 0), First: estimate.ColdDay{Later: 8, LaterInside: 7},
				Tests: []progress.PlannedTest{{PlanBlock: 2, Radius: ft5, Balls: 2, Inside: 2}, {PlanBlock: 4, Radius: ft5, Balls: 4, Inside: 2}},
			},
		},
	} {
		p := play("s", day1, c.blocks...)
		p.OffGreen = c.off
		got := track(ladder()).Summarise(p)
		if got.Day != domain.DateOf(day1, time.UTC) || !got.FirstAt.Equal(c.want.FirstAt) || got.First != c.want.First || !reflect.DeepEqual(got.Retest, c.want.Retest) || !reflect.DeepEqual(got.Tests, c.want.Tests) {
			t.Errorf("%s: got first %v %+v, retest %+v, tests %+v", c.why, got.FirstAt, got.First, got.Retest, got.Tests)
		}
	}
}

// TestColdDays: the first ball of each day, whatever order the sessions came in; a
// ball off the green before it leaves the day without one.
func TestColdDays(t *testing.T) {
	tr := track(ladder())
	off := play("off", day1.AddDate(0, 0, 3), block("warmup", "iii"))
	off.OffGreen = true
	all := []progress.SessionSummary{
		tr.Summarise(play("a", day1, block("warmup", "oii"))),
		tr.Summarise(play("b", day1.Add(2*time.Hour), block("warmup", "ioo"))),
		tr.Summarise(play("c", day1.AddDate(0, 0, 1), block("warmup", "iio"))),
		tr.Summarise(play("d", day1.AddDate(0, 0, 2), block("warmup", "i"))), // nothing beside it
		tr.Summarise(off),
		tr.Summarise(play("e", day1.AddDate(0, 0, 3).Add(time.Hour), block("warmup", "iii"))),
		tr.Summarise(play("f", day1.AddDate(0, 0, 4), block("warmup", ""))),
		tr.Summarise(play("g", day1.AddDate(0, 0, 40), block("warmup", "hii"))), // another period
	}
	want := []estimate.ColdDay{{Later: 2, LaterInside: 2}, {Inside: true, Later: 2, LaterInside: 1}, {Inside: true, Later: 2, LaterInside: 2}}
	r := rand.New(rand.NewPCG(1, 1))
	for range 5 {
		r.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
		if got := progress.ColdDays(progress.Recompute(tr, all).Periods, domain.Date{}); !reflect.DeepEqual(got, want) {
			t.Errorf("got %+v, want %+v", got, want)
		}
	}
	from := domain.DateOf(day1, time.UTC).AddDays(1)
	if got := progress.ColdDays(progress.Recompute(tr, all).Periods, from); !reflect.DeepEqual(got, want[1:]) {
		t.Errorf("from the second day on: got %+v, want %+v", got, want[1:])
	}
}

// five is a step that ten cold balls hold with six inside.
var five = streak.Tier{Run: 5, Radius: ft5}

// passedFive passes it in a session of its own.
func passedFive(tr progress.Track) progress.SessionSummary {
	return tr.Summarise(play("pass", day1, block("test", "iiiii")))
}

// TestLasting: which retests count for a step, when it is held, and when the next is
// due.
func TestLasting(t *testing.T) {
	two := streak.Tier{Run: 2, Radius: ft5}
	tr := track(ladder(two, five, tight))
	passedAt := day1.Add(4 * time.Second)
	on := func(day float64, blocks ...progress.PlayedBlock) progress.SessionSummary {
		at := day1.Add(time.Duration(day * 24 * float64(time.Hour)))
		return tr.Summarise(play(domain.ID(at.Format("0102.1504")), at, blocks...))
	}
	good, bad := retest(ft5, "iiiiiioooo"), retest(ft5, "iiiioooooo")
	for _, c := range []struct {
		why      string
		sessions []progress.SessionSummary
		counted  int
		held     float64 // day; 0 for not yet
		due      float64 // days after it was passed
	}{
		{"just passed", nil, 0, 0, 7},
		{"held", []progress.SessionSummary{on(8, good)}, 1, 8, 0},
		{"not held yet", []progress.SessionSummary{on(8, bad)}, 1, 0, 22},
		{"twice not held", []progress.SessionSummary{on(8, bad), on(22, bad)}, 2, 0, 50},
		{"too soon", []progress.SessionSummary{on(5.9, good)}, 0, 0, 7},
		{"earlier on the same weekday", []progress.SessionSummary{on(6.1, good)}, 1, 6.1, 0},
		{"too soon after another", []progress.SessionSummary{on(8, bad), on(13.9, good)}, 1, 0, 22},
		{"in another circle", []progress.SessionSummary{on(8, retest(ft3, "iiiiiiiiii"))}, 0, 0, 7},
		{"after the warm-up", []progress.SessionSummary{on(8, block("warmup", "i"), good)}, 0, 0, 7},
		{"in the second session of the day", []progress.SessionSummary{on(8, block("warmup", "i")), on(8.1, good)}, 0, 0, 7},
		{"held in the end", []progress.SessionSummary{on(8, bad), on(22, bad), on(50, good), on(60, good)}, 4, 60, 0},
	} {
		s, _ := recompute(tr, append(c.sessions, passedFive(tr)))
		lasting := s.Lasting()
		if len(lasting) != 2 || lasting[1].Tier != five || lasting[1].Asked != estimate.AskedCold(five) {
			t.Fatalf("%s: got %+v, want two steps passed", c.why, lasting)
		}
		l := lasting[1]
		var held, due time.Time
		if c.held > 0 {
			held = day1.Add(time.Duration(c.held * 24 * float64(time.Hour)))
		} else {
			due = passedAt.Add(time.Duration(c.due * 24 * float64(time.Hour)))
			if c.due > 7 { // counted from the retest before
				due = due.Add(-4 * time.Second)
			}
		}
		if len(l.Retests) != c.counted || !l.HeldAt.Equal(held) || l.Held() != (c.held > 0) || !l.DueAt.Equal(due) {
			t.Errorf("%s: %d retests, held %v, due %v, want %d, %v and %v", c.why, len(l.Retests), l.HeldAt, l.DueAt, c.counted, held, due)
		}
		// What bears five in a row out does so for two.
		if easier := lasting[0]; l.Held() && (!easier.Held() || easier.HeldAt.After(l.HeldAt) || !easier.DueAt.IsZero()) {
			t.Errorf("%s: the easier step is %+v", c.why, easier)
		}
		balls, inside := l.Inside()
		if balls != 10*c.counted || inside > balls || c.counted > 0 && inside < 4*c.counted {
			t.Errorf("%s: %d of %d balls", c.why, inside, balls)
		}
	}
}

// TestDueRetest: the hardest step that waits for one, from a week after it was passed.
func TestDueRetest(t *testing.T) {
	two := streak.Tier{Run: 2, Radius: ft3}
	tr := track(ladder(two, five))
	early := tr.Summarise(play("early", day1.AddDate(0, 0, -5), progress.PlayedBlock{Kind: "test", Balls: balls(ft3, "ii")}))
	s, _ := recompute(tr, []progress.SessionSummary{early, passedFive(tr)})
	for _, c := range []struct {
		day  float64
		want streak.Tier
	}{{-1, streak.Tier{}}, {2, two}, {5.9, two}, {6.1, five}, {90, five}} {
		d, ok := s.DueRetest(day1.Add(time.Duration(c.day * 24 * float64(time.Hour))))
		if ok != (c.want != streak.Tier{}) || d.Tier != c.want {
			t.Errorf("on day %v: got %v of %+v, want %+v", c.day, ok, d.Tier, c.want)
		}
		if ok && (d.Skill != "pitch" || d.Until.Sub(d.DueAt) != 21*24*time.Hour) {
			t.Errorf("on day %v: due from %v to %v at %q", c.day, d.DueAt, d.Until, d.Skill)
		}
	}
	if n, due := s.RetestsHeld(); n != 0 || !due.Equal(day1.AddDate(0, 0, 2).Add(time.Second)) {
		t.Errorf("%d held, the next is due %v", n, due)
	}
	held, _ := recompute(tr, []progress.SessionSummary{early, passedFive(tr), tr.Summarise(play("r", day1.AddDate(0, 0, 9), retest(ft5, "iiiiiiiiii")))})
	if d, ok := held.DueRetest(day1.AddDate(0, 0, 60)); !ok || d.Tier != two {
		t.Errorf("five is held: got %+v, %v, want two", d, ok)
	}
	if n, due := held.RetestsHeld(); n != 1 || !due.Equal(day1.AddDate(0, 0, 2).Add(time.Second)) {
		t.Errorf("%d held, the next is due %v", n, due)
	}
	moved := held
	moved.Ladder = ladder(five)
	if d, ok := moved.DueRetest(day1.AddDate(0, 0, 60)); ok {
		t.Errorf("a step of an earlier ladder is due: %+v", d)
	}
}

// TestRetestsAtTheEndOfAPeriod: a day that two periods share needs the whole record,
// so that no earlier ball of it is overlooked.
func TestRetestsAtTheEndOfAPeriod(t *testing.T) {
	tr := track(ladder(five))
	border := time.Unix(0, 0).UTC().Add(690 * progress.PeriodLength)
	k := &kept{track: tr, state: progress.Recompute(tr, nil).State, summaries: map[domain.ID]progress.SessionSummary{}}
	day := domain.DateOf(border, time.UTC)
	on := func(id domain.ID, at time.Time, blocks ...progress.PlayedBlock) *progress.SessionSummary {
		p := play(id, at, blocks...)
		p.Day = day // in Auckland
		s := tr.Summarise(p)
		return &s
	}
	old := tr.Summarise(play("old", border.AddDate(0, 0, -200), block("test", "io")))
	k.revise(t, "old", &old)
	for i := range estimate.Window + 5 { // so that the period before is not at hand by itself
		s := tr.Summarise(play(sessionID(i), border.Add(time.Duration(48+i)*time.Hour), block("test", "io")))
		k.revise(t, s.Session, &s)
	}
	k.revise(t, "late", on("late", border.Add(time.Hour), retest(ft5, "iiiiiiiiii")))
	if len(k.state.Retests) != 1 || !k.state.Retests[0].Cold {
		t.Fatalf("got %+v", k.state.Retests)
	}
	whole := k.whole
	k.revise(t, "morning", on("morning", border.Add(-5*time.Hour), block("warmup", "i")))
	k.check(t, "an earlier ball")
	if k.whole != whole+1 || len(k.state.Retests) != 1 || k.state.Retests[0].Cold {
		t.Errorf("after an earlier ball the same day: %+v, %d whole records", k.state.Retests, k.whole-whole)
	}
	k.revise(t, "morning", nil)
	k.check(t, "taken back")
	if !k.state.Retests[0].Cold {
		t.Error("the earlier ball was taken back")
	}
}
