package streak_test

import (
	"slices"
	"testing"

	"fringework/domain"
	"fringework/domain/streak"
)

// TestPlace: an extra tier stands before the first that is as hard, or behind the
// last; worked by hand.
func TestPlace(t *testing.T) {
	tier := func(run int, feet domain.Length, holed int) streak.Tier {
		return streak.Tier{Run: run, Radius: feet * domain.Foot, Holed: holed}
	}
	l := streak.Ladder{Tiers: []streak.Tier{tier(5, 6, 0), tier(10, 6, 0), tier(10, 4, 1)}}
	for _, c := range []struct {
		why  string
		tier streak.Tier
		at   int
		ok   bool
	}{
		{"easier than all", tier(3, 6, 0), 0, true},
		{"wider than the first", tier(5, 8, 0), 0, true},
		{"between", tier(8, 6, 0), 1, true},
		{"the last one's run in a wider circle", tier(10, 5, 0), 2, true},
		{"the last one without a holed ball", tier(10, 4, 0), 2, true},
		{"one of them", tier(10, 6, 0), 0, false},
		{"harder than the last", tier(12, 4, 1), 3, true},
		{"harder in one respect alone", tier(12, 5, 0), 3, false},
	} {
		at, ok := l.Place(c.tier)
		if ok != c.ok || ok && at != c.at {
			t.Errorf("%s: got %d, %v, want %d, %v", c.why, at, ok, c.at, c.ok)
		}
		with := l.With(c.tier)
		if !c.ok {
			if !slices.Equal(with.Tiers, l.Tiers) {
				t.Errorf("%s: got %v, want it left out", c.why, with.Tiers)
			}
			continue
		}
		if with.Tiers[c.at] != c.tier || len(with.Tiers) != 4 {
			t.Errorf("%s: got %v", c.why, with.Tiers)
		}
		if back := with.Without(c.tier); !slices.Equal(back.Tiers, l.Tiers) {
			t.Errorf("%s: taken out it is %v", c.why, back.Tiers)
		}
	}
	if len(l.Tiers) != 3 {
		t.Errorf("the ladder itself became %v", l.Tiers)
	}
	if with := l.With(tier(7, 6, 0), tier(8, 6, 0), tier(6, 6, 0)); !slices.Equal(with.Tiers[1:4], []streak.Tier{tier(6, 6, 0), tier(7, 6, 0), tier(8, 6, 0)}) {
		t.Errorf("three between are %v", with.Tiers)
	}
	if _, ok := (streak.Ladder{}).Place(tier(3, 6, 0)); ok {
		t.Error("a ladder without tiers has a place")
	}
}

// TestFrom: a ladder may be begun at one of its tiers; the ladder itself stays.
func TestFrom(t *testing.T) {
	l := streak.Ladder{TestOnly: true, Tiers: []streak.Tier{{Run: 3, Radius: domain.Foot}, {Run: 5, Radius: domain.Foot}, {Run: 8, Radius: domain.Foot}}}
	for _, c := range []struct{ from, left int }{{3, 3}, {5, 2}, {8, 1}, {4, 3}} {
		if got := l.From(streak.Tier{Run: c.from, Radius: domain.Foot}); len(got.Tiers) != c.left || !got.TestOnly {
			t.Errorf("from %d: got %v", c.from, got.Tiers)
		}
	}
	if len(l.Tiers) != 3 {
		t.Errorf("the ladder itself became %v", l.Tiers)
	}
}
