package advice

import (
	"fmt"
	"math"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// flag has the phrases that the reasons inferred from the balls share.
type flag struct{ *estimate.Flag }

// flagged is the rule of a reason that is inferred from the balls: it stands
// while its flag does. A flag without a next tier has no radius of its own; the
// balls were judged at that of the state's focus.
func flagged(s progress.State, f *estimate.Flag, with func(flag) numbers) (Stall, bool) {
	if f == nil {
		return Stall{}, false
	}
	shown := *f
	if focus, judged := s.Focus(); judged && shown.Radius == 0 {
		shown.Radius = focus.Radius
	}
	return Stall{Since: f.Date, SinceSession: f.Since, RaisedSession: f.Raised, Probability: f.Probability, numbers: with(flag{&shown})}, true
}

// rate writes "inside 5 ft: 58 % (51 to 65) over the last 9 sessions".
func (f flag) rate(r Reader) string {
	where := "inside"
	if f.Radius > 0 {
		where += " " + r.exact(f.Radius)
	}
	return fmt.Sprintf("%s: %.0f %% (%.0f to %.0f) over the last %s", where, 100*f.Rate, 100*f.RateLo, 100*f.RateHi, count(f.Sessions, "session"))
}

func (f flag) since() string {
	if f.Date == (domain.Date{}) {
		return fmt.Sprintf("session %d", f.Since)
	}
	return dayAndMonth(f.Date)
}

// chance writes how likely the next step is in one session.
func (f flag) chance() string {
	return fmt.Sprintf("the chance of %s in %s is %s a session", inARow(f.Tier.Run), count(f.BallsPerTest, "ball"), percent(f.Chance))
}

// season is how many sessions ahead the next step is spoken of: two a week for
// five months.
const season = 40

// wait writes how long the next step takes.
func (f flag) wait() string {
	switch {
	case f.Tier.Run == 0:
		return ""
	case f.BallsPerTest < f.Tier.Run:
		return fmt.Sprintf("; %s cannot be made in %s", inARow(f.Tier.Run), count(f.BallsPerTest, "ball"))
	case f.MedianSessions == 0 || f.MedianSessions > season:
		return "; the next step is not realistic this season at today's form"
	}
	return fmt.Sprintf("; at this rate the next step is about %s away", count(int(f.MedianSessions), "session"))
}

// shortestRun is the fewest in a row worth playing for.
const shortestRun = 3

// easier names a circle or a run with even odds in one session.
func (f flag) easier(r Reader) string {
	run := ""
	if f.EvenRun >= shortestRun && f.EvenRun < f.Tier.Run {
		run = inARow(f.EvenRun)
	}
	circle := ""
	switch {
	case f.EvenScale <= 1 || f.EvenScale > 3: // harder, or no circle to aim at
	case f.EvenRadius > 0:
		circle = r.circle(f.EvenRadius, up)
	default:
		circle = fmt.Sprintf("a circle %.1f times as wide", math.Ceil(f.EvenScale*10)/10)
	}
	switch {
	case circle != "" && run != "":
		return circle + " or " + run + " (either has even odds in one session)"
	case circle+run != "":
		return circle + run + " (even odds in one session)"
	}
	return ""
}
