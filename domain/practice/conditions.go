package practice

import (
	"slices"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// checkConditions notes what is wrong with what was played, and on what.
func (s Session) checkConditions(p *domain.Problems) {
	if s.Surface != "" && !slices.Contains(curriculum.Surfaces(), s.Surface) {
		p.Add("/surface", "%q is not a surface; use %s, or leave it out on a green", s.Surface, domain.OneOf(curriculum.Surfaces()))
	}
	if _, dealt := curriculum.MatchByID(s.Match); s.Match != "" && !dealt {
		p.Add("/match_id", "%q is no match; the calculation \"match\" makes the ID of a code", s.Match)
	}
	if s.Variant == "" {
		return
	}
	if !slices.Contains(curriculum.Variants(), s.Variant) {
		p.Add("/variant", "%q is not a version of a plan; use %s, or leave it out for the plan as it stands", s.Variant, domain.OneOf(curriculum.Variants()))
	}
	if s.Variant == curriculum.ClosedGreen && !s.Surface.Off() {
		p.Add("/surface", "is a green, which is closed; say which of %s it was played on", domain.OneOf(slices.DeleteFunc(curriculum.Surfaces(), func(x curriculum.Surface) bool { return !x.Off() })))
	}
	if s.Assignment == "" {
		p.Add("/variant", "is given without assignment_id; say which plan this is a version of, or leave it out")
	}
}

// on is the day that the session was played on.
func (s Session) on() curriculum.Day {
	day := curriculum.Day{Variant: s.Variant}
	if s.Surface.Off() {
		day.Surface = s.Surface
	}
	return day
}

// checkTest notes what only a test may say.
func (b Block) checkTest(p *domain.Problems, at string) {
	if b.Purpose != "" && !slices.Contains(curriculum.Purposes(), b.Purpose) {
		p.Add(at+"/purpose", "%q is not a purpose; use %s, or leave it out", b.Purpose, domain.OneOf(curriculum.Purposes()))
	}
	if (b.Purpose == curriculum.FirstTest || b.Purpose == curriculum.EndTest) && len(b.Balls) > progress.TestBalls {
		p.Add(at+"/balls", "has %d balls, and a test of this purpose has %d; put the others into a block of their own", len(b.Balls), progress.TestBalls)
	}
	if b.Purpose == curriculum.Retest && len(b.Balls) > estimate.RetestBalls {
		p.Add(at+"/balls", "has %d balls, and a retest has %d; put the others into a block of their own", len(b.Balls), estimate.RetestBalls)
	}
	if b.Kind == curriculum.Test {
		return
	}
	if b.Purpose != "" {
		p.Add(at+"/purpose", "only a test has a purpose; leave it out or make the block a test")
	}
	if b.Quiet {
		p.Add(at+"/quiet", "only a test is quiet; leave it out or make the block a test")
	}
}

// checkStrokes notes what is wrong with how many strokes a ball of the block took.
func (b Block) checkStrokes(p *domain.Problems, at string, x Ball) {
	at += "/strokes"
	switch holed := x.Outcome == streak.Holed; {
	case b.Kind != curriculum.Playout && x.Strokes == 0:
	case b.Kind != curriculum.Playout:
		p.Add(at, "are counted where a ball is played until it is holed; leave them out or make the block %s", curriculum.Playout)
	case x.Strokes < 0 || x.Strokes > maxStrokes:
		p.Add(at, "is %d; give the strokes until the ball was holed, 1 to %d, or leave them out when it was not", x.Strokes, maxStrokes)
	case holed && x.Strokes != 1:
		p.Add(at, "is %d, and the ball was holed at once; give 1, or say where the first stroke left it", x.Strokes)
	case !holed && x.Strokes == 1:
		p.Add(at, "is 1, and the first stroke did not hole the ball; give 2 or more, or make the ball \"holed\"")
	}
}
