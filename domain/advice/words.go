package advice

import (
	"fmt"
	"math"
	"strconv"
	"time"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// Reader is whom sentences are written for.
type Reader struct {
	// Metric writes lengths in metres, otherwise in feet.
	Metric bool
}

// up rounds to an easier circle and down to a harder one, but for what a length
// cannot hold.
func up(x float64) float64   { return math.Ceil(x - 1e-6) }
func down(x float64) float64 { return math.Floor(x + 1e-6) }

// exact writes a length as it was set, to a tenth of a foot or a hundredth of
// a metre.
func (r Reader) exact(l domain.Length) string { return l.In(r.Metric) }

// away writes a distance to the hole, to a whole yard or metre.
func (r Reader) away(l domain.Length) string {
	if r.Metric {
		return strconv.FormatFloat(math.Round(l.Metres()), 'f', -1, 64) + " m"
	}
	return strconv.FormatFloat(math.Round(l.Feet()/3), 'f', -1, 64) + " yd"
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

func inARow(run int) string {
	if run == 1 {
		return "one ball"
	}
	return fmt.Sprintf("%d in a row", run)
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func dayAndMonth(d domain.Date) string { return d.Start(time.UTC).Format("2 January") }

// rateText writes the level now: "inside 5 ft: 58 % (51 to 65)", the interval
// holding it with 80 %. When no ball was judged in that circle it says which the
// balls were judged in.
func rateText(r Reader, s progress.State, radius domain.Length) string {
	where := "inside"
	if radius > 0 {
		where += " " + r.exact(radius)
	}
	text := fmt.Sprintf("%s: %s", where, rateWords(s.Assessment.Rate))
	if judgedElsewhere(s) {
		text += ", from balls judged at " + r.exact(s.Recent.Elsewhere[0].Radius)
	}
	return text
}

// rateWords writes a rate with its 80 % interval.
func rateWords(r estimate.Rate) string {
	return fmt.Sprintf("%.0f %% (%.0f to %.0f)", 100*r.Mean, 100*r.Interval80.Lo, 100*r.Interval80.Hi)
}

// changeWords writes the change from the first to the last of some sessions: "−1
// point (−9 to +7) from the first to the last of 15 sessions"; empty when it is
// not known.
func changeWords(t estimate.Trend, now estimate.Rate) string {
	c, known := t.Change(now)
	if !known {
		return ""
	}
	return fmt.Sprintf("%s (%s to %s) from the first to the last of %s", points(c.Mean), signed(c.Interval80.Lo), signed(c.Interval80.Hi), count(t.Sessions, "session"))
}

// points writes a difference of rates in percentage points.
func points(d float64) string {
	if n := signed(d); n == "+1" || n == "−1" {
		return n + " point"
	}
	return signed(d) + " points"
}

// signed writes a difference of rates with its sign.
func signed(d float64) string {
	switch n := math.Round(100 * d); {
	case n == 0:
		return "0"
	case n < 0:
		return "−" + strconv.FormatFloat(-n, 'f', 0, 64)
	default:
		return "+" + strconv.FormatFloat(n, 'f', 0, 64)
	}
}

// Trend says in words how the rate has changed since the last milestone. It says
// the same of it as the flags and [Undecided] do.
func Trend(r Reader, s progress.State) string {
	a := s.Assessment
	change := changeWords(a.Trend, a.Rate)
	switch slipping := a.Slipping; {
	case judgedElsewhere(s):
		where := "in this circle"
		if focus, known := s.Focus(); known {
			where = "at " + r.exact(focus.Radius)
		}
		return fmt.Sprintf("No ball judged %s yet: the rate comes from balls judged at %s.", where, r.exact(s.Recent.Elsewhere[0].Radius))
	case slipping != nil && slipping.Before > 0:
		return fmt.Sprintf("%s, %s.", rateWords(a.Rate), flag{slipping, s}.downFrom())
	case change == "" && a.Trend.Sessions >= 3:
		return "Too near all or nothing for a change to show."
	case change == "":
		return "Too few sessions since the last step to tell."
	}
	return change + ": " + verdict(a) + "."
}

// verdict says in words which way the rate goes.
func verdict(a estimate.Assessment) string {
	c, _ := a.Trend.Change(a.Rate)
	up, down := c.Interval80.Lo > 0, c.Interval80.Hi < 0
	switch {
	case a.Slipping != nil:
		return "falling"
	case a.Slow:
		return "a slow gain at best"
	case a.Flat != nil && a.Flat.Rose:
		return "level since about " + (flag{Flag: a.Flat}).since()
	case a.Flat != nil && down:
		return "down, if anything"
	case a.Flat != nil:
		return "no gain shown"
	case a.Undecided.Applies && up:
		return "up; too early to say if it is still rising"
	case a.Undecided.Applies && down:
		return "down; too early to say if it is still falling"
	case a.Undecided.Applies:
		return "cannot tell yet"
	}
	return "rising"
}

// judgedElsewhere says whether no ball was judged in the circle in focus.
func judgedElsewhere(s progress.State) bool {
	return s.Recent.Judged == 0 && len(s.Recent.Elsewhere) > 0
}

// nearTheTop is a rate from which on a rise can hardly show.
const nearTheTop = 0.95

// Undecided says in words that the data cannot tell yet whether a student rises;
// empty when they can.
func Undecided(r Reader, s progress.State) string {
	a := s.Assessment
	u := a.Undecided
	if !u.Applies {
		return ""
	}
	if u.Sessions == 0 {
		return fmt.Sprintf("No ball yet: about %s should tell whether it rises.", count(u.MoreSessions, "session"))
	}
	text := rateWords(a.Rate)
	if judgedElsewhere(s) {
		text += ", from balls judged at " + r.exact(s.Recent.Elsewhere[0].Radius)
	}
	text += ": "
	what := "whether it rises"
	switch c, known := a.Trend.Change(a.Rate); {
	case a.Rate.Mean >= nearTheTop:
		return text + "too near the top for a rise to show."
	case known && c.Interval80.Lo > 0:
		what = "whether it still rises"
	case known && c.Interval80.Hi < 0:
		what = "whether it still falls"
	}
	if u.MoreSessions >= Season {
		return text + "too early to tell " + what + ", and another 30 sessions may not settle it."
	}
	return text + fmt.Sprintf("too early to tell %s; about %s of %s should.", what, count(u.MoreSessions, "more session"), count(u.Balls, "ball"))
}

// Step writes a step with its circle: "10 in a row inside 3 ft".
func Step(r Reader, t streak.Tier) string { return tierIn(r, t) }
