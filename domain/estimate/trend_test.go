package estimate

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestTrendOfLittle: what cannot be known is said to be unknown.
func TestTrendOfLittle(t *testing.T) {
	for _, n := range []int{0, 1, 2} {
		got := TrendOf(steady(n, 30, 15))
		if got.Slope != 0 || got.Improving != 0.5 || got.Interval80.Hi < 0.5 || got.Sessions != n {
			t.Errorf("after %d sessions: %+v, want an unknown slope", n, got)
		}
	}
	// Separation: no finite maximum of the likelihood, a finite trend.
	got := TrendOf([]Observation{{Balls: 10}, {Balls: 10}, {Balls: 10, Inside: 10}, {Balls: 10, Inside: 10}})
	if !(got.Slope > 0.5 && got.Slope < 10 && got.Improving > 0.8) {
		t.Errorf("under separation: %+v, want a finite rise", got)
	}
	for _, inside := range []int{0, 10} {
		got := TrendOf(steady(6, 10, inside))
		if math.Abs(got.Slope) > 1e-6 || math.Abs(got.Improving-0.5) > 1e-6 {
			t.Errorf("always %d of 10: %+v, want no slope", inside, got)
		}
	}
}

// TestTrendBeginsAfterTheMilestone, and does not count empty sessions.
func TestTrendBeginsAfterTheMilestone(t *testing.T) {
	s := steady(20, 30, 10)
	s[9].Milestone = true
	for i := 10; i < 20; i++ {
		s[i].Inside = 10 + i - 10
	}
	s[15].Balls, s[15].Inside = 0, 0
	got := TrendOf(s)
	want := TrendOf(append(append([]Observation{}, s[10:15]...), s[16:]...))
	if got != want || got.Sessions != 9 {
		t.Errorf("got %+v, want %+v, of 9 sessions", got, want)
	}
}

// TestTrendCovers: with and without over-dispersion the 80 % interval of the
// slope holds the truth about as often as it says, and P(improving) of flat
// learners is spread evenly.
func TestTrendCovers(t *testing.T) {
	r := rand.New(rand.NewPCG(25, 26))
	for _, sd := range []float64{0, 0.15, 0.4} {
		const n = 3000
		in, high := 0, 0
		for i := range n {
			slope := 0.0
			if i%2 == 1 {
				slope = 0.05
			}
			var s []Observation
			for j := range 12 {
				p := logistic(-0.2 + slope*float64(j) + sd*r.NormFloat64())
				x := Observation{Balls: 30}
				for range x.Balls {
					if r.Float64() < p {
						x.Inside++
					}
				}
				s = append(s, x)
			}
			got := TrendOf(s)
			if got.Interval80.Lo <= slope && slope <= got.Interval80.Hi {
				in++
			}
			if slope == 0 && got.Improving > 0.9 {
				high++
			}
		}
		covered, false90 := 100*float64(in)/n, 200*float64(high)/n
		if covered < 78 || covered > 90 {
			t.Errorf("form %v: the 80 %% interval covers %.1f %%, want 78 to 90 (dispersion is not taken below 1)", sd, covered)
		}
		if false90 > 11.5 {
			t.Errorf("form %v: P(improving) exceeds 0.9 for %.1f %% of flat learners, want at most about 10", sd, false90)
		}
	}
}

// TestChangeByHand: 0.1 logits a session over the four steps of five sessions, of
// students who stand at 60 % now.
func TestChangeByHand(t *testing.T) {
	trend := Trend{Sessions: 5, Slope: 0.1, Interval80: Interval{-0.05, 0.2}}
	odds := math.Log(0.6 / 0.4)
	before := func(rise float64) float64 { return 1 / (1 + math.Exp(rise-odds)) }
	got, known := trend.Change(Rate{Mean: 0.6})
	if !known {
		t.Fatal("the change over five sessions is not known")
	}
	near(t, "change", got.Mean, 0.6-before(0.4))
	near(t, "from", got.Interval80.Lo, 0.6-before(-0.2))
	near(t, "to", got.Interval80.Hi, 0.6-before(0.8))
	trend.Sessions = 3
	got, known = trend.Change(Rate{Mean: 0.6})
	near(t, "change over three sessions", got.Mean, 0.6-before(0.2))
	trend.Sessions = 2
	if got, also := trend.Change(Rate{Mean: 0.6}); !known || also || got != (Change{}) {
		t.Errorf("three sessions known %v, two known %v with %+v, want three alone", known, also, got)
	}
	for _, mean := range []float64{0, 1} { // no logit
		if got, _ := (Trend{Sessions: 4, Slope: 0.1}).Change(Rate{Mean: mean}); math.IsNaN(got.Mean) || math.Abs(got.Mean) > 1e-5 {
			t.Errorf("at %v: %+v, want next to no change", mean, got)
		}
	}
}

// TestChangePoint finds bends where they are.
func TestChangePoint(t *testing.T) {
	for _, bend := range []int{8, 15, 20} {
		for _, falls := range []bool{false, true} {
			var s []Observation
			for j := range 30 {
				x := -0.5 + 0.08*float64(min(j, bend))
				if falls {
					x = 0.8 - 0.09*float64(max(0, j-bend))
				}
				s = append(s, Observation{Balls: 200, Inside: int(math.Round(200 * logistic(x)))})
			}
			at, ok := changePoint(s, 0, falls)
			if !ok || at < bend-1 || at > bend+1 {
				t.Errorf("bend at %d, falls %v: got %d, %v", bend, falls, at, ok)
			}
			if _, ok := changePoint(s[:bend], 0, !falls); ok && falls {
				t.Errorf("level sessions have no rise that levels off")
			}
		}
	}
}
