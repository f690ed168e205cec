package streak

import (
	"sync"

	"fringework/domain"
)

// Question asks what a tier takes; its radius plays no part.
type Question struct {
	Run, Holed int
	Rates      Rates
	// Balls is how many balls are left to play, for instance in this session.
	Balls int
	// From is the current run.
	From Run
}

// Answer answers a Question.
type Answer struct {
	// Probability that the tier is passed within Balls further balls.
	Probability float64
	// Ever is the probability that it is passed at some time.
	Ever float64
	// Expected and Deviation are mean and standard deviation of the number of
	// further balls; +Inf when infinite.
	Expected, Deviation float64
	// Half and Ninety are the balls for even odds and for nine in ten; +Inf
	// when no number is enough.
	Half, Ninety float64
	// EvenRate is the inside rate that gives even odds within Balls with the
	// same share of holed; there is none unless HasEvenRate.
	EvenRate    float64
	HasEvenRate bool
}

// MaxBalls bounds the balls of a Question and the length of its current run.
const MaxBalls = 20_000

// Check notes everything wrong with a question in p, at the members "run",
// "holed", "rates", "balls" and "from" of the object at the JSON pointer at.
func (q Question) Check(p *domain.Problems, at string) {
	Tier{Run: q.Run, Holed: q.Holed, Radius: MaxRadius}.Check(p, at)
	q.Rates.Check(p, at+"/rates")
	if q.Balls < 0 || q.Balls > MaxBalls {
		p.Add(at+"/balls", "is %d; give 0 to %d balls", q.Balls, MaxBalls)
	}
	q.From.Check(p, at+"/from")
}

// Check notes what is wrong with a run in p, at its members "run" and "holed".
func (r Run) Check(p *domain.Problems, at string) {
	switch {
	case r.Length < 0 || r.Length > MaxBalls:
		p.Add(at+"/run", "the current run is from 0 to %d balls, got %d", MaxBalls, r.Length)
	case r.Holed < 0 || r.Holed > r.Length:
		p.Add(at+"/holed", "a run of %d holds from 0 to %d holed balls, got %d", r.Length, r.Length, r.Holed)
	}
}

// spare keeps odds for the next question, so that answering allocates nothing.
var spare = sync.Pool{New: func() any { return new(Odds) }}

// Answer computes the answer; the question is taken to satisfy Check. It may
// be used by many goroutines at once.
func (q Question) Answer() Answer {
	o := spare.Get().(*Odds)
	defer spare.Put(o)
	o.Prepare(Tier{Run: q.Run, Holed: q.Holed}, q.Rates)
	a := Answer{
		Probability: o.Within(q.From, q.Balls),
		Ever:        o.Ever(q.From),
		Expected:    o.Expected(q.From),
		Deviation:   o.Deviation(q.From),
		Half:        o.BallsFor(q.From, 0.5),
		Ninety:      o.BallsFor(q.From, 0.9),
	}
	a.EvenRate, a.HasEvenRate = o.RateFor(q.From, q.Balls, 0.5)
	return a
}

// Within is the probability that a tier is passed within a number of balls,
// beginning without a run.
func Within(t Tier, r Rates, balls int) float64 {
	o := spare.Get().(*Odds)
	defer spare.Put(o)
	o.Prepare(t, r)
	return o.Within(Run{}, balls)
}

// RateFor is the inside rate that gives a tier within a number of balls with
// probability level, beginning without a run, when the given share (0 to 1) of
// the balls inside is holed; ok is false when no rate does.
func RateFor(t Tier, share float64, balls int, level float64) (rate float64, ok bool) {
	o := spare.Get().(*Odds)
	defer spare.Put(o)
	o.Prepare(t, Rates{In: 1 - share, Holed: share})
	return o.RateFor(Run{}, balls, level)
}
