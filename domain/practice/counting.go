package practice

import (
	"fmt"

	"fringework/domain/curriculum"
)

// A session counts as one of its plan's sessions once at least half of the plan's
// minutes were spent, or at least half of the balls struck that those minutes
// leave room for at the pace below; but never with fewer than leastBalls, or than
// half a ball for each minute of a plan that is shorter than twice that. Opening
// a session and leaving it is not practice.
//
// The halves and the least are our choice. The pace is one ball a minute, which is the
// quick end of what a new place for every ball leaves time for, and the quick end of
// what is usual where balls are played out ([curriculum.BlockKind.UsualPace]), so that
// nobody is asked for more than a kind of block allows. A student's own pace decides
// nothing here, lest what counts depends on what was practised later.
const leastBalls = 10

// Effort is what a session has to show for itself, against its plan.
type Effort struct {
	// Balls were struck, or counted on a card.
	Balls int
	// Seconds were spent, and Planned is what the plan wanted; 0 without a plan
	// to compare with.
	Seconds int
	Planned int
	// PlayedOut is how much of Planned is for balls that are played out.
	PlayedOut int
}

// plan adds planned seconds for a kind of block.
func (e *Effort) plan(kind curriculum.BlockKind, seconds int) {
	e.Planned += seconds
	if kind == curriculum.Playout {
		e.PlayedOut += seconds
	}
}

// Expected is how many balls the plan's time leaves room for.
func (e Effort) Expected() int {
	return (60*(e.Planned-e.PlayedOut) + int(curriculum.Playout.UsualPace().High)*e.PlayedOut) / 3600
}

// least is how many balls a session must have at least.
func (e Effort) least() int {
	if e.Planned == 0 {
		return leastBalls
	}
	return min(leastBalls, (e.Expected()+1)/2)
}

// Counts reports whether this is enough for one of the plan's sessions. Without
// a plan to compare with the least number of balls is.
func (e Effort) Counts() bool {
	return e.Balls >= e.least() && (2*e.Balls >= e.Expected() || 2*e.Seconds >= e.Planned)
}

// words tell why this does not count; so far, while the session goes on.
func (e Effort) words(goesOn bool) string {
	so, not := "", "it does not count"
	if goesOn {
		so, not = "So far ", "it does not count yet"
	}
	if e.Planned == 0 {
		return fmt.Sprintf("%s%s: %s as one of the week's sessions, which takes at least %d balls.", so, counted(e.Balls), not, e.least())
	}
	return fmt.Sprintf("%s%d of about %d balls and %d of %d minutes: %s as one of the week's sessions. That takes half of the balls or half of the minutes, and at least %d balls.",
		so, e.Balls, e.Expected(), e.Seconds/60, e.Planned/60, not, e.least())
}

func counted(balls int) string {
	if balls == 1 {
		return "1 ball"
	}
	return fmt.Sprintf("%d balls", balls)
}

// Effort sums the session up.
func (s Session) Effort() (e Effort) {
	for _, b := range s.Blocks {
		e.Balls += b.struck()
		e.Seconds += b.Seconds
		e.plan(b.Kind, b.Planned)
	}
	for _, left := range s.Missed {
		e.plan(curriculum.BlockKind(left.Kind), left.Planned)
	}
	return e
}

// struck is how many balls the block has, on a card as well. Lists of sessions
// come with counts alone.
func (b Block) struck() int {
	if b.Attested != nil {
		return b.Attested.Balls
	}
	return max(len(b.Balls), b.Counts.Balls)
}

// Counts reports whether the session counts as one of its plan's. Practice of
// one's own counts toward no plan.
func (s Session) Counts() bool {
	return s.Assignment != "" && !s.Deleted() && s.Effort().Counts()
}

// notCounted tells that a session by a plan does not count, and why.
func (s Session) notCounted() []Notice {
	if s.Assignment == "" || s.Counts() {
		return nil
	}
	return []Notice{{Code: "not_counted", Detail: s.Effort().words(s.EndedAt.IsZero())}}
}

// planNotices tell where the session is not what its plan says: all of it, or
// single blocks.
func (s Session) planNotices() (all []Notice) {
	if s.Assignment == "" {
		return nil
	}
	known := s.Effort().Planned != 0
	if !known {
		return []Notice{{Code: "plan_missing",
			Detail: fmt.Sprintf("Version %d of the programme has no plan %d with these blocks in week %d, so the time is not compared with a plan.", s.Version, s.Plan, s.Week)}}
	}
	found := map[int]bool{0: true}
	for _, b := range s.Blocks {
		found[b.PlanBlock] = found[b.PlanBlock] || b.Planned != 0
	}
	for i, b := range s.Blocks {
		if !found[b.PlanBlock] {
			all = append(all, Notice{Code: "other_block",
				Detail: fmt.Sprintf("Block %d says that it was block %d of the plan, which is of another kind or not there, so its time is not compared with the plan's.", i+1, b.PlanBlock)})
		}
	}
	return all
}
