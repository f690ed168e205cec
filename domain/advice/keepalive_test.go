package advice

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// earlier is a student's state at a skill, last practised some days before the week.
func earlier(skill domain.ID, days int) progress.State {
	s := stands(24, 1, inRow(circle5, 5, 12))
	s.Skill, s.LastAt = skill, nextMonday.AddDays(-days).Start(time.UTC).Add(18*time.Hour)
	return s
}

func kept1(w WeekAhead, skills ...progress.State) []Proposal {
	return proposed(Propose(practising(w, skills...)), KeepAlive)
}

func after(earlier ...domain.ID) WeekAhead {
	w := fourParts()
	w.Earlier = earlier
	return w
}

// TestKeepAlive: the earlier skill that was away for longest makes way for the
// planned one only when it has more to lose.
func TestKeepAlive(t *testing.T) {
	for _, c := range []struct {
		why    string
		week   WeekAhead
		skills []progress.State
		want   domain.ID
	}{
		{"away for four weeks, the planned one not at all", after("putt", "lob"), []progress.State{earlier("putt", 3), earlier("lob", 28)}, "lob"},
		{"the longest away of three", after("putt", "lob", "pitch"), []progress.State{earlier("putt", 3), earlier("lob", 28), earlier("pitch", 45)}, "pitch"},
		{"the planned one was away for longest", after("putt", "lob"), []progress.State{earlier("putt", 40), earlier("lob", 28)}, ""},
		{"a little longer away", after("putt", "lob"), []progress.State{earlier("putt", 20), earlier("lob", 28)}, ""},
		{"never practised", after("putt", "lob"), []progress.State{earlier("putt", 3), {Skill: "lob"}}, ""},
		{"nothing known of it", after("putt", "lob"), []progress.State{earlier("putt", 3)}, ""},
		{"not of an earlier week", after("putt"), []progress.State{earlier("putt", 3), earlier("lob", 28)}, ""},
		{"the week's own skill", after("chip"), []progress.State{earlier("chip", 28)}, ""},
	} {
		got := kept1(c.week, c.skills...)
		if c.want == "" {
			if len(got) != 0 {
				t.Errorf("%s: got %+v, want none", c.why, got)
			}
			continue
		}
		if len(got) != 1 || got[0].Skill != c.want || got[0].Adjustment.Kind != curriculum.OtherWarmup || got[0].Adjustment.Skill != c.want || got[0].Until != nextMonday.AddDays(6) {
			t.Errorf("%s: got %+v, want %s", c.why, got, c.want)
		}
	}
	w := after("putt", "lob")
	w.Plans[0].Blocks = w.Plans[0].Blocks[1:]
	if got := kept1(w, earlier("lob", 28)); len(got) != 0 {
		t.Errorf("a plan without a warm-up: got %+v", got)
	}
}

// TestKeepAliveLeavesAlone: a skill that was practised four days before is left
// alone, however near its step.
func TestKeepAliveLeavesAlone(t *testing.T) {
	near := func(days int) progress.State {
		s := stands(32, 0, inRow(circle5, 4))
		s.Skill, s.LastAt = "lob", nextMonday.AddDays(-days).Start(time.UTC)
		return s
	}
	if got := kept1(after("lob"), near(4)); len(got) != 0 {
		t.Errorf("four days: got %+v", got)
	}
	if got := kept1(after("lob"), near(5)); len(got) != 1 || got[0].Then < 0.9 {
		t.Errorf("five days, its step near: got %+v", got)
	}
}

