package curriculum

import (
	"fmt"
	"iter"
	"math"
	"slices"

	"fringework/domain"
	"fringework/domain/streak"
)

// mostAMinute is more balls a minute than a student who goes through a routine strikes
// (common practice, no source).
const mostAMinute = 3

// usually is how many balls minutes of a test have room for at the usual pace, and
// minutesFor how many minutes it takes for so many.
func usually(minutes int) int { return BallsIn(minutes, Test.UsualPace().Middle()) }

func minutesFor(balls int) int {
	return int(math.Ceil(60 * float64(balls) / Test.UsualPace().Middle()))
}

// Findings is what is told of a draft before it is published.
type Findings struct {
	// Problems keep it from being published.
	Problems []domain.Field
	// Warnings do not; each says what to change.
	Warnings []domain.Field
}

// Check tells what stands between a draft and its publication, and what is worth
// changing first. Each entry points at the place, names the week, the plan and
// the block, and says what would be right.
//
// A problem is what breaks the rules of the split or leaves something out, and
// what nobody can pass: a test judged wider than every step of its ladder, or a
// week's skill of which no block can pass the first step. A ball judged in at a
// larger radius says nothing about a smaller one unless its distance was
// measured, and since measuring is optional a programme may not depend on it. A
// warning is a block that counts for less than it seems, a later step that no
// block can pass, and a drill whose clubs or distances do not suit the shot.
//
// Whether steps can be passed is judged over the whole programme, so it is told
// once nothing else is missing. Skills maps the academy's skills; lengths are
// written by write.
func (c Content) Check(skills map[domain.ID]Skill, write func(domain.Length) string) Findings {
	t := teller{write: write}
	c.checkWritten(&t.problems, skills)
	written := len(t.problems.Fields()) == 0
	for b := range c.placed() {
		if skill, ok := skills[b.skill]; ok && b.Drill.Radius > 0 {
			t.checkCircle(b, skill)
			t.checkSuits(b, skill.Kind)
		}
	}
	if written {
		for _, id := range c.SkillIDs() {
			if skill, ok := skills[id]; ok {
				t.checkSteps(c, skill)
			}
		}
	}
	return Findings{Problems: t.problems.Fields(), Warnings: t.warnings.Fields()}
}

// teller collects what is told of a draft.
type teller struct {
	problems, warnings domain.Problems
	write              func(domain.Length) string
}

// apart writes two circles that differ, so that they do not read alike.
func (t *teller) apart(a, b domain.Length) (string, string) {
	x, y := t.write(a), t.write(b)
	if x == y {
		return a.String(), b.String()
	}
	return x, y
}

// Warnings tells what is worth changing in a published version; lengths are
// written by write.
func (v Version) Warnings(write func(domain.Length) string) []domain.Field {
	skills := make(map[domain.ID]Skill, len(v.Skills))
	for _, s := range v.Skills {
		skills[s.ID] = s
	}
	return v.Content.Check(skills, write).Warnings
}

// placed is a block with its place in the programme.
type placed struct {
	Block
	// at is the block's JSON pointer and place says the same in words.
	at, place string
	skill     domain.ID
	// minutes is 0 while the plan's split is unfinished.
	minutes int
}

// placed walks all blocks.
func (c Content) placed() iter.Seq[placed] {
	return func(yield func(placed) bool) {
		for i, w := range c.Weeks {
			for j, plan := range w.Plans {
				minutes := plan.BlockMinutes()
				for k, b := range plan.Blocks {
					x := placed{
						Block: b, at: fmt.Sprintf("/weeks/%d/plans/%d/blocks/%d", i, j, k),
						place: blockPlace(planPlace(weekPlace(i), j, plan), k, b), skill: w.SkillOf(b),
					}
					if minutes != nil {
						x.minutes = minutes[k]
					}
					if !yield(x) {
						return
					}
				}
			}
		}
	}
}

func weekPlace(i int) string { return fmt.Sprintf("week %d", i+1) }

func planPlace(week string, j int, plan Plan) string {
	place := fmt.Sprintf("%s, plan %d", week, j+1)
	if plan.Name != "" {
		place += fmt.Sprintf(" (%s)", plan.Name)
	}
	return place
}

func blockPlace(plan string, k int, b Block) string {
	return fmt.Sprintf("%s, block %d (%s)", plan, k+1, b.Kind)
}

// judges says whether balls judged at a radius can pass a step without being
// measured: at its own radius or a smaller one, and at any if all of them are to
// be holed.
func judges(radius domain.Length, t streak.Tier) bool {
	return radius <= t.Radius || t.Holed == t.Run
}

// checkCircle tells of a test or warm-up whose circle is no step's: too wide to
// pass any, or so close that balls are wasted.
func (t *teller) checkCircle(b placed, skill Skill) {
	tiers, radius := skill.Ladder.Tiers, b.Drill.Radius
	if b.Kind != Test && b.Kind != Warmup || !skill.Ladder.CountsIn(string(b.Kind)) || len(tiers) == 0 {
		return
	}
	can := slices.ContainsFunc(tiers, func(tier streak.Tier) bool { return judges(radius, tier) })
	same := slices.ContainsFunc(tiers, func(tier streak.Tier) bool { return radius == tier.Radius })
	at := b.at + "/drill/radius_m"
	widest := tiers[0].Radius
	switch here, needs := t.apart(radius, widest); {
	case !can:
		told := &t.warnings
		if b.Kind == Test {
			told = &t.problems
		}
		told.AddAt(at, b.place, "this circle is %s, and every step of %s needs %s or less, so no step can be passed here. Use %s", here, skill.Name, needs, needs)
	case !same && radius < widest:
		here, next := t.apart(radius, nextWider(tiers, radius))
		t.warnings.AddAt(at, b.place, "no step of %s has a circle of %s, so a ball just outside it counts for nothing. Use %s", skill.Name, here, next)
	}
}

