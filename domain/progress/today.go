package progress

import "fringework/domain/streak"

// Odds are a student's odds of the next tier, for a page that has no network.
type Odds struct {
	Tier  streak.Tier
	Rates streak.Rates
	// Balls is how far Table reaches.
	Balls int
	Table streak.Table
}

// Bounds of the odds that a phone is given: sessions of up to sixty balls, and
// no more cells than a phone wants to fetch.
const (
	oddsBalls = 60
	oddsCells = 20_000
	// oddsFrom is how many judged balls it takes to speak of odds at all.
	oddsFrom = 10
)

// Odds gives the odds of the next tier at the rate as it stands; ok is false
// without one, with too few balls to tell, or when the table would be too
// large. The share of holed balls is the assessment's.
func (s State) Odds() (o Odds, ok bool) {
	next, open := s.Next()
	if !open || s.Recent.Balls() < oddsFrom || (next.Run+1)*(next.Holed+1)*(oddsBalls+1) > oddsCells {
		return Odds{}, false
	}
	holed := s.Assessment.HoledShare
	mean := s.Assessment.Rate.Mean
	rates := streak.Rates{In: mean * (1 - holed), Holed: mean * holed}
	return Odds{Tier: next, Rates: rates, Balls: oddsBalls, Table: streak.TableOf(next, rates, oddsBalls)}, true
}
