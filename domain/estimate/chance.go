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
	tables map[question]*byForm
}{tables: map[question]*byForm{}}

// keptAnswers bounds the memory of answered: 3.4 MB.
const keptAnswers = 350

// leastHoled is the least share of the balls inside that is taken to be holed, where a
// tier asks for any: nobody is known to hole none.
const leastHoled = 1.0 / 200

// chanceOf is the chance of attaining a tier in one session that offers balls,
// as a function of the level, averaged over the day's form. share of the balls
// inside are holed; it is rounded to half a per cent, and not to none.
func chanceOf(t streak.Tier, share float64, balls int) *byForm {
	if t.Holed == 0 {
		share = 0
	}
	share = math.Round(share*200) / 200
	if t.Holed > 0 {
		share = math.Max(share, leastHoled)
	}
	q := question{t.Run, t.Holed, balls, share}
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

// computeChance asks the exact odds at every cell; between the cells the curve is
// close to straight.
func computeChance(q question) *byForm {
	tier := streak.Tier{Run: q.run, Holed: q.holed}
	var raw wide
	for c := 0; c < len(raw); c += finePerCell {
		p := logistic(wideLevelAt(c))
		raw[c] = streak.Within(tier, streak.Rates{In: p * (1 - q.share), Holed: p * q.share}, q.balls)
	}
	for i := range raw {
		low := i - i%finePerCell
		high := min(low+finePerCell, len(raw)-finePerCell)
		part := float64(i%finePerCell) / finePerCell
		raw[i] = raw[low]*(1-part) + raw[high]*part
	}
	t := new(byForm)
	for sd := range t {
		blur(&t[sd], &raw, sd, 0, len(raw))
	}
	return t
}
