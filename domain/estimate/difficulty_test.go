package estimate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/optimize"

	"fringework/domain"
)

// TestDifficultyOfLSAT is section 6 of the Law School Admission Test: how many
// of 1,000 people gave each pattern of right (1) and wrong answers to five
// questions (R. D. Bock and M. Lieberman, Psychometrika 35 (1970) 179-197). The
// published fit of the Rasch model by marginal maximum likelihood is that in the
// manual of the R package ltm, which writes level as 0.755 times a standard
// normal one: easiness 2.730, 0.999, 0.240, 1.307 and 2.099, log-likelihood
// −2466.938 (values from memory).
func TestDifficultyOfLSAT(t *testing.T) {
	counts := []int{
		3, 6, 2, 11, 1, 1, 3, 4, 1, 8, 0, 16, 0, 3, 2, 15,
		10, 29, 14, 81, 3, 28, 15, 80, 16, 56, 21, 173, 11, 61, 28, 298,
	}
	var results []DrillResult
	for pattern, people := range counts {
		for i := range people {
			for q := range 5 {
				r := DrillResult{Student: fmt.Sprint(pattern, "-", i), Drill: fmt.Sprint(q + 1), Balls: 1, Inside: pattern >> (4 - q) & 1}
				results = append(results, r)
			}
		}
	}
	g := gridOf(results)
	f := newRasch(g, g.linked())
	f.fixed = true // likelihood alone, as published
	f.fit()
	for i, want := range []float64{2.730, 0.999, 0.240, 1.307, 2.099} {
		if math.Abs(f.x[i]-want) > 0.0015 {
			t.Errorf("question %d: easiness %.4f, want %.3f", i+1, f.x[i], want)
		}
	}
	if math.Abs(f.spread()-0.755) > 0.0015 {
		t.Errorf("spread of levels %.4f, want 0.755", f.spread())
	}
	if got := f.value(f.x) - 1000*math.Log(math.Sqrt(2*math.Pi)/levelStep); math.Abs(got+2466.938) > 0.001 {
		t.Errorf("log-likelihood %.4f, want -2466.938", got)
	}
	// With the priors a thousand people are told of almost alike.
	out := DifficultyOf(results)
	if out.Form != 0 || out.Taste != 0 || math.Abs(out.LevelSpread-0.755) > 0.01 || math.Abs(out.Drills[0].Difficulty+1.255) > 0.03 {
		t.Errorf("form %v, taste %v, spread %v, first question %v; want 0, 0, 0.755 and -1.255", out.Form, out.Taste, out.LevelSpread, out.Drills[0].Difficulty)
	}
}

