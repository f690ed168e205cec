package estimate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"

	"fringework/domain"
)

// breaksOf draws students with breaks. Spreads are in logits.
type breaksOf struct {
	students, sessions int
	fade               float64
	s                  spreads
	levels             float64
	// often is the chance that a gap is long.
	often float64
}

func (b breaksOf) draw(r *rand.Rand) []FadeCourse {
	courses := make([]FadeCourse, b.students)
	for i := range courses {
		c := &courses[i]
		c.Student = fmt.Sprint("s", i)
		level, gain, fade := 0.1+b.levels*r.NormFloat64(), 0.02+b.s.gain*r.NormFloat64(), b.fade+b.s.fade*r.NormFloat64()
		day := float64(r.IntN(20))
		for j := range b.sessions/2 + r.IntN(b.sessions) {
			if j > 0 {
				gap := 2 + float64(r.IntN(3))
				if r.Float64() < b.often {
					gap = 10 + float64(r.IntN(40))
				}
				day += gap
				level += gain + b.s.drift*r.NormFloat64() - fade*Away(gap, 3)
			}
			s := FadeSession{Day: day, Balls: r.IntN(40)} // none, now and then
			p := logistic(level + b.s.form*r.NormFloat64())
			for range s.Balls {
				if r.Float64() < p {
					s.Inside++
				}
			}
			c.Sessions = append(c.Sessions, s)
		}
	}
	return courses
}

// TestFadeCoverage draws academies whose skill fades by what is known, or not at
// all: intervals of 80 % must hold the truth in 76 to 84 % of them.
func TestFadeCoverage(t *testing.T) {
	t.Parallel()
	for _, b := range []breaksOf{
		{students: 15, sessions: 20, fade: 0.3, s: spreads{0.25, 0.08, 0.02, 0.2}, levels: 0.7, often: 0.1},
		{students: 20, sessions: 24, fade: 0, s: spreads{0.35, 0.1, 0.03, 0.1}, levels: 0.7, often: 0.08},
		{students: 20, sessions: 16, fade: 0.6, s: spreads{0.2, 0.15, 0.03, 0.2}, levels: 0.8, often: 0.1},
	} {
		r := rand.New(rand.NewPCG(5, 9))
		var covered, zero share
		sum := 0.0
		for range 200 {
			got := FadeOf(b.draw(r))
			if got.CannotTell != "" {
				continue
			}
			truth := b.fade * Away(28, got.UsualGap)
			covered.count(holds(got.FourWeeks.LogitsInterval80, truth))
			zero.count(holds(got.FourWeeks.LogitsInterval80, 0))
			sum += got.FourWeeks.Logits - truth
		}
		bias := sum / float64(covered.of)
		t.Logf("%+v: covered %.1f %% of %d, mean error %.3f logits, 0 in %.1f %%", b, covered.percent(), covered.of, bias, zero.percent())
		if covered.of < 150 || math.Abs(covered.percent()-80) > 4 || math.Abs(bias) > 0.04 {
			t.Errorf("%+v: %.1f %% of %d intervals hold the fade, which is off by %.3f", b, covered.percent(), covered.of, bias)
		}
		if b.fade > 0 && zero.percent() > 10 {
			t.Errorf("%+v: %.1f %% of the intervals say that nothing may fade", b, zero.percent())
		}
	}
}

// dense is a course as one normal vector3: its sessions with balls, their mean
// by start, gain and fade, and the variance of what is seen.
func dense(c []sight, s spreads) (seen []int, by *mat.Dense, level, all *mat.SymDense) {
	n := len(c)
	gone := make([]float64, n)
	for i := 1; i < n; i++ {
		gone[i] = gone[i-1] + c[i].away
	}
	by, level, all = mat.NewDense(n, 3, nil), mat.NewSymDense(n, nil), mat.NewSymDense(n, nil)
	for i := range c {
		by.SetRow(i, []float64{1, float64(i), -gone[i]})
		for j := range i + 1 {
			v := startSpread*startSpread + s.drift*s.drift*float64(j) + s.gain*s.gain*float64(i*j) + s.fade*s.fade*gone[i]*gone[j]
			level.SetSym(i, j, v)
			all.SetSym(i, j, v)
		}
		if c[i].balls > 0 {
			seen = append(seen, i)
			all.SetSym(i, i, all.At(i, i)+s.form*s.form+c[i].variance)
		}
	}
	return seen, by, level, all
}

