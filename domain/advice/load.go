package advice

import (
	"fmt"
	"math"
	"strings"

	"fringework/domain"
)

// LoadWeeks is how many weeks a load is made of: the present one and the four
// before it.
const LoadWeeks = 5

// Bounds of one week's load.
const (
	MaxWeekBalls   = 10_000
	MaxWeekMinutes = 10_080 // all of it
)

// LoadWeek is what was practised in one week.
type LoadWeek struct {
	Balls   int
	Minutes float64
}

// LoadChange is the present week beside the mean of the four before. Ratio is NaN
// where that is 0.
type LoadChange struct {
	Now, Before, Ratio float64
}

// Load is how much a student practises, compared with lately.
type Load struct {
	Balls, Minutes LoadChange
	// Text says it in a sentence.
	Text string
	// Caution is there when the load rose a lot; Why says what it rests on.
	Caution, Why string
	// Rule is what always holds; it is told to juniors, and with every caution.
	Rule string
}

// loadLimit is when a load rose a lot: more than times the four weeks' mean, and by at
// least so many balls or minutes, so that a second session in a quiet month is no
// alarm.
type loadLimit struct {
	times          float64
	balls, minutes float64
	// words say it.
	words string
}

// The limits. No threshold is published for the short game; all of this is our choice.
// Juniors, who grow, are cautioned at half the rise: common practice, no source.
var (
	adultLoad  = loadLimit{1.5, 100, 60, "half as much again as the mean of the four weeks before and at least 100 balls or an hour more"}
	juniorLoad = loadLimit{1.25, 50, 30, "for a junior a quarter more than the mean of the four weeks before and at least 50 balls or half an hour more"}
)

const (
	loadRule = "Stop if it hurts, and build up slowly. See a doctor or physio if the pain stays."
	loadWhy  = "No threshold is published for practice around the green, and ratios of this kind are criticised as predictors of injury (Lolli and others 2019; Impellizzeri and others 2020). The limit, %s, is our own choice: a reminder, no diagnosis."
)

// CheckLoad notes what is wrong with weeks under a pointer.
func CheckLoad(p *domain.Problems, at string, weeks []LoadWeek) {
	if len(weeks) != LoadWeeks {
		p.Add(at, "has %s; give %d, the present one last, with 0 where nothing was practised", count(len(weeks), "week"), LoadWeeks)
	}
	for i, w := range weeks {
		if w.Balls < 0 || w.Balls > MaxWeekBalls {
			p.Add(fmt.Sprintf("%s/%d/balls", at, i), "is %d; give a whole number from 0 to %d", w.Balls, MaxWeekBalls)
		}
		if !(w.Minutes >= 0 && w.Minutes <= MaxWeekMinutes) {
			p.Add(fmt.Sprintf("%s/%d/minutes", at, i), "is %v; give a number from 0 to %d", w.Minutes, MaxWeekMinutes)
		}
	}
}

// LoadOf compares the last of five weeks with the mean of the four before it, which
// it is no part of: a mean that contains the week would move with it (L. Lolli and
// others, British Journal of Sports Medicine 53 (2019) 921-922). A caution says that
// the load rose a lot, never that it is harmful: F. M. Impellizzeri and others,
// International Journal of Sports Physiology and Performance 15 (2020) 907-913,
// find no ground for that. Juniors are always told the rule, and cautioned sooner.
func LoadOf(weeks [LoadWeeks]LoadWeek, junior bool) Load {
	var balls, minutes float64
	for _, w := range weeks[:LoadWeeks-1] {
		balls += float64(w.Balls) / (LoadWeeks - 1)
		minutes += w.Minutes / (LoadWeeks - 1)
	}
	now := weeks[LoadWeeks-1]
	l := Load{Balls: changeOf(float64(now.Balls), balls), Minutes: changeOf(now.Minutes, minutes)}
	l.Text = l.sentence()
	limit := adultLoad
	if junior {
		limit = juniorLoad
	}
	var rose []string
	if l.Balls.rose(limit.times, limit.balls) {
		rose = append(rose, fmt.Sprintf("%s (usually %d)", count(whole(l.Balls.Now), "ball"), whole(balls)))
	}
	if l.Minutes.rose(limit.times, limit.minutes) {
		rose = append(rose, fmt.Sprintf("%s (usually %d)", count(whole(l.Minutes.Now), "minute"), whole(minutes)))
	}
	if len(rose) > 0 {
		l.Caution, l.Why = "Much more practice this week: "+strings.Join(rose, ", ")+".", fmt.Sprintf(loadWhy, limit.words)
	}
	if junior || len(rose) > 0 {
		l.Rule = loadRule
	}
	return l
}

func changeOf(now, before float64) LoadChange {
	c := LoadChange{Now: now, Before: before, Ratio: math.NaN()}
	if before > 0 {
		c.Ratio = now / before
	}
	return c
}

// rose reports a rise by more than so many times, and by at least so much.
func (c LoadChange) rose(times, atLeast float64) bool {
	return c.Now > times*c.Before && c.Now-c.Before >= atLeast
}

// sentence says the week's balls and minutes beside the usual ones.
func (l Load) sentence() string {
	now := fmt.Sprintf("%s in %s", count(whole(l.Balls.Now), "ball"), count(whole(l.Minutes.Now), "minute"))
	usual := fmt.Sprintf("%s in %s", count(whole(l.Balls.Before), "ball"), count(whole(l.Minutes.Before), "minute"))
	nothing := l.Balls.Now == 0 && l.Minutes.Now == 0
	switch {
	case l.Balls.Before == 0 && l.Minutes.Before == 0 && nothing:
		return "None in the last five weeks."
	case nothing:
		return "None this week; usually " + usual + "."
	case l.Balls.Before == 0:
		return now + " this week so far; no ball in the four weeks before."
	case l.Balls.Ratio < lessThanUsual:
		return fmt.Sprintf("%s this week so far; a usual whole week has %s.", now, usual)
	}
	return fmt.Sprintf("%s this week so far: %s the usual %s.", now, l.Balls.beside(), usual)
}

// lessThanUsual is the ratio below which a week is less than usual. That is not said:
// the week may not be over, and the four before it are whole.
const lessThanUsual = 0.8

// beside says how the week compares with the usual, of which it has no less.
func (c LoadChange) beside() string {
	switch {
	case c.Ratio <= 1.25:
		return "about"
	case c.Ratio <= 1.5:
		return "a little more than"
	case c.Ratio <= 2:
		return "over one and a half times"
	case c.Ratio < 2.5:
		return "more than twice"
	}
	times := math.Round(c.Ratio)
	if times == 3 {
		return "three times"
	}
	return fmt.Sprintf("%.0f times", times)
}

func whole(x float64) int { return int(math.Round(x)) }
