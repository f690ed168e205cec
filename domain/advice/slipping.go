package advice

import (
	"fmt"

	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// Slipping says that a fall is likely and large enough to matter.
const Slipping Reason = "slipping"

var slipping = rule{
	reason: Slipping, label: "Getting worse",
	atSkill:     func(s progress.State) (Stall, bool) { return flagged(s, s.Assessment.Slipping, toSlipping) },
	inPast:      func(s estimate.Status) bool { return s.Slipping },
	reliability: "In simulations this warning was right about 9 times in 10 or more.",
	unlessNear:  true, longest: LongestSilence,
}

type slip struct{ flag }

func toSlipping(f flag) numbers { return slip{f} }

func (f slip) words(r Reader) (evidence, advice string) {
	evidence = f.rate(r)
	if f.Before > 0 {
		evidence += ", " + f.downFrom()
	} else {
		evidence += ", falling"
	}
	evidence += f.wait()
	if f.Tier.Run > 0 && f.MedianSessions == 0 && f.Chance >= notThisSeason {
		evidence += ", but hardly while it goes on falling"
	}
	evidence += "."
	return evidence, "Ask what changed around " + f.since() + ", and look at the technique before the next test."
}

// downFrom writes "down from 58 % (52 to 64) before about 13 October".
func (f flag) downFrom() string {
	return fmt.Sprintf("down from %.0f %% (%.0f to %.0f) before about %s", 100*f.Before, 100*f.BeforeLo, 100*f.BeforeHi, f.since())
}

func (f slip) figure() string {
	now := f.state.Assessment.Rate.Mean
	if f.Before > 0 {
		return points(now - f.Before)
	}
	return percent(now)
}
