package advice

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"fringework/domain"
	"fringework/domain/estimate"
)

// Reader is whom sentences are written for.
type Reader struct {
	// Metric writes lengths in metres, otherwise in feet.
	Metric bool
}

// circle writes a circle of a radius the way people speak of it, in half feet or
// tenths of a metre, rounded by round.
func (r Reader) circle(radius domain.Length, round func(float64) float64) string {
	if r.Metric {
		return article(strconv.FormatFloat(round(radius.Metres()*10)/10, 'f', -1, 64) + " m circle")
	}
	return article(strconv.FormatFloat(round(radius.Feet()*2)/2, 'f', -1, 64) + " ft circle")
}

// up rounds to an easier circle and down to a harder one, but for what a length
// cannot hold.
func up(x float64) float64   { return math.Ceil(x - 1e-6) }
func down(x float64) float64 { return math.Floor(x + 1e-6) }

// exact writes a length as it was set, to a tenth of a foot or a hundredth of
// a metre.
func (r Reader) exact(l domain.Length) string {
	if r.Metric {
		return strconv.FormatFloat(math.Round(l.Metres()*100)/100, 'f', -1, 64) + " m"
	}
	return strconv.FormatFloat(math.Round(l.Feet()*10)/10, 'f', -1, 64) + " ft"
}

// article puts "a" or "an" before a length in feet or metres.
func article(length string) string {
	if length[0] == '8' || strings.HasPrefix(length, "11") || strings.HasPrefix(length, "18") {
		return "an " + length
	}
	return "a " + length
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

// Undecided says in words that the data cannot tell yet whether a student rises;
// empty when they can.
func Undecided(a estimate.Assessment) string {
	u := a.Undecided
	switch {
	case !u.Applies:
		return ""
	case u.Sessions == 0:
		return fmt.Sprintf("No ball yet: it takes about %s to tell a rise from none.", count(u.MoreSessions, "session"))
	}
	return fmt.Sprintf("%.0f %% (%.0f to %.0f) after %s: the chance that it is rising is %.0f %%, which is not enough to tell; about %s of %s will.",
		100*a.Rate.Mean, 100*a.Rate.Interval95.Lo, 100*a.Rate.Interval95.Hi, count(u.Sessions, "session"),
		100*u.Rising, count(u.MoreSessions, "more session"), count(u.Balls, "ball"))
}
