package streak

import (
	"strconv"

	"fringework/domain"
)

// Bounds of a ladder.
const (
	MaxRun   = 200
	MaxTiers = 12
)

// Check notes in p everything wrong with a ladder. The JSON pointer at names
// the array of tiers, whose members are "run", "radius_m" and "holed".
func (l Ladder) Check(p *domain.Problems, at string) {
	if len(l.Tiers) == 0 {
		p.Add(at, "a ladder has at least one tier")
	}
	if len(l.Tiers) > MaxTiers {
		p.Add(at, "a ladder has at most %d tiers, got %d", MaxTiers, len(l.Tiers))
		return
	}
	sound := true
	for i, t := range l.Tiers {
		where := at + "/" + strconv.Itoa(i)
		before := len(p.Fields())
		t.Check(p, where)
		ok := len(p.Fields()) == before
		if i > 0 && ok && sound {
			checkStep(p, where, l.Tiers[i-1], t, i)
		}
		sound = ok
	}
}

// Check notes in p what is wrong with a tier on its own, at the members "run",
// "radius_m" and "holed" of the object at the JSON pointer at.
func (t Tier) Check(p *domain.Problems, at string) {
	if t.Run < 1 || t.Run > MaxRun {
		p.Add(at+"/run", "a run is from 1 to %d balls, got %d", MaxRun, t.Run)
	}
	if t.Radius < MinRadius || t.Radius > MaxRadius {
		p.Add(at+"/radius_m", "a radius is from %v to %v, got %v", MinRadius, MaxRadius, t.Radius)
	}
	switch {
	case t.Holed < 0:
		p.Add(at+"/holed", "the number of holed balls is 0 or more, got %d", t.Holed)
	case t.Holed > t.Run && t.Run >= 1:
		p.Add(at+"/holed", "a run of %d cannot be asked to hold %d holed balls; use at most %d", t.Run, t.Holed, t.Run)
	}
}

// checkStep holds tier number i (0-based) to being strictly harder than the
// one before it, and points at the member that is easier. The balls that pass
// the harder one pass the other as well, at the same ball or an earlier one.
func checkStep(p *domain.Problems, at string, before, t Tier, i int) {
	if t == before {
		p.Add(at, "tier %d equals tier %d; ask for a longer run, a smaller radius or more holed balls", i+1, i)
		return
	}
	if t.Run < before.Run {
		p.Add(at+"/run", "tier %d must be harder than tier %d: use a run of %d or more, got %d", i+1, i, before.Run, t.Run)
	}
	if t.Radius > before.Radius {
		p.Add(at+"/radius_m", "tier %d must be harder than tier %d: use a radius of %v or less, got %v", i+1, i, before.Radius, t.Radius)
	}
	if t.Holed < before.Holed {
		p.Add(at+"/holed", "tier %d must be harder than tier %d: ask for %d holed or more, got %d", i+1, i, before.Holed, t.Holed)
	}
}

// OneSpot reports whether blocks of a kind are played from one spot, so that
// their balls follow each other under the same conditions: a warm-up, a
// technique block and a test are; stations and random blocks are not.
func OneSpot(kind string) bool {
	switch kind {
	case "warmup", "technique", "test":
		return true
	}
	return false
}

// CountsIn reports whether runs in a block of the given kind count for the
// ladder, provided that the block plays the ladder's skill: every block on one
// spot, or only tests when the ladder says so.
func (l Ladder) CountsIn(kind string) bool {
	if l.TestOnly {
		return kind == "test"
	}
	return OneSpot(kind)
}
