package curriculum

import "strings"

// Label names the day in a few words.
func (d Day) Label() string {
	switch d.Variant {
	case ShortHour:
		return "Only 20 min"
	case OneBall:
		return "Only one ball"
	case InRain:
		return "Rain"
	}
	return map[Surface]string{OnMat: "Green closed: chipping mat", OnCarpet: "Green closed: carpet", InGarden: "Green closed: garden"}[d.Surface]
}

// Counts tells the student what a session of the version counts for, and why no odds
// are shown.
func (d Day) Counts() string {
	const counts = "This counts as one of the week's sessions. "
	if d.Surface.Off() {
		return counts + "No step is passed and no odds are shown: they are about balls on a green. Your rates on the green stay as they are."
	}
	return counts + "No step is passed and no odds are shown: this version has no test."
}

// text is what the student reads in a block of a kind that the plan has; own is what the
// coach wrote. Without a green it is left out: it speaks of a hole.
func (d Day) text(was BlockKind, shot SkillKind, own string) string {
	if d.Variant == ClosedGreen {
		return d.closedText(was, shot)
	}
	var first string
	switch {
	case d.Variant == OneBall && (was == Warmup):
		first = "One ball: play it, fetch it, and play it again from the same spot."
	case d.Variant == OneBall && was == Random:
		first = "One ball: play the task, fetch the ball, and walk to the next place."
	case d.Variant == OneBall:
		first = "One ball: play it until it is holed, then walk on to the next place."
	case was == Test:
		first = "No test today: same spot, ten balls at a time. Count how many are in."
	}
	if was == Test {
		return first // a coach's words are of a test
	}
	return joined(first, own)
}

// joined puts a sentence before a coach's words, of which the end goes where they would
// be too long together.
func joined(first, own string) string {
	text := []rune(strings.TrimSpace(first + " " + own))
	return string(text[:min(len(text), MaxText)])
}

// closedText tells what to do where there is no hole.
func (d Day) closedText(was BlockKind, shot SkillKind) string {
	aim := "Lay a towel where the ball should land; it is in when it lands there."
	switch {
	case shot.putts():
		aim = "Putt to a coin; the ball is in when it stops beside it or just past."
	case d.Surface == OnCarpet:
		aim = "A soft ball, low, with a short swing. " + aim
	case shot == BunkerShot:
		aim = "No sand here: play it as a high pitch, ball first. " + aim
	}
	switch {
	case d.kind(was) == Random:
		return "A new distance for every ball. " + aim
	case !shot.putts() && d.Surface == OnMat:
		return aim + " A mat hides a fat shot, so listen: ball first, then mat."
	}
	return aim + " The same routine for every ball."
}

// Cautions are what to look out for on the day beside what always holds. The 30 minutes
// are the advice of weather services (US National Weather Service, from memory).
func (d Day) Cautions() []string {
	switch {
	case d.Variant == InRain:
		return []string{
			"Thunder or lightning: stop at once. Go indoors or into a car, never under a tree, and wait 30 minutes after the last thunder.",
			"Dry the grip and your hands before each ball. If the club slips, stop.",
			"Wet slopes are slippery. The ball stops sooner, so let it fly farther.",
		}
	case d.Surface == OnCarpet:
		return []string{
			"Soft practice balls only: a golf ball breaks windows, screens and bones.",
			"Never aim at a window, a door or a person. Children and pets stay out of the room.",
			"Check that the club clears the ceiling, lamps and furniture.",
		}
	case d.Surface == InGarden:
		return []string{
			"Soft practice balls where a window, a road or a neighbour is within reach of a thin shot. Thin shots fly far.",
			"Nobody in front of you, beside you or close behind. Keep children and pets indoors.",
			"Look before every shot, not only before the first.",
		}
	case d.Surface == OnMat:
		return []string{
			"Nobody in front of you or near your line, and no window within reach of a thin shot.",
			"A mat is hard on wrists and elbows. Stop if they hurt.",
		}
	}
	return nil
}

// BodyWarmup is what to do with the body before the first ball. A. J. Fradkin, C. A.
// Sherman and C. F. Finch, British Journal of Sports Medicine 38 (2004) 762-765: a small
// group of men who warmed up before play for five weeks swung a club faster than one
// that did not (from memory). The exercises and their numbers are common practice, no source.
func BodyWarmup() []string {
	return []string{
		"Walk briskly for two minutes.",
		"Ten arm circles each way, then ten slow turns of the trunk.",
		"Ten swings without a ball, from small to full.",
		"Stop at any pain. If it stays, ask a licensed professional, such as a doctor or physiotherapist.",
	}
}

// WarmupWhy says what is known of it.
const WarmupWhy = "In one small study, men who warmed up for five weeks swung faster than men who did not (Fradkin and others 2004). It did not test chips or putts, nor whether fewer are injured."

// Etiquette is what one owes others around a green: common practice.
func Etiquette() []string {
	return []string{
		"Repair your pitch marks, and one more.",
		"Rake the bunker when you leave it.",
		"Keep off others' lines, and stand still while they play.",
		"Let players of the course go first, and pick up balls, tees and string.",
	}
}
