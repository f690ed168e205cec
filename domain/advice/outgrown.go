package advice

import (
	"fmt"

	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// Outgrown says that the next tier is too easy.
const Outgrown Reason = "outgrown"

var outgrown = rule{
	reason: Outgrown, label: "Too easy",
	atSkill: func(s progress.State) (Stall, bool) { return flagged(s, s.Assessment.Outgrown, toOutgrown) },
	inPast:  func(s estimate.Status) bool { return s.Outgrown },
	longest: LongestSilence,
}

type ease struct{ flag }

func toOutgrown(f flag) numbers { return ease{f} }

func (f ease) words(r Reader) (evidence, advice string) {
	evidence = f.rate(r) + "; " + f.chance() + "."
	if f.EvenScale > 0.2 && f.EvenScale < 1 {
		circle := fmt.Sprintf("a circle %.1f times as wide", f.EvenScale)
		if f.EvenRadius > 0 {
			circle = r.circle(f.EvenRadius, down)
		}
		return evidence, "Test it, and go on to " + circle + " (even odds in one session) or a longer shot."
	}
	return evidence, "Test it, and go on to a smaller circle, more in a row or a longer shot."
}
