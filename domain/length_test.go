package domain_test

import (
	"math"
	"testing"

	"fringework/domain"
)

// TestLengthUnits: a foot is 0.3048 m and a yard 0.9144 m exactly
// (international yard and pound agreement of 1959).
func TestLengthUnits(t *testing.T) {
	for _, c := range []struct {
		l      domain.Length
		metres float64
		text   string
	}{
		{domain.Metre, 1, "1 m (3.3 ft)"},
		{domain.Foot, 0.3048, "1 ft (0.3 m)"},
		{domain.Yard, 0.9144, "3 ft (0.91 m)"},
		{5 * domain.Foot, 1.524, "5 ft (1.52 m)"},
		{domain.Metre / 2, 0.5, "0.5 m (1.6 ft)"},
		{-domain.Metre, -1, "-1 m (-3.3 ft)"},
		{0, 0, "0 ft (0 m)"},
		{1, 0.0001, "0.0001 m (0 ft)"},
		{-1, -0.0001, "-0.0001 m (0 ft)"},
		{domain.MaxLength, 1000, "1000 m (3280.8 ft)"},
		{domain.Foot * 3 / 2, 0.4572, "1.5 ft (0.46 m)"},
		{25 * domain.Foot, 7.62, "25 ft (7.62 m)"},
		{914, 0.0914, "0.3 ft (0.09 m)"}, // 0.3 ft is 0.09144 m
		{915, 0.0915, "0.0915 m (0.3 ft)"},
		{20_001, 2.0001, "2.0001 m (6.6 ft)"},
	} {
		if got := c.l.Metres(); got != c.metres {
			t.Errorf("%d is %v m, want %v", c.l, got, c.metres)
		}
		if got := c.l.String(); got != c.text {
			t.Errorf("%d is written %q, want %q", c.l, got, c.text)
		}
		if back, ok := domain.Metres(c.metres); !ok || back != c.l {
			t.Errorf("Metres(%v) = %d, %v, want %d", c.metres, back, ok, c.l)
		}
	}
	if got := (3 * domain.Foot).Feet(); got != 3 {
		t.Errorf("3 ft are %v ft", got)
	}
}

func TestMetresRefuses(t *testing.T) {
	for _, m := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1000.0001, -1000.0001, 1e300} {
		if l, ok := domain.Metres(m); ok || l != 0 {
			t.Errorf("Metres(%v) = %d, %v, want a refusal", m, l, ok)
		}
	}
	// 0.00004 m rounds down and 0.00006 m up to tenths of a millimetre.
	for m, want := range map[float64]domain.Length{0.00004: 0, 0.00006: 1, -0.00006: -1, 1000: domain.MaxLength} {
		if l, ok := domain.Metres(m); !ok || l != want {
			t.Errorf("Metres(%v) = %d, %v, want %d", m, l, ok, want)
		}
	}
}

// TestLengthInOneUnit: feet to the tenth, metres to the hundredth.
func TestLengthInOneUnit(t *testing.T) {
	for _, c := range []struct {
		l            domain.Length
		feet, metres string
	}{
		{5 * domain.Foot, "5 ft", "1.52 m"}, {2 * domain.Metre, "6.6 ft", "2 m"}, {0, "0 ft", "0 m"}, {domain.Metre / 1000, "0 ft", "0 m"},
	} {
		if got := c.l.In(false); got != c.feet {
			t.Errorf("%d tenths of a millimetre: got %s, want %s", c.l, got, c.feet)
		}
		if got := c.l.In(true); got != c.metres {
			t.Errorf("%d tenths of a millimetre: got %s, want %s", c.l, got, c.metres)
		}
	}
}
