package advice

import (
	"fmt"
	"slices"

	"fringework/domain/curriculum"
)

// How much of a session's time may move from one kind of block to another in a week,
// in percentage points; less than leastMoved is not worth a word, and no kind is left
// with less than leastShareOfTime. All are our choice.
const (
	mostMoved        = shiftedBy
	leastMoved       = 5
	leastShareOfTime = 10
)

// stepNear is the chance in one session from which on a step is near enough to give
// it more time in the test; our choice.
const stepNear = 0.35

// timeAhead is time that moves from one kind of block to another.
type timeAhead struct {
	from, to       curriculum.BlockKind
	had, has, less int // per cent: to had, has then; from has then
	why            string
}

// time proposes more time for the test when practice is played elsewhere, to another
// circle, unless there is no step in reach to play for; for technique where few balls stop
// inside; for random practice when the level has settled and the ladder's next step is
// not near; and for the test when the step to play for is: the first of these that
// stands. It takes it from the other kinds of practice, within the programme's limits.
func (s stepAhead) time(plan curriculum.Plan, elsewhere bool) (Proposal, bool) {
	t, ok := s.moved(plan, elsewhere)
	before := s.counting(plan)
	if !ok || before == 0 {
		return Proposal{}, false
	}
	shares := t.adjustment()
	week := s.week
	week.Week = week.Adjusted([]curriculum.Adjustment{shares})
	changed, after := week.usualPlan(), s.outing
	after.blocks = countingBlocks(s.state, week.Week, changed, s.usualBalls()*float64(s.counting(changed))/float64(before))
	p := Proposal{Move: MoveTime, Skill: s.state.Skill, Until: s.week.sunday(), Adjustment: shares, grounds: t}
	if then := after.chance(s.to); then >= worthPlaying {
		p.Now, p.Then, p.Of = s.then, then, OfSessions
	}
	return p, true
}

// counting is the share of a plan's time in which the step may be passed.
func (s stepAhead) counting(plan curriculum.Plan) (share int) {
	for _, b := range plan.Blocks {
		if s.week.SkillOf(b) == s.state.Skill && s.state.Ladder.CountsIn(string(b.Kind)) {
			share += b.Share
		}
	}
	return share
}

func (s stepAhead) moved(plan curriculum.Plan, elsewhere bool) (t timeAhead, ok bool) {
	const technique, random, test = curriculum.Technique, curriculum.Random, curriculum.Test
	a := s.state.Assessment
	settled := a.Flat != nil || a.Slow
	switch inside := fitOf(s.inside(s.to.Radius), s.wanted, ballsAboutRight); {
	case elsewhere && (s.then >= worthPlaying || a.Overreached == nil):
		return s.week.moveTime(plan, test, "so that enough balls still count", random, technique)
	case inside == tooHard:
		return s.week.moveTime(plan, technique, "because few balls finish inside "+s.reader.exact(s.to.Radius), random, test)
	case settled && (!s.open || s.now < stepNear):
		return s.week.moveTime(plan, random, "because the level has settled", technique, test)
	case s.open && s.then >= stepNear:
		return s.week.moveTime(plan, test, "because "+tierIn(s.reader, s.to)+" is within reach", random, technique)
	}
	return timeAhead{}, false
}

// adjustment is the move as a coach gives it.
func (t timeAhead) adjustment() curriculum.Adjustment {
	return curriculum.Adjustment{Kind: curriculum.OtherShares, Shares: []curriculum.KindShare{{Kind: t.to, Share: t.has}, {Kind: t.from, Share: t.less}}}
}

// moveTime moves time to a kind of block from the first of others that can give it.
func (w WeekAhead) moveTime(plan curriculum.Plan, to curriculum.BlockKind, why string, from ...curriculum.BlockKind) (t timeAhead, ok bool) {
	shares := map[curriculum.BlockKind]int{}
	for _, b := range plan.Blocks {
		shares[b.Kind] += b.Share
	}
	if shares[to] == 0 {
		return timeAhead{}, false
	}
	_, most := w.limits(to)
	for _, kind := range from {
		least, _ := w.limits(kind)
		points := min(mostMoved, most-shares[to], shares[kind]-max(least, leastShareOfTime))
		if points >= leastMoved {
			return timeAhead{from: kind, to: to, had: shares[to], has: shares[to] + points, less: shares[kind] - points, why: why}, true
		}
	}
	return timeAhead{}, false
}

// limits bound the share of a kind of block, in per cent.
func (w WeekAhead) limits(kind curriculum.BlockKind) (least, most int) {
	i := slices.IndexFunc(w.Limits, func(l curriculum.Limit) bool { return l.Kind == kind })
	if i < 0 {
		return 0, 100
	}
	return w.Limits[i].AtLeast, w.Limits[i].AtMost
}

func (t timeAhead) label(Reader, string) string {
	return fmt.Sprintf("%s %d %% of the time, %s %d %%", capital(kindLabel(t.to)), t.has, kindLabel(t.from), t.less)
}

func (t timeAhead) reason(Reader) string {
	return fmt.Sprintf("%s from %d to %d %% of the time and %s down to %d %%, %s.", capital(kindWords(string(t.to))), t.had, t.has, kindWords(string(t.from)), t.less, t.why)
}

func (t timeAhead) toStudent(Reader) string {
	return fmt.Sprintf("More time for %s this week, less for %s.", kindWords(string(t.to)), kindWords(string(t.from)))
}
