package advice

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// Move names what is proposed for a student's next week.
type Move string

// The moves. Of the first four a student has one or two at the skill of the week.
const (
	// Hold goes on as planned.
	Hold Move = "hold"
	// Advance goes for a later step of the ladder at once.
	Advance Move = "advance"
	// Ease puts an easier step before the next, or a wider circle to practise to.
	Ease Move = "ease"
	// Raise puts a step behind the last, or a narrower circle to practise to.
	Raise Move = "raise"
	// MoveTime divides the time of a session differently.
	MoveTime Move = "time"
	// KeepAlive keeps another earlier skill alive in the warm-up.
	KeepAlive Move = "keep_alive"
)

// Moves lists them.
func Moves() []Move { return []Move{Hold, Advance, Ease, Raise, MoveTime, KeepAlive} }

// Measure is what a chance of success is of.
type Measure string

// The measures: balls that come to rest inside a circle, and sessions in which a
// step is passed.
const (
	OfBalls    Measure = "ball"
	OfSessions Measure = "session"
)

// Measures lists them.
func Measures() []Measure { return []Measure{OfBalls, OfSessions} }

// Ahead is what the proposals for one student's next week are made of.
type Ahead struct {
	Practice
	// Weeks are the weeks to come, one for each programme that runs then, as the
	// student plays them.
	Weeks []WeekAhead
	// Skills are the student's, read under what the academy's students teach.
	Skills []progress.State
	// Fades are how much skills fade, as far as it was learned.
	Fades map[domain.ID]estimate.Fade
	// Challenge is the wanted share of success.
	Challenge float64
	// Reader is the coach, in whose units circles are proposed.
	Reader Reader
}

// WeekAhead is a programme's week to come.
type WeekAhead struct {
	curriculum.Week
	Monday domain.Date // its first day
	Limits []curriculum.Limit
	// Earlier are the skills of the weeks before it.
	Earlier []domain.ID
}

// Proposal is one thing to accept, change or refuse for next week.
type Proposal struct {
	Move  Move
	Skill domain.ID
	// Adjustment is what it becomes when accepted; without a kind there is nothing
	// to accept.
	Adjustment curriculum.Adjustment
	// Until says for how long: the last day of the week or, when zero, until it is
	// passed.
	Until domain.Date
	// Now and Then are the chances of success, from 0 to 1, as planned and with the
	// adjustment; Of says of what. Both are 0 where it is not known.
	Now, Then float64
	Of        Measure
	grounds   grounds
}

// grounds are what a proposal rests on, and its words.
type grounds interface {
	label(r Reader, skill string) string
	reason(Reader) string
	toStudent(Reader) string
}

// Label says in a line what is proposed; skill is the name of the proposal's.
func (p Proposal) Label(r Reader, skill string) string { return p.grounds.label(r, skill) }

// Reason says to the coach why it is proposed.
func (p Proposal) Reason(r Reader) string { return p.grounds.reason(r) }

// ToStudent says to the student what changes; empty when nothing does.
func (p Proposal) ToStudent(r Reader) string { return p.grounds.toStudent(r) }

// fewBalls is how many balls it takes at least to propose anything but to go on; our
// choice, a session's worth.
const fewBalls = 20

// Propose gives what is proposed for a student's next week. For each programme that
// runs then it says how to go on at the week's skill; then come the time and the
// warm-up, if they are to change. A student who does not practise is left in peace.
func Propose(a Ahead) (all []Proposal) {
	lapsed, away := hasLapsed(a.Practice)
	for _, w := range a.Weeks {
		switch {
		case len(w.Plans) == 0:
			continue
		case away:
			evidence, _ := lapsed.Words(a.Reader)
			all = append(all, Proposal{Move: Hold, Skill: w.Skill, grounds: plainly(capital(evidence) + " Ask before anything else changes.")})
			continue
		}
		all = append(all, a.atSkill(w)...)
		if p, ok := a.keepAlive(w); ok {
			all = append(all, p)
		}
	}
	return all
}

// usualPlan is the plan that is done most often in the week, the first of several.
func (w WeekAhead) usualPlan() curriculum.Plan {
	usual := w.Plans[0]
	for _, p := range w.Plans {
		if p.Times > usual.Times {
			usual = p
		}
	}
	return usual
}

