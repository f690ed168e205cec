package advice

import (
	"fmt"
	"slices"

	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// Uncounted says why a student's balls at a skill cannot pass a step as things
// are, and what would help: no programme gave them a ladder, or all were judged in
// a wider circle than the next step's and none of them measured. It is empty when
// they can, and without a ball.
func Uncounted(r Reader, s progress.State) string {
	next, open := s.Next()
	switch {
	case len(s.Ladder.Tiers) == 0 && s.Totals.Balls > 0:
		return "No programme with this skill is assigned, so there is no step to pass. Once one is, the balls struck so far count."
	case open && judgedElsewhere(s) && !slices.ContainsFunc(s.Recent.Elsewhere, func(c estimate.Circle) bool { return c.Radius < next.Radius }):
		return fmt.Sprintf("No ball counts towards %s: most were in a circle of %s, and no distance left was measured. Use a circle of %s.",
			tierIn(r, next), r.exact(s.Recent.Elsewhere[0].Radius), r.exact(next.Radius))
	}
	return ""
}
