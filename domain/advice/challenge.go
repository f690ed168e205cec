package advice

import (
	"math"
	"slices"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// The challenge is the share of success that practice is set to: of the balls in the
// circle that is played to, and of the sessions in which a step is passed. What is
// neither too easy nor too hard for the learner's skill is learned from most (M. A.
// Guadagnoli and T. D. Lee, Challenge point: a framework for conceptualizing the
// effects of various practice conditions in motor learning, Journal of Motor Behavior
// 36 (2004) 212-224). No number is published for golf: the academy sets it, and
// where it begins is our choice.
const (
	DefaultChallenge = 0.7
	MinChallenge     = 0.5
	MaxChallenge     = 0.9
)

// How far, in logits, a share of success may be from the wanted one and still be
// about right: of the balls inside, and of the sessions that pass the step. With 70 %
// wanted these are 56 to 81 % of the balls, and 24 to 95 % of the sessions. Set on
// the simulated students Setting of integration/proposals.
const (
	ballsAboutRight = 0.6
	stepAboutRight  = 2.0
)

// fit says whether a task is too hard, about right or too easy.
type fit string

const (
	tooHard    fit = "too hard"
	aboutRight fit = "about right"
	tooEasy    fit = "too easy"
)

// fitOf compares a share of success with the wanted one.
func fitOf(share, wanted, aboutRightBy float64) fit {
	switch d := logit(share) - logit(wanted); {
	case d < -aboutRightBy:
		return tooHard
	case d > aboutRightBy:
		return tooEasy
	}
	return aboutRight
}

// logit is the log odds of a probability.
func logit(p float64) float64 { return math.Log(p / (1 - p)) }

// outing is a session of next week at a skill, as far as it is foreseen.
type outing struct {
	state progress.State
	rate  estimate.SessionRate
	// focus is the step that the rate's circle is of: the next one, or the hardest.
	focus streak.Tier
	// blocks are the balls of each block that counts for the ladder.
	blocks []int
	// lift is how much likelier the next step is by the forecast that Today tells, in
	// logits, than at the rate as it stands: the forecast knows of trends. Every chance
	// is told with it, so that the same step has the same chance on both pages.
	lift   float64
	wanted float64
	reader Reader
}

// newOuting foresees a session by a plan, of a student who struck balls that count.
func newOuting(s progress.State, week curriculum.Week, plan curriculum.Plan, wanted float64, r Reader) outing {
	o := outing{state: s, rate: s.Assessment.SessionRate(), wanted: wanted, reader: r}
	o.focus, _ = s.Focus()
	o.blocks = countingBlocks(s, week, plan, o.usualBalls())
	if next, open := s.Next(); open && s.Assessment.Forecast != nil {
		o.lift = liftTo(s.Assessment.Forecast.NextSession, o.chance(next))
	}
	return o
}

// mostSessions is the chance from which on Today tells no number any more.
const mostSessions = 2.0 / 3

// liftTo is what lifts a chance to another, in logits; 0 where either is none, or so
// high that no number is told of it.
func liftTo(to, from float64) float64 {
	if min(to, from) <= 0 || max(to, from) > mostSessions {
		return 0
	}
	return logit(to) - logit(from)
}

// usualBalls is how many balls that count the student struck in a session lately.
func (o outing) usualBalls() float64 {
	return float64(o.state.Recent.Balls()) / float64(o.state.Recent.Sessions)
}

// countingBlocks divides balls among the plan's blocks that count for the ladder, by
// their minutes. A plan without one is taken for one block.
func countingBlocks(s progress.State, week curriculum.Week, plan curriculum.Plan, balls float64) []int {
	var shares []float64
	sum := 0.0
	for _, b := range plan.Blocks {
		if week.SkillOf(b) == s.Skill && s.Ladder.CountsIn(string(b.Kind)) {
			shares = append(shares, float64(b.Share))
			sum += float64(b.Share)
		}
	}
	if sum == 0 {
		return []int{int(math.Round(balls))}
	}
	blocks := make([]int, len(shares))
	for i, share := range shares {
		blocks[i] = int(math.Round(balls * share / sum))
	}
	return blocks
}

// chance is the chance of passing a step in the session.
func (o outing) chance(t streak.Tier) float64 {
	return o.chanceIn(t, o.scale(t.Radius))
}

// chanceIn is that of a step in a circle scale times as wide as the rate's.
func (o outing) chanceIn(t streak.Tier, scale float64) float64 {
	p := o.rate.Chance(t, scale, o.blocks...)
	return p / (p + (1-p)*math.Exp(-o.lift))
}

// inside is the share of the balls that stops inside a circle.
func (o outing) inside(circle domain.Length) float64 { return o.rate.Inside(o.scale(circle)) }

// scale is a circle's width over that of the one that the rate is of.
func (o outing) scale(circle domain.Length) float64 {
	return circle.Metres() / o.focus.Radius.Metres()
}

// circle is the circle, as people speak of one, in which a function that rises with
// it comes to the wanted challenge, within the bounds of a radius.
func (o outing) circle(of func(scale float64) float64) domain.Length {
	radius := o.reader.rounded(float64(o.focus.Radius)*estimate.ScaleFor(o.wanted, of), math.Round)
	return min(max(radius, streak.MinRadius), streak.MaxRadius)
}

// practiceCircle is the one in which the wanted share of the balls stops.
func (o outing) practiceCircle() domain.Length { return o.circle(o.rate.Inside) }

// done says whether the student has done a step already.
func (o outing) done(t streak.Tier) bool {
	return slices.ContainsFunc(flag{state: o.state}.reached(), func(d streak.Tier) bool { return within(t, d) })
}

// before looks for a step to play for before the next one, in a circle: the longest
// run that is passed in the wanted share of sessions, or else the shortest that the
// student has not done. ok is false when nothing of that sort lies between.
func (o outing) before(next streak.Tier, circle domain.Length) (found streak.Tier, ok bool) {
	for t := (streak.Tier{Run: shortestRun, Radius: circle}); t.Run <= next.Run; t.Run++ {
		if !o.lies(t, next) {
			continue
		}
		if found.Run > 0 && o.chance(t) < o.wanted {
			break
		}
		found = t
	}
	return found, found.Run > 0 && o.worthBefore(found, next)
}

// between looks for the next step's run in a wider circle, up to a widest: the
// narrowest in which it is no longer too hard, or else the widest that the student has
// not done.
func (o outing) between(next streak.Tier, widest domain.Length) (found streak.Tier, ok bool) {
	t := streak.Tier{Run: next.Run, Radius: o.reader.rounded(float64(next.Radius), up)}
	for ; t.Radius <= widest; t.Radius += o.reader.step() {
		if t.Radius == next.Radius {
			continue
		}
		if !o.lies(t, next) {
			break
		}
		if found = t; fitOf(o.chance(t), o.wanted, stepAboutRight) != tooHard {
			break
		}
	}
	return found, found.Run > 0 && o.worthBefore(found, next)
}

// lies says whether a step lies before another in the ladder, and was not done.
func (o outing) lies(t, next streak.Tier) bool {
	_, placed := o.state.Ladder.Place(t)
	return placed && t != next && next.AtLeast(t) && !o.done(t)
}

// worthBefore says whether a step is worth playing for before another.
func (o outing) worthBefore(t, next streak.Tier) bool {
	chance := o.chance(t)
	return chance >= worthPlaying && chance >= easierBy*o.chance(next)
}

// beyond is a step behind the ladder's last: its run in the narrower circle where the
// share of sessions that pass it comes nearest to the wanted one.
func (o outing) beyond() (t streak.Tier, ok bool) {
	t = o.focus
	t.Radius = o.circle(func(scale float64) float64 { return o.chanceIn(o.focus, scale) })
	_, placed := o.state.Ladder.Place(t)
	return t, placed && t.Radius < o.focus.Radius && !o.done(t) && o.chance(t) >= worthPlaying
}

// later is the hardest step behind the next one that is passed in the wanted share
// of sessions already.
func (o outing) later() (t streak.Tier, ok bool) {
	for _, t := range slices.Backward(o.state.Ladder.Tiers[min(o.state.Held+1, len(o.state.Ladder.Tiers)):]) {
		if o.chance(t) >= o.wanted {
			return t, true
		}
	}
	return streak.Tier{}, false
}
