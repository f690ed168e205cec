package greenside

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"fringework/domain"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"
)

func spreadOf(t testing.TB, balls ...Rest) Spread {
	t.Helper()
	s, err := SpreadOf(balls)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) { // nor when it is no number
		t.Errorf("%s = %.12g, want %.12g", what, got, want)
	}
}

// TestSpreadMeasured has closed forms: σ² is the mean of r²/2, and Σr²/σ² is
// chi-squared with 2n degrees of freedom (M. M. Siddiqui, J. Res. Nat. Bur.
// Stand. 66D (1962) 167-174; value from memory).
func TestSpreadMeasured(t *testing.T) {
	leaves := []float64{0.3, 0.8, 1.2, 1.9, 2.4, 0.6, 1.1}
	var balls []Rest
	sum := 0.0
	for _, r := range leaves {
		balls = append(balls, Left(r))
		sum += r * r
	}
	s := spreadOf(t, balls...)
	n := float64(len(leaves))
	chi := distuv.ChiSquared{K: 2 * n}
	near(t, "sigma", s.Sigma, math.Sqrt(sum/(2*n)), 1e-12)
	near(t, "low", s.Low, math.Sqrt(sum/chi.Quantile(0.9)), 1e-9)
	near(t, "high", s.High, math.Sqrt(sum/chi.Quantile(0.1)), 1e-9)
	if s.Balls != 7 || s.Measured != 7 || !s.Known() {
		t.Errorf("got %+v, want 7 balls, 7 measured, known", s)
	}
}

// TestSpreadJudged has a closed form, too: the share inside is 1 − e^(−R²/2σ²).
func TestSpreadJudged(t *testing.T) {
	const radius = 1.524
	in, out := InsideOf(radius), OutsideOf(radius)
	in.Balls, out.Balls = 18, 12
	s := spreadOf(t, in, out)
	near(t, "sigma", s.Sigma, radius/math.Sqrt(-2*math.Log(0.4)), 1e-12)
	near(t, "inside", s.Inside(radius), 0.6, 1e-12)
	near(t, "radius for 0.6", s.RadiusFor(0.6), radius, 1e-12)

	// The posterior by the sum of rectangles over p, the prior uniform in
	// log λ being dp / ((1−p) (−log(1−p))).
	low, high := s.Inside80(radius)
	var below, between, above float64
	const steps = 2_000_000
	for i := range steps {
		p := (float64(i) + 0.5) / steps
		mass := math.Exp(18*math.Log(p)+11*math.Log1p(-p)) / -math.Log1p(-p)
		switch {
		case p < low:
			below += mass
		case p > high:
			above += mass
		default:
			between += mass
		}
	}
	total := below + between + above
	near(t, "mass below", below/total, 0.1, 1e-4)
	near(t, "mass above", above/total, 0.1, 1e-4)
}

func TestSpreadConstants(t *testing.T) {
	// Radii of a circular normal distribution in units of sigma, as tabulated
	// for the circular error probable: √(2 ln 2), √(2 ln 10), √(2 ln 20).
	s := Spread{Sigma: 1}
	near(t, "50 %", s.RadiusFor(0.5), 1.17741, 1e-5)
	near(t, "90 %", s.RadiusFor(0.9), 2.14597, 1e-5)
	near(t, "95 %", s.RadiusFor(0.95), 2.44775, 1e-5)
	near(t, "inside one sigma", s.Inside(1), 0.393469, 1e-5)
	if got := s.Inside(0); got != 0 {
		t.Errorf("inside nothing: %v, want 0", got)
	}
	// 58 % within 5 ft: even odds at a smaller circle, by hand from the same
	// formula: 5 √(ln 2 / −ln 0.42) = 4.4692 ft.
	near(t, "radius from a rate", RadiusFrom(5, 0.58, 0.5), 4.4692, 1e-4)
	near(t, "radius of one half", Spread{Sigma: 1}.RadiusFor(0.5), math.Sqrt(2*math.Ln2), 1e-12)
	// The hole is 4.25 inches wide (R&A and USGA, Rules of Golf).
	near(t, "hole", HoleRadius, 4.25/2*0.0254, 1e-3)
}

func TestSpreadOneSided(t *testing.T) {
	in := InsideOf(1)
	in.Balls = 10
	s := spreadOf(t, in)
	// (1 − e^(−1/2σ²))¹⁰ = 0.2 at the bound.
	near(t, "all inside, bound", math.Pow(-math.Expm1(-1/(2*s.High*s.High)), 10), 0.2, 1e-9)
	if s.Sigma != 0 || s.Low != 0 || s.Known() {
		t.Errorf("all inside: got %+v, want no sigma", s)
	}
	out := OutsideOf(1)
	out.Balls = 10
	s = spreadOf(t, out)
	near(t, "all out, bound", math.Exp(-10/(2*s.Low*s.Low)), 0.2, 1e-9)
	if !math.IsInf(s.Sigma, 1) || !math.IsInf(s.High, 1) || s.Known() {
		t.Errorf("all out: got %+v, want no sigma", s)
	}
	// Holed balls only are all inside the hole.
	if s = spreadOf(t, Left(0), Left(0.01)); s.Known() || s.High <= 0 || s.Measured != 0 {
		t.Errorf("all holed: got %+v, want a bound", s)
	}
}

