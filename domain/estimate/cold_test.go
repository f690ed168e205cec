package estimate

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The range of the difference holds the true one in about 80 %, and a difference is
// found of about 5 % at most where there is none, though form differs from day to day.
func TestColdCovers(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 8))
	students := 5 * *draws
	for _, days := range []int{12, 25, 60} {
		for _, drop := range []float64{0, 0.12, 0.25} {
			covered, found := 0, 0
			for range students {
				level := logit(0.4 + 0.35*r.Float64())
				drawn, truth := make([]ColdDay, days), 0.0
				for i := range drawn {
					rate := logistic(level + 0.25*r.NormFloat64())
					first := math.Max(0, rate-drop)
					truth += (first - rate) / float64(days)
					drawn[i].Inside = r.Float64() < first
					drawn[i].Later = 5 + r.IntN(30)
					for range drawn[i].Later {
						if r.Float64() < rate {
							drawn[i].LaterInside++
						}
					}
				}
				c := ColdOf(drawn)
				if c.Range80.Lo <= truth && truth <= c.Range80.Hi {
					covered++
				}
				if c.Finding != GapOpen {
					found++
				}
			}
			share, told := float64(covered)/float64(students), float64(found)/float64(students)
			t.Logf("%d days, %.0f points lower: in the range %.3f, told %.3f", days, 100*drop, share, told)
			if share < 0.74 || share > 0.87 {
				t.Errorf("%d days, %.0f points lower: the true difference is in the range in %.3f", days, 100*drop, share)
			}
			if drop == 0 && told > 0.075 || days == 60 && drop == 0.25 && told < 0.9 {
				t.Errorf("%d days, %.0f points lower: a difference is told of %.3f", days, 100*drop, told)
			}
		}
	}
}

// Twelve days by hand: 3 of 12 first balls inside, and 6 of 10 later ones each day.
func TestColdByHand(t *testing.T) {
	days := make([]ColdDay, 12)
	for i := range days {
		days[i] = ColdDay{Inside: i < 3, Later: 10, LaterInside: 6}
	}
	c := ColdOf(days)
	// Agresti and Caffo: 4/14 of the first, 7/12 of the later balls of each day.
	sd := math.Sqrt(4.0/14*10/14/14 + 12*(7.0/12*5/12/10)/144)
	const t90 = 1.3634 // Student, 11 degrees of freedom, 90 %: any table
	if c.Days != 12 || c.Inside != 3 || c.Later != 120 || math.Abs(c.LaterRate-0.6) > 1e-12 || math.Abs(c.Difference+0.35) > 1e-12 {
		t.Errorf("compared %+v", c)
	}
	if math.Abs(c.Range80.Lo-(-0.35-t90*sd)) > 1e-5 || math.Abs(c.Range80.Hi-(-0.35+t90*sd)) > 1e-5 {
		t.Errorf("the range is %+v, want −0.35 ± %.6f", c.Range80, t90*sd)
	}
	if want := sessionRate(3, 12); c.Interval80 != want {
		t.Errorf("the rate of first balls is in %+v, want %+v", c.Interval80, want)
	}
	if c.Finding != GapLower { // 0.35 is 2.72 times 0.1289; Student's 97.5 % is 2.201
		t.Errorf("found %q", c.Finding)
	}
	if few := ColdOf(days[:11]); few.Told || few.Finding != GapOpen || few.Range80 != (Interval{}) || few.Days != 11 {
		t.Errorf("eleven days tell %+v", few)
	}
	if none := ColdOf(nil); none != (Cold{Finding: GapOpen}) {
		t.Errorf("no day tells %+v", none)
	}
	for _, c := range []struct {
		i    Interval
		want Gap
	}{{Interval{-0.2, -0.01}, GapLower}, {Interval{0.01, 0.2}, GapHigher}, {Interval{0, 0.2}, GapOpen}, {Interval{-0.2, 0}, GapOpen}} {
		if got := gapOf(c.i); got != c.want {
			t.Errorf("%+v is read as %q", c.i, got)
		}
	}
}

// sessionRate is what one session of so many balls says by itself.
func sessionRate(inside, balls int) Interval {
	return RateOf([]Observation{{Balls: balls, Inside: inside}}, 0, Prior{}).Interval80
}
