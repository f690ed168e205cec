package greenside

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestElsewhere: of balls of which 75 % come to rest inside 5 ft, a round
// scatter puts 1 − 0.25^(9/25) = 39.3 % inside 3 ft (Rayleigh's distribution),
// one twice as long 43 %, and one three times as long 47 % (numerical integration
// outside this project).
func TestElsewhere(t *testing.T) {
	for _, c := range []struct {
		aspect, want, within float64
	}{{1, 1 - math.Pow(0.25, 9.0/25), 1e-12}, {2, 0.43, 0.005}, {3, 0.47, 0.005}} {
		got := Shape{Aspect: c.aspect}.Elsewhere(0.75, 3.0/5)
		if math.Abs(got-c.want) > c.within {
			t.Errorf("aspect %v: %.4f inside 3 ft, want %.3f", c.aspect, got, c.want)
		}
		if back := (Shape{Aspect: c.aspect}).Elsewhere(got, 5.0/3); math.Abs(back-0.75) > 1e-4 {
			t.Errorf("aspect %v: and back to 5 ft %.5f, want 0.75", c.aspect, back)
		}
	}
}

// TestShapes: what the shapes promise in words, and each against balls drawn from
// it.
func TestShapes(t *testing.T) {
	weight := 0.0
	r := rand.New(rand.NewPCG(5, 8))
	for i, s := range Shapes() {
		weight += s.Weight
		if got, want := s.Elsewhere(0.75, 0.6), []float64{0.49, 0.44, 0.39, 0.34, 0.23}[i]; math.Abs(got-want) > 0.006 {
			t.Errorf("%s: %.3f inside 3 ft, want %v", s.Name, got, want)
		}
		for _, radius := range []float64{0.3, 1, 2.5, 5} {
			const balls = 200_000
			inside := 0
			for range balls {
				x, y := s.Aspect*r.NormFloat64(), r.NormFloat64()
				if r.Float64() < s.Mishits {
					x, y = mishitWidth*x, mishitWidth*y
				} else {
					x += s.OffCentre
				}
				if math.Hypot(x, y) <= radius {
					inside++
				}
			}
			if got, want := s.Inside(radius), float64(inside)/balls; math.Abs(got-want) > 0.005 {
				t.Errorf("%s: %.4f within %v, drawn %.4f", s.Name, got, radius, want)
			}
		}
	}
	if math.Abs(weight-1) > 1e-12 {
		t.Errorf("the weights sum to %v", weight)
	}
}

// TestShapeAtTheEnds: small and large circles keep their order, and nothing
// leaves 0 … 1.
func TestShapeAtTheEnds(t *testing.T) {
	for _, s := range Shapes() {
		for _, ratio := range []float64{0.02, 0.5, 1, 2, 50} {
			last := -1.0
			for _, rate := range []float64{1e-6, 0.01, 0.5, 0.99, 1 - 1e-6} {
				got := s.Elsewhere(rate, ratio)
				if !(got >= 0 && got <= 1) || got < last {
					t.Errorf("%s: %v at ratio %v is %v after %v", s.Name, rate, ratio, got, last)
				}
				if ratio == 1 && math.Abs(got-rate) > 1e-4 {
					t.Errorf("%s: %v in the same circle is %v", s.Name, rate, got)
				}
				last = got
			}
		}
	}
	if got := (Shape{Aspect: 1}).Inside(0); got != 0 {
		t.Errorf("%v inside nothing", got)
	}
}
