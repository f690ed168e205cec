package greenside

import (
	"encoding/csv"
	"errors"
	"math"
	"strconv"
	"strings"
	"testing"
)

func TestBaselineReference(t *testing.T) {
	var o struct {
		Table, Between [][3]any
		Putts          [][2]float64
	}
	readOutside(t, "strokes.json", &o)
	if len(o.Table) != 30 || len(o.Putts) != 10 || len(o.Between) != 3 {
		t.Fatalf("%d, %d and %d figures, want 30, 10 and 3", len(o.Table), len(o.Putts), len(o.Between))
	}
	check := func(rows [][3]any, tolerance float64) {
		for _, row := range rows {
			at := Place{Lie(row[0].(string)), row[1].(float64) * 0.9144}
			about(t, row[0].(string), ExpectedStrokes(at), row[2].(float64), tolerance)
		}
	}
	check(o.Table, 0.005)
	check(o.Between, 1e-9)
	for _, row := range o.Putts {
		about(t, "putts", ExpectedStrokes(Place{OnGreen, row[0] * foot}), row[1], 0.015)
	}
	// Readers see whose figures they are and that they are approximate; how they came
	// here is marked in the file.
	for _, said := range []string{"Broadie 2012", "Broadie 2014", "approximate"} {
		if !strings.Contains(Baseline, said) {
			t.Errorf("the baseline is called %q, without %q", Baseline, said)
		}
	}
	if strings.Contains(Baseline, "memory") || !strings.Contains(string(baselineFile), "Every Shot Counts (2014); values from memory") {
		t.Errorf("the baseline is called %q, and the file begins %.300q", Baseline, baselineFile)
	}
}

// TestStrokesGained: worked by hand from the table. From 18 m in the rough it is on the
// line between 10 and 20 yd, from 1.8 m between 5 and 6 ft.
func TestStrokesGained(t *testing.T) {
	each, sum, err := StrokesGained([]Played{
		{From: Place{Rough, 18}, Next: Place{OnGreen, 1.8}},
		{From: Place{OnGreen, 1.8}, Holed: true},
	})
	if err != nil {
		t.Fatal(err)
	}
	before := 2.34 + (18/0.9144-10)/10*(2.59-2.34)
	after := 1.23 + (1.8/0.3048-5)*(1.34-1.23)
	about(t, "before", each[0].Before, before, 1e-9)
	about(t, "after", each[0].After, after, 1e-9)
	about(t, "gained", each[0].Strokes, before-after-1, 1e-9)
	about(t, "gained, about", each[0].Strokes, 0.26, 0.02) // by rounding to 20 yd and 6 ft
	about(t, "holed", each[1].After, 0, 0)
	about(t, "putt", each[1].Strokes, after-1, 1e-9)
	// All together it is the strokes expected at first less those played.
	about(t, "sum", sum, before-2, 1e-9)
	// 20 yd from the fairway to 6 ft, and the putt (the published figures).
	each, sum, err = StrokesGained([]Played{
		{From: Place{Fairway, 20 * 0.9144}, Next: Place{OnGreen, 6 * foot}}, {From: Place{OnGreen, 6 * foot}, Holed: true},
	})
	if err != nil {
		t.Fatal(err)
	}
	about(t, "first", each[0].Strokes, 0.06, 1e-9)
	about(t, "second", each[1].Strokes, 0.34, 1e-9)
	about(t, "both", sum, 0.4, 1e-9)
	if each, sum, err := StrokesGained(nil); len(each) != 0 || sum != 0 || err != nil {
		t.Errorf("of nothing: %v %v %v", each, sum, err)
	}
}

// TestStrokesGrowWithDistance, without a jump where the table begins; from the sand they
// are level from 80 yd on.
func TestStrokesGrowWithDistance(t *testing.T) {
	for _, lie := range Lies() {
		farthest := MaxOffGreenM
		if lie == OnGreen {
			farthest = MaxOnGreenM
		}
		for x := MinShotM; x < farthest-0.1; x += 0.1 {
			now, next := ExpectedStrokes(Place{lie, x}), ExpectedStrokes(Place{lie, x + 0.1})
			if next < now-0.0002 || next > now+0.06 || lie == OnGreen && now < 1 {
				t.Errorf("%s: %v strokes from %v m, %v from 10 cm more", lie, now, x, next)
			}
		}
	}
	// At 5 yd the fairway costs 0.2 strokes more than a putt of 15 ft, as at 10 yd.
	about(t, "a short chip", ExpectedStrokes(Place{Fairway, 5 * 0.9144}), 1.78+2.18-1.98, 1e-9)
	// Off the green a stroke costs more the worse the lie.
	if a, b, c := ExpectedStrokes(Place{Fairway, 4}), ExpectedStrokes(Place{Rough, 4}), ExpectedStrokes(Place{Sand, 4}); !(a < b && b < c) {
		t.Errorf("from 4 m: fairway %v, rough %v, sand %v", a, b, c)
	}
}

func TestStrokesGainedRefuses(t *testing.T) {
	ok := Place{OnGreen, 2}
	for _, c := range []struct {
		shot           Played
		pointer, words string
	}{
		{Played{From: Place{Fairway, 91.44}, Next: Place{OnGreen, 27.432}}, "", ""},
		{Played{From: Place{Fairway, 91.45}, Next: Place{OnGreen, 27.44}}, "/shots/0/distance_m /shots/0/next/distance_m", "the distance of a putt from 0.05 to 27.4"},
		{Played{From: Place{Sand, 0.05}, Next: Place{OnGreen, 0.05}}, "", ""},
		{Played{From: Place{Sand, 0.049}, Next: Place{OnGreen, 0.049}}, "/shots/0/distance_m /shots/0/next/distance_m", "the distance to the hole from 0.05 to 91.4"},
		{Played{From: Place{"bush", 5}, Next: ok}, "/shots/0/lie", `"bush"; give fairway, rough, sand or green`},
		{Played{From: ok, Next: Place{"", math.NaN()}}, "/shots/0/next/lie", ""},
		{Played{From: ok, Next: Place{OnGreen, math.NaN()}}, "/shots/0/next/distance_m", ""},
		{Played{From: ok, Holed: true}, "", ""},
	} {
		each, sum, err := StrokesGained([]Played{c.shot})
		refused(t, "shot", err, c.pointer, c.words)
		if err != nil && (each != nil || sum != 0) {
			t.Errorf("refused, and yet %v and %v", each, sum)
		}
	}
}

// TestBaselineIsSound: what cannot be read is not taken for a number.
func TestBaselineIsSound(t *testing.T) {
	const head = "lie,distance,unit,strokes\n"
	for rows, want := range map[string]error{
		"fairway,ten,yd,2\nfairway,20,yd,2.5\n": strconv.ErrSyntax,
		"fairway,10,yd,2\nfairway,20,yd\n":      csv.ErrFieldCount,
	} {
		func() {
			defer func() {
				if err, _ := recover().(error); !errors.Is(err, want) {
					t.Errorf("%q ends in %v, want %v", rows, err, want)
				}
			}()
			readBaseline([]byte(head + rows))
		}()
	}
}
