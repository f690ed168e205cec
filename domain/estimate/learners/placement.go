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

// Starts says what students before their first week are drawn from. Their balls are
// struck one by one, so that nothing of the estimate is used. Ranges are uniform.
type Starts struct {
	Name string
	// Form is the standard deviation of a day's form: in logits of the rate or, with
	// Widths, of the logarithm of how wide the balls scatter.
	Form   [2]float64
	Widths bool
	// Heavy says that form has Student's distribution with five degrees of freedom.
	Heavy bool
	// Gain is what the level rises by from session to session, in logits.
	Gain [2]float64
	// Cold is how much lower the level is in the test than in the tests of sessions,
	// which come after a warm-up, in logits.
	Cold [2]float64
	// Scatters are the shapes that the balls scatter in.
	Scatters []Scatter
	// Balls are those of a session's test, in one block or, as often as Two, in two.
	Balls [2]int
	Two   float64
	// Ladder are the rungs: the first step's run, how much longer each next one is, and
	// the share of steps that are in a circle of four fifths of the one before.
	First, Longer [2]int
	Narrower      float64
	// Measured is how often all leaves of a test are measured.
	Measured float64
}

// StartsSetting is the population that the limits of [estimate.Placing] were set on.
var StartsSetting = Starts{
	Name: "setting", Form: [2]float64{0.08, 0.32}, Gain: [2]float64{-0.02, 0.06}, Cold: [2]float64{0, 0.2},
	Scatters: Scatters[:4], Balls: [2]int{12, 30}, Two: 0.3, First: [2]int{3, 6}, Longer: [2]int{1, 3}, Narrower: 0.3, Measured: 0.3,
}

// PublishedStarts were drawn when the limits stood, by a form of another law: what
// differs from day to day is how wide the balls scatter.
var PublishedStarts = []Starts{
	{
		Name: "steady", Form: [2]float64{0.03, 0.10}, Widths: true, Gain: [2]float64{0, 0.05}, Cold: [2]float64{0, 0.1},
		Scatters: Scatters[:3], Balls: [2]int{15, 25}, Two: 0.2, First: [2]int{3, 5}, Longer: [2]int{1, 2}, Narrower: 0.2, Measured: 0.5,
	},
	{
		Name: "varied", Form: [2]float64{0.05, 0.20}, Widths: true, Heavy: true, Gain: [2]float64{-0.03, 0.06}, Cold: [2]float64{0, 0.3},
		Scatters: Scatters, Balls: [2]int{10, 35}, Two: 0.4, First: [2]int{3, 7}, Longer: [2]int{1, 4}, Narrower: 0.4, Measured: 0.2,
	},
	{
		Name: "rough", Form: [2]float64{0.15, 0.30}, Widths: true, Heavy: true, Gain: [2]float64{-0.03, 0.04}, Cold: [2]float64{-0.1, 0.2},
		Scatters: Scatters[3:], Balls: [2]int{12, 20}, First: [2]int{4, 8}, Longer: [2]int{2, 4}, Narrower: 0.5,
	},
}

// PlacementTest is how many balls a first test has.
const PlacementTest = 20

// Bands are the starting rates, in per cent, that placements are told by.
var Bands = [...][2]int{{15, 30}, {30, 50}, {50, 70}, {70, 85}}

// Placed is how students of a band fared, in per cent of them.
type Placed struct {
	N int
	// Passed passed the step they began with within three sessions, and First would
	// have passed the ladder's first step.
	Passed, First float64
	// TooHigh began with a step that they pass within three sessions with less than
	// even odds at their true rate; TooLow with one that they pass in nineteen of
	// twenty sessions while the ladder has a harder one that they pass within three
	// sessions in nineteen of twenty.
	TooHigh, TooLow float64
	// Later began with a later step of the ladder, Easier with one before the first,
	// Nearer from nearer. Above began with a step that the test does not carry.
	Later, Easier, Nearer, Above float64
}

// starter is a student before the first week.
type starter struct {
	Starts
	scatter   Scatter
	distances []float64
	level     float64 // log odds inside the circle
	form      float64
	gain      float64
	r         *rand.Rand
}

const startCircle = 4 * foot

// day gives how wide the balls scatter on a day some sessions after the test.
func (s *starter) day(session int, cold float64) float64 {
	form := s.form * s.r.NormFloat64()
	if s.Heavy {
		form = Learner{Form: s.form}.nextForm(0, true, s.r)
	}
	level := s.level + s.gain*float64(session) - cold
	if s.Widths {
		return s.width(level) * math.Exp(form)
	}
	return s.width(level + form)
}

// width is how wide the balls scatter at a level.
func (s *starter) width(level float64) float64 {
	at := int(logistic(level) * float64(len(s.distances)))
	return startCircle / s.distances[min(max(at, 0), len(s.distances)-1)]
}

// rate is the true rate inside a circle, without a day's form.
func (s *starter) rate(circle float64) float64 {
	n, _ := slices.BinarySearch(s.distances, circle/s.width(s.level))
	return float64(n) / float64(len(s.distances))
}

