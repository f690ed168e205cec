package advice

import (
	"fmt"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// Changed writes what a first test and an end test say, for a coach to quote: the balls
// of both, the change with its interval, or that it is too early to tell one; and that
// tests tell no cause. A day that is zero is left out.
func Changed(r Reader, first, end progress.Measured, c estimate.Change) string {
	text := fmt.Sprintf("Inside %s: %d of %d balls in the first test%s", r.exact(first.Radius), first.Inside, first.Balls, onDay(first.Day))
	if end.Radius == first.Radius {
		text += fmt.Sprintf(", %d of %d in the end test%s. ", end.Inside, end.Balls, onDay(end.Day))
	} else {
		text += fmt.Sprintf("; inside %s: %d of %d in the end test%s. ", r.exact(end.Radius), end.Inside, end.Balls, onDay(end.Day))
	}
	interval := fmt.Sprintf("%s to %s", signed(c.Interval80.Lo), signed(c.Interval80.Hi))
	switch {
	case c.Interval80.Lo > 0:
		text += fmt.Sprintf("Luck and the day allowed for, about %.0f more of 100 balls (80 %% interval %s).", 100*c.Mean, interval)
	case c.Interval80.Hi < 0:
		text += fmt.Sprintf("Luck and the day allowed for, about %.0f fewer of 100 balls (80 %% interval %s).", -100*c.Mean, interval)
	default:
		text += fmt.Sprintf("That can be luck or the day: of 100 balls the change is %s (80 %% interval).", interval)
	}
	return text + " Two tests show a change, not what caused it."
}

func onDay(d domain.Date) string {
	if d == (domain.Date{}) {
		return ""
	}
	return " on " + dayAndMonth(d)
}
