package course

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/greenside"
)

// Share is how often the student got up and down.
type Share struct {
	Tally
	// Rate is Saved of Chances with its uncertainty; see estimate.RateOf. It means
	// nothing without a chance.
	Rate estimate.Rate
}

// Plain is Saved over Chances, 0 without a chance: what happened, where Rate is what is
// to be expected.
func (s Share) Plain() float64 { return float64(s.Saved) / math.Max(1, float64(s.Chances)) }

// UpAndDown gives the rate of a tally: the posterior of a binomial proportion
// under Jeffreys' prior (Brown, Cai & DasGupta 2001), which a simulation in the
// tests holds to its coverage with the form of the day in it.
func UpAndDown(t Tally) Share {
	return Share{t, estimate.RateOf([]estimate.Observation{{Balls: t.Chances, Inside: t.Saved}}, 0, estimate.Prior{})}
}

// Band is a range of distances to the hole, From included and To not.
type Band struct{ From, To domain.Length }

// Bands cuts the distances around the green, in whole tens of yards.
func Bands() []Band {
	bounds := []domain.Length{0, 10 * domain.Yard, 20 * domain.Yard, 30 * domain.Yard, MaxDistance + 1}
	var all []Band
	for i := range bounds[1:] {
		all = append(all, Band{bounds[i], bounds[i+1]})
	}
	return all
}

// Proximity is how close the shots from one lie and some distances stopped.
type Proximity struct {
	Lie Lie
	Band
	Shots int
	Holed int
	// Median is of the distances left, a holed one counting as 0.
	Median domain.Length
	// Low to High holds the median of all such shots in at least 80 % of cases,
	// whatever their distribution; Told is false below 4 shots, of which the
	// extremes cannot promise that.
	Low, High domain.Length
	Told      bool
}

// Near gives the proximity by lie and distance, without those that have no shot.
func Near(rounds []Round) []Proximity {
	var all []Proximity
	for _, lie := range greenside.StruckLies() {
		for _, band := range Bands() {
			if p := near(rounds, lie, band); p.Shots > 0 {
				all = append(all, p)
			}
		}
	}
	return all
}

func near(rounds []Round, lie Lie, band Band) Proximity {
	p := Proximity{Lie: lie, Band: band}
	var left []domain.Length
	for _, r := range rounds {
		for _, s := range r.Shots {
			if s.Lie == lie && s.Distance >= band.From && s.Distance < band.To {
				left = append(left, s.Left)
				if s.Holed {
					p.Holed++
				}
			}
		}
	}
	if p.Shots = len(left); p.Shots == 0 {
		return p
	}
	slices.Sort(left)
	p.Median = (left[(len(left)-1)/2] + left[len(left)/2]) / 2
	if k := signTest(len(left)); k > 0 {
		p.Low, p.High, p.Told = left[k-1], left[len(left)-k], true
	}
	return p
}

// signTest gives the largest k for which the kth smallest and the kth largest of
// n values hold the median between them with a probability of at least 80 %; 0
// when no two do. Each value is below the median with probability ½ (David &
// Nagaraja, Order Statistics, 7.1).
func signTest(n int) int {
	below := distuv.Binomial{N: float64(n), P: 0.5}
	k := 0
	for 2*below.CDF(float64(k)) <= 0.2 {
		k++
	}
	return k
}

// Baseline is what strokes gained are counted against.
type Baseline struct {
	// Whose play it is, in a word or two for a sentence, and Name with where it was
	// published.
	Whose string
	Name  string
	// Expected gives how many strokes a ball at a lie and a distance takes to hole
	// out on average; ok is false where nothing is published.
	Expected func(lie Lie, distance domain.Length) (strokes float64, ok bool)
}

// Gained gives the strokes gained by one shot: what was expected before it, less
// itself and what is expected after it (Broadie 2008). ok is false where the
// baseline says nothing.
func (b Baseline) Gained(s Shot) (strokes float64, ok bool) {
	before, ok := b.Expected(s.Lie, s.Distance)
	if !ok {
		return 0, false
	}
	after := 0.0
	if !s.Holed {
		after, ok = b.Expected(s.LeftLie, s.Left)
	}
	return before - 1 - after, ok
}

// Sum is the strokes gained of some shots of one round.
type Sum struct {
	Shots  int
	Gained float64
}

// Of sums up a round.
func (b Baseline) Of(r Round) (sum Sum) {
	return b.sum(r, func(Lie) float64 { return 0 })
}

// sum sums up a round, each shot less a level at its lie.
func (b Baseline) sum(r Round, level func(Lie) float64) (sum Sum) {
	for _, s := range r.Shots {
		if g, ok := b.Gained(s); ok {
			sum.Shots++
			sum.Gained += g - level(s.Lie)
		}
	}
	return sum
}

// leastRounds is how many rounds an interval of strokes gained rests on at least.
const leastRounds = 3

// Level is the strokes gained a shot over some rounds.
type Level struct {
	Rounds  int
	Shots   int
	PerShot float64
	// ARound is how many shots a round is reckoned to have.
	ARound int
	// Interval80 is of the level behind it; Told is false below three rounds.
	Interval80 estimate.Interval
	Told       bool

	variance float64
	df       float64
}

// PerRound is the strokes gained in a round of ARound shots around the green.
func (l Level) PerRound() float64 { return l.PerShot * float64(l.ARound) }

// aRound is how many shots a round has, to the whole shot, so that a reader can check
// what is said a round; 1 at least.
func aRound(shots, rounds int) int {
	return max(1, int(math.Round(float64(shots)/math.Max(1, float64(rounds)))))
}

