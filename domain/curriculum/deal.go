package curriculum

import (
	"fmt"
	"hash/fnv"
	"math/rand/v2"
	"slices"

	"fringework/domain"
)

// Task is one ball of a random block: one lie, one distance, one club, one
// chance. What the drill leaves open is empty.
type Task struct {
	Lie      string
	Distance domain.Length
	Club     string
}

// Tasks lists every task that a drill allows: each lie with each distance and
// each club.
func Tasks(d Drill) []Task {
	var all []Task
	for _, lie := range orOpen(d.Lies) {
		for _, distance := range orOpen(d.Distances) {
			for _, club := range orOpen(d.Clubs) {
				all = append(all, Task{lie, distance, club})
			}
		}
	}
	return all
}

// orOpen gives the one empty choice where a drill leaves it open.
func orOpen[T any](choices []T) []T {
	if len(choices) == 0 {
		return make([]T, 1)
	}
	return choices
}

// Deck deals a block's tasks for a student on a day. The same student, day and
// place in the plan always get the same deck, so that a phone that asks twice
// is not dealt anew.
func Deck(d Drill, n int, student domain.ID, on domain.Date, place ...int) []Task {
	h := fnv.New64a()
	fmt.Fprintf(h, "%s %s %v", student, on, place)
	return Deal(d, n, rand.New(rand.NewPCG(h.Sum64(), 0)))
}

// DeckBalls is how many tasks a random block of so many minutes is dealt: three a
// minute, more than a student who goes through a routine strikes (our choice).
func DeckBalls(minutes int) int { return max(12, mostAMinute*minutes) }

// Deal deals n tasks of a drill. No task comes again before all others have
// come, so at any point no two differ by more than one in how often they came;
// none comes twice in a row, unless the drill has only one. Within that, the
// next task differs from the one before in as much as it can, and lies,
// distances and clubs come up as evenly as they can. Chance, from rng, decides
// the rest.
func Deal(d Drill, n int, rng *rand.Rand) []Task {
	all := Tasks(d)
	used := make([]int, len(all))
	came := map[any]int{}
	deck := make([]Task, 0, n)
	last := -1
	for range n {
		i := pick(all, used, came, last, rng)
		used[i]++
		for _, part := range all[i].parts() {
			came[part]++
		}
		deck = append(deck, all[i])
		last = i
	}
	return deck
}

// Parts of a task, typed apart so that a lie and a club of the same name count
// apart.
type (
	liePart  string
	clubPart string
)

func (t Task) parts() [3]any { return [3]any{liePart(t.Lie), t.Distance, clubPart(t.Club)} }

// pick chooses the next task: least often dealt, least like the last, of parts
// that came least, and among equals by chance.
func pick(all []Task, used []int, came map[any]int, last int, rng *rand.Rand) int {
	var best, ties int
	var bestCost [3]int
	for i, t := range all {
		cost := [3]int{used[i]}
		for k, part := range t.parts() {
			if last >= 0 && part == all[last].parts()[k] {
				cost[1]++
			}
			cost[2] += came[part]
		}
		switch order := slices.Compare(cost[:], bestCost[:]); {
		case ties == 0 || order < 0:
			best, bestCost, ties = i, cost, 1
		case order == 0:
			// Reservoir sampling: each of the ties is as likely.
			if ties++; rng.IntN(ties) == 0 {
				best = i
			}
		}
	}
	return best
}