// TestRaschAgainstSimpson compares mode and variance with those of a general
// method: the same weighted likelihood integrated over levels by Simpson's rule
// from −8 to 8 spreads, climbed by Nelder and Mead, its curvature by
// differences.
func TestRaschAgainstSimpson(t *testing.T) {
	results, _, _ := academyOf{students: 9, drills: 3, levels: 0.9, difficulties: 1, form: 0.4, taste: 0.3, sessions: 4, balls: 25, played: 0.8}.draw(rand.New(rand.NewPCG(3, 3)))
	g := gridOf(results)
	f := newRasch(g, g.linked())
	f.fit()
	minus := func(x []float64) float64 {
		spread, mean := math.Exp(x[3]), (x[0]+x[1]+x[2])/3
		sum := -math.Pow(x[3]-math.Log(0.7), 2) / 2
		for _, e := range x[:3] {
			sum -= math.Pow((e-mean)/f.drillSpread, 2) / 2
		}
		for _, cells := range f.cells {
			const n, h = 400, 0.04
			integral := 0.0
			for i := range n + 1 {
				z := -8 + float64(i)*h
				log := -z * z / 2
				for _, c := range cells {
					at := c.shrink * (spread*z + x[c.drill]) // the log-odds, so log(1−p) = log p − at
					log += c.weight * (-c.n*math.Log1p(math.Exp(-at)) - (c.n-c.y)*at)
				}
				part := math.Exp(log+50) * h / 3
				switch {
				case i == 0 || i == n:
				case i%2 == 1:
					part *= 4
				default:
					part *= 2
				}
				integral += part
			}
			sum += math.Log(integral) - 50
		}
		return -sum
	}
	best, err := optimize.Minimize(optimize.Problem{Func: minus}, []float64{0, 0, 0, 0}, &optimize.Settings{Converger: &optimize.FunctionConverge{Absolute: 1e-12, Iterations: 300}}, &optimize.NelderMead{})
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range best.X {
		if math.Abs(f.x[i]-want) > 1e-4 {
			t.Errorf("parameter %d is %.6f, want %.6f", i, f.x[i], want)
		}
	}
	// The information is the inverse of the variance.
	const h = 1e-3
	at := func(i, j int, a, b float64) float64 {
		x := slices.Clone(best.X)
		x[i] += a
		x[j] += b
		return minus(x)
	}
	for i := range 4 {
		for j := range 4 {
			product := 0.0
			for k := range 4 {
				curve := (at(i, k, h, h) - at(i, k, h, -h) - at(i, k, -h, h) + at(i, k, -h, -h)) / (4 * h * h)
				product += curve * f.variance.At(k, j)
			}
			want := 0.0
			if i == j {
				want = 1
			}
			if math.Abs(product-want) > 2e-3 {
				t.Errorf("curvature times variance at %d, %d is %.5f, want %v", i, j, product, want)
			}
		}
	}
}

// academyOf draws students at drills. Spreads are in logits.
type academyOf struct {
	students, drills                  int
	levels, difficulties, form, taste float64
	// sessions and balls are the most of each student and drill, and of each
	// session; played is the share of drills that a student plays.
	sessions, balls int
	played          float64
}

const middling = 0.2 // logits: the middle of the drawn levels

func (a academyOf) draw(r *rand.Rand) (results []DrillResult, levels, difficulties []float64) {
	levels, difficulties = make([]float64, a.students), make([]float64, a.drills)
	for d := range difficulties {
		difficulties[d] = a.difficulties * r.NormFloat64()
	}
	for s := range levels {
		levels[s] = middling + a.levels*r.NormFloat64()
		for d := range difficulties {
			if r.Float64() > a.played {
				continue
			}
			suits := a.taste * r.NormFloat64()
			for range 1 + r.IntN(a.sessions) {
				p := logistic(levels[s] - difficulties[d] + suits + a.form*r.NormFloat64())
				n, y := 1+r.IntN(a.balls), 0
				for range n {
					if r.Float64() < p {
						y++
					}
				}
				results = append(results, DrillResult{fmt.Sprintf("s%03d", s), fmt.Sprintf("d%02d", d), n, y})
			}
		}
	}
	return results, levels, difficulties
}

// share counts how often something was so.
type share struct{ of, yes int }

func (s *share) count(yes bool) {
	s.of++
	if yes {
		s.yes++
	}
}

func (s share) percent() float64 { return 100 * float64(s.yes) / float64(s.of) }

func holds(i Interval, x float64) bool { return i.Lo <= x && x <= i.Hi }

