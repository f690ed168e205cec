package estimate

import (
	"cmp"
	"maps"
	"math"
	"slices"
	"strconv"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"fringework/domain"
)

// Bounds of a comparison of drills.
const (
	MaxDrills        = 100
	MaxDrillStudents = 2000
	// MaxDrillBalls bounds the balls of one result.
	MaxDrillBalls = 1_000_000
	// MinDrillStudents and MinDrillBalls are what a drill must have been played
	// by and with before anything is told of it: with fewer students the
	// interval is mostly the spread between them. No source; our choice.
	MinDrillStudents = 4
	MinDrillBalls    = 60
)

// DrillResult is what one student did at one drill in one session.
type DrillResult struct {
	Student, Drill string
	// Balls were judged at the drill's circle, whatever came of them, Inside of
	// them inside.
	Balls, Inside int
}

// CannotTell says why something is not estimated; empty when it is.
type CannotTell string

// The reasons.
const (
	// Unlinked: no student has played both the drill and the others.
	Unlinked CannotTell = "unlinked"
	// FewStudents: fewer than MinDrillStudents played the drill.
	FewStudents CannotTell = "few_students"
	// FewBalls: fewer than MinDrillBalls were struck.
	FewBalls CannotTell = "few_balls"
)

// DrillDifficulty is what is told of one drill.
type DrillDifficulty struct {
	Drill           string
	Students, Balls int
	// CannotTell is why the rest is zero; empty when it is not.
	CannotTell CannotTell
	// Difficulty is in logits above the mean of the linked drills: 0 is as hard
	// as usual, above is harder.
	Difficulty           float64
	DifficultyInterval80 Interval
	// Middling is the rate, from 0 to 1, of a student of middling level.
	Middling           float64
	MiddlingInterval80 Interval
}

// Comparison says how a drill compares with the usual one.
type Comparison string

// The comparisons. Usual says that the interval does not tell harder from easier.
const (
	Harder Comparison = "harder"
	Usual  Comparison = "usual"
	Easier Comparison = "easier"
)

// Compared tells what the interval of the difficulty says.
func (d DrillDifficulty) Compared() Comparison {
	switch {
	case d.DifficultyInterval80.Lo > 0:
		return Harder
	case d.DifficultyInterval80.Hi < 0:
		return Easier
	default:
		return Usual
	}
}

// StudentLevel is what is told of one student.
type StudentLevel struct {
	Student string
	Balls   int
	// CannotTell is Unlinked for students who played none of the linked drills.
	CannotTell CannotTell
	// Level is the logit of the student's rate at a drill of mean difficulty;
	// less a drill's difficulty it is that of the rate at the drill.
	Level           float64
	LevelInterval80 Interval
}

// At gives the rate expected of the student at a drill on a middling day, from 0
// to 1. Its interval of 80 % is that of the level alone: it takes the drill's
// difficulty for known, and the drill to suit the student as it does others.
func (l StudentLevel) At(d DrillDifficulty) (rate float64, interval80 Interval) {
	by := func(level float64) float64 { return logistic(level - d.Difficulty) }
	return by(l.Level), Interval{Lo: by(l.LevelInterval80.Lo), Hi: by(l.LevelInterval80.Hi)}
}

// Difficulties are drills and students on one scale.
type Difficulties struct {
	// Drills and Students are in order of name.
	Drills   []DrillDifficulty
	Students []StudentLevel
	// LevelSpread and DrillSpread are the standard deviations of levels and of
	// difficulties, in logits.
	LevelSpread, DrillSpread float64
	// Form is the standard deviation of the logit rate of one student at one
	// drill from session to session; Taste is that between students of the same
	// level at the same drill, which suits one more than another.
	Form, Taste float64
}

