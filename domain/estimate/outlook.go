package estimate

import "math"

// longestOutlook is how many more sessions an outlook looks through.
const longestOutlook = 40

// outlook says how many more sessions it takes until the data can tell: the
// sessions to come are played as expected, once by a student who stays at the
// present rate and once by one who rises at the usual pace, until either would
// be told; the two numbers are weighed by how likely each is now.
func (w *watch) outlook(rate Rate) Undecided {
	balls, sessions := 0, 0
	for _, s := range w.sessions[w.recentFrom(recently):] {
		if s.Balls > 0 {
			balls += s.Balls
			sessions++
		}
	}
	u := Undecided{Applies: true}
	now := w.filter.now
	if sessions == 0 {
		u.MoreSessions = firstLook
		return u
	}
	usual := (balls + sessions/2) / sessions
	stays := w.until(usual, logit(rate.Mean), 0)
	rises := w.until(usual, logit(rate.Mean), usualRise)
	weight := now.rising / (now.rising + now.staying() + now.falling)
	u.MoreSessions = max(1, int(math.Round(weight*float64(rises)+(1-weight)*float64(stays))))
	u.Sessions, u.Rising, u.Balls = w.filter.sessions, now.rising, usual
	return u
}

// usualRise is the mean pace of a rise, in logits a session.
var usualRise = func() float64 {
	sum := 0.0
	for _, r := range risingWays {
		sum += float64(r.steps) * fine * r.weight
	}
	return sum
}()

// until counts the sessions it takes to tell when each of them has the
// expected number of balls inside at a level that rises by pace.
func (w *watch) until(balls int, level, pace float64) int {
	f := w.filter.clone()
	defer f.free()
	g := w.flags
	for k := 1; k <= longestOutlook; k++ {
		level += pace
		f.observe(balls, int(math.Round(float64(balls)*logistic(level))))
		g.judge(f.now, math.NaN(), f.sessions, balls, 0)
		if g.flat.on || g.slipping.on || f.now.rises() {
			return k
		}
	}
	return longestOutlook
}
