package advice

import (
	"fmt"
	"slices"
	"strings"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/progress"
)

// Competition is a date that a student prepares for.
type Competition struct {
	Name string
	Date domain.Date // its first day
}

// WeeksAhead is for how many weeks a competition or a restart is planned at once.
const WeeksAhead = 3

// taperDays is how long before a competition time is moved: three weeks. Coaches do it
// so commonly; no source measures it for the short game.
const taperDays = 7 * WeeksAhead

// restartDays is after how many days without a session a student begins anew. No
// source; our choice: three weeks.
const restartDays = 21

// restartShares are the parts of the planned sessions in the first weeks after a break,
// in per cent. Our choice: the third week is whole again.
var restartShares = []int{50, 75}

// Later is what the season asks for in the week so many weeks after the next: time moved
// before a competition, and a start with fewer sessions after weeks away. A student who
// does not practise is left in peace.
func (a Ahead) Later(w WeekAhead, week int) (all []Proposal) {
	if _, away := hasLapsed(a.Practice); away || len(w.Plans) == 0 {
		return nil
	}
	if p, ok := a.restart(w, week); ok {
		all = append(all, p)
	}
	if p, ok := a.taper(w); ok && (week == 0 || p.Adjustment.Kind != "") {
		all = append(all, p)
	}
	return all
}

// competitionAfter is the next competition of a week that is one of the last before it.
func (a Ahead) competitionAfter(monday domain.Date) (Competition, bool) {
	for _, c := range a.Competitions {
		if monday.Before(c.Date) {
			return c, !monday.Before(c.Date.AddDays(-taperDays))
		}
	}
	return Competition{}, false
}

// taper moves time from technique to balls that count once: to those played out, or
// else to the test, whose first ball is cold, or to random practice. It says so when
// the plan has neither time to give nor a block to give it to.
func (a Ahead) taper(w WeekAhead) (Proposal, bool) {
	c, soon := a.competitionAfter(w.Monday)
	if !soon {
		return Proposal{}, false
	}
	t := taperAhead{competition: c, monday: w.Monday}
	p := Proposal{Move: Hold, Skill: w.Skill, grounds: t}
	plan := w.usualPlan()
	for _, to := range []curriculum.BlockKind{curriculum.Playout, curriculum.Test, curriculum.Random} {
		if moved, ok := w.moveTime(plan, to, "", curriculum.Technique); ok {
			t.timeAhead = moved
			p.Move, p.From, p.Until, p.Adjustment = Taper, w.Monday, w.sunday(), moved.adjustment()
			if eve := c.Date.AddDays(-1); eve.Before(p.Until) {
				p.Until = eve
			}
			break
		}
	}
	t.planned = slices.ContainsFunc(plan.Blocks, func(b curriculum.Block) bool { return b.Kind == curriculum.Playout })
	p.grounds = t
	return p, true
}

// taperAhead is time moved before a competition; it moves none without a kind to.
type taperAhead struct {
	timeAhead
	competition Competition
	// monday is the week's first day.
	monday domain.Date
	// planned says that the plan has a block that is played out.
	planned bool
}

func (t taperAhead) label(r Reader, skill string) string {
	if t.to == "" {
		return "Before " + t.competition.Name + ": the time stays as planned"
	}
	return fmt.Sprintf("Week of %s, before %s: %s", dayAndMonth(t.monday), t.competition.Name, uncapital(t.timeAhead.label(r, skill)))
}

func (t taperAhead) reason(Reader) string {
	when := fmt.Sprintf("%s begins on %s.", t.competition.Name, dayAndMonth(t.competition.Date))
	const playedOut = "Plan a block that is played out: each ball from a new place until it is holed, as on the course."
	if t.to == "" {
		if t.planned {
			return when + " The plan has no technique to spare, so its time stays as it is."
		}
		return when + " The plan's time stays as it is: it has no technique to spare, or no block to give it to. " + playedOut
	}
	parts := []string{when, fmt.Sprintf("%s from %d to %d %% of the time, technique from %d to %d %%.",
		capital(kindWords(string(t.to))), t.had, t.has, t.less+t.has-t.had, t.less)}
	switch t.to {
	case curriculum.Test:
		parts = append(parts, "In the test every ball counts, and the day's first ball is cold.")
	case curriculum.Random:
		parts = append(parts, "In random practice each ball has one chance.")
	}
	if !t.planned {
		parts = append(parts, playedOut)
	}
	return strings.Join(append(parts, "Coaches commonly do this; nobody has measured it for the short game."), " ")
}

