package advice

import (
	"fmt"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// Move names what is proposed for a student's next week.
type Move string

// The moves. Of the first five a student has one or two at the skill of the week.
// While the next step is out of reach none of them is to advance or to raise.
const (
	// Hold goes on as planned.
	Hold Move = "hold"
	// Advance goes for a later step of the ladder at once.
	Advance Move = "advance"
	// Ease puts an easier step before the next, lets practise to a wider circle, or
	// brings the shot nearer.
	Ease Move = "ease"
	// Raise puts a step behind the last, or a narrower circle to practise to.
	Raise Move = "raise"
	// Fit plays the week's blocks to the circle of the step that is played for.
	Fit Move = "fit"
	// MoveTime divides the time of a session differently.
	MoveTime Move = "time"
	// KeepAlive keeps another earlier skill alive in the warm-up.
	KeepAlive Move = "keep_alive"
	// Start is where to begin at a skill after a first test.
	Start Move = "start"
	// Taper moves time from technique before a competition.
	Taper Move = "taper"
	// Restart begins with fewer sessions after weeks away.
	Restart Move = "restart"
)

// Moves lists them.
func Moves() []Move {
	return []Move{Hold, Advance, Ease, Raise, Fit, MoveTime, KeepAlive, Start, Taper, Restart}
}

// Measure is what a chance of success is of.
type Measure string

// The measures: balls that stop inside a circle, sessions in which a step is passed,
// and stretches of three sessions, of estimate.PlacedWithin, in which it is.
const (
	OfBalls         Measure = "ball"
	OfSessions      Measure = "session"
	OfThreeSessions Measure = "three_sessions"
)

// Measures lists them.
func Measures() []Measure { return []Measure{OfBalls, OfSessions, OfThreeSessions} }

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
	// Competitions are the student's, in order of date.
	Competitions []Competition
	// Reader is the coach, in whose units circles are proposed.
	Reader Reader
}

// WeekAhead is a programme's week to come.
type WeekAhead struct {
	curriculum.Week
	Monday domain.Date // its first day
	Limits []curriculum.Limit
	// Shots are what its skills train.
	Shots map[domain.ID]curriculum.SkillKind
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
	// From is the first day: zero for today, and of a step, which is played at once.
	From domain.Date
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
// warm-up, if they are to change. A student who does not practise is left in peace;
// one who comes back after weeks away, because a pause or the off-season is over, begins
// with less. In the weeks before a competition time moves for that alone.
func Propose(a Ahead) (all []Proposal) {
	lapsed, away := hasLapsed(a.Practice)
	for _, w := range a.Weeks {
		switch {
		case len(w.Plans) == 0:
			continue
		case away:
			evidence, _ := lapsed.Words(a.Reader)
			all = append(all, Proposal{Move: Hold, Skill: w.Skill, grounds: plainly(capital(evidence) + " Find out why before you change anything.")})
			continue
		}
		next := a.atSkill(w)
		if a.restarts() {
			next = a.afterBreak(w, next)
		}
		all = append(all, next...)
		if p, ok := a.keepAlive(w); ok {
			all = append(all, p)
		}
		all = append(all, a.Later(w, 0)...)
	}
	for i := range all {
		if k := all[i].Adjustment.Kind; k != "" && k != curriculum.ExtraStep && all[i].From == (domain.Date{}) {
			all[i].From = a.Weeks[0].Monday
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
	state, _ := a.stateOf(w.Skill)
	plan := w.usualPlan()
	if n := state.Recent.Balls(); n < fewBalls {
		return []Proposal{{Move: Hold, Skill: w.Skill, grounds: plainly(tooFew(n))}}
	}
	o := newOuting(state, w.Week, plan, a.Challenge, a.Reader)
	if a.restarts() {
		o.rate = o.rate.Faded(a.lossAt(state, w.Monday))
	}
	step := newStep(o, w, plan)
	if step.outOfReach && step.move == Hold {
		if p, ok := step.fromNearer(); ok {
			return []Proposal{p}
		}
	}
	moves := []Proposal{step.proposal()}
	if p, ok := step.refit(); ok {
		if step.move == Hold {
			moves = nil
		}
		return append(moves, p)
	}
	if step.elsewhere() != 0 {
		return moves
	}
	circle, moved := step.practice(plan)
	if moved {
		moves = append(moves, circle)
	}
	if _, soon := a.competitionAfter(w.Monday); !soon {
		if p, ok := step.time(plan, moved); ok {
			moves = append(moves, p)
		}
	}
	return moves
}

// tooFew says that there are too few balls to go by.
func tooFew(balls int) string {
	switch balls {
	case 0:
		return "No ball counts at this skill yet: too early to change anything."
	case 1:
		return "Only 1 ball counts at this skill so far: too early to change anything."
	}
	return fmt.Sprintf("Only %d balls count at this skill so far: too early to change anything.", balls)
}

// plainly are grounds without numbers of their own, and nothing for the student.
type plainly string

func (plainly) label(Reader, string) string { return goOn }
func (p plainly) reason(Reader) string      { return string(p) }
func (plainly) toStudent(Reader) string     { return "" }

// goOn is what is proposed where nothing is to change.
const goOn = "Go on as planned"

// often writes a chance per session as people say it, from "less than 1 session in
// 1,000" to "nearly every session".
func often(p float64) string {
	switch tenths := tenths(p); {
	case p <= mostSessions:
		return OneIn(p)
	case tenths == "10":
		return "nearly every session"
	default:
		return "about " + tenths + " sessions in 10"
	}
}
