package curriculum

import (
	"fmt"
	"slices"

	"fringework/domain"
	"fringework/domain/streak"
)

// AdjustmentKind says what an adjustment changes.
type AdjustmentKind string

// The kinds of adjustment.
const (
	// ExtraStep puts a step before one of the ladder's, or after its last.
	ExtraStep AdjustmentKind = "step"
	// OtherRadius and OtherDistances change the drills of a skill.
	OtherRadius    AdjustmentKind = "radius"
	OtherDistances AdjustmentKind = "distance"
	// OtherShares divides the time of every plan differently.
	OtherShares AdjustmentKind = "shares"
	// OtherWarmup keeps another earlier skill alive.
	OtherWarmup AdjustmentKind = "earlier_skill"
	// FewerSessions plans at most so many sessions a week.
	FewerSessions AdjustmentKind = "sessions"
	// ShorterSessions plans sessions of at most so many minutes.
	ShorterSessions AdjustmentKind = "minutes"
)

// AdjustmentKinds lists them.
func AdjustmentKinds() []AdjustmentKind {
	return []AdjustmentKind{ExtraStep, OtherRadius, OtherDistances, OtherShares, OtherWarmup, FewerSessions, ShorterSessions}
}

// Check notes a kind that is missing or none of them.
func (k AdjustmentKind) Check(p *domain.Problems, at string) {
	switch {
	case k == "":
		p.Add(at, "is missing; use one of %s", domain.OneOf(AdjustmentKinds()))
	case !slices.Contains(AdjustmentKinds(), k):
		p.Add(at, "%q is not a kind of adjustment; use one of %s", k, domain.OneOf(AdjustmentKinds()))
	}
}

// Adjustment is a change of what one student plays, on top of a published
// version, which stays as it is. Each kind uses the fields named for it.
type Adjustment struct {
	Kind AdjustmentKind
	// Skill is the one whose ladder or drills change; of a warm-up the one to keep
	// alive. Shares and sessions have none.
	Skill domain.ID
	// Tier is the extra step. Begins says that the ladder begins with it, whether it
	// is one of its own or not: the steps before it are left out.
	Tier   streak.Tier
	Begins bool
	// Radius is the target radius of the skill's drills.
	Radius domain.Length
	// Only are the kinds of block whose radius or distances change; empty for all.
	Only []BlockKind
	// Distances are those of the skill's drills; where a block is played from one
	// spot, the first.
	Distances []domain.Length
	// DistancePart is used instead of Distances: the part, in per cent, of its own
	// distances that each drill is played from, in whole yards or metres, whichever its
	// own are in.
	DistancePart int
	// Shares are the parts of the time of kinds of block. The other kinds of a plan
	// divide what is left as they did before.
	Shares []KindShare
	// Drill is what to do in the warm-up.
	Drill Drill
	// PerWeek is the most sessions a week.
	PerWeek int
	// Minutes is the longest session.
	Minutes int
}

// KindShare is the part of a plan's time that a kind of block has.
type KindShare struct {
	Kind BlockKind
	// Share is in whole per cent, from 1 to 100.
	Share int
}

// Check notes in p what is wrong with an adjustment on its own, at the members
// "kind", "skill_id", "tier", "radius_m", "distances_m", "only", "shares",
// "sessions_per_week" and "minutes" of the object at the JSON pointer at.
func (a Adjustment) Check(p *domain.Problems, at string) {
	switch a.Kind {
	case ExtraStep, OtherRadius, OtherDistances, OtherWarmup:
		if a.Skill == "" {
			p.Add(at+"/skill_id", "is missing; give the skill that is adjusted")
		}
	}
	for i, k := range a.Only {
		checkKind(p, fmt.Sprintf("%s/only/%d", at, i), k)
	}
	if a.Begins && a.Kind != ExtraStep {
		p.Add(at+"/begins", "goes with a step alone; leave it out")
	}
	switch a.Kind {
	case ExtraStep:
		a.Tier.Check(p, at+"/tier")
	case OtherRadius:
		if a.Radius < streak.MinRadius || a.Radius > streak.MaxRadius {
			p.Add(at+"/radius_m", "is %v; give a radius from %v to %v", a.Radius, streak.MinRadius, streak.MaxRadius)
		}
	case OtherDistances:
		switch {
		case a.DistancePart != 0 && len(a.Distances) > 0:
			p.Add(at+"/distance_percent", "does not go with distances; give one of the two")
		case a.DistancePart != 0 && (a.DistancePart < minDistancePart || a.DistancePart >= 100):
			p.Add(at+"/distance_percent", "is %d; give %d to 99 per cent", a.DistancePart, minDistancePart)
		case a.DistancePart == 0 && len(a.Distances) == 0:
			p.Add(at+"/distances_m", "is empty; give at least one distance")
		}
		checkDistances(p, at+"/distances_m", a.Distances)
	case OtherShares:
		a.checkShares(p, at+"/shares")
	case OtherWarmup:
	case FewerSessions:
		if a.PerWeek < 1 || a.PerWeek > MaxTimes {
			p.Add(at+"/sessions_per_week", "is %d; give 1 to %d sessions a week", a.PerWeek, MaxTimes)
		}
	case ShorterSessions:
		if a.Minutes < MinMinutes || a.Minutes > MaxMinutes {
			p.Add(at+"/minutes", "is %d; give %d to %d minutes", a.Minutes, MinMinutes, MaxMinutes)
		}
	default:
		a.Kind.Check(p, at+"/kind")
	}
}

