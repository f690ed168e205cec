package progress

import (
	"cmp"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/streak"
)

// TestBalls is how many balls a first test or an end test has. It is our choice: about
// twenty minutes, and what estimate.Placing and estimate.ChangeOf were measured with.
const TestBalls = 20

// Part is what one session says of a first test or an end test, which may be stopped
// and gone on with on the same day.
type Part struct {
	Session   domain.ID
	StartedAt time.Time
	// Day is the local date of the start, in the session's time zone.
	Day     domain.Date
	Purpose curriculum.Purpose
	// Warm says that other balls of the skill were struck before it in the session, so
	// that it does not show what the student comes with.
	Warm bool
	estimate.Circle
	// Measured are the balls whose leave was measured, in each circle of the track.
	Measured []estimate.Circle
}

func (p Part) compare(o Part) int {
	return cmp.Or(p.StartedAt.Compare(o.StartedAt), cmp.Compare(p.Session, o.Session), cmp.Compare(p.Purpose, o.Purpose), cmp.Compare(p.Radius, o.Radius))
}

// maxSessionParts bounds the parts of one session: a test of each purpose in a few
// circles.
const maxSessionParts = 4

// parts gathers the first test and the end test of a session. Nothing of it is read
// that was not struck on a green.
func (t Track) parts(p Play) (found []Part) {
	if p.OffGreen {
		return nil
	}
	others := 0
	for _, b := range p.Blocks {
		if b.Purpose != curriculum.FirstTest && b.Purpose != curriculum.EndTest {
			others += len(b.Balls) + b.Attested.Balls
			continue
		}
		if len(b.Balls) == 0 {
			continue
		}
		radius := b.Balls[0].Radius
		i := slices.IndexFunc(found, func(x Part) bool { return x.Purpose == b.Purpose && x.Radius == radius })
		if i < 0 {
			if len(found) == maxSessionParts {
				continue
			}
			i = len(found)
			found = append(found, Part{Session: p.Session, StartedAt: p.StartedAt, Day: p.Day, Purpose: b.Purpose, Warm: others > 0, Circle: estimate.Circle{Radius: radius}})
		}
		found[i].add(b.Balls, t)
	}
	return found
}

// add counts balls, and those that were measured in every circle of the track and in
// the test's own.
func (p *Part) add(balls []streak.Ball, t Track) {
	for _, b := range balls {
		holed := b.Outcome == streak.Holed
		count(&p.Circle, b.Outcome != streak.Out, holed)
		if !b.Measured {
			continue
		}
		if p.Measured == nil {
			p.Measured = t.circles(p.Radius)
		}
		for i := range p.Measured {
			count(&p.Measured[i], holed || b.Leave <= p.Measured[i].Radius, holed)
		}
	}
}

// circles are those of the track's tiers and one more, each once, the widest first; nil
// when there is one alone, in which leaves tell no more than the judgement.
func (t Track) circles(more domain.Length) []estimate.Circle {
	radii := []domain.Length{more}
	for _, j := range t.Judged {
		radii = append(radii, j.Radius)
	}
	slices.Sort(radii)
	radii = slices.Compact(radii)
	if len(radii) < 2 {
		return nil
	}
	circles := make([]estimate.Circle, len(radii))
	for i, r := range radii {
		circles[len(radii)-1-i].Radius = r
	}
	return circles
}

// maxParts bounds the parts that are kept of each purpose: the earliest of first tests,
// and the latest of end tests.
const maxParts = 24

// kept bounds parts, and orders them; nil when there are none.
func kept(parts []Part) (some []Part) {
	slices.SortFunc(parts, Part.compare)
	of := func(purpose curriculum.Purpose) []Part {
		return slices.DeleteFunc(slices.Clone(parts), func(p Part) bool { return p.Purpose != purpose })
	}
	first, end := of(curriculum.FirstTest), of(curriculum.EndTest)
	some = slices.Concat(first[:min(len(first), maxParts)], end[max(0, len(end)-maxParts):])
	slices.SortFunc(some, Part.compare)
	return some
}

// partsOf gathers the parts of all periods.
func partsOf(periods []Period) []Part {
	var all []Part
	for _, p := range periods {
		for _, s := range p.Sessions {
			all = append(all, s.Parts...)
		}
	}
	return kept(all)
}

