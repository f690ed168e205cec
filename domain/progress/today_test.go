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

// TestOddsAtTheirBounds holds each bound from both sides. With 61 columns, 0 to
// 60 balls, 20,000 cells have room for 327 rows and not for 328.
func TestOddsAtTheirBounds(t *testing.T) {
	for _, c := range []struct {
		why                string
		run, holed, judged int
		want               bool
	}{
		{"nine balls", 3, 0, 9, false},
		{"ten balls", 3, 0, 10, true},
		{"109 by 3 rows", 108, 2, 40, true},
		{"82 by 4 rows", 81, 3, 40, false},
	} {
		s := State{
			Ladder: streak.Ladder{Tiers: []streak.Tier{{Run: c.run, Radius: domain.Metre, Holed: c.holed}}},
			Recent: RecentCounts{Judged: c.judged}, Assessment: estimate.Assessment{Rate: estimate.Rate{Mean: 0.5}},
		}
		o, ok := s.Odds()
		if ok != c.want {
			t.Errorf("%s: odds were given: %v, want %v", c.why, ok, c.want)
		}
		if ok && (o.Tier != s.Ladder.Tiers[0] || o.Balls != 60 || len(o.Table) != c.run+1 || len(o.Table[0]) != c.holed+1 || len(o.Table[0][0]) != 61) {
			t.Errorf("%s: got a table of %d by %d by %d for %v in up to %d balls", c.why, len(o.Table), len(o.Table[0]), len(o.Table[0][0]), o.Tier, o.Balls)
		}
	}
}

// TestOddsOfHoledBalls: of the balls inside, as many go in as the assessment says:
// with a quarter of them holed, 60 % inside are 45 % that stay out of
// the hole and 15 % in it.
func TestOddsOfHoledBalls(t *testing.T) {
	s := State{
		Ladder: streak.Ladder{Tiers: []streak.Tier{{Run: 2, Radius: domain.Metre, Holed: 1}}},
		Recent: RecentCounts{Judged: 40}, Assessment: estimate.Assessment{Rate: estimate.Rate{Mean: 0.6}},
	}
	for _, c := range []struct {
		share     float64
		in, holed float64
		two       float64 // the chance of both balls inside, one of them holed
	}{
		{0.25, 0.45, 0.15, 0.6*0.6 - 0.45*0.45},
		{1, 0, 0.6, 0.36},
		{0, 0.6, 0, 0},
	} {
		s.Assessment.HoledShare = c.share
		o, ok := s.Odds()
		if !(ok && math.Abs(o.Rates.In-c.in) < 1e-12 && math.Abs(o.Rates.Holed-c.holed) < 1e-12) { // no NaN either
			t.Errorf("%v holed: got %+v, want %v in and %v holed", c.share, o.Rates, c.in, c.holed)
			continue
		}
		if got := o.Table[0][0][2]; !(math.Abs(got-c.two) < 1e-12) {
			t.Errorf("%v holed: two in a row with one holed: got %v, want %v", c.share, got, c.two)
		}
	}
}
