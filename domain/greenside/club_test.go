package greenside

import (
	"math"
	"testing"

	"fringework/domain"

	"pgregory.net/rapid"
)

// TestClubsCarryAndRoll holds plain shots on a level green of medium speed to what the
// trade says: the sand wedge rolls one part for one of carry, the pitching wedge two,
// and so on to the 6-iron's six (common practice, no source): in order, and within a
// third.
func TestClubsCarryAndRoll(t *testing.T) {
	parts := map[string]float64{"sand wedge": 1, "pitching wedge": 2, "9-iron": 3, "8-iron": 4, "7-iron": 5, "6-iron": 6}
	for _, total := range []float64{8, 12} {
		before := math.Inf(1)
		for _, club := range UsualClubs() {
			spot, ok := Setup{LoftDeg: club.LoftDeg, Lie: Fairway, Green: Green{StimpFt: 9}}.find(total, Spot.TotalM)
			if !ok {
				t.Fatalf("%s does not go %v m", club.Name, total)
			}
			ratio := spot.RunM / spot.CarryM()
			if !(ratio < before) {
				t.Errorf("%s rolls %.2f parts, the club with less loft %.2f", club.Name, ratio, before)
			}
			if want, said := parts[club.Name]; said && math.Abs(math.Log(ratio/want)) > math.Log(4.0/3) {
				t.Errorf("over %v m the %s rolls %.2f parts to one of carry, want about %v", total, club.Name, ratio, want)
			}
			before = ratio
		}
	}
	for _, list := range [][]Club{UsualClubs(), Wedges()} {
		for i, club := range list {
			var p domain.Problems
			Setup{LoftDeg: club.LoftDeg, Lie: Sand, Green: Green{StimpFt: 9}}.Check(&p)
			if i > 0 && club.LoftDeg <= list[i-1].LoftDeg || len(p.Fields()) > 0 || club.Name == "" {
				t.Errorf("%+v: %v", club, p.Fields())
			}
		}
	}
	// Common practice, no source.
	lofts := map[string]float64{
		"6-iron": 30, "7-iron": 34, "8-iron": 38, "9-iron": 42, "pitching wedge": 46, "gap wedge": 50, "sand wedge": 56, "lob wedge": 60,
		"low wedge": 48, "middle wedge": 54, "high wedge": 60,
	}
	for _, club := range append(UsualClubs(), Wedges()...) {
		if club.LoftDeg != lofts[club.Name] {
			t.Errorf("the %s has %v°, want %v°", club.Name, club.LoftDeg, lofts[club.Name])
		}
		delete(lofts, club.Name)
	}
	if len(lofts) > 0 {
		t.Errorf("missing: %v", lofts)
	}
}

// TestStruck solves the impact of ball and head anew: what the ball has must leave the
// ball's surface as fast along the face as the head, when it rolls, with the momentum
// of both and the ball's spin unchanged; and the push along the face must be friction's
// when it slides.
func TestStruck(t *testing.T) {
	const m, M, e = 0.04593, 0.300, 0.80
	for _, c := range []struct {
		loft, lean, grip float64
		lie              Lie
	}{{30, 8, 0.4, Fairway}, {56, 8, 0.4, Fairway}, {70, 8, 0.4, Fairway}, {60, 8, 0.15, Rough}, {34, 8, 0.15, Rough}, {56, 0, 0.2, Sand}} {
		l := Struck(c.loft, c.lie, 9)
		dynamic := (c.loft - c.lean) * math.Pi / 180
		drop := dynamic - l.LaunchDeg*math.Pi/180
		square, along := 9*math.Cos(drop), 9*math.Sin(drop)
		surface := l.BackspinRPM * math.Pi / 30 * 0.04267 / 2
		about(t, "spin", 0.4*surface, along, 1e-9) // the push turns the ball as it drives it
		head := square * (1 + m/M) / (1 + e) / math.Cos(dynamic)
		headAlong := head*math.Sin(dynamic) - m/M*along
		if c.grip*square < along-1e-9 {
			t.Errorf("%+v: friction cannot give %v of %v", c, along, square)
		}
		if slides := along > c.grip*square-1e-9; slides {
			if along+surface > headAlong {
				t.Errorf("%+v: it slides, though it is as fast as the face", c)
			}
		} else {
			about(t, "surface", along+surface, headAlong, 1e-9)
		}
		if l.SpeedMps != 9 || l.LandingHeightM != 0 || l.WindMps != 0 {
			t.Errorf("%+v: %+v", c, l)
		}
	}
	// Grass between ball and face takes spin, and less hands ahead of the ball give
	// launch.
	fairway, rough := Struck(56, Fairway, 9), Struck(56, Rough, 9)
	if !(rough.BackspinRPM < fairway.BackspinRPM && rough.LaunchDeg > fairway.LaunchDeg) {
		t.Errorf("fairway %+v, rough %+v", fairway, rough)
	}
}

