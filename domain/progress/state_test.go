package progress_test

import (
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

func TestCompareTiers(t *testing.T) {
	want := []streak.Tier{{Run: 3, Radius: ft5}, {Run: 3, Radius: ft3}, {Run: 3, Radius: ft3, Holed: 1}, {Run: 9, Radius: ft5}, {Run: 9, Radius: ft5, Holed: 2}}
	got := slices.Clone(want)
	rand.New(rand.NewPCG(1, 2)).Shuffle(len(got), func(i, j int) { got[i], got[j] = got[j], got[i] })
	slices.SortFunc(got, progress.CompareTiers)
	if !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

func TestAssigned(t *testing.T) {
	at := day1.Add(1500 * time.Microsecond)
	first := ladder(three, nine)
	tr, changed := progress.Track{Student: "ada", Skill: "pitch"}.Assigned(first, at)
	if want := []progress.JudgedTier{{Tier: three}, {Tier: nine}}; !changed || !reflect.DeepEqual(tr.Judged, want) {
		t.Errorf("first ladder: got %v, %+v, want %+v", changed, tr.Judged, want)
	}
	if same, changed := tr.Assigned(ladder(three, nine), at); changed || !reflect.DeepEqual(same, tr) {
		t.Errorf("the same ladder again changed %+v", same)
	}
	before := slices.Clone(tr.Judged)
	next, changed := tr.Assigned(ladder(tight), at)
	if want := []progress.JudgedTier{{Tier: three}, {Tier: tight}, {Tier: nine}}; !changed || !reflect.DeepEqual(next.Judged, want) || !reflect.DeepEqual(next.Ladder, ladder(tight)) {
		t.Errorf("another ladder: got %+v, want its tiers and the ones before", next)
	}
	if !reflect.DeepEqual(tr.Judged, before) {
		t.Errorf("assigning changed the track it came from: %+v", tr.Judged)
	}
	strict, changed := tr.Assigned(streak.Ladder{Tiers: []streak.Tier{nine, tight}, TestOnly: true}, at)
	until := day1.Add(time.Millisecond) // whole milliseconds
	want := []progress.JudgedTier{{Tier: tight}, {Tier: three, OpenUntil: until}, {Tier: nine, OpenUntil: until}}
	slices.SortFunc(want, func(a, b progress.JudgedTier) int { return progress.CompareTiers(a.Tier, b.Tier) })
	if !changed || !reflect.DeepEqual(strict.Judged, want) {
		t.Errorf("test-only: got %+v, want %+v", strict.Judged, want)
	}
}

// TestTechniqueUntil: what was earned in technique blocks while they counted stays
// earned, for the tiers that there were then, and no more is earned in one.
func TestTechniqueUntil(t *testing.T) {
	moved := day1.AddDate(0, 0, 7)
	open := track(streak.Ladder{Tiers: []streak.Tier{three, nine}, Technique: true})
	usual, changed := open.Assigned(ladder(three, tight, nine), moved)
	if !changed || !usual.TechniqueUntil().Equal(moved) || !open.TechniqueUntil().IsZero() {
		t.Fatalf("changed %v, until %v", changed, usual.TechniqueUntil())
	}
	if again, _ := usual.Assigned(streak.Ladder{Tiers: []streak.Tier{three, tight, nine}, Technique: true}, moved.AddDate(0, 0, 7)); !again.TechniqueUntil().IsZero() {
		t.Errorf("technique counts again, and ended at %v", again.TechniqueUntil())
	}
	for _, c := range []struct {
		why     string
		started time.Time
		kind    string
		want    int
	}{
		{"before", moved.Add(-time.Millisecond), "technique", 2},
		{"after", moved, "technique", 0},
		{"a warm-up after", moved, "warmup", 3},
		{"random practice before", day1, "random", 0},
	} {
		s, _ := recompute(usual, []progress.SessionSummary{usual.Summarise(play("s", c.started, block(c.kind, "222222222")))})
		passed := 0
		for _, tier := range s.Tiers {
			if tier.First != nil {
				passed++
			}
		}
		if passed != c.want || !s.TechniqueUntil.Equal(moved) {
			t.Errorf("%s: %d steps passed, want %d; until %v", c.why, passed, c.want, s.TechniqueUntil)
		}
	}
}

// TestTestOnlyKeepsMilestones: what was made in a warm-up stays made when the
// ladder becomes test-only, and no more is made in one.
func TestTestOnlyKeepsMilestones(t *testing.T) {
	moved := day1.AddDate(0, 0, 7)
	open := track(ladder(three, nine))
	strict, _ := open.Assigned(streak.Ladder{Tiers: []streak.Tier{three, tight, nine}, TestOnly: true}, moved)
	before := play("before", day1, block("warmup", "222"))
	late := play("late", moved.Add(-time.Millisecond), block("warmup", "iiiiiiiii"))
	after := play("after", moved, block("warmup", "iiiiiiiii"))
	for _, c := range []struct {
		why   string
		track progress.Track
		plays []progress.Play
		want  []streak.Tier
		held  int
	}{
		{"before the move", open, []progress.Play{before}, []streak.Tier{three}, 1},
		{"kept after it, without the tier that is new", strict, []progress.Play{before}, []streak.Tier{three}, 1},
		{"uploaded late", strict, []progress.Play{late}, []streak.Tier{three, nine}, 3},
		{"played after it", strict, []progress.Play{after}, nil, 0},
	} {
		var summaries []progress.SessionSummary
		for _, p := range c.plays {
			summaries = append(summaries, c.track.Summarise(p))
		}
		s, ms := recompute(c.track, summaries)
		var got []streak.Tier
		for _, m := range ms {
			got = append(got, m.Tier)
		}
		if !slices.Equal(got, c.want) || s.Held != c.held {
			t.Errorf("%s: got %v, %d held, want %v, %d held", c.why, got, s.Held, c.want, c.held)
		}
	}
	open2, _ := strict.Assigned(ladder(three), moved.AddDate(0, 0, 7))
	if r := open2.Summarise(after).Results; r[0].Passed == nil {
		t.Error("a ladder open again does not judge warm-ups")
	}
}

func TestTally(t *testing.T) {
	a := progress.Tally{Sessions: 1, Balls: 2, Inside: 3, Holed: 4, Seconds: 5, AttestedBalls: 6, AttestedInside: 7, AttestedHoled: 8, Misses: progress.Misses{1, 2, 3, 4, 5, 6}}
	b := progress.Tally{Sessions: 10, Balls: 20, Inside: 30, Holed: 40, Seconds: 50, AttestedBalls: 60, AttestedInside: 70, AttestedHoled: 80, Misses: progress.Misses{10, 20, 30, 40, 50, 60}}
	sum := progress.Tally{Sessions: 11, Balls: 22, Inside: 33, Holed: 44, Seconds: 55, AttestedBalls: 66, AttestedInside: 77, AttestedHoled: 88, Misses: progress.Misses{11, 22, 33, 44, 55, 66}}
	if got := a.Plus(b); got != sum {
		t.Errorf("got %+v, want %+v", got, sum)
	}
	if got := sum.Minus(b); got != a {
		t.Errorf("got %+v, want %+v", got, a)
	}
}

func TestRecompute(t *testing.T) {
	tr := track(streak.Ladder{Tiers: []streak.Tier{three, nine}, Technique: true})
	at := func(day int) time.Time { return day1.AddDate(0, 0, day) }
	plays := []progress.Play{
		play("c", at(4), block("test", "iiiioiiiiiiioo")), // 7 of 9 once
		play("a", at(0), block("warmup", "iio")),
		play("b", at(2), block("technique", "oiiio"), block("test", "iii")),
		play("d", at(6), block("random", "iiiiiiiii")), // says nothing of a run
	}
	var summaries []progress.SessionSummary
	for _, p := range plays {
		summaries = append(summaries, tr.Summarise(p))
	}
	s, ms := recompute(tr, summaries)
	hit := progress.Hit{Session: "b", Block: 1, Ball: 4, At: at(2).Add(3 * time.Second)}
	if want := []progress.Milestone{{Student: "ada", Skill: "pitch", Tier: three, Hit: hit}}; !reflect.DeepEqual(ms, want) {
		t.Errorf("milestones:\ngot  %+v\nwant %+v", ms, want)
	}
	next, ok := s.Next()
	if s.Student != "ada" || s.Skill != "pitch" || s.Held != 1 || !ok || next != nine || !s.LastAt.Equal(at(6)) || !s.LastMilestoneAt.Equal(hit.At) {
		t.Errorf("got %+v, want one tier held since ball 4 of b, nine next, last seen on day 6", s)
	}
	if want := (progress.Tally{Sessions: 4, Balls: 34, Inside: 28, Seconds: 300}); s.Totals != want {
		t.Errorf("totals %+v, want %+v", s.Totals, want)
	}
	// 14 + 3 + 5 + 3 balls on one spot, 11 + 2 + 3 + 3 of them inside.
	if want := (progress.RecentCounts{Sessions: 3, Judged: 25, Inside: 19}); !reflect.DeepEqual(s.Recent, want) {
		t.Errorf("recent %+v, want %+v", s.Recent, want)
	}
	if s.Best() != (streak.Run{Length: 7}) || s.Near != (streak.Near{Runs: 1, Length: 7, Times: 1}) {
		t.Errorf("best %+v, near %+v, want 7 of 9, once", s.Best(), s.Near)
	}
	if s.Assessment.Forecast == nil || s.Assessment.Rate.EffectiveBalls <= 0 {
		t.Errorf("the assessment %+v has no forecast or no balls", s.Assessment)
	}
}

func TestRecomputeFinishedAndEmpty(t *testing.T) {
	tr := track(ladder(three, nine))
	s, ms := recompute(tr, nil)
	if next, ok := s.Next(); !ok || next != three || ms != nil || !reflect.DeepEqual(s.Assessment, estimate.Assessment{}) {
		t.Errorf("nothing played: got %+v, %v, want the first tier next and no assessment", s, ms)
	}
	s, _ = recompute(tr, []progress.SessionSummary{tr.Summarise(play("s", day1, block("test", "iiiiiiiii")))})
	_, open := s.Next()
	if focus, ok := s.Focus(); s.Held != 2 || open || !ok || focus != nine || s.Assessment.Forecast != nil {
		t.Errorf("finished: got %+v, want both tiers held, nine in focus, nothing to forecast", s)
	}
	none := progress.Track{Student: "ada", Skill: "pitch"}
	s, ms = recompute(none, []progress.SessionSummary{none.Summarise(play("s", day1, block("test", "iii")))})
	if _, ok := s.Focus(); ok || s.Held != 0 || ms != nil || s.Totals.Balls != 3 || s.Recent.Judged != 0 {
		t.Errorf("without a ladder: got %+v, want the counts alone", s)
	}
}

// TestHarderHoldsEasier: a harder tier made under an old ladder holds the easier
// ones of the new one.
func TestHarderHoldsEasier(t *testing.T) {
	tr := track(ladder(nine))
	tr, _ = tr.Assigned(ladder(three, nine, streak.Tier{Run: 18, Radius: ft5}), day1)
	first, _ := recompute(tr, []progress.SessionSummary{tr.Summarise(play("s", day1, block("test", "iiiiiiiii")))})
	if next, _ := first.Next(); first.Held != 2 || next.Run != 18 {
		t.Errorf("got %d held, next %v, want 2 held and eighteen next", first.Held, next)
	}
}

// TestSameInstant: hits at one instant are ordered by session, then by block
// and ball, never by arrival.
func TestSameInstant(t *testing.T) {
	tr := track(ladder(three))
	a, b := tr.Summarise(play("a", day1, block("test", "oiii"))), tr.Summarise(play("b", day1, block("test", "oiii")))
	for _, summaries := range [][]progress.SessionSummary{{a, b}, {b, a}} {
		if _, ms := recompute(tr, summaries); ms[0].Session != "a" {
			t.Errorf("got %+v, want session a's", ms[0])
		}
	}
}

// TestTravellingStudent: who flies from a zone far ahead to one far behind
// starts the later session on an earlier date; the evidence stays in order.
func TestTravellingStudent(t *testing.T) {
	tr := track(ladder(three))
	ahead, behind := play("a", day1, block("test", "iio")), play("b", day1.Add(2*time.Hour), block("test", "iio"))
	ahead.Day, behind.Day = domain.Date{Year: 2026, Month: 5, Day: 5}, domain.Date{Year: 2026, Month: 5, Day: 4}
	s, _ := recompute(tr, []progress.SessionSummary{tr.Summarise(ahead), tr.Summarise(behind)})
	same := play("b", day1.Add(2*time.Hour), block("test", "iio"))
	same.Day = ahead.Day
	want, _ := recompute(tr, []progress.SessionSummary{tr.Summarise(ahead), tr.Summarise(same)})
	if s.Recent.Sessions != 2 || !reflect.DeepEqual(s.Assessment, want.Assessment) {
		t.Errorf("got %+v, want the assessment of two sessions on one day", s.Assessment)
	}
}

// TestRecentWindow: rates look at the last sessions only, totals at all.
func TestRecentWindow(t *testing.T) {
	tr := track(ladder(nine))
	var summaries []progress.SessionSummary
	for i := range estimate.Window + 5 {
		outcomes := "oi"
		if i < 5 {
			outcomes = "iiiiii"
		}
		summaries = append(summaries, tr.Summarise(play(domain.ID(rune('A'+i)), day1.AddDate(0, 0, i), block("test", outcomes))))
	}
	s, _ := recompute(tr, summaries)
	if want := (progress.RecentCounts{Sessions: estimate.Window, Judged: 2 * estimate.Window, Inside: estimate.Window}); !reflect.DeepEqual(s.Recent, want) {
		t.Errorf("recent: got %+v, want %+v", s.Recent, want)
	}
	if s.Totals.Balls != 2*estimate.Window+30 || s.Best().Length != 6 {
		t.Errorf("totals %+v, best %+v, want all balls and the best run ever", s.Totals, s.Best())
	}
}

// recompute gives the state and the milestones of a recomputed record.
func recompute(t progress.Track, summaries []progress.SessionSummary) (progress.State, []progress.Milestone) {
	s := progress.Recompute(t, summaries).State
	return s, s.Milestones()
}