// sunday is the week's last day.
func (w WeekAhead) sunday() domain.Date { return w.Monday.AddDays(6) }

// stateOf is where the student stands at a skill.
func (a Ahead) stateOf(skill domain.ID) (progress.State, bool) {
	for _, s := range a.Skills {
		if s.Skill == skill {
			return s, true
		}
	}
	return progress.State{}, false
}

// atSkill says how to go on at the week's skill.
func (a Ahead) atSkill(w WeekAhead) []Proposal {
	hold := func(why string) []Proposal {
		return []Proposal{{Move: Hold, Skill: w.Skill, grounds: plainly(why)}}
	}
	state, _ := a.stateOf(w.Skill)
	plan := w.usualPlan()
	if n := state.Recent.Balls(); n < fewBalls {
		return hold(fmt.Sprintf("%s so far that count at this skill: too few to change anything.", count(n, "ball")))
	}
	o := newOuting(state, w.Week, plan, a.Challenge, a.Reader)
	if p, elsewhere := o.refit(w, plan); elsewhere {
		return []Proposal{p}
	}
	step := newStep(o, w)
	moves := []Proposal{step.proposal()}
	circle, moved := step.practice(plan)
	if moved {
		moves = append(moves, circle)
	}
	if p, ok := step.time(plan, moved); ok {
		moves = append(moves, p)
	}
	return moves
}

// refit proposes the step's own circle for a week in which no block that counts is
// played to it, so that it could not be passed.
func (o outing) refit(w WeekAhead, plan curriculum.Plan) (Proposal, bool) {
	var planned domain.Length
	for _, b := range plan.Blocks {
		switch counts := w.SkillOf(b) == o.state.Skill && o.state.Ladder.CountsIn(string(b.Kind)); {
		case counts && (b.Drill.Radius == 0 || b.Drill.Radius == o.focus.Radius):
			return Proposal{}, false
		case counts:
			planned = b.Drill.Radius
		}
	}
	if planned == 0 {
		return Proposal{}, false
	}
	p := Proposal{
		Move: Advance, Skill: o.state.Skill, Until: w.sunday(), Then: o.chance(o.focus), Of: OfSessions, grounds: fitting{planned, o.focus},
		Adjustment: curriculum.Adjustment{Kind: curriculum.OtherRadius, Skill: o.state.Skill, Radius: o.focus.Radius},
	}
	if planned < o.focus.Radius {
		p.Move = Ease
	}
	return p, true
}

// fitting is a step in another circle than is planned.
type fitting struct {
	planned domain.Length
	step    streak.Tier
}

func (f fitting) label(r Reader, _ string) string {
	return "Every block to a circle of " + r.exact(f.step.Radius)
}

func (f fitting) reason(r Reader) string {
	return fmt.Sprintf("Next is %s. The week is played to a circle of %s, in which it cannot be passed.", tierIn(r, f.step), r.exact(f.planned))
}

func (f fitting) toStudent(r Reader) string {
	return fmt.Sprintf("This week play every block to a circle of %s, where your next step is.", r.exact(f.step.Radius))
}

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
	// to is the step to play for and its chance.
	move Move
	to   streak.Tier
	then float64
}

func newStep(o outing, w WeekAhead) stepAhead {
	s := stepAhead{outing: o, week: w, move: Hold, to: o.focus}
	s.next, s.open = o.state.Next()
	s.now = o.chance(o.focus)
	s.then = s.now
	s.fit = fitOf(s.now, o.wanted, stepAboutRight)
	switch {
	case !s.open && s.now >= o.wanted:
		s.choose(Raise, o.beyond)
	case s.open && s.fit == tooHard:
		s.choose(Ease, func() (streak.Tier, bool) { return o.before(s.next) })
	case s.now >= o.wanted:
		s.choose(Advance, o.later)
	}
	if s.open && s.move == Hold && s.fit == tooEasy && s.state.Held == len(s.state.Ladder.Tiers)-1 {
		s.choose(Raise, o.beyond)
	}
	return s
}