// TestDifficultyCoverage draws academies, small, large and of little likeness:
// intervals of 80 % must hold the truth in 76 to 84 % of them.
func TestDifficultyCoverage(t *testing.T) {
	t.Parallel()
	for _, a := range []academyOf{
		{students: 12, drills: 5, levels: 0.7, difficulties: 0.8, form: 0.35, taste: 0.2, sessions: 6, balls: 40, played: 0.7},
		{students: 60, drills: 10, levels: 0.7, difficulties: 0.8, form: 0.35, taste: 0.2, sessions: 6, balls: 40, played: 0.4},
		{students: 40, drills: 8, levels: 1.2, difficulties: 1.2, form: 0.5, taste: 0.4, sessions: 10, balls: 30, played: 0.5},
	} {
		r := rand.New(rand.NewPCG(7, 8))
		var difficulty, rate, level share
		for range 200 {
			results, levels, difficulties := a.draw(r)
			out := DifficultyOf(results)
			mean := 0.0
			for _, d := range difficulties {
				mean += d / float64(a.drills)
			}
			if len(out.Drills) < a.drills || slices.ContainsFunc(out.Drills, func(d DrillDifficulty) bool { return d.CannotTell == Unlinked }) {
				continue // the mean is another one then
			}
			for i, d := range out.Drills {
				if d.CannotTell == "" {
					difficulty.count(holds(d.DifficultyInterval80, difficulties[i]-mean))
					rate.count(holds(d.MiddlingInterval80, logistic(middling-difficulties[i])))
				}
			}
			for _, s := range out.Students {
				var i int
				if _, err := fmt.Sscanf(s.Student, "s%d", &i); err != nil {
					t.Fatal(err)
				}
				level.count(holds(s.LevelInterval80, levels[i]-mean))
			}
		}
		t.Logf("%+v: difficulty %.1f %%, middling rate %.1f %%, level %.1f %% of %d, %d and %d", a, difficulty.percent(), rate.percent(), level.percent(), difficulty.of, rate.of, level.of)
		for what, s := range map[string]share{"difficulty": difficulty, "middling rate": rate, "level": level} {
			if s.of < 900 || math.Abs(s.percent()-80) > 4 {
				t.Errorf("%+v: intervals of the %s hold the truth in %.1f %% of %d", a, what, s.percent(), s.of)
			}
		}
	}
}

// TestDifficultyComparesAcross: everybody has the rate 60 % at their own drill,
// but the strong play the hard one. One pair who play both tell them apart.
func TestDifficultyComparesAcross(t *testing.T) {
	var results []DrillResult
	add := func(student, drill string, inside int) {
		for range 4 {
			results = append(results, DrillResult{student, drill, 50, inside})
		}
	}
	for i := range 6 {
		add(fmt.Sprint("strong", i), "hard", 30)
		add(fmt.Sprint("weak", i), "easy", 30)
	}
	for i := range 6 {
		add(fmt.Sprint("both", i), "hard", 20)
		add(fmt.Sprint("both", i), "easy", 40)
	}
	out := DifficultyOf(results)
	easy, hard := out.Drills[0], out.Drills[1]
	// What those who play both say.
	if gap := hard.Difficulty - easy.Difficulty; math.Abs(gap-(logit(0.8)-logit(0.4))) > 0.3 || hard.DifficultyInterval80.Lo < 0 || easy.DifficultyInterval80.Hi > 0 {
		t.Errorf("hard is %.2f above easy (%+v, %+v), want about %.2f", gap, easy, hard, logit(0.8)-logit(0.4))
	}
	level := map[string]float64{}
	for _, s := range out.Students {
		level[strings.TrimRight(s.Student, "012345")] += s.Level / 6
	}
	if !(level["weak"]+0.5 < level["both"] && level["both"]+0.5 < level["strong"]) {
		t.Errorf("levels %v, want weak, both, strong", level)
	}
	if slices.Reverse(results); !reflect.DeepEqual(DifficultyOf(results), out) {
		t.Error("the order of the results matters")
	}
}

