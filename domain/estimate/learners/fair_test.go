package learners

import (
	"flag"
	"testing"
)

var fairPairs = flag.Int("fair", 0, "print the tables of fair matches, of so many pairs")

// TestFairMatches: unequal pairs of a population that nothing was set on win from 45 to
// 55 % of the decided matches, each to their own circle, where the better player of
// those to one circle wins nearly all. A share of 500 matches is within four points of
// what it is in 95 of 100 draws; the seed is fixed.
func TestFairMatches(t *testing.T) {
	if *fairPairs > 0 {
		t.Logf("setting\n%s", FairTable(FairSetting, *fairPairs, 1))
		t.Logf("published\n%s", FairTable(FairPublished, *fairPairs, 20261128))
	}
	pair := FairPair{Better: [2]float64{0.65, 0.80}, Worse: [2]float64{0.20, 0.35}, Sessions: 6}
	f := FairMatches(FairPublished, pair, 500, 7)
	if f.Told < 450 || f.Share() < 0.45 || f.Share() > 0.55 {
		t.Errorf("the better player wins %.3f of %d matches, want 0.45 to 0.55", f.Share(), f.Decided)
	}
	if even := float64(f.EvenWon) / float64(f.EvenDecided); even < 0.9 {
		t.Errorf("to one circle the better player wins %.3f, want nearly all", even)
	}
}