// CheckDrillResults notes what is wrong with results under a pointer.
func CheckDrillResults(p *domain.Problems, at string, results []DrillResult) {
	drills, students := map[string]bool{}, map[string]bool{}
	for i, r := range results {
		here := at + "/" + strconv.Itoa(i)
		if r.Student == "" {
			p.Add(here+"/student", "is empty; name the student")
		}
		if r.Drill == "" {
			p.Add(here+"/drill", "is empty; name the drill")
		}
		if r.Balls < 0 || r.Balls > MaxDrillBalls {
			p.Add(here+"/balls", "is %d; give 0 to %d balls", r.Balls, MaxDrillBalls)
		}
		if r.Inside < 0 || r.Inside > r.Balls {
			p.Add(here+"/inside", "is %d; give 0 to %d balls inside, as many as were struck", r.Inside, max(0, r.Balls))
		}
		drills[r.Drill], students[r.Student] = true, true
	}
	if len(drills) > MaxDrills {
		p.Add(at, "are of %d drills; give at most %d", len(drills), MaxDrills)
	}
	if len(students) > MaxDrillStudents {
		p.Add(at, "are of %d students; give at most %d", len(students), MaxDrillStudents)
	}
}

// DifficultyOf puts drills and students on one scale by the Rasch model:
// logit P(inside) = level of the student − difficulty of the drill, with
// normal levels and normal difficulties whose spreads are estimated. Levels are
// integrated out; difficulties and the spread of levels are at the mode of
// their posterior, with its curvature for the intervals. Form and taste make the
// balls of a student at a drill alike beyond that; they are allowed for by
// weighing such balls less, and by drawing their expected rate nearer to a half.
//
// Drills compare through the students they share. The largest set of drills that
// are linked so is told of; the others are Unlinked. Intervals are of 80 %. They
// take form and taste for known.
//
// Sources: G. Rasch, Probabilistic Models for Some Intelligence and Attainment
// Tests (1960); R. D. Bock and M. Aitkin, Marginal maximum likelihood estimation
// of item parameters, Psychometrika 46 (1981) 443-459, for integrating levels
// out; T. A. Louis, JRSS B 44 (1982) 226-233, for the curvature; D. A. Williams,
// Extra-binomial variation in logistic linear models, Applied Statistics 31
// (1982) 144-148, model III, for form, taste and the weights; S. L. Zeger,
// K.-Y. Liang and P. S. Albert, Biometrics 44 (1988) 1049-1060, for the expected
// rate.
func DifficultyOf(results []DrillResult) Difficulties {
	g := gridOf(results)
	linked := g.linked()
	f := newRasch(g, linked)
	f.fit()
	return f.tell(g)
}

// drillCell is the balls of one student at one drill, by the drill's index.
type drillCell struct {
	drill int
	n, y  float64
	// pairs is the number of ordered pairs of balls of the same session, for each
	// ball; squares that for each pair of balls at all, themselves included.
	pairs, squares float64
	// weight is what a ball counts; shrink is what the logit of the expected rate
	// is to that of the rate on a middling day.
	weight, shrink float64
}

// drillGrid is the results by student and by drill, in order of name.
type drillGrid struct {
	drills, students []string
	cells            [][]drillCell // of each student, by drill
	form             float64       // in logits
}

// stray is how far a count came from what was expected: the square of that over
// the binomial variance, and how the variance grows with a logit variance.
type stray struct{ square, known, growth float64 }

// strayOf is that of y of n balls inside at the rate p, which known inflates
// already, and which a logit variance inflates by pairs for each ball. At rates
// nearer to 0 or 1 than a hundredth the logit tells nothing of such a variance;
// they are taken for that.
func strayOf(y, n, p, known, pairs float64) stray {
	p = max(0.01, min(0.99, p))
	v := p * (1 - p)
	return stray{square: (y - n*p) * (y - n*p) / (n * v), known: 1 + v*known, growth: v * pairs}
}

