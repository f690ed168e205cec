package progress_test

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/progress"
	"fringework/domain/streak"

	"pgregory.net/rapid"
)

// kept is a record as a store keeps it, whole, and beside it what the sessions
// said.
type kept struct {
	track     progress.Track
	state     progress.State
	periods   []progress.Period
	summaries map[domain.ID]progress.SessionSummary
	// whole counts the revisions that needed the whole record.
	whole int
}

// fataler is what tests and property tests have in common.
type fataler interface {
	Fatal(args ...any)
	Fatalf(format string, args ...any)
}

// revise replaces what a session says, as a store would serve it: no more
// periods than must be, and all of them when that does not do.
func (k *kept) revise(t fataler, id domain.ID, next *progress.SessionSummary) {
	var numbers []int
	for _, s := range []*progress.SessionSummary{next, old(k.summaries, id)} {
		if s != nil {
			numbers = append(numbers, progress.PeriodOf(s.StartedAt))
		}
	}
	r := progress.Record{Track: k.track, State: k.state}
	r.Periods, r.Whole = progress.Latest(k.periods, numbers...)
	after, changed, ok := r.Revise(id, next)
	if !ok {
		k.whole++
		r.Periods, r.Whole = k.periods, true
		if after, changed, ok = r.Revise(id, next); !ok {
			t.Fatal("a whole record could not be revised")
		}
	}
	for _, p := range changed {
		k.periods = slices.DeleteFunc(slices.Clone(k.periods), func(old progress.Period) bool { return old.Number == p.Number })
		if len(p.Sessions) > 0 {
			k.periods = append(k.periods, p)
		}
	}
	slices.SortFunc(k.periods, func(a, b progress.Period) int { return a.Number - b.Number })
	k.state = after.State
	if delete(k.summaries, id); next != nil {
		k.summaries[id] = *next
	}
}

func old(all map[domain.ID]progress.SessionSummary, id domain.ID) *progress.SessionSummary {
	if s, ok := all[id]; ok {
		return &s
	}
	return nil
}

// check holds the record to what a recomputation gives.
func (k *kept) check(t fataler, what string) {
	var all []progress.SessionSummary
	for _, s := range k.summaries {
		all = append(all, s)
	}
	want := progress.Recompute(k.track, all)
	if !reflect.DeepEqual(k.state, want.State) {
		t.Fatalf("%s:\nkept %+v\nwant %+v", what, k.state, want.State)
	}
	if len(k.periods)+len(want.Periods) > 0 && !reflect.DeepEqual(k.periods, want.Periods) {
		t.Fatalf("%s: periods\nkept %+v\nwant %+v", what, k.periods, want.Periods)
	}
}

// TestReviseEqualsRecompute is the rule that the incremental record equals the
// recomputed one: for long careers, with sessions that grow, arrive late, are
// edited, moved to another day, deleted and stored again.
func TestReviseEqualsRecompute(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := rapid.SampledFrom([]streak.Ladder{ladder(three, nine), ladder(tight), ladder(), {Tiers: []streak.Tier{three, nine}, TestOnly: true}, {Tiers: []streak.Tier{three, nine}, Technique: true}}).Draw(t, "ladder")
		k := &kept{track: track(l), state: progress.Recompute(track(l), nil).State, summaries: map[domain.ID]progress.SessionSummary{}}
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		perWeek := rapid.IntRange(1, 6).Draw(t, "a week")
		n := rapid.IntRange(0, 90).Draw(t, "sessions")
		for i := range n {
			s := k.draw(rng, i, i*7/perWeek-rng.IntN(2))
			k.revise(t, s.Session, &s)
		}
		k.check(t, "a career in order")
		for i := range rapid.IntRange(1, 8).Draw(t, "changes") {
			id := sessionID(rng.IntN(n + 3))
			if rng.IntN(3) == 0 {
				k.revise(t, id, nil)
			} else {
				s := k.draw(rng, rng.IntN(n+3), rng.IntN(7*n/perWeek+10))
				k.revise(t, s.Session, &s)
			}
			k.check(t, fmt.Sprint("change ", i))
		}
	})
}

func sessionID(i int) domain.ID { return domain.ID(fmt.Sprintf("s%03d", i)) }

// draw makes what a session on a day says.
func (k *kept) draw(rng *rand.Rand, i, day int) progress.SessionSummary {
	var blocks []progress.PlayedBlock
	for range 1 + rng.IntN(2) {
		outcomes := ""
		for range rng.IntN(16) {
			outcomes += string("oiiiih"[rng.IntN(6)])
		}
		b := block([]string{"test", "warmup", "technique", "random"}[rng.IntN(4)], outcomes)
		b.PlanBlock = rng.IntN(3)
		if b.Kind == "test" && rng.IntN(3) == 0 {
			b.Purpose = curriculum.Retest
		}
		blocks = append(blocks, b)
	}
	p := play(sessionID(i), day1.AddDate(0, 0, day).Add(time.Duration(rng.IntN(3))*time.Hour), blocks...)
	if rng.IntN(20) == 0 { // far from home
		p.Day = p.Day.AddDays(1)
	}
	p.OffGreen = rng.IntN(10) == 0
	return k.track.Summarise(p)
}

