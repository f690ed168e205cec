package estimate

import (
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"

	"fringework/domain"
	"fringework/domain/streak"
)

// particle is one simulated student of the model, for checking the filter by
// importance sampling: an independent method that knows no grid.
type particle struct {
	level, pace float64
	way         int // a lane up to slow, or one of the two below
	weight      float64
}

const rises, falls = firstWay, firstWay + 1

func pick(ws []way, r *rand.Rand) float64 {
	u := r.Float64()
	for _, w := range ws {
		if u -= w.weight; u < 0 {
			return float64(w.steps) * fine
		}
	}
	return float64(ws[len(ws)-1].steps) * fine
}

// go on in a way, at one of its paces.
func (p *particle) turn(way int, r *rand.Rand) {
	p.way, p.pace = way, 0
	switch way {
	case slow:
		p.pace = pick(slowWay, r)
	case rises:
		p.pace = pick(risingWays, r)
	case falls:
		p.pace = pick(fallingWays, r)
	}
}

func (p *particle) begin(r *rand.Rand) {
	// Jeffreys' prior is the arc-sine law.
	s := math.Sin(math.Pi * r.Float64() / 2)
	p.level = logit(math.Min(math.Max(s*s, 1e-9), 1-1e-9))
	p.weight = 1
	switch u := r.Float64(); {
	case u < startRising:
		p.turn(rises, r)
	case u < startRising+startSlow:
		p.turn(slow, r)
	case u < startRising+startSlow+startFalling:
		p.turn(falls, r)
	default:
		p.turn(neverRose, r)
	}
}

// change is a way to change over to, with its chance per session.
type change struct {
	to     int
	chance float64
}

var changesOver = map[int][]change{
	neverRose: {{rises, startsToRise}, {slow, startsSlowly}, {falls, startsToFall}},
	levelled:  {{rises, startsToRise}, {slow, startsSlowly}, {falls, startsToFall}},
	slow:      {{levelled, slowLevels}, {rises, picksUp}, {falls, startsToFall}},
	rises:     {{levelled, levelsOff}, {slow, slowsDown}, {falls, turnsAround}},
	falls:     {{neverRose, stopsFalling}, {rises, turnsAround}},
}

func (p *particle) advance(r *rand.Rand) {
	u := r.Float64()
	for _, c := range changesOver[p.way] {
		if u -= c.chance; u < 0 {
			p.turn(c.to, r)
			break
		}
	}
	p.level += p.pace
}

// binomial is the probability of the counts at a level over its greatest.
func binomial(n counts, level float64) float64 {
	y, m := float64(n.inside), float64(n.balls-n.inside)
	best := y*math.Log(y/(y+m)) + m*math.Log(m/(y+m))
	return math.Exp((y+m)*logLogistic(level) - m*level - best) // log(1−p) = log p − level
}

// cloud sums what weighted particles say.
type cloud struct{ total, squares, rate, falling, neverRose, levelled, slow, rising float64 }

func (c *cloud) add(p particle) {
	c.total += p.weight
	c.squares += p.weight * p.weight
	c.rate += p.weight * logistic(p.level)
	*map[int]*float64{neverRose: &c.neverRose, levelled: &c.levelled, slow: &c.slow, rises: &c.rising, falls: &c.falling}[p.way] += p.weight
}

// tolerance is four standard errors of a probability.
func (c *cloud) tolerance(t *testing.T) float64 {
	t.Helper()
	size := c.total * c.total / c.squares // effective number of particles
	if size < 4500 {
		t.Fatalf("only %.0f effective particles", size)
	}
	return 4 * 0.5 / math.Sqrt(size)
}

// compare holds a filter to the particles.
func (c *cloud) compare(t *testing.T, f *filter, tolerance float64) {
	t.Helper()
	for _, x := range []struct {
		what      string
		got, want float64
	}{
		{"rising", f.now.rising, c.rising}, {"slow", f.now.slow, c.slow}, {"never rose", f.now.neverRose, c.neverRose},
		{"levelled", f.now.levelled, c.levelled}, {"falling", f.now.falling, c.falling}, {"mean rate", f.mean(&rates.p), c.rate},
	} {
		simulated(t, x.what, x.got, x.want/c.total, tolerance)
	}
}

