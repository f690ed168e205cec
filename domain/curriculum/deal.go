package curriculum

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"

	"fringework/domain"
)

// Task is one ball of a random block: one lie, one distance, one club, one
// chance. What the drill leaves open is empty.
type Task struct {
	Lie      string
	Distance domain.Length
	Club     string
}

// String names a task in words.
func (t Task) String() string {
	var parts []string
	if t.Lie != "" {
		parts = append(parts, t.Lie)
	}
	if t.Distance != 0 {
		parts = append(parts, "from "+t.Distance.String())
	}
	if t.Club != "" {
		parts = append(parts, "with "+t.Club)
	}
	return strings.Join(parts, " ")
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

// Weighted is a task with its weight: how often it is to come, compared with the
// others. A task of weight 0 never comes.
type Weighted struct {
	Task   Task
	Weight int // 0 to MaxWeight
}

// Bounds of a deal.
const (
	// MaxWeight bounds the weight of a task.
	MaxWeight = 1_000_000_000
	// MaxDeck bounds how many balls are dealt at once.
	MaxDeck = 2000
)

// Evenly gives every task of a drill the same weight.
func Evenly(d Drill) []Weighted {
	tasks := Tasks(d)
	all := make([]Weighted, len(tasks))
	for i, t := range tasks {
		all[i] = Weighted{Task: t, Weight: 1}
	}
	return all
}

// DeckBalls is how many tasks a random block of so many minutes is dealt: three a
// minute, more than a student who goes through a routine strikes (our choice).
func DeckBalls(minutes int) int { return max(12, mostAMinute*minutes) }

// Deal deals n tasks by their weights. A task's due is n times its share of all
// weights. Deal promises that
//
//   - no task comes twice in a row, unless only one has a weight;
//   - every task comes as often as its due, rounded up or down;
//   - the same tasks, weights, n and seed give the same deck.
//
// At any point of the deck a task has come as often as its share of the balls so
// far, give or take one; where one weighs more than all others together, which must
// then come between its balls, give or take two. A test holds this over random
// grids; the promises above follow from [dealer.allowed] and [dealer.heavy]. Within
// that, the next task differs from the one before in as much as it can, and lies,
// distances and clubs come up by their shares as evenly as they can. Chance, by the
// seed, decides the rest.
//
// It refuses, with pointers into {"tasks", "balls"}, n outside 1 to MaxDeck, no
// tasks, a task that is there twice, weights outside their bounds or all 0, and a
// task so heavy that it must follow itself: one whose due, rounded down, is more
// than half of the balls, rounded up.
//
// That a share can be kept within one all along is R. Tijdeman, The chairman
// assignment problem, Discrete Mathematics 32 (1980) 323-330; when each task's
// times are due, G. Steiner and S. Yeomans, Management Science 39 (1993) 728-735.
// That no more than half is enough to avoid repetition is well known.
func Deal(all []Weighted, n int, seed uint64) ([]Task, error) {
	if err := checkDeal(all, n); err != nil {
		return nil, err
	}
	return deal(all, n, seed), nil
}

func deal(all []Weighted, n int, seed uint64) []Task {
	d := newDealer(all, n, rand.New(rand.NewPCG(seed, 0)))
	deck := make([]Task, n)
	for i := range deck {
		deck[i] = d.next()
	}
	return deck
}

// CheckBalls notes a number of balls that cannot be dealt.
func CheckBalls(p *domain.Problems, at string, n int) {
	if n < 1 || n > MaxDeck {
		p.Add(at, "is %d; give a whole number from 1 to %d", n, MaxDeck)
	}
}

// checkDeal says everything that keeps a deal from being kept.
func checkDeal(all []Weighted, n int) error {
	var p domain.Problems
	CheckBalls(&p, "/balls", n)
	seen := map[Task]bool{}
	sum, weighty := 0, 0
	for i, w := range all {
		at := fmt.Sprintf("/tasks/%d", i)
		if seen[w.Task] {
			p.Add(at, "%s is there twice; remove one", w.Task)
		}
		seen[w.Task] = true
		if w.Weight < 0 || w.Weight > MaxWeight {
			p.Add(at+"/weight", "is %d; give a whole number from 0 to %d", w.Weight, MaxWeight)
			continue
		}
		sum += w.Weight
		if w.Weight > 0 {
			weighty++
		}
	}
	if weighty == 0 && len(p.Fields()) == 0 {
		p.Add("/tasks", "every task has weight 0; give at least one more than 0")
	}
	if weighty > 1 && len(p.Fields()) == 0 {
		for i, w := range all {
			if due := n * w.Weight / sum; due > (n+1)/2 {
				p.Add(fmt.Sprintf("/tasks/%d/weight", i), "%s is due %d of %d balls, more than half, so it would come twice in a row; give it at most the weight of all others together, which is %d",
					w.Task, due, n, sum-w.Weight)
			}
		}
	}
	return p.Err("deal", "No tasks were dealt.")
}

// dealer deals one deck.
type dealer struct {
	all []Weighted // those with a weight
	sum int        // of their weights
	rng *rand.Rand

	n, dealt int
	used     []int
	last     int // the task dealt last; -1 before the first
	// mandatory counts what is left to deal of every due, rounded down.
	mandatory int
	// overdue[b] counts what is not dealt yet of what must be dealt by ball b.
	overdue []int

	// A part is a lie, a distance or a club: parts are those of each task, by number;
	// came and share how often each part came, and its weight.
	parts       [][3]int
	came, share []int
}

func newDealer(all []Weighted, n int, rng *rand.Rand) *dealer {
	d := &dealer{n: n, rng: rng, last: -1, overdue: make([]int, n+1)}
	for _, w := range all {
		if w.Weight > 0 {
			d.all = append(d.all, w)
			d.sum += w.Weight
		}
	}
	d.used = make([]int, len(d.all))
	d.countParts()
	for i := range d.all {
		for k := range d.floor(i) {
			d.overdue[d.deadline(i, k)]++
			d.mandatory++
		}
	}
	for b := range n {
		d.overdue[b+1] += d.overdue[b]
	}
	return d
}

// countParts numbers the parts and adds up their weights. A lie and a club of the
// same name are two.
func (d *dealer) countParts() {
	number := map[any]int{}
	type lie string
	for _, w := range d.all {
		var parts [3]int
		for k, part := range [3]any{lie(w.Task.Lie), w.Task.Distance, w.Task.Club} {
			if _, known := number[part]; !known {
				number[part] = len(number)
				d.share = append(d.share, 0)
			}
			parts[k] = number[part]
			d.share[parts[k]] += w.Weight
		}
		d.parts = append(d.parts, parts)
	}
	d.came = make([]int, len(number))
}

// floor and ceil are the due of a task, rounded down and up.
func (d *dealer) floor(i int) int { return d.n * d.all[i].Weight / d.sum }
func (d *dealer) ceil(i int) int  { return (d.n*d.all[i].Weight + d.sum - 1) / d.sum }

// deadline is the last ball by which a task that came k times is to come again:
// from then on it would be one behind its share. release is the first ball at which
// it may: before that it would be one ahead.
func (d *dealer) deadline(i, k int) int {
	return ((k+1)*d.sum + d.all[i].Weight - 1) / d.all[i].Weight
}
func (d *dealer) release(i, k int) int { return k*d.sum/d.all[i].Weight + 1 }

// next deals a task.
func (d *dealer) next() Task {
	i := d.pick()
	if b := d.deadline(i, d.used[i]); b <= d.n {
		for ; b <= d.n; b++ {
			d.overdue[b]--
		}
		d.mandatory--
	}
	d.used[i]++
	for _, part := range d.parts[i] {
		d.came[part]++
	}
	d.dealt++
	d.last = i
	return d.all[i].Task
}

// pick chooses the next task of those that keep the promises, and of these, where
// there are any, of those that keep every task within one of its share: least like
// the last, of parts that are furthest behind their shares, and among equals by
// chance.
func (d *dealer) pick() int {
	by, must := d.tightest(), d.heavy()
	var best, ties int
	var bestCost [3]int
	for i := range d.all {
		if !d.allowed(i) || must >= 0 && i != must {
			continue
		}
		var cost [3]int
		if d.deadline(i, d.used[i]) > by || d.release(i, d.used[i]) > d.dealt+1 {
			cost[0] = 1
		}
		for k, part := range d.parts[i] {
			if d.last >= 0 && part == d.parts[d.last][k] {
				cost[1]++
			}
			cost[2] += d.came[part]*d.sum - d.dealt*d.share[part]
		}
		switch order := slices.Compare(cost[:], bestCost[:]); {
		case ties == 0 || order < 0:
			best, bestCost, ties = i, cost, 1
		case order == 0:
			// Reservoir sampling: each of the ties is as likely.
			if ties++; d.rng.IntN(ties) == 0 {
				best = i
			}
		}
	}
	return best
}

// allowed reports whether a task may come next, so that it does not follow itself
// and every task comes as often as it is due, rounded up or down.
func (d *dealer) allowed(i int) bool {
	if len(d.all) == 1 {
		return true
	}
	full := d.used[i] == d.ceil(i)
	spare := d.used[i] >= d.floor(i) && d.mandatory == d.n-d.dealt
	return i != d.last && !full && !spare
}

// heavy is the task that has so much left that it must come now, lest it follows
// itself later: there is at most one. It is -1 where there is none.
func (d *dealer) heavy() int {
	for i, used := range d.used {
		if i != d.last && d.floor(i)-used > (d.n-d.dealt)/2 {
			return i
		}
	}
	return -1
}

// tightest is the first ball by which all balls until then are needed for what must
// be dealt by then; beyond the last ball when there is none.
func (d *dealer) tightest() int {
	for b := d.dealt + 1; b <= d.n; b++ {
		if d.overdue[b] >= b-d.dealt {
			return b
		}
	}
	return math.MaxInt
}
