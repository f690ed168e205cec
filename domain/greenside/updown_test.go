package greenside

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestUpAndDown is made of putts: two strokes when the putt drops.
func TestUpAndDown(t *testing.T) {
	putter := PutterOf(ClubHalf)
	one, err := UpAndDownOf([]float64{2}, putter)
	if err != nil {
		t.Fatal(err)
	}
	about(t, "one ball", one.Chance, putter.Holed(2), 1e-12)
	about(t, "its strokes", one.Strokes, 1+putter.Putts(2).Expected, 1e-12)
	some, err := UpAndDownOf([]float64{2, 0, 5, 0.054, 40}, putter)
	if err != nil {
		t.Fatal(err)
	}
	about(t, "five balls", some.Chance, (putter.Holed(2)+1+putter.Holed(5)+putter.Holed(0.054)+putter.Holed(40))/5, 1e-12)
	putts := putter.Putts(2).Expected + putter.Putts(5).Expected + putter.Putts(0.054).Expected + putter.Putts(40).Expected
	about(t, "their strokes", some.Strokes, (5+putts)/5, 1e-12)
	if some.Balls != 5 || some.Holed != 1 {
		t.Errorf("%d balls, %d holed, want 5 and 1", some.Balls, some.Holed)
	}
	holed, _ := UpAndDownOf([]float64{0, 0, 0}, putter)
	if holed.Chance != 1 || holed.Strokes != 1 || holed.High != 1 || !(holed.Low > 0.6 && holed.Low < 0.9) || holed.Holed != 3 {
		t.Errorf("three holed: %+v", holed)
	}
	// The leave that a tour player has from 10 to 20 yd, about 7 ft, gets up and down a
	// little more often than not (scrambling near 58 to 60 %: value from memory).
	tour, _ := UpAndDownOf([]float64{3 * foot, 5 * foot, 7 * foot, 9 * foot, 12 * foot}, PutterOf(8*foot))
	about(t, "a tour player", tour.Chance, 0.59, 0.06)
}

// TestUpAndDownBounds: of 0.5 of one ball the bounds are those of Beta(1, 1), and they
// hold the truth at least as often as they say.
func TestUpAndDownBounds(t *testing.T) {
	putter := PutterOf(ClubHalf)
	half, _ := UpAndDownOf([]float64{ClubHalf}, putter)
	about(t, "low", half.Low, 0.1, 1e-6)
	about(t, "high", half.High, 0.9, 1e-6)
	many := make([]float64, 400)
	for i := range many {
		many[i] = ClubHalf
	}
	sure, _ := UpAndDownOf(many, putter)
	about(t, "half of 80 %", sure.High-sure.Low, 2*1.2816*math.Sqrt(0.25/401), 1e-3)
	r := rand.New(rand.NewPCG(8, 10))
	leave := func() float64 { return min(0.1+3*math.Abs(r.NormFloat64()), 30) }
	truth := 0.0
	for range 20_000 {
		truth += putter.Holed(leave()) / 20_000
	}
	held := 0
	for range 40 {
		leaves := make([]float64, 8)
		for i := range leaves {
			leaves[i] = leave()
		}
		if u, _ := UpAndDownOf(leaves, putter); u.Low <= truth && truth <= u.High {
			held++
		}
	}
	if held < 32 {
		t.Errorf("the bounds hold the truth %d times of 40, want at least 32", held)
	}
}

func TestUpAndDownRefuses(t *testing.T) {
	for _, c := range []struct {
		leaves         []float64
		pointer, words string
	}{
		{[]float64{0, 0.054, 40}, "", ""},
		{[]float64{0, 0.053, 40.1, -1, math.NaN()}, "/leaves_m/1 /leaves_m/2 /leaves_m/3 /leaves_m/4", "from 0.054 to 40 m"},
		{nil, "/leaves_m", "is empty; give 1 to 1000 distances"},
		{make([]float64, 1000), "", ""},
		{make([]float64, 1001), "/leaves_m", "has 1001 distances; give at most 1000"},
	} {
		_, err := UpAndDownOf(c.leaves, PutterOf(ClubHalf))
		refused(t, "leaves", err, c.pointer, c.words)
	}
}