// TestWorth: in 28 days, 21 beyond a week, a skill at 60 % loses 0.1·log 4 logits by
// our choice, 3.4 of 100 balls; by the academy's students what they tell.
func TestWorth(t *testing.T) {
	s := stands(24, 1, inRow(circle5, 3, 7))
	s.Skill, s.LastAt = "lob", nextMonday.AddDays(-28).Start(time.UTC)
	s.Assessment.Rate.Mean = 0.6
	a := practising(fourParts(), s)
	plan := a.Weeks[0].Plans[0]
	lost := func(logits float64) float64 { return 0.6 - 1/(1+math.Exp(logits-math.Log(1.5))) }
	k := a.worth(s, nextMonday, plan)
	if k.days != 28 || math.Abs(k.lost-lost(0.1*math.Log(4))) > 1e-12 || k.told {
		t.Errorf("got %+v", k)
	}
	// 15 minutes at the usual 105 balls an hour.
	next, _ := s.Next()
	if want := s.Assessment.SessionRate().Chance(next, 1, 26); math.Abs(k.chance-want) > 1e-12 || math.Abs(k.score()-100*k.lost-10*want) > 1e-9 {
		t.Errorf("got %+v, want a chance of %v", k, want)
	}
	slow := a
	for range progress.HabitSessions {
		slow.Habit.Recent = append(slow.Habit.Recent, progress.SessionTime{Paces: []progress.KindPace{{Kind: "warmup", Balls: 20, Seconds: 1200}}})
	}
	if got, want := slow.warmupBalls(plan), curriculum.BallsIn(15, slow.Habit.Pace(curriculum.Warmup).AHour); got != want || got > 18 {
		t.Errorf("a ball a minute: got %d balls, want %d", got, want)
	}
	two := curriculum.Plan{Minutes: 60, Blocks: slices.Clone(plan.Blocks)}
	two.Blocks[1].Kind = curriculum.Warmup
	if got := a.warmupBalls(two); got != 26+26 {
		t.Errorf("two warm-ups: got %d balls, want 52", got)
	}
	hard := earlier("lob", 28) // 12 in a row
	if k := a.worth(hard, nextMonday, plan); k.chance != 0 || k.step != "" {
		t.Errorf("out of reach in a warm-up: got %+v", k)
	}
	told := estimate.Fade{Students: 9, UsualGap: 3, FourWeeks: estimate.FadeAfter{Days: 28, Logits: 0.5}}
	a.Fades = map[domain.ID]estimate.Fade{"lob": told}
	if k := a.worth(s, nextMonday, plan); math.Abs(k.lost-lost(0.5)) > 1e-12 || !k.told {
		t.Errorf("told by the students: got %+v", k)
	}
	told.FourWeeks.Logits = -0.5
	a.Fades["lob"] = told
	if k := a.worth(s, nextMonday, plan); k.lost != 0 {
		t.Errorf("nobody gains by staying away: got %+v", k)
	}
	told.CannotTell = estimate.TooWide
	a.Fades["lob"] = told
	if k := a.worth(s, nextMonday, plan); k.told || math.Abs(k.lost-lost(0.1*math.Log(4))) > 1e-12 {
		t.Errorf("they cannot tell: got %+v", k)
	}
	if k := a.worth(s, nextMonday.AddDays(-40), plan); k.days != 0 || k.lost != 0 {
		t.Errorf("practised since: got %+v", k)
	}
	s.Ladder.TestOnly = true
	if k := a.worth(s, nextMonday, plan); k.chance != 0 || k.step != "" {
		t.Errorf("tests alone count: got %+v", k)
	}
	done := stands(24, 2, inRow(circle5, 5, 12))
	if k := a.worth(done, nextMonday, plan); k.chance != 0 || k.step != "" {
		t.Errorf("finished: got %+v", k)
	}
	done = earlier("lob", 28)
	done.Recent = progress.RecentCounts{}
	done.Assessment = estimate.Assessment{}
	if k := a.worth(done, nextMonday, plan); k.chance != 0 || math.Abs(k.lost-(0.5-1/(1+math.Exp(0.1*math.Log(4))))) > 1e-12 {
		t.Errorf("no ball that counts: got %+v", k)
	}
}

// TestKeepAliveMargin: both sides of the two points that it takes.
func TestKeepAliveMargin(t *testing.T) {
	two, lob := earlier("putt", 20), earlier("lob", 28)
	for _, s := range []*progress.State{&two, &lob} {
		s.Ladder.TestOnly = true // so that there is nothing to win
	}
	a := practising(after("putt", "lob"), two, lob)
	a.Fades = map[domain.ID]estimate.Fade{}
	plan := a.Weeks[0].Plans[0]
	for _, c := range []struct {
		points float64
		want   int
	}{{1.99, 0}, {2.01, 1}} {
		a.Fades["putt"] = estimate.Fade{Students: 1, UsualGap: 7}
		rate := lob.Assessment.Rate.Mean
		logits := logit(rate) - logit(rate-c.points/100)
		a.Fades["lob"] = estimate.Fade{Students: 1, UsualGap: 7, FourWeeks: estimate.FadeAfter{Days: 28, Logits: logits}}
		if k := a.worth(lob, nextMonday, plan); math.Abs(k.score()-c.points) > 1e-9 {
			t.Fatalf("the score is %v, want %v", k.score(), c.points)
		}
		if got := proposed(Propose(a), KeepAlive); len(got) != c.want {
			t.Errorf("%v points: got %+v", c.points, got)
		}
	}
}

// TestKeepAliveWords: whose fade it is, and what the planned warm-up has seen.
func TestKeepAliveWords(t *testing.T) {
	p := kept1(after("putt", "lob"), earlier("putt", 3), earlier("lob", 28))[0]
	if got, want := p.Reason(Reader{}), "Not practised for 28 days by then (the planned skill: 3 days); we assume that this costs about 3 balls in 100."; got != want || p.Of != "" || p.Then != 0 {
		t.Errorf("got %q, want %q and no chance: the step is out of reach", got, want)
	}
	near := stands(24, 1, inRow(circle5, 3, 6))
	near.Skill, near.LastAt = "lob", nextMonday.AddDays(-28).Start(time.UTC)
	p = kept1(after("lob"), near)[0]
	if got, want := p.Reason(Reader{}), "; its next step, 6 in a row inside 5 ft, is passed in about 1 session in 2."; !strings.HasSuffix(got, want) || p.Of != OfSessions || p.Then < 0.2 {
		t.Errorf("got %q, want … %q", got, want)
	}
	if got := kept1(after("lob"), earlier("lob", 28))[0].Reason(Reader{}); strings.Contains(got, "planned") {
		t.Errorf("the planned one is not an earlier skill: got %q", got)
	}
	if got := (kept{days: 1, lost: 0.0149, told: true, instead: -1}).reason(Reader{}); got != "Not practised for 1 day by then; your students lose about 1 ball in 100." {
		t.Errorf("got %q", got)
	}
	if got := (kept{days: 6, lost: 0.0049, instead: 0}).reason(Reader{}); got != "Not practised for 6 days by then (the planned skill: 0 days)." {
		t.Errorf("got %q", got)
	}
	if got := p.Label(Reader{}, "Lob"); got != "Warm up with Lob" {
		t.Errorf("got %q", got)
	}
	if got := p.ToStudent(Reader{}); got != "Warm up with another earlier skill, so that it does not fade." {
		t.Errorf("got %q", got)
	}
}
