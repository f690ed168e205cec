package estimate

import (
	"math"

	"fringework/domain"
)

const (
	// FairShare is the share of balls that each player of a fair match is to have
	// inside: at a half the day's form, and what is not known of a rate, pull neither way.
	FairShare = 0.5
	// FairBalls is how many balls of today the evidence must be worth before a circle
	// is told: with fewer, what is taken of all players decides more than the player
	// (our choice: one usual session).
	FairBalls = 20
	// fairStep is what a circle is rounded to: nobody lays one out more exactly.
	fairStep = domain.Metre / 20
	// fairStretch is by how much more of a logarithm than expected a circle differs from
	// the one the balls were judged in: an extreme rate is taken for less extreme than it
	// is, since it is averaged over what is not known. Set on FairSetting; an earlier
	// population was seen meanwhile, so what is published is of another, drawn afterwards.
	fairStretch = 1.1
	// fairScale bounds how much wider or narrower it may be than the circle that the
	// balls were judged in: beyond that the shape of the scatter decides.
	fairScale = 3
)

// FairCircle is the circle in which a player is expected to have half of the balls of a
// session, so that two who play the same cards, each to their own circle, are as likely
// to win. radius is that of the circle the assessment is of. What is not known of the
// rate, the day's form and the shapes a scatter may have are averaged over
// ([SessionRate.Inside]). It is rounded to 5 cm.
//
// No player learns the other's rate: each has the circle from their own alone.
//
// ok is false where the rate is worth less than FairBalls balls, and where the circle
// would be less than a third of radius or more than three times it.
//
// What the better of unequal pairs win of the decided matches of twelve cards, in
// simulation: 5,000 pairs a line of the population FairPublished of package learners,
// which was drawn when all was set, by another model: good and bad days that last,
// sessions of 10 to 30 balls, a level that moves, cards that are harder or easier than
// what was practised, and other scatters. A share is within 1.5 points of what it is in
// 95 of 100 draws. By "go test ./domain/estimate/learners -run Fair -fair 5000 -v":
//
//	rates inside 2 m      sessions   both to 2 m   each to their own
//	55-65 %, 35-45 %             2          85 %                49 %
//	55-65 %, 35-45 %             6          85 %                48 %
//	55-65 %, 35-45 %            15          85 %                49 %
//	65-80 %, 20-35 %             2          99 %                46 %
//	65-80 %, 20-35 %             6          99 %                47 %
//	65-80 %, 20-35 %            15          98 %                47 %
//
// On FairSetting it is 49 to 51 %. The better lose a little more than they should where
// form lasts: the circle follows the last good days, and the match may come on a bad one.
func (a Assessment) FairCircle(radius domain.Length) (circle domain.Length, ok bool) {
	if a.Rate.EffectiveBalls < FairBalls || radius <= 0 {
		return 0, false
	}
	scale := math.Pow(ScaleFor(FairShare, a.SessionRate().Inside), fairStretch)
	if scale < 1.0/fairScale || scale > fairScale {
		return 0, false
	}
	steps := math.Round(scale * float64(radius) / float64(fairStep))
	return domain.Length(max(1, steps)) * fairStep, true
}