// among keeps some rows and columns.
func among(m *mat.SymDense, of []int) *mat.SymDense {
	out := mat.NewSymDense(len(of), nil)
	for i, a := range of {
		for j, b := range of[:i+1] {
			out.SetSym(i, j, m.At(a, b))
		}
	}
	return out
}

// TestFadeAgainstDense compares the filter, and its way back, with the same
// model written as one multivariate normal for each course.
func TestFadeAgainstDense(t *testing.T) {
	s := spreads{form: 0.3, drift: 0.2, gain: 0.05, fade: 0.4}
	f := readCourses(breaksOf{students: 7, sessions: 12, fade: 0.5, s: s, levels: 0.7, often: 0.3}.draw(rand.New(rand.NewPCG(1, 4))), 3)
	information, score := mat.NewSymDense(3, nil), mat.NewVecDense(3, nil)
	logLikelihood := 0.0
	for i, sd := range []float64{10, 0.2, 1} {
		information.SetSym(i, i, 1/(sd*sd))
		logLikelihood -= math.Log(sd)
	}
	for _, c := range f.courses {
		seen, by, _, all := dense(c, s)
		var chol mat.Cholesky
		if !chol.Factorize(among(all, seen)) {
			t.Fatal("not positive definite")
		}
		z, x := mat.NewVecDense(len(seen), nil), mat.NewDense(len(seen), 3, nil)
		for i, at := range seen {
			z.SetVec(i, c[at].logit)
			x.SetRow(i, by.RawRowView(at))
		}
		var vz mat.VecDense
		var vx, xvx mat.Dense
		if chol.SolveVecTo(&vz, z) != nil || chol.SolveTo(&vx, x) != nil {
			t.Fatal("cannot be solved")
		}
		logLikelihood -= (float64(len(seen))*math.Log(2*math.Pi) + chol.LogDet() + mat.Dot(z, &vz)) / 2
		xvx.Mul(x.T(), &vx)
		for i := range 3 {
			score.SetVec(i, score.AtVec(i)+mat.Dot(x.ColView(i), &vz))
			for j := range i + 1 {
				information.SetSym(i, j, information.At(i, j)+xvx.At(i, j))
			}
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(information) {
		t.Fatal("not positive definite")
	}
	var fixed mat.VecDense
	var variance mat.SymDense
	if chol.SolveVecTo(&fixed, score) != nil || chol.InverseTo(&variance) != nil {
		t.Fatal("cannot be solved")
	}
	logLikelihood += (mat.Dot(&fixed, score) - chol.LogDet()) / 2

	got := f.under(s)
	if math.Abs(got.logLikelihood-logLikelihood) > 1e-8*math.Abs(logLikelihood) {
		t.Errorf("log-likelihood %.9f, want %.9f", got.logLikelihood, logLikelihood)
	}
	for i := range 3 {
		if math.Abs(got.fixed[i]-fixed.AtVec(i)) > 1e-9 {
			t.Errorf("constant %d is %.10f, want %.10f", i, got.fixed[i], fixed.AtVec(i))
		}
		for j := range 3 {
			if math.Abs(got.variance[i][j]-variance.At(i, j)) > 1e-9 {
				t.Errorf("variance %d, %d is %.10f, want %.10f", i, j, got.variance[i][j], variance.At(i, j))
			}
		}
	}

	// What the course says of a session's rate, level and form, is the mean given
	// all that was seen.
	for _, c := range f.courses {
		seen, by, level, all := dense(c, s)
		was := slices.Clone(c)
		var chol mat.Cholesky
		if !chol.Factorize(among(all, seen)) {
			t.Fatal("not positive definite")
		}
		off := mat.NewVecDense(len(seen), nil)
		for i, at := range seen {
			off.SetVec(i, was[at].logit-mat.Dot(by.RowView(at), &fixed))
		}
		var weighed mat.VecDense
		if chol.SolveVecTo(&weighed, off) != nil {
			t.Fatal("cannot be solved")
		}
		fading{courses: [][]sight{c}}.linearise(s, vector3{fixed.AtVec(0), fixed.AtVec(1), fixed.AtVec(2)})
		for i, at := range seen {
			rate := mat.Dot(by.RowView(at), &fixed) + s.form*s.form*weighed.AtVec(i)
			for j, other := range seen {
				rate += level.At(at, other) * weighed.AtVec(j)
			}
			want := was[at]
			want.at(rate)
			if math.Abs(c[at].logit-want.logit) > 1e-8 || math.Abs(c[at].variance-want.variance) > 1e-8 {
				t.Errorf("session %d: %+v, want %+v", at, c[at], want)
			}
		}
	}
}

// regular is a student who comes every three days and stays away for a while
// after every so many sessions.
func regular(student string, before, after, every, days int) FadeCourse {
	c := FadeCourse{Student: student}
	day := 0
	for i := range 40 {
		if i > 0 {
			day += 3
		}
		inside := before
		if i > 0 && i%every == 0 {
			day += days - 3
			inside = after
		}
		c.Sessions = append(c.Sessions, FadeSession{Day: float64(day), Balls: 40, Inside: inside})
	}
	return c
}

func TestFadeCannotTell(t *testing.T) {
	four := func(every, days int) (all []FadeCourse) {
		for i := range 4 {
			all = append(all, regular(fmt.Sprint(i), 24, 20, every, days))
		}
		return all
	}
	unjudged := regular("4", 24, 20, 10, 20)
	for i := range unjudged.Sessions {
		if i > 10 && i%10 != 0 {
			unjudged.Sessions[i].Balls, unjudged.Sessions[i].Inside = 0, 0
		}
	}
	early := regular("5", 24, 20, 10, 20) // no ball before the first break, none after the last
	for i := range early.Sessions {
		if i < 10 || i >= 30 {
			early.Sessions[i].Balls, early.Sessions[i].Inside = 0, 0
		}
	}
	for name, c := range map[string]struct {
		courses          []FadeCourse
		breaks, students int
		why              CannotTell
	}{
		"nothing":                   {nil, 0, 0, FewBreaks},
		"one break each":            {four(20, 20), 4, 4, FewBreaks},
		"three breaks each":         {four(10, 20), 12, 4, ""},
		"breaks just long":          {four(10, LongBreak), 12, 4, ""},
		"breaks just short":         {four(10, LongBreak-1), 0, 0, FewBreaks},
		"three students":            {four(10, 20)[:3], 9, 3, FewStudents},
		"twice the same breaks":     {append(four(20, 20), four(20, 20)...), 4, 4, FewBreaks},
		"sessions without balls":    {append(four(10, 20), unjudged), 15, 5, ""},
		"breaks before and after":   {append(four(10, 20), early), 13, 5, ""},
		"all of them, few in a row": {few(), 8, 4, TooWide},
	} {
		got := FadeOf(c.courses)
		if got.Breaks != c.breaks || got.Students != c.students || got.CannotTell != c.why {
			t.Errorf("%s: %+v; want %d breaks of %d students, %q", name, got, c.breaks, c.students, c.why)
		}
		if told := got.Middling > 0 && got.TwoWeeks.Days == 14 && got.FourWeeks.Days == 28; told != (c.why == "") {
			t.Errorf("%s: %+v", name, got)
		}
	}
}

// few are breaks with two balls on either side.
func few() (all []FadeCourse) {
	for i := range 4 {
		c := FadeCourse{Student: fmt.Sprint(i)}
		for j := range 3 {
			c.Sessions = append(c.Sessions, FadeSession{Day: float64(30 * j), Balls: 2, Inside: 1})
		}
		all = append(all, c)
	}
	return all
}

// TestFadeTells: six students have 32 of 40 inside, and four fewer from each of
// their three breaks on.
func TestFadeTells(t *testing.T) {
	var courses []FadeCourse
	for i := range 6 {
		c := FadeCourse{Student: fmt.Sprint(i)}
		day, inside := 0.0, 32
		for j := range 20 {
			if day += 3; j%6 == 5 {
				day += 17
				inside -= 4
			}
			c.Sessions = append(c.Sessions, FadeSession{Day: day, Balls: 40, Inside: inside})
		}
		courses = append(courses, c)
	}
	got := FadeOf(courses)
	// From 32 of 40 to 20 of 40 in three breaks of 20 days, which are 17 beyond
	// the usual three: 1.386 logits.
	perBreak := logit(0.8) / 3
	want := perBreak * math.Log1p(25.0/7) / math.Log1p(17.0/7)
	if got.UsualGap != 3 || got.Breaks != 18 || math.Abs(got.FourWeeks.Logits-want) > 0.08 || !holds(got.FourWeeks.LogitsInterval80, want) {
		t.Errorf("%+v, want %.3f logits after four weeks", got, want)
	}
	for _, a := range []FadeAfter{got.TwoWeeks, got.FourWeeks} {
		x := logit(got.Middling)
		for share, logits := range map[float64]float64{a.Share: a.Logits, a.ShareInterval80.Lo: a.LogitsInterval80.Lo, a.ShareInterval80.Hi: a.LogitsInterval80.Hi} {
			if want := got.Middling - logistic(x-logits); math.Abs(share-want) > 1e-12 {
				t.Errorf("%v days: %v logits are a share of %v, want %v", a.Days, logits, share, want)
			}
		}
	}
	if ratio := got.TwoWeeks.Logits / got.FourWeeks.Logits; math.Abs(ratio-math.Log1p(11.0/7)/math.Log1p(25.0/7)) > 1e-12 {
		t.Errorf("two weeks to four are %v", ratio)
	}
	if got.Middling < 0.6 || got.Middling > 0.7 {
		t.Errorf("the middling rate is %v", got.Middling)
	}
}

// TestFadeOfAnything: whatever the sessions, there is an answer and it is finite.
func TestFadeOfAnything(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	for range 150 {
		most, way, gap := []int{1, 3, 30, MaxBalls}[r.IntN(4)], r.IntN(4), []int{1, 20, 90, 20_000}[r.IntN(4)]
		var courses []FadeCourse
		for s := range 4 + r.IntN(5) {
			c := FadeCourse{Student: fmt.Sprint(s)}
			day := 0
			for j := range 1 + r.IntN(15) {
				day += r.IntN(gap + 1)
				n := r.IntN(most + 1)
				c.Sessions = append(c.Sessions, FadeSession{float64(day), n, oddly(r, way, j, n)})
			}
			courses = append(courses, c)
		}
		f := FadeOf(courses)
		for _, a := range []FadeAfter{f.TwoWeeks, f.FourWeeks} {
			if x := f.Middling + a.Share + a.ShareInterval80.Lo + a.ShareInterval80.Hi + a.Logits + a.LogitsInterval80.Lo + a.LogitsInterval80.Hi; math.IsNaN(x) || math.IsInf(x, 0) {
				t.Fatalf("%+v of %+v", f, courses)
			}
		}
	}
}

func TestAway(t *testing.T) {
	for _, c := range []struct{ days, usual, want float64 }{
		{3, 3, 0}, {2, 3, 0}, {10, 3, math.Ln2}, {59, 3, math.Log(1 + 53.0/7)}, {56, 0, math.Log(9)}, {400, 0, math.Log(9)},
	} {
		if got := Away(c.days, c.usual); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%v days at a usual gap of %v: %v, want %v", c.days, c.usual, got, c.want)
		}
	}
}

// TestUsualGap is the median, a week at most.
func TestUsualGap(t *testing.T) {
	at := func(days ...float64) (c FadeCourse) {
		for _, d := range days {
			c.Sessions = append(c.Sessions, FadeSession{Day: d})
		}
		return c
	}
	for _, c := range []struct {
		courses []FadeCourse
		want    float64
	}{{nil, 0}, {[]FadeCourse{at(5)}, 0}, {[]FadeCourse{at(0, 2, 6), at(1, 31)}, 4}, {[]FadeCourse{at(0, 20, 40)}, 7}} {
		if got := usualGap(c.courses); got != c.want {
			t.Errorf("%+v: %v, want %v", c.courses, got, c.want)
		}
	}
}

func TestCheckFadeCourses(t *testing.T) {
	good := FadeCourse{Student: "s", Sessions: []FadeSession{{1, 4, 4}, {1, 0, 0}}}
	for _, c := range []struct {
		courses []FadeCourse
		want    []string
	}{
		{[]FadeCourse{good, {Student: "t"}}, nil},
		{[]FadeCourse{{Sessions: []FadeSession{{2, 4, 5}, {1, -1, 0}, {2, 3, -1}}}}, []string{"/c/0/student", "/c/0/sessions/2/inside", "/c/0/sessions/0/inside", "/c/0/sessions/1/day", "/c/0/sessions/1/balls", "/c/0/sessions/1/inside"}},
		{slices.Repeat([]FadeCourse{good}, MaxFadeCourses), nil},
		{slices.Repeat([]FadeCourse{good}, MaxFadeCourses+1), []string{"/c"}},
	} {
		var p domain.Problems
		CheckFadeCourses(&p, "/c", c.courses)
		var got []string
		for _, f := range p.Fields() {
			got = append(got, f.Pointer)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%d courses: %q, want %q", len(c.courses), got, c.want)
		}
	}
}

// BenchmarkFade is 200 students with 60 sessions.
func BenchmarkFade(b *testing.B) {
	courses := breaksOf{students: 200, sessions: 60, fade: 0.3, s: likelySpreads, levels: 0.7, often: 0.08}.draw(rand.New(rand.NewPCG(5, 9)))
	for b.Loop() {
		FadeOf(courses)
	}
}
