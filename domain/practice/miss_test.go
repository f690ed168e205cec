package practice_test

import (
	"testing"

	"fringework/domain/curriculum"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// TestMissesAreCounted: of every block that plays the skill, each way by itself.
func TestMissesAreCounted(t *testing.T) {
	var out []practice.Ball
	for i, miss := range append(practice.Misses(), "") {
		for range i + 1 {
			out = append(out, practice.Ball{Outcome: streak.Out, Miss: miss})
		}
	}
	s := session("s", 1, block(curriculum.Technique, "pitch", "i"), block(curriculum.Test, "pitch", "io"), block(curriculum.Test, "chip", "o"))
	out = append(out, practice.Ball{Outcome: streak.In, Contact: practice.ContactThin})
	s.Blocks[0].Balls = out
	s.Blocks[1].Balls[1] = practice.Ball{Outcome: streak.Out, Miss: practice.MissShort, Contact: practice.ContactFat}
	want := progress.Misses{Short: 2, Long: 2, Left: 3, Right: 4, Thin: 1, Fat: 1}
	plays := s.Plays()
	if got := (progress.Track{}).Summarise(plays[0]).Tally; got.Misses != want || want.Told() != 11 || got.Balls != 18 {
		t.Errorf("got %+v, want %+v of 18 balls", got, want)
	}
	if got := (progress.Track{}).Summarise(plays[1]).Tally.Misses; got != (progress.Misses{}) {
		t.Errorf("of the chip nothing was told: %+v", got)
	}
}
