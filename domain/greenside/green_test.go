package greenside

import (
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"

	"fringework/domain"

	"pgregory.net/rapid"
)

// outsideShots is testdata/shots.json, which names its sources.
type outsideShots struct {
	Deceleration [][2]float64
	Rolls        [][3]float64
	Brede        [][3]float64
	Sloped       []struct {
		StimpFt float64 `json:"stimp_ft"`
		Slope   float64
		UpFt    float64 `json:"up_ft"`
		DownFt  float64 `json:"down_ft"`
	}
	Vacuum, Drag []outsideFlight
	Restitution  [][2]float64
	Bounces      []struct {
		VX, VY, Spin float64
		MarkDeg      float64 `json:"mark_deg"`
		VXOut        float64 `json:"vx_out"`
		VYOut        float64 `json:"vy_out"`
		SpinOut      float64 `json:"spin_out"`
	}
}

type outsideFlight struct {
	V            float64
	AngleDeg     float64 `json:"angle_deg"`
	StartM       float64 `json:"start_m"`
	Rho, CD, CL  float64
	CarryM       float64 `json:"carry_m"`
	TimeS        float64 `json:"time_s"`
	ApexM        float64 `json:"apex_m"`
	LandingSpeed float64 `json:"landing_speed"`
	LandingDeg   float64 `json:"landing_deg"`
}

func readOutside(t *testing.T, file string, into any) {
	t.Helper()
	raw, err := os.ReadFile("testdata/" + file)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(raw, into); err != nil {
		t.Fatal(err)
	}
}

func outside(t *testing.T) (o outsideShots) {
	t.Helper()
	readOutside(t, "shots.json", &o)
	if len(o.Deceleration)*len(o.Rolls)*len(o.Brede)*len(o.Sloped)*len(o.Vacuum)*len(o.Drag)*len(o.Restitution)*len(o.Bounces) == 0 {
		t.Fatal("something is missing in shots.json")
	}
	return o
}

// pointers are those of an error's fields.
func pointers(err error) string {
	var all []string
	for _, f := range domain.FieldsOf(err) {
		all = append(all, f.Pointer)
	}
	return strings.Join(all, " ")
}

// refused checks where, and in which words, an input is refused; no words is accepted.
func refused(t *testing.T, what string, err error, pointer, words string) {
	t.Helper()
	if pointer == "" {
		if err != nil {
			t.Errorf("%s: %v, want it accepted", what, err)
		}
		return
	}
	if pointers(err) != pointer || domain.KindOf(err) != domain.Invalid || !strings.Contains(err.Error(), words) {
		t.Errorf("%s: got %v, want it refused at %s with %q", what, err, pointer, words)
	}
}

func TestGreenRolls(t *testing.T) {
	o := outside(t)
	for _, row := range o.Deceleration {
		near(t, "deceleration", Green{StimpFt: row[0]}.level(), row[1], 1e-9)
	}
	for _, row := range o.Rolls {
		near(t, "roll", Green{StimpFt: row[0]}.RollM(row[1]), row[2], 1e-9)
	}
	for _, c := range o.Sloped {
		g := Green{StimpFt: c.StimpFt, SlopeDeg: math.Atan(c.Slope) * 180 / math.Pi}
		near(t, "roll up", g.RollM(1.83), c.UpFt*foot, 1e-9)
		near(t, "roll back down", g.RollM(-1.83), -c.DownFt*foot, 1e-9)
		g.SlopeDeg = -g.SlopeDeg
		near(t, "roll down", g.RollM(1.83), c.DownFt*foot, 1e-9)
	}
	// 1.63 m/s is what the hole takes at most (Holmes 1991): 1.63²/(2·0.549) m past it.
	about(t, "past the hole", Green{StimpFt: 10}.PastM(), 2.42, 0.005)
}

func TestGreenOf(t *testing.T) {
	o := outside(t)
	for _, row := range o.Brede {
		if g, _ := GreenOf(TwoRolls{UpFt: row[0], DownFt: row[1]}); math.Abs(g.StimpFt-row[2]) > 1e-9 {
			t.Errorf("up %v ft, down %v ft: %v ft, want %v", row[0], row[1], g.StimpFt, row[2])
		}
	}
	for _, c := range o.Sloped {
		g, err := GreenOf(TwoRolls{UpFt: c.UpFt, DownFt: c.DownFt})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "reading", g.StimpFt, c.StimpFt, 1e-9)
		near(t, "slope", math.Tan(g.SlopeDeg*math.Pi/180), c.Slope, 1e-9)
		// The same green by putts that roll 18 ft on a level green of 9 ft: the stroke
		// starts a ball √(18/9) times as fast as the stimpmeter, and it rolls twice as far.
		putts, err := GreenOf(TwoRolls{UpFt: 2 * c.UpFt, DownFt: 2 * c.DownFt, ReferenceFt: 18, ReferenceStimpFt: 9})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "reading by putts", putts.StimpFt, c.StimpFt, 1e-9)
		near(t, "slope by putts", putts.SlopeDeg, g.SlopeDeg, 1e-9)
	}
	// From 7.5 ft up and 11 ft down the mean would be a third of a foot too much.
	g, err := GreenOf(TwoRolls{UpFt: 7.5, DownFt: 11})
	if about(t, "reading", g.StimpFt, 8.92, 0.005); err != nil {
		t.Error(err)
	}
}

