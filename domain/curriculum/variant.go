package curriculum

import (
	"slices"

	"fringework/domain"
)

// Day is a day that goes otherwise: which version of a plan is played on it, and on
// what. Only a closed green has another surface than a green.
type Day struct {
	Variant Variant
	Surface Surface // empty is a green
}

// Days lists the days that a plan has a version for.
func Days() []Day {
	return []Day{
		{Variant: ShortHour}, {Variant: OneBall},
		{ClosedGreen, OnMat}, {ClosedGreen, OnCarpet}, {ClosedGreen, InGarden},
		{Variant: InRain},
	}
}

// Bounds of the versions: common practice, no source.
const (
	// shortMinutes is how long the short version is. Blocks that would have less than
	// shortBlock of it are left out, the smallest first: walking over and setting up
	// takes as long.
	shortMinutes = 20
	shortBlock   = 3
	// Rain leaves two thirds of the time, in steps of fives, but not less than the short
	// version has.
	rainParts, rainOf, rainStep = 2, 3, 5
	// nearerPart is how far the second place is where a drill says one distance, in per
	// cent of it.
	nearerPart = 75
	// landingPart is how much of the way to the hole a ball flies where the drill does
	// not say, in per cent.
	landingPart = 50
	// towel is how near the landing spot a ball is in that has no hole: a club's length.
	towel = 9 * domain.Metre / 10
)

// farthest is how far a ball is sent on a surface without a green, in yards or metres,
// whichever the drill is in: common practice, no source.
var farthest = map[Surface]domain.Length{OnMat: 15, OnCarpet: 3, InGarden: 10}

// Variant gives the plan as it is played on a day that goes otherwise; kind tells what
// sort of shot a block trains. Shares sum to 100, and each block has at least a minute.
// Lengths, kinds and shares follow from the plan's own kinds and shares and the day
// alone, never from drills or sorts of shot, so that a session can be held against
// them whatever a student's clubs are called. ok is false where there is no such
// version: the plan is not finished, or not longer than the short one.
//
// No version has a test, since none passes a step: what the plan tests is practised.
//   - Short: twenty minutes, without blocks that would have less than three.
//   - One ball: what has one spot or one landing spot is played out, from two places at
//     least.
//   - Closed green: no hole. Shots have landing spots, putts a coin; distances are capped
//     by the surface; what needed a green is dealt from several distances.
//   - Rain: two thirds of the time.
func (plan Plan) Variant(day Day, kind func(Block) SkillKind) (version Plan, ok bool) {
	if !slices.Contains(Days(), day) || plan.BlockMinutes() == nil {
		return Plan{}, false
	}
	version = plan
	version.Minutes = day.minutes(plan.Minutes)
	if day.Variant == ShortHour && version.Minutes == plan.Minutes {
		return Plan{}, false
	}
	version.Blocks = slices.Clone(plan.Blocks)
	for i, b := range plan.Blocks {
		version.Blocks[i] = day.block(b, kind(b))
	}
	least := 1
	if day.Variant == ShortHour {
		least = shortBlock
	}
	version.Blocks = version.withRoom(least)
	return version, true
}

// minutes is how long a plan of so many minutes is on the day.
func (d Day) minutes(planned int) int {
	switch d.Variant {
	case ShortHour:
		return min(planned, shortMinutes)
	case InRain:
		return min(planned, max(shortMinutes, planned*rainParts/rainOf/rainStep*rainStep))
	}
	return planned
}

// withRoom gives the blocks that have at least so many minutes once those that would
// not are left out, the smallest first, of equals the last; the shares of those that
// stay keep their proportions and sum to 100.
func (plan Plan) withRoom(least int) []Block {
	for {
		fitted := plan
		fitted.Blocks = slices.Clone(plan.Blocks)
		divide(fitted.Blocks, func(Block) bool { return true }, maxPlanTotal)
		minutes := fitted.BlockMinutes()
		if len(minutes) <= 1 || slices.Min(minutes) >= least {
			return fitted.Blocks
		}
		smallest := len(plan.Blocks) - 1
		for i, b := range slices.Backward(plan.Blocks) {
			if b.Share < plan.Blocks[smallest].Share {
				smallest = i
			}
		}
		plan.Blocks = slices.Delete(slices.Clone(plan.Blocks), smallest, smallest+1)
	}
}

// kind is what a kind of block becomes on the day.
func (d Day) kind(k BlockKind) BlockKind {
	switch {
	case d.Variant == OneBall && (k == Technique || k == Stations || k == Test):
		return Playout
	case d.Variant == ClosedGreen && (k == Stations || k == Playout):
		return Random
	case k == Test:
		return Technique
	}
	return k
}

func (d Day) block(b Block, shot SkillKind) Block {
	was := b.Kind
	b.Kind = d.kind(was)
	switch d.Variant {
	case OneBall:
		b.Drill = b.Drill.withPlaces(b.Kind)
	case ClosedGreen:
		b.Drill = d.withoutGreen(b.Drill, b.Kind, shot.putts())
	}
	b.Drill.Text = d.text(was, shot, b.Drill.Text)
	if b.Kind != Random {
		b.Drill.MoreOfMisses = false
	}
	return b
}

// otherSides are where a ball is played from that a drill names no place for.
var otherSides = []string{"this side of the green", "the far side of the green"}

// withPlaces gives the drill at least two places, where each ball needs a new one.
func (d Drill) withPlaces(kind BlockKind) Drill {
	if kind != Playout || max(1, len(d.Lies))*max(1, len(d.Distances)) >= 2 {
		return d
	}
	if len(d.Distances) == 1 {
		if near := nearer(d.Distances[0], nearerPart); near != d.Distances[0] {
			d.Distances = []domain.Length{near, d.Distances[0]}
			return d
		}
	}
	d.Lies = otherSides
	return d
}

// nearer is a part of a distance, in whole yards or metres; the distance itself where
// that leaves none.
func nearer(d domain.Length, part int) domain.Length {
	return Adjustment{DistancePart: part}.Nearer([]domain.Length{d})[0]
}

// withoutGreen gives the drill what it is played at where there is no green: landing
// spots for shots, coins for putts, all within reach of the surface.
func (d Day) withoutGreen(drill Drill, kind BlockKind, putts bool) Drill {
	most := farthest[d.Surface] * domain.Yard
	if len(drill.Distances) > 0 {
		most = farthest[d.Surface] * unitOf(drill.Distances[0])
	}
	var spots []domain.Length
	for _, to := range drill.Distances {
		if !putts {
			to = nearer(to, drill.flight())
		}
		if to = min(to, most); !slices.Contains(spots, to) {
			spots = append(spots, to)
		}
	}
	if len(spots) == 0 {
		spots = []domain.Length{most}
	}
	if kind == Random && len(spots) == 1 {
		if half := nearer(spots[0], 50); half != spots[0] {
			spots = []domain.Length{half, spots[0]}
		} else {
			spots = append(spots, most) // a putt of a yard or less
		}
	}
	if kind.OneSpot() {
		spots = spots[:1]
	}
	drill.Lies, drill.Distances, drill.Carry = []string{surfaceLies[d.Surface]}, spots, 0
	drill.Radius = min(drill.Radius, towel)
	return drill
}

// flight is how much of the way the ball flies, in per cent.
func (d Drill) flight() int {
	if d.Carry > 0 && d.Carry < 100 {
		return max(d.Carry, minDistancePart)
	}
	return landingPart
}

// surfaceLies are what a ball lies on where there is no green.
var surfaceLies = map[Surface]string{OnMat: "mat", OnCarpet: "carpet", InGarden: "grass"}
