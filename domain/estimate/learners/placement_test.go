package learners

import (
	"strings"
	"testing"
)

// TestPlacements: in every band of every population four in five pass the step that
// they begin with within three sessions, and far more than pass the first of the
// ladder of those who start low. Few are drawn here; the table beside the rule has more.
func TestPlacements(t *testing.T) {
	for i, p := range []Starts{StartsSetting, PublishedStarts[1]} {
		for j, band := range [][2]int{Bands[0], Bands[3]} {
			x := p.Place(60, band, uint64(70+10*i+j))
			if x.Passed < 80 {
				t.Errorf("%s, %v: %.0f %% passed within three sessions", p.Name, band, x.Passed)
			}
			if x.TooHigh > 20 {
				t.Errorf("%s, %v: %.0f %% began too high", p.Name, band, x.TooHigh)
			}
			if band[0] < 50 && x.Passed < x.First+20 {
				t.Errorf("%s, %v: %.0f %% passed, and %.0f %% the first step", p.Name, band, x.Passed, x.First)
			}
		}
	}
}

// TestGains: the interval holds the true change of four in five, also of those who
// would be quoted, and what is told of these is nearer to the truth than the two shares.
// Of 400, three standard errors are six per cent.
func TestGains(t *testing.T) {
	for i, g := range []Gains{GainsSetting, PublishedGains[1], PublishedGains[2]} {
		all, worst, quoted := g.Test(400, uint64(90+i))
		if all.Covered < 74 {
			t.Errorf("%s: %.1f %% held the truth", g.Name, all.Covered)
		}
		for _, some := range []Changed{worst, quoted} {
			if some.Bias > some.Naive-3 {
				t.Errorf("%s: %+.1f told too much, and %+.1f by the shares alone", g.Name, some.Bias, some.Naive)
			}
		}
	}
}

func TestTablesOfTests(t *testing.T) {
	if got := PlacementTable(PublishedStarts[:1], 5, 1); strings.Count(got, "\n") != 2+len(Bands) || !strings.Contains(got, "steady   15-30 %") {
		t.Errorf("got %s", got)
	}
	if got := GainsTable(PublishedGains[:1], 20, 1); strings.Count(got, "\n") != 3 || !strings.Contains(got, "nobody gains") {
		t.Errorf("got %s", got)
	}
}
