package progress

// Assess judges the evidence. It expects evidence that passed Check.
func Assess(e Evidence) Assessment {
	sessions := e.Sessions
	if len(sessions) > Window {
		sessions = sessions[len(sessions)-Window:]
	}
	a := Assessment{
		Rate:      RateOf(sessions, e.Prior),
		Trend:     TrendOf(sessions),
		Undecided: Undecided{Standing: true, MoreSessions: 1, Sentence: "Too early to tell."},
	}
	if e.Tier != nil {
		f := forecastFromRate(a.Rate, e.Tier.Run, e.BallsPerTest, pace(sessions, e.SessionsPerWeek))
		a.Forecast = &f
	}
	return a
}

// Walk gives what stood after each session, judged on the sessions up to it
// alone.
func Walk(e Evidence) []Standing {
	history := make([]Standing, len(e.Sessions))
	for i := range e.Sessions {
		part := e
		part.Sessions = e.Sessions[:i+1]
		part.AsOf = e.Sessions[i].Day
		a := Assess(part)
		history[i] = Standing{Session: i + 1, Undecided: a.Undecided.Standing}
		for _, s := range a.Stalls {
			history[i].Reasons = append(history[i].Reasons, s.Reason)
		}
	}
	return history
}

// pace is the days between sessions: the student's own over the last weeks,
// the plan's when there is none.
func pace(sessions []Session, perWeek float64) float64 {
	first, last, n := 0.0, 0.0, 0
	for _, s := range sessions {
		if s.Balls == 0 {
			continue
		}
		if n == 0 {
			first = s.Day
		}
		last = s.Day
		n++
	}
	if n >= 3 && last > first {
		return (last - first) / float64(n-1)
	}
	if perWeek > 0 {
		return 7 / perWeek
	}
	return 7
}
