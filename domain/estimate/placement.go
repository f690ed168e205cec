package estimate

import (
	"fringework/domain"
	"fringework/domain/streak"
)

// Test is a test of a fixed number of balls, struck on one day from one spot before
// anything else: what a student can do at a skill as they come to it.
type Test struct {
	Circle
	// Measured are those of the balls whose leave was measured, in every circle that
	// they tell of, the test's own among them; empty when fewer than two do.
	Measured []Circle
}

func (t Test) observation() Observation {
	return Observation{Balls: t.Balls, Inside: t.Inside, Holed: t.Holed, Measured: t.Measured}
}

// levels is what the test says of the level: the day's form, of some kinds, is not the
// student's own, so that twenty balls say less than twenty coin tosses.
func (t Test) levels(prior Prior, kinds FormKinds) (weights [points]float64) {
	prior = prior.orJeffreys()
	weights = betaLevels(Rate{A: prior.A, B: prior.B})
	seen := kinds.mixed(counts{t.Balls, t.Inside}.likelihood(new(byForm)))
	for i := range weights {
		weights[i] *= float64(seen[i])
	}
	normalised(weights[:])
	return weights
}

// SessionRate is the rate that sessions after the test may have, in the test's circle.
// Leaves that were measured say how the balls scatter, and so what the rate is in
// other circles. The zero prior is Jeffreys'.
func (t Test) SessionRate(prior Prior) SessionRate {
	w := watch{Evidence: Evidence{Radius: t.Radius}, sessions: []Observation{t.observation()}}
	r := spread(t.levels(prior, usualForm), usualForm, w.holedShare())
	if len(t.Measured) > 0 {
		r.shapes = shapeWeights(w.sessions, t.Radius)
	}
	return r
}

// Where a student begins. A step suits when it is likely to be passed within
// PlacedWithin sessions: by the odds that average over what the test leaves open, and
// still by as good as even ones at the lower end of the rate's 80 % interval, so that
// a lucky test places nobody where an ordinary day does not reach. Both limits were
// set on the population StartsSetting of package learners.
const (
	PlacedWithin = 3
	soonEnough   = 0.85
	carries      = 0.5
	// shortestLead is the fewest in a row that a student is let begin with.
	shortestLead = 3
)

// Placing says which steps suit a student after a first test.
//
// # What it is worth
//
// Students were drawn of four bands of the rate in the first test's circle, with balls
// that are struck one by one: 2,000 of each band of each population PublishedStarts of
// package learners, which were drawn once, when the limits stood, and whose days differ
// by another law than those of StartsSetting. By "go run ./integration/learners -tests
// 2000", in per cent of them:
//
//	              passed within three sessions   too high  too low   later  easier  nearer  not carried
//	                  placed   first step
//	steady   15-30 %    89.8     20.6                3.6      0.0     0.2    98.4    22.9      7.1
//	steady   30-50 %    94.7     59.6                2.2      1.1     2.8    81.5     2.3      0.5
//	steady   50-70 %    94.9     93.3                2.3      7.9    25.0    38.9     0.0      0.0
//	steady   70-85 %    95.4     99.8                1.5     15.7    67.7     7.7     0.0      0.0
//	varied   15-30 %    92.3     14.7                3.3      0.0     0.2    99.0    32.1     10.6
//	varied   30-50 %    93.2     44.0                3.0      1.8     1.7    87.5     4.0      0.9
//	varied   50-70 %    94.6     77.9                2.6      8.6    12.6    63.0     0.2      0.0
//	varied   70-85 %    94.8     96.1                3.1     19.0    37.5    30.3     0.0      0.0
//	rough    15-30 %    88.1      5.9                9.3      0.0     0.1    99.6    29.8      9.9
//	rough    30-50 %    89.4     28.1                8.5      0.0     1.0    94.8     7.0      1.4
//	rough    50-70 %    88.4     65.1               10.0      2.0     7.3    75.3     1.3      0.2
//	rough    70-85 %    88.1     90.2                8.5     12.3    26.0    45.8     0.4      0.1
//
// "First step" would have passed the ladder's first within three sessions. Too high is a
// step that is passed within three sessions with less than even odds at the true rate;
// too low one that is passed in nineteen of twenty sessions while a harder one of the
// ladder is as good as sure within three. Later, easier and nearer say how many began
// with a later step, with one before the first, and from nearer. Not carried are those
// for whom nothing suited, who are told so and begin with the easiest; nobody else was
// placed above what the test carries.
type Placing struct {
	rate   SessionRate
	circle domain.Length
	low    int // the cell of the lower end of the level's 80 % interval
	blocks []int
}

