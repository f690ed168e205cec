package progress

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/estimate"
)

// KindTime is the time for one kind of block in one or more sessions.
type KindTime struct {
	Kind string
	// Planned and Spent are in seconds. Planned is 0 without a plan.
	Planned int
	Spent   int
}

// SessionTime is one session as time: when it was, and what it was spent on.
type SessionTime struct {
	Session   domain.ID
	StartedAt time.Time
	// Times are in the order of first use of each kind; only sessions done by
	// a plan have planned seconds.
	Times []KindTime
}

// Habit is how a student practises, whatever the skill. It is kept in the
// transaction that stores a session.
type Habit struct {
	Student domain.ID
	// Sessions counts all sessions.
	Sessions int
	// Starts are the starts of the last sessions, oldest first.
	Starts []time.Time
	// Times sums up the last sessions done by a plan.
	Times []KindTime
	// Planned is how many sessions Times is made of.
	Planned int
}

// How far back a habit looks.
const (
	habitSessions = 12
	splitSessions = 8
)

// HabitKeeper is what keeping a habit needs of the store.
type HabitKeeper interface {
	// RecentOutings gives a student's last sessions, oldest first, by start and
	// then by session.
	RecentOutings(ctx context.Context, student domain.ID, limit int) ([]SessionTime, error)
	// SessionCount gives what Habit.Sessions was, 0 when there is none yet.
	SessionCount(ctx context.Context, student domain.ID) (int, error)
	SaveHabit(ctx context.Context, h Habit) error
}

// UpdateHabit brings a student's habit up to date after a session was stored
// (delta 1), changed (0) or deleted (-1).
func UpdateHabit(ctx context.Context, k HabitKeeper, student domain.ID, delta int) error {
	n, err := k.SessionCount(ctx, student)
	if err != nil {
		return err
	}
	outings, err := k.RecentOutings(ctx, student, habitSessions)
	if err != nil {
		return err
	}
	return k.SaveHabit(ctx, HabitOf(student, n+delta, outings))
}

// HabitOf derives a habit from the number of sessions and the last outings,
// oldest first.
func HabitOf(student domain.ID, sessions int, outings []SessionTime) Habit {
	h := Habit{Student: student, Sessions: sessions}
	outings = outings[max(0, len(outings)-habitSessions):]
	for _, o := range outings {
		h.Starts = append(h.Starts, o.StartedAt)
	}
	planned := slices.DeleteFunc(slices.Clone(outings), func(o SessionTime) bool {
		return !slices.ContainsFunc(o.Times, func(t KindTime) bool { return t.Planned > 0 })
	})
	planned = planned[max(0, len(planned)-splitSessions):]
	h.Planned = len(planned)
	for _, o := range planned {
		for _, t := range o.Times {
			i := slices.IndexFunc(h.Times, func(x KindTime) bool { return x.Kind == t.Kind })
			if i < 0 {
				i = len(h.Times)
				h.Times = append(h.Times, KindTime{Kind: t.Kind})
			}
			h.Times[i].Planned += t.Planned
			h.Times[i].Spent += t.Spent
		}
	}
	slices.SortFunc(h.Times, func(a, b KindTime) int { return kindOrder(a.Kind) - kindOrder(b.Kind) })
	return h
}

// kindOrder is the usual order of a session.
func kindOrder(kind string) int {
	return slices.Index([]string{"warmup", "technique", "stations", "random", "test"}, kind)
}

// LastAt is the start of the latest session, zero when there is none.
func (h Habit) LastAt() time.Time {
	if len(h.Starts) == 0 {
		return time.Time{}
	}
	return h.Starts[len(h.Starts)-1]
}

// gap is the median number of days between the last sessions; 0 with fewer
// than three gaps, which say little.
func (h Habit) gap() float64 {
	var gaps []float64
	for i := 1; i < len(h.Starts); i++ {
		gaps = append(gaps, h.Starts[i].Sub(h.Starts[i-1]).Hours()/24)
	}
	if len(gaps) < 3 {
		return 0
	}
	slices.Sort(gaps)
	return (gaps[(len(gaps)-1)/2] + gaps[len(gaps)/2]) / 2
}