// nextWider is the smallest circle of a ladder that is wider than a radius.
func nextWider(tiers []streak.Tier, radius domain.Length) domain.Length {
	next := tiers[0].Radius
	for _, t := range tiers {
		if t.Radius > radius {
			next = min(next, t.Radius)
		}
	}
	return next
}

// counting lists the blocks whose runs count for a skill's ladder.
func (c Content) counting(skill Skill) (blocks []placed) {
	for b := range c.placed() {
		if b.skill == skill.ID && skill.Ladder.CountsIn(string(b.Kind)) {
			blocks = append(blocks, b)
		}
	}
	return blocks
}

// TestBalls is how many balls the longest block that counts for a skill's ladder
// holds at the usual pace; 0 without one.
func (c Content) TestBalls(skill Skill) int {
	minutes := 0
	for _, b := range c.counting(skill) {
		minutes = max(minutes, b.minutes)
	}
	return usually(minutes)
}

// TestCircle is the circle of one test, with its place: the block's JSON pointer
// and the same in words.
type TestCircle struct {
	Pointer, Place string
	Radius         domain.Length
}

// CanPass says whether balls judged in the circle can pass a step without being
// measured.
func (c TestCircle) CanPass(t streak.Tier) bool { return judges(c.Radius, t) }

// TestCircles lists the tests of a skill that have a circle, in the order of the
// programme.
func (c Content) TestCircles(skill domain.ID) (all []TestCircle) {
	for b := range c.placed() {
		if b.skill == skill && b.Kind == Test && b.Drill.Radius > 0 {
			all = append(all, TestCircle{Pointer: b.at + "/drill/radius_m", Place: b.place, Radius: b.Drill.Radius})
		}
	}
	return all
}

// checkSteps tells of the first step of a ladder that no block can pass. The ones
// after it are harder, so that none of them can be passed either. A skill that is
// only warmed up is proved elsewhere, and not looked at.
func (t *teller) checkSteps(c Content, skill Skill) {
	week := slices.IndexFunc(c.Weeks, func(w Week) bool { return w.Skill == skill.ID })
	blocks := c.counting(skill)
	tested := slices.ContainsFunc(blocks, func(b placed) bool { return b.Kind == Test })
	switch {
	case week < 0 && !tested:
		return
	case len(blocks) == 0:
		t.problems.AddAt(fmt.Sprintf("/weeks/%d/plans", week), weekPlace(week), "no block counts towards the steps of %s, so none can be passed; add %s", skill.Name, addable(skill.Ladder))
		return
	}
	for i := range skill.Ladder.Tiers {
		if !t.checkStep(skill, i, blocks) {
			return
		}
	}
}

// addable names what would count for a ladder.
func addable(l streak.Ladder) string {
	if l.TestOnly {
		return "a test, since only tests count for it"
	}
	return "a test"
}

// checkStep tells of one step, number i from 0; it says whether the block that
// suits it best can pass it at the usual pace.
func (t *teller) checkStep(skill Skill, i int, blocks []placed) bool {
	told, tier := &t.warnings, skill.Ladder.Tiers[i]
	if i == 0 {
		told = &t.problems
	}
	step := fmt.Sprintf("step %d of %s", i+1, skill.Name)
	// A test that can judge no step at all was told where it stands.
	wide := i == 0 && slices.ContainsFunc(blocks, func(b placed) bool { return b.Kind == Test && !judges(b.Drill.Radius, tier) })
	closest := slices.MinFunc(blocks, func(a, b placed) int { return int(a.Drill.Radius - b.Drill.Radius) })
	if !judges(closest.Drill.Radius, tier) {
		if !wide {
			needs, here := t.apart(tier.Radius, closest.Drill.Radius)
			told.AddAt(closest.at+"/drill/radius_m", closest.place, "%s needs a circle of %s; this block uses %s, and no other is smaller. Use %s in a test", step, needs, here, needs)
		}
		return false
	}
	fit := slices.DeleteFunc(slices.Clone(blocks), func(b placed) bool { return !judges(b.Drill.Radius, tier) })
	longest := slices.MaxFunc(fit, func(a, b placed) int { return a.minutes - b.minutes })
	switch needs, at := minutesFor(tier.Run), longest.at+"/share"; {
	case tier.Run > mostAMinute*longest.minutes:
		told.AddAt(at, longest.place, "%s takes %d in a row; %s, the most that any block has, is time for %d balls at most, so nobody can pass it. Make it %s or more", step, tier.Run, minutesText(longest.minutes), mostAMinute*longest.minutes, minutesText(needs))
		return false
	case tier.Run > usually(longest.minutes):
		t.warnings.AddAt(at, longest.place, "%s takes %d in a row; %s, the most that any block has, is usually time for %d balls. Make it %s or more", step, tier.Run, minutesText(longest.minutes), usually(longest.minutes), minutesText(needs))
		return false
	}
	return true
}

func minutesText(n int) string {
	if n == 1 {
		return "1 minute"
	}
	return fmt.Sprintf("%d minutes", n)
}
