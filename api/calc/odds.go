package calc

import (
	"fringework/domain"
	"fringework/domain/streak"
)

var streakOdds = define[oddsIn, OddsOut]("streak-odds",
	"The odds of passing a step of a ladder at given rates: within a number of balls, the balls to expect, the balls for even odds, and the rate that gives even odds.",
	`{"run":5,"holed":1,"rates":{"in":0.6,"holed":0.03},"balls":45,"from":{"run":2,"holed":0}}`, answerOdds)

// oddsIn is the input of streak-odds.
type oddsIn struct {
	Run *int `json:"run" validate:"required"`
	// Holed is how many of the balls in a row must be holed.
	Holed *int `json:"holed" validate:"required"`
	// Rates are how often a ball is inside, and how often it is holed.
	Rates *ratesIn `json:"rates" validate:"required"`
	// Balls is how many balls there are to pass the step with.
	Balls *int `json:"balls" validate:"required"`
	// From is optional: what already stands in a row.
	From *fromIn `json:"from"`
}

// ratesIn is how often a ball is inside, and how often it is holed.
type ratesIn struct {
	// In is the share of balls that stop inside the circle without being holed, from 0 to 1.
	In *float64 `json:"in" validate:"required"`
	// Holed is the share of balls that are holed, from 0 to 1.
	Holed *float64 `json:"holed" validate:"required"`
}

// fromIn is balls in a row that stand already.
type fromIn struct {
	// Run is how many balls in a row stand already.
	Run *int `json:"run" validate:"required"`
	// Holed is how many of them were holed.
	Holed *int `json:"holed" validate:"required"`
}

// OddsOut is the answer of streak-odds.
type OddsOut struct {
	// Probability of the tier within the balls asked for.
	Probability float64 `json:"probability"`
	// ExpectedBalls and DeviationBalls are mean and standard deviation of the
	// number of balls; null when infinite or beyond the range of a double.
	ExpectedBalls  *float64 `json:"expected_balls"`
	DeviationBalls *float64 `json:"deviation_balls"`
	// BallsFor is the balls for even odds and for nine in ten; null when no
	// number is enough.
	BallsFor BallsForOut `json:"balls_for"`
	// Ever is the probability that the tier is passed at some time.
	Ever float64 `json:"ever"`
	// RateForEvenOdds is the inside rate that gives even odds within the balls
	// with the same share of holed; null when none does.
	RateForEvenOdds *float64 `json:"rate_for_even_odds"`
}

// BallsForOut is a number of balls for each of two probabilities.
type BallsForOut struct {
	// Half is for even odds.
	Half *float64 `json:"0.5"`
	// Ninety is for nine in ten.
	Ninety *float64 `json:"0.9"`
}

func answerOdds(in oddsIn, p *domain.Problems) (any, error) {
	rates, from := need(p, "/rates", in.Rates), fromIn{Run: new(int), Holed: new(int)}
	if in.From != nil {
		from = *in.From
	}
	q := streak.Question{
		Run: need(p, "/run", in.Run, streak.MaxRun), Holed: need(p, "/holed", in.Holed), Balls: need(p, "/balls", in.Balls),
		From: streak.Run{Length: need(p, "/from/run", from.Run, streak.MaxBalls), Holed: need(p, "/from/holed", from.Holed)},
	}
	if in.Rates != nil {
		q.Rates = streak.Rates{In: need(p, "/rates/in", rates.In), Holed: need(p, "/rates/holed", rates.Holed)}
	}
	if q.Check(p, ""); len(p.Fields()) > 0 {
		return nil, nil
	}
	a := q.Answer()
	return OddsOut{
		Probability: a.Probability, Ever: a.Ever,
		ExpectedBalls: finite(a.Expected), DeviationBalls: finite(a.Deviation),
		BallsFor:        BallsForOut{Half: finite(a.Half), Ninety: finite(a.Ninety)},
		RateForEvenOdds: finiteIf(a.HasEvenRate, a.EvenRate),
	}, nil
}
