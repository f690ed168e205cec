package estimate

import "math"

// Assess judges the evidence as of the last session. It expects evidence that
// passed [Evidence.Check], reads the last Window sessions and is a pure function
// of them: the hysteresis of its flags is that of walking through the window.
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
	w.raise(&a)
	if w.undecided() {
		a.Undecided = w.outlook(a.Rate)
	}
	return a
}

// Walk gives the status after each session, judged on the sessions up to it
// alone.
func Walk(e Evidence) []Status {
	history := make([]Status, len(e.Sessions))
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
		w.take(i)
		history[i] = w.note(i)
	}
	w.filter.free()
	for i := whole; i < len(e.Sessions); i++ {
		part.Sessions = e.Sessions[:i+1]
		w := startWatch(part)
		for j := range w.sessions {
			w.take(j)
		}
		history[i] = w.note(i)
		w.filter.free()
	}
	return history
}

func (w *watch) note(i int) Status {
	return Status{
		Session: i + 1, Slipping: w.slipping.on, Flat: w.flat.on, Overreached: w.overreached.on, Outgrown: w.outgrown.on,
		Near:      w.attain != nil && w.filter.within(w.attain, Horizons[0]) >= likely,
		Undecided: w.undecided(),
	}
}

// watch is a walk through the window.
type watch struct {
	Evidence
	sessions []Observation // the window
	skipped  int           // sessions before it
	filter   *filter
	attain   *table // chance of attaining the tier in one session; nil without
	share    float64
	flags
}

func startWatch(e Evidence) *watch {
	w := &watch{Evidence: e, sessions: e.Sessions, filter: newFilter(e.Prior.orJeffreys())}
	if over := len(e.Sessions) - Window; over > 0 {
		w.skipped, w.sessions = over, e.Sessions[over:]
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

// undecided says whether the data cannot tell yet whether the student rises.
func (w *watch) undecided() bool {
	return !w.flat.on && !w.slipping.on && !w.filter.now.rises()
}

// paceSessions is how many sessions a student's own pace is taken from.
const paceSessions = 12

// pace is the days a session takes: the student's own mean over the last gaps
// between practised sessions, or the plan's.
func (w *watch) pace() float64 {
	var days []float64
	for _, s := range w.sessions {
		if s.Balls > 0 {
			days = append(days, s.Day)
		}
	}
	days = days[max(0, len(days)-paceSessions-1):]
	gaps := len(days) - 1
	switch {
	case gaps >= 3 && days[gaps] > days[0]:
		return (days[gaps] - days[0]) / float64(gaps)
	case w.SessionsPerWeek > 0:
		return 7 / w.SessionsPerWeek
	}
	return 7
}