func simulated(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.4f, by simulation %.4f ± %.4f", what, got, want, tolerance)
	}
}

var seenOnTheGreen = []counts{{30, 14}, {22, 12}, {35, 19}, {28, 17}, {30, 17}, {25, 17}}

// TestFilterAgainstSimulation compares the filter, the kinds of form that it
// learns, the forecast and the next session with particles of the same model:
// simulated levels, weighted by the binomial probability of what was seen, then
// played on with the exact odds. What is left of the last session's form is taken
// from that session by itself, as the filter does. The seed is fixed.
func TestFilterAgainstSimulation(t *testing.T) {
	seen := seenOnTheGreen
	tier := streak.Tier{Run: 7}
	const n, test, nextBalls = 250_000, 20, 24
	f := newFilter(Jeffreys, false)
	defer f.free()
	held := []FormKinds{f.kinds} // before each session, and after the last
	for _, s := range seen {
		f.observe(s)
		held = append(held, f.kinds)
	}
	forecast := f.forecast(f.kinds.mixed(chanceOf(tier, 0, test)), 2)
	next := f.foresee(nextBalls)

	// Odds on a fine grid of rates, so that the simulation needs no table.
	odds := make([]float64, 2001)
	for i := range odds {
		odds[i] = streak.Within(tier, streak.Rates{In: float64(i) / 2000}, test)
	}
	r := rand.New(rand.NewPCG(3, 4))
	today := func(k int, level, last, variance float64) float64 {
		return level + formKinds[k].carried(variance)*(last-level) + formSDs[formKinds[k].sd]*r.NormFloat64()
	}
	draw := func() int {
		u := r.Float64()
		for k, w := range f.kinds {
			if u -= w; u < 0 {
				return k
			}
		}
		return 0
	}
	var c cloud
	foreseen := make([]FormKinds, len(seen))
	left := make([]float64, 9)
	share, spread := 0.0, [nextBalls + 1]float64{}
	for range n {
		var p particle
		p.begin(r)
		var last, variance float64
		for i, s := range seen {
			if i > 0 {
				p.advance(r)
			}
			sum := 0.0
			for k, w := range held[i] {
				x := p.level
				if i > 0 {
					x = today(k, p.level, last, variance)
				} else {
					x += formSDs[formKinds[k].sd] * r.NormFloat64()
				}
				l := binomial(s, x) + strange
				foreseen[i][k] += p.weight * l
				sum += w * l
			}
			p.weight *= sum
			last, variance = s.logit()
		}
		c.add(p)
		w := p.weight
		for k := range left {
			left[k] += w
			if k > 0 && k <= len(seen) || k == 0 {
				p.advance(r)
			}
			if k == 0 {
				rate := logistic(today(draw(), p.level, last, variance))
				inside := 0
				for range nextBalls {
					if r.Float64() < rate {
						inside++
					}
				}
				share += p.weight * rate
				spread[inside] += p.weight
			}
			u := logistic(p.level+formSDs[formKinds[draw()].sd]*r.NormFloat64()) * 2000
			i := min(int(u), 1999)
			w *= 1 - (odds[i]*(1-(u-float64(i))) + odds[i+1]*(u-float64(i)))
		}
	}
	tolerance := c.tolerance(t)
	c.compare(t, f, tolerance)
	for i := range seen {
		sum := 0.0
		for k, w := range held[i] {
			foreseen[i][k] *= w
			sum += foreseen[i][k]
		}
		for k := range foreseen[i] {
			foreseen[i][k] /= sum
		}
		foreseen[i].forget()
		for k, want := range foreseen[i] {
			simulated(t, "a kind of form", held[i+1][k], want, tolerance)
		}
	}
	simulated(t, "next session", forecast.NextSession/(1-unforeseen), 1-left[1]/c.total, tolerance)
	simulated(t, "within 4", forecast.Within[0]/(1-unforeseen), 1-left[4]/c.total, tolerance)
	simulated(t, "within 8", forecast.Within[1]/(1-unforeseen), 1-left[8]/c.total, tolerance)

	simulated(t, "next share", next.Mean, share/c.total, tolerance)
	if level := f.mean(&rates.p); next.Balls != nextBalls || math.Abs(next.Mean-level) > 0.05 {
		t.Errorf("the next session is %+v at a level of %.3f", next, level)
	}
	// A share is a multiple of one ball in 24: the ends lie within a ball.
	for q, end := range map[float64]float64{0.1: next.Interval80.Lo, 0.9: next.Interval80.Hi} {
		below := 0.0
		for inside, w := range spread {
			if below += w / c.total; below >= q {
				simulated(t, "an end of the next session", end, float64(inside)/nextBalls, 1.0/nextBalls)
				break
			}
		}
	}
}

