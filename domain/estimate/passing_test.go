package estimate

import (
	"math"
	"testing"

	"fringework/domain"
	"fringework/domain/greenside"
	"fringework/domain/streak"
)

// sure is an assessment of a rate, known like so many balls, with hardly any
// form of the day.
func sure(rate, balls float64) Assessment {
	kinds := FormKinds{1}
	return Assessment{Rate: Rate{Mean: rate, A: rate * balls, B: (1 - rate) * balls}, Form: kinds.form()}
}

// TestPassingByHand: at even chances, known for sure, three in a row in four balls
// have the chance 3/16 (the first three, or the last three after a miss); within
// four sessions that is 1 − (13/16)⁴ = 0.5642. The day's form of ±0.1 logits moves
// the former by less than 0.002.
func TestPassingByHand(t *testing.T) {
	const feet = domain.Foot
	a := sure(0.5, 1e6)
	for _, c := range []struct {
		tier            streak.Tier
		balls, sessions int
		want            float64
	}{
		{streak.Tier{Run: 3, Radius: 5 * feet}, 4, 1, 3. / 16},
		{streak.Tier{Run: 3, Radius: 5 * feet}, 4, 4, 1 - math.Pow(13./16, 4)},
		{streak.Tier{Run: 1, Radius: 5 * feet}, 1, 1, 0.5},
		{streak.Tier{Run: 5, Radius: 5 * feet}, 4, 9, 0}, // more than there are balls
	} {
		got := a.Passing(c.tier, 5*feet, c.balls, c.sessions)
		if want := (1 - unforeseen) * c.want; math.Abs(got-want) > 0.004 {
			t.Errorf("%d in a row in %d balls, %d sessions: got %.4f, want %.4f", c.tier.Run, c.balls, c.sessions, got, want)
		}
	}
	// A quarter of the balls inside are holed: a ball in the hole has 1/8.
	a.HoledShare = 0.25
	if got := a.Passing(streak.Tier{Run: 1, Radius: 5 * feet, Holed: 1}, 5*feet, 1, 1); math.Abs(got-0.125) > 0.002 {
		t.Errorf("one ball holed: got %.4f, want 0.125", got)
	}
}

// TestPassingAllowsForDoubt: one ball has the mean of the rate however little is
// known of it; over four sessions, of a rate that is as likely anything from 0 to
// 1, all four miss with the chance ∫(1−p)⁴dp = 1/5.
func TestPassingAllowsForDoubt(t *testing.T) {
	one := streak.Tier{Run: 1, Radius: domain.Metre}
	anything := sure(0.5, 2) // Beta(1, 1)
	for sessions, want := range map[int]float64{1: 0.5, 4: 0.8} {
		if got := anything.Passing(one, domain.Metre, 1, sessions); math.Abs(got-(1-unforeseen)*want) > 0.004 {
			t.Errorf("within %d sessions: got %.4f, want %.4f", sessions, got, want)
		}
	}
}

// TestPassingElsewhere: in another circle one ball has the mean chance over the
// shapes, whatever is holed; all of it in the limit of a huge circle.
func TestPassingElsewhere(t *testing.T) {
	a := sure(0.6, 1e6)
	for _, share := range []float64{0, 0.1} {
		a.HoledShare = share
		for _, radius := range []domain.Length{3 * domain.Foot, 8 * domain.Foot} {
			want := 0.0
			for _, s := range greenside.Shapes() {
				holed := 0.6 * share
				want += s.Weight * (holed + (1-holed)*s.Elsewhere((0.6-holed)/(1-holed), radius.Metres()/(5*domain.Foot).Metres()))
			}
			if got := a.Passing(streak.Tier{Run: 1, Radius: radius}, 5*domain.Foot, 1, 1); math.Abs(got-(1-unforeseen)*want) > 0.006 {
				t.Errorf("%v with %v holed: got %.4f, want %.4f", radius, share, got, want)
			}
		}
	}
	// As many are holed as before: 0.6 · 0.1.
	if got := a.Passing(streak.Tier{Run: 1, Radius: 3 * domain.Foot, Holed: 1}, 5*domain.Foot, 1, 1); math.Abs(got-0.06) > 0.004 {
		t.Errorf("one ball holed, by another circle: got %.4f, want 0.06", got)
	}
	if got := a.Passing(streak.Tier{Run: 1, Radius: 30 * domain.Metre}, domain.Metre, 1, 1); got < 0.97 {
		t.Errorf("a circle of 30 m: got %.4f, want nearly 1", got)
	}
}

// TestPassingAtTheEdges: rates of nothing and of all, which no level can tell.
func TestPassingAtTheEdges(t *testing.T) {
	tier := streak.Tier{Run: 4, Radius: domain.Metre}
	for rate, want := range map[float64]float64{1e-9: 0, 1 - 1e-9: 1} {
		for _, focus := range []domain.Length{domain.Metre, 2 * domain.Metre} {
			got := sure(rate, 1e6).Passing(tier, focus, 20, 4)
			if math.IsNaN(got) || math.Abs(got-want) > 0.1 {
				t.Errorf("a rate of %v judged at %v: got %v, want about %v", rate, focus, got, want)
			}
		}
	}
}
