package estimate

import (
	"math"
	"math/rand/v2"
	"sync"
	"testing"

	"fringework/domain/streak"
)

// particle is one simulated student of the model, for checking the filter by
// importance sampling: an independent method that knows no grid.
type particle struct {
	level, pace float64
	way         int // -1 falls, 0 never rose, 1 rises, 2 levelled off
	weight      float64
}

func pick(ws []way, r *rand.Rand) float64 {
	u := r.Float64()
	for _, w := range ws {
		if u -= w.weight; u < 0 {
			return float64(w.steps) * fine
		}
	}
	return float64(ws[len(ws)-1].steps) * fine
}

func (p *particle) begin(r *rand.Rand) {
	// Jeffreys' prior is the arc-sine law.
	s := math.Sin(math.Pi * r.Float64() / 2)
	p.level = logit(math.Min(math.Max(s*s, 1e-9), 1-1e-9))
	switch u := r.Float64(); {
	case u < startRising:
		p.way, p.pace = 1, pick(risingWays, r)
	case u < startRising+startFalling:
		p.way, p.pace = -1, pick(fallingWays, r)
	}
	p.weight = 1
}

func (p *particle) advance(r *rand.Rand) {
	rise := func() { p.way, p.pace = 1, pick(risingWays, r) }
	fall := func() { p.way, p.pace = -1, pick(fallingWays, r) }
	u := r.Float64()
	switch p.way {
	case 0, 2:
		if u < startsToRise {
			rise()
		} else if u < startsToRise+startsToFall {
			fall()
		}
	case 1:
		if u < levelsOff {
			p.way, p.pace = 2, 0
		} else if u < levelsOff+turnsAround {
			fall()
		}
	case -1:
		if u < stopsFalling {
			p.way, p.pace = 0, 0
		} else if u < stopsFalling+turnsAround {
			rise()
		}
	}
	p.level += p.pace
}

func form(r *rand.Rand) float64 {
	u := r.Float64()
	for _, f := range forms {
		if u -= f.weight; u < 0 {
			return f.sd * r.NormFloat64()
		}
	}
	return 0
}

// TestFilterAgainstSimulation compares the filter and the forecast with
// particles of the same model: simulated levels, weighted by the binomial
// probability of what was seen, then played on with the exact odds.
func TestFilterAgainstSimulation(t *testing.T) {
	seen := [][2]int{{30, 14}, {22, 12}, {35, 19}, {28, 17}, {30, 17}, {25, 17}}
	tier := streak.Tier{Run: 7}
	const n, test = 300_000, 20
	f := newFilter(Jeffreys)
	defer f.free()
	for _, s := range seen {
		f.observe(s[0], s[1])
	}
	forecast := f.forecast(chanceOf(tier, 0, test), 2)

	// Odds on a fine grid of rates, so that the simulation needs no table.
	odds := make([]float64, 2001)
	for i := range odds {
		odds[i] = streak.Within(tier, streak.Rates{In: float64(i) / 2000}, test)
	}
	r := rand.New(rand.NewPCG(3, 4))
	var total, squares, rising, flat, level, mean float64
	left := make([]float64, 9)
	for range n {
		var p particle
		p.begin(r)
		for i, s := range seen {
			if i > 0 {
				p.advance(r)
			}
			x := p.level + form(r)
			y, m := float64(s[1]), float64(s[0]-s[1])
			best := y*math.Log(y/(y+m)) + m*math.Log(m/(y+m))
			p.weight *= math.Exp(y*logLogistic(x) + m*logLogistic(-x) - best)
		}
		w := p.weight
		total += w
		squares += w * w
		mean += w * logistic(p.level)
		switch p.way {
		case 0:
			flat += w
		case 1:
			rising += w
		case 2:
			level += w
		}
		for k := range left {
			left[k] += w
			if k > 0 && k <= len(seen) || k == 0 {
				p.advance(r)
			}
			u := logistic(p.level+form(r)) * 2000
			i := min(int(u), 1999)
			w *= 1 - (odds[i]*(1-(u-float64(i))) + odds[i+1]*(u-float64(i)))
		}
	}
	size := total * total / squares // effective number of particles
	tolerance := 4 * 0.5 / math.Sqrt(size)
	if tolerance > 0.03 {
		t.Fatalf("only %.0f effective particles", size)
	}
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > tolerance {
			t.Errorf("%s = %.4f, by simulation %.4f ± %.4f", what, got, want, tolerance)
		}
	}
	near("rising", f.now.rising, rising/total)
	near("never rose", f.now.neverRose, flat/total)
	near("levelled", f.now.levelled, level/total)
	rates := new(table)
	for phase := range finePerCell {
		for c := range cells {
			rates[phase][c] = float32(logistic(levelAt(c, phase)))
		}
	}
	near("mean rate", f.mean(rates), mean/total)
	near("next session", forecast.NextSession/(1-unforeseen), 1-left[1]/total)
	near("within 4", forecast.Within[0]/(1-unforeseen), 1-left[4]/total)
	near("within 8", forecast.Within[1]/(1-unforeseen), 1-left[8]/total)
}

// TestFilterIsSound feeds extremes: probabilities stay probabilities.
func TestFilterIsSound(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for range 200 {
		f := newFilter(Prior{0.01 + 3*r.Float64(), 0.01 + 3*r.Float64()})
		for range 120 {
			balls := 1 + r.IntN(60)
			if r.IntN(10) == 0 {
				balls = 1 + r.IntN(MaxBalls)
			}
			inside := r.IntN(balls + 1)
			if r.IntN(3) == 0 {
				inside = balls * r.IntN(2)
			}
			f.observe(balls, inside)
			sum := f.now.rising + f.now.falling + f.now.neverRose + f.now.levelled
			if !(math.Abs(sum-1) < 1e-9) || f.lo < 0 || f.hi > cells || f.lo >= f.hi {
				t.Fatalf("probabilities %+v, cells %d to %d", f.now, f.lo, f.hi)
			}
		}
		f.free()
	}
}

// TestStrangeSessionDecidesNothing: one session that has nothing to do with
// the level moves the odds by no more than its bound.
func TestStrangeSessionDecidesNothing(t *testing.T) {
	f := newFilter(Jeffreys)
	defer f.free()
	for range 12 {
		f.observe(30, 20)
	}
	before := f.now
	f.observe(500, 5)
	f.observe(30, 20)
	f.observe(30, 20)
	if f.now.falling > 0.5 {
		t.Errorf("falling went from %.3f to %.3f over one strange session, want below a half", before.falling, f.now.falling)
	}
}

// TestAssessIsPure: the same evidence gives the same answer, whoever asks at
// the same time.
func TestAssessIsPure(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	var all []Evidence
	for i := range 20 {
		e := Evidence{Sessions: career(10+4*i, 0.01*float64(i%7-2), r), Tier: &streak.Tier{Run: 5 + i%6, Holed: i % 2, Radius: 9144}, BallsPerTest: 25}
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
	got := make([][]Assessment, 4)
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