// TestStruckWithinLimits: no club leaves the limits of a shot.
func TestStruckWithinLimits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		loft, speed := rapid.Float64Range(MinLoftDeg, MaxLoftDeg).Draw(t, "loft"), rapid.Float64Range(MinSpeedMps, MaxSpeedMps).Draw(t, "speed")
		var p domain.Problems
		Struck(loft, rapid.SampledFrom(struckFrom).Draw(t, "lie"), speed).check(&p)
		if len(p.Fields()) > 0 {
			t.Fatal(p.Fields())
		}
	})
}

func TestSetupCheck(t *testing.T) {
	green := Green{StimpFt: 10}
	for _, c := range []struct {
		setup          Setup
		pointer, words string
	}{
		{Setup{LoftDeg: 24, Lie: Fairway, Green: green}, "", ""},
		{Setup{LoftDeg: 70, Lie: Sand, Green: green}, "", ""},
		{Setup{LoftDeg: 23.9, Lie: Rough, Green: green}, "/loft_deg", "from 24 to 70 degrees"},
		{Setup{LoftDeg: 70.1, Lie: OnGreen, Green: Green{}}, "/loft_deg /lie /stimp_ft", `"green"; give fairway, rough or sand`},
		{Setup{LoftDeg: 50, Green: green}, "/lie", ""},
	} {
		var p domain.Problems
		c.setup.Check(&p)
		refused(t, "setup", p.Err("setup", "no"), c.pointer, c.words)
	}
}

// anySetup draws a setup.
func anySetup(t *rapid.T) Setup {
	return Setup{
		LoftDeg: rapid.Float64Range(MinLoftDeg, MaxLoftDeg).Draw(t, "loft"),
		Lie:     rapid.SampledFrom(struckFrom).Draw(t, "lie"), Green: anyGreen(t),
	}
}

// TestFindFinds: what is found is as wanted, and what is not found lies beyond the ends.
func TestFindFinds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, wanted := anySetup(t), rapid.Float64Range(1, 70).Draw(t, "wanted")
		spot, ok := s.find(wanted, Spot.TotalM)
		if !ok {
			if least, most := s.reach(Spot.TotalM); wanted > least && wanted < most {
				t.Fatalf("%+v: %v m is not found, though it is from %v to %v m", s, wanted, least, most)
			}
			return
		}
		if math.Abs(spot.TotalM()-wanted) > 1e-8 || spot.Launch.SpeedMps < MinSpeedMps || spot.Launch.SpeedMps > MaxSpeedMps {
			t.Fatalf("%+v: %v m gives %+v", s, wanted, spot)
		}
		if _, known := s.at(spot.Launch.SpeedMps); !known {
			t.Fatalf("nothing is known of %+v", spot)
		}
	})
}

// TestReach: from what the slowest ball does to what the fastest does of which all is
// known.
func TestReach(t *testing.T) {
	sand := Setup{LoftDeg: 56, Lie: Fairway, Green: Green{StimpFt: 10}}
	slow, _ := CarryAndRoll(Struck(56, Fairway, 3), sand.Green)
	fast, _ := CarryAndRoll(Struck(56, Fairway, 30), sand.Green)
	least, most := sand.reach(Spot.CarryM)
	near(t, "shortest", least, slow.CarryM, 1e-12)
	near(t, "longest", most, fast.CarryM, 1e-12)
	// The 6-iron comes in too flat and fast from 15.3 m/s on or so.
	six := Setup{LoftDeg: 30, Lie: Fairway, Green: Green{StimpFt: 10}}
	_, most = six.reach(func(s Spot) float64 { return s.Launch.SpeedMps })
	if _, err := CarryAndRoll(Struck(30, Fairway, most), six.Green); err != nil {
		t.Error(err)
	}
	if _, err := CarryAndRoll(Struck(30, Fairway, most+0.1), six.Green); pointers(err) != "/launch_deg" {
		t.Errorf("at %v m/s and 0.1 more: %v", most, err)
	}
}

// TestFindWhereFullShotsComeBack: with the most loft, uphill on a slow green, the
// fastest ball does not stop farthest away.
func TestFindWhereFullShotsComeBack(t *testing.T) {
	s := Setup{LoftDeg: 70, Lie: Fairway, Green: Green{StimpFt: 6, SlopeDeg: 4.5}}
	fastest, _ := s.at(MaxSpeedMps)
	least, most := s.reach(Spot.TotalM)
	if !(fastest.TotalM() < most-0.5 && least < 2) {
		t.Fatalf("it goes %v to %v m, at most speed %v m", least, most, fastest.TotalM())
	}
	for wanted := least + 0.01; wanted < most-0.2; wanted += 0.37 {
		spot, ok := s.find(wanted, Spot.TotalM)
		if !ok || math.Abs(spot.TotalM()-wanted) > 1e-8 {
			t.Errorf("%v m: %+v, %v", wanted, spot, ok)
		}
	}
	if spot, ok := s.find(most+0.1, Spot.TotalM); ok {
		t.Errorf("%v m is beyond reach: %+v", most+0.1, spot)
	}
}
