package practice_test

import (
	"reflect"
	"testing"
	"time"

	"fringework/domain/academy"
	"fringework/domain/course"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// TestPlayedOut: finished places on a green, skill by skill, with what was said of them.
func TestPlayedOut(t *testing.T) {
	chips, pitches := playedOut(2, 0, 1), playedOut(4)
	chips.Skill = "chip"
	chips.Balls[0] = practice.Ball{Outcome: streak.In, Strokes: 2, Lie: "bunker, uphill", Distance: 9 * ft3, Measured: true, Leave: ft3}
	s := session("s", 1, chips, block(curriculum.Random, "chip", "ih"), pitches, playedOut(3))
	at := s.StartedAt
	want := []course.Outing{
		{Session: "s", Skill: "chip", StartedAt: at, Places: []course.Place{
			{Lie: course.Sand, Distance: 9 * ft3, Radius: ft5, Inside: true, Left: ft3, Measured: true, Strokes: 2},
			{Lie: course.Fairway, Radius: ft5, Inside: true, Holed: true, Strokes: 1},
		}},
		{Session: "s", Skill: "pitch", StartedAt: at, Places: []course.Place{
			{Lie: course.Fairway, Radius: ft5, Strokes: 4}, {Lie: course.Fairway, Radius: ft5, Strokes: 3},
		}},
	}
	if got := s.PlayedOut(); !reflect.DeepEqual(got, want) {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
	mat, gone := s, s
	mat.Surface, gone.DeletedAt = curriculum.OnMat, now
	if len(mat.PlayedOut())+len(gone.PlayedOut()) != 0 {
		t.Error("places on a mat, or of a deleted session, are told")
	}
}

// TestMostPlaces: a block holds eighteen places.
func TestMostPlaces(t *testing.T) {
	for n, want := range map[int]string{
		18: "",
		19: "session_invalid: The session was not saved. Keep it, correct it and send it again. [/blocks/0/balls: are played out from 19 places; at most 18 fit in a block, so begin another]",
	} {
		got := ""
		if err := session("s", 1, playedOut(make([]int, n)...)).Check(now); err != nil {
			got = err.Error()
		}
		if got != want {
			t.Errorf("%d places: got %q, want %q", n, got, want)
		}
	}
}

// TestAddDealt: balls of the plan's blocks that deal them.
func TestAddDealt(t *testing.T) {
	random, playout, listed, own := block(curriculum.Random, "chip", "ioi"), playedOut(2, 3), block(curriculum.Random, "chip", ""), block(curriculum.Random, "chip", "i")
	random.PlanBlock, playout.PlanBlock, listed.PlanBlock = 2, 3, 2
	listed.Counts.Balls = 4 // as a list has it
	test := block(curriculum.Test, "chip", "ii")
	test.PlanBlock = 1
	got := map[academy.PlanBlock]int{{Plan: 1, Block: 3}: 5}
	s := session("s", 1, random, playout, listed, own, test)
	s.Plan = 1
	s.AddDealt(got)
	if want := (map[academy.PlanBlock]int{{Plan: 1, Block: 2}: 7, {Plan: 1, Block: 3}: 7}); !reflect.DeepEqual(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

// TestPaces: balls after the first, in the time from it on; breaks count five minutes.
func TestPaces(t *testing.T) {
	struck := func(kind curriculum.BlockKind, after ...int) practice.Block {
		b := practice.Block{Kind: kind, Skill: "pitch", Radius: ft5}
		for _, s := range after {
			b.Balls = append(b.Balls, practice.Ball{After: time.Duration(s) * time.Second})
		}
		return b
	}
	for _, c := range []struct {
		why    string
		blocks []practice.Block
		want   []progress.KindPace
	}{
		{"too few", []practice.Block{struck(curriculum.Test, 10, 20, 30)}, nil},
		{"four balls", []practice.Block{struck(curriculum.Test, 10, 20, 30, 50)}, []progress.KindPace{{Kind: "test", Balls: 3, Seconds: 40}}},
		{"a break of ten minutes", []practice.Block{struck(curriculum.Test, 10, 20, 30, 630)}, []progress.KindPace{{Kind: "test", Balls: 3, Seconds: 320}}},
		{"ten at once, twice", []practice.Block{struck(curriculum.Technique, 60, 60, 60, 120, 120, 120)}, []progress.KindPace{{Kind: "technique", Balls: 3, Seconds: 60}}},
		{"no times", []practice.Block{struck(curriculum.Test, 0, 0, 0, 0, 0)}, nil},
		{"two blocks of a kind", []practice.Block{struck(curriculum.Random, 10, 20, 30, 40), struck(curriculum.Random, 100, 160, 220, 280)},
			[]progress.KindPace{{Kind: "random", Balls: 6, Seconds: 210}}},
		{"two kinds", []practice.Block{struck(curriculum.Random, 10, 20, 30, 40), struck(curriculum.Test, 100, 160, 220, 280)},
			[]progress.KindPace{{Kind: "random", Balls: 3, Seconds: 30}, {Kind: "test", Balls: 3, Seconds: 180}}},
	} {
		s := session("s", 1, c.blocks...)
		if got := s.Time().Paces; !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: got %+v, want %+v", c.why, got, c.want)
		}
		s.Surface = curriculum.OnCarpet
		if got := s.Time().Paces; got != nil {
			t.Errorf("%s, on a carpet: got %+v", c.why, got)
		}
	}
}
