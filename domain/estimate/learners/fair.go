package learners

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"

	"fringework/domain"
	"fringework/domain/estimate"
)

// FairPopulation is how simulated pairs of players of fair matches come about.
type FairPopulation struct {
	Name string
	// Scatters are those that players have, one each.
	Scatters []Scatter
	// Form is the standard deviation of the day's form in logarithms of the width of
	// the scatter. With Stays it is a good day or a bad one, as far off one as the other,
	// and the next session is the same sort with that chance; without, each day is drawn
	// from a normal distribution.
	Form, Stays float64
	// Balls are how many balls a session has, from fewest to most.
	Balls [2]int
	// Slips is by how much of a logarithm, at most, the width grows or narrows from the
	// first session to the match.
	Slips float64
	// Cards is the standard deviation of the logarithm of how much harder or easier a
	// card is than the sessions' shot, for both alike.
	Cards float64
}

// The populations: a limit is set on the first alone; what is told is of the second,
// which is made otherwise.
var (
	FairSetting   = FairPopulation{Name: "setting", Scatters: Scatters[:3], Form: 0.10, Balls: [2]int{20, 20}}
	FairPublished = FairPopulation{
		Name: "published", Scatters: []Scatter{
			{Name: "round", Aspect: 1},
			{Name: "twice as long, a little to one side", Aspect: 2.0, OffCentre: 0.5, Aside: 0.6, Mishits: 0.03, Wild: 3},
			{Name: "wild now and then", Aspect: 1.4, Mishits: 0.15, Wild: 2},
			{Name: "short of the hole", Aspect: 1.5, OffCentre: 1.1, Mishits: 0.05, Wild: 3},
		},
		Form: 0.09, Stays: 0.7, Balls: [2]int{10, 30}, Slips: 0.06, Cards: 0.15,
	}
)

// FairPair says who meets: the true shares of their balls in the circle that their
// sessions are judged in, each from one range, and how many sessions they have logged.
type FairPair struct {
	Better, Worse [2]float64
	Sessions      int
}

// FairPairs are the unequal pairs that are told of.
var FairPairs = []FairPair{
	{[2]float64{0.55, 0.65}, [2]float64{0.35, 0.45}, 2},
	{[2]float64{0.55, 0.65}, [2]float64{0.35, 0.45}, 6},
	{[2]float64{0.55, 0.65}, [2]float64{0.35, 0.45}, 15},
	{[2]float64{0.65, 0.80}, [2]float64{0.20, 0.35}, 2},
	{[2]float64{0.65, 0.80}, [2]float64{0.20, 0.35}, 6},
	{[2]float64{0.65, 0.80}, [2]float64{0.20, 0.35}, 15},
}

// FairResult counts matches that were decided, and what the better player won of them.
type FairResult struct {
	Decided, Won int
	// EvenDecided and EvenWon are of the same pairs, both to the circle of the sessions.
	EvenDecided, EvenWon int
	// Told are the pairs of whom both had a circle of their own; others play none.
	Told int
}

// fairRadius is the circle that sessions are judged in, and fairCards a match.
const (
	fairRadius = 2 * domain.Metre
	fairCards  = 12
)

// fairPlayer is one player: the width of their scatter on the day of the match, and by
// how much it was another at first, as logarithms, and form.
type fairPlayer struct {
	FairPopulation
	scatter            Scatter
	width, slips, form float64
}

// fairField is a population with where each of its scatters' balls stop.
type fairField struct {
	FairPopulation
	distances [][]float64
}

func (p FairPopulation) field(r *rand.Rand) fairField {
	f := fairField{FairPopulation: p}
	for _, s := range p.Scatters {
		f.distances = append(f.distances, s.distances(r))
	}
	return f
}

// player makes a player who has a share of balls inside fairRadius.
func (p fairField) player(share float64, r *rand.Rand) *fairPlayer {
	i := r.IntN(len(p.Scatters))
	x := &fairPlayer{FairPopulation: p.FairPopulation, scatter: p.Scatters[i]}
	d := p.distances[i]
	x.width = math.Log(fairRadius.Metres() / d[int(share*float64(len(d)))])
	x.slips = p.Slips * (2*r.Float64() - 1)
	x.form = p.Form * (2*float64(r.IntN(2)) - 1)
	x.day(r)
	return x
}

// day goes on to another session.
func (x *fairPlayer) day(r *rand.Rand) {
	switch {
	case x.Stays == 0:
		x.form = x.Form * r.NormFloat64()
	case r.Float64() >= x.Stays:
		x.form = -x.form
	}
}

// inside counts the balls inside a circle; each is struck on a card that is so much
// harder, as a logarithm, and when the width was another by so much.
func (x *fairPlayer) inside(cards []float64, slips float64, circle domain.Length, r *rand.Rand) (inside int) {
	for _, harder := range cards {
		if x.scatter.strike(math.Exp(x.width+x.form+slips+harder), r) <= circle.Metres() {
			inside++
		}
	}
	return inside
}

// logged is what some sessions say of the player.
func (x *fairPlayer) logged(sessions int, r *rand.Rand) estimate.Assessment {
	e := estimate.Evidence{Radius: fairRadius}
	for i := range sessions {
		balls := x.Balls[0] + r.IntN(x.Balls[1]-x.Balls[0]+1)
		since := x.slips * float64(sessions-i) / float64(sessions)
		e.Sessions = append(e.Sessions, estimate.Observation{Day: float64(3 * i), Balls: balls, Inside: x.inside(make([]float64, balls), since, fairRadius, r)})
		x.day(r)
	}
	return estimate.Assess(e)
}

// FairMatches plays one match of each of n pairs.
func FairMatches(p FairPopulation, pair FairPair, n int, seed uint64) (result FairResult) {
	r := rand.New(rand.NewPCG(seed, uint64(pair.Sessions)))
	field := p.field(r)
	for range n {
		better, worse := field.player(between(pair.Better, r), r), field.player(between(pair.Worse, r), r)
		own, ok := better.logged(pair.Sessions, r).FairCircle(fairRadius)
		other, also := worse.logged(pair.Sessions, r).FairCircle(fairRadius)
		var cards []float64
		for range fairCards {
			cards = append(cards, p.Cards*r.NormFloat64())
		}
		if a, b := better.inside(cards, 0, fairRadius, r), worse.inside(cards, 0, fairRadius, r); a != b {
			result.EvenDecided++
			result.EvenWon += int(one(a > b))
		}
		if !ok || !also {
			continue
		}
		result.Told++
		if a, b := better.inside(cards, 0, own, r), worse.inside(cards, 0, other, r); a != b {
			result.Decided++
			result.Won += int(one(a > b))
		}
	}
	return result
}

// Share is what the better player won of the decided matches.
func (f FairResult) Share() float64 { return float64(f.Won) / float64(f.Decided) }

// FairTable prints what the better player wins, of n pairs each.
func FairTable(p FairPopulation, n int, seed uint64) string {
	var b strings.Builder
	fmt.Fprintf(&b, "inside 2 m           sessions   both to 2 m   each to their own   pairs with both\n")
	for _, pair := range FairPairs {
		f := FairMatches(p, pair, n, seed)
		fmt.Fprintf(&b, "%.0f-%.0f %%, %.0f-%.0f %% %7d %11.0f %% %15.0f %% %15.0f %%\n", 100*pair.Better[0], 100*pair.Better[1], 100*pair.Worse[0], 100*pair.Worse[1], pair.Sessions,
			100*float64(f.EvenWon)/float64(f.EvenDecided), 100*f.Share(), 100*float64(f.Told)/float64(n))
	}
	return b.String()
}
