package curriculum

import (
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"

	"fringework/domain"
)

// MaxPlaces is how many places a block is played out from, at most.
const MaxPlaces = 18

// Stop is a task with its place on the walk around the hole.
type Stop struct {
	Task
	// Hour is where around the hole, as on the face of a clock that has 12 where the
	// walk begins: 1 to 12.
	Hour int
	// Walk is how far it is from the stop before, in a straight line; 0 for the first
	// and where the drill says no distance.
	Walk domain.Length
}

// The steps of the walk in hours: one of usualStep, and now and then one more, so that
// the places of one time around are not those of the next.
const (
	usualStep = 1
	moreEvery = 3
)

// Round deals a block's tasks for a student as they come on a walk around the hole:
// stops number from, counted from 0, and the n-1 after it. The walk goes on the same
// way around from stop to stop, so that the next place is near the last, and it goes
// on from session to session: the same student and place in a programme, with the
// same weights, always get the same stops, whatever from is. Tasks come as [Deal]
// deals them, dealt anew every deal stops; none comes twice in a row unless only one
// has a weight.
func Round(all []Weighted, from, n, deal int, student domain.ID, place ...any) []Stop {
	key := fmt.Sprint(student, place)
	stops := make([]Stop, 0, n)
	for deck := []Task(nil); len(stops) < n; {
		i := from + len(stops)
		if deck == nil || i%deal == 0 {
			deck = deckAfter(all, i/deal, deal, key)
		}
		stops = append(stops, Stop{Task: deck[i%deal]})
	}
	hours := walk(key, from+n)
	for i := range stops {
		stops[i].Hour = (hours[from+i]+11)%12 + 1
		if i > 0 {
			stops[i].Walk = between(stops[i-1], stops[i])
		}
	}
	return stops
}

// deckAfter deals deck number k, counted from 0, so that it does not begin with what
// the one before ended with.
func deckAfter(all []Weighted, k, n int, key string) []Task {
	var last Task
	var deck []Task
	for i := max(0, k-1); i <= k; i++ {
		for salt := range dealsTried {
			if deck = deal(all, n, seedOf(key, i, salt)); i == 0 || deck[0] != last {
				break
			}
		}
		last = deck[n-1]
	}
	return deck
}

// dealsTried is how often a deck is dealt anew that begins with what came last; with
// one task each does.
const dealsTried = 20

func seedOf(key string, more ...any) uint64 {
	h := fnv.New64a()
	fmt.Fprint(h, key, more)
	return h.Sum64()
}

// walk gives the hours of the first n stops, counted on beyond 12.
func walk(key string, n int) []int {
	rng := rand.New(rand.NewPCG(seedOf(key, "walk"), 0))
	hours := make([]int, n)
	for i := 1; i < n; i++ {
		hours[i] = hours[i-1] + usualStep
		if rng.IntN(moreEvery) == 0 {
			hours[i]++
		}
	}
	return hours
}

// between is how far two stops are from each other.
func between(a, b Stop) domain.Length {
	if a.Distance == 0 || b.Distance == 0 {
		return 0
	}
	x, y, angle := float64(a.Distance), float64(b.Distance), 2*math.Pi*float64(b.Hour-a.Hour)/12
	return domain.Length(math.Round(math.Sqrt(x*x + y*y - 2*x*y*math.Cos(angle))))
}
