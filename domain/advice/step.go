package advice

import (
	"fmt"
	"strings"

	"fringework/domain"
	"fringework/domain/greenside"
	"fringework/domain/streak"
)

// shortestRun is the fewest in a row worth playing for.
const shortestRun = 3

// widestScale is the widest circle worth aiming at, over the next step's.
const widestScale = 3

// reached lists what the student has done: the tiers passed, and the longest run
// in each circle.
func (f flag) reached() []streak.Tier {
	var done []streak.Tier
	for _, t := range f.state.Tiers {
		if t.First != nil {
			done = append(done, t.Tier)
		}
		if t.Best.Length > 0 {
			done = append(done, streak.Tier{Run: t.Best.Length, Radius: t.Tier.Radius, Holed: t.Best.Holed})
		}
	}
	return done
}

// within says whether whoever did d has done t.
func within(t, d streak.Tier) bool {
	return d.Run >= t.Run && d.Radius <= t.Radius && d.Holed >= t.Holed
}

// easier gives steps between what the student has done and the next one: a
// shorter run in its circle, and its run in a wider circle. Each is as near to
// even odds in one session as that leaves.
func (f flag) easier(r Reader) []streak.Tier {
	next := f.Tier
	if next.Run == 0 {
		return nil
	}
	longest, widest := shortestRun-1, domain.MaxLength
	for _, d := range f.reached() {
		if d.Radius <= next.Radius {
			longest = max(longest, d.Run)
		}
		if d.Run >= next.Run {
			widest = min(widest, d.Radius)
		}
	}
	var steps []streak.Tier
	if longest < next.Run-1 {
		run := f.EvenRun
		if run <= longest || run >= next.Run {
			run = longest + (next.Run-longest)/2
		}
		steps = append(steps, streak.Tier{Run: run, Radius: next.Radius})
	}
	if f.EvenScale > 1 && next.Radius > 0 {
		radius := r.rounded(float64(next.Radius)*min(f.EvenScale, widestScale), up)
		if radius >= widest {
			radius = r.rounded(float64(widest-1), down)
		}
		if radius > next.Radius {
			steps = append(steps, streak.Tier{Run: next.Run, Radius: radius})
		}
	}
	return steps
}

// lacksHoled says whether the run was long enough and only holed balls were
// missing.
func (f flag) lacksHoled() (best int, lacks bool) {
	for _, t := range f.state.Tiers {
		if t.Tier == f.Tier && t.First == nil && f.Tier.Holed > 0 && t.Best.Length >= f.Tier.Run {
			return t.Best.Length, true
		}
	}
	return 0, false
}

// step advises what to play for before the next step, and never what has been
// done; empty when nothing lies between.
func (f flag) step(r Reader) string {
	if best, lacks := f.lacksHoled(); lacks {
		return fmt.Sprintf("practise holing: %s is there, and only %d holed is missing", inARow(best), f.Tier.Holed)
	}
	var words []string
	for _, t := range f.easier(r) {
		words = append(words, fmt.Sprintf("%s (%s)", tierIn(r, t), OneIn(f.odds(t))))
	}
	switch passed := f.state.Held; {
	case len(words) > 0:
		return strings.Join(words, " or ")
	case passed > 0 && passed <= len(f.state.Ladder.Tiers):
		return tierIn(r, f.state.Ladder.Tiers[passed-1]) + " again on another day"
	}
	return ""
}

// odds is the chance of a step in one session at the rate that is told. In a
// wider circle a round scatter is taken.
func (f flag) odds(t streak.Tier) float64 {
	rate := f.state.Assessment.Rate.Mean
	if t.Radius > f.Radius && f.Radius > 0 && rate > 0 && rate < 1 {
		rate = greenside.Shape{Aspect: 1}.Elsewhere(rate, t.Radius.Metres()/f.Radius.Metres())
	}
	return streak.Within(streak.Tier{Run: t.Run}, streak.Rates{In: rate}, f.BallsPerTest)
}

// tierIn writes a step with its circle: "10 in a row inside 3 ft".
func tierIn(r Reader, t streak.Tier) string {
	if t.Radius == 0 {
		return tierWords(t)
	}
	return tierWords(t) + " inside " + r.exact(t.Radius)
}

// tierWords writes a step without its circle: "10 in a row, one of them holed".
func tierWords(t streak.Tier) string {
	if t.Holed == 0 || t.Run == 1 {
		return inARow(t.Run)
	}
	return fmt.Sprintf("%s with %d holed", inARow(t.Run), t.Holed)
}

// rounded gives a radius the way people speak of it, in half feet or tenths of a
// metre.
func (r Reader) rounded(radius float64, round func(float64) float64) domain.Length {
	step := domain.Foot / 2
	if r.Metric {
		step = domain.Metre / 10
	}
	return step * domain.Length(round(radius/float64(step)))
}
