package course_test

import (
	"flag"
	"math"
	"math/rand/v2"
	"testing"

	"fringework/domain/course"
)

// students is how many are drawn for each figure; the table of PracticeToCourse was
// printed with 1000 and -v.
var students = flag.Int("students", 120, "how many students to draw for each figure")

// drawn is what was found of some students.
type drawn struct {
	found map[course.Finding]float64
	slope float64 // the mean of those fitted
}

func draw(of population, seed uint64, rounds int, transfer float64) drawn {
	r := rand.New(rand.NewPCG(seed, uint64(rounds)))
	d := drawn{found: map[course.Finding]float64{}}
	fitted := 0.0
	for range *students {
		t := course.PracticeToCourse(of(r, rounds, transfer).points(course.Tour()))
		d.found[t.Finding] += 1 / float64(*students)
		if t.Fitted() {
			d.slope += t.PerTen
			fitted++
		}
	}
	d.slope /= math.Max(1, fitted)
	return d
}

// Students whose practice reaches the course are found, those of whom nothing does
// are not, and ten rounds cannot tell: on the population that the limits were set on
// and on another.
func TestPracticeToCourse(t *testing.T) {
	lengths := []int{10, 60}
	if *students >= 1000 {
		lengths = []int{10, 20, 40, 60}
	}
	for name, of := range map[string]population{"setting": setting, "report": report} {
		for _, rounds := range lengths {
			all, none := draw(of, 11, rounds, 1), draw(of, 12, rounds, 0)
			t.Logf("%s, %d rounds: all of it reaches %.3v, a shot %.3f for ten points; nothing %.3v, %.3f", name, rounds, all.found, all.slope, none.found, none.slope)
			if none.found[course.Reaches] > 0.07 || all.found[course.NotThere] > 0.04 {
				t.Errorf("%s, %d rounds: wrongly found in %.3f, wrongly missed in %.3f", name, rounds, none.found[course.Reaches], all.found[course.NotThere])
			}
			if rounds == 10 && none.found[course.Unclear] < 0.85 {
				t.Errorf("%s: ten rounds tell %.3f of students of whom nothing reaches the course", name, 1-none.found[course.Unclear])
			}
			if rounds == 60 && (all.found[course.Reaches] < 0.6 || math.Abs(none.slope) > 0.012 || all.slope < 0.03 || all.slope > 0.09) {
				t.Errorf("%s: found in %.3f, at %.3f strokes a shot for ten points, and %.3f without any", name, all.found[course.Reaches], all.slope, none.slope)
			}
		}
	}
}

// What cannot be told, and why.
func TestTransferLacks(t *testing.T) {
	points := func(n int, rate func(int) float64, gained func(int) float64) (all []course.Point) {
		for i := range n {
			all = append(all, course.Point{Practice: rate(i), Sum: course.Sum{Shots: 5, Gained: 5 * gained(i)}})
		}
		return append(all, course.Point{Practice: 0.9}) // a round without such a shot
	}
	rising := func(i int) float64 { return 0.3 + 0.02*float64(i) }
	uneven := func(i int) float64 { return 0.01 * float64(i*i%7) }
	for _, c := range []struct {
		why  string
		p    []course.Point
		want course.Finding
		lack course.Lack
		text string
	}{
		{"few rounds", points(7, rising, rising), course.Unclear, course.FewRounds, "Cannot tell yet: 7 rounds with such shots and practice before; it takes at least 8."},
		{"steady practice", points(20, func(i int) float64 { return 0.4 + 0.02*float64(i%2) }, uneven), course.Unclear, course.SteadyRate, "Cannot tell: the rate in practice was about the same before all of these rounds."},
		{"all of it", points(8, rising, func(i int) float64 { return 0.6*rising(i) + 0.001*uneven(i) }), course.Reaches, "", "Practice shows on the course: for every ten points in practice, +0.3 strokes a round of 5 such shots (+0.3 to +0.3)."},
		{"the other way", points(9, rising, func(i int) float64 { return -rising(i) + 0.001*uneven(i) }), course.NotThere, "", "Practice does not show on the course yet: for every ten points in practice, −0.5 strokes a round of 5 such shots (−0.5 to −0.5)."},
		{"unclear", points(9, rising, func(i int) float64 { return float64(i % 2) }), course.Unclear, course.WideSpread, "Cannot tell yet: for every ten points in practice, 0 strokes a round of 5 such shots (−2.6 to +2.6). More rounds should tell."},
	} {
		got := course.PracticeToCourse(c.p)
		if got.Finding != c.want || got.Lack != c.lack || got.Text() != c.text {
			t.Errorf("%s: %+v\n%s", c.why, got, got.Text())
		}
		if got.Rounds != len(c.p)-1 || got.Shots != 5*got.Rounds {
			t.Errorf("%s: counted %d rounds and %d shots", c.why, got.Rounds, got.Shots)
		}
	}
}

// The slope and its error are those of weighted least squares by the normal
// equations, solved by hand for three distinct rates with equal weights.
func TestTransferByHand(t *testing.T) {
	var p []course.Point
	for i := range 9 { // x = 3, 4, 5 tens of points, each thrice
		x := float64(3 + i%3)
		y := 0.02*x + []float64{0.03, 0, -0.03}[i/3]
		p = append(p, course.Point{Practice: x / 10, Sum: course.Sum{Shots: 4, Gained: 4 * y}})
	}
	got := course.PracticeToCourse(p)
	// Σ(x−x̄)² = 6; the residuals are ±0.03 and 0, three of each: Σe² = 0.0054.
	se := math.Sqrt(0.0054 / 7 / 6)
	const t90 = 1.4149 // Student, 7 degrees of freedom, 90 %: any table
	if math.Abs(got.PerTen-0.02) > 1e-12 || math.Abs(got.Interval80.Hi-(0.02+t90*se)) > 1e-6 || math.Abs(got.Interval80.Lo-(0.02-t90*se)) > 1e-6 {
		t.Errorf("got %+v, want 0.02 ± %.6f", got, t90*se)
	}
	if said := got.Text(); got.Finding != course.Unclear || said != "Likely, and too early to be sure: for every ten points in practice, +0.1 strokes a round of 4 such shots (0 to +0.1). More rounds should tell." {
		t.Errorf("%q", said)
	}
}
