package curriculum

import (
	"fmt"
	"slices"
	"strings"

	"fringework/domain"
	"fringework/domain/streak"
)

// Bounds of a programme: generous for a coach, finite for a machine.
const (
	MaxWeeks     = 104
	MaxPlans     = 14
	MaxBlocks    = 12
	MaxChoices   = 24
	MinMinutes   = 5
	MaxMinutes   = 240
	MaxTimes     = 14
	maxPlanTotal = 100
)

// MinDistance and MaxDistance bound the distance of a drill to the hole.
const (
	MinDistance = streak.MinRadius
	MaxDistance = 100 * domain.Metre
)

// CheckDraft notes what makes content unfit even to be kept as a draft: words
// outside the vocabulary, sizes out of bounds, skills that are not the
// academy's. An unfinished split is no reason to lose a draft; see
// CheckPublishable.
func (c Content) CheckDraft(known map[domain.ID]Skill) error {
	var p domain.Problems
	checkName(&p, "/name", c.Name)
	checkText(&p, "/text", c.Text)
	c.checkLimits(&p)
	if len(c.Weeks) > MaxWeeks {
		p.Add("/weeks", "has %d weeks; use at most %d", len(c.Weeks), MaxWeeks)
		return p.Err("programme_invalid", "The programme was not saved.")
	}
	for i, w := range c.Weeks {
		w.checkDraft(&p, fmt.Sprintf("/weeks/%d", i), known)
	}
	return p.Err("programme_invalid", "The programme was not saved.")
}

func (c Content) checkLimits(p *domain.Problems) {
	seen := map[BlockKind]bool{}
	for i, l := range c.Limits {
		at := fmt.Sprintf("/limits/%d", i)
		checkKind(p, at+"/kind", l.Kind)
		if seen[l.Kind] {
			p.Add(at+"/kind", "%s already has a limit; keep one of them", l.Kind)
		}
		seen[l.Kind] = true
		if l.AtLeast < 0 || l.AtLeast > maxPlanTotal {
			p.Add(at+"/at_least", "is %d; give a whole per cent from 0 to 100", l.AtLeast)
		}
		if l.AtMost < l.AtLeast || l.AtMost > maxPlanTotal {
			p.Add(at+"/at_most", "is %d; give a whole per cent from %d to 100", l.AtMost, min(max(l.AtLeast, 0), maxPlanTotal))
		}
	}
}

func checkKind(p *domain.Problems, at string, k BlockKind) {
	if !slices.Contains(BlockKinds(), k) {
		p.Add(at, "%q is not a kind of block; use one of %s", k, domain.OneOf(BlockKinds()))
	}
}

func checkSkill(p *domain.Problems, at string, id domain.ID, known map[domain.ID]Skill) {
	if _, ok := known[id]; id != "" && !ok {
		p.Add(at, "this academy has no skill %q; create it first or give another", id)
	}
}

func (w Week) checkDraft(p *domain.Problems, at string, known map[domain.ID]Skill) {
	checkTitle(p, at+"/title", w.Title)
	checkText(p, at+"/text", w.Text)
	checkSkill(p, at+"/skill_id", w.Skill, known)
	if len(w.Plans) > MaxPlans {
		p.Add(at+"/plans", "has %d plans; use at most %d in a week", len(w.Plans), MaxPlans)
		return
	}
	for i, plan := range w.Plans {
		plan.checkDraft(p, fmt.Sprintf("%s/plans/%d", at, i), known)
	}
}

func checkTitle(p *domain.Problems, at, title string) {
	if n := len([]rune(title)); n > MaxName {
		p.Add(at, "has %d characters; use at most %d", n, MaxName)
	}
	checkPrintable(p, at, title)
}

func (plan Plan) checkDraft(p *domain.Problems, at string, known map[domain.ID]Skill) {
	checkTitle(p, at+"/name", plan.Name)
	if plan.Minutes < MinMinutes || plan.Minutes > MaxMinutes {
		p.Add(at+"/minutes", "is %d; give a session of %d to %d minutes", plan.Minutes, MinMinutes, MaxMinutes)
	}
	if plan.Times < 1 || plan.Times > MaxTimes {
		p.Add(at+"/times", "is %d; give 1 to %d times a week", plan.Times, MaxTimes)
	}
	if len(plan.Blocks) > MaxBlocks {
		p.Add(at+"/blocks", "has %d blocks; use at most %d in a session", len(plan.Blocks), MaxBlocks)
		return
	}
	for i, b := range plan.Blocks {
		b.checkDraft(p, fmt.Sprintf("%s/blocks/%d", at, i), known)
	}
}

func (b Block) checkDraft(p *domain.Problems, at string, known map[domain.ID]Skill) {
	checkKind(p, at+"/kind", b.Kind)
	if b.Share < 0 || b.Share > maxPlanTotal {
		p.Add(at+"/share", "is %d; give a whole per cent from 1 to 100", b.Share)
	}
	checkSkill(p, at+"/skill_id", b.Skill, known)
	b.Drill.check(p, at+"/drill")
}

