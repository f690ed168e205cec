package estimate

import "math"

// longestOutlook is how many more sessions an outlook looks through, and usualWait
// how many it takes in the median when nothing is known yet.
const longestOutlook, usualWait = 30, 15

// outlook says how many more sessions it takes until the data can tell: the
// sessions to come are played as expected, once by a student who stays at the
// present rate and once by one who rises at the usual pace, until either would
// be told; the two numbers are weighed by how likely each is now.
func (w *watch) outlook(rate Rate) Undecided {
	u := Undecided{Applies: true}
	now := w.now
	if w.sofar() == 0 {
		u.MoreSessions = usualWait
		return u
	}
	usual := w.usualBalls()
	stays := w.until(usual, logit(rate.Mean), 0)
	rises := w.until(usual, logit(rate.Mean), usualRise)
	weight := now.rising + now.slow/2
	u.MoreSessions = max(1, int(math.Round(weight*float64(rises)+(1-weight)*float64(stays))))
	u.Sessions, u.Balls = w.sofar(), usual
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
	f := w.filters[0].clone()
	defer f.free()
	g := *w
	g.filters, g.attain = []*filter{f}, nil
	owed := 0.0 // a part of a ball, inside at the next session
	for k := 1; k <= longestOutlook; k++ {
		level += pace
		owed += float64(balls) * logistic(level)
		inside := min(int(math.Round(owed)), balls)
		owed -= float64(inside)
		f.observe(counts{balls, inside})
		g.update()
		g.judge(standing{g.now, g.highest - g.level, math.NaN(), g.sofar(), balls}, 0)
		if g.flat.on || g.slipping.on || g.slow.on || g.now.rises() {
			return k
		}
	}
	return longestOutlook
}
