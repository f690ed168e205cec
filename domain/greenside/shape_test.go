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
					x, y = 4*x, 4*y
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

// TestShapesMeasured holds each shape to integrals computed outside this project:
// of balls of which 75 % come to rest inside 5 ft those inside 3 ft, and the
// chances within four radii.
func TestShapesMeasured(t *testing.T) {
	radii := [4]float64{0.05, 1, 2.5, 12}
	for i, want := range []struct {
		elsewhere float64
		inside    [4]float64
	}{
		{0.491989, [4]float64{0.000377474, 0.132504364, 0.497373903, 0.964848881}},
		{0.439625, [4]float64{0.000595471, 0.205297959, 0.701140163, 0.991754078}},
		{0.392903, [4]float64{0.001249219, 0.393469340, 0.956063066, 1}},
		{0.342432, [4]float64{0.000405847, 0.163780977, 0.767874387, 1}},
		{0.235415, [4]float64{0.000054994, 0.033182880, 0.418438724, 1}},
	} {
		s := Shapes()[i]
		about(t, s.Name, s.Elsewhere(0.75, 0.6), want.elsewhere, 2e-5)
		for j, radius := range radii {
			about(t, s.Name, s.Inside(radius), want.inside[j], 1e-8)
		}
	}
	for _, side := range []float64{1, -1} {
		off := Shape{Aspect: 1, OffCentre: side}
		about(t, "off by one", off.Inside(1), 0.267120196, 1e-8)
		about(t, "off by one", off.Elsewhere(0.75, 0.6), 0.378931, 2e-5)
	}
	about(t, "round, with mishits", Shape{Aspect: 1, Mishits: 0.1}.Elsewhere(0.75, 0.6), 0.420285, 2e-5)
}

// TestShapeAtTheEnds: small and large circles keep their order, and nothing
// leaves 0 … 1.
func TestShapeAtTheEnds(t *testing.T) {
	for _, s := range Shapes() {
		for _, ratio := range []float64{0.02, 0.5, 1, 2, 50} {
			last := -1.0
			for _, rate := range []float64{1e-9, 1e-6, 0.01, 0.5, 0.99, 1 - 1e-6, 1 - 1e-15} {
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
	for _, radius := range []float64{0, -0.5, math.NaN()} {
		if got := (Shape{Aspect: 1}).Inside(radius); got != 0 {
			t.Errorf("%v inside %v", got, radius)
		}
	}
}
