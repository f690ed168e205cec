package calc

import (
	"math"
	"strings"
	"testing"

	"fringework/domain/greenside"
)

func withinOf(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %v, want %v within %v", what, got, want, tolerance)
	}
}

// TestGreenSpeed: 2 · up · down / (up + down), not the mean (Brede, USGA Green Section
// Record 28 (6), 1990).
func TestGreenSpeed(t *testing.T) {
	var out, putts GreenSpeedOut
	ask(t, "green-speed", `{"up_ft":7.5,"down_ft":11}`, &out)
	withinOf(t, "level", out.LevelFt, 2*7.5*11/18.5, 2e-6)
	withinOf(t, "slope", out.SlopeDeg, 0.95, 0.01)
	// What may fall in rolls on for 1.63²/1.83² of the reading (Holmes 1991).
	withinOf(t, "past", out.LevelPastM, out.LevelFt*0.3048*1.63*1.63/1.83/1.83, 2e-6)
	ask(t, "green-speed", `{"up_ft":15,"down_ft":22,"reference_ft":20,"reference_stimp_ft":10}`, &putts)
	withinOf(t, "level by putts", putts.LevelFt, out.LevelFt, 2e-6)
	withinOf(t, "slope by putts", putts.SlopeDeg, out.SlopeDeg, 2e-6)
}

// TestCarryRollAndLandingSpotInvert each other through their JSON.
func TestCarryRollAndLandingSpotInvert(t *testing.T) {
	var spot LandingSpotOut
	ask(t, "landing-spot", `{"to_hole_m":18,"to_green_m":6,"loft_deg":56,"lie":"fairway","stimp_ft":10,"slope_deg":0}`, &spot)
	withinOf(t, "carry and roll", spot.CarryM+spot.RollM, 18, 2e-6)
	// An easy pitch with a sand wedge is half and half (common practice, no source).
	withinOf(t, "share", *spot.CarryShare, 0.5, 0.05)
	if spot.Learned != nil || spot.AimM != spot.CarryM {
		t.Errorf("nothing was logged: %+v", spot)
	}
	var shot CarryRollOut
	ask(t, "carry-roll", encode(t, map[string]any{
		"speed_mps": spot.SpeedMps, "launch_deg": spot.LaunchDeg, "backspin_rpm": spot.BackspinRPM, "stimp_ft": 10,
	}), &shot)
	withinOf(t, "total", shot.TotalM, 18, 3e-6)
	withinOf(t, "carry", shot.CarryM, spot.CarryM, 3e-6)
	withinOf(t, "parts", shot.CarryM+shot.BounceM+shot.RollM-shot.BackM, shot.TotalM, 3e-6)
	withinOf(t, "share", *shot.CarryShare, shot.CarryM/shot.TotalM, 3e-6)
	withinOf(t, "apex", shot.ApexM, spot.ApexM, 3e-6)
	withinOf(t, "descent", shot.DescentDeg, spot.DescentDeg, 3e-6)
	if !(shot.LandingSpeedMps > 5 && shot.LandingSpeedMps < spot.SpeedMps && shot.BounceM > 0 && shot.RollM > 0) {
		t.Errorf("%+v", shot)
	}
	var slower, uphill, windy, up CarryRollOut
	with := func(more string, out any) {
		ask(t, "carry-roll", `{"speed_mps":12,"launch_deg":40,"backspin_rpm":2500,"stimp_ft":9`+more+`}`, out)
	}
	with(``, &slower)
	with(`,"slope_deg":2`, &uphill)
	with(`,"wind_mps":-6`, &windy)
	with(`,"landing_height_m":1`, &up)
	if !(uphill.TotalM < slower.TotalM && windy.CarryM < slower.CarryM && up.CarryM < slower.CarryM) {
		t.Errorf("level %+v, uphill %+v, against the wind %+v, onto a higher green %+v", slower, uphill, windy, up)
	}
}

// TestLandingSpotLearns: a student whose balls run farther than physics says, and land
// short of where they were meant to.
func TestLandingSpotLearns(t *testing.T) {
	var plain, own LandingSpotOut
	ask(t, "landing-spot", `{"to_hole_m":15,"to_green_m":3,"loft_deg":52,"stimp_ft":9}`, &plain)
	shot := `{"carry_m":6,"total_m":17,"aim_m":6.5},`
	ask(t, "landing-spot", `{"to_hole_m":15,"to_green_m":3,"loft_deg":52,"stimp_ft":9,"shots":[`+strings.TrimSuffix(strings.Repeat(shot, 20), ",")+`]}`, &own)
	l := own.Learned
	if l == nil || l.Balls != 20 || !(own.CarryM < plain.CarryM && l.RunFactor > 1.1 && l.Interval80[0] < l.RunFactor && l.Interval80[1] > l.RunFactor && l.RunSpread > 0) {
		t.Fatalf("by physics %+v, learned %+v", plain, own)
	}
	withinOf(t, "stops", own.CarryM+own.RollM, 15, 2e-6)
	withinOf(t, "share of the carry", *l.CarryFactor, (1+20*6/6.5)/21, 1e-9)
	withinOf(t, "aim", own.AimM, own.CarryM / *l.CarryFactor, 2e-6)
	var noAim LandingSpotOut
	ask(t, "landing-spot", landingSpot.Example, &noAim)
	if noAim.Learned.CarryFactor != nil || noAim.Learned.Balls != 2 || noAim.AimM != noAim.CarryM {
		t.Errorf("without an aim: %+v", noAim)
	}
}

