package advice

import (
	"fmt"
	"slices"
	"strings"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/streak"
)

// stepAhead is how to go on with the ladder.
type stepAhead struct {
	outing
	week WeekAhead
	// next is the ladder's next step, open whether there is one; now its chance, or
	// that of the last one, in one session.
	next streak.Tier
	open bool
	now  float64
	fit  fit
	// outOfReach says that the next step is none to play for yet.
	outOfReach bool
	// circles are those of the blocks that count, 0 of one that follows the next step.
	circles []domain.Length
	// to is the step to play for and its chance.
	move Move
	to   streak.Tier
	then float64
}

func newStep(o outing, w WeekAhead, plan curriculum.Plan) stepAhead {
	s := stepAhead{outing: o, week: w, move: Hold, to: o.focus}
	s.next, s.open = o.state.Next()
	for _, b := range plan.Blocks {
		if w.SkillOf(b) == s.state.Skill && s.state.Ladder.CountsIn(string(b.Kind)) {
			s.circles = append(s.circles, b.Drill.Radius)
		}
	}
	s.now = o.chance(o.focus)
	s.then = s.now
	s.fit = fitOf(s.now, o.wanted, stepAboutRight)
	s.outOfReach = o.state.Assessment.Overreached != nil || s.open && s.now < worthPlaying
	switch {
	case s.open && (s.outOfReach || s.fit == tooHard):
		s.choose(Ease, s.easier)
	case s.outOfReach || s.now < o.wanted || s.open && s.elsewhere() != 0:
	case !s.open:
		s.choose(Raise, o.beyond)
	default:
		s.choose(Advance, o.later)
		if s.move == Hold && s.fit == tooEasy && s.state.Held == len(s.state.Ladder.Tiers)-1 {
			s.choose(Raise, o.beyond)
		}
	}
	return s
}

// choose makes a move if there is a step for it.
func (s *stepAhead) choose(m Move, step func() (streak.Tier, bool)) {
	if t, ok := step(); ok {
		s.move, s.to, s.then = m, t, s.chance(t)
	}
}

// plays says whether a step can be passed in the week: whether a block that counts is
// played to its circle, or follows the steps.
func (s stepAhead) plays(t streak.Tier) bool {
	return len(s.circles) == 0 || slices.Contains(s.circles, 0) || slices.Contains(s.circles, t.Radius)
}

// elsewhere is the circle of a week in which the next step cannot be passed; 0 of any
// other.
func (s stepAhead) elsewhere() domain.Length {
	if s.plays(s.focus) {
		return 0
	}
	return s.circles[len(s.circles)-1]
}

// easier looks for a step before the next one: in the circle that the week is played
// to; a shorter run in the step's own; or its run in a circle between. That one comes
// only where Today says that the next step is out of reach: balls to a wider circle
// bring it no nearer, which cost students on Setting of integration/proposals more
// than it gave where the next step was passed in 1 session of 20 to 100.
func (s stepAhead) easier() (streak.Tier, bool) {
	if circle := s.elsewhere(); circle > s.next.Radius {
		if t, ok := s.before(s.next, circle); ok {
			return t, true
		}
	}
	if t, ok := s.before(s.next, s.next.Radius); ok || s.state.Assessment.Overreached == nil {
		return t, ok
	}
	return s.between(s.next, s.widest(0, distancesOf(&s.week.Week, s.state.Skill)))
}

func (s stepAhead) proposal() Proposal {
	p := Proposal{Move: s.move, Skill: s.state.Skill, Now: s.now, Then: s.then, Of: OfSessions, grounds: s}
	if s.move == Ease || s.move == Raise {
		p.Adjustment = curriculum.Adjustment{Kind: curriculum.ExtraStep, Skill: s.state.Skill, Tier: s.to}
	}
	return p
}

func (s stepAhead) label(r Reader, _ string) string {
	switch s.move {
	case Ease:
		return fmt.Sprintf("First %s, then %s", tierIn(r, s.to), tierIn(r, s.next))
	case Raise:
		return "Add a step: " + tierIn(r, s.to)
	case Advance:
		return "Go straight for " + tierIn(r, s.to)
	}
	return "Stay with " + tierIn(r, s.focus)
}

