package greenside

import (
	"math/rand/v2"
	"slices"
	"testing"
)

func wedgeStations() []Station {
	var all []Station
	for _, club := range Wedges() {
		all = append(all, Station{Club: club})
	}
	return all
}

// TestFinishes: on one spot the wedges do not finish by one hole: the high one stops
// metres before the low one (common practice, no source).
func TestFinishes(t *testing.T) {
	g := Green{StimpFt: 9, SlopeDeg: -1}
	all, err := Finishes(wedgeStations(), Rough, g, 8)
	if err != nil || len(all) != 3 {
		t.Fatal(all, err)
	}
	for i, f := range all {
		spot, err := Carrying(Setup{LoftDeg: Wedges()[i].LoftDeg, Lie: Rough, Green: g}, 8)
		if err != nil || f.Spot != spot || f.Club != Wedges()[i] {
			t.Errorf("%+v, want %+v (%v)", f, spot, err)
		}
		if !(f.ShortM > 8 && f.ShortM < spot.TotalM() && f.LongM > spot.TotalM()) {
			t.Errorf("from %v to %v m, %v m in the mean", f.ShortM, f.LongM, spot.TotalM())
		}
		if i > 0 && !(f.Spot.TotalM() < all[i-1].Spot.TotalM()-1.5) {
			t.Errorf("%s stops at %v m, %s at %v m", f.Club.Name, f.Spot.TotalM(), all[i-1].Club.Name, all[i-1].Spot.TotalM())
		}
	}
	learned := Station{Club: Wedges()[0], Own: Learned{Run: Belief{Factor: 1.5, Spread: 0.01, Balls: 40}, Carry: Belief{Factor: 1, Spread: 0.01, Balls: 40}}}
	own, err := Finishes([]Station{learned}, Rough, g, 8)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "own run", own[0].Spot.RunM, 1.5*all[0].Spot.RunM, 1e-9)
	if own[0].LongM-own[0].ShortM > 1 {
		t.Errorf("a steady student's balls stop from %v to %v m", own[0].ShortM, own[0].LongM)
	}
}

// TestFinishesBehindThePlayer: no ball stops behind where it was played from.
func TestFinishesBehindThePlayer(t *testing.T) {
	wild := Station{Club: Wedges()[0], Own: Learned{Run: Belief{Factor: 1, Spread: 3, Balls: 40}, Carry: Belief{Factor: 1, Spread: 0.01, Balls: 40}}}
	all, err := Finishes([]Station{wild}, Rough, Green{StimpFt: 9}, 8)
	if err != nil || all[0].ShortM != 0 || !(all[0].LongM > all[0].Spot.TotalM()) {
		t.Errorf("got %+v, %v; want balls from 0 m on", all, err)
	}
}

// TestFinishesBySimulation plays balls with their own carries and runs.
func TestFinishesBySimulation(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 10))
	for _, own := range []Learned{{}, {Run: Belief{Factor: 0.7, Spread: 0.1, Balls: 20}, Carry: Belief{Factor: 1.1, Spread: 0.05, Balls: 20}}} {
		runSD, carrySD, factor := 0.2, 0.08, 1.0
		if own.Run.Balls > 0 {
			runSD, carrySD, factor = 0.1, 0.05, 0.7
		}
		g := Green{StimpFt: 10, SlopeDeg: 1}
		all, err := Finishes([]Station{{Club{"wedge", 52}, own}}, Fairway, g, 10)
		if err != nil {
			t.Fatal(err)
		}
		totals := make([]float64, 800)
		for i := range totals {
			spot, err := Carrying(Setup{LoftDeg: 52, Lie: Fairway, Green: g}, 10*(1+carrySD*r.NormFloat64()))
			if err != nil {
				t.Fatal(err)
			}
			totals[i] = spot.CarryM() + factor*spot.Shot.RunM()*(1+runSD/factor*r.NormFloat64())
		}
		slices.Sort(totals)
		about(t, "short", all[0].ShortM, totals[80], 0.4)
		about(t, "long", all[0].LongM, totals[720], 0.4)
	}
}

func TestFinishesRefuses(t *testing.T) {
	g := Green{StimpFt: 9}
	many := make([]Station, 15)
	for i := range many {
		many[i].Club.LoftDeg = 50
	}
	two := []Station{{Club: Club{"a", 80}}, {Club: Club{"b", 10}}}
	for _, c := range []struct {
		stations       []Station
		lie            Lie
		green          Green
		carry          float64
		pointer, words string
	}{
		{many[:14], Fairway, g, 8, "", ""},
		{many, Fairway, g, 8, "/clubs", "has 15 clubs; give at most 14"},
		{make([]Station, 15), Fairway, g, 8, "/clubs", "has 15 clubs"}, // and no word of their lofts
		{nil, Fairway, g, 8, "/clubs", "is empty; give 1 to 14 clubs"},
		{two, Fairway, g, 8, "/clubs/0/loft_deg /clubs/1/loft_deg", "from 24 to 70 degrees"},
		{two, "bush", g, 8, "/clubs/0/loft_deg /lie /clubs/1/loft_deg", ""},
		{many[:2], Fairway, Green{}, 60, "/stimp_ft /carry_m", ""},
		{many[:2], Fairway, g, 0.6, "/carry_m", "lands a ball from 0.8"},
		{[]Station{{Club: Club{"a", 40}}, {Club: Club{"b", 30}}}, Fairway, g, 45, "/carry_m", "plain shot with 30°"},
	} {
		_, err := Finishes(c.stations, c.lie, c.green, c.carry)
		refused(t, "stations", err, c.pointer, c.words)
	}
}

func TestHalfAndHalf(t *testing.T) {
	for _, lie := range []Lie{Fairway, Rough} {
		s := Setup{LoftDeg: 56, Lie: lie, Green: Green{StimpFt: 9}}
		spot, err := HalfAndHalf(s)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "roll", spot.RunM, spot.CarryM(), 1e-5)
		again, err := Carrying(s, spot.CarryM())
		if near(t, "share", again.CarryShare(), 0.5, 1e-5); err != nil {
			t.Error(err)
		}
	}
	for _, c := range []struct {
		loft           float64
		green          Green
		pointer, words string
	}{
		{30, Green{StimpFt: 9}, "/loft_deg", "no spot gives half and half: 30° always carries less than half here; take more loft"},
		{66, Green{StimpFt: 5}, "/loft_deg", "no spot gives half and half: 66° always carries more than half here; take less loft"},
		{71, Green{StimpFt: 5}, "/loft_deg", "from 24 to 70"},
	} {
		_, err := HalfAndHalf(Setup{LoftDeg: c.loft, Lie: Fairway, Green: c.green})
		refused(t, "half and half", err, c.pointer, c.words)
	}
}
