package streak

import (
	"math"
	"strings"
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
	got := l.Preview(Session{Balls: 3})
	for i, r := range got[0].Rates {
		p := PreviewRates[i]
		if math.Abs(r.PerSession-p*p*p) > 1e-12 || math.Abs(r.Sessions-1/(p*p*p)) > 1e-9 {
			t.Errorf("at %v: got %+v, want chance %v", p, r, p*p*p)
		}
	}
	if want := math.Cbrt(0.5); math.Abs(got[0].EvenRate-want) > 1e-9 {
		t.Errorf("even rate: got %v, want %v", got[0].EvenRate, want)
	}
	if got[0].Warning != "" {
		t.Errorf("an easy tier is warned of: %q", got[0].Warning)
	}
	if !math.IsInf(got[1].Rates[0].Sessions, 1) || !math.IsNaN(got[1].EvenRate) || !strings.Contains(got[1].Warning, "cannot be made in 3 balls") {
		t.Errorf("four in a row out of three balls: got %+v", got[1])
	}
}

// TestPreviewWarnsOfTheHopeless holds the usual second tier, eighteen in a row
// with one holed (common practice, no source), to a warning in short sessions.
func TestPreviewWarnsOfTheHopeless(t *testing.T) {
	l := Ladder{Tiers: []Tier{{Run: 9, Radius: 5 * domain.Foot}, {Run: 18, Radius: 5 * domain.Foot, Holed: 1}}}
	got := l.Preview(Session{Balls: 25, HoledShare: 0.04})
	if got[0].Warning != "" {
		t.Errorf("nine in a row is warned of: %q", got[0].Warning)
	}
	for _, part := range []string{"18 in a row inside 5 ft with 1 holed", "80 % inside", "Almost nobody"} {
		if !strings.Contains(got[1].Warning, part) {
			t.Errorf("warning %q lacks %q", got[1].Warning, part)
		}
	}
}
