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
	// the scatter, and Memory the share of it that is left in the next session.
	Form, Memory float64
	// Rise is by how much of a logarithm the width narrows with each session.
	Rise float64
	// Tail is the degrees of freedom of Student's t of the day's form; 0 is normal.
	Tail int
}

// The populations: a limit is set on the first alone; what is told is of the second,
// which is made otherwise.
var (
	FairSetting   = FairPopulation{Name: "setting", Scatters: Scatters[:3], Form: 0.10}
	FairPublished = FairPopulation{
		Name: "published", Scatters: []Scatter{
			{Name: "long, to one side", Aspect: 1.7, OffCentre: 0.8, Aside: 0.4, Mishits: 0.05, Wild: 4},
			{Name: "long, with mishits", Aspect: 2.6, Mishits: 0.1, Wild: 2.5},
			{Name: "off-centre", Aspect: 1.2, OffCentre: 1.5, Aside: 0.5},
		},
		Form: 0.08, Memory: 0.5, Rise: 0.005, Tail: 4,
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

// fairRadius is the circle that sessions are judged in, and fairSession how many balls
// each has; fairCards is a match.
const (
	fairRadius  = 2 * domain.Metre
	fairSession = 20
	fairCards   = 12
)

// fairPlayer is one player: the width of their scatter, as a logarithm, and form.
type fairPlayer struct {
	FairPopulation
	scatter     Scatter
	width, form float64
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
	x.form = p.Form * p.shock(r)
	return x
}

// shock is one day's draw of form, of variance 1.
func (p FairPopulation) shock(r *rand.Rand) float64 {
	if p.Tail == 0 {
		return r.NormFloat64()
	}
	chi := 0.0
	for range p.Tail {
		z := r.NormFloat64()
		chi += z * z
	}
	return r.NormFloat64() * math.Sqrt(float64(p.Tail-2)/chi)
}

// day goes on to another session.
func (x *fairPlayer) day(r *rand.Rand) {
	x.form = x.Memory*x.form + x.Form*math.Sqrt(1-x.Memory*x.Memory)*x.shock(r)
	x.width -= x.Rise
}

// inside counts of n balls those inside a circle.
func (x *fairPlayer) inside(n int, circle domain.Length, r *rand.Rand) (inside int) {
	for range n {
		if x.scatter.strike(math.Exp(x.width+x.form), r) <= circle.Metres() {
			inside++
		}
	}
	return inside
}

// logged is what some sessions say of the player.
func (x *fairPlayer) logged(sessions int, r *rand.Rand) estimate.Assessment {
	e := estimate.Evidence{Radius: fairRadius}
	for i := range sessions {
		e.Sessions = append(e.Sessions, estimate.Observation{Day: float64(3 * i), Balls: fairSession, Inside: x.inside(fairSession, fairRadius, r)})
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
		if a, b := better.inside(fairCards, fairRadius, r), worse.inside(fairCards, fairRadius, r); a != b {
			result.EvenDecided++
			result.EvenWon += int(one(a > b))
		}
		if !ok || !also {
			continue
		}
		result.Told++
		if a, b := better.inside(fairCards, own, r), worse.inside(fairCards, other, r); a != b {
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
