package course

import (
	"fmt"
	"math"
	"strconv"

	"fringework/domain/estimate"
)

// Text says how often the student got up and down, and, from three rounds on, between
// what the true rate then probably is: with 80 %.
func (s Share) Text() string {
	switch {
	case s.Chances > 0 && s.Rounds < leastRounds:
		return fmt.Sprintf("%s, %d of %d up and down: too few to say more.", count(s.Rounds, "round"), s.Saved, s.Chances)
	case s.Chances > 0:
		return fmt.Sprintf("Up and down %d of %s (%.0f %%); the true rate is probably %.0f to %.0f %%.", s.Saved, count(s.Chances, "time"),
			100*s.Plain(), 100*s.Rate.Interval80.Lo, 100*s.Rate.Interval80.Hi)
	case s.Rounds > 0:
		return "No hole yet of which the putts are known."
	}
	return "No round yet."
}

// Text says in a sentence what was gained on the play of others.
func (l Level) Text(whose string) string {
	switch {
	case l.Shots == 0:
		return "No shot yet to count strokes gained of."
	case !l.Told:
		return fmt.Sprintf("%s, %s: too few to say more.", count(l.Rounds, "round"), count(l.Shots, "shot"))
	}
	return fmt.Sprintf("%s a round of %s against %s %s, from %s in %s.", strokes(l.PerRound()), count(l.ARound, "shot"), whose,
		inRounds(l.Interval80, l.ARound), count(l.Shots, "shot"), count(l.Rounds, "round"))
}

// inRounds writes an interval of strokes a shot as strokes in a round of so many shots.
func inRounds(i estimate.Interval, shots int) string {
	n := float64(shots)
	return fmt.Sprintf("(%s to %s)", signed(n*i.Lo), signed(n*i.Hi))
}

// Text says in a sentence how rounds compare with earlier ones. The change is that of
// the two levels as they are written, to the tenth, so that it agrees with them.
func (c Change) Text() string {
	switch {
	case c.Before.Rounds == 0 || c.After.Rounds == 0:
		return "Cannot tell yet: there are no earlier rounds to compare with."
	case !c.Told:
		return fmt.Sprintf("Cannot tell yet: it takes %d rounds before and %d after.", leastRounds, leastRounds)
	}
	verdict := map[Verdict]string{Better: "better", Worse: "worse", CannotTell: "too early to say"}[c.Verdict]
	if c.Verdict == CannotTell && (c.Interval80.Lo > 0 || c.Interval80.Hi < 0) {
		verdict = "probably " + map[bool]string{true: "better", false: "worse"}[c.PerShot > 0] + "; a few more rounds will tell"
	}
	return fmt.Sprintf("%s a round of %s against the %s before %s: %s.", strokes(tenths(c.After.PerRound())-tenths(c.Before.PerRound())),
		count(c.After.ARound, "shot"), count(c.Before.Rounds, "round"), inRounds(c.Interval80, c.After.ARound), verdict)
}

// Text says in a sentence whether practice reaches the course.
func (t Transfer) Text() string {
	switch t.Lack {
	case FewRounds:
		return fmt.Sprintf("Cannot tell yet: %s with such shots and practice before; it takes at least %d.", count(t.Rounds, "round"), LeastCompared)
	case SteadyRate:
		return "Cannot tell: the rate in practice was about the same before all of these rounds."
	}
	n := t.ARound()
	slope := fmt.Sprintf("for every ten points in practice, %s a round of %s %s", strokes(float64(n)*t.PerTen), count(n, "such shot"), inRounds(t.Interval80, n))
	switch t.Finding {
	case Reaches:
		return "Practice shows on the course: " + slope + "."
	case NotThere:
		return "Practice does not show on the course yet: " + slope + "."
	}
	if t.Interval80.Lo > 0 {
		return "Practice probably shows on the course: " + slope + ". A few more rounds will tell."
	}
	return "Cannot tell yet: " + slope + ". More rounds should tell."
}

// strokes writes strokes gained: "+0.4 strokes".
func strokes(x float64) string { return signed(x) + " strokes" }

// signed writes strokes to the tenth, with their sign.
func signed(x float64) string {
	switch n := tenths(x); {
	case n == 0:
		return "0"
	case n < 0:
		return "−" + strconv.FormatFloat(-n, 'f', 1, 64)
	default:
		return "+" + strconv.FormatFloat(n, 'f', 1, 64)
	}
}

// tenths rounds to the tenth.
func tenths(x float64) float64 { return math.Round(10*x) / 10 }

// count writes a number of things.
func count(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

// Text says in a sentence what places played out took, and how many of them were got
// up and down.
func (p PlayedOut) Text() string {
	if p.Places == 0 {
		return "No place played out yet."
	}
	text := fmt.Sprintf("%s in %s: %.1f strokes each, %d up and down (%.0f %%)", count(p.Places, "place"), count(p.Outings, "session"),
		float64(p.Strokes)/float64(p.Places), p.UpAndDown.Saved, 100*p.UpAndDown.Plain())
	if p.Told {
		text += fmt.Sprintf("; the true rate is probably %.0f to %.0f %%", 100*p.UpAndDown.Rate.Interval80.Lo, 100*p.UpAndDown.Rate.Interval80.Hi)
	}
	return text + "."
}

// LostText says in a sentence where strokes were lost on eighteen places against the
// play of others: with the first stroke or after it.
func (p PlayedOut) LostText(whose string) string {
	switch {
	case p.First.Shots == 0:
		return "Where strokes are lost is told once the distances to the hole are known."
	case !p.First.Told:
		return fmt.Sprintf("Where strokes are lost is told from %s on.", count(leastRounds, "session"))
	}
	part := func(l Level) string { return strokes(eighteen*l.PerShot) + " " + inRounds(l.Interval80, eighteen) }
	return fmt.Sprintf("On eighteen places against %s: %s with the first stroke, %s after it.", whose, part(p.First), part(p.Rest))
}

// eighteen is how many places the strokes gained are told for.
const eighteen = 18
