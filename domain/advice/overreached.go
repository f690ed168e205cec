package advice

import (
	"fmt"

	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// Overreached says that the next tier is out of reach at this rate.
const Overreached Reason = "overreached"

var overreached = rule{
	reason: Overreached, label: "Next step out of reach",
	atSkill:    func(s progress.State) (Stall, bool) { return flagged(s, s.Assessment.Overreached, toOverreached) },
	inPast:     func(s estimate.Status) bool { return s.Overreached },
	unlessNear: true, longest: LongestSilence,
}

type reach struct{ flag }

func toOverreached(f flag) numbers { return reach{f} }

func (f reach) words(r Reader) (evidence, advice string) {
	evidence = f.rate(r) + f.wait() + "."
	if f.BallsPerTest < f.Tier.Run {
		return evidence, fmt.Sprintf("Plan tests of at least %d balls.", 2*f.Tier.Run)
	}
	if step := f.step(r); step != "" {
		return evidence, "Put something easier before it: " + step + "."
	}
	return evidence, "Put something easier before it: a shorter shot, or a better lie."
}

func (f reach) figure() string {
	if f.BallsPerTest < f.Tier.Run {
		return count(f.BallsPerTest, "ball") + " a test"
	}
	return inShort(f.Chance)
}