// test strikes a first test.
func (s *starter) test(ladder []streak.Tier) estimate.Test {
	width := s.day(0, between(s.Cold, s.r))
	t := estimate.Test{Circle: estimate.Circle{Radius: feet(4), Balls: PlacementTest}}
	var circles []estimate.Circle
	for _, tier := range ladder {
		if !slices.ContainsFunc(circles, func(c estimate.Circle) bool { return c.Radius == tier.Radius }) {
			circles = append(circles, estimate.Circle{Radius: tier.Radius, Balls: t.Balls})
		}
	}
	for range t.Balls {
		d := s.scatter.strike(width, s.r)
		t.Inside += int(one(d <= startCircle))
		for i, c := range circles {
			circles[i].Inside += int(one(d <= c.Radius.Metres()))
		}
	}
	if s.r.Float64() < s.Measured && len(circles) > 1 {
		t.Measured = circles
	}
	return t
}

// passes says whether a step is passed within three sessions, from a part of the
// distance in per cent.
func (s *starter) passes(t streak.Tier, part int, blocks []int) bool {
	circle := t.Radius.Metres() * 100 / float64(part)
	for session := range estimate.PlacedWithin {
		width := s.day(session+1, 0)
		for _, n := range blocks {
			run := 0
			for range n {
				if s.scatter.strike(width, s.r) <= circle {
					run++
				} else {
					run = 0
				}
				if run == t.Run {
					return true
				}
			}
		}
	}
	return false
}

// once is the chance of a step in one session at the true rate.
func (s *starter) once(t streak.Tier, part int, blocks []int) float64 {
	missed := 1.0
	rate := s.rate(t.Radius.Metres() * 100 / float64(part))
	for _, n := range blocks {
		missed *= 1 - streak.Within(streak.Tier{Run: t.Run}, streak.Rates{In: rate}, n)
	}
	return 1 - missed
}

func soon(once float64) float64 { return 1 - math.Pow(1-once, estimate.PlacedWithin) }

// Place simulates n students whose starting rates are spread over a band.
func (p Starts) Place(n int, band [2]int, seed uint64) (out Placed) {
	r := rand.New(rand.NewPCG(seed, 5))
	known := make([][]float64, len(p.Scatters))
	for i, s := range p.Scatters {
		known[i] = s.distances(r)
	}
	per := 100 / float64(n)
	out.N = n
	for range n {
		i := r.IntN(len(p.Scatters))
		rate := between([2]float64{float64(band[0]) / 100, float64(band[1]) / 100}, r)
		s := &starter{
			Starts: p, scatter: p.Scatters[i], distances: known[i], level: logit(rate),
			form: between(p.Form, r), gain: between(p.Gain, r), r: r,
		}
		ladder, blocks := p.ladder(r), p.blocks(r)
		test := s.test(ladder)
		placing := estimate.PlacingOf(test, estimate.Prior{}, blocks...)
		room := estimate.Room{Round: domain.Foot / 2, Widest: func(int) domain.Length { return feet(8) }, Nearest: 50}
		start, _ := placing.Start(ladder, room)
		once := s.once(start.Tier, start.Part, blocks)
		out.Passed += per * one(s.passes(start.Tier, start.Part, blocks))
		out.First += per * one(s.passes(ladder[0], 100, blocks))
		out.TooHigh += per * one(soon(once) < 0.5)
		out.Later += per * one(start.Step > 0)
		out.Easier += per * one(start.Step < 0)
		out.Nearer += per * one(start.Part < 100)
		out.Above += per * one(!start.Suit())
		if next := ladder[min(start.Step+1, len(ladder)-1)]; next != start.Tier && once > 0.95 {
			out.TooLow += per * one(soon(s.once(next, 100, blocks)) > 0.95)
		}
	}
	return out
}

// ladder draws a ladder whose first step is in the test's circle.
func (p Starts) ladder(r *rand.Rand) []streak.Tier {
	t := streak.Tier{Run: between2(p.First, r), Radius: feet(4)}
	ladder := []streak.Tier{t}
	for range 3 + r.IntN(4) {
		if r.Float64() < p.Narrower {
			t.Radius = t.Radius * 4 / 5
		} else {
			t.Run += between2(p.Longer, r)
		}
		ladder = append(ladder, t)
	}
	return ladder
}

func (p Starts) blocks(r *rand.Rand) []int {
	n := between2(p.Balls, r)
	if r.Float64() < p.Two {
		return []int{n / 2, n - n/2}
	}
	return []int{n}
}

// PlacementTable is how n students of each band of each population fared.
func PlacementTable(populations []Starts, n int, seed uint64) string {
	var b strings.Builder
	fmt.Fprintln(&b, "              passed within three sessions   too high  too low   later  easier  nearer  not carried")
	fmt.Fprintln(&b, "                  placed   first step")
	for _, p := range populations {
		for _, band := range Bands {
			seed++
			x := p.Place(n, band, seed)
			fmt.Fprintf(&b, "%-8s %2d-%2d %%  %6.1f   %6.1f             %6.1f   %6.1f   %5.1f   %5.1f   %5.1f    %5.1f\n",
				p.Name, band[0], band[1], x.Passed, x.First, x.TooHigh, x.TooLow, x.Later, x.Easier, x.Nearer, x.Above)
		}
	}
	return b.String()
}
