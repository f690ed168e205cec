package learners

import (
	"cmp"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"

	"fringework/domain/estimate"
)

// Gains says what students who are tested first and at the end are drawn from. Ranges
// are uniform.
type Gains struct {
	Name string
	// Form, Widths and Heavy are those of Starts.
	Form   [2]float64
	Widths bool
	Heavy  bool
	// Gain is what the level rises by from the first to the end test, in logits, for a
	// share Some of the students; the others gain nothing. A share Worse of those who
	// gain lose as much instead.
	Gain        [2]float64
	Some, Worse float64
	// Cold is how much lower the level is in either test than after a warm-up, in
	// logits, which is the same in both, but for a share Warmed of the students, who
	// come warm to the end test.
	Cold   [2]float64
	Warmed float64
	// Scatters are the shapes that the balls scatter in.
	Scatters []Scatter
}

// GainsSetting is the population that what [estimate.ChangeOf] holds of a gain was set
// on.
var GainsSetting = Gains{
	Name: "setting", Form: [2]float64{0.08, 0.32}, Gain: [2]float64{0.2, 1.4}, Some: 0.6, Worse: 0.1, Cold: [2]float64{0, 0.2}, Scatters: Scatters[:3],
}

// PublishedGains were drawn when it stood, by a form of another law: what differs from
// day to day is how wide the balls scatter.
var PublishedGains = []Gains{
	{Name: "nobody gains", Form: [2]float64{0.05, 0.15}, Widths: true, Heavy: true, Scatters: Scatters},
	{Name: "half gain", Form: [2]float64{0.05, 0.15}, Widths: true, Heavy: true, Gain: [2]float64{0.3, 1.2}, Some: 0.5, Scatters: Scatters},
	{Name: "all gain", Form: [2]float64{0.03, 0.12}, Widths: true, Gain: [2]float64{0.2, 1.0}, Some: 1, Cold: [2]float64{0, 0.3}, Scatters: Scatters[1:]},
	{Name: "some fall back", Form: [2]float64{0.08, 0.20}, Widths: true, Heavy: true, Gain: [2]float64{0.2, 1.0}, Some: 0.8, Worse: 0.3, Scatters: Scatters[:4]},
	{Name: "uneven days", Form: [2]float64{0.20, 0.35}, Widths: true, Heavy: true, Gain: [2]float64{0.2, 1.2}, Some: 0.7, Worse: 0.1, Scatters: Scatters[2:]},
	{Name: "half come warm", Form: [2]float64{0.05, 0.15}, Widths: true, Heavy: true, Gain: [2]float64{0.3, 1.2}, Some: 0.5, Cold: [2]float64{0.3, 0.5}, Warmed: 0.5, Scatters: Scatters},
}

// Changed is how the changes of some students were told, in per cent of them or, where
// a change is meant, in percentage points of the rate.
type Changed struct {
	N int
	// Covered is how often the interval held the true change, Bias the mean of what is
	// told minus the truth, and Naive the same of the difference of the two shares.
	Covered, Bias, Naive float64
	// Width is the mean width of the interval.
	Width float64
}

// told is one student's change.
type told struct {
	estimate.Change
	true, naive, first float64
}

func summed(all []told) (c Changed) {
	per := 100 / float64(len(all))
	c.N = len(all)
	for _, x := range all {
		c.Covered += per * one(x.Interval80.Lo <= x.true && x.true <= x.Interval80.Hi)
		c.Bias += per * (x.Mean - x.true)
		c.Naive += per * (x.naive - x.true)
		c.Width += per * (x.Interval80.Hi - x.Interval80.Lo)
	}
	return c
}

// Test tests n students twice. Of all, of the quarter whose first test was worst, and
// of the quarter who did so much better at the end that somebody would choose to quote
// them, it says what was told.
func (g Gains) Test(n int, seed uint64) (all, worst, quoted Changed) {
	r := rand.New(rand.NewPCG(seed, 6))
	known := make([][]float64, len(g.Scatters))
	for i, s := range g.Scatters {
		known[i] = s.distances(r)
	}
	drawn := make([]told, n)
	for k := range drawn {
		i := r.IntN(len(g.Scatters))
		s := &starter{
			Starts:  Starts{Widths: g.Widths, Heavy: g.Heavy},
			scatter: g.Scatters[i], distances: known[i], level: logit(between([2]float64{0.15, 0.85}, r)), form: between(g.Form, r), r: r,
		}
		if r.Float64() < g.Some {
			s.gain = between(g.Gain, r)
			if r.Float64() < g.Worse {
				s.gain = -s.gain
			}
		}
		cold := between(g.Cold, r)
		warmer := cold * one(r.Float64() < g.Warmed)
		first, end := s.twenty(0, cold), s.twenty(1, cold-warmer)
		drawn[k] = told{
			Change: estimate.ChangeOf(first, end, estimate.FormKinds{}),
			true:   logistic(s.level+s.gain-cold) - logistic(s.level-cold),
			naive:  float64(end.Inside-first.Inside) / PlacementTest,
			first:  float64(first.Inside) / PlacementTest,
		}
	}
	all = summed(drawn)
	slices.SortFunc(drawn, func(a, b told) int { return cmp.Compare(a.first, b.first) })
	worst = summed(drawn[:n/4])
	slices.SortFunc(drawn, func(a, b told) int { return cmp.Compare(b.naive, a.naive) })
	return all, worst, summed(drawn[:n/4])
}

// twenty strikes a test on the day of a first test, 0, or of an end test, 1.
func (s *starter) twenty(day int, cold float64) estimate.Test {
	width := s.day(day, cold)
	t := estimate.Test{Circle: estimate.Circle{Radius: feet(4), Balls: PlacementTest}}
	for range t.Balls {
		t.Inside += int(one(s.scatter.strike(width, s.r) <= startCircle))
	}
	return t
}

// GainsTable is what n students of each population were told.
func GainsTable(populations []Gains, n int, seed uint64) string {
	var b strings.Builder
	fmt.Fprintln(&b, "                 all                             worst first quarter      most gained quarter")
	fmt.Fprintln(&b, "                 covered   bias  naive  width    covered   bias  naive    covered   bias  naive")
	for _, p := range populations {
		seed++
		all, worst, quoted := p.Test(n, seed)
		fmt.Fprintf(&b, "%-15s  %6.1f  %+5.1f  %+5.1f  %5.1f    %6.1f  %+5.1f  %+5.1f    %6.1f  %+5.1f  %+5.1f\n",
			p.Name, all.Covered, all.Bias, all.Naive, all.Width, worst.Covered, worst.Bias, worst.Naive, quoted.Covered, quoted.Bias, quoted.Naive)
	}
	return b.String()
}