// TestExtendingReadsNoHistory: a new latest session, and one that grows, are
// taken in from what is at hand, however long the career.
func TestExtendingReadsNoHistory(t *testing.T) {
	k := &kept{track: track(ladder(three, nine)), summaries: map[domain.ID]progress.SessionSummary{}}
	for i := range estimate.Window + 30 {
		for _, outcomes := range []string{"oii", "oiioiii", "oiioiiiiiio"} {
			s := k.track.Summarise(play(sessionID(i), day1.AddDate(0, 0, 3*i), block("test", outcomes)))
			k.revise(t, s.Session, &s)
		}
	}
	if k.check(t, "a career of growing sessions"); k.whole != 0 {
		t.Fatalf("%d uploads read the whole history", k.whole)
	}
}

// TestTakenBack: what is deleted leaves nothing behind.
func TestTakenBack(t *testing.T) {
	none := progress.Track{Student: "ada", Skill: "pitch"}
	s := none.Summarise(play("s", day1, block("test", "iii")))
	r, changed, ok := progress.Record{Track: none, Whole: true}.Revise("s", &s)
	if !ok || r.Empty() || r.State.Totals.Balls != 3 || len(changed) != 1 {
		t.Errorf("stored: got %+v, %+v, %v", r, changed, ok)
	}
	r, changed, ok = r.Revise("s", nil)
	if !ok || !r.Empty() || len(r.Periods) != 0 || len(changed) != 1 || len(changed[0].Sessions) != 0 {
		t.Errorf("deleted: got %+v, %+v, %v, want nothing left and its period forgotten", r, changed, ok)
	}
	assigned := progress.Recompute(track(ladder(three)), nil)
	if assigned.Empty() {
		t.Error("a ladder without a ball is kept")
	}
}

// TestPeriodOf: thirty days each, from 1970 on.
func TestPeriodOf(t *testing.T) {
	epoch := time.Unix(0, 0)
	for _, c := range []struct {
		after time.Duration
		want  int
	}{{0, 0}, {progress.PeriodLength - time.Millisecond, 0}, {progress.PeriodLength, 1}, {-time.Millisecond, -1}, {-progress.PeriodLength, -1}, {20 * progress.PeriodLength, 20}} {
		if got := progress.PeriodOf(epoch.Add(c.after)); got != c.want {
			t.Errorf("%v after 1970: got period %d, want %d", c.after, got, c.want)
		}
	}
}

// TestHabitRevised: a habit that is revised equals one of all sessions.
func TestHabitRevised(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := map[domain.ID]progress.SessionTime{}
		list := func(except domain.ID) (times []progress.SessionTime) {
			for id, s := range all {
				if id != except {
					times = append(times, s)
				}
			}
			slices.SortFunc(times, func(a, b progress.SessionTime) int {
				return cmpOr(a.StartedAt.Compare(b.StartedAt), string(a.Session), string(b.Session))
			})
			return times
		}
		h := progress.HabitOf("ada", 0, nil)
		for range rapid.IntRange(1, 40).Draw(t, "steps") {
			id := sessionID(rapid.IntRange(0, 25).Draw(t, "session"))
			_, was := all[id]
			var next *progress.SessionTime
			more := 0
			if rapid.IntRange(0, 3).Draw(t, "deleted") > 0 {
				s := timed(float64(rapid.IntRange(0, 60).Draw(t, "day")), kind("test", 900, rapid.IntRange(0, 900).Draw(t, "spent")))
				s.Session = id
				next, more = &s, 1
			}
			if was {
				more--
			}
			others := list(id)
			if delete(all, id); next != nil {
				all[id] = *next
			}
			after, ok := h.Revise(id, next, more)
			want := progress.HabitOf("ada", len(all), list(""))
			if !ok {
				if len(others) < progress.HabitSessions {
					t.Fatalf("%d other sessions, all of them at hand, do not reach", len(others))
				}
				after = want
			}
			if !reflect.DeepEqual(after, want) && len(all) > 0 {
				t.Fatalf("got  %+v\nwant %+v", after, want)
			}
			h = after
		}
	})
}

func cmpOr(c int, a, b string) int {
	switch {
	case c != 0:
		return c
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// TestLongCareerRevised: late uploads, corrections and deletions all over a
// career far longer than an estimate reads, most of them without the whole
// record at hand, leave what a recomputation gives.
func TestLongCareerRevised(t *testing.T) {
	const n = 110
	rng := rand.New(rand.NewPCG(31, 7))
	k := &kept{track: track(ladder(three, nine)), summaries: map[domain.ID]progress.SessionSummary{}}
	put := func(i, day int) {
		outcomes := "oi"
		for range rng.IntN(12) {
			outcomes += string("oiih"[rng.IntN(4)])
		}
		s := k.track.Summarise(play(sessionID(i), day1.AddDate(0, 0, day), block("test", outcomes)))
		k.revise(t, s.Session, &s)
	}
	for i := range n {
		put(i, 3*i)
	}
	k.check(t, "in order")
	k.whole = 0
	const changes = 60
	for i := range changes {
		switch at := rng.IntN(n); i % 4 {
		case 0:
			k.revise(t, sessionID(at), nil)
		case 1:
			put(n+i, 3*at+1) // late
		default:
			put(at, 3*at)
		}
		k.check(t, fmt.Sprint("change ", i))
	}
	if k.whole == 0 || k.whole > changes/2 {
		t.Errorf("%d of %d changes needed the whole record, want some and not most", k.whole, changes)
	}
}