func (a Adjustment) checkShares(p *domain.Problems, at string) {
	if len(a.Shares) == 0 {
		p.Add(at, "is empty; give the share of at least one kind of block")
	}
	sum := 0
	seen := map[BlockKind]bool{}
	for i, s := range a.Shares {
		here := fmt.Sprintf("%s/%d", at, i)
		checkKind(p, here+"/kind", s.Kind)
		if seen[s.Kind] {
			p.Add(here+"/kind", "%s is there twice; keep one of them", s.Kind)
		}
		seen[s.Kind] = true
		if s.Share < 1 || s.Share > maxPlanTotal {
			p.Add(here+"/share", "is %d; give a whole per cent from 1 to 100", s.Share)
			continue // told once
		}
		sum += s.Share
	}
	if sum > maxPlanTotal {
		p.Add(at, "add up to %d %%; take away %d", sum, sum-maxPlanTotal)
	}
}

// Adjusted gives the week as a student with the adjustments plays it. Where two
// change the same, the later one counts. What an adjustment cannot change, such
// as a plan whose blocks would be left without a minute, stays as it was.
func (w Week) Adjusted(all []Adjustment) Week {
	if len(all) == 0 {
		return w
	}
	w.Plans = slices.Clone(w.Plans)
	for i := range w.Plans {
		w.Plans[i].Blocks = slices.Clone(w.Plans[i].Blocks)
	}
	for _, a := range all {
		w.adjust(a)
	}
	return w
}

// adjust changes the week's own plans and blocks.
func (w Week) adjust(a Adjustment) {
	switch a.Kind {
	case OtherRadius, OtherDistances:
		for _, plan := range w.Plans {
			for i, b := range plan.Blocks {
				if w.SkillOf(b) == a.Skill && (len(a.Only) == 0 || slices.Contains(a.Only, b.Kind)) {
					plan.Blocks[i].Drill = a.drill(b)
				}
			}
		}
	case OtherShares:
		for i, plan := range w.Plans {
			w.Plans[i] = plan.withShares(a.Shares)
		}
	case OtherWarmup:
		for i, plan := range w.Plans {
			w.Plans[i] = plan.withWarmup(a, w)
		}
	case FewerSessions:
		w.limitSessions(a.PerWeek)
	case ShorterSessions:
		for i, plan := range w.Plans {
			w.Plans[i] = plan.noLongerThan(a.Minutes)
		}
	}
}

func (a Adjustment) drill(b Block) Drill {
	d := b.Drill
	switch {
	case a.Kind == OtherRadius:
		d.Radius = a.Radius
	case a.DistancePart > 0:
		d.Distances = a.Nearer(d.Distances)
	case b.Kind.OneSpot():
		d.Distances = a.Distances[:1]
	default:
		d.Distances = a.Distances
	}
	return d
}

// minDistancePart is the least part of its distance that a drill is played from, in
// per cent; our choice.
const minDistancePart = 10

// Nearer gives the part of each distance, each once; one that cannot be nearer stays.
func (a Adjustment) Nearer(distances []domain.Length) (moved []domain.Length) {
	for _, d := range distances {
		unit := unitOf(d)
		near := d * domain.Length(a.DistancePart) / 100 / unit * unit
		if near < max(unit, MinDistance) {
			near = min(d, max(unit, MinDistance))
		}
		if !slices.Contains(moved, near) {
			moved = append(moved, near)
		}
	}
	return moved
}

// unitOf is what a distance was written in: metres where it is whole ones, or else yards.
func unitOf(d domain.Length) domain.Length {
	if d%domain.Yard != 0 && d%domain.Metre == 0 {
		return domain.Metre
	}
	return domain.Yard
}

// OutOfLimits gives the first limit that a division of the time would leave in a plan
// of the week, and the share that the kind of block would have there, in per cent.
func (a Adjustment) OutOfLimits(w Week, limits []Limit) (l Limit, share int, breaks bool) {
	if a.Kind != OtherShares {
		return l, 0, false
	}
	for i, plan := range w.Adjusted([]Adjustment{a}).Plans {
		if slices.Equal(plan.Shares(), w.Plans[i].Shares()) {
			continue // nothing that it changes
		}
		for _, l := range limits {
			share := 0
			for _, b := range plan.Blocks {
				if b.Kind == l.Kind {
					share += b.Share
				}
			}
			if share < l.AtLeast || share > l.AtMost {
				return l, share, true
			}
		}
	}
	return l, 0, false
}