// LevelOf gives the level of rounds. Shots of one round share its form, so the
// uncertainty is that of a ratio over rounds, not over shots (Cochran, Sampling
// Techniques, 6.3), with Student's distribution. Rounds without a shot that counts
// are left out.
func LevelOf(sums []Sum) Level {
	l := Level{ARound: 1}
	total := 0.0
	for _, s := range sums {
		if s.Shots > 0 {
			l.Rounds++
			l.Shots += s.Shots
			total += s.Gained
		}
	}
	if l.Shots == 0 {
		return l
	}
	l.PerShot, l.ARound = total/float64(l.Shots), aRound(l.Shots, l.Rounds)
	if l.Rounds < leastRounds {
		return l
	}
	square := 0.0
	for _, s := range sums {
		d := s.Gained - l.PerShot*float64(s.Shots)
		square += d * d
	}
	n := float64(l.Rounds)
	l.variance, l.df = n/(n-1)*square/(float64(l.Shots)*float64(l.Shots)), n-1
	l.Interval80, l.Told = around(l.PerShot, math.Sqrt(l.variance), l.df, 0.9), true
	return l
}

// around gives the interval whose upper end is the quantile q of Student's
// distribution.
func around(mean, se, df, q float64) estimate.Interval {
	half := se * distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.Quantile(q)
	return estimate.Interval{Lo: mean - half, Hi: mean + half}
}

// Verdict is what rounds say of a change.
type Verdict string

// The verdicts.
const (
	Better     Verdict = "better"
	Worse      Verdict = "worse"
	CannotTell Verdict = "cannot_tell"
)

// Verdicts lists them.
func Verdicts() []Verdict { return []Verdict{Better, Worse, CannotTell} }

// Change is the strokes gained in some rounds against earlier ones of the same
// student.
type Change struct {
	// Before and After are against the baseline, and reckoned with rounds of equally
	// many shots: as many as all these rounds have. Before is as it would have been from
	// the lies played after, so that After less Before is the change.
	Before, After Level
	// PerShot is how many strokes a shot saved more than before from the same lies.
	// Interval80 and the verdict mean something when Told.
	PerShot    float64
	Interval80 estimate.Interval
	Told       bool
	Verdict    Verdict
}

// PerRound is the change in a round with as many shots as those of Before and After.
func (c Change) PerRound() float64 { return c.PerShot * float64(c.After.ARound) }

// sure is the quantile that a verdict asks for: of 40 students whose game has not
// changed, one is told better and one worse.
const sure = 0.975

// Compare gives the strokes gained of later rounds against the student's own
// earlier play: each shot against what the student earlier gained from its lie,
// so that a round with more bunkers is not a worse one. The uncertainty is that
// of both, with the degrees of freedom of Welch (1947).
func (b Baseline) Compare(before, after []Round) Change {
	c := Change{Before: LevelOf(b.sums(before, nil)), After: LevelOf(b.sums(after, nil)), Verdict: CannotTell}
	n := aRound(c.Before.Shots+c.After.Shots, c.Before.Rounds+c.After.Rounds)
	c.Before.ARound, c.After.ARound = n, n
	own := b.own(before, c.Before.PerShot)
	x, y := LevelOf(b.sums(before, own)), LevelOf(b.sums(after, own))
	if x.Shots > 0 && y.Shots > 0 {
		c.PerShot = y.PerShot - x.PerShot
		c.Before.PerShot = c.After.PerShot - c.PerShot
		more := c.Before.PerShot - x.PerShot
		c.Before.Interval80 = estimate.Interval{Lo: x.Interval80.Lo + more, Hi: x.Interval80.Hi + more}
	}
	variance := x.variance + y.variance
	if !x.Told || !y.Told || variance == 0 {
		return c
	}
	df := variance * variance / (x.variance*x.variance/x.df + y.variance*y.variance/y.df)
	c.Interval80, c.Told = around(c.PerShot, math.Sqrt(variance), df, 0.9), true
	switch i := around(c.PerShot, math.Sqrt(variance), df, sure); {
	case i.Lo > 0:
		c.Verdict = Better
	case i.Hi < 0:
		c.Verdict = Worse
	}
	return c
}

// sums sums up rounds, less a level at each lie if there is one.
func (b Baseline) sums(rounds []Round, level func(Lie) float64) []Sum {
	all := make([]Sum, len(rounds))
	for i, r := range rounds {
		if level == nil {
			all[i] = b.Of(r)
		} else {
			all[i] = b.sum(r, level)
		}
	}
	return all
}

// ownShots is how many shots from a lie count as much as those from all lies for
// what a student gains from it (our choice).
const ownShots = 4

// own gives what a student gained a shot from each lie in some rounds, drawn
// toward the level of all where there are few.
func (b Baseline) own(rounds []Round, all float64) func(Lie) float64 {
	shots, gained := map[Lie]float64{}, map[Lie]float64{}
	for _, r := range rounds {
		for _, s := range r.Shots {
			if g, ok := b.Gained(s); ok {
				shots[s.Lie]++
				gained[s.Lie] += g
			}
		}
	}
	return func(lie Lie) float64 { return (gained[lie] + ownShots*all) / (shots[lie] + ownShots) }
}

// Recent cuts rounds, latest first, into those that say how the student plays now
// and those before: the latest five, or fewer so that as many are earlier.
func Recent(rounds []Round) (earlier, recent []Round) {
	const most = 5
	n := min(most, len(rounds)/2)
	return rounds[n:], rounds[:n]
}

// Latest sorts rounds, the latest first.
func Latest(rounds []Round) {
	slices.SortFunc(rounds, func(a, b Round) int {
		return cmp.Or(b.PlayedAt.Compare(a.PlayedAt), cmp.Compare(b.ID, a.ID))
	})
}