// TestCarriedFormAgainstMemory: the one step that the filter remembers of the
// form stands for form that goes on with a memory, of a kind that the student
// keeps. What that leaves out is below five points in a hundred.
func TestCarriedFormAgainstMemory(t *testing.T) {
	f := newFilter(Jeffreys, false)
	defer f.free()
	for _, s := range seenOnTheGreen {
		f.observe(s)
	}
	r := rand.New(rand.NewPCG(5, 4))
	var c cloud
	for range 250_000 {
		var p particle
		p.begin(r)
		kind := 0
		for u := r.Float64() - usualForm[0]; u >= 0 && kind < len(formKinds)-1; u -= usualForm[kind] {
			kind++
		}
		sd, memory := formSDs[formKinds[kind].sd], formKinds[kind].memory
		form := sd * r.NormFloat64()
		for i, s := range seenOnTheGreen {
			if i > 0 {
				p.advance(r)
				form = memory*form + sd*math.Sqrt(1-memory*memory)*r.NormFloat64()
			}
			p.weight *= binomial(s, p.level+form) + strange
		}
		c.add(p)
	}
	c.compare(t, f, 0.05)
}

// TestFilterIsSound feeds extremes: probabilities stay probabilities.
func TestFilterIsSound(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for n := range 60 {
		f := newFilter(Prior{0.01 + 3*r.Float64(), 0.01 + 3*r.Float64()}, n%2 == 0)
		for range 120 {
			balls := 1 + r.IntN(60)
			if r.IntN(10) == 0 {
				balls = 1 + r.IntN(MaxBalls)
			}
			inside := r.IntN(balls + 1)
			if r.IntN(3) == 0 {
				inside = balls * r.IntN(2)
			}
			f.observe(counts{balls, inside})
			sum := f.now.rising + f.now.falling + f.now.neverRose + f.now.levelled + f.now.slow
			form := 0.0
			for _, w := range f.kinds {
				form += w
			}
			if !(math.Abs(sum-1) < 1e-9) || !(math.Abs(form-1) < 1e-9) || f.lo < 0 || f.hi > cells || f.lo >= f.hi {
				t.Fatalf("probabilities %+v, of form %v, cells %d to %d", f.now, f.kinds, f.lo, f.hi)
			}
		}
		f.free()
	}
}

// TestChangingKeepsAll: nothing is lost or made where students change over and
// move, at the edges of the grid as well.
func TestChangingKeepsAll(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 6))
	// What weighs less than a ten millionth is left out.
	for _, n := range []counts{{20, 0}, {20, 20}, {30, 13}, {1000, 999}} {
		f := newFilter(Jeffreys, false)
		f.observe(n)
		for range 80 {
			f.advance()
			if got := f.sum(); math.Abs(got/f.total-1) > 1e-5 {
				t.Fatalf("after %v: %v of all is left", n, got/f.total)
			}
			if r.IntN(20) == 0 {
				f.observe(n)
			}
		}
		f.free()
	}
}

