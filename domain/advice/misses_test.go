package advice

import (
	"testing"

	"fringework/domain/progress"
)

func TestLean(t *testing.T) {
	for _, c := range []struct {
		misses progress.Misses
		want   string
	}{
		{progress.Misses{}, "Too few to say which way they lean."},
		{progress.Misses{Short: 7}, "Too few to say which way they lean."},
		{progress.Misses{Short: 5, Long: 4, Left: 3, Right: 6}, "They lean no clear way."},
		{progress.Misses{Short: 14, Long: 3, Left: 2, Right: 2}, "Mostly short: 14 of the 17 that were short or long; the true share is probably 60 to 95 %."},
		{progress.Misses{Short: 3, Long: 14, Right: 12}, "Mostly long: 14 of the 17 that were short or long; the true share is probably 60 to 95 %. Mostly right: 12 of the 12 that were left or right; the true share is probably 81 to 100 %."},
	} {
		if got := Lean(c.misses); got != c.want {
			t.Errorf("%+v: got %q, want %q", c.misses, got, c.want)
		}
	}
}
