package greenside

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestLandingSpotAndCarryRollInvert: the ball of a landing spot, launched anew, lands
// on it and stops as far away as the hole; and the carry of that ball gives it back.
func TestLandingSpotAndCarryRollInvert(t *testing.T) {
	answered := 0
	rapid.Check(t, func(t *rapid.T) {
		s := anySetup(t)
		toHole := rapid.Float64Range(MinToHoleM, MaxToHoleM).Draw(t, "hole")
		toGreen := rapid.Float64Range(0, toHole).Draw(t, "green") / 4
		spot, err := LandingSpot(s, toHole, toGreen)
		if err != nil {
			switch pointers(err) {
			case "/to_hole_m", "/loft_deg", "/to_green_m":
				return
			}
			t.Fatalf("%+v to %v m: %v", s, toHole, err)
		}
		answered++
		shot, err := CarryAndRoll(spot.Launch, s.Green)
		if err != nil || math.Abs(shot.TotalM()-toHole) > 1e-6 || shot.CarryM != spot.CarryM() || math.Abs(shot.RunM()-spot.RunM) > 1e-9 {
			t.Fatalf("%+v to %v m: %+v, launched anew %+v, %v", s, toHole, spot, shot, err)
		}
		if spot.CarryM() < toGreen+PaceM {
			t.Fatalf("%+v lands at %v m, the green begins at %v m", s, spot.CarryM(), toGreen)
		}
		if spot.CarryM() > MaxCarryM || spot.CarryM() < MinCarryM {
			return
		}
		again, err := Carrying(s, spot.CarryM())
		if err != nil || math.Abs(again.TotalM()-toHole) > 1e-5 {
			t.Fatalf("%+v: a carry of %v m stops at %v m, want %v (%v)", s, spot.CarryM(), again.TotalM(), toHole, err)
		}
	})
	if answered < 20 {
		t.Errorf("only %d shots exist", answered)
	}
}

// TestMoreLoftCarriesMore: to the same hole a club with more loft rolls no farther.
func TestMoreLoftCarriesMore(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anySetup(t)
		wanted := rapid.Float64Range(MinToHoleM, 40).Draw(t, "hole")
		less, ok := s.find(wanted, Spot.TotalM)
		s.LoftDeg += rapid.Float64Range(0, MaxLoftDeg-s.LoftDeg).Draw(t, "more")
		more, ok2 := s.find(wanted, Spot.TotalM)
		if ok && ok2 && more.RunM > less.RunM+1e-6 {
			t.Fatalf("%+v rolls %v m, with less loft %v m", s, more.RunM, less.RunM)
		}
	})
}

// TestLandingSpotSandWedge: an easy pitch with a sand wedge is half carry and half roll
// (common practice, no source).
func TestLandingSpotSandWedge(t *testing.T) {
	spot, err := LandingSpot(Setup{LoftDeg: 56, Lie: Fairway, Green: Green{StimpFt: 10}}, 18, 6)
	if err != nil {
		t.Fatal(err)
	}
	about(t, "share", spot.CarryShare(), 0.5, 0.05)
	about(t, "carry and roll", spot.CarryM()+spot.RunM, 18, 1e-6)
	near(t, "share", spot.CarryShare(), spot.CarryM()/18, 1e-6)
}

func TestLandingSpotRefuses(t *testing.T) {
	sand := Setup{LoftDeg: 56, Lie: Fairway, Green: Green{StimpFt: 10}}
	six := Setup{LoftDeg: 30, Lie: Fairway, Green: Green{StimpFt: 10}}
	for _, c := range []struct {
		setup           Setup
		toHole, toGreen float64
		pointer, words  string
	}{
		{sand, 18, 6, "", ""},
		{sand, 18, 0, "", ""},
		{sand, 18, -0.1, "/to_green_m", "from 0 to 60 m"},
		{sand, 60.1, 6, "/to_hole_m", "from 2 to 60 m"},
		{sand, 1.9, 0, "/to_hole_m", "from 2 to 60 m"},
		{sand, 1.9, 61, "/to_hole_m /to_green_m", ""},
		{sand, 18, 18.1, "/to_green_m", "is beyond the hole, which is 18 m away; give the distance to the near edge of the green"},
		{sand, 18, 18, "/to_green_m", "no room"},
		{sand, 18, 17.2, "/to_green_m", "no room between the edge of the green and the hole at 18 m; give a hole at least a pace (0.9 m) onto the green"},
		{sand, 18, 17.1, "/loft_deg", "no loft does it"},
		{sand, 18, 8.0, "", ""},
		{sand, 18, 8.6, "/loft_deg", "m, and it must land at least a pace onto the green, 9.5 m away; take 58° or more"},
		{six, 60, 2, "/to_hole_m", "from 3.8 to 50"},
		{six, 3.5, 1, "/to_hole_m", "is out of reach: a plain shot with 30° stops a ball from 3.8"},
		{Setup{LoftDeg: 3, Lie: "bush"}, 1, 1, "/loft_deg /lie /stimp_ft /to_hole_m", ""},
	} {
		_, err := LandingSpot(c.setup, c.toHole, c.toGreen)
		refused(t, "landing spot", err, c.pointer, c.words)
	}
}

// TestTheLoftThatIsAdvised does it, and a degree less does not.
func TestTheLoftThatIsAdvised(t *testing.T) {
	s := Setup{LoftDeg: 40, Lie: Rough, Green: Green{StimpFt: 9}}
	_, err := LandingSpot(s, 15, 7)
	_, rest, found := strings.Cut(err.Error(), "; take ")
	loft, _, _ := strings.Cut(rest, "°")
	s.LoftDeg, _ = strconv.ParseFloat(loft, 64)
	if !found || s.LoftDeg < 50 {
		t.Fatalf("no loft is advised in %v", err)
	}
	if _, err := LandingSpot(s, 15, 7); err != nil {
		t.Errorf("with %v°: %v", s.LoftDeg, err)
	}
	if s.LoftDeg--; pointersOf(LandingSpot(s, 15, 7)) != "/loft_deg" {
		t.Errorf("%v° would do", s.LoftDeg)
	}
}

func pointersOf(_ Spot, err error) string { return pointers(err) }

func TestCarryingRefuses(t *testing.T) {
	s := Setup{LoftDeg: 56, Lie: Fairway, Green: Green{StimpFt: 10}}
	for _, c := range []struct {
		carry          float64
		pointer, words string
	}{
		{0.49, "/carry_m", "from 0.5 to 50 m"},
		{0.5, "/carry_m", "lands a ball from 0.9 to 60"},
		{50, "", ""},
		{50.1, "/carry_m", "from 0.5 to 50 m"},
	} {
		_, err := Carrying(s, c.carry)
		refused(t, "carry", err, c.pointer, c.words)
	}
	spot, err := Carrying(s, 9)
	if about(t, "carry", spot.CarryM(), 9, 1e-6); err != nil {
		t.Error(err)
	}
	s.LoftDeg = 1
	_, err = Carrying(s, 9)
	refused(t, "carry", err, "/loft_deg", "")
}

func BenchmarkLandingSpot(b *testing.B) {
	s := Setup{LoftDeg: 56, Lie: Fairway, Green: Green{StimpFt: 10}}
	for b.Loop() {
		if _, err := LandingSpot(s, 18, 6); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkCarryAndRoll(b *testing.B) {
	for b.Loop() {
		if _, err := CarryAndRoll(Launch{SpeedMps: 14, LaunchDeg: 40, BackspinRPM: 3500}, Green{StimpFt: 10}); err != nil {
			b.Fatal(err)
		}
	}
}
