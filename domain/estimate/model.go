package estimate

import "math"

// The model of a learner. The level of a student at a skill is the log odds
// that a ball comes to rest inside. From one practised session to the next it
// rises, rises slowly, stays, or falls, at a pace that holds until the student
// changes over to another of the four ways of going; every session has a day's
// form of its own on top.
//
// The numbers below are our reading of how practice goes, not fitted to any
// data set, and the operating characteristics in the package comment are
// measured with learners drawn otherwise.
const (
	// The chances that a student begins by rising, by rising slowly, or by
	// falling; the others begin by staying where they are. Who is known for longer
	// than the window has more often settled.
	startRising, startSlow, startFalling = 0.42, 0.25, 0.04
	laterRising, laterSlow, laterFalling = 0.20, 0.20, 0.01
	// The chance per session of changing over. A rise lasts some 16 sessions
	// before it levels off or slows down. A student who stays where he is seldom
	// starts to rise without a change in the programme, and starts to fall about
	// once in 80 sessions. A fall goes on unless something is done about it.
	levelsOff    = 0.05
	slowsDown    = 0.004
	slowLevels   = 0.01
	picksUp      = 0.003 // from slow to rising
	startsToRise = 0.004
	startsSlowly = 0.004
	startsToFall = 0.015
	stopsFalling = 0.005
	turnsAround  = 0.002 // from rising to falling at once, or back

	finePerCell   = 5
	cell          = 0.1 // logits
	fine          = cell / finePerCell
	lowestLevel   = -5.0
	cells         = 120 // up to a level of 7
	points        = cells * finePerCell
	longestStride = 2 // cells a session: the steepest pace below
)

// way is one way of going: a pace, in steps of fine (0.02 logits) a session, and
// its weight among those of its sort. At 50 % one step is half a percentage
// point a session.
type way struct {
	steps  int
	weight float64
}

// A slow rise takes 20 sessions from 50 to 60 %: real, but seldom worth waiting
// for. A rise worth having is twice as fast at least.
var (
	slowWay     = []way{{1, 1}}
	risingWays  = weighted([]way{{2, 35}, {3, 35}, {4, 25}, {5, 5}})
	fallingWays = weighted([]way{{-2, 20}, {-4, 45}, {-6, 35}})
)

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

// formSDs are the standard deviations, in logits, that the day's form may have:
// 0.2 at 50 % is ± 5 percentage points.
var formSDs = [4]float64{0.1, 0.2, 0.35, 0.6}

// formKinds are what a student's form may be like: how much it differs from day
// to day, how much of it is left at the next session, and how likely that is
// before anything is known of the student.
var formKinds = [...]formKind{
	{0, 0, 0.30}, {1, 0, 0.26}, {1, 0.5, 0.11}, {2, 0, 0.14}, {2, 0.5, 0.15}, {3, 0.5, 0.04},
}

type formKind struct {
	sd             int // of formSDs
	memory, weight float64
}

// carried is the share of how far the last session by itself was from the level,
// sampled with a variance, that is left of it at the next.
func (k *formKind) carried(variance float64) float64 {
	own := formSDs[k.sd] * formSDs[k.sd]
	return k.memory * own / (own + variance)
}

// formReach is how many cells the day's form may move the level.
const formReach = 15

// formKernels are the distributions of the day's form in steps of one cell.
var formKernels = func() (ks [len(formSDs)][2*formReach + 1]float64) {
	for n, sd := range formSDs {
		k, sum := &ks[n], 0.0
		for i := range k {
			x := float64(i-formReach) * cell / sd
			k[i] = math.Exp(-x * x / 2)
			sum += k[i]
		}
		for i := range k {
			k[i] /= sum
		}
	}
	return ks
}()

// table is a function of the level, at lowestLevel + fine·i.
type table [points]float32

// wide is a function of the level with formReach cells more at either end.
type wide [points + 2*formReach*finePerCell]float64

// levelAt is the level at a point of a table; those of a wide one begin formReach
// cells lower.
func levelAt(i int) float64 { return lowestLevel + fine*float64(i) }

func wideLevelAt(i int) float64 { return levelAt(i - formReach*finePerCell) }

// levels holds log p and log q for every point of a wide table.
var levels = func() (l struct{ logP, logQ wide }) {
	for i := range l.logP {
		x := wideLevelAt(i)
		l.logP[i], l.logQ[i] = logLogistic(x), logLogistic(-x)
	}
	return l
}()

// rates holds p and p² for every point of a table.
var rates = func() (r struct{ p, square table }) {
	for i := range r.p {
		p := logistic(levelAt(i))
		r.p[i], r.square[i] = float32(p), float32(p*p)
	}
	return r
}()

// blur averages a function over the day's form of one standard deviation. The
// function is 0 outside [from, to).
func blur(dst *table, raw *wide, sd, from, to int) {
	// Most of a narrow kernel is nothing.
	reach := min(formReach, int(math.Ceil(4.5*formSDs[sd]/cell)))
	kernel := formKernels[sd][formReach-reach : formReach+reach+1]
	clear(dst[:])
	first := max(0, from-(formReach+reach)*finePerCell)
	last := min(len(dst), to-(formReach-reach)*finePerCell)
	for i := first; i < last; i++ {
		sum := 0.0
		at := i + (formReach-reach)*finePerCell
		for _, w := range kernel {
			sum += w * raw[at]
			at += finePerCell
		}
		dst[i] = float32(sum)
	}
}