func TestStations(t *testing.T) {
	var three, half, own StationsOut
	ask(t, "stations", `{"carry_m":8,"stimp_ft":9}`, &three)
	if len(three.Clubs) != 3 || three.CarryM != 8 {
		t.Fatalf("%+v", three)
	}
	for i, c := range three.Clubs {
		withinOf(t, "total", c.TotalM, 8+c.RollM, 2e-6)
		withinOf(t, "share", *c.CarryShare, 8/c.TotalM, 2e-6)
		want := greenside.Wedges()[i]
		if c.Name != want.Name || c.LoftDeg != want.LoftDeg || !(c.Interval80[0] < c.TotalM && c.Interval80[1] > c.TotalM) || !(c.ApexM > 0 && c.DescentDeg > 20) || c.Learned != nil {
			t.Errorf("%+v, want %+v", c, want)
		}
	}
	ask(t, "stations", `{"half_and_half":"middle wedge","stimp_ft":9,"lie":"rough","slope_deg":1}`, &half)
	withinOf(t, "middle wedge", half.Clubs[1].RollM, half.CarryM, 1e-5)
	ask(t, "stations", `{"carry_m":6,"stimp_ft":9,"clubs":[{"name":"the old one","loft_deg":52,"shots":[{"carry_m":6,"total_m":20}]},{"name":"new","loft_deg":52}]}`, &own)
	if own.Clubs[0].Learned == nil || own.Clubs[1].Learned != nil || !(own.Clubs[0].TotalM > own.Clubs[1].TotalM) {
		t.Errorf("%+v", own)
	}
}

func TestStrokes(t *testing.T) {
	var out StrokesGainedOut
	ask(t, "strokes-gained", strokesGained.Example, &out)
	// Rough 18 m to 1.8 m on the green is worth about a quarter of a stroke (Broadie).
	withinOf(t, "gained", out.Shots[0].Gained, 0.26, 0.02)
	withinOf(t, "sum", out.Sum, out.Shots[0].Before-2, 1e-9)
	withinOf(t, "after", out.Shots[0].After, out.Shots[1].Before, 1e-12)
	if out.Shots[1].After != 0 || !strings.Contains(out.Baseline, "Broadie") || len(out.Shots) != 2 {
		t.Errorf("%+v", out)
	}
	for in, want := range map[string]string{
		`{"shots":[]}`: "[/shots: is empty; give 1 to 2000 shots]",
		`{}`:           "[/shots: is missing; give an array]",
		`{"shots":[{"lie":"rough","distance_m":"18","holed":true}]}`: "[/shots/0/distance_m: must be a number of metres, without quotes and without a unit]",
	} {
		if _, err := Run(t.Context(), "strokes-gained", []byte(in)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %s", in, err, want)
		}
	}
}

// TestUpAndDown: half of the putts from half_m drop.
func TestUpAndDown(t *testing.T) {
	var out, club UpAndDownOut
	ask(t, "up-and-down", `{"leaves_m":[2,2,0,2],"half_m":2}`, &out)
	withinOf(t, "chance", out.Probability, (1+3*0.5)/4, 1e-6)
	if out.Balls != 4 || out.Holed != 1 || out.HalfM != 2 || !(out.Interval80[0] < 0.5 && out.Interval80[1] > 0.7) || !(out.ExpectedStrokes > 2.12 && out.ExpectedStrokes < 2.2) {
		t.Errorf("%+v", out)
	}
	ask(t, "up-and-down", `{"leaves_m":[2,2,0,2]}`, &club)
	if club.HalfM != greenside.ClubHalf || club.Probability >= out.Probability {
		t.Errorf("a club golfer %+v, a better one %+v", club, out)
	}
}

