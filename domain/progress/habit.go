package progress

import (
	"cmp"
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
	// Paces are how the balls followed each other, where that is known.
	Paces []KindPace
}

// Habit is how a student practises, whatever the skill. It is kept in the
// transaction that stores a session.
type Habit struct {
	Student domain.ID
	// Sessions counts all sessions.
	Sessions int
	// Recent are the last HabitSessions sessions, oldest first; the rest follows
	// from them.
	Recent []SessionTime
	// Starts are their starts.
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

// Revise gives the habit after a session changed: next is the session as time,
// nil when it counts no longer, and more is how many sessions there are more
// (1, 0 or -1). ok is false when the recent sessions at hand do not reach: then
// the habit follows from the last ones, by [HabitOf].
func (h Habit) Revise(id domain.ID, next *SessionTime, more int) (after Habit, ok bool) {
	others := slices.DeleteFunc(slices.Clone(h.Recent), func(s SessionTime) bool { return s.Session == id })
	whole := len(h.Recent) == h.Sessions
	recent := others
	if next != nil {
		at, _ := slices.BinarySearchFunc(others, *next, SessionTime.compare)
		if at == 0 && !whole && len(others) < HabitSessions {
			return Habit{}, false // it may be older than one that is not at hand
		}
		recent = slices.Insert(others, at, *next)
	}
	if n := h.Sessions + more; len(recent) < min(n, HabitSessions) {
		return Habit{}, false
	}
	return HabitOf(h.Student, h.Sessions+more, recent), true
}

func (s SessionTime) compare(o SessionTime) int {
	return cmp.Or(s.StartedAt.Compare(o.StartedAt), cmp.Compare(s.Session, o.Session))
}

// HabitOf derives a habit from the number of sessions and the times of the last,
// oldest first.
func HabitOf(student domain.ID, sessions int, times []SessionTime) Habit {
	h := Habit{Student: student, Sessions: sessions}
	times = times[max(0, len(times)-HabitSessions):]
	for _, o := range times {
		h.Recent = append(h.Recent, o)
		h.Starts = append(h.Starts, o.StartedAt)
	}
	planned := slices.DeleteFunc(slices.Clone(times), func(o SessionTime) bool {
		return !slices.ContainsFunc(o.Times, func(t KindTime) bool { return t.Planned > 0 })
	})
	planned = planned[max(0, len(planned)-splitSessions):]
	h.Planned = len(planned)
	for _, o := range planned {
		h.Times = AddTimes(h.Times, o.Times)
	}
	return h
}

// AddTimes adds up times kind by kind, in the usual order of a session. It may
// change the first.
func AddTimes(to, more []KindTime) []KindTime {
	for _, t := range more {
		i := slices.IndexFunc(to, func(x KindTime) bool { return x.Kind == t.Kind })
		if i < 0 {
			i = len(to)
			to = append(to, KindTime{Kind: t.Kind})
		}
		to[i].Planned += t.Planned
		to[i].Spent += t.Spent
	}
	slices.SortFunc(to, func(a, b KindTime) int { return kindOrder(a.Kind) - kindOrder(b.Kind) })
	return to
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
