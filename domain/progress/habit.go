package progress

import (
	"context"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
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
	HabitSessions = 12
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
	outings, err := k.RecentOutings(ctx, student, HabitSessions)
	if err != nil {
		return err
	}
	return k.SaveHabit(ctx, HabitOf(student, n+delta, outings))
}

// HabitOf derives a habit from the number of sessions and the last outings,
// oldest first.
func HabitOf(student domain.ID, sessions int, outings []SessionTime) Habit {
	h := Habit{Student: student, Sessions: sessions}
	outings = outings[max(0, len(outings)-HabitSessions):]
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
	return slices.Index(curriculum.BlockKinds(), curriculum.BlockKind(kind))
}

// LastAt is the start of the latest session, zero when there is none.
func (h Habit) LastAt() time.Time {
	if len(h.Starts) == 0 {
		return time.Time{}
	}
	return h.Starts[len(h.Starts)-1]
}