// check notes what no drill may say, finished or not.
func (d Drill) check(p *domain.Problems, at string) {
	checkText(p, at+"/text", d.Text)
	checkChoices(p, at+"/lies", d.Lies)
	checkChoices(p, at+"/clubs", d.Clubs)
	checkDistances(p, at+"/distances_m", d.Distances)
	if d.Carry < 0 || d.Carry > 100 {
		p.Add(at+"/carry_percent", "is %d; give a whole per cent from 1 to 100, or leave it out", d.Carry)
	}
	if d.Radius != 0 && (d.Radius < streak.MinRadius || d.Radius > streak.MaxRadius) {
		p.Add(at+"/radius_m", "is %v; give a radius from %v to %v", d.Radius, streak.MinRadius, streak.MaxRadius)
	}
}

func checkDistances(p *domain.Problems, at string, all []domain.Length) {
	if len(all) > MaxChoices {
		p.Add(at, "has %d entries; use at most %d", len(all), MaxChoices)
	}
	for i, d := range all {
		here := fmt.Sprintf("%s/%d", at, i)
		if slices.Contains(all[:i], d) {
			p.Add(here, "has %v twice; remove one", d)
		}
		if d < MinDistance || d > MaxDistance {
			p.Add(here, "is %v; give a distance from %v to %v", d, MinDistance, MaxDistance)
		}
	}
}

func checkChoices(p *domain.Problems, at string, choices []string) {
	if len(choices) > MaxChoices {
		p.Add(at, "has %d entries; use at most %d", len(choices), MaxChoices)
		return
	}
	seen := map[string]bool{}
	for i, c := range choices {
		here := fmt.Sprintf("%s/%d", at, i)
		checkName(p, here, c)
		if seen[c] {
			p.Add(here, "%q is there twice; remove one", c)
		}
		seen[c] = true
	}
}

// CheckPublishable refuses a draft with the problems that Check finds: the rules
// of the split (every plan's shares sum to 100, each block gets a minute, limits
// are kept), a skill, a drill and a radius wherever one is needed, and steps that
// nobody can pass. Skills maps the academy's skills; archived ones cannot be
// published anew.
func (c Content) CheckPublishable(skills map[domain.ID]Skill) error {
	return domain.ErrInvalid(c.Check(skills, domain.Length.String).Problems, "programme_unpublishable", "The programme cannot be published yet. The draft is saved.")
}

// checkWritten notes what breaks the rules of the split or is left out.
func (c Content) checkWritten(p *domain.Problems, skills map[domain.ID]Skill) {
	if len(c.Weeks) == 0 {
		p.Add("/weeks", "is empty; add at least one week")
	}
	checkLimitsFit(p, c.Limits)
	for i, w := range c.Weeks {
		w.checkPublishable(p, i, c.Limits, skills)
	}
}

// checkLimitsFit tells of limits that no plan could keep all at once.
func checkLimitsFit(p *domain.Problems, limits []Limit) {
	least, most := 0, maxPlanTotal*(len(BlockKinds())-len(limits))
	for _, l := range limits {
		least += l.AtLeast
		most += l.AtMost
	}
	if least > maxPlanTotal {
		p.Add("/limits", "the least shares sum to %d %%, which no plan can keep; lower them by %d in all", least, least-maxPlanTotal)
	}
	if most < maxPlanTotal {
		p.Add("/limits", "the greatest shares sum to %d %%, which no plan can keep; raise them by %d in all", most, maxPlanTotal-most)
	}
}

func (w Week) checkPublishable(p *domain.Problems, i int, limits []Limit, skills map[domain.ID]Skill) {
	at, place := fmt.Sprintf("/weeks/%d", i), weekPlace(i)
	if w.Skill == "" {
		p.AddAt(at+"/skill_id", place, "has no skill; choose what the week trains")
	}
	checkInUse(p, at+"/skill_id", place, w.Skill, skills)
	if len(w.Plans) == 0 {
		p.AddAt(at+"/plans", place, "has no session plan; add at least one")
	}
	for j, plan := range w.Plans {
		w.checkPlan(p, plan, fmt.Sprintf("%s/plans/%d", at, j), planPlace(place, j, plan), limits, skills)
	}
}

func checkInUse(p *domain.Problems, at, place string, id domain.ID, skills map[domain.ID]Skill) {
	if s, ok := skills[id]; ok && !s.ArchivedAt.IsZero() {
		p.AddAt(at, place, "the skill %q is archived; restore it or choose another", s.Name)
	}
}

