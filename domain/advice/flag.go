package advice

import (
	"fmt"
	"math"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// flag has the phrases that the reasons inferred from the balls share.
type flag struct {
	*estimate.Flag
	state progress.State
}

// flagged is the rule of a reason that is inferred from the balls: it stands
// while its flag does.
func flagged(s progress.State, f *estimate.Flag, with func(flag) numbers) (Stall, bool) {
	if f == nil {
		return Stall{}, false
	}
	return Stall{Since: f.Date, SinceSession: f.Since, RaisedSession: f.Raised, Probability: f.Probability, numbers: with(flag{f, s})}, true
}

// rate writes "inside 5 ft: 58 % (51 to 65)": the level now, as it is told
// wherever the student's rate is. Balls that were judged elsewhere are named.
func (f flag) rate(r Reader) string {
	return rateText(r, f.state, f.Radius)
}

func (f flag) since() string {
	if f.Date == (domain.Date{}) {
		return fmt.Sprintf("session %d", f.Since)
	}
	return dayAndMonth(f.Date)
}

// chance writes how often the next step is passed: "with 20 balls a session, 10 in
// a row comes about once in 12 sessions", what is not known of the rate allowed for.
func (f flag) chance() string {
	return fmt.Sprintf("with %s a session, %s comes %s", count(f.BallsPerTest, "ball"), tierWords(f.Tier), onceIn(f.Chance))
}

// Season is how many sessions ahead the next step is spoken of: two a week for
// four months.
const Season = 30

// notThisSeason is the chance in one session below which a step is more likely not
// passed in a season.
const notThisSeason = math.Ln2 / Season

// wait writes how far away the next step is.
func (f flag) wait() string {
	switch {
	case f.Tier.Run == 0:
		return ""
	case f.BallsPerTest < f.Tier.Run:
		return fmt.Sprintf("; %s cannot be passed in %s", tierWords(f.Tier), count(f.BallsPerTest, "ball"))
	case f.Chance < notThisSeason:
		return "; " + f.chance() + ": unlikely even in 30"
	}
	return "; " + f.chance()
}
