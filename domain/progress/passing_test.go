package progress

import (
	"testing"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/streak"
)

// TestPassed: who passed nine in a row inside five feet passed eight there and
// nine in a wider circle, and neither ten, nor nine inside four feet, nor nine
// with one holed. Eleven in a row inside five feet are done as well, by the best
// run.
func TestPassed(t *testing.T) {
	tier := func(run int, feet domain.Length, holed int) streak.Tier {
		return streak.Tier{Run: run, Radius: feet * domain.Foot, Holed: holed}
	}
	s := State{Tiers: []TierRecord{{Tier: tier(12, 5, 0)}, {Tier: tier(9, 5, 0), First: &Hit{}}}}
	for want, tiers := range map[bool][]streak.Tier{
		true:  {tier(9, 5, 0), tier(8, 5, 0), tier(9, 6, 0)},
		false: {tier(10, 5, 0), tier(9, 4, 0), tier(9, 5, 1), tier(12, 5, 0)},
	} {
		for _, x := range tiers {
			if got := s.Passed(x); got != want {
				t.Errorf("%+v is passed: %v, want %v", x, got, want)
			}
		}
	}
	s.Tiers[0].Best = streak.Run{Length: 11, Holed: 1}
	for want, tiers := range map[bool][]streak.Tier{
		true:  {tier(11, 5, 0), tier(10, 5, 1), tier(11, 9, 1)},
		false: {tier(12, 5, 0), tier(11, 4, 0), tier(11, 5, 2)},
	} {
		for _, x := range tiers {
			if got := s.Passed(x); got != want {
				t.Errorf("after eleven in a row %+v is passed: %v, want %v", x, got, want)
			}
		}
	}
}

// TestPassingWithGround: nothing is told of fewer than ten balls, or without a
// ladder; with ten it is what the assessment gives in the circle in focus.
func TestPassingWithGround(t *testing.T) {
	five := streak.Tier{Run: 5, Radius: 5 * domain.Foot}
	tight := streak.Tier{Run: 3, Radius: 3 * domain.Foot}
	sessions := []estimate.Observation{{Day: 1, Balls: 10, Inside: 7}}
	s := State{
		Ladder: streak.Ladder{Tiers: []streak.Tier{five}}, Recent: RecentCounts{Judged: 10, Inside: 7},
		Assessment: estimate.Assess(estimate.Evidence{Sessions: sessions, Radius: five.Radius, Tier: &five, BallsPerTest: 20}),
	}
	got, ok := s.Passing(tight, 20, 4)
	if want := s.Assessment.Passing(tight, five.Radius, 20, 4); !ok || got != want || !(got > 0 && got < 1) {
		t.Errorf("got %v, %v, want %v", got, ok, want)
	}
	few, none := s, s
	few.Recent.Judged, none.Ladder = 9, streak.Ladder{}
	for why, x := range map[string]State{"nine balls": few, "no ladder": none} {
		if got, ok := x.Passing(tight, 20, 4); ok || got != 0 {
			t.Errorf("%s: got %v, want nothing", why, got)
		}
	}
}
