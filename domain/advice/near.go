package advice

import (
	"fmt"

	"fringework/domain/streak"
)

// NearText says how near: "reached 5 of 6, twice". A run that was long enough
// missed its holed balls.
func NearText(n streak.Near, t streak.Tier) string {
	text := fmt.Sprintf("reached %d of %d", n.Length, t.Run)
	if n.Length >= t.Run {
		text = fmt.Sprintf("reached %d in a row with %d of %d holed", n.Length, n.Holed, t.Holed)
	}
	switch n.Times {
	case 1:
		return text + ", once"
	case 2:
		return text + ", twice"
	}
	return fmt.Sprintf("%s, %d times", text, n.Times)
}