func (w Week) checkPlan(p *domain.Problems, plan Plan, at, place string, limits []Limit, skills map[domain.ID]Skill) {
	if len(plan.Blocks) == 0 {
		p.AddAt(at+"/blocks", place, "has no blocks; add at least one")
		return
	}
	byKind := map[BlockKind]int{}
	sum := 0
	for i, b := range plan.Blocks {
		sum += b.Share
		byKind[b.Kind] += b.Share
		w.checkBlock(p, b, fmt.Sprintf("%s/blocks/%d", at, i), blockPlace(place, i, b), skills)
	}
	switch {
	case sum < maxPlanTotal:
		p.AddAt(at+"/blocks", place, "shares sum to %d; add %d", sum, maxPlanTotal-sum)
	case sum > maxPlanTotal:
		p.AddAt(at+"/blocks", place, "shares sum to %d; take away %d", sum, sum-maxPlanTotal)
	default:
		plan.checkMinutes(p, at, place)
	}
	for _, l := range limits {
		plan.checkLimit(p, at, place, l, byKind[l.Kind])
	}
}

func (plan Plan) checkMinutes(p *domain.Problems, at, place string) {
	minutes, err := Split(plan.Minutes, plan.Shares())
	if err != nil {
		return // the share at fault is told already
	}
	for i, m := range minutes {
		if m < 1 && plan.Blocks[i].Share > 0 {
			p.AddAt(fmt.Sprintf("%s/blocks/%d/share", at, i), blockPlace(place, i, plan.Blocks[i]),
				"%d %% of %d minutes is less than a minute; raise the share or make the plan longer", plan.Blocks[i].Share, plan.Minutes)
		}
	}
}

// checkLimit points at the last block of the kind, or at the plan when it has
// none.
func (plan Plan) checkLimit(p *domain.Problems, at, place string, l Limit, share int) {
	for i, block := range slices.Backward(plan.Blocks) {
		if block.Kind == l.Kind {
			at = fmt.Sprintf("%s/blocks/%d/share", at, i)
			place = fmt.Sprintf("%s, block %d", place, i+1)
			break
		}
	}
	switch {
	case share < l.AtLeast:
		p.AddAt(at, place, "%s has %d %%; the limit is at least %d %%, so add %d", l.Kind, share, l.AtLeast, l.AtLeast-share)
	case share > l.AtMost:
		p.AddAt(at, place, "%s has %d %%; the limit is at most %d %%, so take away %d", l.Kind, share, l.AtMost, share-l.AtMost)
	}
}

func (w Week) checkBlock(p *domain.Problems, b Block, at, place string, skills map[domain.ID]Skill) {
	if b.Share < 1 {
		p.AddAt(at+"/share", place, "has no share; give it at least 1 %%")
	}
	checkInUse(p, at+"/skill_id", place, b.Skill, skills)
	d := b.Drill
	if w.SkillOf(b) == "" && d.blank() {
		return // the skill that is missing, which is told, says the drill as well
	}
	if d.Radius == 0 {
		p.AddAt(at+"/drill/radius_m", place, "has no target radius; give the radius inside which a ball is in")
	}
	if strings.TrimSpace(d.Text) == "" {
		p.AddAt(at+"/drill/text", place, "has no text; tell the student what to do")
	}
	d.checkSuits(p, at+"/drill", place, b.Kind, skills[w.SkillOf(b)].Kind.putts())
}

// checkSuits notes what keeps a drill from being one of its kind. Stations of a
// putt are several places, since there is one club for it.
func (d Drill) checkSuits(p *domain.Problems, at, place string, kind BlockKind, putts bool) {
	if kind.OneSpot() && (len(d.Lies) > 1 || len(d.Distances) > 1) {
		p.AddAt(at, place, "is played from one spot; give at most one lie and one distance")
	}
	switch {
	case kind == Technique && len(d.Clubs) > 1:
		p.AddAt(at+"/clubs", place, "is played with one club; give at most one")
	case kind == Stations && putts && d.tasks() < 2:
		p.AddAt(at, place, "needs several places to putt from; give at least two lies or distances")
	case kind == Stations && !putts && len(d.Clubs) < 2:
		p.AddAt(at+"/clubs", place, "needs several clubs; give at least two")
	case kind == Playout && max(1, len(d.Lies))*max(1, len(d.Distances)) < 2:
		p.AddAt(at, place, "needs a new place for every ball; give at least two lies or distances")
	case kind == Random && d.tasks() < 2:
		p.AddAt(at, place, "needs a new task for every ball; give at least two lies, distances or clubs")
	}
}

// blank reports whether nothing was written in a drill yet.
func (d Drill) blank() bool {
	return d.Text == "" && len(d.Lies) == 0 && len(d.Distances) == 0 && len(d.Clubs) == 0 && d.Carry == 0 && d.Radius == 0
}

// tasks counts the different tasks that a drill's lies, distances and clubs make.
func (d Drill) tasks() int {
	return max(1, len(d.Lies)) * max(1, len(d.Distances)) * max(1, len(d.Clubs))
}