func (t taperAhead) toStudent(Reader) string {
	if t.to == "" {
		return ""
	}
	return fmt.Sprintf("%s is on %s: from %s on, more time for %s and less for technique.", t.competition.Name, dayAndMonth(t.competition.Date), dayAndMonth(t.monday), kindWords(string(t.to)))
}

// back is the week after a break of so many days that next week is: 0 is the first, and
// 1 that after a first session in the days before it. The days are 0 without a break.
func (a Ahead) back() (week, days int) {
	starts := a.Habit.Starts
	if len(starts) == 0 || len(a.Weeks) == 0 {
		return 0, 0
	}
	monday := a.Weeks[0].Monday
	day := func(i int) domain.Date { return domain.DateOf(starts[i], a.Zone) }
	if days := day(len(starts) - 1).DaysUntil(monday); days >= restartDays {
		return 0, days
	}
	for i := len(starts) - 1; i > 0 && day(i).DaysUntil(monday) <= 7; i-- {
		if days := day(i - 1).DaysUntil(day(i)); days >= restartDays {
			return 1, days
		}
	}
	return 0, 0
}

// restarts says whether next week is the first after weeks away.
func (a Ahead) restarts() bool {
	week, days := a.back()
	return week == 0 && days > 0
}

// restart plans fewer sessions in the first weeks after a break. The load is none then
// to compare with, so that it is the plan's own number that rises slowly.
func (a Ahead) restart(w WeekAhead, week int) (Proposal, bool) {
	planned := w.Sessions()
	first, days := a.back()
	if week += first; days == 0 || week >= len(restartShares) {
		return Proposal{}, false
	}
	most := max(1, (planned*restartShares[week]+50)/100)
	if most >= planned {
		return Proposal{}, false
	}
	return Proposal{
		Move: Restart, Skill: w.Skill, From: w.Monday, Until: w.sunday(),
		Adjustment: curriculum.Adjustment{Kind: curriculum.FewerSessions, PerWeek: most},
		grounds:    fewerAhead{days: days, planned: planned, most: most, week: week},
	}, true
}

// fewerAhead are fewer sessions after a break.
type fewerAhead struct{ days, planned, most, week int }

func (f fewerAhead) label(Reader, string) string {
	if f.week == 0 {
		return fmt.Sprintf("Start again with %s instead of %d", count(f.most, "session"), f.planned)
	}
	return fmt.Sprintf("Second week back: %s instead of %d", count(f.most, "session"), f.planned)
}

func (f fewerAhead) reason(Reader) string {
	return fmt.Sprintf("A break of %s. Half of the planned sessions in the first week and three quarters in the second let the load rise slowly; the shares are our choice.", count(f.days, "day"))
}

func (f fewerAhead) toStudent(Reader) string {
	return fmt.Sprintf("After the break, %s will do this week. Build up slowly, and stop if it hurts.", count(f.most, "session"))
}

// lossAt is how much of a skill has faded by a day, in logits.
func (a Ahead) lossAt(s progress.State, by domain.Date) float64 {
	loss, _ := a.fades(s.Skill, max(0, domain.DateOf(s.LastAt, a.Zone).DaysUntil(by)))
	return loss
}

// afterBreak leaves of what is proposed at a skill what makes the start easier, and says
// what the break costs.
func (a Ahead) afterBreak(w WeekAhead, next []Proposal) (all []Proposal) {
	state, _ := a.stateOf(w.Skill)
	if state.LastAt.IsZero() {
		return next
	}
	days := max(0, domain.DateOf(state.LastAt, a.Zone).DaysUntil(w.Monday))
	loss, told := a.fades(w.Skill, days)
	words := fmt.Sprintf("Not practised for %s by then", count(days, "day"))
	if cost := loses(lostOf(state, loss), told); cost != "" {
		words += "; " + cost
	}
	words += "."
	for _, p := range next {
		switch p.Move {
		case Hold, Ease, Fit:
			p.grounds = sinceBreak{p.grounds, words}
			all = append(all, p)
		}
	}
	if len(all) == 0 {
		all = append(all, Proposal{Move: Hold, Skill: w.Skill, grounds: plainly(words + " See first what is left, before you ask for more.")})
	}
	return all
}

// sinceBreak are grounds after a break.
type sinceBreak struct {
	grounds
	words string
}

func (a sinceBreak) reason(r Reader) string { return a.words + " " + a.grounds.reason(r) }

// uncapital lets a label go on in a sentence.
func uncapital(s string) string { return strings.ToLower(s[:1]) + s[1:] }
