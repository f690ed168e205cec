package estimate

import (
	"math"

	"fringework/domain"
)

// LotTest is a test of which the lot decided whether the run and the odds were hidden.
type LotTest struct {
	Skill  domain.ID
	Radius domain.Length
	// Hidden is what the lot said, with even odds, whatever became of the test.
	Hidden bool
	// Balls is at least 0, and Inside 0 … Balls.
	Balls, Inside int
}

// ArmTally counts the tests of one lot, those with a ball, and their balls.
type ArmTally struct{ Tests, Balls, Inside int }

// Quiet compares tests with the run shown and tests with it hidden.
type Quiet struct {
	Shown, Hidden ArmTally
	// Told says whether Difference and Interval95 mean something: it takes a test of
	// either kind.
	Told bool
	// Difference is the rate of balls inside with the run shown, less that with it
	// hidden, from −1 to 1.
	Difference float64
	// Interval95 holds the true difference at every look at once with at least 95 %.
	Interval95 Interval
	Finding    Gap
}

const (
	// quietSize is the chance of any finding, ever, where hiding changes nothing.
	quietSize = 0.05
	// quietScale is the variance of the normal mixture; it makes the comparison
	// sharpest after some sixty tests.
	quietScale = 16.0
	// faded is how much less a test counts for what is expected than the one after it;
	// before any a test is expected to have twenty balls, half of them inside, which
	// counts as a fifth of a test.
	faded, usualBalls, unknownTests = 0.9, 20.0, 0.2
)

// QuietOf compares the tests of a student, in the order they were begun: whether the
// balls stop inside less often when the run and the odds are shown. The question of
// what the attention of others, or what is at stake, does to a practised shot is that
// of S. L. Beilock and T. H. Carr, On the fragility of skilled performance: What
// governs choking under pressure?, Journal of Experimental Psychology: General 130
// (2001) 701-725.
//
// The lot makes the comparison fair: whoever is tired, warm or in form is so with
// either lot. A test counts by its lot and not by what the student then did, so that
// nobody is selected for having looked, or given up. Each test gives how many of its
// balls were inside beyond what the earlier tests of the skill and circle let expect,
// over the balls that such a test usually has, with a plus where the run was shown and
// a minus where it was hidden. Where hiding changes nothing that sign is a fair coin's, so
// that exp(λS − λ²V/2), with S the sum and V the sum of the squares, has at most the
// mean 1 at every λ and after every number of tests: V. H. de la Peña, A general class
// of exponential inequalities for martingales and ratios, Annals of Probability 27
// (1999) 537-564. Averaged over a normal λ of variance 16 it stays below 20 for ever
// with 95 % (J. Ville 1939; H. Robbins, Statistical methods related to the law of the
// iterated logarithm, Annals of Mathematical Statistics 41 (1970) 1397-1409; S. R.
// Howard and others, Time-uniform, nonparametric, nonasymptotic confidence sequences,
// Annals of Statistics 49 (2021) 1055-1080). References from memory. A coach may thus
// look after every session and stop when they please. The interval has all differences
// for which that average, with the difference taken out of the tests, is below 20.
//
// In per cent of students, of whom a coach looks after every test of up to 20 balls,
// one a session: those of whom a drop, or a rise, was ever told by then. "go test
// ./domain/estimate -run TestQuiet -v -draws 4000" prints the table. The population
// was drawn after the constants were set on another: form with heavy tails and a
// memory, gains in jumps, and tests of unlike length that stop at success.
//
//	points lower   20 tests   40     60     80    120    200   always in the interval
//	 0                0.2    0.5    0.7    0.8    0.9    1.2    98.8
//	 5                0.5    2.7    4.6    7.7   13.7   26.4    98.7
//	10                2.0   12.7   27.3   43.2   66.5   92.7    99.1
//	15                7.7   42.3   68.7   85.7   97.4    100    98.4
//	20               16.8   74.0   94.1   98.5   99.9    100    98.4
func QuietOf(tests []LotTest) Quiet {
	q := Quiet{Finding: GapOpen}
	for _, t := range tests {
		q.count(t)
	}
	if q.Told = q.Shown.Tests > 0 && q.Hidden.Tests > 0; q.Told {
		q.compare(signedOf(tests))
	}
	return q
}