// PlacingOf rests on a test. blocks are the balls of each block of a session that
// counts for the ladder.
func PlacingOf(t Test, prior Prior, blocks ...int) Placing {
	p := Placing{rate: t.SessionRate(prior), circle: t.Radius, blocks: blocks}
	below := 0.0
	for c, w := range p.rate.levels {
		if below += w; below >= 0.1 {
			p.low = c
			break
		}
	}
	return p
}

// Odds are the chances, from 0 to 1, of passing a step within PlacedWithin sessions.
type Odds struct {
	// Soon averages over all that is not known, and Low is at the lower end of the
	// rate's 80 % interval.
	Soon, Low float64
}

// Suit says whether a student may begin with a step of such odds.
func (o Odds) Suit() bool { return o.Soon >= soonEnough && o.Low >= carries }

// Odds are those of a step from the part of the test's distance, in per cent. It is
// taken that balls scatter in proportion to the distance, our assumption, so that the
// circle is as if it were wider by as much.
func (p Placing) Odds(t streak.Tier, part int) (o Odds) {
	scale := t.Radius.Metres() / p.circle.Metres() * 100 / float64(part)
	chances := p.rate.byLevel(t, scale, PlacedWithin, p.blocks)
	for c, w := range p.rate.levels {
		o.Soon += w * chances[c]
	}
	o.Low = chances[p.low]
	return o
}

// Inside is the share of the balls, from 0 to 1, that is expected inside a circle from
// the test's distance.
func (p Placing) Inside(circle domain.Length) float64 {
	return p.rate.Inside(circle.Metres() / p.circle.Metres())
}

// Room is how a first step may be made easier.
type Room struct {
	// Round is what circles are whole multiples of.
	Round domain.Length
	// Widest is the widest circle from a part of the shot's distance, in per cent.
	Widest func(part int) domain.Length
	// Nearest is the least part of its distance, in per cent, that the shot may be
	// played from; 100 when it may not come nearer.
	Nearest int
}

// Start is the step to begin with.
type Start struct {
	Tier streak.Tier
	// Step is its place in the ladder, from 0, or -1 for one that is put before the
	// first.
	Step int
	// Part is the part of the distance to play it from, in per cent.
	Part int
	Odds
}

// Start proposes the step to begin with: the hardest of the ladder that suits, or
// else, before the first, fewer in a row; the same or fewer in the narrowest wider
// circle; or any of these from the farthest nearer place. ok is false when none of them
// suits, and the start is then the easiest of them.
func (p Placing) Start(ladder []streak.Tier, r Room) (s Start, ok bool) {
	first := p.at(ladder[0], 0, 100)
	if first.Suit() {
		for i := len(ladder) - 1; i > 0; i-- {
			if s = p.at(ladder[i], i, 100); s.Suit() {
				return s, true
			}
		}
		return first, true
	}
	for part := 100; part >= r.Nearest; part -= nearerBy {
		if s, ok = p.lead(ladder[0], r, part); ok {
			return s, true
		}
	}
	return s, false
}

// nearerBy is the steps in which a shot comes nearer, in per cent of its distance.
const nearerBy = 10

// lead looks for a step that suits from a part of the distance: the first itself, or
// one before it in its circle, or else in the narrowest wider one.
func (p Placing) lead(first streak.Tier, r Room, part int) (s Start, ok bool) {
	if s = p.at(first, 0, part); s.Suit() {
		return s, true
	}
	for circle := first.Radius; circle == first.Radius || circle <= r.Widest(part); circle = (circle/r.Round + 1) * r.Round {
		for _, t := range before(first, circle) {
			if s = p.at(t, -1, part); s.Suit() {
				return s, true
			}
		}
	}
	return s, false
}

func (p Placing) at(t streak.Tier, step, part int) Start {
	return Start{Tier: t, Step: step, Part: part, Odds: p.Odds(t, part)}
}

// before lists steps in a circle before the first, from the hardest: with as many in a
// row or fewer, and then with none holed.
func before(first streak.Tier, circle domain.Length) (steps []streak.Tier) {
	holed := []int{first.Holed}
	if first.Holed > 0 {
		holed = append(holed, 0)
	}
	for _, h := range holed {
		for run := first.Run; run >= min(first.Run, max(shortestLead, h)); run-- {
			if t := (streak.Tier{Run: run, Radius: circle, Holed: h}); t != first {
				steps = append(steps, t)
			}
		}
	}
	return steps
}
