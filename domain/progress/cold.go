package progress

import (
	"cmp"
	"slices"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/streak"
)

// RetestBalls are those of a retest, in the circle that they were judged in.
type RetestBalls struct {
	Radius domain.Length
	estimate.Retest
}

// PlannedTest is a usual test of the plan: its balls in the circle that it was judged
// in.
type PlannedTest struct {
	// PlanBlock is 1-based.
	PlanBlock int
	Radius    domain.Length
	Balls     int
	Inside    int
}

// open fills in how the session opened: its first ball, the retest that it began with,
// and the tests of its plan. Off the green there is none of them, but a first ball all
// the same, since a later one is no longer cold.
func (p Play) open(d *SessionSummary) {
	for _, b := range p.Blocks {
		if len(b.Balls) == 0 {
			continue
		}
		if d.FirstAt.IsZero() {
			d.FirstAt = b.StruckAt(0).UTC()
			if !p.OffGreen {
				d.First.Inside = b.Balls[0].Outcome != streak.Out
				d.Retest = b.retest()
			}
		}
		if !p.OffGreen {
			d.plannedTest(b)
		}
	}
	if !d.FirstAt.IsZero() && !p.OffGreen {
		d.First.Later, d.First.LaterInside = p.later()
	}
}

// retest gives the first balls of a block that is a retest.
func (b PlayedBlock) retest() *RetestBalls {
	if b.Purpose != curriculum.Retest {
		return nil
	}
	r := &RetestBalls{Radius: b.Balls[0].Radius}
	r.Balls, r.Inside = insideOf(b.Balls[:min(len(b.Balls), estimate.RetestBalls)])
	return r
}

// plannedTest adds a usual test of the plan. One that was gone on with in another block
// is one test, in the circle that it was begun in.
func (s *SessionSummary) plannedTest(b PlayedBlock) {
	if b.Kind != "test" || b.Measures() || b.PlanBlock == 0 {
		return
	}
	at, begun := slices.BinarySearchFunc(s.Tests, b.PlanBlock, func(t PlannedTest, n int) int { return cmp.Compare(t.PlanBlock, n) })
	if !begun {
		s.Tests = slices.Insert(s.Tests, at, PlannedTest{PlanBlock: b.PlanBlock, Radius: b.Balls[0].Radius})
	}
	if t := &s.Tests[at]; t.Radius == b.Balls[0].Radius {
		balls, inside := insideOf(b.Balls)
		t.Balls, t.Inside = t.Balls+balls, t.Inside+inside
	}
}

// later counts the balls after the first in blocks that were judged in its circle:
// where a ball is counted does not depend on how it came out.
func (p Play) later() (balls, inside int) {
	var circle domain.Length
	for _, b := range p.Blocks {
		if len(b.Balls) == 0 {
			continue
		}
		later := b.Balls
		if circle == 0 {
			circle, later = b.Balls[0].Radius, b.Balls[1:]
		}
		if b.Balls[0].Radius == circle {
			n, in := insideOf(later)
			balls, inside = balls+n, inside+in
		}
	}
	return balls, inside
}

func insideOf(balls []streak.Ball) (n, inside int) {
	for _, b := range balls {
		if b.Outcome != streak.Out {
			inside++
		}
	}
	return len(balls), inside
}

// coldest gives the session of a day that had the first ball at the skill; nil when
// none had a ball.
func coldest(day domain.Date, periods []Period) *SessionSummary {
	var first *SessionSummary
	for _, p := range periods {
		for i := range p.Sessions {
			s := &p.Sessions[i]
			if s.Day == day && !s.FirstAt.IsZero() && (first == nil || s.opensBefore(*first)) {
				first = s
			}
		}
	}
	return first
}

func (s SessionSummary) opensBefore(o SessionSummary) bool {
	return cmp.Or(s.FirstAt.Compare(o.FirstAt), cmp.Compare(s.Session, o.Session)) < 0
}

// ColdDays gives the first ball of each day, from a day on, that has later ones beside
// it, oldest first. It follows from the sessions, in whatever order they came.
func ColdDays(periods []Period, from domain.Date) []estimate.ColdDay {
	first := map[domain.Date]SessionSummary{}
	var days []domain.Date
	for _, p := range periods {
		for _, s := range p.Sessions {
			if s.FirstAt.IsZero() || s.Day.Before(from) {
				continue
			}
			was, begun := first[s.Day]
			if !begun {
				days = append(days, s.Day)
			}
			if !begun || s.opensBefore(was) {
				first[s.Day] = s
			}
		}
	}
	slices.SortFunc(days, func(a, b domain.Date) int { return b.DaysUntil(a) })
	var cold []estimate.ColdDay
	for _, d := range days {
		if c := first[d].First; c.Later > 0 {
			cold = append(cold, c)
		}
	}
	return cold
}