// varianceOf finds the logit variance with which the squares come to as many as
// are free; that given when too few are.
func varianceOf(all []stray, free, otherwise float64) float64 {
	const most = 4.0 // nobody is another player by 2 logits from day to day
	growth := 0.0
	for _, s := range all {
		growth += s.growth
	}
	if growth == 0 {
		return 0 // one ball at a time: none can be told from chance
	}
	if free < minStrays {
		return otherwise
	}
	lo, hi := 0.0, most
	for range 40 {
		v, sum := (lo+hi)/2, 0.0
		for _, s := range all {
			sum += s.square / (s.known + s.growth*v)
		}
		if sum > free {
			lo = v
		} else {
			hi = v
		}
	}
	return (lo + hi) / 2
}

func gridOf(results []DrillResult) drillGrid {
	type key struct{ student, drill string }
	sums, within := map[key]*drillCell{}, map[key][]DrillResult{}
	drills, students := map[string]int{}, map[string]int{}
	for _, r := range results {
		drills[r.Drill], students[r.Student] = 0, 0
		if r.Balls == 0 {
			continue
		}
		k := key{r.Student, r.Drill}
		if sums[k] == nil {
			sums[k] = &drillCell{weight: 1, shrink: 1}
		}
		n := float64(r.Balls)
		c := sums[k]
		c.n += n
		c.y += float64(r.Inside)
		c.pairs += n * (n - 1)
		c.squares += n * n
		within[k] = append(within[k], r)
	}
	var sessions []stray
	free := 0.0
	for _, k := range slices.SortedFunc(maps.Keys(within), func(a, b key) int {
		return cmp.Or(cmp.Compare(a.student, b.student), cmp.Compare(a.drill, b.drill))
	}) {
		c := sums[k]
		p := (c.y + 0.5) / (c.n + 1)
		for _, r := range within[k] {
			n := float64(r.Balls)
			sessions = append(sessions, strayOf(float64(r.Inside), n, p, 0, n-1))
		}
		free += float64(len(within[k]) - 1)
		c.pairs /= c.n
		c.squares /= c.n * c.n
	}
	g := drillGrid{form: math.Sqrt(varianceOf(sessions, free, likelyForm*likelyForm)), drills: slices.Sorted(maps.Keys(drills)), students: slices.Sorted(maps.Keys(students))}
	for i, name := range g.drills {
		drills[name] = i
	}
	for i, name := range g.students {
		students[name] = i
	}
	g.cells = make([][]drillCell, len(g.students))
	for k, c := range sums {
		c.drill = drills[k.drill]
		at := students[k.student]
		g.cells[at] = append(g.cells[at], *c)
	}
	for _, cells := range g.cells {
		slices.SortFunc(cells, func(a, b drillCell) int { return cmp.Compare(a.drill, b.drill) })
	}
	return g
}

// linked tells which drills are in the largest set that students link, by the
// number of drills, then of balls, then by name.
func (g drillGrid) linked() []bool {
	set := make([]int, len(g.drills))
	for d := range set {
		set[d] = d
	}
	root := func(d int) int {
		for set[d] != d {
			d = set[d]
		}
		return d
	}
	for _, cells := range g.cells {
		for _, c := range cells {
			a, b := root(cells[0].drill), root(c.drill)
			set[max(a, b)] = min(a, b)
		}
	}
	drills, balls := make([]int, len(set)), make([]float64, len(set))
	for d := range set {
		drills[root(d)]++
	}
	for _, cells := range g.cells {
		for _, c := range cells {
			balls[root(c.drill)] += c.n
		}
	}
	best := 0
	for d := range set {
		if cmp.Or(cmp.Compare(drills[d], drills[best]), cmp.Compare(balls[d], balls[best])) > 0 {
			best = d
		}
	}
	in := make([]bool, len(set))
	for d := range set {
		in[d] = root(d) == best
	}
	return in
}

