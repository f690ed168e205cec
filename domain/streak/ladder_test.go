package streak

import (
	"strings"
	"testing"

	"fringework/domain"
)

const (
	threeFeet = 3 * domain.Foot
	fiveFeet  = 5 * domain.Foot
)

func TestLadderCheck(t *testing.T) {
	long := make([]Tier, MaxTiers+1)
	for i := range long {
		long[i] = Tier{Run: i + 1, Radius: fiveFeet}
	}
	for _, c := range []struct {
		name  string
		tiers []Tier
		want  []string // pointer and a part of the detail
	}{
		// Nine, then eighteen with one holed: common practice, no source.
		{"common", []Tier{{9, fiveFeet, 0}, {18, fiveFeet, 1}}, nil},
		{"longest", long[:MaxTiers], nil},
		{"only the radius", []Tier{{9, fiveFeet, 0}, {9, threeFeet, 0}}, nil},
		{"only holed", []Tier{{9, fiveFeet, 0}, {9, fiveFeet, 1}}, nil},
		{"extremes", []Tier{{1, MaxRadius, 0}, {MaxRun, MinRadius, MaxRun}}, nil},
		{"empty", nil, []string{"/l at least one step"}},
		{"too many", long, []string{"/l at most 12 steps, got 13"}},
		{"equal", []Tier{{9, fiveFeet, 0}, {9, fiveFeet, 0}}, []string{"/l/1 equals step 1"}},
		{"shorter", []Tier{{9, fiveFeet, 0}, {8, threeFeet, 0}}, []string{"/l/1/run 9 in a row or more, got 8"}},
		{"wider", []Tier{{9, threeFeet, 0}, {18, fiveFeet, 0}}, []string{"/l/1/radius_m a radius of 3 ft (0.91 m) or less, got 5 ft (1.52 m)"}},
		{"fewer holed", []Tier{{9, fiveFeet, 2}, {18, fiveFeet, 1}}, []string{"/l/1/holed ask for 2 holed or more, got 1"}},
		{"no run", []Tier{{0, fiveFeet, 0}}, []string{"/l/0/run is 0; give 1 to 200 balls"}},
		{"endless", []Tier{{201, fiveFeet, 0}}, []string{"/l/0/run is 201; give 1 to 200 balls"}},
		{"too small", []Tier{{9, MinRadius - 1, 0}}, []string{"/l/0/radius_m from 0.1 m (0.3 ft) to 30 m (98.4 ft)"}},
		{"too large", []Tier{{9, MaxRadius + 1, 0}}, []string{"/l/0/radius_m from 0.1 m (0.3 ft) to 30 m (98.4 ft)"}},
		{"negative holed", []Tier{{9, fiveFeet, -1}}, []string{"/l/0/holed is -1; give 0 or more holed balls"}},
		{"more holed than balls", []Tier{{9, fiveFeet, 10}}, []string{"/l/0/holed at most 9"}},
		{"all at once", []Tier{{0, fiveFeet, 0}, {9, 0, 0}, {8, fiveFeet, -1}},
			[]string{"/l/0/run is 0", "/l/1/radius_m is missing or 0; give a radius from 0.1", "/l/2/holed 0 or more"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var p domain.Problems
			Ladder{Tiers: c.tiers}.Check(&p, "/l")
			got := p.Fields()
			if len(got) != len(c.want) {
				t.Fatalf("got %v, want %v", got, c.want)
			}
			for i, f := range got {
				pointer, detail, _ := strings.Cut(c.want[i], " ")
				if f.Pointer != pointer || !strings.Contains(f.Detail, detail) {
					t.Errorf("problem %d: got %v, want %q", i, f, c.want[i])
				}
			}
		})
	}
}

// harder reports whether a may follow b in a ladder.
func harder(a, b Tier) bool {
	var p domain.Problems
	checkStep(&p, "", b, a, 1)
	return len(p.Fields()) == 0
}

func TestHarder(t *testing.T) {
	base := Tier{9, fiveFeet, 1}
	for _, c := range []struct {
		a    Tier
		want bool
	}{
		{base, false},
		{Tier{10, fiveFeet, 1}, true},
		{Tier{9, threeFeet, 1}, true},
		{Tier{9, fiveFeet, 2}, true},
		{Tier{18, threeFeet, 2}, true},
		{Tier{8, threeFeet, 2}, false},
		{Tier{18, MaxRadius, 2}, false},
		{Tier{18, threeFeet, 0}, false},
	} {
		if got := harder(c.a, base); got != c.want {
			t.Errorf("harder(%v, %v) = %v, want %v", c.a, base, got, c.want)
		}
	}
}