// TestGreenOfIsTheInverse rolls balls up and down greens and takes their lengths for
// the two rolls.
func TestGreenOfIsTheInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := Green{StimpFt: rapid.Float64Range(MinStimpFt+1e-6, MaxStimpFt-1e-6).Draw(t, "stimp")}
		g.SlopeDeg = rapid.Float64Range(0, 0.999*min(MaxSlopeDeg, g.steepest())).Draw(t, "slope")
		down := Green{StimpFt: g.StimpFt, SlopeDeg: -g.SlopeDeg}
		rolls := TwoRolls{UpFt: g.RollM(releaseMps) / foot, DownFt: down.RollM(releaseMps) / foot}
		got, err := GreenOf(rolls)
		if rolls.DownFt > maxRollFt { // on a steep green a ball runs on for longer than is believed
			if err == nil {
				t.Fatalf("%+v is a green of %+v, want a refusal of the long roll", rolls, got)
			}
			return
		}
		if err != nil || math.Abs(got.StimpFt-g.StimpFt) > 1e-9 || math.Abs(got.SlopeDeg-g.SlopeDeg) > 1e-9 {
			t.Fatalf("%+v gives %+v and %v, want %+v", rolls, got, err, g)
		}
	})
}

func TestGreenOfRefuses(t *testing.T) {
	for _, c := range []struct {
		rolls          TwoRolls
		pointer, words string
	}{
		{TwoRolls{UpFt: 10, DownFt: 10}, "", ""},
		{TwoRolls{UpFt: 10.01, DownFt: 10}, "/down_ft", "shorter"},
		{TwoRolls{UpFt: 0.99, DownFt: 60.1}, "/up_ft /down_ft", "from 1 to 60 ft"},
		{TwoRolls{UpFt: math.NaN(), DownFt: math.Inf(1)}, "/up_ft /down_ft", "from 1 to 60 ft"},
		{TwoRolls{UpFt: 4, DownFt: 4}, "", ""},
		{TwoRolls{UpFt: 3.99, DownFt: 3.99}, "/up_ft", "4.0 ft on the level; measure again, a green reads 4 to 16 ft"},
		{TwoRolls{UpFt: 16, DownFt: 16}, "", ""},
		{TwoRolls{UpFt: 16.01, DownFt: 16.01}, "/up_ft", "16.0 ft on the level"},
		// At 80 % of the level deceleration the roll up is 1/1.8 and the one down five
		// times as long as on the level.
		{TwoRolls{UpFt: 9 / 1.801, DownFt: 9 / 0.199}, "/down_ft", "4.0°"},
		{TwoRolls{UpFt: 9 / 1.799, DownFt: 9 / 0.201}, "", ""},
		{TwoRolls{UpFt: 12, DownFt: 14, ReferenceFt: 12}, "/reference_stimp_ft", "the reading of that level green"},
		{TwoRolls{UpFt: 12, DownFt: 14, ReferenceStimpFt: 12}, "/reference_ft", "how far the same stroke rolls"},
		{TwoRolls{UpFt: 1, DownFt: 60, ReferenceFt: 1, ReferenceStimpFt: 8}, "/down_ft", "slope"},
		{TwoRolls{UpFt: 60, DownFt: 60, ReferenceFt: 60, ReferenceStimpFt: 8}, "", ""},
	} {
		_, err := GreenOf(c.rolls)
		refused(t, "rolls", err, c.pointer, c.words)
	}
	// A slow green may be too steep before it is too steep for a ball to stop.
	slow := Green{StimpFt: 4, SlopeDeg: 6.02}
	down := Green{StimpFt: 4, SlopeDeg: -6.02}
	_, err := GreenOf(TwoRolls{UpFt: slow.RollM(1.83) / foot, DownFt: down.RollM(1.83) / foot})
	refused(t, "a steep slow green", err, "/down_ft", "at most 6.0°")
}

func TestGreenCheck(t *testing.T) {
	for _, c := range []struct {
		green          Green
		pointer, words string
	}{
		{Green{4, 6}, "", ""},
		{Green{4, -6}, "", ""},
		{Green{4, 6.01}, "/slope_deg", "from -6 to 6 degrees"},
		{Green{16, 2.24}, "", ""},
		{Green{16, 2.25}, "/slope_deg", "is 2.25° uphill, too steep for a ball to stop at a reading of 16 ft; give -2.2 to 2.2"},
		{Green{16, -2.25}, "/slope_deg", "is 2.25° downhill, too steep for a ball to stop at a reading of 16 ft; give -2.2 to 2.2"},
		{Green{3.99, 0}, "/stimp_ft", "from 4 to 16 ft"},
		{Green{16.01, -6.01}, "/stimp_ft /slope_deg", ""},
		{Green{16.01, 5}, "/stimp_ft", ""},
		{Green{math.NaN(), math.NaN()}, "/stimp_ft /slope_deg", ""},
	} {
		var p domain.Problems
		c.green.Check(&p)
		refused(t, "green", p.Err("green", "no"), c.pointer, c.words)
	}
	// Downhill on the steepest slope a fifth of the deceleration is left: five times
	// the roll.
	g := Green{StimpFt: 9}
	g.SlopeDeg = -g.steepest()
	near(t, "the longest roll", g.RollM(1.83), 5*9*foot, 1e-9)
}