// What is held of the spreads before anything is seen, in logits. No source: from
// what students' rates look like.
const (
	// The logarithm of the levels' spread is normal around that of 0.7 with
	// standard deviation 1.
	likelySpread = 0.7
	// The drills' spread counts as if one drill more had been seen, at 1 from
	// the mean.
	likelyDrillSpread = 1
	// likelyForm and likelyTaste stand where fewer than minStrays counts are
	// free to tell.
	likelyForm  = 0.3
	likelyTaste = 0.2
	minStrays   = 5
)

// rasch is a fit: the easiness of each linked drill, which is the logit of a
// middling student's rate there, and the logarithm of the levels' spread.
type rasch struct {
	drills   []int // of the grid, by the fit's index
	students []int
	cells    [][]drillCell // of each student
	// drillSpread may be held, and the prior of the spread of levels left out,
	// for tests.
	drillSpread float64
	fixed       bool

	x           []float64 // easiness of each drill, then the log spread
	form, taste float64
	// variance is that of x; nil before a fit.
	variance *mat.SymDense
	// posterior of each student's standard level
	mode, sd []float64
}

func newRasch(g drillGrid, linked []bool) *rasch {
	f := &rasch{drillSpread: likelyDrillSpread, form: g.form}
	index := make([]int, len(g.drills))
	for d, in := range linked {
		if in {
			index[d] = len(f.drills)
			f.drills = append(f.drills, d)
		}
	}
	n, y := make([]float64, len(f.drills)), make([]float64, len(f.drills))
	for s, cells := range g.cells {
		if len(cells) == 0 || !linked[cells[0].drill] {
			continue
		}
		own := slices.Clone(cells)
		for i := range own {
			own[i].drill = index[own[i].drill]
			n[own[i].drill] += own[i].n
			y[own[i].drill] += own[i].y
		}
		f.students, f.cells = append(f.students, s), append(f.cells, own)
	}
	f.x = make([]float64, len(f.drills)+1)
	for d := range f.drills {
		f.x[d] = logit((y[d] + 0.5) / (n[d] + 1))
	}
	f.x[len(f.drills)] = math.Log(likelySpread)
	f.mode, f.sd = make([]float64, len(f.students)), make([]float64, len(f.students))
	return f
}

func (f *rasch) spread() float64 { return math.Exp(f.x[len(f.drills)]) }

// fit climbs to the mode by Newton's method, setting the spread of drills and
// the taste anew after every step.
func (f *rasch) fit() {
	if len(f.students) == 0 {
		return
	}
	const (
		steps  = 60
		enough = 1e-7
	)
	for range steps {
		before, taste, spread := slices.Clone(f.x), f.taste, f.drillSpread
		f.climb()
		if !f.fixed {
			f.setDrillSpread()
			f.setTaste()
		}
		moved := math.Abs(f.taste*f.taste-taste*taste) + math.Abs(f.drillSpread-spread)/10
		for i := range f.x {
			moved = max(moved, math.Abs(f.x[i]-before[i]))
		}
		if moved < enough {
			break
		}
	}
}

// Easinesses stay within a rate of 0.005 % or 99.995 %, and the spread of levels
// from 0.05 to 20 logits, so that all sums are finite.
const (
	mostEasiness  = 10.0
	mostLogSpread = 3.0
)

// climb makes one step of Newton's, halved until it leads up.
func (f *rasch) climb() {
	value, gradient, information := f.derivatives(f.x)
	k := len(f.x)
	var chol mat.Cholesky
	for ridge := 1e-3; !chol.Factorize(information); ridge *= 4 {
		// Far from the mode the surface may curve up; a ridge turns it.
		for i := range k {
			information.SetSym(i, i, information.At(i, i)+ridge*(1+math.Abs(information.At(i, i))))
		}
	}
	var step mat.VecDense
	_ = chol.SolveVecTo(&step, mat.NewVecDense(k, gradient)) // an ill-conditioned step is checked below as any other
	f.variance = new(mat.SymDense)
	_ = chol.InverseTo(f.variance)
	from := slices.Clone(f.x)
	for scale := 1.0; scale > 1e-6; scale /= 2 {
		for i := range f.x {
			limit := mostEasiness
			if i == len(f.drills) {
				limit = mostLogSpread
			}
			f.x[i] = max(-limit, min(limit, from[i]+scale*max(-2, min(2, step.AtVec(i)))))
		}
		if f.value(f.x) >= value-1e-12*math.Abs(value) {
			return
		}
	}
	copy(f.x, from)
}

