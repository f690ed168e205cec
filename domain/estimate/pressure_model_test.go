package estimate

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
)

// student is a model to test with, all terms at work.
var student = vector{levelTerm: 0.8, driftTerm: 0.4, warmingTerm: -0.5, varianceTerm: 0.3}

// alone is the fit of sessions without the priors.
func alone(sessions [][]bool, lateFrom int, t vector) lateFit {
	f, priors := newLateModel(sessions, lateFrom).evaluate(t), lateFit{at: t}
	priors.addPriors()
	f.likelihood -= priors.likelihood
	for a := range terms {
		f.gradient[a] -= priors.gradient[a]
		for b := range terms {
			f.information[a][b] -= priors.information[a][b]
		}
	}
	return f
}

// eachSession visits every session of some balls that stops with a run, if it
// is not 0.
func eachSession(balls, stop int, visit func([]bool)) {
	var strike func(session []bool, run int)
	strike = func(session []bool, run int) {
		if len(session) == balls || stop > 0 && run == stop {
			visit(session)
			return
		}
		strike(append(session, false), 0)
		strike(append(session, true), run+1)
	}
	strike(make([]bool, 0, balls), 0)
}

// TestLateModelOverAllSessions: over every session there is, stopped or not, the
// probabilities add up to 1, the mean score of every term is 0, and its
// covariance is the mean observed information.
func TestLateModelOverAllSessions(t *testing.T) {
	for _, stop := range []int{0, 3, 5} {
		total, score, excess, sessions := 0.0, vector{}, matrix{}, 0
		eachSession(10, stop, func(session []bool) {
			f := alone([][]bool{session}, 2, student)
			p := math.Exp(f.likelihood)
			total += p
			sessions++
			for a := range terms {
				score[a] += p * f.gradient[a]
				for b := range terms {
					excess[a][b] += p * (f.information[a][b] - f.gradient[a]*f.gradient[b])
				}
			}
		})
		near(t, "probability of all", total, 1)
		for a := range terms {
			if math.Abs(score[a]) > 1e-10 {
				t.Errorf("stop %d, term %d: mean score %v of %d sessions, want 0", stop, a, score[a], sessions)
			}
			for b := range terms {
				if math.Abs(excess[a][b]) > 1e-9 {
					t.Errorf("stop %d, terms %d and %d: information and covariance differ by %v", stop, a, b, excess[a][b])
				}
			}
		}
	}
}

// TestPressureOverAllSessions is the probability of finding a drop in one
// session of 12 balls, over every session there is: not more than 0.05, whether
// it stops or not.
func TestPressureOverAllSessions(t *testing.T) {
	for _, stop := range []int{0, 3, 4, 5} {
		found, total, finds := [3]float64{}, [3]float64{}, 0
		eachSession(12, stop, func(session []bool) {
			inside := 0
			for _, in := range session {
				if in {
					inside++
				}
			}
			p := pressure([][]bool{session}, 2)
			for i, rate := range []float64{0.6, 0.7, 0.8} {
				x := math.Pow(rate, float64(inside)) * math.Pow(1-rate, float64(len(session)-inside))
				total[i] += x
				if p.Tested && p.P < 0.05 {
					found[i] += x
					finds++
				}
			}
		})
		t.Logf("stop %d: found %.4f", stop, found)
		for i := range found {
			near(t, "probability of all", total[i], 1)
			if found[i] > 0.05 || finds == 0 {
				t.Errorf("stop %d: found with probabilities %v, want some and at most 0.05", stop, found)
			}
		}
	}
}

