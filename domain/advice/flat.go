package advice

import (
	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// Flat says that the student practises, and a gain has become improbable.
const Flat Reason = "flat"

var flat = rule{
	reason: Flat, label: "Not improving",
	atSkill:     func(s progress.State) (Stall, bool) { return flagged(s, s.Assessment.Flat, toFlat) },
	inPast:      func(s estimate.Status) bool { return s.Flat },
	reliability: "With simulated students such a flag was right 19 times in 20 or more.",
	// Who does not practise cannot gain: that is the thing to say.
	unlessNear: true, unless: []Reason{Lapsed}, longest: LongestSilence,
}

type level struct{ flag }

func toFlat(f flag) numbers { return level{f} }

func (f level) words(r Reader) (evidence, advice string) {
	evidence = f.rate(r)
	if change := changeWords(f.Trend, f.state.Assessment.Rate); change != "" {
		evidence += "; " + change
	}
	if f.Rose {
		evidence += ": no gain shown since about " + f.since()
	} else {
		evidence += ": no gain shown, a slow one is possible"
	}
	evidence += f.wait() + "."
	advice = "Change one thing for the next three sessions: the spot, the club, or more of the time in random practice."
	if step := f.step(r); step != "" {
		advice += " To play for meanwhile: " + step + "."
	}
	return evidence, advice
}
