package advice

import (
	"fmt"
	"math"

	"fringework/domain/curriculum"
	"fringework/domain/progress"
)

// Lopsided says that the time goes far from the plan's split.
const Lopsided Reason = "lopsided"

var lopsided = rule{
	reason: Lopsided, label: "Time far from the plan", ofStudent: isLopsided,
	// Who does not practise has no time to share out.
	unless: []Reason{Lapsed}, longest: LongestSilence,
}

// lopsidedAt is how much of the time, in percentage points, must have gone
// elsewhere than planned, and lopsidedSessions how many sessions it takes to
// say so. Both are our choice: a fifth of an hour is a whole block.
const (
	lopsidedAt       = 20.0
	lopsidedSessions = 3
)

type split struct {
	sessions       int
	planned, spent int // seconds
	most, least    progress.KindTime
	moved          float64 // percentage points that went elsewhere than planned
}

// isLopsided looks at the last sessions done by a plan.
func isLopsided(p Practice) (Stall, bool) {
	s := split{sessions: p.Habit.Planned}
	for _, t := range p.Habit.Times {
		s.planned += t.Planned
		s.spent += t.Spent
	}
	if s.sessions < lopsidedSessions || s.planned == 0 || s.spent == 0 {
		return Stall{}, false
	}
	var mostBy, leastBy float64
	for _, t := range p.Habit.Times {
		by := share(t.Spent, s.spent) - share(t.Planned, s.planned)
		s.moved += math.Abs(by) / 2
		if by > mostBy {
			s.most, mostBy = t, by
		}
		if by < leastBy {
			s.least, leastBy = t, by
		}
	}
	return Stall{Probability: 1, numbers: s}, s.moved >= lopsidedAt
}

// share is a part of a whole in per cent.
func share(part, whole int) float64 { return 100 * float64(part) / float64(whole) }

func (s split) words(Reader) (evidence, advice string) {
	spent := func(t progress.KindTime) string {
		return fmt.Sprintf("%.0f %% of the time went to %s (planned %.0f %%)", share(t.Spent, s.spent), kindWords(t.Kind), share(t.Planned, s.planned))
	}
	least := fmt.Sprintf("%.0f %% to %s (planned %.0f %%)", share(s.least.Spent, s.spent), kindWords(s.least.Kind), share(s.least.Planned, s.planned))
	return fmt.Sprintf("over the last %d sessions %s and %s.", s.sessions, spent(s.most), least),
		fmt.Sprintf("Start with %s, or plan less time for %s if the student will not leave it.", kindWords(s.least.Kind), kindWords(s.most.Kind))
}

func (s split) figure() string { return fmt.Sprintf("%.0f %% off plan", s.moved) }

// kindWords speaks of a kind of block in a sentence.
func kindWords(kind string) string {
	switch k := curriculum.BlockKind(kind); k {
	case curriculum.Warmup:
		return "the warm-up"
	case curriculum.Stations, curriculum.Test:
		return "the " + kind
	case curriculum.Random:
		return "random practice"
	case curriculum.Playout:
		return "balls played out"
	}
	return kind
}