// The integral over a student's level is a sum over evenly spaced points around
// the mode, in steps of a part of the posterior's width: for what looks like a
// normal density it is exact to 1e-8.
const (
	levelSteps = 8 // on each side
	levelStep  = 0.6
)

// value is the logarithm of the posterior density at x, but for a constant.
func (f *rasch) value(x []float64) float64 {
	spread := math.Exp(x[len(f.drills)])
	sum := f.prior(x, nil, nil)
	for s, cells := range f.cells {
		f.centre(s, x, spread)
		top, rest := f.logJoint(cells, x, spread, f.mode[s]), 0.0
		for i := -levelSteps; i <= levelSteps; i++ {
			rest += math.Exp(f.logJoint(cells, x, spread, f.mode[s]+float64(i)*levelStep*f.sd[s]) - top)
		}
		sum += top + math.Log(rest*f.sd[s])
	}
	return sum
}

// centre finds the mode and the width of a student's standard level.
func (f *rasch) centre(s int, x []float64, spread float64) {
	z, lo, hi := f.mode[s], math.Inf(-1), math.Inf(1)
	for range 100 {
		slope, curve := -z, 1.0
		for _, c := range f.cells[s] {
			score, information := c.at(spread*z + x[c.drill])
			slope += spread * score
			curve += spread * spread * information
		}
		// The slope falls throughout, so that its zero can be bracketed.
		if slope > 0 {
			lo = z
		} else {
			hi = z
		}
		f.mode[s], f.sd[s] = z, 1/math.Sqrt(curve)
		step := max(-1, min(1, slope/curve))
		if math.Abs(step) < 1e-9 {
			return
		}
		if z += step; z <= lo || z >= hi {
			z = (lo + hi) / 2
		}
	}
}

func (f *rasch) logJoint(cells []drillCell, x []float64, spread, z float64) float64 {
	sum := -z * z / 2
	for _, c := range cells {
		at := c.shrink * (spread*z + x[c.drill])
		sum += c.weight * (c.n*logLogistic(at) - (c.n-c.y)*at) // log(1−p) = log p − at
	}
	return sum
}

// prior is the logarithm of the prior density of x; it adds its gradient and
// its information.
func (f *rasch) prior(x, gradient []float64, information *mat.SymDense) float64 {
	if f.fixed {
		return 0
	}
	d := len(f.drills)
	mean := 0.0
	for _, e := range x[:d] {
		mean += e / float64(d)
	}
	precision := 1 / (f.drillSpread * f.drillSpread)
	off := x[d] - math.Log(likelySpread)
	sum := -off * off / 2
	for i, e := range x[:d] {
		sum -= precision * (e - mean) * (e - mean) / 2
		if gradient == nil {
			continue
		}
		gradient[i] -= precision * (e - mean)
		for j := range i + 1 {
			information.SetSym(i, j, information.At(i, j)-precision/float64(d))
		}
		information.SetSym(i, i, information.At(i, i)+precision)
	}
	if gradient != nil {
		gradient[d] -= off
		information.SetSym(d, d, information.At(d, d)+1)
	}
	return sum
}

