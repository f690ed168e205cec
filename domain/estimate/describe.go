package estimate

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"fringework/domain"
)

// Describe writes a stall's evidence and advice from its facts: sentences with
// numbers that a coach can act on, lengths in the units of style. Stalls
// without facts keep the sentences they have.
func Describe(s Stall, style Style) (evidence, advice string) {
	f := s.Facts
	switch s.Reason {
	case Lapsed:
		if f.Days == 0 {
			break
		}
		return f.lapsed()
	case Flat:
		return f.flat(style)
	case Slipping:
		return f.slipping(style)
	case Overreached:
		return f.overreached(style)
	case Outgrown:
		return f.outgrown(style)
	}
	return s.Evidence, s.Advice
}

// length writes a length the way people speak of it: half feet or tenths of a
// metre, rounded by round (up for an easier circle, down for a harder one).
func length(l domain.Length, style Style, round func(float64) float64) string {
	if style.Metric {
		return strconv.FormatFloat(round(l.Metres()*10-1e-6)/10, 'f', -1, 64) + " m"
	}
	return strconv.FormatFloat(round(l.Feet()*2-1e-6)/2, 'f', -1, 64) + " ft"
}

// exact writes a length as it was set, to a tenth of a foot or a hundredth of
// a metre.
func exact(l domain.Length, style Style) string {
	if style.Metric {
		return strconv.FormatFloat(math.Round(l.Metres()*100)/100, 'f', -1, 64) + " m"
	}
	return strconv.FormatFloat(math.Round(l.Feet()*10)/10, 'f', -1, 64) + " ft"
}

func percent(p float64) string {
	switch {
	case p < 0.001:
		return "under 0.1 %"
	case p < 0.0995:
		return strconv.FormatFloat(100*p, 'f', 1, 64) + " %"
	}
	return strconv.FormatFloat(100*p, 'f', 0, 64) + " %"
}

// rate writes "inside 5 ft: 58 % (51 to 65) over the last 9 sessions".
func (f Facts) rate(style Style) string {
	where := "inside"
	if f.Radius > 0 {
		where += " " + exact(f.Radius, style)
	}
	return fmt.Sprintf("%s: %.0f %% (%.0f to %.0f) over the last %s", where, 100*f.Rate, 100*f.RateLo, 100*f.RateHi, count(f.Sessions, "session"))
}

func (f Facts) since() string {
	if f.Since.IsZero() {
		return fmt.Sprintf("session %d", f.SinceSession)
	}
	return f.Since.Format("2 January")
}

// wait writes how long the tier takes.
func (f Facts) wait() string {
	switch {
	case f.Tier.Run == 0:
		return ""
	case f.BallsPerTest < f.Tier.Run:
		return fmt.Sprintf("; a run of %d does not fit into %d balls", f.Tier.Run, f.BallsPerTest)
	case f.MedianSessions == 0:
		return fmt.Sprintf("; at this rate the next tier takes more than %d sessions", horizon)
	}
	return "; at this rate the next tier takes " + count(int(f.MedianSessions), "session")
}

// shortestRun is the shortest run worth playing for.
const shortestRun = 3

// easier names a circle or a run with even odds in one session.
func (f Facts) easier(style Style) string {
	run := ""
	if f.EvenRun >= shortestRun && f.EvenRun < f.Tier.Run {
		run = fmt.Sprintf("a run of %d", f.EvenRun)
	}
	circle := ""
	switch {
	case f.EvenScale <= 1 || f.EvenScale > 3: // harder, or no circle to aim at
	case f.EvenRadius > 0:
		circle = article(length(f.EvenRadius, style, math.Ceil)) + " circle"
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

// article puts "a" or "an" before a length in feet or metres.
func article(length string) string {
	if length[0] == '8' || strings.HasPrefix(length, "11") || strings.HasPrefix(length, "18") {
		return "an " + length
	}
	return "a " + length
}

func (f Facts) flat(style Style) (evidence, advice string) {
	evidence = f.rate(style)
	if f.Rose {
		evidence += ", no gain since " + f.since()
	} else {
		evidence += ", no gain in that time"
	}
	evidence += f.wait() + "."
	if e := f.easier(style); e != "" {
		return evidence, "Try " + e + ", or a shorter shot."
	}
	return evidence, "Change one thing for the next three sessions: the spot, the club, or more of the time in random practice."
}

func (f Facts) slipping(style Style) (evidence, advice string) {
	evidence = f.rate(style)
	if f.Before > 0 {
		evidence += fmt.Sprintf(", down from %.0f %% (%.0f to %.0f) before %s", 100*f.Before, 100*f.BeforeLo, 100*f.BeforeHi, f.since())
	} else {
		evidence += ", falling"
	}
	evidence += f.wait() + "."
	advice = "Ask what changed about " + f.since()
	if e := f.easier(style); e != "" {
		return evidence, advice + ", and go back to " + e + " until the rate is back."
	}
	return evidence, advice + ", and look at the technique before the next test."
}

func (f Facts) overreached(style Style) (evidence, advice string) {
	evidence = fmt.Sprintf("%s; a run of %d in %d balls has a chance of %s a session", f.rate(style), f.Tier.Run, f.BallsPerTest, percent(f.Chance))
	if f.BallsPerTest < f.Tier.Run {
		return evidence + ".", fmt.Sprintf("Plan tests of at least %d balls.", 2*f.Tier.Run)
	}
	if f.MedianSessions == 0 {
		evidence += fmt.Sprintf(", so that even odds take more than %d sessions.", horizon)
	} else {
		evidence += ", so that even odds take " + count(int(f.MedianSessions), "session") + "."
	}
	if e := f.easier(style); e != "" {
		return evidence, "Put an easier step before it: " + e + "."
	}
	return evidence, "Put an easier step before it: a shorter shot, or a better lie."
}

func (f Facts) outgrown(style Style) (evidence, advice string) {
	evidence = fmt.Sprintf("%s; a run of %d in %d balls has a chance of %s a session.", f.rate(style), f.Tier.Run, f.BallsPerTest, percent(f.Chance))
	if f.EvenScale > 0.2 && f.EvenScale < 1 {
		if f.EvenRadius > 0 {
			return evidence, fmt.Sprintf("Test it, and go on to %s circle (even odds in one session) or a longer shot.", article(length(f.EvenRadius, style, math.Floor)))
		}
		return evidence, fmt.Sprintf("Test it, and go on to a circle %.1f times as wide (even odds in one session) or a longer shot.", f.EvenScale)
	}
	return evidence, "Test it, and go on to a smaller circle, a longer run or a longer shot."
}

func (f Facts) lapsed() (evidence, advice string) {
	evidence = fmt.Sprintf("no session for %s (the last on %s)", count(int(f.Days), "day"), f.since())
	if f.Since.IsZero() {
		evidence = fmt.Sprintf("no session for %s (the last was %s)", count(int(f.Days), "day"), f.since())
	}
	if f.Gap > 0 {
		evidence += fmt.Sprintf("; one every %.1f days is usual", f.Gap)
	}
	if f.Missed > 0 {
		evidence += "; " + count(f.Missed, "planned session") + " missed"
	}
	return evidence + ".", "Ask what is in the way; pause the programme for a holiday or an injury, or plan fewer, shorter sessions."
}
