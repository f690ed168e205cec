package advice

import (
	"testing"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// TestUncounted: a ball in at eight feet says nothing of five, one in at four feet
// does; without a ladder nothing counts.
func TestUncounted(t *testing.T) {
	ladder := streak.Ladder{Tiers: []streak.Tier{{Run: 7, Radius: 5 * domain.Foot}}}
	at := func(radius domain.Length) []estimate.Circle { return []estimate.Circle{{Radius: radius, Balls: 20}} }
	const wide = "No ball counts towards 7 in a row inside 5 ft: most were in a circle of 8 ft, and no distance left was measured. Use a circle of 5 ft."
	for _, c := range []struct {
		why  string
		s    progress.State
		want string
	}{
		{"nothing struck", progress.State{}, ""},
		{"no ladder", progress.State{Totals: progress.Tally{Balls: 1}}, "No programme with this skill is assigned, so there is no step to pass. Once one is, the balls struck so far count."},
		{"all too wide", progress.State{Ladder: ladder, Recent: progress.RecentCounts{Elsewhere: at(8 * domain.Foot)}}, wide},
		{"some in the circle", progress.State{Ladder: ladder, Recent: progress.RecentCounts{Judged: 1, Elsewhere: at(8 * domain.Foot)}}, ""},
		{"some closer", progress.State{Ladder: ladder, Recent: progress.RecentCounts{Elsewhere: append(at(8*domain.Foot), at(4*domain.Foot)...)}}, ""},
		{"closer", progress.State{Ladder: ladder, Recent: progress.RecentCounts{Elsewhere: at(4 * domain.Foot)}}, ""},
		{"nothing lately", progress.State{Ladder: ladder}, ""},
		{"finished", progress.State{Ladder: ladder, Held: 1, Recent: progress.RecentCounts{Elsewhere: at(8 * domain.Foot)}}, ""},
	} {
		if got := Uncounted(Reader{}, c.s); got != c.want {
			t.Errorf("%s: got %q, want %q", c.why, got, c.want)
		}
	}
	metric := progress.State{Ladder: ladder, Recent: progress.RecentCounts{Elsewhere: at(2 * domain.Metre)}}
	if got, want := Uncounted(Reader{Metric: true}, metric), "No ball counts towards 7 in a row inside 1.52 m: most were in a circle of 2 m, and no distance left was measured. Use a circle of 1.52 m."; got != want {
		t.Errorf("in metres: got %q, want %q", got, want)
	}
}
