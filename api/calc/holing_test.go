package calc

import (
	"math"
	"slices"
	"strings"
	"testing"
)

// TestHoling: the level is the distance from which half of the putts are holed;
// the tour's figures from six feet and from ten are 1.34 and 1.61 putts (Broadie,
// Every Shot Counts, 2014; values from memory).
func TestHoling(t *testing.T) {
	for in, want := range map[string]struct{ probability, putts, tolerance float64 }{
		`{"leave_m":1.524}`:                  {0.5, 1.5, 0.02}, // a club golfer, from five feet
		`{"leave_m":0.054}`:                  {1, 1, 1e-9},
		`{"leave_m":1.8288,"half_m":2.4384}`: {0.66, 1.34, 0.016},
		`{"leave_m":3.048,"half_m":2.4384}`:  {0.4, 1.61, 0.016},
	} {
		var out HolingOut
		ask(t, "holing", in, &out)
		if math.Abs(out.Probability-want.probability) > want.tolerance || math.Abs(out.ExpectedPutts-want.putts) > want.tolerance {
			t.Errorf("%s: got %+v, want %+v", in, out, want)
		}
	}
	var club, tour HolingOut
	ask(t, "holing", `{"leave_m":9}`, &club)
	ask(t, "holing", `{"leave_m":9,"half_m":2.4384}`, &tour)
	if club.ThreeOrMore <= tour.ThreeOrMore || club.LineDegrees <= tour.LineDegrees || club.Pace <= tour.Pace || club.HalfM != 1.524 {
		t.Errorf("the club golfer %+v putts like the professional %+v", club, tour)
	}
}

// TestLadderKnowsTheShot: how many of the balls inside are holed follows from
// the kind of skill and the distance, unless it is given.
func TestLadderKnowsTheShot(t *testing.T) {
	share := func(more string) float64 {
		var out LadderOut
		ask(t, "ladder", `{"tiers":[{"run":3,"radius_m":0.9,"holed":1}],"balls":30`+more+`}`, &out)
		return out.Tiers[0].HoledShare
	}
	chip, lag, short := share(`,"skill":"chip_and_run"`), share(`,"skill":"lag_putt"`), share(`,"skill":"short_putt"`)
	if !(chip > 0.02 && chip < 0.1 && lag > 0.02 && lag < 0.1 && short > 0.45 && short < 0.55) {
		t.Errorf("holed inside 0.9 m: %v of chips, %v of long putts, %v of short ones", chip, lag, short)
	}
	for _, kind := range []string{"pitch", "bunker_shot", "lob", "own"} {
		if got := share(`,"skill":"` + kind + `"`); got != chip {
			t.Errorf("%s: %v, want %v", kind, got, chip)
		}
	}
	if got := share(""); got != chip {
		t.Errorf("no kind: %v, want %v as from off the green", got, chip)
	}
	near, far := share(`,"skill":"short_putt","distance_m":0.9`), share(`,"skill":"lag_putt","distance_m":20`)
	if !(near > short && far < lag) {
		t.Errorf("short putts from 0.9 m %v, usually %v; long ones from 20 m %v, usually %v", near, short, far, lag)
	}
	if got := share(`,"skill":"short_putt","holed_share":0.07`); got != 0.07 {
		t.Errorf("a share that is given: %v, want 0.07", got)
	}
}

// TestLadderWarns in words that a person can picture, whatever the numbers.
func TestLadderWarns(t *testing.T) {
	var out LadderOut
	ask(t, "ladder", `{"tiers":[{"run":4,"radius_m":0.4572},{"run":30,"radius_m":0.4572,"holed":12}],"balls":35,"skill":"pitch"}`, &out)
	if out.Tiers[0].Warning != nil {
		t.Errorf("four in a row is warned of: %q", *out.Tiers[0].Warning)
	}
	hard := out.Tiers[1]
	if hard.Warning == nil {
		t.Fatal("thirty in a row, twelve holed: no warning")
	}
	if i := slices.IndexFunc(hard.Rates, func(r RatePreviewOut) bool { return r.Rate == 0.8 }); i < 0 || hard.Rates[i].Sessions == nil || *hard.Rates[i].Sessions < 1e6 {
		t.Fatalf("the example is not hopeless: %+v", hard.Rates)
	}
	if text := *hard.Warning; !strings.Contains(text, "less than 1 session in 1,000: unlikely even in 30 sessions") || strings.Contains(text, "0.4572") {
		t.Errorf("got %q", text)
	}
}
