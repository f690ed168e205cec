package estimate

import "math"

// The model of a learner. The level of a student at a skill is the log odds
// that a ball comes to rest inside. From one practised session to the next it
// rises, stays, or falls, at a pace that holds until the student changes over
// to another of the three ways of going; every session has a day's form of its
// own on top.
//
// The numbers below are our reading of how practice goes, not fitted to any
// data set, and the operating characteristics in the package comment are
// measured with learners drawn otherwise.
const (
	// startRising and startFalling are the chances that a student begins by
	// rising or by falling; the others begin by staying where they are.
	startRising  = 0.57
	startFalling = 0.01
	// The chance per session of changing over. A rise lasts some 16 sessions
	// before it levels off. A student who stays where he is seldom starts to
	// rise without a change in the programme, and starts to fall about once in
	// 50 sessions. A fall goes on unless something is done about it.
	levelsOff     = 0.06
	startsToRise  = 0.004
	startsToFall  = 0.02
	stopsFalling  = 0.005
	turnsAround   = 0.002 // from rising to falling at once, or back
	finePerCell   = 8
	cell          = 0.1 // logits
	fine          = cell / finePerCell
	lowestLevel   = -4.5
	cells         = 96 // up to a level of 5
	longestStride = 2  // cells a session: the steepest pace below
)

// way is one way of going: a pace, in steps of fine (0.0125 logits) a session, and
// its weight among those of its sign. At 50 % one step is 0.3 percentage
// points a session. A rise of less than two steps takes 17 sessions to get
// from 50 to 60 %; no coach waits for it, and it is read as staying.
type way struct {
	steps  int
	weight float64
}

var (
	risingWays  = weighted([]way{{2, 20}, {3, 30}, {4, 25}, {5, 20}, {6, 20}, {8, 15}, {12, 5}})
	fallingWays = weighted([]way{{-3, 20}, {-5, 30}, {-7, 30}, {-9, 25}, {-12, 15}})
)

// forms are the standard deviations, in logits, that the day's form may have,
// with their weights: 0.2 at 50 % is ± 5 percentage points. A mixture keeps
// one strange session from deciding anything.
var forms = []struct{ sd, weight float64 }{{0.1, 0.4}, {0.2, 0.45}, {0.35, 0.15}}

func weighted(ws []way) []way {
	sum := 0.0
	for _, w := range ws {
		sum += w.weight
	}
	for i := range ws {
		ws[i].weight /= sum
	}
	return ws
}

// formReach is how many cells the day's form may move the level.
const formReach = 12

// formKernel is the distribution of the day's form in steps of one cell.
var formKernel = func() (k [2*formReach + 1]float64) {
	for _, f := range forms {
		sum := 0.0
		density := func(i int) float64 { x := float64(i) * cell / f.sd; return math.Exp(-x * x / 2) }
		for i := -formReach; i <= formReach; i++ {
			sum += density(i)
		}
		for i := -formReach; i <= formReach; i++ {
			k[i+formReach] += f.weight * density(i) / sum
		}
	}
	return k
}()

// table is a function of the level on the fine grid: [phase][cell], at
// lowestLevel + cell·c + fine·phase.
type table [finePerCell][cells]float32

func levelAt(c, phase int) float64 {
	return lowestLevel + cell*float64(c) + fine*float64(phase)
}

// levels holds log p and log q for every point of the fine grid and formReach
// cells beyond either end.
var levels = func() (l struct {
	logP, logQ [finePerCell][cells + 2*formReach]float64
}) {
	for phase := range finePerCell {
		for c := range cells + 2*formReach {
			x := levelAt(c-formReach, phase)
			l.logP[phase][c], l.logQ[phase][c] = logLogistic(x), logLogistic(-x)
		}
	}
	return l
}()

// blur averages a function over the day's form: raw has formReach cells more
// at either end.
func blur(dst *[cells]float32, raw *[cells + 2*formReach]float64) {
	for c := range cells {
		sum := 0.0
		for k, w := range formKernel {
			sum += w * raw[c+k]
		}
		dst[c] = float32(sum)
	}
}
