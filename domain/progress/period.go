package progress

import (
	"cmp"
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/estimate"
)

// Period is thirty days of what a student did at a skill: one summary a
// session, by start and then by session. Periods are what a state is derived
// from when a session arrives late, is edited or is deleted.
type Period struct {
	Student domain.ID
	Skill   domain.ID
	// Number counts stretches of thirty days since 1970-01-01 UTC.
	Number   int
	Sessions []SessionSummary
}

// PeriodLength is how long a period lasts. Sessions belong to the one they
// started in.
const PeriodLength = 30 * 24 * time.Hour

// PeriodOf gives the number of the period that an instant is in.
func PeriodOf(t time.Time) int {
	n, rest := t.UnixMilli()/PeriodLength.Milliseconds(), t.UnixMilli()%PeriodLength.Milliseconds()
	if rest < 0 {
		n--
	}
	return int(n)
}

func (s SessionSummary) compare(o SessionSummary) int {
	return cmp.Or(s.StartedAt.Compare(o.StartedAt), cmp.Compare(s.Session, o.Session))
}

// said reports whether the session had a ball that counts for the i-th tier of
// the track, be it unmeasured.
func (s SessionSummary) said(i int) bool { return s.Results[i].Judged+s.Results[i].Unmeasured > 0 }

// Said counts the sessions that have a ball that counts for every tier of the
// track: at most as many as say something about any one. Without tiers these
// are all sessions.
func (p Period) Said() int {
	n := 0
	for _, s := range p.Sessions {
		all := true
		for i := range s.Results {
			all = all && s.said(i)
		}
		if all {
			n++
		}
	}
	return n
}

// without gives the sessions but for one, in a slice of their own.
func without(sessions []SessionSummary, id domain.ID) []SessionSummary {
	return slices.DeleteFunc(slices.Clone(sessions), func(s SessionSummary) bool { return s.Session == id })
}

// revised gives periods in which a session is replaced by what it says now, or
// only taken out when next is nil; what it said before, if it is there; and the
// numbers of the periods that this changed. A period left empty stays, so that
// whoever keeps them sees that it is to go.
func revised(periods []Period, id domain.ID, next *SessionSummary) (after []Period, old *SessionSummary, changed []int) {
	after = slices.Clone(periods)
	for i := range after {
		at := slices.IndexFunc(after[i].Sessions, func(s SessionSummary) bool { return s.Session == id })
		if at < 0 {
			continue
		}
		was := after[i].Sessions[at]
		old = &was
		after[i].Sessions = without(after[i].Sessions, id)
		changed = append(changed, after[i].Number)
	}
	if next == nil {
		return after, old, changed
	}
	number := PeriodOf(next.StartedAt)
	i, found := slices.BinarySearchFunc(after, number, func(p Period, n int) int { return cmp.Compare(p.Number, n) })
	if !found {
		after = slices.Insert(after, i, Period{Number: number})
	}
	sessions := slices.Clone(after[i].Sessions)
	at, _ := slices.BinarySearchFunc(sessions, *next, SessionSummary.compare)
	after[i].Sessions = slices.Insert(sessions, at, *next)
	if !slices.Contains(changed, number) {
		changed = append(changed, number)
	}
	return after, old, changed
}

// periodsOf sorts summaries into periods, oldest first.
func periodsOf(summaries []SessionSummary) []Period {
	summaries = slices.Clone(summaries)
	slices.SortFunc(summaries, SessionSummary.compare)
	var periods []Period
	for _, s := range summaries {
		n := PeriodOf(s.StartedAt)
		if last := len(periods) - 1; last < 0 || periods[last].Number != n {
			periods = append(periods, Period{Number: n})
		}
		p := &periods[len(periods)-1]
		p.Sessions = append(p.Sessions, s)
	}
	return periods
}

// Latest gives the periods that [Record.Periods] asks for of all there are,
// oldest first: the latest ones, until they hold one more session that counts
// for every tier than an estimate reads, and those of the numbers; and whether
// these are all. A store may give more.
func Latest(all []Period, numbers ...int) (some []Period, whole bool) {
	said := 0
	for _, p := range slices.Backward(all) {
		if said <= estimate.Window || slices.Contains(numbers, p.Number) {
			some = append(some, p)
		}
		said += p.Said()
	}
	slices.Reverse(some)
	return some, len(some) == len(all)
}