func TestGreensideRefusals(t *testing.T) {
	const carry = `{"speed_mps":14,"launch_deg":40,"backspin_rpm":3500,"stimp_ft":10`
	const spot = `{"to_hole_m":18,"to_green_m":6,"loft_deg":56,"stimp_ft":10`
	checkRefusals(t, []refusal{
		{"green-speed", `{}`, "/up_ft /down_ft"},
		{"green-speed", `{"up_ft":11,"down_ft":7.5}`, "/down_ft"},
		{"green-speed", `{"up_ft":7,"down_ft":8,"reference_ft":9}`, "/reference_stimp_ft"},
		{"green-speed", `{"up_ft":7,"down_ft":8,"reference_stimp_ft":9}`, "/reference_ft"},
		{"carry-roll", `{}`, "/speed_mps /launch_deg /backspin_rpm /stimp_ft"},
		{"carry-roll", carry + `,"slope_deg":7,"landing_height_m":11,"wind_mps":13}`, "/landing_height_m /wind_mps /slope_deg"},
		{"carry-roll", carry + `,"slope_deg":5.9}`, "/slope_deg"},
		{"landing-spot", `{}`, "/loft_deg /stimp_ft /to_hole_m /to_green_m"},
		{"landing-spot", spot + `,"lie":"green"}`, "/lie"},
		{"landing-spot", spot + `,"lie":"green","shots":[{}]}`, "/shots/0/carry_m /shots/0/total_m"},
		{"landing-spot", spot + `,"shots":[{"carry_m":0,"total_m":3}]}`, "/shots/0/carry_m"},
		{"landing-spot", `{"to_hole_m":18,"to_green_m":12,"loft_deg":56,"stimp_ft":10}`, "/loft_deg"},
		{"stations", `{}`, "/stimp_ft /carry_m"},
		{"stations", `{"stimp_ft":9,"carry_m":8,"half_and_half":"high wedge"}`, "/carry_m"},
		{"stations", `{"stimp_ft":9,"half_and_half":"low wedge","clubs":[{"name":"low wedge","loft_deg":30}]}`, "/clubs/0/loft_deg"},
		{"stations", `{"stimp_ft":9,"half_and_half":"putter"}`, "/half_and_half"},
		{"stations", `{"stimp_ft":3,"half_and_half":"high wedge"}`, "/stimp_ft"},
		{"stations", `{"stimp_ft":9,"carry_m":8,"clubs":[]}`, "/clubs"},
		{"stations", `{"stimp_ft":9,"carry_m":8,"clubs":[` + strings.Repeat("{},", 14) + `{}]}`, "/clubs"},
		{"stations", `{"stimp_ft":9,"carry_m":8,"clubs":[{},{"name":"a","loft_deg":80}]}`, "/clubs/0/name /clubs/0/loft_deg"},
		{"stations", `{"stimp_ft":9,"carry_m":8,"clubs":[{"name":"a","loft_deg":50},{"name":"b","loft_deg":80}]}`, "/clubs/1/loft_deg"},
		{"stations", `{"stimp_ft":9,"carry_m":8,"clubs":[{"name":"a","loft_deg":50},{"name":"b","loft_deg":50,"shots":[{"carry_m":8,"total_m":200}]}]}`, "/clubs/1/shots/0/total_m"},
		{"stations", `{"stimp_ft":9,"carry_m":8,"lie":"bush","clubs":[{"name":"b","loft_deg":50,"shots":[{"carry_m":8,"total_m":20}]}]}`, "/lie"},
		{"stations", `{"stimp_ft":9,"carry_m":8,"clubs":[{"name":"b","loft_deg":50,"shots":[{"carry_m":8}]}]}`, "/clubs/0/shots/0/total_m"},
		{"strokes-gained", `{}`, "/shots"},
		{"strokes-gained", `{"shots":[{"lie":"rough","distance_m":18}]}`, "/shots/0/next"},
		{"strokes-gained", `{"shots":[{"lie":"rough","distance_m":18,"holed":true,"next":{"lie":"green","distance_m":1}}]}`, "/shots/0/next"},
		{"strokes-gained", `{"shots":[{"distance_m":18,"next":{"lie":"green"}}]}`, "/shots/0/lie /shots/0/next/distance_m"},
		{"strokes-gained", `{"shots":[{"lie":"lake","distance_m":18,"holed":true}]}`, "/shots/0/lie"},
		{"strokes-gained", `{"shots":[` + strings.Repeat("{},", 2000) + `{}]}`, "/shots"},
		{"up-and-down", `{}`, "/leaves_m"},
		{"strokes-gained", `{"shots":[{"lie":"lake","distance_m":18,"next":{}},{"lie":"rough"},{"lie":"rough","distance_m":-1}]}`, "/shots/0/next/lie /shots/0/next/distance_m /shots/1/distance_m /shots/1/next /shots/2/next /shots/0/lie /shots/2/distance_m"},
		{"up-and-down", `{"leaves_m":[],"half_m":7}`, "/half_m /leaves_m"},
		{"up-and-down", `{"leaves_m":["a",1,-1],"half_m":7}`, "/leaves_m/0 /half_m /leaves_m/2"},
		{"up-and-down", `{"leaves_m":[]}`, "/leaves_m"},
		{"up-and-down", `{"leaves_m":[1,-1]}`, "/leaves_m/1"},
	})
}
