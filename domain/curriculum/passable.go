package curriculum

import (
	"fmt"
	"iter"
	"slices"

	"fringework/domain"
	"fringework/domain/streak"
)

// Balls a minute, at the pace of a practice green (common practice, no source):
// what a student usually strikes, which is what a practice card leaves room for,
// and more than a student who goes through a routine strikes.
const (
	usualAMinute = 2
	mostAMinute  = 3
)

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
// once nothing else is missing. Skills maps the academy's skills.
func (c Content) Check(skills map[domain.ID]Skill) Findings {
	var p, w domain.Problems
	c.checkWritten(&p, skills)
	written := len(p.Fields()) == 0
	for b := range c.placed() {
		if skill, ok := skills[b.skill]; ok && b.Drill.Radius > 0 {
			b.checkCircle(&p, &w, skill)
			b.checkSuits(&w, skill.Kind)
		}
	}
	if written {
		for _, id := range c.SkillIDs() {
			if skill, ok := skills[id]; ok {
				c.checkSteps(&p, &w, skill)
			}
		}
	}
	return Findings{Problems: p.Fields(), Warnings: w.Fields()}
}

// Warnings tells what is worth changing in a published version.
func (v Version) Warnings() []domain.Field {
	skills := make(map[domain.ID]Skill, len(v.Skills))
	for _, s := range v.Skills {
		skills[s.ID] = s
	}
	return v.Content.Check(skills).Warnings
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
func (b placed) checkCircle(p, w *domain.Problems, skill Skill) {
	tiers, radius := skill.Ladder.Tiers, b.Drill.Radius
	if b.Kind != Test && b.Kind != Warmup || !skill.Ladder.CountsIn(string(b.Kind)) || len(tiers) == 0 {
		return
	}
	can := slices.ContainsFunc(tiers, func(t streak.Tier) bool { return judges(radius, t) })
	same := slices.ContainsFunc(tiers, func(t streak.Tier) bool { return radius == t.Radius })
	at := b.at + "/drill/radius_m"
	switch widest := tiers[0].Radius; {
	case !can && b.Kind == Test:
		p.Add(at, "%s: is judged inside %v, wider than every step of %s; a ball in there may be out of %v, so nobody can pass a step here without measuring every ball. Judge inside %v", b.place, radius, skill.Name, widest, widest)
	case !can:
		w.Add(at, "%s: is judged inside %v, wider than every step of %s, so it can pass none without measuring. Judge inside %v", b.place, radius, skill.Name, widest)
	case !same && radius < widest:
		next := nextWider(tiers, radius)
		w.Add(at, "%s: is judged inside %v, and no step of %s asks for that; a ball that stops between there and %v counts for nothing. Judge inside %v", b.place, radius, skill.Name, next, next)
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
	return usualAMinute * minutes
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
func (c Content) checkSteps(p, w *domain.Problems, skill Skill) {
	week := slices.IndexFunc(c.Weeks, func(w Week) bool { return w.Skill == skill.ID })
	blocks := c.counting(skill)
	tested := slices.ContainsFunc(blocks, func(b placed) bool { return b.Kind == Test })
	switch {
	case week < 0 && !tested:
		return
	case len(blocks) == 0:
		p.Add(fmt.Sprintf("/weeks/%d/plans", week), "%s: no block counts for the steps of %s, so nobody can pass one; add %s", weekPlace(week), skill.Name, addable(skill.Ladder))
		return
	}
	for i, t := range skill.Ladder.Tiers {
		if !checkStep(p, w, skill, i, t, blocks) {
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
func checkStep(p, w *domain.Problems, skill Skill, i int, t streak.Tier, blocks []placed) bool {
	told := w
	if i == 0 {
		told = p
	}
	step := fmt.Sprintf("step %d of %s (%s)", i+1, skill.Name, tierText(t, domain.Length.String))
	// A test that can judge no step at all was told where it stands.
	wide := i == 0 && slices.ContainsFunc(blocks, func(b placed) bool { return b.Kind == Test && !judges(b.Drill.Radius, t) })
	closest := slices.MinFunc(blocks, func(a, b placed) int { return int(a.Drill.Radius - b.Drill.Radius) })
	if !judges(closest.Drill.Radius, t) {
		if !wide {
			told.Add(closest.at+"/drill/radius_m", "%s: is the closest that counts for %s, and it is judged inside %v, so nobody can pass that step without measuring every ball. Judge a test inside %v", closest.place, step, closest.Drill.Radius, t.Radius)
		}
		return false
	}
	fit := slices.DeleteFunc(slices.Clone(blocks), func(b placed) bool { return !judges(b.Drill.Radius, t) })
	longest := slices.MaxFunc(fit, func(a, b placed) int { return a.minutes - b.minutes })
	switch needs, at := (t.Run+usualAMinute-1)/usualAMinute, longest.at+"/share"; {
	case t.Run > mostAMinute*longest.minutes:
		told.Add(at, "%s: has %s, time for %d balls at most, and %s takes %d; no block has more, so nobody can pass it. Give it %s or more", longest.place, minutesText(longest.minutes), mostAMinute*longest.minutes, step, t.Run, minutesText(needs))
		return false
	case t.Run > usualAMinute*longest.minutes:
		w.Add(at, "%s: has %s, usually %d balls, and %s takes %d; no block has more. Give it %s or more", longest.place, minutesText(longest.minutes), usualAMinute*longest.minutes, step, t.Run, minutesText(needs))
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