// signedOf gives the tests with a ball, each against what those before it let expect.
func signedOf(tests []LotTest) []signedTest {
	signed := make([]signedTest, 0, len(tests))
	expected := map[circleOf]*hope{}
	for _, t := range tests {
		if t.Balls == 0 {
			continue
		}
		at := circleOf{t.Skill, t.Radius}
		if expected[at] == nil {
			expected[at] = newHope()
		}
		signed = append(signed, expected[at].signed(t))
		expected[at].take(t)
	}
	return signed
}

func (q *Quiet) count(t LotTest) {
	if t.Balls == 0 {
		return
	}
	arm := &q.Shown
	if t.Hidden {
		arm = &q.Hidden
	}
	arm.Tests++
	arm.Balls += t.Balls
	arm.Inside += t.Inside
}

// circleOf is what a rate is expected of.
type circleOf struct {
	skill  domain.ID
	radius domain.Length
}

// hope is what the tests so far let expect, of either lot.
type hope struct{ shown, hidden sofar }

// sofar sums up tests, the later ones more.
type sofar struct{ inside, balls, tests float64 }

func newHope() *hope {
	unknown := sofar{unknownTests * usualBalls / 2, unknownTests * usualBalls, unknownTests}
	return &hope{unknown, unknown}
}

func (h *hope) take(t LotTest) {
	s := &h.shown
	if t.Hidden {
		s = &h.hidden
	}
	s.inside = faded*s.inside + float64(t.Inside)
	s.balls = faded*s.balls + float64(t.Balls)
	s.tests = faded*s.tests + 1
}

// rate is midway between those of the two lots, also where the tests of one are longer.
func (h *hope) rate() float64 {
	return (h.shown.inside/h.shown.balls + h.hidden.inside/h.hidden.balls) / 2
}

func (h *hope) usual() float64 {
	return (h.shown.balls + h.hidden.balls) / (h.shown.tests + h.hidden.tests)
}

// signedTest is the surplus of a test, with its sign, and how much of it a difference
// of 1 between shown and hidden would be.
type signedTest struct{ surplus, reach float64 }

// signed gives a test against what is expected. The difference is shared: half of it
// above where the run is hidden, and half of it below where it is shown. The divisor is
// known before the test, so that one that stops at success weighs no more for it.
func (h *hope) signed(t LotTest) signedTest {
	n, usual := float64(t.Balls), h.usual()
	surplus := (float64(t.Inside) - h.rate()*n) / usual
	if t.Hidden {
		surplus = -surplus
	}
	return signedTest{surplus, n / usual / 2}
}

// compare finds the difference that the tests are even about, and those that they do
// not exclude.
func (q *Quiet) compare(tests []signedTest) {
	var surplus, reach float64
	for _, t := range tests {
		surplus += t.surplus
		reach += t.reach
	}
	q.Difference = min(1, max(-1, surplus/reach))
	q.Interval95 = Interval{edge(tests, q.Difference, -1), edge(tests, q.Difference, 1)}
	q.Finding = gapOf(q.Interval95)
}

// excluded reports whether the tests speak against a difference so much that at any
// look they do so with 5 % at most where it is true.
func excluded(tests []signedTest, difference float64) bool {
	var sum, squares float64
	for _, t := range tests {
		x := t.surplus - difference*t.reach
		sum += x
		squares += x * x
	}
	return sum*sum >= (squares+1/quietScale)*(math.Log1p(quietScale*squares)-2*math.Log(quietSize))
}

// edge is how far from a difference that is not excluded towards a limit the others
// are not: to 1e-6, by halving.
func edge(tests []signedTest, from, to float64) float64 {
	if !excluded(tests, to) {
		return to
	}
	for math.Abs(to-from) > 1e-6 {
		if middle := (from + to) / 2; excluded(tests, middle) {
			to = middle
		} else {
			from = middle
		}
	}
	return to
}