// TestBins: each level's probability is in the nearest cell, and all of it in
// some.
func TestBins(t *testing.T) {
	f := newFilter(Jeffreys, false)
	defer f.free()
	for _, n := range seenOnTheGreen {
		f.observe(n)
		var want [cells + 1]float64
		for i := range f.lanes {
			l := &f.lanes[i]
			for c := f.lo; c < f.hi; c++ {
				want[int(math.Round(float64(c)+float64(l.phase)/finePerCell))] += l.mass[c]
			}
		}
		sum := 0.0
		for c := f.lo; c <= f.hi; c++ { // as they were before the ends were left out
			if math.Abs(f.bins[c]-want[c]) > 1e-7*f.total {
				t.Fatalf("cell %d holds %v, want %v", c, f.bins[c], want[c])
			}
			sum += f.bins[c]
		}
		if math.Abs(sum/f.total-1) > 1e-6 {
			t.Errorf("the cells hold %v of all", sum/f.total)
		}
	}
}

// TestStrangeSessionDecidesNothing: one session that has nothing to do with
// the level moves the odds by no more than its bound.
func TestStrangeSessionDecidesNothing(t *testing.T) {
	f := newFilter(Jeffreys, false)
	defer f.free()
	for range 12 {
		f.observe(counts{30, 20})
	}
	before := f.now
	f.observe(counts{500, 5})
	f.observe(counts{30, 20})
	f.observe(counts{30, 20})
	if f.now.falling > 0.5 {
		t.Errorf("falling went from %.3f to %.3f over one strange session, want below a half", before.falling, f.now.falling)
	}
}

// TestHeaviestSession: more than a thousand balls weigh as a thousand.
func TestHeaviestSession(t *testing.T) {
	after := func(n counts) *filter {
		f := newFilter(Jeffreys, false)
		f.observe(n)
		return f
	}
	a, b := after(counts{maxWeight, 640}), after(counts{2 * maxWeight, 1280})
	defer a.free()
	defer b.free()
	if x, y := a.mean(&rates.p), b.mean(&rates.p); x != y || math.Abs(x-0.64) > 0.03 {
		t.Errorf("640 of a thousand say %v, twice as many %v, want the same", x, y)
	}
}

// TestAssessIsPure: the same evidence gives the same answer, whoever asks at
// the same time.
func TestAssessIsPure(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	var all []Evidence
	for i := range 16 {
		e := Evidence{Radius: 9144, Sessions: career(10+4*i, 0.01*float64(i%7-2), r), Tier: &streak.Tier{Run: 5 + i%6, Holed: i % 2, Radius: 9144}, BallsPerTest: 25}
		if i%4 == 0 {
			for j := range e.Sessions {
				moveAway(&e.Sessions[j], 15240, j%3)
			}
		}
		all = append(all, e)
	}
	ask := func() []Assessment {
		out := make([]Assessment, len(all))
		for i, e := range all {
			out[i] = Assess(e)
		}
		return out
	}
	want := ask()
	var wait sync.WaitGroup
	got := make([][]Assessment, 3)
	for i := range got {
		wait.Go(func() { got[i] = ask() })
	}
	wait.Wait()
	for _, g := range got {
		for i := range g {
			if !same(g[i], want[i]) {
				t.Fatalf("assessment %d differs: %+v and %+v", i, g[i], want[i])
			}
		}
	}
}

// moveAway judges a session elsewhere: none of its balls, all of them, or as many
// more.
func moveAway(s *Observation, radius domain.Length, how int) {
	c := Circle{Radius: radius, Balls: s.Balls, Inside: min(s.Balls, s.Inside*3/2), Holed: s.Holed}
	if how > 0 && c.Balls > 0 {
		s.Elsewhere = append(slices.Clone(s.Elsewhere), c)
	}
	if how == 1 {
		s.Balls, s.Inside, s.Holed = 0, 0, 0
	}
}
