package estimate

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// TestFormByHand: what two kinds in equal parts come to.
func TestFormByHand(t *testing.T) {
	var k FormKinds
	k[1], k[4] = 0.5, 0.5 // 0.2 without memory, 0.35 with a half
	f := k.form()
	near(t, "standard deviation", f.SD, math.Sqrt((0.04+0.1225)/2))
	near(t, "memory", f.Memory, 0.25)
	near(t, "lasting", k.lasting(), (0.04+0.1225*3)/2) // (1 + ½)/(1 − ½) = 3
	if f.Kinds != k {
		t.Errorf("got kinds %v, want %v", f.Kinds, k)
	}
	sum := 0.0
	for _, w := range usualForm {
		sum += w
	}
	near(t, "the usual kinds", sum, 1)
	sds := FormKinds{0.1, 0.2, 0.3, 0.1, 0.2, 0.1}.sds()
	for i, want := range []float64{0.1, 0.5, 0.3, 0.1} {
		near(t, "by standard deviation", sds[i], want)
	}
	// A session known to a variance of 0.04 tells half of a form of 0.2, of which
	// half is left.
	near(t, "carried over", formKinds[2].carried(0.04), 0.25)
	near(t, "without memory", formKinds[1].carried(0.04), 0)
}

// TestForget: kinds below one in fifty are left out, the others fill up.
func TestForget(t *testing.T) {
	k := FormKinds{0.5, 0.019, 0.481 - 0.02, 0.02}
	k.forget()
	sum := 0.5 + 0.461 + 0.02
	for i, want := range []float64{0.5 / sum, 0, 0.461 / sum, 0.02 / sum, 0, 0} {
		near(t, "a kind", k[i], want)
	}
}

// TestMixed averages by the kinds' standard deviations.
func TestMixed(t *testing.T) {
	of := new(byForm)
	for sd := range of {
		for i := range of[sd] {
			of[sd][i] = float32(sd + 1)
		}
	}
	got := FormKinds{0.5, 0.25, 0, 0.25}.mixed(of)
	if want := float32(0.5*1 + 0.25*2 + 0.25*3); got[0] != want || got[points-1] != want {
		t.Errorf("got %v, want %v everywhere", got[0], want)
	}
}

// TestBlur: the average over a normal form, by many draws.
func TestBlur(t *testing.T) {
	r := rand.New(rand.NewPCG(50, 1))
	const draws = 20_000
	for sd, form := range formSDs {
		for _, level := range []float64{-2, 0, 1.5} {
			sum, squares := 0.0, 0.0
			for range draws {
				x := logistic(level + form*r.NormFloat64())
				sum += x
				squares += x * x
			}
			mean := sum / draws
			se := math.Sqrt((squares/draws - mean*mean) / draws)
			at := int((level-lowestLevel)/fine + 0.5)
			if got := float64(ratesToday.p[sd][at]); math.Abs(got-mean) > 4*se {
				t.Errorf("form %v at %v: %.5f, drawn %.5f ± %.5f", form, level, got, mean, 4*se)
			}
		}
	}
}

// drawn gives sessions at a level with a form of one standard deviation and
// memory.
func drawn(n int, level, sd, memory float64, r *rand.Rand) []Observation {
	out := make([]Observation, n)
	form := sd * r.NormFloat64()
	for i := range out {
		if i > 0 {
			form = memory*form + sd*math.Sqrt(1-memory*memory)*r.NormFloat64()
		}
		out[i] = Observation{Day: float64(2 * i), Balls: 60, Inside: hits(60, logistic(level+form), r)}
	}
	return out
}

// TestFormIsLearned: a steady student's form is told to be smaller than that of a
// student who has good and bad days, and form that lasts from one that does not.
func TestFormIsLearned(t *testing.T) {
	r := rand.New(rand.NewPCG(51, 1))
	const students = 25
	mean := func(sd, memory float64) (f DayForm) {
		for range students {
			got := Assess(Evidence{Sessions: drawn(40, 0.3, sd, memory, r)}).Form
			f.SD += got.SD / students
			f.Memory += got.Memory / students
		}
		return f
	}
	steady, streaky, lasting, wild := mean(0.05, 0), mean(0.4, 0), mean(0.4, 0.6), mean(0.7, 0.5)
	if !(steady.SD < 0.17 && streaky.SD > 0.26 && streaky.SD < 0.45 && wild.SD > streaky.SD) {
		t.Errorf("standard deviations of 0.05, 0.4 and 0.7 are taken for %.2f, %.2f and %.2f", steady.SD, streaky.SD, wild.SD)
	}
	if lasting.Memory < streaky.Memory+0.1 {
		t.Errorf("a memory of 0 is taken for %.2f, one of 0.6 for %.2f", streaky.Memory, lasting.Memory)
	}
}

