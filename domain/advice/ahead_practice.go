package advice

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"fringework/domain"
	"fringework/domain/curriculum"
)

// Bounds of a circle to practise to, our own: at most twice as wide as the step's,
// since what is wider is another task; at most a quarter of the shot's distance, since
// whoever leaves more than that has missed the shot, not the circle; and at most 15
// ft, from where a club golfer three-putts about as often as he holes the first, one
// time in ten each (package greenside), so that being inside is worth little. Where
// that is still too hard the shot comes nearer instead.
const (
	widestPractice = 2
	partOfDistance = 4
	farthestLeave  = 15 * domain.Foot
)

// widest is the widest circle to practise to from some distances, the nearest first
// and none where they are not known. A circle that the coach planned may be wider.
func (s stepAhead) widest(planned domain.Length, distances []domain.Length) domain.Length {
	limit := min(widestPractice*s.focus.Radius, farthestLeave)
	if len(distances) > 0 {
		limit = min(limit, distances[0]/partOfDistance)
	}
	return max(planned, s.reader.rounded(float64(limit), down))
}

// practice proposes another circle to practise to, outside tests, when few of the
// balls stop inside the present one, or most of them do; or a shorter shot, when the
// circle would be too wide to aim at. A block that counts for the ladder stays in the
// step's circle, since it would count no more, unless the step is not worth playing
// for yet.
func (s stepAhead) practice(plan curriculum.Plan) (Proposal, bool) {
	at, kinds := s.practised(plan)
	if len(kinds) == 0 {
		return Proposal{}, false
	}
	distances := distancesOf(&s.week.Week, s.state.Skill, kinds...)
	now, circle := s.inside(at), min(s.practiceCircle(), s.widest(at, distances))
	f := fitOf(now, s.wanted, ballsAboutRight)
	if f == tooHard && fitOf(s.inside(circle), s.wanted, ballsAboutRight) == tooHard {
		if p, ok := s.shorter(at, distances, kinds); ok {
			return p, true
		}
	}
	if f == aboutRight || f == tooHard && circle <= at || f == tooEasy && (circle >= at || s.outOfReach) {
		return Proposal{}, false
	}
	p := Proposal{
		Move: Ease, Skill: s.state.Skill, Until: s.week.sunday(), Now: now, Then: s.inside(circle), Of: OfBalls,
		Adjustment: curriculum.Adjustment{Kind: curriculum.OtherRadius, Skill: s.state.Skill, Radius: circle, Only: kinds},
	}
	if f == tooEasy {
		p.Move = Raise
	}
	p.grounds = circleAhead{from: at, to: circle, now: p.Now, then: p.Then, fit: f, kinds: kinds}
	return p, true
}

// practised gives the kinds of the plan's blocks that practise the skill and may be
// played to another circle, and the circle of the first.
func (s stepAhead) practised(plan curriculum.Plan) (circle domain.Length, kinds []curriculum.BlockKind) {
	for _, b := range plan.Blocks {
		switch {
		case s.week.SkillOf(b) != s.state.Skill || slices.Contains(kinds, b.Kind):
		case b.Kind == curriculum.Warmup || b.Kind == curriculum.Test:
		case s.state.Ladder.CountsIn(string(b.Kind)) && s.now >= worthPlaying:
		default:
			kinds = append(kinds, b.Kind)
			if circle == 0 {
				circle = cmp.Or(b.Drill.Radius, s.focus.Radius)
			}
		}
	}
	return circle, kinds
}

// fromNearer brings every block of the skill nearer, where the next step is out of
// reach and no easier one is left.
func (s stepAhead) fromNearer() (Proposal, bool) {
	return s.shorter(cmp.Or(s.elsewhere(), s.focus.Radius), distancesOf(&s.week.Week, s.state.Skill), nil)
}

// shorter brings the shot nearer, in some kinds of block or in all. It is taken that
// balls scatter in proportion to the distance, our assumption, so that the circle is
// as if it were wider by as much.
func (s stepAhead) shorter(circle domain.Length, distances []domain.Length, kinds []curriculum.BlockKind) (Proposal, bool) {
	near, part := nearer(distances, s.week.Shots[s.state.Skill])
	if part == 0 {
		return Proposal{}, false
	}
	p := Proposal{
		Move: Ease, Skill: s.state.Skill, Until: s.week.sunday(), Now: s.inside(circle), Then: s.rate.Inside(s.scale(circle) * 100 / float64(part)), Of: OfBalls,
		Adjustment: curriculum.Adjustment{Kind: curriculum.OtherDistances, Skill: s.state.Skill, DistancePart: part, Only: kinds},
	}
	p.grounds = nearerAhead{step: s, circle: circle, now: p.Now, then: p.Then, distances: near, kinds: kinds}
	return p, true
}