// TestLateModelAgainstDifferences holds scores and information to differences of
// the likelihood, with short sessions and one that is cut into three.
func TestLateModelAgainstDifferences(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 8))
	sessions := played{sessions: 4, rate: 0.7, form: 0.4}.play(r)
	long := make([]bool, 2*pieceBalls+30)
	for i := range long {
		long[i] = r.Float64() < 0.7
	}
	m := newLateModel(append(sessions, long, nil), 2)
	if n := len(m.pieces); n != 7 || m.pieces[6].balls != 30 || !m.pieces[5].later || m.pieces[4].later {
		t.Fatalf("%d pieces", n)
	}
	f := m.evaluate(student)
	const h = 1e-5
	for a := range lateTerm {
		up, down := student, student
		up[a] += h
		down[a] -= h
		above, below := m.evaluate(up), m.evaluate(down)
		if d := (above.likelihood - below.likelihood) / (2 * h); math.Abs(d-f.gradient[a]) > 1e-5*(1+math.Abs(d)) {
			t.Errorf("term %d: gradient %v, by differences %v", a, f.gradient[a], d)
		}
		for b := range terms {
			if d := (below.gradient[b] - above.gradient[b]) / (2 * h); math.Abs(d-f.information[a][b]) > 1e-5*(1+math.Abs(d)) {
				t.Errorf("terms %d and %d: information %v, by differences %v", a, b, f.information[a][b], d)
			}
		}
	}
}

// TestLateModelAgainstIntegral holds the 21 forms to the integral over a normal
// one, taken with 200 points, ball by ball.
func TestLateModelAgainstIntegral(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	for _, balls := range []int{1, 20, 45, 90} {
		session := make([]bool, balls)
		for j := range session {
			session[j] = r.Float64() < 0.75
		}
		given := func(z float64) (likelihood float64) {
			for j, inside := range session {
				x := 0.8 + 0.4*(float64(j)/30-0.5) - 0.5*math.Exp(-float64(j)/6) + math.Sqrt(0.3)*z
				if !inside {
					x = -x
				}
				likelihood += logLogistic(x)
			}
			return likelihood
		}
		want := math.Log(quad.Fixed(func(z float64) float64 {
			return math.Exp(given(z)-z*z/2) / math.Sqrt(2*math.Pi)
		}, -8, 8, 200, nil, 0))
		if got := alone([][]bool{session}, 3, student).likelihood; math.Abs(got-want) > 0.01 {
			t.Errorf("%d balls: log-likelihood %v, integral %v", balls, got, want)
		}
	}
}

// TestLateScoreIsPearsons: with the level alone the score test is Pearson's for
// a fourfold table. Admitted to the six largest departments of Berkeley in 1973:
// 1,198 of 2,691 men, 557 of 1,835 women; X² = 92.2 without correction (Bickel,
// Hammel & O'Connell, Science 187 (1975) 398; values from memory).
func TestLateScoreIsPearsons(t *testing.T) {
	m := &lateModel{drift: []float64{0}, warming: []float64{0}, middle: make([]float64, 1), odds: make([]float64, 1), sums: make([]ballSums, 2*len(dayForms)), pieces: []piece{
		{balls: 2691, inside: 1198, later: true},
		{balls: 1835, inside: 557, later: true, late: slices.Repeat([]int{0}, 1835), lateInside: 557},
	}}
	level := [terms]bool{levelTerm: true}
	f, ok := m.fit(vector{varianceTerm: 1e-12}, level)
	if !ok {
		t.Fatal("no fit")
	}
	score, variance, ok := f.lateScore(level)
	if x := score * score / variance; !ok || score > 0 || math.Abs(x-92.2) > 0.1 {
		t.Errorf("score %v with variance %v: X² %v, want 92.2", score, variance, x)
	}
	// Of a fourfold table the difference is that of the rates.
	if d, want := score/variance*f.spread/1835, 557.0/1835-1198.0/2691; math.Abs(d-want) > 1e-4 {
		t.Errorf("difference %v, want %v", d, want)
	}
}

