package progress_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"fringework/domain/curriculum"
	"fringework/domain/progress"
)

// habitAt is a habit of sessions of tests, each with its balls and seconds.
func habitAt(sessions ...progress.KindPace) progress.Habit {
	var times []progress.SessionTime
	for i, p := range sessions {
		times = append(times, progress.SessionTime{StartedAt: day1.Add(time.Duration(i) * time.Hour), Paces: []progress.KindPace{p}})
	}
	return progress.HabitOf("ada", len(times), times)
}

// TestPace: the usual pace stands until the student's own is known, and a session that
// is far off moves little.
func TestPace(t *testing.T) {
	test := func(balls, seconds int) progress.KindPace {
		return progress.KindPace{Kind: "test", Balls: balls, Seconds: seconds}
	}
	for _, c := range []struct {
		why      string
		habit    progress.Habit
		kind     curriculum.BlockKind
		want     float64
		sessions int
	}{
		{"no session", progress.Habit{}, curriculum.Test, 105, 0},
		{"of another kind", habitAt(test(20, 600)), curriculum.Random, 50, 0},
		{"places played out", progress.Habit{}, curriculum.Playout, 30, 0},
		// Geometric mean of 105, 105 and 60.
		{"one session at 60", habitAt(test(20, 1200)), curriculum.Test, math.Cbrt(105 * 105 * 60), 1},
		// A session of five balls counts half: (105² · 60^½)^(1/2.5).
		{"five balls", habitAt(test(5, 300)), curriculum.Test, math.Pow(105*105*math.Sqrt(60), 1/2.5), 1},
		// The middle is 60; 300 counts as 120 and 29 as 30.
		{"a slip either way", habitAt(test(20, 1200), test(20, 240), test(20, 2483)), curriculum.Test, math.Pow(105*105*60*120*30, 1.0/5), 3},
		{"typed in afterwards", habitAt(test(20, 1200), test(20, 171), test(20, 2743)), curriculum.Test, math.Cbrt(105 * 105 * 60), 1},
		{"nothing struck", habitAt(test(0, 600), test(9, 0)), curriculum.Test, 105, 0},
	} {
		got := c.habit.Pace(c.kind)
		if math.Abs(got.AHour-c.want) > 1e-9*c.want || got.Sessions != c.sessions || got.Kind != c.kind {
			t.Errorf("%s: got %+v, want %v from %d", c.why, got, c.want, c.sessions)
		}
	}
	if all := habitAt(test(20, 1200)).Paces(); len(all) != len(curriculum.BlockKinds()) || all[4].Sessions != 1 || all[3].Sessions != 0 {
		t.Errorf("got %+v, want every kind, in order", all)
	}
}

// TestPaceIsLearned: of drawn students with a pace of their own and days that differ
// by a quarter, twelve sessions tell it to 15 % in most cases.
func TestPaceIsLearned(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 0))
	near, n := 0, 400
	for range n {
		own := 105 * math.Exp(0.35*rng.NormFloat64())
		var sessions []progress.KindPace
		for range progress.HabitSessions {
			hours := 20 / (own * math.Exp(0.25*rng.NormFloat64()))
			sessions = append(sessions, progress.KindPace{Kind: "test", Balls: 20, Seconds: int(3600 * hours)})
		}
		if got := habitAt(sessions...).Pace(curriculum.Test).AHour; math.Abs(math.Log(got/own)) < 0.15 {
			near++
		}
	}
	if share := float64(near) / float64(n); share < 0.85 {
		t.Errorf("%.0f %% are learned to 15 %%, want 85 at least", 100*share)
	}
}
