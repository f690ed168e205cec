package curriculum_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"fringework/domain"
	"fringework/domain/curriculum"
)

// places is a drill of nine places.
func places() []curriculum.Weighted {
	return curriculum.Evenly(curriculum.Drill{Lies: []string{"fairway", "light rough", "bare"}, Distances: []domain.Length{9 * domain.Yard, 13 * domain.Yard, 18 * domain.Yard}})
}

// TestRoundGoesOn: what a session deals after another is what would have come, had the
// first one gone on; another student or place is dealt another.
func TestRoundGoesOn(t *testing.T) {
	whole := curriculum.Round(places(), 0, 100, 18, "s", "as", 1, 2)
	for _, from := range []int{0, 1, 17, 18, 19, 40} {
		got := curriculum.Round(places(), from, 30, 18, "s", "as", 1, 2)
		want := slices.Clone(whole[from : from+30])
		want[0].Walk = 0 // the walk begins there
		if !slices.Equal(got, want) {
			t.Errorf("from %d: got %v, want %v", from, got, want)
		}
	}
	for what, other := range map[string][]curriculum.Stop{
		"student": curriculum.Round(places(), 0, 100, 18, "t", "as", 1, 2), "assignment": curriculum.Round(places(), 0, 100, 18, "s", "at", 1, 2),
		"place": curriculum.Round(places(), 0, 100, 18, "s", "as", 1, 3),
	} {
		if slices.EqualFunc(whole, other, func(a, b curriculum.Stop) bool { return a.Task == b.Task }) {
			t.Errorf("another %s is dealt the same", what)
		}
	}
}

// TestRoundKeepsTheDeal: no task twice in a row, also from one deal to the next, and
// each as often as its share within a deal, give or take one.
func TestRoundKeepsTheDeal(t *testing.T) {
	for student := range 30 {
		stops := curriculum.Round(places(), 0, 18*8, 18, domain.ID(rune('a'+student)), 1)
		counts := map[curriculum.Task]int{}
		for i, s := range stops {
			if i > 0 && s.Task == stops[i-1].Task {
				t.Fatalf("student %d: %v twice in a row at %d", student, s.Task, i)
			}
			counts[s.Task]++
		}
		for task, n := range counts {
			if n != 16 {
				t.Errorf("student %d: %v came %d times of 144, want 16", student, task, n)
			}
		}
	}
	one := curriculum.Round(curriculum.Evenly(curriculum.Drill{Lies: []string{"fairway"}}), 3, 5, 4, "s", 1)
	if len(one) != 5 || one[4].Lie != "fairway" || one[4].Walk != 0 {
		t.Errorf("one task without a distance: got %v, want it and no walk", one)
	}
}

// TestRoundIsAShortWalk: the walk goes the same way around, an hour or two at a time,
// and is less than two thirds of that between places in any order.
func TestRoundIsAShortWalk(t *testing.T) {
	stops := curriculum.Round(places(), 0, 600, 18, "s", 1)
	rng := rand.New(rand.NewPCG(7, 7))
	walked, anyOrder := 0.0, 0.0
	for i, s := range stops[1:] {
		before := stops[i]
		if step := (s.Hour - before.Hour + 12) % 12; s.Hour < 1 || s.Hour > 12 || step < 1 || step > 2 {
			t.Fatalf("from %d to %d o'clock", before.Hour, s.Hour)
		}
		a, b := before.Distance.Metres(), s.Distance.Metres()
		want := math.Sqrt(a*a + b*b - 2*a*b*math.Cos(math.Pi/6*float64(s.Hour-before.Hour)))
		if math.Abs(s.Walk.Metres()-want) > 1e-3 {
			t.Fatalf("from %v to %v: a walk of %v, want %v m", before, s, s.Walk, want)
		}
		walked += want
		other := stops[rng.IntN(len(stops))]
		anyOrder += math.Sqrt(a*a + math.Pow(other.Distance.Metres(), 2) - 2*a*other.Distance.Metres()*math.Cos(2*math.Pi*rng.Float64()))
	}
	if walked > anyOrder*2/3 {
		t.Errorf("the walk is %.0f m, and %.0f m between places in any order", walked, anyOrder)
	}
	if stops[0].Hour != 12 {
		t.Errorf("it begins at %d o'clock", stops[0].Hour)
	}
}

// TestPaces: what is usual for each kind, as golfers say, and how many balls minutes hold.
func TestPaces(t *testing.T) {
	for kind, want := range map[curriculum.BlockKind]curriculum.Pace{
		curriculum.Warmup: {Low: 90, High: 120}, curriculum.Technique: {Low: 90, High: 120}, curriculum.Stations: {Low: 90, High: 120}, curriculum.Test: {Low: 90, High: 120},
		curriculum.Random: {Low: 40, High: 60}, curriculum.Playout: {Low: 25, High: 35},
	} {
		if got := kind.UsualPace(); got != want {
			t.Errorf("%s: got %v, want %v", kind, got, want)
		}
	}
	if got := curriculum.BallsIn(13, 50); got != 11 { // 10.8
		t.Errorf("13 minutes at 50 an hour: got %d, want 11", got)
	}
}

// TestOtherDays: only what is not a green is off it; every list has its words once.
func TestOtherDays(t *testing.T) {
	for s, want := range map[curriculum.Surface]bool{"": false, curriculum.OnGreen: false, curriculum.OnMat: true, curriculum.OnCarpet: true, curriculum.InGarden: true} {
		if s.Off() != want {
			t.Errorf("%q is off the green: got %v", s, s.Off())
		}
	}
	if n := len(curriculum.Surfaces()) + len(curriculum.Variants()) + len(curriculum.Purposes()); n != 11 {
		t.Errorf("there are %d words, want 11", n)
	}
	for _, k := range curriculum.BlockKinds() {
		if want := k == curriculum.Random || k == curriculum.Playout; k.Dealt() != want {
			t.Errorf("%s is dealt: got %v", k, k.Dealt())
		}
	}
}
