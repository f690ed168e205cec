package advice

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"fringework/domain/streak"
)

// OneIn writes a chance per session, from 0 to 1, as people say it: "about 1
// session in 170", to two digits; "less than 1 session in 1,000" when it is, and
// "no session" for 0.
func OneIn(p float64) string {
	switch {
	case p <= 0:
		return "no session"
	case p < 0.001:
		return "less than 1 session in 1,000"
	case p > mostSessions:
		return "most sessions"
	}
	n := math.Round(1 / p)
	if n >= 100 {
		n = 10 * math.Round(0.1/p)
	}
	if n >= 1000 {
		return "about 1 session in 1,000"
	}
	return "about 1 session in " + strconv.Itoa(int(n))
}

// onceIn writes a chance per session as how often that is: "about once in 170
// sessions", "in most sessions".
func onceIn(p float64) string {
	before, n, told := strings.Cut(OneIn(p), "1 session in ")
	if !told {
		return "in " + OneIn(p)
	}
	return before + "once in " + n + " sessions"
}

// inShort writes a chance per session in short: "1 in 40".
func inShort(p float64) string {
	if 0 < p && p < 0.001 {
		return "under 1 in 1,000"
	}
	_, in, told := strings.Cut(OneIn(p), "1 session ")
	if !told {
		return OneIn(p)
	}
	return "1 " + in
}

// HardStep tells the author of a ladder that almost nobody will pass a step, in
// sessions of so many balls; empty when that is not so. It names no radius: the
// step stands beside it, in the reader's units.
func HardStep(p streak.TierPreview, balls int) string {
	switch {
	case p.Hard == nil:
		return ""
	case p.Tier.Run > balls:
		return fmt.Sprintf("%s cannot be passed in %s; shorten the run or plan more balls.", inARow(p.Tier.Run), count(balls, "ball"))
	case p.Hard.PerSession == 0:
		return fmt.Sprintf("It asks for %d holed, and none of the balls inside is expected to be; ask for fewer.", p.Tier.Holed)
	}
	text := fmt.Sprintf("In sessions of %s, a student with %s inside passes it in %s: unlikely even in 30 sessions.",
		count(balls, "ball"), percent(p.Hard.Rate), OneIn(p.Hard.PerSession))
	switch {
	case math.IsNaN(p.EvenRate):
		text += " Even with every ball inside the odds are below even."
	case p.EvenRate > 0.99:
		text += " Even odds in one session take over 99 % inside."
	default:
		text += fmt.Sprintf(" Even odds in one session take %.0f %% inside.", math.Ceil(100*p.EvenRate))
	}
	remedy := " Shorten the run, widen the circle, or put a step in between."
	if p.Tier.Holed > 0 {
		remedy = " Shorten the run, ask for fewer holed, widen the circle, or put a step in between."
	}
	return text + remedy
}