// TestDifficultyCannotTell says of what nothing can be told, and why.
func TestDifficultyCannotTell(t *testing.T) {
	var results []DrillResult
	for i := range MinDrillStudents {
		s := fmt.Sprint("s", i)
		results = append(results,
			DrillResult{s, "a", 30, 15}, DrillResult{s, "b", 30, 20},
			DrillResult{s, "just", MinDrillBalls / MinDrillStudents, 6}, DrillResult{s, "few", (MinDrillBalls - 1) / MinDrillStudents, 6},
			DrillResult{s, "none", 0, 0})
		if i > 0 {
			results = append(results, DrillResult{s, "three", 60, 30})
		}
		results = append(results, DrillResult{"other" + s, "apart", 90, 45})
	}
	want := map[string]CannotTell{"a": "", "b": "", "just": "", "few": FewBalls, "none": Unlinked, "three": FewStudents, "apart": Unlinked}
	out := DifficultyOf(results)
	for _, d := range out.Drills {
		if d.CannotTell != want[d.Drill] || (d.CannotTell == "") != (d.Middling > 0 && d.DifficultyInterval80.Lo < d.DifficultyInterval80.Hi) {
			t.Errorf("%s: %+v, want %q", d.Drill, d, want[d.Drill])
		}
		delete(want, d.Drill)
	}
	if len(want) > 0 {
		t.Errorf("nothing is said of %v", want)
	}
	for _, s := range out.Students {
		if apart := strings.HasPrefix(s.Student, "other"); (s.CannotTell == Unlinked) != apart || apart && (s.Balls != 90 || s.Level != 0) {
			t.Errorf("%+v", s)
		}
	}
	for name, few := range map[string][]DrillResult{"nothing": nil, "no ball": {{"s", "d", 0, 0}}, "one drill": {{"s", "d", 80, 40}, {"t", "d", 80, 40}}} {
		for _, d := range DifficultyOf(few).Drills {
			if d.CannotTell != Unlinked {
				t.Errorf("%s: %+v", name, d)
			}
		}
	}
}

// TestDifficultyOfExtremes: all in and all out stay finite.
func TestDifficultyOfExtremes(t *testing.T) {
	var results []DrillResult
	for i := range 6 {
		results = append(results, DrillResult{fmt.Sprint(i), "all", 40, 40}, DrillResult{fmt.Sprint(i), "none", 40, 0})
	}
	for _, d := range DifficultyOf(results).Drills {
		for _, x := range []float64{d.Difficulty, d.DifficultyInterval80.Lo, d.DifficultyInterval80.Hi, d.Middling, d.MiddlingInterval80.Lo, d.MiddlingInterval80.Hi} {
			if math.IsNaN(x) || math.Abs(x) > 20 {
				t.Errorf("%+v", d)
			}
		}
		if all := d.Drill == "all"; d.CannotTell != "" || all != (d.Middling > 0.9) || all != (d.Difficulty < -1) {
			t.Errorf("%+v", d)
		}
	}
}

// TestLevelAtDrill: a logit of 0.4 above the difficulty is 59.87 %.
func TestLevelAtDrill(t *testing.T) {
	rate, i := StudentLevel{Level: 1.1, LevelInterval80: Interval{0.7, 1.7}}.At(DrillDifficulty{Difficulty: 0.7})
	if math.Abs(rate-0.598688) > 1e-6 || math.Abs(i.Lo-0.5) > 1e-12 || math.Abs(i.Hi-0.731059) > 1e-6 {
		t.Errorf("%v in %+v, want 0.599 in 0.5 to 0.731", rate, i)
	}
}

func TestCompared(t *testing.T) {
	for want, i := range map[Comparison]Interval{Harder: {0.01, 1}, Easier: {-1, -0.01}, Usual: {-0.01, 0.01}} {
		if got := (DrillDifficulty{DifficultyInterval80: i}).Compared(); got != want {
			t.Errorf("%+v: %s, want %s", i, got, want)
		}
	}
}

// oddly draws how many of n balls are inside: any number, all or none, all, or
// all at every other place.
func oddly(r *rand.Rand, way, place, n int) int {
	switch way {
	case 0:
		return r.IntN(n + 1)
	case 1:
		return n * r.IntN(2)
	case 2:
		return n
	default:
		return n * (place % 2)
	}
}

