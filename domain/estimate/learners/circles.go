package learners

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/streak"
)

// Scatter is how a simulated student's balls scatter about the hole. Balls are
// struck one by one, so that nothing of the estimate is used.
type Scatter struct {
	Name string
	// Aspect is length over width, OffCentre and Aside how far off the middle is
	// along and across, in standard deviations of the width.
	Aspect, OffCentre, Aside float64
	// Mishits of the balls go Wild times as far.
	Mishits, Wild float64
}

// Scatters are those that circles are tried with.
var Scatters = []Scatter{
	{Name: "round", Aspect: 1},
	{Name: "long, 2 to 1", Aspect: 2},
	{Name: "long, 3 to 1", Aspect: 3},
	{Name: "off-centre", Aspect: 1, OffCentre: 1, Aside: 1},
	{Name: "long, off-centre", Aspect: 2, OffCentre: 2, Aside: 0.5},
	{Name: "round, with mishits", Aspect: 1, Mishits: 0.08, Wild: 3},
}

// strike gives a ball's distance from the hole.
func (s Scatter) strike(width float64, r *rand.Rand) float64 {
	x, y := s.Aspect*r.NormFloat64()+s.OffCentre, r.NormFloat64()+s.Aside
	d := width * math.Hypot(x, y)
	if r.Float64() < s.Mishits {
		d *= s.Wild
	}
	return d
}

// distances are many balls' distances at a width of 1, in rising order.
func (s Scatter) distances(r *rand.Rand) []float64 {
	d := make([]float64, 20_000)
	for i := range d {
		d[i] = s.strike(1, r)
	}
	slices.Sort(d)
	return d
}

// Circles says which circles sessions are judged in, in feet: First of them in
// Before, all later ones in After, or both in turn when Mixed.
type Circles struct {
	Name          string
	Before, After float64
	First, Later  [2]int
	Mixed         bool
	// Wanted is the circle that the rate is asked for.
	Wanted float64
}

// Moves are the ways in which circles change.
var Moves = []Circles{
	{Name: "5 ft, asked for 3 ft", Before: 5, After: 3, First: [2]int{3, 25}, Later: [2]int{0, 0}, Wanted: 3},
	{Name: "5 ft, then 3 ft", Before: 5, After: 3, First: [2]int{5, 25}, Later: [2]int{1, 8}, Wanted: 3},
	{Name: "3 ft, asked for 5 ft", Before: 3, After: 5, First: [2]int{3, 25}, Later: [2]int{0, 0}, Wanted: 5},
	{Name: "3 ft, then 5 ft", Before: 3, After: 5, First: [2]int{5, 25}, Later: [2]int{1, 8}, Wanted: 5},
	{Name: "3 and 5 ft in turn, asked for 3 ft", Before: 5, After: 3, First: [2]int{2, 10}, Later: [2]int{2, 10}, Mixed: true, Wanted: 3},
	{Name: "3 and 5 ft in turn, asked for 5 ft", Before: 3, After: 5, First: [2]int{2, 10}, Later: [2]int{2, 10}, Mixed: true, Wanted: 5},
}

const foot = 0.3048

// CirclesResult is how rates in a circle came out when balls were judged in
// several.
type CirclesResult struct {
	Coverage
	// Bias is the mean of rate minus truth, and Width the mean width of the 80 %
	// intervals, in per cent.
	Bias, Width float64
	// WronglyOver were told that the tier is out of reach while its chance in a
	// session was 5 % or more, WronglyOutgrown that it is too easy while it was
	// 70 % or less.
	WronglyOver, WronglyOutgrown int
}

// InCircles simulates n students and asks for their rates.
func InCircles(s Scatter, c Circles, n int, seed uint64) CirclesResult {
	r := rand.New(rand.NewPCG(seed, 3))
	var out CirclesResult
	distances := s.distances(r)
	for range n {
		first, later := between2(c.First, r), between2(c.Later, r)
		share := between([2]float64{0.3, 0.85}, r)
		width := c.Before * foot / distances[int(share*float64(len(distances)))]
		form := between([2]float64{0.02, 0.08}, r) // of the logarithm of the width
		e := estimate.Evidence{Radius: feet(c.Wanted), Tier: &streak.Tier{Run: 5, Radius: feet(c.Wanted)}, BallsPerTest: 20}
		for j := range first + later {
			circle := c.Before
			if j >= first || c.Mixed && j%2 == 1 {
				circle = c.After
			}
			today := width * math.Exp(form*r.NormFloat64())
			balls := 15 + r.IntN(30)
			inside := 0
			for range balls {
				inside += int(one(s.strike(today, r) <= circle*foot))
			}
			o := estimate.Observation{Day: float64(2 * j)}
			if circle == c.Wanted {
				o.Balls, o.Inside = balls, inside
			} else {
				o.Elsewhere = []estimate.Circle{{Radius: feet(circle), Balls: balls, Inside: inside}}
			}
			e.Sessions = append(e.Sessions, o)
		}
		inside, _ := slices.BinarySearch(distances, c.Wanted*foot/width)
		truth := float64(inside) / float64(len(distances))
		a := estimate.Assess(e)
		out.N++
		out.In80 += int(one(a.Rate.Interval80.Lo <= truth && truth <= a.Rate.Interval80.Hi))
		out.In95 += int(one(a.Rate.Interval95.Lo <= truth && truth <= a.Rate.Interval95.Hi))
		out.Bias += 100 * (a.Rate.Mean - truth) / float64(n)
		out.Width += 100 * (a.Rate.Interval80.Hi - a.Rate.Interval80.Lo) / float64(n)
		chance := streak.Within(*e.Tier, streak.Rates{In: truth}, e.BallsPerTest)
		out.WronglyOver += int(one(a.Overreached != nil && chance >= 0.05))
		out.WronglyOutgrown += int(one(a.Outgrown != nil && chance <= 0.7))
	}
	return out
}

func between2(x [2]int, r *rand.Rand) int { return x[0] + r.IntN(x[1]-x[0]+1) }

func feet(x float64) domain.Length {
	l, _ := domain.Metres(x * foot) // lengths of greens are in range
	return l
}

// CirclesTable is the result for all scatters and moves.
func CirclesTable(n int, seed uint64) string {
	var b strings.Builder
	for _, m := range Moves {
		fmt.Fprintf(&b, "%s\n", m.Name)
		for _, s := range Scatters {
			seed++
			x := InCircles(s, m, n, seed)
			in80, in95 := x.Shares()
			fmt.Fprintf(&b, "  %-22s %5.1f %5.1f   %+5.1f  width %4.1f  wrongly out of reach %d, too easy %d\n", s.Name, in80, in95, x.Bias, x.Width, x.WronglyOver, x.WronglyOutgrown)
		}
	}
	return b.String()
}