// circleAhead is another circle to practise to.
type circleAhead struct {
	from, to  domain.Length
	now, then float64
	fit       fit
	kinds     []curriculum.BlockKind
}

func (c circleAhead) label(r Reader, _ string) string {
	return fmt.Sprintf("%s to a circle of %s", capital(whereShort(c.kinds)), r.exact(c.to))
}

func (c circleAhead) reason(r Reader) string {
	what := "hard"
	if c.fit == tooEasy {
		what = "easy"
	}
	return fmt.Sprintf("%s inside %s: too %s to practise to. Inside %s it would be about %s in 10. Only %s %s.",
		capital(ballsIn(c.now)), r.exact(c.from), what, r.exact(c.to), tenths(c.then), where(c.kinds), change(c.kinds))
}

func (c circleAhead) toStudent(r Reader) string {
	return fmt.Sprintf("This week, play %s to a circle of %s. The rest stays as it is.", where(c.kinds), r.exact(c.to))
}

// nearerAhead is a shorter shot.
type nearerAhead struct {
	step      stepAhead
	circle    domain.Length
	now, then float64
	distances []domain.Length
	kinds     []curriculum.BlockKind
}

func (n nearerAhead) label(r Reader, _ string) string {
	return fmt.Sprintf("%s from closer in: %s", capital(whereShort(n.kinds)), r.awayAll(n.distances))
}

func (n nearerAhead) reason(r Reader) string {
	inside := capital(ballsIn(n.now)) + " inside " + r.exact(n.circle)
	from := fmt.Sprintf("from closer in it should be about %s in 10", tenths(n.then))
	if len(n.kinds) == 0 {
		return fmt.Sprintf("%s: out of reach for now, and no easier step is left. %s; %s.", n.step.standing(r), inside, from)
	}
	return fmt.Sprintf("%s: too hard to practise to, and a circle for %s in 10 would be too wide to aim at; %s. Only %s %s.",
		inside, tenths(n.step.wanted), from, where(n.kinds), change(n.kinds))
}

func (n nearerAhead) toStudent(r Reader) string {
	return fmt.Sprintf("This week, play %s from closer in: %s.", where(n.kinds), r.awayAll(n.distances))
}

// where names some kinds of block in a sentence, or all when none is given.
func where(kinds []curriculum.BlockKind) string {
	return named(kinds, func(k curriculum.BlockKind) string { return kindWords(string(k)) })
}

// whereShort is where in a label, without articles.
func whereShort(kinds []curriculum.BlockKind) string { return named(kinds, kindLabel) }

func named(kinds []curriculum.BlockKind, name func(curriculum.BlockKind) string) string {
	if len(kinds) == 0 {
		return "every block"
	}
	words := make([]string, len(kinds))
	for i, k := range kinds {
		words[i] = name(k)
	}
	return listed(words)
}

// change is the verb that goes with some kinds of block.
func change(kinds []curriculum.BlockKind) string {
	if len(kinds) == 1 && kinds[0] != curriculum.Stations {
		return "changes"
	}
	return "change"
}

// ballsIn writes a share of the balls in words, with the verb: "about 3 balls in 10
// finish".
func ballsIn(share float64) string {
	switch of := tenths(share); of {
	case "0":
		return "hardly any ball finishes"
	case "1":
		return "about 1 ball in 10 finishes"
	case "10":
		return "nearly every ball finishes"
	default:
		return "about " + of + " balls in 10 finish"
	}
}

// listed joins words: "technique, stations and random practice".
func listed(words []string) string {
	if last := len(words) - 1; last > 0 {
		return strings.Join(words[:last], ", ") + " and " + words[last]
	}
	return words[0]
}

// tenths writes a share as a number of ten.
func tenths(share float64) string { return fmt.Sprintf("%.0f", math.Round(10*share)) }