func TestSolve(t *testing.T) {
	m := matrix{{4, 2, 0, 0, 0}, {2, 5, 3, 0, 0}, {0, 3, 6, 1, 0}, {0, 0, 1, 7, 2}, {0, 0, 0, 2, 8}}
	want := vector{1, -2, 3, -4, 5}
	b := vector{}
	for i := range terms {
		for j := range terms {
			b[i] += m[i][j] * want[j]
		}
	}
	all := [terms]bool{true, true, true, true, true}
	x, ok := solve(m, b, all)
	if !ok {
		t.Fatal("positive, and not solved")
	}
	for i := range terms {
		near(t, "solution", x[i], want[i])
	}
	// The first two alone: 4x + 2y = 2 and 2x + 5y = 9.
	x, _ = solve(m, vector{2, 9, 5, 5, 5}, [terms]bool{true, true})
	for i, want := range []float64{-0.5, 2, 0, 0, 0} {
		near(t, "solution of two", x[i], want)
	}
	m[4][4] = 0.5
	if _, ok := solve(m, b, all); ok {
		t.Error("not positive, and solved")
	}
}

// TestLateModelByHand works out what the fit rests on besides the balls.
func TestLateModelByHand(t *testing.T) {
	total := 0.0
	for _, w := range dayFormWeights {
		total += math.Exp(w)
	}
	near(t, "weights of the forms", total, 1)
	for k, want := range map[int]float64{0: -4, 1: -3.6, 10: 0, 20: 4} {
		near(t, "form", dayForms[k], want)
	}

	// Half a ball inside and half outside at even odds: log ½. The others are
	// two, one and 0.3 away from the means.
	f := lateFit{at: vector{driftTerm: 2, warmingTerm: -1, varianceTerm: 0.36}}
	f.addPriors()
	near(t, "priors", f.likelihood, -math.Ln2-2-0.5-0.495)
	for a, want := range []struct{ gradient, information float64 }{{0, 0.25}, {-2, 1}, {1, 1}, {-3.3, 11}, {0, 0}} {
		near(t, "gradient", f.gradient[a], want.gradient)
		near(t, "information", f.information[a][a], want.information)
	}

	// In each session the four balls, at even odds, have 1 for the sum of p(1−p);
	// two balls are late.
	f = newLateModel(parse("1111", "0101"), 2).evaluate(vector{varianceTerm: 0.04})
	near(t, "expected information on the variance", f.variance, 11+2*0.5/(1.04*1.04))
	near(t, "p(1−p) of the late balls", f.spread, 0.5)

	// Ten equal sessions vary less than chance has it.
	m := newLateModel(slices.Repeat(parse("1101110111"), 10), 2)
	f, ok := m.fit(vector{levelTerm: 1, varianceTerm: usualVariance}, nuisance)
	if !ok || f.at[varianceTerm] != 0.01 || f.gradient[varianceTerm] >= 0 {
		t.Errorf("settled %v at %v with gradient %v, want the least variance", ok, f.at, f.gradient)
	}
	for a := range varianceTerm {
		if math.Abs(f.gradient[a]) > 1e-3 {
			t.Errorf("term %d: gradient %v at the maximum", a, f.gradient[a])
		}
	}
	// The efficient score by hand: that of the late balls less the share of the
	// variance's, with the expected information where it is larger.
	f = lateFit{variance: 8}
	for a := range terms {
		f.information[a][a] = 4
	}
	f.information[lateTerm][varianceTerm], f.information[varianceTerm][lateTerm] = 2, 2
	f.gradient[lateTerm], f.gradient[varianceTerm] = -3, -2
	score, variance, ok := f.lateScore(nuisance)
	if !ok {
		t.Error("no score")
	}
	near(t, "efficient score", score, -3+2*2.0/8)
	near(t, "its variance", variance, 4-2*2.0/8)
	f.variance = 1
	score, variance, _ = f.lateScore(nuisance)
	near(t, "efficient score", score, -3+2*2.0/4)
	near(t, "its variance", variance, 4-2*2.0/4)
}
