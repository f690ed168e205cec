package greenside

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// anyGreen draws a green on which balls stop.
func anyGreen(t *rapid.T) Green {
	g := Green{StimpFt: rapid.Float64Range(MinStimpFt, MaxStimpFt).Draw(t, "stimp")}
	most := min(MaxSlopeDeg, g.steepest())
	g.SlopeDeg = rapid.Float64Range(-most, most).Draw(t, "slope")
	return g
}

// anyLaunch draws a launch within the limits.
func anyLaunch(t *rapid.T) Launch {
	speed := rapid.Float64Range(MinSpeedMps, MaxSpeedMps).Draw(t, "speed")
	return Launch{
		SpeedMps:       speed,
		LaunchDeg:      rapid.Float64Range(MinLaunchDeg, MaxLaunchDeg).Draw(t, "launch"),
		BackspinRPM:    rapid.Float64Range(0, math.Floor(speed/ballRadiusM/radS)).Draw(t, "spin"),
		LandingHeightM: rapid.Float64Range(-MaxHeightM, MaxHeightM).Draw(t, "height"),
		WindMps:        rapid.Float64Range(-MaxWindMps, MaxWindMps).Draw(t, "wind"),
	}
}

// TestShotsOverTheirRange: every launch has an answer that is a number and no negative
// distance, or a refusal that names a field.
func TestShotsOverTheirRange(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, g := anyLaunch(t), anyGreen(t)
		s, err := CarryAndRoll(l, g)
		if err != nil {
			switch pointers(err) {
			case "/landing_height_m", "/launch_deg", "/backspin_rpm":
				return
			}
			t.Fatalf("%+v on %+v: %v", l, g, err)
		}
		for _, x := range []float64{s.CarryM, s.ApexM, s.BounceM, s.RollM, s.BackM, s.LandingSpeedMps, s.TotalM(), s.CarryShare()} {
			if !(x >= 0) || math.IsInf(x, 0) {
				t.Fatalf("%+v on %+v: %+v", l, g, s)
			}
		}
		if !(s.DescentDeg > 0 && s.DescentDeg <= 180) || s.ApexM < l.LandingHeightM-1e-9 {
			t.Fatalf("%+v on %+v: %+v", l, g, s)
		}
	})
}

// TestMoreLoftNeverRollsFurther: all else equal, a ball that leaves higher runs no
// farther.
func TestMoreLoftNeverRollsFurther(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, g := anyLaunch(t), anyGreen(t)
		l.LandingHeightM, l.WindMps = 0, 0
		low, err := CarryAndRoll(l, g)
		if err != nil {
			return
		}
		l.LaunchDeg += rapid.Float64Range(0, MaxLaunchDeg-l.LaunchDeg).Draw(t, "more")
		high, err := CarryAndRoll(l, g)
		if err == nil && high.RunM() > low.RunM()+1e-9 {
			t.Fatalf("%+v on %+v runs %v m, with less launch %v m", l, g, high.RunM(), low.RunM())
		}
	})
}

// TestFasterGreensRollFurther, and it flies and hops the same.
func TestFasterGreensRollFurther(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, g := anyLaunch(t), anyGreen(t)
		slow, err := CarryAndRoll(l, g)
		if err != nil {
			return
		}
		g.StimpFt *= 1 + rapid.Float64Range(0.01, 0.5).Draw(t, "faster")
		fast, err := CarryAndRoll(l, g)
		if err != nil {
			return
		}
		if slow.RollM > 0 && !(fast.RollM > slow.RollM) || fast.CarryM != slow.CarryM || fast.BounceM != slow.BounceM {
			t.Fatalf("%+v: %+v, on the faster green %+v", l, slow, fast)
		}
	})
}

// TestShotByItsParts: landing and run are those of the flight and of the bounce, on a
// slope too.
func TestShotByItsParts(t *testing.T) {
	for _, g := range []Green{{10, 0}, {8, 3}, {11, -2}} {
		l := Launch{SpeedMps: 14, LaunchDeg: 40, BackspinRPM: 3500, LandingHeightM: 0.5, WindMps: -3}
		s, err := CarryAndRoll(l, g)
		if err != nil {
			t.Fatal(err)
		}
		carry, apex := inPolar(14, 40*math.Pi/180, 3500*math.Pi/30, 0.5, -3)
		about(t, "carry", s.CarryM, carry, 0.0015)
		about(t, "apex", s.ApexM, apex, 0.0015)
		down := s.DescentDeg * math.Pi / 180
		// Towards a green that rises the ball comes in more steeply.
		toGreen := down + g.SlopeDeg*math.Pi/180
		in := Impact{AlongMps: s.LandingSpeedMps * math.Cos(toGreen), UpMps: -s.LandingSpeedMps * math.Sin(toGreen), Backspin: 3500 * math.Pi / 30}
		r := in.run(g)
		about(t, "hops", s.BounceM, r.hopped, 1e-9)
		about(t, "roll", s.RollM, r.rolled, 1e-9)
		about(t, "total", s.TotalM(), s.CarryM+r.hopped+r.rolled, 1e-9)
		about(t, "share", s.CarryShare(), s.CarryM/(s.CarryM+r.hopped+r.rolled), 1e-9)
	}
	// Published arithmetic: 12 m of carry and 4 m of roll are three parts to one.
	s := Shot{CarryM: 12, BounceM: 1.5, RollM: 3, BackM: 0.5}
	near(t, "total", s.TotalM(), 16, 1e-12)
	near(t, "share", s.CarryShare(), 0.75, 1e-12)
}

