package estimate

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/optimize"
)

// times makes sessions of k times the balls: the fit of a regression stays, its
// standard error shrinks by √k, and the weak priors cease to matter.
func times(k int, n, y []int) []Observation {
	sessions := make([]Observation, len(n))
	for i := range n {
		sessions[i] = Observation{Balls: k * n[i], Inside: k * y[i]}
	}
	return sessions
}

// studentEven is the distribution function of Student's t with an even number
// of degrees of freedom (Abramowitz & Stegun, 26.7.4).
func studentEven(t float64, df int) float64 {
	theta := math.Atan(t / math.Sqrt(float64(df)))
	sum, term := 0.0, 1.0
	for j := 0; j <= df-2; j += 2 {
		sum += term
		term *= float64(j+1) / float64(j+2) * math.Cos(theta) * math.Cos(theta)
	}
	return (1 + math.Sin(theta)*sum) / 2
}

// TestTrendOfPublished holds TrendOf to published regressions: budworms
// (Venables & Ripley, Modern Applied Statistics with S, 4th ed., section 7.2)
// and golf putts by the foot (Gelman, Stan case study, 2019, who prints the
// slope -0.26), besides two rows of sessions; slopes and standard errors by
// statsmodels 0.13.5. Sessions are one apart, as the covariates of these are.
//
// With balls k times as many the dispersion is Pearson's, which here comes from
// its definition at the reference's own fit, so that the standard error is that
// of the quasi-likelihood (McCullagh & Nelder, section 4.5).
func TestTrendOfPublished(t *testing.T) {
	// Student's t at 0.9 by degrees of freedom: any printed table.
	quantile := map[int]float64{4: 1.533, 6: 1.440, 8: 1.397, 17: 1.333}
	const k = 100_000
	met := 0
	for _, c := range reference(t, "trend").Cases {
		var in struct {
			X    []float64
			N, Y []int
		}
		read(t, c.Inputs, &in)
		var want struct {
			Intercept float64
			Slope     *float64
			SE        float64 `json:"se_slope"`
		}
		read(t, c.Expected, &want)
		apart := want.Slope != nil
		for i := 1; i < len(in.X); i++ {
			apart = apart && in.X[i] == in.X[i-1]+1
		}
		if !apart {
			continue
		}
		met++
		df := len(in.X) - 2
		pearson := 0.0
		for i, x := range in.X {
			p := 1 / (1 + math.Exp(-want.Intercept-*want.Slope*x))
			n := float64(in.N[i])
			d := float64(in.Y[i]) - n*p
			pearson += d * d / (n * p * (1 - p))
		}
		se := want.SE * math.Sqrt(pearson/float64(df))
		got := TrendOf(times(k, in.N, in.Y))
		if !(math.Abs(got.Slope-*want.Slope) <= c.Tolerance.Abs+c.Tolerance.Rel*math.Abs(*want.Slope)) {
			t.Errorf("%s: slope %v, want %v", c.ID, got.Slope, *want.Slope)
		}
		if got.Sessions != len(in.X) {
			t.Errorf("%s: of %d sessions, want %d", c.ID, got.Sessions, len(in.X))
		}
		for what, half := range map[string]float64{"upper": got.Interval80.Hi - got.Slope, "lower": got.Slope - got.Interval80.Lo} {
			if math.Abs(half/(quantile[df]*se)-1) > 5e-4 { // the table's last digit
				t.Errorf("%s: %s half of the 80 %% interval %v, want %v", c.ID, what, half, quantile[df]*se)
			}
		}
		if df%2 == 0 {
			if p := studentEven(*want.Slope/se, df); math.Abs(got.Improving-p) > 1e-4 {
				t.Errorf("%s: P(improving) = %v, want %v", c.ID, got.Improving, p)
			}
		}
	}
	if met < 4 {
		t.Errorf("%d regressions met, want at least 4", met)
	}
}