// revisedParts gives the parts after a session that said old says next. ok is false
// when one was given up where more may be left out than are kept.
func revisedParts(parts []Part, old, next *SessionSummary) (after []Part, ok bool) {
	after = slices.Clone(parts)
	if old != nil && len(old.Parts) > 0 {
		for _, purpose := range []curriculum.Purpose{curriculum.FirstTest, curriculum.EndTest} {
			full := 0
			for _, p := range parts {
				if p.Purpose == purpose {
					full++
				}
			}
			if full == maxParts {
				return nil, false
			}
		}
		after = slices.DeleteFunc(after, func(p Part) bool { return p.Session == old.Session })
	}
	if next != nil {
		after = append(after, next.Parts...)
	}
	return kept(after), true
}

// Measured is a first test or an end test: the balls of one day, in one circle.
type Measured struct {
	Purpose curriculum.Purpose
	Day     domain.Date
	// Warm says that other balls of the skill were struck before any of it.
	Warm bool
	estimate.Test
}

// Left is how many balls it lacks; 0 of a whole one.
func (m Measured) Left() int { return max(0, TestBalls-m.Balls) }

// Counts reports whether it may be held against another: it is whole, and was struck
// before other balls of the skill.
func (m Measured) Counts() bool { return m.Left() == 0 && !m.Warm }

// Measurements are the tests of a purpose, oldest first. Parts that follow a whole test
// on the same day are no part of it.
func (s State) Measurements(purpose curriculum.Purpose) (all []Measured) {
	for _, p := range s.Parts {
		if p.Purpose != purpose {
			continue
		}
		last := len(all) - 1
		if last < 0 || all[last].Day != p.Day || all[last].Radius != p.Radius {
			all = append(all, Measured{Purpose: purpose, Day: p.Day, Warm: p.Warm, Test: estimate.Test{Circle: p.Circle, Measured: slices.Clone(p.Measured)}})
		} else if m := &all[last]; m.Left() > 0 {
			m.Warm = m.Warm || p.Warm
			m.Test = plus(m.Test, p)
		}
	}
	return all
}

func plus(t estimate.Test, p Part) estimate.Test {
	more := func(a, b estimate.Circle) estimate.Circle {
		return estimate.Circle{Radius: a.Radius, Balls: a.Balls + b.Balls, Inside: a.Inside + b.Inside, Holed: a.Holed + b.Holed}
	}
	t.Circle = more(t.Circle, p.Circle)
	if len(t.Measured) == 0 {
		t.Measured = slices.Clone(p.Measured)
		return t
	}
	for i := range p.Measured { // of the same track, so in the same circles
		t.Measured[i] = more(t.Measured[i], p.Measured[i])
	}
	return t
}

// First is the earliest first test that counts: the later ones might be repeated until
// one pleases.
func (s State) First() (m Measured, ok bool) {
	for _, m := range s.Measurements(curriculum.FirstTest) {
		if m.Counts() {
			return m, true
		}
	}
	return Measured{}, false
}

// End is the latest end test that counts since a day.
func (s State) End(since domain.Date) (m Measured, ok bool) {
	for _, m := range slices.Backward(s.Measurements(curriculum.EndTest)) {
		if m.Counts() && !m.Day.Before(since) {
			return m, true
		}
	}
	return Measured{}, false
}

// Unmeasured is how many balls at the skill are none of a first test, an end test or a
// retest.
func (s State) Unmeasured() int {
	n := s.Totals.Balls + s.Totals.AttestedBalls
	for _, p := range s.Parts {
		n -= p.Balls
	}
	for _, r := range s.Retests {
		n -= r.Balls
	}
	return n
}

// Tried reports whether a step was passed or come near at the skill: whether a ball
// inside counted in a row.
func (s State) Tried() bool {
	return s.Held > 0 || slices.ContainsFunc(s.Tiers, func(x TierRecord) bool { return x.Best.Length > 0 })
}

// Change is how the rate changed from the first test to the latest end test after it,
// by the student's own days as far as they are known; ok is false without both.
func (s State) Change() (first, end Measured, c estimate.Change, ok bool) {
	if first, ok = s.First(); !ok {
		return first, end, c, false
	}
	if end, ok = s.End(first.Day.AddDays(1)); !ok {
		return first, end, c, false
	}
	return first, end, estimate.ChangeOf(first.Test, end.Test, s.Assessment.Form.Kinds), true
}
