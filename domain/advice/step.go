package advice

import (
	"fmt"
	"slices"
	"strings"

	"fringework/domain"
	"fringework/domain/greenside"
	"fringework/domain/streak"
)

// shortestRun is the fewest in a row worth playing for.
const shortestRun = 3

// widestScale is the widest circle worth aiming at, over the next step's.
const widestScale = 3

// reached lists what the student has done: the longest run in each circle, which
// no passed tier is longer than.
func (f flag) reached() []streak.Tier {
	var done []streak.Tier
	for _, t := range f.state.Tiers {
		if t.Best.Length > 0 {
			done = append(done, streak.Tier{Run: t.Best.Length, Radius: t.Tier.Radius, Holed: t.Best.Holed})
		}
	}
	return done
}

// worthPlaying is the chance in one session below which a step is none to play
// for: once in twenty sessions.
const worthPlaying = 0.05

// easierBy is how many times as often a step is passed as the next one, at least,
// to be worth putting before it.
const easierBy = 1.3

// within says whether whoever did d has done t.
func within(t, d streak.Tier) bool {
	return d.Run >= t.Run && d.Radius <= t.Radius && d.Holed >= t.Holed
}

// easier gives steps between what the student has done and the next one: a
// shorter run in its circle, and its run in a wider circle, each as near to even
// odds in one session as that leaves. Between means harder than all that was done.
func (f flag) easier(r Reader) []streak.Tier {
	next, done := f.Tier, f.reached()
	if next.Run == 0 {
		return nil
	}
	longest, hardest := shortestRun-1, 1.0
	for _, d := range done {
		if d.Radius <= next.Radius {
			longest = max(longest, d.Run)
		}
		hardest = min(hardest, f.odds(d))
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
		circle := streak.Tier{Run: next.Run, Radius: r.rounded(float64(next.Radius)*min(f.EvenScale, widestScale), up)}
		for circle.Radius > next.Radius && !f.harder(circle, done, hardest) {
			circle.Radius -= r.step()
		}
		if circle.Radius > next.Radius {
			steps = append(steps, circle)
		}
	}
	return steps
}

// harder says whether a step is harder than all that was done, the hardest of
// which has the given odds.
func (f flag) harder(t streak.Tier, done []streak.Tier, hardest float64) bool {
	return !slices.ContainsFunc(done, func(d streak.Tier) bool { return within(t, d) }) && f.odds(t) < hardest
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

// worth gives those easier steps that are worth playing for.
func (f flag) worth(r Reader) []streak.Tier {
	return slices.DeleteFunc(f.easier(r), func(t streak.Tier) bool {
		odds := f.odds(t)
		return odds < worthPlaying || odds < easierBy*max(f.odds(f.Tier), f.Chance)
	})
}

// step advises what to play for before the next step, and never what has been
// done; empty when nothing lies between.
func (f flag) step(r Reader) string {
	if best, lacks := f.lacksHoled(); lacks {
		return fmt.Sprintf("practise holing: %s is there, and only %d holed is missing", inARow(best), f.Tier.Holed)
	}
	var words []string
	for _, t := range f.worth(r) {
		words = append(words, fmt.Sprintf("%s (%s)", tierIn(r, t), OneIn(f.odds(t))))
	}
	if len(words) > 0 {
		return strings.Join(words, " or ")
	}
	if passed := f.state.Held; passed > 0 && passed <= len(f.state.Ladder.Tiers) {
		if t := f.state.Ladder.Tiers[passed-1]; f.odds(t) >= worthPlaying {
			return tierIn(r, t) + " again on another day"
		}
	}
	return f.share(r)
}

// leastShare is the rate below which a share of a test is none to play for.
const leastShare = 0.1

// share is a share of a test to play for where no run is within reach: one that
// is reached about as often as not.
func (f flag) share(r Reader) string {
	const of = 20
	rate := f.state.Assessment.Rate.Mean
	if f.Tier.Run == 0 || rate < leastShare {
		return ""
	}
	text := fmt.Sprintf("%d of %d", min(of, int(of*rate)+1), of)
	if f.Radius > 0 {
		text += " inside " + r.exact(f.Radius)
	}
	return text + ", in any order"
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

// tierWords writes a step without its circle: "10 in a row with 1 holed".
func tierWords(t streak.Tier) string {
	switch {
	case t.Holed == 0:
		return inARow(t.Run)
	case t.Run == 1:
		return "one ball holed"
	}
	return fmt.Sprintf("%s with %d holed", inARow(t.Run), t.Holed)
}

// rounded gives a radius the way people speak of it, in half feet or tenths of a
// metre.
func (r Reader) rounded(radius float64, round func(float64) float64) domain.Length {
	return r.step() * domain.Length(round(radius/float64(r.step())))
}

func (r Reader) step() domain.Length {
	if r.Metric {
		return domain.Metre / 10
	}
	return domain.Foot / 2
}