// TestSpreadIntervals ties intervals to what they are made of.
func TestSpreadIntervals(t *testing.T) {
	// A very thin interval is a measurement.
	thin := spreadOf(t, Rest{Near: 1, Far: 1 + 1e-7}, Rest{Near: 2, Far: 2 + 1e-7})
	exact := spreadOf(t, Left(1), Left(2))
	near(t, "sigma", thin.Sigma, exact.Sigma, 1e-6)
	near(t, "low", thin.Low, exact.Low, 1e-6)
	near(t, "high", thin.High, exact.High, 1e-6)
	// Between the two radii, by a search of the likelihood on a fine grid.
	s := spreadOf(t, Rest{Near: 1, Far: 2}, InsideOf(1), OutsideOf(2), Left(1.4))
	best, at := math.Inf(-1), 0.0
	for sigma := 0.3; sigma < 4; sigma += 1e-5 {
		half := 1 / (2 * sigma * sigma)
		l := math.Log(math.Exp(-half)-math.Exp(-4*half)) + math.Log1p(-math.Exp(-half)) - 4*half +
			math.Log(half) - 1.96*half
		if l > best {
			best, at = l, sigma
		}
	}
	near(t, "sigma", s.Sigma, at, 2e-5)
}

// TestSpreadCoverage counts how often the interval holds the true sigma. The
// seeds are fixed; the standard error of a share is 0.9 %.
func TestSpreadCoverage(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 1))
	const students, balls, radius = 2000, 40, 1.524
	for name, rest := range map[string]func(leave float64, i int) Rest{
		"judged": func(leave float64, _ int) Rest { return judged(leave, radius) },
		"mixed": func(leave float64, i int) Rest {
			if i%3 == 0 {
				return Left(leave)
			}
			return judged(leave, radius*float64(1+i%2)/2)
		},
	} {
		covered := 0
		for range students {
			sigma := 0.5 + 1.5*r.Float64()
			all := make([]Rest, balls)
			for i := range all {
				all[i] = rest(sigma*math.Sqrt(2*r.ExpFloat64()), i)
			}
			if s := spreadOf(t, all...); s.Low <= sigma && sigma <= s.High {
				covered++
			}
		}
		if share := float64(covered) / students; share < 0.775 || share > 0.83 {
			t.Errorf("%s: the interval holds sigma in %.3f, want 0.8", name, share)
		}
	}
}

func judged(leave, radius float64) Rest {
	if leave <= radius {
		return InsideOf(radius)
	}
	return OutsideOf(radius)
}

func TestSpreadProperties(t *testing.T) {
	metres := rapid.Float64Range(0.06, 60)
	gen := rapid.Custom(func(t *rapid.T) Rest {
		a, b := metres.Draw(t, "a"), metres.Draw(t, "b")
		n := rapid.IntRange(0, 50).Draw(t, "balls")
		rest := rapid.SampledFrom([]Rest{Left(a), InsideOf(a), OutsideOf(a), {Near: min(a, b), Far: max(a, b)}}).Draw(t, "rest")
		rest.Balls = n
		return rest
	})
	rapid.Check(t, func(t *rapid.T) {
		balls := rapid.SliceOfN(gen, 1, 12).Draw(t, "rests")
		s, err := SpreadOf(balls)
		if err != nil {
			t.Fatal(err)
		}
		if !(s.Low >= 0 && s.Low <= s.High) || s.Low == s.High {
			t.Fatalf("interval %v to %v", s.Low, s.High)
		}
		if s.Known() && !(s.Low < s.Sigma && s.Sigma < s.High) && s.Balls > 5 {
			t.Fatalf("sigma %v outside %v to %v", s.Sigma, s.Low, s.High)
		}
		// In another unit, the same spread.
		double := make([]Rest, len(balls))
		for i, b := range balls {
			double[i] = Rest{Near: 2 * b.Near, Far: 2 * b.Far, Balls: b.Balls}
		}
		d, err := SpreadOf(double)
		if err != nil {
			t.Fatal(err)
		}
		if s.Known() && math.Abs(d.Sigma/s.Sigma-2) > 1e-9 || s.Known() != d.Known() {
			t.Fatalf("sigma %v, and %v at twice the distances", s.Sigma, d.Sigma)
		}
	})
}

func TestSpreadRefuses(t *testing.T) {
	for _, c := range []struct {
		balls []Rest
		want  string
	}{
		{nil, "/balls"},
		{[]Rest{Left(1), Left(1001)}, "/balls/1"},
		{[]Rest{{Near: math.NaN(), Far: 1}}, "/balls/0"},
		{[]Rest{{Near: 1, Far: math.NaN()}}, "/balls/0"},
		{[]Rest{{Near: -1, Far: 1}}, "/balls/0"},
		{[]Rest{{Near: 2, Far: 1}}, "/balls/0"},
		{[]Rest{InsideOf(0)}, "/balls/0"},
		{[]Rest{OutsideOf(0)}, "/balls/0"},
		{[]Rest{OutsideOf(1e-200), Left(1)}, "/balls/0"},
		{[]Rest{{Near: 1, Far: 1, Balls: -1}}, "/balls/0"},
	} {
		_, err := SpreadOf(c.balls)
		var e *domain.Error
		if !errors.As(err, &e) || e.Kind != domain.Invalid || len(e.Fields) != 1 || e.Fields[0].Pointer != c.want {
			t.Errorf("%v: got %v, want one problem at %s", c.balls, err, c.want)
		}
	}
}

func BenchmarkSpread(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 1))
	balls := make([]Rest, 300)
	for i := range balls {
		if balls[i] = judged(math.Sqrt(2*r.ExpFloat64()), 1.524); i%4 == 0 {
			balls[i] = Left(math.Sqrt(2 * r.ExpFloat64()))
		}
	}
	b.ReportAllocs()
	for b.Loop() {
		spreadOf(b, balls...)
	}
}
