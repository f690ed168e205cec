package streak

import (
	"slices"
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
		p.Add(at, "a ladder has at least one step")
	}
	if len(l.Tiers) > MaxTiers {
		p.Add(at, "a ladder has at most %d steps, got %d", MaxTiers, len(l.Tiers))
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
		p.Add(at+"/run", "is %d; give 1 to %d balls", t.Run, MaxRun)
	}
	switch {
	case t.Radius == 0:
		p.Add(at+"/radius_m", "is missing or 0; give a radius from %v to %v", MinRadius, MaxRadius)
	case t.Radius < MinRadius || t.Radius > MaxRadius:
		p.Add(at+"/radius_m", "is %v; give a radius from %v to %v", t.Radius, MinRadius, MaxRadius)
	}
	switch {
	case t.Holed < 0:
		p.Add(at+"/holed", "is %d; give 0 or more holed balls", t.Holed)
	case t.Holed > t.Run && t.Run >= 1:
		p.Add(at+"/holed", "a run of %d cannot be asked to hold %d holed balls; use at most %d", t.Run, t.Holed, t.Run)
	}
}

// checkStep holds tier number i (0-based) to being strictly harder than the
// one before it, and points at the member that is easier. The balls that pass
// the harder one pass the other as well, at the same ball or an earlier one.
func checkStep(p *domain.Problems, at string, before, t Tier, i int) {
	if t == before {
		p.Add(at, "step %d equals step %d; ask for more in a row, a smaller radius or more holed balls", i+1, i)
		return
	}
	if t.Run < before.Run {
		p.Add(at+"/run", "step %d must be harder than step %d: use %d in a row or more, got %d", i+1, i, before.Run, t.Run)
	}
	if t.Radius > before.Radius {
		p.Add(at+"/radius_m", "step %d must be harder than step %d: use a radius of %v or less, got %v", i+1, i, before.Radius, t.Radius)
	}
	if t.Holed < before.Holed {
		p.Add(at+"/holed", "step %d must be harder than step %d: ask for %d holed or more, got %d", i+1, i, before.Holed, t.Holed)
	}
}

// AsHardAs reports whether the balls that pass t pass the other tier as well: t
// asks for as long a run, as small a circle and as many holed, or more.
func (t Tier) AsHardAs(o Tier) bool {
	return t.Run >= o.Run && t.Radius <= o.Radius && t.Holed >= o.Holed
}

// Place says where in the ladder an extra tier belongs: before the first tier that
// is as hard, or behind the last when it is harder than that. ok is false for one
// that the ladder has, and for one that is harder than the last in one respect
// and easier in another.
func (l Ladder) Place(t Tier) (at int, ok bool) {
	if slices.Contains(l.Tiers, t) || len(l.Tiers) == 0 {
		return 0, false
	}
	if at = slices.IndexFunc(l.Tiers, func(o Tier) bool { return o.AsHardAs(t) }); at >= 0 {
		return at, true
	}
	return len(l.Tiers), t.AsHardAs(l.Tiers[len(l.Tiers)-1])
}

// With gives the ladder with extra tiers, each in its place; one without a place
// is left out.
func (l Ladder) With(extra ...Tier) Ladder {
	for _, t := range extra {
		if at, ok := l.Place(t); ok {
			l.Tiers = slices.Insert(slices.Clone(l.Tiers), at, t)
		}
	}
	return l
}

// Without gives the ladder without a tier.
func (l Ladder) Without(t Tier) Ladder {
	l.Tiers = slices.DeleteFunc(slices.Clone(l.Tiers), func(o Tier) bool { return o == t })
	return l
}

// From gives the ladder from one of its tiers on; as it is without that tier.
func (l Ladder) From(t Tier) Ladder {
	if at := slices.Index(l.Tiers, t); at > 0 {
		l.Tiers = slices.Clone(l.Tiers[at:])
	}
	return l
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
// ladder, provided that the block plays the ladder's skill: tests always do,
// warm-ups unless the ladder says otherwise, and technique only where it says so.
func (l Ladder) CountsIn(kind string) bool {
	switch kind {
	case "test":
		return true
	case "warmup":
		return !l.TestOnly
	case "technique":
		return l.Technique && !l.TestOnly
	}
	return false
}

// Equal reports whether two ladders ask for the same, in the same blocks.
func (l Ladder) Equal(o Ladder) bool {
	return l.TestOnly == o.TestOnly && l.Technique == o.Technique && slices.Equal(l.Tiers, o.Tiers)
}
