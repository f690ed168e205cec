package estimate

import (
	"math"
	"sync"

	"fringework/domain/streak"
)

// question names a table of chances.
type question struct {
	run, holed, balls int
	share             float64 // of the balls inside that are holed
}

// chances of attaining a tier are kept for reuse; a service asks for the tiers
// of a few ladders again and again.
var answered = struct {
	sync.Mutex
	tables map[question]*table
}{tables: map[question]*table{}}

// keptAnswers bounds the memory of answered: 1 MB.
const keptAnswers = 350

// chanceOf is the chance of attaining a tier in one session that offers balls,
// as a function of the level, averaged over the day's form. share of the balls
// inside are holed; it is rounded to 2 %.
func chanceOf(t streak.Tier, share float64, balls int) *table {
	if t.Holed == 0 {
		share = 0
	}
	q := question{t.Run, t.Holed, balls, math.Round(share*50) / 50}
	answered.Lock()
	known := answered.tables[q]
	answered.Unlock()
	if known != nil {
		return known
	}
	known = computeChance(q)
	answered.Lock()
	defer answered.Unlock()
	if len(answered.tables) >= keptAnswers {
		clear(answered.tables)
	}
	answered.tables[q] = known
	return known
}

// computeChance asks the exact odds at every cell; between the cells the blurred
// curve is close to straight.
func computeChance(q question) *table {
	tier := streak.Tier{Run: q.run, Holed: q.holed}
	var raw [cells + 2*formReach]float64
	for c := range raw {
		p := logistic(levelAt(c-formReach, 0))
		raw[c] = streak.Within(tier, streak.Rates{In: p * (1 - q.share), Holed: p * q.share}, q.balls)
	}
	t := new(table)
	blur(&t[0], &raw)
	for phase := 1; phase < finePerCell; phase++ {
		w := float32(phase) / finePerCell
		for c := range cells {
			t[phase][c] = t[0][c]
			if c+1 < cells {
				t[phase][c] = t[0][c]*(1-w) + t[0][c+1]*w
			}
		}
	}
	return t
}

// mean averages a function of the level over the present probabilities.
func (f *filter) mean(t *table) float64 {
	sum := 0.0
	for i := range f.lanes {
		l := &f.lanes[i]
		m, row := l.mass[f.lo:f.hi], t[l.phase][f.lo:f.hi]
		for c, x := range m {
			sum += x * float64(row[c])
		}
	}
	return sum / f.total
}
