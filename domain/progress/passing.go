package progress

import (
	"slices"

	"fringework/domain/streak"
)

// Passed reports whether the student has done what a tier asks, be it one of the
// track or not: passed a tier as hard, or had a run as long in a circle as close.
func (s State) Passed(t streak.Tier) bool {
	return slices.ContainsFunc(s.Tiers, func(r TierRecord) bool {
		best := streak.Tier{Run: r.Best.Length, Radius: r.Tier.Radius, Holed: r.Best.Holed}
		return best.AtLeast(t) || r.First != nil && r.Tier.AtLeast(t)
	})
}

// Passing is the chance, from 0 to 1, of passing any tier within a number of
// sessions of so many balls each, at the rate as it stands; ok is false with too
// few balls to tell. See [estimate.Assessment.Passing].
func (s State) Passing(t streak.Tier, balls, sessions int) (chance float64, ok bool) {
	focus, known := s.Focus()
	if !known || s.Recent.Balls() < oddsFrom {
		return 0, false
	}
	return s.Assessment.Passing(t, focus.Radius, balls, sessions), true
}
