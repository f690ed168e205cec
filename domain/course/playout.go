package course

import (
	"cmp"
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/integrate/quad"

	"fringework/domain"
	"fringework/domain/estimate"
)

// Place is one place played out in practice: a ball from there, until it was holed.
type Place struct {
	Lie Lie
	// Distance is to the hole; 0 when it was not told.
	Distance domain.Length
	// Radius is of the circle that the first stroke was judged at. Inside says that it
	// stopped in it, and Holed that it went in.
	Radius        domain.Length
	Inside, Holed bool
	// Left is the distance that it left, where Measured.
	Left     domain.Length
	Measured bool
	// Strokes is how many it took, from 1.
	Strokes int
}

// Outing is the places that one session played out at one skill.
type Outing struct {
	Session, Skill domain.ID
	StartedAt      time.Time
	Places         []Place
}

// Strokes sums up an outing.
func (o Outing) Strokes() (n int) {
	for _, p := range o.Places {
		n += p.Strokes
	}
	return n
}

// Saved counts the places that took two strokes or fewer.
func (o Outing) Saved() (n int) {
	for _, p := range o.Places {
		if p.Strokes <= 2 {
			n++
		}
	}
	return n
}

// PlayedOut is what a student's outings tell.
type PlayedOut struct {
	Outings, Places, Strokes int
	// UpAndDown is how often two strokes or fewer were enough. Its rate is the level
	// behind the outings, without the form of the day (estimate.RateOf, one session
	// for each outing). Told is false below three outings; from there on the interval
	// of 80 % holds that level in 80 to 88 % of drawn students (TestPlayedOutCovers).
	UpAndDown Share
	Told      bool
	// First and Rest are the strokes gained a place by the first stroke, and by all
	// after it, against the baseline: below 0 is lost. Both rest on the places whose
	// distance is known.
	First, Rest Level
}

// PlayedOutOf sums up outings, oldest first.
//
// What a place cost is what it took less what the baseline takes from there. It is
// shared out at the distance that the first stroke left: the first stroke has what it
// left against where it began, and the rest has what was then needed. Where only the
// circle is known, what the baseline needs is averaged over where such balls stop: a
// normal scatter about the hole, alike in all directions, as wide as the share inside
// the circles tells (scatterOf); a ball outside is taken to lie on the green.
func (b Baseline) PlayedOutOf(outings []Outing) PlayedOut {
	outings = slices.SortedStableFunc(slices.Values(outings), func(x, y Outing) int { return x.StartedAt.Compare(y.StartedAt) })
	p := PlayedOut{Outings: len(outings)}
	seen := make([]estimate.Observation, len(outings))
	for i, o := range outings {
		seen[i] = estimate.Observation{Day: o.day(outings[0]), Balls: len(o.Places), Inside: o.Saved()}
		p.Places += len(o.Places)
		p.Strokes += o.Strokes()
		p.UpAndDown.Saved += o.Saved()
	}
	p.UpAndDown.Rounds, p.UpAndDown.Chances = len(outings), p.Places
	p.Told = len(outings) >= leastRounds
	p.UpAndDown.Rate = estimate.RateOf(seen, 0, estimate.Prior{})
	first, rest := make([]Sum, len(outings)), make([]Sum, len(outings))
	spread := scatterOf(outings)
	for i, o := range outings {
		for _, x := range o.Places {
			if a, z, ok := b.split(x, spread); ok {
				first[i].Shots++
				rest[i].Shots++
				first[i].Gained += a
				rest[i].Gained += z
			}
		}
	}
	p.First, p.Rest = LevelOf(first), LevelOf(rest)
	return p
}

// day counts from another outing, in days.
func (o Outing) day(from Outing) float64 { return o.StartedAt.Sub(from.StartedAt).Hours() / 24 }

// split gives the strokes gained by the first stroke from a place and by those after
// it; ok is false where the baseline does not know the place.
func (b Baseline) split(p Place, spread float64) (first, rest float64, ok bool) {
	before, ok := b.Expected(p.Lie, p.Distance)
	if !ok || p.Distance == 0 {
		return 0, 0, false
	}
	after := 0.0
	switch {
	case p.Holed:
	case p.Measured:
		after, ok = b.Expected(Green, p.Left)
	default:
		after = b.needed(p, spread)
	}
	return before - 1 - after, after - float64(p.Strokes-1), ok
}

// needed is what the baseline needs from where a ball stopped of which only the circle
// is known: the mean over a scatter of so many metres, inside it or outside.
func (b Baseline) needed(p Place, spread float64) float64 {
	r := p.Radius.Metres()
	from, to := 0.0, r
	if !p.Inside {
		from, to = r, r+4*spread
	}
	density := func(x float64) float64 { return x * math.Exp(-(x*x-from*from)/(2*spread*spread)) }
	putts := func(x float64) float64 {
		n, _ := b.Expected(Green, min(metres(x), farthestPutt))
		return n
	}
	over := func(f func(float64) float64) float64 { return quad.Fixed(f, from, to, 48, quad.Legendre{}, 0) }
	return over(func(x float64) float64 { return density(x) * putts(x) }) / over(density)
}

// farthestPutt is the longest putt that the baseline is asked for.
const farthestPutt = 27 * domain.Metre

func metres(x float64) domain.Length { return domain.Length(math.Round(x * float64(domain.Metre))) }

// scatterOf gives the standard deviation, in metres in each direction, of a scatter
// about the hole under which the shares inside the circles are most likely; a ball
// inside and one outside the middle circle are added, so that few balls say little.
func scatterOf(outings []Outing) float64 {
	var all []Place
	for _, o := range outings {
		all = append(all, o.Places...)
	}
	if len(all) == 0 {
		return 1
	}
	radii := make([]domain.Length, len(all))
	for i, p := range all {
		radii[i] = p.Radius
	}
	slices.Sort(radii)
	middle := radii[len(radii)/2]
	all = append(all, Place{Radius: middle, Inside: true}, Place{Radius: middle})
	likely := func(spread float64) (sum float64) {
		for _, p := range all {
			outside := -math.Pow(p.Radius.Metres()/spread, 2) / 2
			if p.Inside || p.Holed {
				sum += math.Log(-math.Expm1(outside))
			} else {
				sum += outside
			}
		}
		return sum
	}
	// In steps of 2 % from a tenth of the middle circle to ten times as wide as it.
	var tried []float64
	for s := middle.Metres() / 10; s < 10*middle.Metres(); s *= 1.02 {
		tried = append(tried, s)
	}
	return slices.MaxFunc(tried, func(x, y float64) int { return cmp.Compare(likely(x), likely(y)) })
}
