package streak

import (
	"math"

	"fringework/domain"
)

// Rates says how often a ball is in but not holed, and how often it is holed;
// otherwise it is out. Balls are taken to be independent.
type Rates struct{ In, Holed float64 }

// Inside is the chance that a ball lengthens a run.
func (r Rates) Inside() float64 { return r.In + r.Holed }

// rounding is the largest sum over 1, or chance of an out ball, that is taken
// for the rounding of two decimals that sum to 1.
const rounding = 0x1p-51

// Check notes what is wrong with the rates in p, at the members "in" and
// "holed" of the object at the JSON pointer at.
func (r Rates) Check(p *domain.Problems, at string) {
	ok := true
	check := func(name string, v float64) {
		if !(v >= 0 && v <= 1) {
			p.Add(at+"/"+name, "is %v; give a rate from 0 to 1", v)
			ok = false
		}
	}
	check("in", r.In)
	check("holed", r.Holed)
	if ok && r.Inside() > 1+rounding {
		p.Add(at, "in and holed sum to %v; give rates that sum to 1 at most, in being those inside and not holed", r.Inside())
	}
}

// Odds computes what a tier takes at given rates. Its zero value is ready for
// Prepare; one value may be prepared again and again and allocates nothing. It
// must not be used by two goroutines at once.
//
// The state of play is the joint one (length of the current run, holed in it);
// the tier is passed as [Tier.MeetsIn] says. Two facts make it cheap. An out
// ball always leads to the same state, so that all runs begun by one are alike;
// and a run that has its length only waits for holed balls. What a run begun at
// one ball brings Run balls later is therefore a fixed vector, and a ball costs
// Holed + 1 additions instead of a pass over all states.
//
// Every sum has terms of one sign, so that small probabilities keep their
// relative accuracy, and the chance that is left is 1 minus the chance done.
//
// Source: W. Feller, An Introduction to Probability Theory and Its
// Applications, vol. 1, 3rd ed., XIII.7 (renewal argument for runs); J. C. Fu
// and M. V. Koutras, J. Amer. Stat. Assoc. 89 (1994) 1050-1058 (embedding of
// runs in a Markov chain).
type Odds struct {
	run, holed int
	// in + hole + miss = 1, inside = in + hole.
	in, hole, miss, inside float64
	fresh                  arrival // of a run begun after an out ball
	first                  arrival // of the run that stood at the start
	firstAt                int     // when that one arrives; -1 when it has its length
	walk
}

// arrival is what becomes of a run by the ball that completes its length, if
// no ball before it was out.
type arrival struct {
	// done is the chance that it then holds enough holed balls.
	done float64
	// short[k] is the chance that it holds k, too few.
	short [MaxRun + 1]float64
}

// walk is where the computation stands after t balls.
type walk struct {
	t     int
	done  float64 // chance that the tier is passed by now
	carry float64 // what rounding kept out of done (Kahan's summation)
	left  float64 // 1 - done
	last  float64 // chance that ball t passed it
	prior float64 // left before ball t
	// waiting[k] is the chance that the current run has its length and holds
	// k holed balls, too few.
	waiting [MaxRun + 1]float64
	// ring holds left for the last run+1 times; slot is that of t.
	ring [MaxRun + 1]float64
	slot int
}

// Prepare sets the tier, whose radius does not matter, and the rates. Both are
// taken to satisfy their Check.
func (o *Odds) Prepare(t Tier, r Rates) {
	miss := (1 - r.In) - r.Holed
	if miss < rounding {
		miss = 0
	}
	o.prepare(t, r.In, r.Holed, miss)
}

func (o *Odds) prepare(t Tier, in, hole, miss float64) {
	o.run, o.holed = t.Run, t.Holed
	o.in, o.hole, o.miss, o.inside = in, hole, miss, in+hole
	o.arrive(&o.fresh, t.Run, 0)
}

// arrive follows a run that has held holed balls so far through a number of
// balls none of which is out.
func (o *Odds) arrive(a *arrival, balls, holed int) {
	m := o.holed
	w := &a.short
	clear(w[:m+1])
	w[min(holed, m)] = 1 // w[m] is "enough" on the way
	for range balls {
		w[m] *= o.inside
		for k := m; k > 0; k-- {
			w[k] += o.hole * w[k-1]
			w[k-1] *= o.in
		}
	}
	a.done, w[m] = w[m], 0
}

// begin puts the walk at the start, with the current run from.
func (o *Odds) begin(from Run) {
	o.t, o.done, o.carry, o.last, o.slot = 0, 0, 0, 0, 0
	o.left, o.prior = 1, 1
	clear(o.waiting[:o.holed+1])
	clear(o.ring[:o.run+1])
	o.ring[0] = 1
	if from.Length >= o.run {
		o.firstAt = -1
		o.waiting[min(from.Holed, o.holed)] = 1
		return
	}
	o.firstAt = o.run - from.Length
	o.arrive(&o.first, o.firstAt, from.Holed)
}

// step strikes a ball.
func (o *Odds) step() {
	o.t++
	// The slot still holds what was left before the ball that an arriving run
	// was begun after.
	if o.slot++; o.slot > o.run {
		o.slot = 0
	}
	begun := o.miss * o.ring[o.slot]
	got := begun * o.fresh.done
	if m := o.holed; m > 0 {
		w, short := o.waiting[:m], o.fresh.short[:m]
		got += o.hole * w[m-1]
		for k := m - 1; k > 0; k-- {
			w[k] = o.in*w[k] + o.hole*w[k-1] + begun*short[k]
		}
		w[0] = o.in*w[0] + begun*short[0]
	}
	if o.t == o.firstAt {
		got += o.first.done
		for k := range o.holed {
			o.waiting[k] += o.first.short[k]
		}
	}
	o.prior, o.last = o.left, got
	y := got - o.carry
	sum := o.done + y
	o.carry = (sum - o.done) - y
	o.done = sum
	o.left = max(0, 1-sum)
	o.ring[o.slot] = o.left
}

// Within is the probability, from 0 to 1, that the tier is passed within a
// number of further balls, when the current run is from. Its relative error is
// below 1e-12.
func (o *Odds) Within(from Run, balls int) float64 {
	if o.passed(from) {
		return 1
	}
	if balls < o.run-from.Length {
		return 0
	}
	o.begin(from)
	if !o.proceed(balls, math.Inf(1)) {
		return min(1, o.done)
	}
	// Settled: what is left decays by the same factor with every ball.
	further := float64(balls - o.t)
	return min(1, o.done-o.left*math.Expm1(-further*math.Log1p(o.decay())))
}

func (o *Odds) passed(from Run) bool { return from.Length >= o.run && from.Holed >= o.holed }
