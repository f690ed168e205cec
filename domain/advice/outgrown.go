package advice

import (
	"fringework/domain/estimate"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// Outgrown says that the next tier is too easy.
const Outgrown Reason = "outgrown"

var outgrown = rule{
	reason: Outgrown, label: "Too easy",
	atSkill: func(s progress.State) (Stall, bool) { return flagged(s, s.Assessment.Outgrown, toOutgrown) },
	inPast:  func(s estimate.Status) bool { return s.Outgrown },
	// It is tested once they practise again.
	unless: []Reason{Lapsed}, longest: LongestSilence,
}

type ease struct{ flag }

func toOutgrown(f flag) numbers { return ease{f} }

func (f ease) words(r Reader) (evidence, advice string) {
	evidence = f.rate(r) + "; " + f.chance() + "."
	if radius := r.rounded(float64(f.EvenRadius), down); radius > 0 && radius < f.Tier.Radius {
		harder := streak.Tier{Run: f.Tier.Run, Radius: radius}
		return evidence, "Test it, and go on to " + tierIn(r, harder) + " (about even odds in one session) or a longer shot."
	}
	return evidence, "Test it, and go on to a smaller circle, more in a row or a longer shot."
}

func (f ease) figure() string { return inShort(f.Chance) }
