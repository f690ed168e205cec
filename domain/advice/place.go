package advice

import (
	"fmt"
	"math"
	"slices"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// Placing is what the proposals after a first test are made of.
type Placing struct {
	// State is where the student stands at the skill, and Test the first test.
	State progress.State
	Test  progress.Measured
	// Week is the programme's first week that trains the skill, as the student plays it.
	Week WeekAhead
	// Habit tells the student's pace.
	Habit progress.Habit
	// Challenge is the wanted share of the balls inside the circle practised to.
	Challenge float64
	// Reader is the coach, in whose units circles are proposed.
	Reader Reader
}

// nearestStart is the least part of its distance, in per cent, that a shot is played
// from to begin with: half, our choice.
const nearestStart = 50

// Place proposes where to begin after a first test: the step, the circle of the week's
// blocks and, where a circle would be too wide to aim at, a shorter shot. The first of
// them names the step; it has nothing to accept when that is the ladder's first as
// planned. See [estimate.Placing] for when a step suits.
func Place(p Placing) []Proposal {
	plan, trained := p.plan()
	if len(p.State.Ladder.Tiers) == 0 || !trained {
		return nil
	}
	placed := p.placed(plan)
	s := stepAhead{outing: outing{state: p.State, wanted: p.Challenge, reader: p.Reader, focus: p.State.Ladder.Tiers[0]}, week: p.Week}
	for _, b := range p.counting(plan) {
		s.circles = append(s.circles, b.Drill.Radius)
	}
	all := []Proposal{placed.proposal()}
	switch circle, ok := p.circle(s, placed, plan); {
	case placed.Part < 100:
		all = append(all, placed.nearer())
	case !s.plays(placed.Tier):
		all = append(all, p.within(placed.Tier.Radius, nil, circleToStart{placed.Tier}))
	case ok:
		all = append(all, circle)
	}
	return all
}

// plan is the week's plan that has most blocks of the skill that count for the ladder,
// or else the first that trains it.
func (p Placing) plan() (found curriculum.Plan, trained bool) {
	most := -1
	for _, plan := range p.Week.Plans {
		trains := slices.ContainsFunc(plan.Blocks, func(b curriculum.Block) bool { return p.Week.SkillOf(b) == p.State.Skill })
		if n := len(p.counting(plan)); trains && n > most {
			found, trained, most = plan, true, n
		}
	}
	return found, trained
}

// counting are the plan's blocks that count for the ladder.
func (p Placing) counting(plan curriculum.Plan) (blocks []curriculum.Block) {
	for _, b := range plan.Blocks {
		if p.Week.SkillOf(b) == p.State.Skill && p.State.Ladder.CountsIn(string(b.Kind)) {
			blocks = append(blocks, b)
		}
	}
	return blocks
}

// balls are how many each block that counts has room for at the student's pace. A plan
// without one is taken for a test of as many balls as the first.
func (p Placing) balls(plan curriculum.Plan) (balls []int) {
	minutes := plan.BlockMinutes()
	for i, b := range plan.Blocks {
		if minutes != nil && p.Week.SkillOf(b) == p.State.Skill && p.State.Ladder.CountsIn(string(b.Kind)) {
			balls = append(balls, curriculum.BallsIn(minutes[i], p.Habit.Pace(b.Kind).AHour))
		}
	}
	if len(balls) == 0 {
		return []int{progress.TestBalls}
	}
	return balls
}

// placed finds the step to begin with.
func (p Placing) placed(plan curriculum.Plan) placed {
	ladder, distances := p.State.Ladder.Tiers, distancesOf(&p.Week.Week, p.State.Skill)
	widest := func(part int) domain.Length {
		limit := min(widestPractice*ladder[0].Radius, farthestLeave)
		if len(distances) > 0 {
			limit = min(limit, distances[0]*domain.Length(part)/100/partOfDistance)
		}
		return p.Reader.rounded(float64(limit), down)
	}
	room := estimate.Room{Round: p.Reader.step(), Widest: widest, Nearest: nearestPart(distances, p.Week.Shots[p.State.Skill])}
	odds := estimate.PlacingOf(p.Test.Test, estimate.Prior{}, p.balls(plan)...)
	start, suits := odds.Start(ladder, room)
	return placed{Placing: p, Start: start, odds: odds, first: ladder[0], suits: suits, distances: distances}
}

// nearestPart is the least part of its distances that a shot may be begun from.
func nearestPart(distances []domain.Length, shot curriculum.SkillKind) int {
	if len(distances) == 0 {
		return 100
	}
	part := nearestStart
	if floor := shortest(shot); floor > 0 {
		part = max(part, int(math.Ceil(100*float64(floor)/float64(distances[0]))))
	}
	return min(part, 100)
}

// circle is the one to practise to, where that of the plan is too hard or too easy.
func (p Placing) circle(s stepAhead, to placed, plan curriculum.Plan) (Proposal, bool) {
	var kinds []curriculum.BlockKind
	var at domain.Length
	for _, b := range plan.Blocks {
		other := b.Kind != curriculum.Warmup && b.Kind != curriculum.Test && !p.State.Ladder.CountsIn(string(b.Kind))
		if p.Week.SkillOf(b) != p.State.Skill || !other || slices.Contains(kinds, b.Kind) {
			continue
		}
		kinds = append(kinds, b.Kind)
		if at == 0 {
			at = b.Drill.Radius
		}
	}
	if len(kinds) == 0 || at == 0 {
		return Proposal{}, false
	}
	scale := estimate.ScaleFor(p.Challenge, func(scale float64) float64 {
		return to.odds.Inside(domain.Length(scale * float64(p.Test.Radius)))
	})
	wanted := max(p.Reader.rounded(scale*float64(p.Test.Radius), math.Round), streak.MinRadius)
	wanted = min(wanted, s.widest(at, distancesOf(&p.Week.Week, p.State.Skill, kinds...)))
	now := to.odds.Inside(at)
	f := fitOf(now, p.Challenge, ballsAboutRight)
	if f == aboutRight || f == tooHard && wanted <= at || f == tooEasy && wanted >= at {
		return Proposal{}, false
	}
	x := p.within(wanted, kinds, circleAhead{from: at, to: wanted, now: now, then: to.odds.Inside(wanted), fit: f, kinds: kinds})
	x.Now, x.Then, x.Of = now, to.odds.Inside(wanted), OfBalls
	return x, true
}

// within plays the skill's first week to a circle.
func (p Placing) within(circle domain.Length, kinds []curriculum.BlockKind, g grounds) Proposal {
	return Proposal{
		Move: Start, Skill: p.State.Skill, From: p.Week.Monday, Until: p.Week.sunday(), grounds: g,
		Adjustment: curriculum.Adjustment{Kind: curriculum.OtherRadius, Skill: p.State.Skill, Radius: circle, Only: kinds},
	}
}

// placed is the step to begin with.
type placed struct {
	Placing
	estimate.Start
	odds  estimate.Placing
	first streak.Tier
	// suits says that it is likely passed soon; else it is only the easiest there is.
	suits     bool
	distances []domain.Length
}

func (s placed) proposal() Proposal {
	p := Proposal{Move: Start, Skill: s.State.Skill, Then: s.Soon, Of: OfThreeSessions, grounds: s}
	p.Now = s.odds.Odds(s.first, 100).Soon
	if s.Tier != s.first {
		p.Adjustment = curriculum.Adjustment{Kind: curriculum.ExtraStep, Skill: s.State.Skill, Tier: s.Tier, Begins: s.Step > 0}
	}
	return p
}

// nearer is the shorter shot that goes with the step.
func (s placed) nearer() Proposal {
	moved := curriculum.Adjustment{DistancePart: s.Part}.Nearer(s.distances)
	return Proposal{
		Move: Start, Skill: s.State.Skill, From: s.Week.Monday, Until: s.Week.sunday(), grounds: nearerToStart{moved},
		Adjustment: curriculum.Adjustment{Kind: curriculum.OtherDistances, Skill: s.State.Skill, DistancePart: s.Part},
	}
}

func (s placed) label(r Reader, _ string) string {
	text := "Begin with " + tierIn(r, s.Tier)
	if s.Part < 100 {
		return text + ", from closer in"
	}
	if s.Tier == s.first {
		return text + ", as planned"
	}
	return text
}

func (s placed) reason(r Reader) string {
	text := s.counted(r) + ". "
	switch {
	case s.Part < 100:
		text += fmt.Sprintf("From closer in, %s should be passed within three sessions in %s", tierIn(r, s.Tier), inTen(s.Soon))
	case s.Tier == s.first:
		text += fmt.Sprintf("The first step, %s, should be passed within three sessions in %s", tierIn(r, s.first), inTen(s.Soon))
	default:
		text += fmt.Sprintf("%s should be passed within three sessions in %s; the first step, %s, in %s", capital(tierIn(r, s.Tier)), inTen(s.Soon), tierIn(r, s.first), inTen(s.odds.Odds(s.first, 100).Soon))
	}
	if !s.suits {
		text += ". That is not enough: no easier step is left. Try a better lie or a shorter shot"
	}
	return text + "."
}

// counted writes the test: "First test on 3 May: 6 of 20 inside 4 ft".
func (s placed) counted(r Reader) string {
	return fmt.Sprintf("First test on %s: %d of %d inside %s", dayAndMonth(s.Test.Day), s.Test.Inside, s.Test.Balls, r.exact(s.Test.Radius))
}

func (s placed) toStudent(r Reader) string {
	from := ""
	if s.Part < 100 {
		from = ", from closer in"
	}
	return fmt.Sprintf("After your first test: begin with %s%s.", tierIn(r, s.Tier), from)
}

// inTen writes a chance as cases of ten: "about 9 cases in 10".
func inTen(p float64) string {
	switch of := tenths(p); of {
	case "0":
		return "hardly any case"
	case "1":
		return "about 1 case in 10"
	case "10":
		return "nearly every case"
	default:
		return "about " + of + " cases in 10"
	}
}

// circleToStart is the circle of the step to begin with.
type circleToStart struct{ step streak.Tier }

func (c circleToStart) label(r Reader, _ string) string {
	return "Play every block to a circle of " + r.exact(c.step.Radius)
}

func (c circleToStart) reason(r Reader) string {
	return fmt.Sprintf("The step to begin with, %s, needs blocks that are played to its circle.", tierIn(r, c.step))
}

func (c circleToStart) toStudent(r Reader) string {
	return fmt.Sprintf("To begin with, play every block to a circle of %s: your first step uses it.", r.exact(c.step.Radius))
}

// nearerToStart is a shorter shot to begin with.
type nearerToStart struct{ distances []domain.Length }

func (n nearerToStart) label(r Reader, _ string) string {
	return "Every block from closer in: " + r.awayAll(n.distances)
}

func (n nearerToStart) reason(Reader) string {
	return "A circle that makes the first step easy enough would be too wide to aim at, so the shot comes nearer."
}

func (n nearerToStart) toStudent(r Reader) string {
	return fmt.Sprintf("To begin with, play every block from closer in: %s.", r.awayAll(n.distances))
}