// withShares divides the plan's time anew, by largest remainder among the blocks
// of a kind.
func (plan Plan) withShares(wanted []KindShare) Plan {
	byKind := map[BlockKind]int{}
	var kinds []BlockKind
	for _, b := range plan.Blocks {
		if byKind[b.Kind] == 0 {
			kinds = append(kinds, b.Kind)
		}
		byKind[b.Kind] += b.Share
	}
	given, ok := kindShares(kinds, byKind, wanted)
	if !ok {
		return plan
	}
	blocks := slices.Clone(plan.Blocks)
	for i, k := range kinds {
		if !divide(blocks, func(b Block) bool { return b.Kind == k }, given[i]) {
			return plan
		}
	}
	return plan.orWith(blocks)
}

// kindShares gives each kind of a plan its share, those that are not wanted in
// proportion to what they had; ok is false when no plan of the kinds can have it.
func kindShares(kinds []BlockKind, had map[BlockKind]int, wanted []KindShare) (given []int, ok bool) {
	given = make([]int, len(kinds))
	var rest []int // of the kinds that are not wanted
	left, changed := maxPlanTotal, false
	for i, k := range kinds {
		at := slices.IndexFunc(wanted, func(s KindShare) bool { return s.Kind == k })
		if at < 0 {
			rest = append(rest, had[k])
			continue
		}
		given[i], changed = wanted[at].Share, true
		left -= wanted[at].Share
	}
	switch {
	case !changed:
		return nil, false
	case len(rest) == 0:
		given, err := Split(maxPlanTotal, given)
		return given, err == nil
	}
	parts, err := Split(left, rest)
	if err != nil {
		return nil, false
	}
	for i, next := 0, 0; i < len(kinds); i++ {
		if given[i] == 0 {
			given[i] = parts[next]
			next++
		}
	}
	return given, true
}

// divide gives a share out to some blocks in proportion to those they had.
func divide(blocks []Block, of func(Block) bool, share int) bool {
	var at, had []int
	for i, b := range blocks {
		if of(b) {
			at, had = append(at, i), append(had, b.Share)
		}
	}
	parts, err := Split(share, had)
	if err != nil {
		return false
	}
	for i, j := range at {
		blocks[j].Share = parts[i]
	}
	return true
}

// orWith gives the plan with other blocks, or as it is when one of them would
// not have a minute.
func (plan Plan) orWith(blocks []Block) Plan {
	other := plan
	other.Blocks = blocks
	minutes := other.BlockMinutes()
	if minutes == nil || slices.Min(minutes) < 1 {
		return plan
	}
	return other
}

// warmupShare is the share of a warm-up that is added to a plan without one, in
// per cent; our choice.
const warmupShare = 15

// withWarmup lets the plan's first warm-up keep another skill alive, or puts one
// in front.
func (plan Plan) withWarmup(a Adjustment, w Week) Plan {
	plays := func(b Block) bool { return b.Kind == Warmup && w.SkillOf(b) == a.Skill }
	if len(plan.Blocks) == 0 || slices.ContainsFunc(plan.Blocks, plays) {
		return plan
	}
	blocks := slices.Clone(plan.Blocks)
	if i := slices.IndexFunc(blocks, func(b Block) bool { return b.Kind == Warmup }); i >= 0 {
		blocks[i].Skill, blocks[i].Drill = a.Skill, a.Drill
		return plan.orWith(blocks)
	}
	if len(blocks) == MaxBlocks || !divide(blocks, func(Block) bool { return true }, maxPlanTotal-warmupShare) {
		return plan
	}
	return plan.orWith(slices.Insert(blocks, 0, Block{Kind: Warmup, Share: warmupShare, Skill: a.Skill, Drill: a.Drill}))
}

// noLongerThan gives the plan at most so many minutes, unless that would leave a block
// without one.
func (plan Plan) noLongerThan(most int) Plan {
	shorter := plan
	shorter.Minutes = min(plan.Minutes, most)
	if minutes := shorter.BlockMinutes(); minutes == nil || slices.Min(minutes) < 1 {
		return plan
	}
	return shorter
}

// limitSessions plans so many sessions at most: the later plans are done less
// often, or not at all.
func (w Week) limitSessions(most int) {
	over := w.Sessions() - most
	for i, plan := range slices.Backward(w.Plans) {
		less := min(max(over, 0), plan.Times)
		w.Plans[i].Times -= less
		over -= less
	}
}
