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
	evidence += ": no gain shown"
	switch c, known := f.Trend.Change(f.state.Assessment.Rate); {
	case f.Rose:
		evidence += " since about " + f.since()
	case known && c.Interval80.Hi >= slowGain:
		evidence += ", a slow one is possible"
	}
	evidence += f.wait() + "."
	advice = "Change one thing for the next three sessions: the spot, the club, or more of the time in random practice."
	if step := f.step(r); step != "" {
		advice += " To play for meanwhile: " + step + "."
	}
	return evidence, advice
}