func (s stepAhead) reason(r Reader) string {
	text := s.standing(r)
	switch {
	case s.move == Ease && s.outOfReach:
		return text + ": out of reach for now. " + passed(r, s.to, s.then) + "."
	case s.move == Ease:
		return text + ": too hard for now. " + passed(r, s.to, s.then) + "."
	case s.move == Raise:
		return text + ": too easy. " + passed(r, s.to, s.then) + "."
	case s.move == Advance:
		return text + ". " + passed(r, s.to, s.then) + ", and passing it passes the steps before it too."
	case !s.open:
		return text + ". It is the last step: pass it again on another day."
	case s.outOfReach:
		return text + ": out of reach for now, and no easier step is left. " + shorterOrBetter
	case s.fit == tooHard:
		return text + ": hard, but no easier step is left."
	case s.fit == aboutRight:
		return text + ": about right."
	}
	return text + "."
}

const shorterOrBetter = "Try a shorter shot or a better lie."

// standing writes the rate and how often the next step is passed, or the last one.
func (s stepAhead) standing(r Reader) string {
	return capital(rateText(r, s.state, s.focus.Radius)) + ". " + passed(r, s.focus, s.now)
}

// passed writes how often a step is passed: "5 in a row inside 3 ft is passed in about
// 1 session in 4".
func passed(r Reader, t streak.Tier, chance float64) string {
	return fmt.Sprintf("%s is passed in %s", capital(tierIn(r, t)), often(chance))
}

func (s stepAhead) toStudent(r Reader) string {
	switch s.move {
	case Ease:
		return fmt.Sprintf("First, a step in between: %s. Once you have passed it, go on to %s.", tierIn(r, s.to), tierIn(r, s.next))
	case Raise:
		return fmt.Sprintf("One more step for you: %s.", tierIn(r, s.to))
	}
	return ""
}

// refit proposes the circle of the step to play for, in a week that is played to
// another; ok is false where it can be passed as planned, or is out of reach.
func (s stepAhead) refit() (Proposal, bool) {
	if s.plays(s.to) || s.then < worthPlaying || s.outOfReach && s.move == Hold {
		return Proposal{}, false
	}
	return Proposal{
		Move: Fit, Skill: s.state.Skill, Until: s.week.sunday(), Then: s.then, Of: OfSessions,
		Adjustment: curriculum.Adjustment{Kind: curriculum.OtherRadius, Skill: s.state.Skill, Radius: s.to.Radius},
		grounds:    fitting{s.circles[len(s.circles)-1], s.to, s.then, s.open || s.move == Raise},
	}, true
}

// fitting is a step in another circle than is planned.
type fitting struct {
	planned domain.Length
	step    streak.Tier
	chance  float64
	// ahead says that the step was not passed before.
	ahead bool
}

func (f fitting) label(r Reader, _ string) string {
	return "Play every block to a circle of " + r.exact(f.step.Radius)
}

func (f fitting) reason(r Reader) string {
	size, again := "big", ""
	if f.planned < f.step.Radius {
		size = "small"
	}
	if !f.ahead {
		again = " again"
	}
	return fmt.Sprintf("The week's %s circle is too %s to pass %s%s. With %s circle it is passed in %s.", r.exact(f.planned), size, tierIn(r, f.step), again, withArticle(r.exact(f.step.Radius)), often(f.chance))
}

func (f fitting) toStudent(r Reader) string {
	why := "your next step uses that circle"
	if !f.ahead {
		why = "the step to pass again uses that circle"
	}
	return fmt.Sprintf("This week, play every block to a circle of %s: %s.", r.exact(f.step.Radius), why)
}

// withArticle puts "a" or "an" before a size, as its number is spoken.
func withArticle(size string) string {
	number, _, _ := strings.Cut(size, " ")
	whole, _, _ := strings.Cut(number, ".")
	if strings.HasPrefix(whole, "8") || whole == "11" || whole == "18" {
		return "an " + size
	}
	return "a " + size
}
