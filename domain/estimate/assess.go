package estimate

import (
	"math"
	"slices"
)

// Assess judges the evidence as of its day. It expects evidence that passed
// [Evidence.Check], reads the last Window sessions and is a pure function of
// them: the hysteresis of its flags is that of walking through the window.
func Assess(e Evidence) Assessment {
	w := startWatch(e)
	defer w.filter.free()
	for i := range w.sessions {
		w.take(i)
	}
	a := Assessment{Rate: RateOf(w.sessions, e.Prior), Trend: TrendOf(w.sessions)}
	if w.attain != nil {
		f := w.filter.forecast(w.attain, w.pace())
		a.Forecast = &f
	}
	for _, r := range w.standing() {
		a.Stalls = append(a.Stalls, w.stall(r, a))
	}
	if w.undecided() {
		a.Undecided = w.outlook(a.Rate)
	}
	return a
}

// Walk gives what stood after each session, judged on the sessions up to it
// alone, on the day of that session.
func Walk(e Evidence) []Verdict {
	history := make([]Verdict, len(e.Sessions))
	if len(history) == 0 {
		return history
	}
	// As long as the window holds everything, one walk through it serves all,
	// unless the share of holed balls has to be learned from the part alone.
	part := e
	whole := min(len(e.Sessions), Window-1)
	if e.Tier != nil && e.Tier.Holed > 0 {
		whole = 0
	}
	part.Sessions = e.Sessions[:whole]
	w := startWatch(part)
	for i := range whole {
		w.sessions = e.Sessions[:i+1]
		w.asOf = e.Sessions[i].Day
		w.take(i)
		history[i] = w.note(i)
	}
	w.filter.free()
	for i := whole; i < len(e.Sessions); i++ {
		part.Sessions = e.Sessions[:i+1]
		part.AsOf = e.Sessions[i].Day
		w := startWatch(part)
		for j := range w.sessions {
			w.take(j)
		}
		history[i] = w.note(i)
		w.filter.free()
	}
	return history
}

func (w *watch) note(i int) Verdict {
	return Verdict{Session: i + 1, Reasons: w.standing(), Undecided: w.undecided()}
}

// watch is a walk through the window.
type watch struct {
	Evidence
	sessions []Observation // the window
	skipped  int           // sessions before it
	asOf     float64
	filter   *filter
	attain   *table // chance of attaining the tier in one session; nil without
	share    float64
	flags
}

func startWatch(e Evidence) *watch {
	w := &watch{Evidence: e, sessions: e.Sessions, asOf: e.AsOf, filter: newFilter(e.Prior.orJeffreys())}
	if over := len(e.Sessions) - Window; over > 0 {
		w.skipped, w.sessions = over, e.Sessions[over:]
	}
	if n := len(w.sessions); n > 0 {
		w.asOf = math.Max(w.asOf, w.sessions[n-1].Day)
	}
	w.truncated = len(e.Sessions) >= Window
	if e.Tier != nil {
		w.share = holedShare(w.sessions)
		w.attain = chanceOf(*e.Tier, w.share, e.BallsPerTest)
	}
	return w
}

// holedShare is the share of the balls inside that are holed: the mean of its
// posterior under a prior worth two balls, one in ten of them holed.
func holedShare(sessions []Observation) float64 {
	inside, holed := 2.0, 0.2
	for _, s := range sessions {
		inside += float64(s.Inside)
		holed += float64(s.Holed)
	}
	return holed / inside
}

// take goes on to session i of the window.
func (w *watch) take(i int) {
	s := w.sessions[i]
	if s.Balls > 0 {
		w.filter.observe(s.Balls, s.Inside)
		next := math.NaN()
		if w.attain != nil {
			next = w.filter.mean(w.attain)
		}
		w.judge(w.filter.now, next, w.filter.sessions, s.Balls, i)
	}
	if s.Milestone {
		w.milestone()
	}
}

// standing lists the stalls that stand now.
func (w *watch) standing() []Reason {
	var out []Reason
	lapsed := w.lapsed()
	if lapsed {
		out = append(out, Lapsed)
	}
	ready := w.attain != nil && (w.flat.on || w.slipping.on) && w.filter.within(w.attain, Horizons[0]) >= likely
	if w.slipping.on && !ready {
		out = append(out, Slipping)
	}
	if w.flat.on && !ready && !lapsed {
		out = append(out, Flat)
	}
	if w.overreached.on && !ready {
		out = append(out, Overreached)
	}
	if w.outgrown.on {
		out = append(out, Outgrown)
	}
	return out
}

// undecided says whether the data cannot tell yet whether the student rises.
func (w *watch) undecided() bool {
	return !w.flat.on && !w.slipping.on && !w.filter.now.rises()
}

// gaps lists the days between practised sessions.
func (w *watch) gaps() (gaps []float64, last float64, practised int) {
	for _, s := range w.sessions {
		if s.Balls == 0 {
			continue
		}
		if practised > 0 {
			gaps = append(gaps, s.Day-last)
		}
		last = s.Day
		practised++
	}
	return gaps, last, practised
}

// gap is the student's own median number of days between practised sessions,
// the plan's pace where there are fewer than three gaps to go by, and 0 where
// there is neither.
func (w *watch) gap() float64 {
	gaps, _, _ := w.gaps()
	gaps = gaps[max(0, len(gaps)-habitSessions):]
	if len(gaps) < 3 {
		if w.SessionsPerWeek > 0 {
			return 7 / w.SessionsPerWeek
		}
		return 0
	}
	slices.Sort(gaps)
	return (gaps[(len(gaps)-1)/2] + gaps[len(gaps)/2]) / 2
}

// pace is the days a session takes: the student's own mean, or the plan's.
func (w *watch) pace() float64 {
	gaps, _, _ := w.gaps()
	gaps = gaps[max(0, len(gaps)-habitSessions):]
	sum := 0.0
	for _, g := range gaps {
		sum += g
	}
	switch {
	case len(gaps) >= 3 && sum > 0:
		return sum / float64(len(gaps))
	case w.SessionsPerWeek > 0:
		return 7 / w.SessionsPerWeek
	}
	return 7
}

// lapsed says whether the student has stopped practising, by the same measure
// as [Habit.Lapsed].
func (w *watch) lapsed() bool {
	_, last, practised := w.gaps()
	return practised > 0 && w.asOf-last >= math.Max(lapsedAtLeast, lapsedGaps*w.gap())
}

const (
	habitSessions = 12
	lapsedGaps    = 3
	lapsedAtLeast = 7
)
