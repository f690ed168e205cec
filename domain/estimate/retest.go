package estimate

import (
	"math"
	"sync"

	"fringework/domain/streak"
)

// Retest is what came of the balls of one retest: the first ones of the day at the
// skill, in the circle of the step. Only the first RetestBalls of them count.
type Retest struct {
	// Balls is 0 … RetestBalls, and Inside 0 … Balls.
	Balls, Inside int
}

// RetestBalls is how many balls a retest has: few enough to be done before the
// warm-up, and to be still struck cold.
const RetestBalls = 10

// Limits of the rule, set on the population setting of the tests alone; see [HeldAt]
// for what they give on another.
const (
	// askedChance is the chance of the step, in a usual test, at the rate that it asks.
	askedChance = 0.4
	// warmHand is how far below that rate, in logits, a student is taken to be whose
	// gain is all warm-up: 55 % instead of 75 %.
	warmHand = 0.9
	// enough is the log of how many times likelier the rate that is asked must have
	// made the balls.
	enough = 1.0
	// forgiven is how much of what spoke against the student stays for the next retest.
	forgiven = -1.0
)

// HeldAt says which retest bore a step out, counted from 1; 0 while none did. The
// retests are in the order they were played, all after the step was passed.
//
// Balls in a row after half an hour of equal shots show how a student performs that
// day. Whether it was learned shows later, cold: R. A. Schmidt and R. A. Bjork, New
// conceptualizations of practice, Psychological Science 3 (1992) 207-217; N. C.
// Soderstrom and R. A. Bjork, Learning versus performance, Perspectives on
// Psychological Science 10 (2015) 176-199; S. S. Kantak and C. J. Winstein,
// Learning-performance distinction and memory processes for motor skills, Behavioural
// Brain Research 228 (2012) 219-231. References from memory.
//
// The rule asks which explains the cold balls better: the rate that the step asks
// ([AskedCold]), or one that is 0.9 logits lower, where a gain that is all warm-up
// leaves a student. It adds up the log of the likelihood ratio from retest to retest
// (A. Wald, Sequential Analysis, 1947), and the step is held once that reaches 1.
// It never says that a step is lost. What speaks against the student weighs −1 at
// most when the next retest begins, so that who learns later is not held to old days
// (E. S. Page, Continuous inspection schemes, Biometrika 41 (1954) 100-115). One retest
// of ten balls bears a step of 5 in a row out with 6 inside, of 9 with 8, of 12 with 9.
// One that is broken off counts, but only a whole one can hold a step.
//
// In per cent of students who passed the step, after so many retests: those wrongly
// held, whose gain (1 logit on average) shows only once they are warm; and those
// wrongly not held yet, whose gain is there cold. The limits were set on the first
// population, and the second was drawn afterwards by another process: gains in jumps
// of which a part is forgotten, heavy-tailed form with a memory, mishits, and a
// warm-up that goes on for thirty balls. "go test ./domain/estimate -run TestHeld -v
// -draws 4000" prints the table.
//
//	retests                        1     2     3     4     5     6
//	setting    wrongly held        6     9    12    15    17    21
//	           wrongly not held   65    45    33    25    19    16
//	report     wrongly held        5     8    10    11    13    14
//	           wrongly not held   65    47    38    32    28    24
func HeldAt(t streak.Tier, retests []Retest) int {
	asked := AskedCold(t)
	lower := logistic(logit(asked) - warmHand)
	in, out := math.Log(asked/lower), math.Log((1-asked)/(1-lower))
	weight := 0.0
	for i, r := range retests {
		weight = math.Max(weight, forgiven) + in*float64(r.Inside) + out*float64(r.Balls-r.Inside)
		if weight >= enough && r.Balls >= RetestBalls {
			return i + 1
		}
	}
	return 0
}

// usualTest is how many balls a usual test of a step has: twenty, or four times as
// many as it asks in a row. It does not depend on the student, so that a step that is
// held stays so.
func usualTest(run int) int { return max(20, 4*run) }

// askedRates keeps the rates of steps that were asked for.
var askedRates sync.Map

// AskedCold is the rate of balls inside, from 0 to 1, that a step asks of cold balls:
// the one that passes it in two of five tests of twenty balls, or of four times as
// many as it asks in a row. Holed balls are left out: ten show nothing of them.
func AskedCold(t streak.Tier) float64 {
	if known, ok := askedRates.Load(t.Run); ok {
		return known.(float64)
	}
	rate, _ := streak.RateFor(streak.Tier{Run: t.Run}, 0, usualTest(t.Run), askedChance)
	askedRates.Store(t.Run, rate)
	return rate
}
