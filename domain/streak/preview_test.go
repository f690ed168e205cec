package streak

import (
	"math"
	"testing"

	"fringework/domain"
)

// TestTableEqualsOdds holds every cell of a table to the odds asked for one by
// one.
func TestTableEqualsOdds(t *testing.T) {
	tier := Tier{Run: 7, Radius: 5 * domain.Foot, Holed: 2}
	rates := Rates{In: 0.66, Holed: 0.05}
	table := TableOf(tier, rates, 40)
	var o Odds
	o.Prepare(tier, rates)
	for run := 0; run <= tier.Run; run++ {
		for holed := 0; holed <= min(run, tier.Holed); holed++ {
			for balls := range 41 {
				want := o.Within(Run{Length: run, Holed: holed}, balls)
				if got := table[run][holed][balls]; math.Abs(got-want) > 1e-12 {
					t.Fatalf("run %d, holed %d, %d balls: got %v, want %v", run, holed, balls, got, want)
				}
			}
		}
	}
}

// TestPreview checks a ladder's preview against hand arithmetic: three balls
// and a run of three at rate p have the chance p³ and take 1/p³ sessions.
func TestPreview(t *testing.T) {
	l := Ladder{Tiers: []Tier{{Run: 3, Radius: domain.Metre}, {Run: 4, Radius: domain.Metre}}}
	got := l.Preview(Session{Balls: 3, HoledShare: holed(0)})
	for i, r := range got[0].Rates {
		p := PreviewRates[i]
		if math.Abs(r.PerSession-p*p*p) > 1e-12 || math.Abs(r.Sessions-1/(p*p*p)) > 1e-9 {
			t.Errorf("at %v: got %+v, want chance %v", p, r, p*p*p)
		}
	}
	if want := math.Cbrt(0.5); math.Abs(got[0].EvenRate-want) > 1e-9 {
		t.Errorf("even rate: got %v, want %v", got[0].EvenRate, want)
	}
	if got[0].Hard != nil {
		t.Errorf("an easy tier is hard: %+v", got[0].Hard)
	}
	if !math.IsInf(got[1].Rates[0].Sessions, 1) || !math.IsNaN(got[1].EvenRate) || got[1].Hard == nil || got[1].Hard.PerSession != 0 {
		t.Errorf("four in a row out of three balls: got %+v", got[1])
	}
}

// TestPreviewFindsTheHopeless holds the usual second tier, eighteen in a row
// with one holed (common practice, no source), to being hard in short sessions.
func TestPreviewFindsTheHopeless(t *testing.T) {
	l := Ladder{Tiers: []Tier{{Run: 9, Radius: 5 * domain.Foot}, {Run: 18, Radius: 5 * domain.Foot, Holed: 1}}}
	got := l.Preview(Session{Balls: 25, HoledShare: holed(0.04)})
	if got[0].Hard != nil || got[1].Hard == nil {
		t.Errorf("nine in a row %+v, eighteen %+v; want the second alone to be hard", got[0].Hard, got[1].Hard)
	}
}

// TestPreviewAsksForTheShareOfEachRadius: two balls in a row, one of them holed,
// in two balls. Inside 1 m a half is holed: at the rate p the chance is
// p² (1 − 1/4); inside 2 m a fifth: p² (1 − 16/25).
func TestPreviewAsksForTheShareOfEachRadius(t *testing.T) {
	l := Ladder{Tiers: []Tier{{Run: 2, Radius: 2 * domain.Metre, Holed: 1}, {Run: 2, Radius: domain.Metre, Holed: 1}}}
	got := l.Preview(Session{Balls: 2, HoledShare: func(radius domain.Length) float64 {
		if radius == domain.Metre {
			return 0.5
		}
		return 0.2
	}})
	for i, want := range []struct{ share, part float64 }{{0.2, 9.0 / 25}, {0.5, 0.75}} {
		p := got[i].Rates[7] // 80 %
		if got[i].HoledShare != want.share || math.Abs(p.PerSession-0.64*want.part) > 1e-12 {
			t.Errorf("tier %d: share %v, chance %v, want %v and %v", i+1, got[i].HoledShare, p.PerSession, want.share, 0.64*want.part)
		}
	}
}

// holed is the same share at every radius.
func holed(share float64) func(domain.Length) float64 {
	return func(domain.Length) float64 { return share }
}