// lapsedAfter is how many days without practice, but for the plan's days off,
// make a lapse: three times the student's own median gap, or the plan's pace
// when there is too little to go by, and never less than a week. The factor is
// our choice; it makes a lapse of a student who goes out every third day after
// nine days.
const lapsedGaps, lapsedAtLeast = 3, 7

// Lapsed says whether a student has stopped practising, as of today in their
// zone. Days that an assignment was paused or had not begun do not count: since
// is the later of its start and the end of its last pause. perWeek is the
// plan's number of sessions a week, 0 without a plan.
func (h Habit) Lapsed(today domain.Date, zone *time.Location, since domain.Date, perWeek float64) (estimate.Stall, bool) {
	from, what := since, "the plan began"
	if last := h.LastAt(); !last.IsZero() {
		what = "the plan began or resumed"
		if day := domain.DateOf(last, zone); !day.Before(since) {
			from, what = day, "the last session was"
		}
	}
	if from == (domain.Date{}) {
		return estimate.Stall{}, false // nothing to count from
	}
	gap, pace := h.gap(), "their own pace"
	if gap == 0 && perWeek > 0 {
		gap, pace = 7/perWeek, "the plan's pace"
	}
	days := from.DaysUntil(today)
	if float64(days) < max(lapsedAtLeast, lapsedGaps*gap) {
		return estimate.Stall{}, false
	}
	s := estimate.Stall{Reason: estimate.Lapsed, Probability: 1,
		Evidence: fmt.Sprintf("no session for %d days (%s on %s)", days, what, from.Start(time.UTC).Format("2 January")),
		Advice:   "Ask what is in the way; pause the programme for a holiday or an injury, or plan fewer, shorter sessions."}
	if gap > 0 {
		s.Evidence += fmt.Sprintf("; %s is one every %.1f days", pace, gap)
	}
	s.Evidence += "."
	return s, true
}

// lopsidedAt is how much of the time, in percentage points, must have gone
// elsewhere than planned, and lopsidedSessions how many sessions it takes to
// say so. Both are our choice: a fifth of an hour is a whole block.
const (
	lopsidedAt       = 20.0
	lopsidedSessions = 3
)

// Lopsided says whether a student spends the time far from the plan's split,
// over the last sessions done by a plan.
func (h Habit) Lopsided() (estimate.Stall, bool) {
	planned, spent := 0, 0
	for _, t := range h.Times {
		planned += t.Planned
		spent += t.Spent
	}
	if h.Planned < lopsidedSessions || planned == 0 || spent == 0 {
		return estimate.Stall{}, false
	}
	moved, most, least := 0.0, KindTime{}, KindTime{}
	var mostBy, leastBy float64
	for _, t := range h.Times {
		by := 100 * (float64(t.Spent)/float64(spent) - float64(t.Planned)/float64(planned))
		moved += math.Abs(by) / 2
		if by > mostBy {
			most, mostBy = t, by
		}
		if by < leastBy {
			least, leastBy = t, by
		}
	}
	if moved < lopsidedAt {
		return estimate.Stall{}, false
	}
	share := func(part, whole int) float64 { return 100 * float64(part) / float64(whole) }
	return estimate.Stall{Reason: estimate.Lopsided, Probability: 1,
		Evidence: fmt.Sprintf("over the last %d sessions %.0f %% of the time went to %s (planned %.0f %%) and %.0f %% to %s (planned %.0f %%).",
			h.Planned, share(most.Spent, spent), most.Kind, share(most.Planned, planned), share(least.Spent, spent), least.Kind, share(least.Planned, planned)),
		Advice: fmt.Sprintf("Start with %s, or shorten the %s block in the plan if the student will not leave it.", least.Kind, most.Kind)}, true
}
