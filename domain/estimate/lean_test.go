package estimate

import (
	"math"
	"testing"
)

// TestLean: without a ball the interval is the arcsine law's, whose quantiles are
// sin²(πq/2) (Feller, vol. 2, II.4); sides swapped, it is mirrored; and with as many
// more of each it narrows.
func TestLean(t *testing.T) {
	square := func(x float64) float64 { return x * x }
	share, none, sure := Lean(0, 0)
	if share != 0.5 || math.Abs(none.Lo-square(math.Sin(math.Pi*0.0125))) > 1e-9 || math.Abs(none.Hi-square(math.Sin(math.Pi*0.4875))) > 1e-9 || sure {
		t.Errorf("of nothing: %v in %v, sure %v", share, none, sure)
	}
	for _, c := range []struct {
		first, second int
		sure          bool
	}{{5, 5, false}, {7, 3, false}, {14, 3, true}, {3, 14, true}, {59, 41, false}, {61, 39, true}} {
		share, within, sure := Lean(c.first, c.second)
		other, mirrored, _ := Lean(c.second, c.first)
		if sure != c.sure || share < within.Lo || share > within.Hi || math.Abs(share+other-1) > 1e-12 || math.Abs(within.Lo+mirrored.Hi-1) > 1e-9 {
			t.Errorf("%d and %d: %v in %v, sure %v; mirrored %v in %v", c.first, c.second, share, within, sure, other, mirrored)
		}
		if _, more, _ := Lean(4*c.first, 4*c.second); more.Hi-more.Lo >= within.Hi-within.Lo {
			t.Errorf("%d and %d: four times as many do not narrow %v", c.first, c.second, within)
		}
	}
}