// choose makes a move if there is a step for it.
func (s *stepAhead) choose(m Move, step func() (streak.Tier, bool)) {
	if t, ok := step(); ok {
		s.move, s.to, s.then = m, t, s.chance(t)
	}
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
		return "One step more: " + tierIn(r, s.to)
	case Advance:
		return fmt.Sprintf("Go for %s at once", tierIn(r, s.to))
	}
	return goOn
}

// goOn is what is proposed where nothing is to change.
const goOn = "Go on as planned"

func (s stepAhead) reason(r Reader) string {
	text := capital(rateText(r, s.state, s.focus.Radius)) + "; " + s.told(r, s.focus, s.now)
	switch {
	case s.move == Ease:
		return text + ": too hard for now. Before it: " + s.told(r, s.to, s.then) + "."
	case s.move == Raise:
		return text + ": too easy. Behind it: " + s.told(r, s.to, s.then) + "."
	case s.move == Advance:
		return text + ". Go for " + s.told(r, s.to, s.then) + "; who passes it passes both."
	case !s.open:
		return text + ", the last step. Pass it again on another day."
	case s.fit == tooHard:
		return text + ": hard, but nothing easier lies between that was not done yet."
	}
	return text + ". Go on as planned."
}

// told writes a step with its chance: "5 in a row inside 3 ft (about 1 session in 4)".
func (s stepAhead) told(r Reader, t streak.Tier, chance float64) string {
	return fmt.Sprintf("%s (%s)", tierIn(r, t), OneIn(chance))
}

func (s stepAhead) toStudent(r Reader) string {
	switch s.move {
	case Ease:
		return fmt.Sprintf("A step in between: %s. When it is passed, you go on to %s.", tierIn(r, s.to), tierIn(r, s.next))
	case Raise:
		return fmt.Sprintf("One step more: %s.", tierIn(r, s.to))
	case Advance:
		return fmt.Sprintf("Go for %s at once: it passes the steps before it too.", tierIn(r, s.to))
	}
	return ""
}

// practice proposes another circle to practise to, outside tests, when few of the
// balls come to rest inside the present one, or most of them do. A block that counts
// for the ladder stays in the step's circle, since it would count no more, unless the
// step is not worth playing for yet.
func (s stepAhead) practice(plan curriculum.Plan) (Proposal, bool) {
	at, kinds := s.practised(plan)
	if len(kinds) == 0 {
		return Proposal{}, false
	}
	now, circle := s.inside(at), s.practiceCircle()
	f := fitOf(now, s.wanted, ballsAboutRight)
	if f == aboutRight || f == tooHard && circle <= at || f == tooEasy && circle >= at {
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

// circleAhead is another circle to practise to.
type circleAhead struct {
	from, to  domain.Length
	now, then float64
	fit       fit
	kinds     []curriculum.BlockKind
}

func (c circleAhead) label(r Reader, _ string) string {
	return fmt.Sprintf("%s to a circle of %s", capital(c.where()), r.exact(c.to))
}

func (c circleAhead) reason(r Reader) string {
	what := "hard"
	if c.fit == tooEasy {
		what = "easy"
	}
	return fmt.Sprintf("About %s of 10 balls come to rest inside %s: %s to practise to. Inside %s it is about %s of 10. It is for %s.",
		tenths(c.now), r.exact(c.from), what, r.exact(c.to), tenths(c.then), c.where())
}

func (c circleAhead) toStudent(r Reader) string {
	return fmt.Sprintf("This week play %s to a circle of %s; the rest stays as it is.", c.where(), r.exact(c.to))
}

// where names the kinds of block.
func (c circleAhead) where() string {
	words := make([]string, len(c.kinds))
	for i, k := range c.kinds {
		words[i] = kindWords(string(k))
	}
	if last := len(words) - 1; last > 0 {
		return strings.Join(words[:last], ", ") + " and " + words[last]
	}
	return words[0]
}

// tenths writes a share as a number of ten.
func tenths(share float64) string { return fmt.Sprintf("%.0f", math.Round(10*share)) }

// plainly are grounds without numbers of their own, and nothing for the student.
type plainly string

func (plainly) label(Reader, string) string { return goOn }
func (p plainly) reason(Reader) string      { return string(p) }
func (plainly) toStudent(Reader) string     { return "" }
