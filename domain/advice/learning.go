package advice

import (
	"fmt"
	"math"

	"fringework/domain/estimate"
)

// QuietText says in a sentence what tests with the run shown and with it hidden tell.
func QuietText(q estimate.Quiet) string {
	if !q.Told {
		return fmt.Sprintf("Cannot tell yet: %s with the run shown, %s with it hidden.", count(q.Shown.Tests, "test"), count(q.Hidden.Tests, "test"))
	}
	return gapText(q.Difference, q.Interval95, q.Finding, "when the run is shown")
}

// ColdText says in a sentence how first balls of the day compare with later ones.
func ColdText(c estimate.Cold) string {
	if c.Days == 0 {
		return "No first ball of the day yet that has later ones in the same circle beside it."
	}
	first := fmt.Sprintf("%d of %s of the day inside", c.Inside, count(c.Days, "first ball"))
	if !c.Told {
		return first + ". Cannot tell yet how they compare with later balls."
	}
	return fmt.Sprintf("%s (%.0f %%), %.0f %% of the later balls: %s", first, 100*float64(c.Inside)/float64(c.Days), 100*c.LaterRate,
		gapText(c.Difference, c.Range80, c.Finding, "at first"))
}

// gapText writes a difference in points with its interval.
func gapText(difference float64, i estimate.Interval, found estimate.Gap, when string) string {
	points := math.Round(100 * difference)
	text := fmt.Sprintf("%s %s %s (between %s and %s)", count(int(math.Abs(points)), "point"), map[bool]string{true: "lower", false: "higher"}[points < 0], when, signed(i.Lo), signed(i.Hi))
	if points == 0 {
		text = fmt.Sprintf("No difference %s (between %s and %s)", when, signed(i.Lo), signed(i.Hi))
	}
	if found == estimate.GapOpen {
		text += ": cannot tell yet"
	}
	return text + "."
}