// derivatives are the value at x, its gradient and the observed information:
// what the complete data would have, less what not knowing the levels takes.
func (f *rasch) derivatives(x []float64) (value float64, gradient []float64, information *mat.SymDense) {
	d := len(f.drills)
	gradient, information = make([]float64, d+1), mat.NewSymDense(d+1, nil)
	value = f.prior(x, gradient, information)
	spread := math.Exp(x[d])
	for s, cells := range f.cells {
		f.centre(s, x, spread)
		const points = 2*levelSteps + 1
		var weight [points]float64
		total, top := 0.0, f.logJoint(cells, x, spread, f.mode[s])
		for i := range weight {
			weight[i] = math.Exp(f.logJoint(cells, x, spread, f.level(s, i)) - top)
			total += weight[i]
		}
		value += top + math.Log(total*f.sd[s])
		k := len(cells)
		mean, square := make([]float64, k+1), make([]float64, (k+1)*(k+1))
		score := make([]float64, k+1)
		for i, w := range weight {
			w /= total
			level := spread * f.level(s, i)
			score[k] = 0
			for j, c := range cells {
				own, curve := c.at(level + x[c.drill])
				score[j] = own
				score[k] += own * level
				curve *= w
				add(information, c.drill, c.drill, curve)
				add(information, c.drill, d, curve*level)
				add(information, d, d, curve*level*level)
			}
			add(information, d, d, -w*score[k])
			for a := range score {
				mean[a] += w * score[a]
				for b := range a + 1 {
					square[a*(k+1)+b] += w * score[a] * score[b]
				}
			}
		}
		at := func(a int) int {
			if a == k {
				return d
			}
			return cells[a].drill
		}
		for a := range mean {
			gradient[at(a)] += mean[a]
			for b := range a + 1 {
				add(information, at(a), at(b), mean[a]*mean[b]-square[a*(k+1)+b])
			}
		}
	}
	return value, gradient, information
}

// level is the i-th point of a student's standard level.
func (f *rasch) level(s, i int) float64 {
	return f.mode[s] + float64(i-levelSteps)*levelStep*f.sd[s]
}

func add(m *mat.SymDense, i, j int, v float64) { m.SetSym(i, j, m.At(i, j)+v) }

// contrast gives the variance of a sum of the easinesses by weights.
func (f *rasch) contrast(weights []float64) float64 {
	v := mat.NewVecDense(len(weights), weights)
	return mat.Inner(v, f.variance, v)
}

// fromMean are the weights of a drill's difficulty: the mean easiness of all
// less its own.
func (f *rasch) fromMean(drill int) []float64 {
	w := make([]float64, len(f.x))
	for i := range f.drills {
		w[i] = 1 / float64(len(f.drills))
	}
	w[drill]--
	return w
}

func (f *rasch) meanEasiness() float64 {
	sum := 0.0
	for _, e := range f.x[:len(f.drills)] {
		sum += e / float64(len(f.drills))
	}
	return sum
}

// setDrillSpread sets the spread of the drills to what their places and
// variances say (a step of EM).
func (f *rasch) setDrillSpread() {
	sum, mean := float64(likelyDrillSpread*likelyDrillSpread), f.meanEasiness()
	for i, e := range f.x[:len(f.drills)] {
		sum += (e-mean)*(e-mean) + f.contrast(f.fromMean(i))
	}
	f.drillSpread = math.Sqrt(sum / float64(len(f.drills)))
}

// setTaste sets the taste, and with it what the balls of a cell count: so that
// the squared distances of the counts from the model's come to as many as there
// are cells beyond the parameters.
func (f *rasch) setTaste() {
	var all []stray
	free := -float64(len(f.drills))
	spread := f.spread()
	for s, cells := range f.cells {
		free -= 1 - f.sd[s]*f.sd[s]
		for _, c := range cells {
			p := logistic(c.shrink * (spread*f.mode[s] + f.x[c.drill]))
			all = append(all, strayOf(c.y, c.n, p, f.form*f.form*c.pairs, c.n-1))
			free++
		}
	}
	f.taste = math.Sqrt(varianceOf(all, free, likelyTaste*likelyTaste))
	i := 0
	for _, cells := range f.cells {
		for j := range cells {
			c := &cells[j]
			c.weight = 1 / (all[i].known + all[i].growth*f.taste*f.taste)
			c.shrink = 1 / math.Sqrt(1+zeger*(f.taste*f.taste+f.form*f.form*c.squares))
			i++
		}
	}
}

