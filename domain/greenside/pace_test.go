package greenside

import (
	"testing"

	"fringework/domain"
)

// TestPaces: slow, medium and fast for a club are greens from 8 to 10 ft (common
// practice, no source).
func TestPaces(t *testing.T) {
	var readings []float64
	for _, pace := range Paces() {
		var p domain.Problems
		if (Green{StimpFt: pace.StimpFt()}).Check(&p); len(p.Fields()) > 0 {
			t.Errorf("%s: %v", pace, p.Fields())
		}
		readings = append(readings, pace.StimpFt())
	}
	if len(readings) != 3 || readings[0] != 8 || readings[1] != 9 || readings[2] != 10 || Pace("").StimpFt() != 0 {
		t.Errorf("readings %v, want 8, 9 and 10", readings)
	}
}