func TestShotRefuses(t *testing.T) {
	level, plain := Green{StimpFt: 10}, Launch{SpeedMps: 10, LaunchDeg: 40, BackspinRPM: 2000}
	with := func(change func(*Launch)) Launch {
		l := plain
		change(&l)
		return l
	}
	for _, c := range []struct {
		what           string
		launch         Launch
		green          Green
		pointer, words string
	}{
		{"plain", plain, level, "", ""},
		{"slowest", Launch{SpeedMps: 3, LaunchDeg: 10}, level, "", ""},
		{"too slow, too low", Launch{SpeedMps: 2.99, LaunchDeg: 9.99}, level, "/speed_mps /launch_deg", "from 3 to 30 m/s"},
		{"fastest, highest", Launch{SpeedMps: 30, LaunchDeg: 75}, level, "", ""},
		{"too fast, too high", Launch{SpeedMps: 30.01, LaunchDeg: 75.01}, level, "/speed_mps /launch_deg", "from 10 to 75 degrees"},
		{"no number", Launch{SpeedMps: math.NaN(), LaunchDeg: math.NaN(), BackspinRPM: math.NaN()}, level, "/speed_mps /launch_deg", ""},
		// 10 m/s over the radius is 4475.6 turns a minute.
		{"most spin", with(func(l *Launch) { l.BackspinRPM = 4475; l.LaunchDeg = 30 }), level, "", ""},
		{"too much spin", with(func(l *Launch) { l.BackspinRPM = 4476 }), level, "/backspin_rpm", "is 4476; give the backspin from 0 to 4475 turns a minute, the most at 10 m/s"},
		{"topspin", with(func(l *Launch) { l.BackspinRPM = -1 }), level, "/backspin_rpm", ""},
		{"down", with(func(l *Launch) { l.LandingHeightM = -10 }), level, "", ""},
		{"too far down", with(func(l *Launch) { l.LandingHeightM = -10.01 }), level, "/landing_height_m", "from -10 to 10 m"},
		{"too high up", with(func(l *Launch) { l.LandingHeightM = 10.01 }), level, "/landing_height_m", "from -10 to 10 m"},
		{"over its top", with(func(l *Launch) { l.LandingHeightM = 10 }), level, "/landing_height_m", "higher than this ball flies"},
		{"a gale", with(func(l *Launch) { l.WindMps = -12 }), level, "", ""},
		{"a storm", with(func(l *Launch) { l.WindMps = -12.01 }), level, "/wind_mps", "from -12 to 12 m/s"},
		{"a storm behind", with(func(l *Launch) { l.WindMps = 12.01 }), level, "/wind_mps", ""},
		{"no green", plain, Green{}, "/stimp_ft", ""},
		{"flat and fast", Launch{SpeedMps: 25, LaunchDeg: 12, BackspinRPM: 1000}, level, "/launch_deg", "too flat and fast"},
		{"spun back", Launch{SpeedMps: 16, LaunchDeg: 74, BackspinRPM: 7000}, Green{StimpFt: 6, SlopeDeg: 3.8}, "/backspin_rpm", "back past where it was struck from"},
	} {
		_, err := CarryAndRoll(c.launch, c.green)
		refused(t, c.what, err, c.pointer, c.words)
	}
}

// TestComingBack: the limit is where a ball comes back to where it lay.
func TestComingBack(t *testing.T) {
	total := func(spin float64) (float64, error) {
		s, err := CarryAndRoll(Launch{SpeedMps: 16, LaunchDeg: 74, BackspinRPM: spin}, Green{StimpFt: 6, SlopeDeg: 3.8})
		return s.TotalM(), err
	}
	low, high := 2000.0, 7000.0
	for range 60 {
		if mid := (low + high) / 2; pointersOfTotal(total(mid)) != "" {
			high = mid
		} else {
			low = mid
		}
	}
	if least, _ := total(low); !(least > 0 && least < 1e-6) {
		t.Errorf("a ball may stop %v m away, want from 0 on", least)
	}
}

func pointersOfTotal(_ float64, err error) string { return pointers(err) }

// TestFlatAndFast: the limit is where the mark is as steep as the fall.
func TestFlatAndFast(t *testing.T) {
	low, high := 5.0, 25.0
	for range 50 {
		speed := (low + high) / 2
		if _, err := CarryAndRoll(Launch{SpeedMps: speed, LaunchDeg: 15, BackspinRPM: 1000}, Green{StimpFt: 10}); err != nil {
			high = speed
		} else {
			low = speed
		}
	}
	s, err := CarryAndRoll(Launch{SpeedMps: low, LaunchDeg: 15, BackspinRPM: 1000}, Green{StimpFt: 10})
	if err != nil {
		t.Fatal(err)
	}
	about(t, "mark", 15.4*s.LandingSpeedMps/18.6*(90-s.DescentDeg)/44.4, s.DescentDeg, 1e-6)
}
