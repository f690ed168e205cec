package advice

import (
	"math"
	"testing"
)

// TestLiftTo: odds of 1 to 3 become even by log 3, and 1 to 2 become 2 to 1 by log 4;
// beyond that no number is told, so nothing is lifted.
func TestLiftTo(t *testing.T) {
	for _, c := range []struct{ to, from, want float64 }{
		{0.5, 0.25, math.Log(3)}, {2.0 / 3, 1.0 / 3, math.Log(4)}, {1.0 / 3, 2.0 / 3, -math.Log(4)},
		{0.7, 0.5, 0}, {0.5, 0.7, 0}, {0, 0.5, 0}, {0.5, 0, 0},
	} {
		if got := liftTo(c.to, c.from); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("from %v to %v: got %v, want %v", c.from, c.to, got, c.want)
		}
	}
}