// TestLearnForm: the kinds of an academy's students move to those that they show;
// nobody leaves the usual ones.
func TestLearnForm(t *testing.T) {
	if got := LearnForm(nil); !alike(got, usualForm, 1e-12) {
		t.Errorf("without students: %v, want the usual %v", got, usualForm)
	}
	unknown := make([]FormKinds, 30) // what is not known of a student
	for i := range unknown {
		unknown[i] = usualForm
	}
	if got := LearnForm(unknown); !alike(got, usualForm, 1e-9) {
		t.Errorf("of students nobody knows: %v, want the usual %v", got, usualForm)
	}
	// All of one kind for certain: beside twenty usual students, by hand.
	var one FormKinds
	one[3] = 1
	certain := make([]FormKinds, 60)
	for i := range certain {
		certain[i] = one
	}
	got := LearnForm(certain)
	for k, w := range usualForm {
		near(t, "a kind", got[k], (20*w+60*one[k])/80)
	}
	r := rand.New(rand.NewPCG(52, 1))
	learn := func(sd float64) float64 {
		var all []FormKinds
		for range 40 {
			all = append(all, Assess(Evidence{Sessions: drawn(25, 0.2, sd, 0, r)}).Form.Kinds)
		}
		return LearnForm(all).form().SD
	}
	if calm, wild := learn(0.05), learn(0.5); !(calm < usualForm.form().SD-0.05 && wild > usualForm.form().SD+0.05) {
		t.Errorf("populations with forms of 0.05 and 0.5 teach %.3f and %.3f, usual is %.3f", calm, wild, usualForm.form().SD)
	}
}

func alike(a, b FormKinds, within float64) bool {
	for i := range a {
		if !(math.Abs(a[i]-b[i]) <= within) {
			return false
		}
	}
	return true
}

// TestKindsUnder: Bayes' rule with other weights, by hand; what is impossible
// under them stays as it was.
func TestKindsUnder(t *testing.T) {
	k := FormKinds{0.5, 0.5}
	got := k.under(FormKinds{0.13, 0.5, 0.37})
	a, b := 0.5*0.13/usualForm[0], 0.5*0.5/usualForm[1]
	near(t, "the first", got[0], a/(a+b))
	near(t, "the second", got[1], b/(a+b))
	if got := k.under(FormKinds{0, 0, 0, 1}); got != k {
		t.Errorf("under the impossible: %v, want %v", got, k)
	}
}

func width(i Interval) float64 { return i.Hi - i.Lo }

// TestUnder: an assessment is what it was without anything learned; a steadier
// academy narrows rate and next session, a wilder one widens both.
func TestUnder(t *testing.T) {
	r := rand.New(rand.NewPCG(53, 1))
	a := Assess(Evidence{Sessions: drawn(6, 0.3, 0.2, 0, r)})
	if got := a.Under(Prior{}, FormKinds{}); !same(got, a) {
		t.Errorf("under nothing: %+v, want %+v", got, a)
	}
	if got := a.Under(Prior{}, usualForm); math.Abs(got.Rate.A-a.Rate.A) > 1e-9*a.Rate.A || math.Abs(width(got.Next.Interval80)-width(a.Next.Interval80)) > 1e-9 {
		t.Errorf("under the usual kinds: %+v, want %+v", got, a)
	}
	calm, wild := a.Under(Prior{}, FormKinds{0.95, 0.05}), a.Under(Prior{}, FormKinds{0.02, 0.02, 0.02, 0.02, 0.42, 0.5})
	for what, w := range map[string][3]float64{
		"rate":         {width(calm.Rate.Interval80), width(a.Rate.Interval80), width(wild.Rate.Interval80)},
		"next session": {width(calm.Next.Interval80), width(a.Next.Interval80), width(wild.Next.Interval80)},
		"form":         {calm.Form.SD, a.Form.SD, wild.Form.SD},
	} {
		if !(w[0] < w[1] && w[1] < w[2]) {
			t.Errorf("%s under calm students, by itself and under wild ones: %.4f, want it to widen", what, w)
		}
	}
	for _, got := range []Assessment{calm, wild} {
		if math.Abs(got.Rate.Mean-a.Rate.Mean) > 0.01 || got.Next.Mean != a.Next.Mean || got.Trend != a.Trend || got.Rate.EffectiveBalls != a.Rate.EffectiveBalls {
			t.Errorf("got %+v, want the mean, the trend and the balls of %+v", got, a)
		}
	}
	// The prior's balls take the place of those of Jeffreys'.
	one := Assess(Evidence{Sessions: []Observation{{Balls: 10, Inside: 9}}})
	if got := one.Under(Prior{A: 12.25, B: 7.75}, FormKinds{}).Rate; got != betaRate(21.25, 8.75, 10) {
		t.Errorf("9 of 10 after Beta(12.25, 7.75): %+v, want Beta(21.25, 8.75)", got)
	}
	all := Assess(Evidence{Sessions: []Observation{{Balls: 10, Inside: 10}}}) // Beta(10.5, 0.5)
	if got := all.Under(Prior{A: 12.25, B: 7.75}, FormKinds{}); got.Rate != all.Rate {
		t.Errorf("10 of 10: %+v, want it as it is", got.Rate)
	}
	if got := (Assessment{}).Under(Prior{A: 2, B: 2}, usualForm); !same(got, Assessment{}) {
		t.Errorf("of nothing: %+v", got)
	}
}

