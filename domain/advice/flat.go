package advice

import (
	"fmt"

	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// Flat says that the student practises, and a gain has become improbable.
const Flat Reason = "flat"

var flat = rule{
	reason: Flat, label: "Not improving",
	atSkill:     func(s progress.State) (Stall, bool) { return flagged(s, s.Assessment.Flat, toFlat) },
	inPast:      func(s estimate.Status) bool { return s.Flat },
	reliability: "In simulations this warning was right at least 19 times in 20.",
	// Who does not practise cannot gain: that is the thing to say.
	unlessNear: true, unless: []Reason{Lapsed}, longest: LongestSilence,
}

// slowGain is the change from the first to the last session that a slow gain may
// come to.
const slowGain = 0.02

type level struct{ flag }

func toFlat(f flag) numbers { return level{f} }

func (f level) words(r Reader) (evidence, advice string) {
	evidence = f.rate(r)
	if change := changeWords(f.Trend, f.state.Assessment.Rate); change != "" {
		evidence += "; " + change
	}
	switch c, known := f.Trend.Change(f.state.Assessment.Rate); {
	case f.Rose:
		evidence += ": no gain shown since about " + f.since()
	case known && c.Interval80.Hi >= slowGain:
		evidence += ": no clear gain yet"
	case known && c.Interval80.Hi < 0:
		evidence += ": down, if anything"
	default:
		evidence += ": no gain shown"
	}
	evidence += f.wait() + "."
	if judgedElsewhere(f.state) {
		return evidence, fmt.Sprintf("Judge the next sessions at %s, where the next step is.", r.exact(f.Radius))
	}
	advice = "Change one thing for the next three sessions: the spot, the club, or more of the time in random practice."
	if step := f.step(r); step != "" {
		advice += " Meanwhile, go for " + step + "."
	}
	return evidence, advice
}

func (f level) figure() string { return count(f.Trend.Sessions, "session") }
