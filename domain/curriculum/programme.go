// Package curriculum is what a coach writes: skills with their ladders, and
// programmes of weeks, session plans, blocks and drills, which become numbered
// versions that never change.
package curriculum

import (
	"time"

	"fringework/domain"
	"fringework/domain/streak"
)

// BlockKind is what a block of a session plan is for.
type BlockKind string

// The kinds of block.
const (
	// Warmup keeps an earlier skill alive.
	Warmup BlockKind = "warmup"
	// Technique is blocked practice: one spot, one club.
	Technique BlockKind = "technique"
	// Stations are several clubs and one landing spot; a ball is in by where it lands,
	// since from one spot the clubs stop at different distances.
	Stations BlockKind = "stations"
	// Random gives every ball a new lie, distance and club, and one chance.
	Random BlockKind = "random"
	// Test is back to one spot: the streak.
	Test BlockKind = "test"
	// Playout is one ball from a new place each time, played until it is holed.
	Playout BlockKind = "playout"
)

// BlockKinds lists them in the usual order of a session.
func BlockKinds() []BlockKind {
	return []BlockKind{Warmup, Technique, Stations, Random, Test, Playout}
}

// OneSpot reports whether every ball of such a block is played from one spot,
// which is what a run needs.
func (k BlockKind) OneSpot() bool { return streak.OneSpot(string(k)) }

// Dealt reports whether every ball of such a block has a new task, which is dealt.
func (k BlockKind) Dealt() bool { return k == Random || k == Playout }

// Content is a programme as written: the part that a version freezes.
type Content struct {
	Name string
	// Text tells what the programme is for.
	Text string
	// Limits bound the share of each kind of block in every plan.
	Limits []Limit
	Weeks  []Week
}

// Limit bounds the share of one kind of block in each plan that has limits, in
// whole per cent. A kind that a plan does not use has a share of 0.
type Limit struct {
	Kind    BlockKind
	AtLeast int // 0 to 100
	AtMost  int // AtLeast to 100
}

// Week is one week of a programme.
type Week struct {
	Title string
	// Skill is what the week trains.
	Skill domain.ID
	Text  string
	Plans []Plan
}

// Plan is one session as planned.
type Plan struct {
	Name string
	// Minutes is the length of the session, 5 to 240.
	Minutes int
	// Times is how often the plan is to be done in its week, 1 to 14.
	Times  int
	Blocks []Block
}

// Block is one part of a plan.
type Block struct {
	Kind BlockKind
	// Share is its part of the time in whole per cent.
	Share int
	// Skill is what it trains; empty means the week's own skill. A warm-up
	// names the earlier skill that it keeps alive.
	Skill domain.ID
	Drill Drill
}

// Drill is what to do in a block.
type Drill struct {
	// Text is for the student, in plain words.
	Text string
	// Lies are where the ball lies: "fairway", "light rough", "bunker" …
	Lies []string
	// Distances are from ball to hole.
	Distances []domain.Length
	Clubs     []string
	// Carry is how much of the way the ball flies, in whole per cent, where it
	// matters; 0 leaves it open. The rest is roll.
	Carry int
	// Radius is the target radius that balls are judged at.
	Radius domain.Length
	// MoreOfMisses deals a random block's tasks by what the student misses most; see
	// ByMisses. It says nothing in other blocks.
	MoreOfMisses bool
	// AskContact lets the phone ask after each ball whether it was thin or fat.
	AskContact bool
}

// SkillOf gives the skill a block trains: its own, or else its week's.
func (w Week) SkillOf(b Block) domain.ID {
	if b.Skill != "" {
		return b.Skill
	}
	return w.Skill
}

// Shares lists the shares of the plan's blocks.
func (plan Plan) Shares() []int {
	shares := make([]int, len(plan.Blocks))
	for i, b := range plan.Blocks {
		shares[i] = b.Share
	}
	return shares
}

// BlockMinutes gives the minutes of each block, which sum to the plan's length;
// nil while the plan breaks the rules of a split.
func (plan Plan) BlockMinutes() []int { return plan.split(plan.Minutes) }

// BlockSeconds gives the time of each block by its share, in seconds: what time
// spent is held against, so that a share of 15 % is told as 15 % and not as the 7 of
// 45 minutes that it was rounded to. Nil as BlockMinutes is.
func (plan Plan) BlockSeconds() []int { return plan.split(60 * plan.Minutes) }

// split gives a length out by the shares.
func (plan Plan) split(length int) []int {
	sum := 0
	for _, share := range plan.Shares() {
		sum += share
	}
	parts, err := Split(length, plan.Shares())
	if err != nil || sum != maxPlanTotal {
		return nil
	}
	return parts
}

// Sessions is how many sessions the week plans.
func (w Week) Sessions() int {
	n := 0
	for _, p := range w.Plans {
		n += p.Times
	}
	return n
}

// SkillIDs lists the skills that the content trains, each once, in order of
// first use.
func (c Content) SkillIDs() []domain.ID {
	var ids []domain.ID
	seen := map[domain.ID]bool{}
	add := func(id domain.ID) {
		if id != "" && !seen[id] {
			seen[id] = true
			ids = append(ids, id)
		}
	}
	for _, w := range c.Weeks {
		add(w.Skill)
		for _, p := range w.Plans {
			for _, b := range p.Blocks {
				add(b.Skill)
			}
		}
	}
	return ids
}

// Programme is a coach's work in progress: a draft, and the versions published
// from it so far.
type Programme struct {
	ID    domain.ID
	Draft Content
	// Published is the number of the latest version; 0 before the first.
	Published  int
	ArchivedAt time.Time
	// Revision rises with every change of the draft or its state, from 1.
	Revision  int
	CreatedBy domain.ID
	CreatedAt time.Time
	UpdatedAt time.Time
}

// Version is a published programme. It never changes.
type Version struct {
	Programme domain.ID
	Number    int // from 1
	Content   Content
	// Skills are the skills it trains as they were at publication, ladders
	// included, in order of first use.
	Skills      []Skill
	PublishedAt time.Time
	PublishedBy domain.ID
}

// SkillByID finds one of the version's frozen skills.
func (v Version) SkillByID(id domain.ID) (Skill, bool) {
	for _, s := range v.Skills {
		if s.ID == id {
			return s, true
		}
	}
	return Skill{}, false
}

// ShotOf gives, for the blocks of a week, what sort of shot they train.
func (v Version) ShotOf(w Week) func(Block) SkillKind {
	return func(b Block) SkillKind {
		skill, _ := v.SkillByID(w.SkillOf(b))
		return skill.Kind
	}
}
