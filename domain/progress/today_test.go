package progress

import (
	"math"
	"testing"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/streak"
)

// TestOddsForToday holds the odds of three in a row at even chances to hand
// arithmetic: 1/8 in three balls, 3/16 in four.
func TestOddsForToday(t *testing.T) {
	s := State{
		Ladder: streak.Ladder{Tiers: []streak.Tier{{Run: 3, Radius: domain.Metre}}},
		Recent: RecentCounts{Judged: 40, Inside: 20}, Assessment: estimate.Assessment{Rate: estimate.Rate{Mean: 0.5}},
	}
	o, ok := s.Odds()
	if !ok {
		t.Fatal("no odds")
	}
	for balls, want := range map[int]float64{2: 0, 3: 1. / 8, 4: 3. / 16} {
		if got := o.Table[0][0][balls]; math.Abs(got-want) > 1e-12 {
			t.Errorf("%d balls: got %v, want %v", balls, got, want)
		}
	}
	if got := o.Table[2][0][1]; math.Abs(got-0.5) > 1e-12 {
		t.Errorf("one ball from the tier: got %v, want 0.5", got)
	}
}

// TestNoOddsWithoutGround gives none without a tier, balls, or a bearable size.
func TestNoOddsWithoutGround(t *testing.T) {
	ladder := func(run, holed int) streak.Ladder {
		return streak.Ladder{Tiers: []streak.Tier{{Run: run, Radius: domain.Metre, Holed: holed}}}
	}
	enough := RecentCounts{Judged: 40, Inside: 20}
	for name, s := range map[string]State{
		"no ladder":  {Recent: enough},
		"finished":   {Ladder: ladder(3, 0), Held: 1, Recent: enough},
		"few balls":  {Ladder: ladder(3, 0), Recent: RecentCounts{Judged: 9}},
		"huge table": {Ladder: ladder(200, 5), Recent: enough},
	} {
		if _, ok := s.Odds(); ok {
			t.Errorf("%s: odds were given", name)
		}
	}
}