// zeger is c² of Zeger, Liang and Albert: logit(E(logistic(x + noise))) is about
// x/√(1 + c²·variance of the noise), with c = 16√3/(15π).
const zeger = 256 * 3 / (225 * math.Pi * math.Pi)

// at is the derivative of a cell's log-likelihood at a logit rate, and how much
// the cell tells of it.
func (c drillCell) at(x float64) (score, information float64) {
	p := logistic(c.shrink * x)
	return c.weight * c.shrink * (c.y - c.n*p), c.weight * c.shrink * c.shrink * c.n * p * (1 - p)
}

// reach80 is how many standard errors an interval of 80 % reaches to each side
// when as many students tell of it.
func reach80(students int) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(max(1, students-1))}.Quantile(0.9)
}

func around(x, reach float64) Interval { return Interval{Lo: x - reach, Hi: x + reach} }

// tell gives what the fit says of everything in the grid.
func (f *rasch) tell(g drillGrid) Difficulties {
	out := Difficulties{Drills: make([]DrillDifficulty, len(g.drills)), Students: make([]StudentLevel, len(g.students))}
	for d, name := range g.drills {
		out.Drills[d] = DrillDifficulty{Drill: name, CannotTell: Unlinked}
	}
	for s, cells := range g.cells {
		out.Students[s] = StudentLevel{Student: g.students[s], CannotTell: Unlinked}
		for _, c := range cells {
			out.Students[s].Balls += int(c.n)
			out.Drills[c.drill].Students++
			out.Drills[c.drill].Balls += int(c.n)
		}
	}
	if len(f.drills) < 2 || f.variance == nil {
		return out // nothing to compare with
	}
	out.LevelSpread, out.DrillSpread, out.Form, out.Taste = f.spread(), f.drillSpread, f.form, f.taste
	mean := f.meanEasiness()
	for i, d := range f.drills {
		told := &out.Drills[d]
		switch {
		case told.Students < MinDrillStudents:
			told.CannotTell = FewStudents
			continue
		case told.Balls < MinDrillBalls:
			told.CannotTell = FewBalls
			continue
		}
		told.CannotTell = ""
		reach := reach80(told.Students)
		told.Difficulty = mean - f.x[i]
		told.DifficultyInterval80 = around(told.Difficulty, reach*math.Sqrt(f.contrast(f.fromMean(i))))
		easy := around(f.x[i], reach*math.Sqrt(f.variance.At(i, i)))
		told.Middling = logistic(f.x[i])
		told.MiddlingInterval80 = Interval{Lo: logistic(easy.Lo), Hi: logistic(easy.Hi)}
	}
	for s := range f.students {
		told := &out.Students[f.students[s]]
		told.CannotTell = ""
		told.Level, told.LevelInterval80 = f.levelOf(s, mean)
	}
	return out
}

// levelOf gives a student's level at a drill of mean easiness. The interval
// allows for what is not known of the drills.
func (f *rasch) levelOf(s int, mean float64) (float64, Interval) {
	spread := f.spread()
	weights := make([]float64, len(f.x))
	for i := range f.drills {
		weights[i] = 1 / float64(len(f.drills))
	}
	precision := 1 / (spread * spread)
	total := precision
	for _, c := range f.cells[s] {
		_, information := c.at(spread*f.mode[s] + f.x[c.drill])
		total += information
	}
	for _, c := range f.cells[s] {
		_, information := c.at(spread*f.mode[s] + f.x[c.drill])
		weights[c.drill] -= information / total
	}
	level := mean + spread*f.mode[s]
	return level, around(level, reach80(len(f.students))*math.Sqrt(1/total+f.contrast(weights)))
}
