package advice_test

import (
	"testing"

	"fringework/domain/advice"
	"fringework/domain/curriculum"
	"fringework/domain/progress"
)

func TestLopsided(t *testing.T) {
	plan := func(warmup, technique, random, test int) []progress.KindTime {
		return []progress.KindTime{kind("warmup", 900, warmup), kind("technique", 900, technique), kind("random", 900, random), kind("test", 900, test)}
	}
	habit := func(n int, times []progress.KindTime) progress.Habit {
		var sessions []progress.SessionTime
		for i := range n {
			sessions = append(sessions, timed(float64(i), times...))
		}
		return progress.HabitOf("ada", n, sessions)
	}
	for _, c := range []struct {
		why  string
		h    progress.Habit
		want string
	}{
		{"as planned", habit(3, plan(900, 900, 900, 900)), ""},
		{"all of it shorter", habit(3, plan(300, 300, 300, 300)), ""},
		{"a fifth elsewhere less a bit", habit(3, plan(900, 1618, 900, 182)), ""}, // 19.9 points
		{"a fifth elsewhere", habit(3, plan(900, 1620, 900, 180)), "over the last 3 sessions 45 % of the time went to technique (planned 25 %) and 5 % to the test (planned 25 %)."}, // 20 points
		{"two sessions are too few", habit(2, plan(0, 3600, 0, 0)), ""},
		{"no time at all", habit(3, plan(0, 0, 0, 0)), ""},
		{"without a plan", habit(3, []progress.KindTime{kind("test", 0, 900)}), ""},
		{"the test left out of every session", habit(4, plan(1200, 1200, 1200, 0)), "over the last 4 sessions 33 % of the time went to the warm-up (planned 25 %) and 0 % to the test (planned 25 %)."},
	} {
		told(t, c.why, advice.Weigh(advice.Practice{Habit: c.h}, nil), advice.Lopsided, c.want, "Start with the test, or plan less time for ")
	}
}

// TestEveryKindHasWords: a sentence names each kind of block.
func TestEveryKindHasWords(t *testing.T) {
	want := map[curriculum.BlockKind]string{
		curriculum.Warmup: "the warm-up", curriculum.Technique: "technique", curriculum.Stations: "the stations",
		curriculum.Random: "random practice", curriculum.Test: "the test", curriculum.Playout: "balls played out",
	}
	for _, k := range curriculum.BlockKinds() {
		times := []progress.KindTime{kind(string(k), 900, 1800), kind("else", 900, 0)}
		var sessions []progress.SessionTime
		for i := range 3 {
			sessions = append(sessions, timed(float64(i), times...))
		}
		told(t, string(k), advice.Weigh(advice.Practice{Habit: progress.HabitOf("ada", 3, sessions)}, nil), advice.Lopsided,
			"over the last 3 sessions 100 % of the time went to "+want[k]+" (planned 50 %) and 0 % to else (planned 50 %).", "Start with else, or plan less time for "+want[k]+" if ")
	}
}
