package advice

import (
	"fmt"
	"math"
	"strings"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/progress"
)

// Practice that is spread out is remembered better than the same at one stretch (T.
// D. Lee and E. D. Genovese, Research Quarterly for Exercise and Sport 59 (1988)
// 277-287; J. J. Donovan and D. J. Radosevich, Journal of Applied Psychology 84
// (1999) 795-805), golf putts too (T. K. Dail and R. W. Christina, Research Quarterly
// for Exercise and Sport 75 (2004) 148-155). So a warm-up keeps an earlier skill
// alive: the one that has most to lose by another week away, or to win.

// usualFade is how much a skill is taken to fade where the academy's students do not
// tell yet, in logits for each unit of log(1 + days beyond the usual gap / 7); and
// usualGap the days that no skill fades in. No source; our choice: at 60 % inside it
// is 3 of 100 balls in four weeks.
const (
	usualFade = 0.1
	usualGap  = 7
)

// Bounds of the warm-up's choice, our own: a skill is left alone for fewestAway days,
// and the planned one makes way for another that is worth more by betterBy points.
const (
	fewestAway = 5
	betterBy   = 2.0
)

// stepWorth is how many points the next step of a skill is worth, at a chance of 1.
const stepWorth = 10

// kept is how much an earlier skill has to lose or to win.
type kept struct {
	skill domain.ID
	// days is for how long it was not practised, by the week's first day.
	days int
	// lost is the share of balls that fades by then, of 1, and told whether the
	// academy's students say so.
	lost float64
	told bool
	// chance is that of the next step in the warm-up's balls, 0 without one that is
	// worth playing for.
	chance float64
	step   string
	// instead is for how long the planned skill was not practised; negative when that
	// is none of the earlier ones.
	instead int
}

// score is worth in points: a ball of a hundred lost counts one, and the next step
// ten at a chance of 1.
func (k kept) score() float64 { return 100*k.lost + stepWorth*k.chance }

// keepAlive proposes another earlier skill for the warm-up.
func (a Ahead) keepAlive(w WeekAhead) (Proposal, bool) {
	plan := w.usualPlan()
	planned, has := w.warmup(plan)
	if !has {
		return Proposal{}, false
	}
	best, now := kept{}, kept{days: -1}
	for _, skill := range w.Earlier {
		state, known := a.stateOf(skill)
		if !known || skill == w.Skill || state.Totals.Sessions == 0 {
			continue
		}
		k := a.worth(state, w.Monday, plan)
		if skill == planned {
			now = k
		}
		if k.days >= fewestAway && k.score() > best.score() {
			best = k
		}
	}
	if best.score() < now.score()+betterBy {
		return Proposal{}, false
	}
	best.instead = now.days
	p := Proposal{
		Move: KeepAlive, Skill: best.skill, Until: w.sunday(), grounds: best,
		Adjustment: curriculum.Adjustment{Kind: curriculum.OtherWarmup, Skill: best.skill},
	}
	if best.chance > 0 {
		p.Then, p.Of = best.chance, OfSessions
	}
	return p, true
}

// warmup is the skill that a plan's warm-up keeps alive.
func (w WeekAhead) warmup(plan curriculum.Plan) (skill domain.ID, ok bool) {
	for _, b := range plan.Blocks {
		if b.Kind == curriculum.Warmup {
			return w.SkillOf(b), true
		}
	}
	return "", false
}

// worth says what there is to lose and to win at a skill.
func (a Ahead) worth(s progress.State, monday domain.Date, plan curriculum.Plan) kept {
	k := kept{skill: s.Skill, days: max(0, domain.DateOf(s.LastAt, a.Zone).DaysUntil(monday))}
	var loss float64
	loss, k.told = a.fades(s.Skill, k.days)
	k.lost = lostOf(s, loss)
	next, open := s.Next()
	if open && s.Ladder.CountsIn(string(curriculum.Warmup)) && s.Recent.Sessions > 0 {
		if chance := s.Assessment.SessionRate().Chance(next, 1, a.warmupBalls(plan)); chance >= worthPlaying {
			k.chance = chance
			k.step = fmt.Sprintf("its next step, %s, is passed in %s", tierIn(a.Reader, next), often(chance))
		}
	}
	return k
}

// fades gives how much of a skill fades in some days away, in logits, and whether the
// academy's students tell it.
func (a Ahead) fades(skill domain.ID, days int) (loss float64, told bool) {
	fade, gap := usualFade, float64(usualGap)
	if f := a.Fades[skill]; f.CannotTell == "" && f.Students > 0 {
		fade, gap, told = f.Rate(), f.UsualGap, true
	}
	return math.Max(0, fade) * estimate.Away(float64(days), gap), told
}

// lostOf is the share of a student's balls that so many logits take away.
func lostOf(s progress.State, loss float64) float64 {
	rate := s.Assessment.Rate.Mean
	if s.Recent.Sessions == 0 {
		rate = 0.5
	}
	return rate - 1/(1+math.Exp(loss-logit(rate)))
}

// loses says how many balls of a hundred are lost, by whose word; empty of less than one.
func loses(lost float64, told bool) string {
	n := int(math.Round(100 * lost))
	switch {
	case n < 1:
		return ""
	case told:
		return fmt.Sprintf("your students lose about %s in 100", count(n, "ball"))
	}
	return fmt.Sprintf("we assume that this costs about %s in 100", count(n, "ball"))
}

// warmupBalls is how many balls a plan's warm-ups have room for at the student's pace.
func (a Ahead) warmupBalls(plan curriculum.Plan) (balls int) {
	minutes := plan.BlockMinutes()
	for i, b := range plan.Blocks {
		if minutes != nil && b.Kind == curriculum.Warmup {
			balls += curriculum.BallsIn(minutes[i], a.Habit.Pace(b.Kind).AHour)
		}
	}
	return balls
}

func (k kept) label(_ Reader, skill string) string { return "Warm up with " + skill }

func (k kept) reason(Reader) string {
	away := fmt.Sprintf("not practised for %s by then", count(k.days, "day"))
	if k.instead >= 0 {
		away += fmt.Sprintf(" (the planned skill: %s)", count(k.instead, "day"))
	}
	parts := []string{away}
	if words := loses(k.lost, k.told); words != "" {
		parts = append(parts, words)
	}
	if k.step != "" {
		parts = append(parts, k.step)
	}
	return capital(strings.Join(parts, "; ")) + "."
}

func (k kept) toStudent(Reader) string {
	return "Warm up with another earlier skill, so that it does not fade."
}

// capital begins a sentence.
func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