// TestDifficultyOfAnything: whatever the counts, few or beyond all sense, there
// is an answer and it is finite.
func TestDifficultyOfAnything(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	for range 600 {
		most, way, students, drills := []int{1, 3, 30, 1000, MaxDrillBalls}[r.IntN(5)], r.IntN(4), 1+r.IntN(8), 1+r.IntN(6)
		var results []DrillResult
		for s := range students {
			for d := range drills {
				for range r.IntN(3) {
					n := r.IntN(most + 1)
					results = append(results, DrillResult{fmt.Sprint(s), fmt.Sprint(d), n, oddly(r, way, d, n)})
				}
			}
		}
		out := DifficultyOf(results)
		for _, d := range out.Drills {
			ends := []Interval{d.DifficultyInterval80, d.MiddlingInterval80, {d.Difficulty, d.Middling}}
			for _, i := range ends {
				if math.IsNaN(i.Lo+i.Hi) || math.IsInf(i.Lo+i.Hi, 0) {
					t.Fatalf("%+v of %+v", d, results)
				}
			}
		}
		for _, s := range out.Students {
			if x := s.Level + s.LevelInterval80.Lo + s.LevelInterval80.Hi; math.IsNaN(x) || math.IsInf(x, 0) {
				t.Fatalf("%+v of %+v", s, results)
			}
		}
	}
}

// TestLinkedSets: of two sets that nobody links, the one with more drills is
// told of; of two alike, the one with more balls.
func TestLinkedSets(t *testing.T) {
	pair := func(student string, balls int, drills ...string) (all []DrillResult) {
		for _, d := range drills {
			all = append(all, DrillResult{student, d, balls, balls / 2})
		}
		return all
	}
	for name, c := range map[string]struct {
		results []DrillResult
		linked  []string
	}{
		"more drills":      {append(pair("s", 90, "a", "b"), pair("t", 30, "c", "d", "e")...), []string{"c", "d", "e"}},
		"more balls":       {append(pair("s", 30, "a", "b"), pair("t", 31, "c", "d")...), []string{"c", "d"}},
		"the first":        {append(pair("s", 30, "a", "b"), pair("t", 30, "c", "d")...), []string{"a", "b"}},
		"through a third":  {append(append(pair("s", 30, "a", "d"), pair("t", 30, "b", "c")...), pair("u", 30, "c", "d")...), []string{"a", "b", "c", "d"}},
		"one beside a set": {append(pair("s", 90, "a"), pair("t", 30, "b", "c")...), []string{"b", "c"}},
	} {
		var linked []string
		for _, d := range DifficultyOf(c.results).Drills {
			if d.CannotTell != Unlinked {
				linked = append(linked, d.Drill)
			}
		}
		if !slices.Equal(linked, c.linked) {
			t.Errorf("%s: %v, want %v", name, linked, c.linked)
		}
	}
}

func TestCheckDrillResults(t *testing.T) {
	many := make([]DrillResult, MaxDrillStudents+1)
	for i := range many {
		many[i] = DrillResult{fmt.Sprint(i), fmt.Sprint(i % (MaxDrills + 1)), 1, 1}
	}
	for _, c := range []struct {
		results []DrillResult
		want    []string
	}{
		{[]DrillResult{{"s", "d", 0, 0}, {"s", "d", MaxDrillBalls, MaxDrillBalls}}, nil},
		{[]DrillResult{{}, {"s", "d", -1, 0}, {"s", "d", MaxDrillBalls + 1, 0}, {"s", "d", 3, 4}, {"s", "d", 3, -1}}, []string{"/r/0/student", "/r/0/drill", "/r/1/balls", "/r/1/inside", "/r/2/balls", "/r/3/inside", "/r/4/inside"}},
		{many[:MaxDrills], nil},
		{many[:MaxDrills+1], []string{"/r"}},
		{many, []string{"/r", "/r"}},
	} {
		var p domain.Problems
		CheckDrillResults(&p, "/r", c.results)
		var got []string
		for _, f := range p.Fields() {
			got = append(got, f.Pointer)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%d results: %q, want %q", len(c.results), got, c.want)
		}
	}
}

// BenchmarkDifficulty is 200 students at 30 drills.
func BenchmarkDifficulty(b *testing.B) {
	results, _, _ := academyOf{students: 200, drills: 30, levels: 0.7, difficulties: 0.8, form: 0.35, taste: 0.2, sessions: 6, balls: 40, played: 1}.draw(rand.New(rand.NewPCG(7, 8)))
	for b.Loop() {
		DifficultyOf(results)
	}
}