// TestWider: the ends go away from the mean by the root, and not beyond 0 and 1.
func TestWider(t *testing.T) {
	n := NextSession{Mean: 0.5, Interval80: Interval{0.4, 0.625}, Balls: 20}
	got := n.wider(4)
	near(t, "from", got.Interval80.Lo, 0.3)
	near(t, "to", got.Interval80.Hi, 0.75)
	if got := n.wider(100).Interval80; got != (Interval{0, 1}) {
		t.Errorf("ten times as wide: %v, want all there is", got)
	}
}

// TestNextSessionIsWiderThanTheLevel: it has the day's form and chance on top, the
// more of that the fewer balls.
func TestNextSessionIsWiderThanTheLevel(t *testing.T) {
	r := rand.New(rand.NewPCG(54, 1))
	for range 20 {
		e := Evidence{Sessions: career(3+r.IntN(40), 0.02, r)}
		a := Assess(e)
		if !(width(a.Next.Interval80) > width(a.Rate.Interval80)) || math.Abs(a.Next.Mean-a.Rate.Mean) > 0.1 {
			t.Errorf("level %+v, next session %+v", a.Rate, a.Next)
		}
	}
	f := held(counts{30, 18}, counts{30, 17}, counts{30, 19})
	defer f.free()
	few, many := f.foresee(10), f.foresee(200)
	if !(width(few.Interval80) > width(many.Interval80)) || few.Mean != many.Mean {
		t.Errorf("of 10 balls %+v, of 200 %+v", few, many)
	}
	if one := f.foresee(1); !(one.Interval80.Lo < 0.01 && one.Interval80.Hi > 0.99) || one.Mean != few.Mean {
		t.Errorf("of a single ball: %+v, want nothing told", one)
	}
}

// TestNextSessionIsBetaBinomial: before the first session, with a prior that puts
// the level between the ends of the grid and a form of next to nothing, a session
// is beta-binomial: its variance is known in closed form.
func TestNextSessionIsBetaBinomial(t *testing.T) {
	f := newFilter(Prior{A: 12, B: 8}, false)
	defer f.free()
	f.kinds = FormKinds{1}
	const balls = 25
	got := f.foresee(balls)
	// Var(share) = p q (size + n)/(n (size + 1)), and 0.1 logits of form at 60 %.
	p, size := 0.6, 20.0
	variance := p*(1-p)*(size+balls)/(balls*(size+1)) + 0.01*math.Pow(p*(1-p), 2)
	// The share is told as the Beta distribution with these moments.
	n := p*(1-p)/variance - 1
	beta := distuv.Beta{Alpha: p * n, Beta: (1 - p) * n}
	lo, hi := beta.Quantile(0.1), beta.Quantile(0.9)
	if math.Abs(got.Mean-p) > 0.003 || math.Abs(got.Interval80.Lo-lo) > 0.003 || math.Abs(got.Interval80.Hi-hi) > 0.003 {
		t.Errorf("got %+v, want %.3f from %.3f to %.3f", got, p, lo, hi)
	}
}