// TestTrendOfIsItsDefinition: with few balls the priors matter. The slope is
// where the log-likelihood, with half a ball each way at the mean session and a
// normal prior of standard deviation 0.5 on the slope, is greatest; here found
// by the simplex method of Nelder and Mead. With little dispersion it is taken
// as 1, so that the interval follows from the curvature alone.
func TestTrendOfIsItsDefinition(t *testing.T) {
	for _, c := range []struct{ n, y []int }{
		{[]int{12, 15, 12, 14, 12}, []int{5, 7, 6, 8, 7}},
		{[]int{10, 10, 10, 10}, []int{0, 0, 10, 10}},
		{[]int{6, 30, 9, 20, 11, 7}, []int{6, 30, 9, 20, 11, 7}},
		{[]int{16, 16, 16}, []int{11, 8, 6}},
	} {
		mean, balls := 0.0, 0.0
		for i, n := range c.n {
			mean += float64(i * n)
			balls += float64(n)
		}
		mean /= balls
		p := func(v []float64, i float64) float64 { return 1 / (1 + math.Exp(-v[0]-v[1]*(i-mean))) }
		loss := func(v []float64) float64 {
			sum := v[1]*v[1]/(2*0.5*0.5) - 0.5*math.Log(p(v, mean)) - 0.5*math.Log(1-p(v, mean))
			for i := range c.n {
				sum -= float64(c.y[i])*math.Log(p(v, float64(i))) + float64(c.n[i]-c.y[i])*math.Log(1-p(v, float64(i)))
			}
			return sum
		}
		found, err := optimize.Minimize(optimize.Problem{Func: loss}, []float64{0, 0},
			&optimize.Settings{Converger: &optimize.FunctionConverge{Absolute: 1e-15, Iterations: 500}}, &optimize.NelderMead{})
		if err != nil {
			t.Fatal(err)
		}
		got := TrendOf(times(1, c.n, c.y))
		if math.Abs(got.Slope-found.X[1]) > 1e-5 {
			t.Errorf("%v of %v: slope %v, want %v", c.y, c.n, got.Slope, found.X[1])
		}
		// The information matrix of level and slope, the slope's prior in it.
		aa, ab, bb, pearson := 0.0, 0.0, 1/(0.5*0.5), 0.0
		for i, n := range c.n {
			q, d := p(found.X, float64(i)), float64(i)-mean
			w := float64(n) * q * (1 - q)
			aa, ab, bb = aa+w, ab+w*d, bb+w*d*d
			miss := float64(c.y[i]) - float64(n)*q
			pearson += miss * miss / w
		}
		df := len(c.n) - 2
		se := math.Sqrt(aa/(aa*bb-ab*ab)) * math.Sqrt(max(1, pearson/float64(df)))
		quantile := map[int]float64{1: 3.078, 2: 1.886, 3: 1.638, 4: 1.533}[df] // any printed table
		if half := got.Interval80.Hi - got.Slope; math.Abs(half/(quantile*se)-1) > 5e-4 {
			t.Errorf("%v of %v: half an interval is %v, want %v", c.y, c.n, half, quantile*se)
		}
	}
}

// TestTrendOfTwoIsThePrior: of two sessions nothing is said but the prior, a
// normal with a standard deviation of 0.5, whose 80 % interval is ± 0.6408
// (1.2816 standard deviations: any printed table). Three sessions say more.
func TestTrendOfTwoIsThePrior(t *testing.T) {
	two := TrendOf(times(1, []int{9, 9}, []int{2, 7}))
	if math.Abs(two.Interval80.Hi-0.6408) > 1e-4 || math.Abs(two.Interval80.Lo+0.6408) > 1e-4 || two.Slope != 0 || two.Improving != 0.5 {
		t.Errorf("two sessions: got %+v, want the prior", two)
	}
	if three := TrendOf(times(1, []int{9, 9, 9}, []int{2, 5, 7})); three.Slope <= 0 || three.Sessions != 3 {
		t.Errorf("three sessions: got %+v, want a rise", three)
	}
	if one := TrendOf([]Observation{{Balls: 1, Inside: 1}, {Balls: 1}, {Balls: 1, Inside: 1}}); one.Sessions != 3 || math.Abs(one.Slope) > 1e-9 {
		t.Errorf("sessions of one ball, the middle one out: got %+v, want three and no slope", one)
	}
}
