package calc

import (
	"fringework/domain"
	"fringework/domain/advice"
	"fringework/domain/estimate"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

var progressOf = define[progressIn, ProgressOut]("progress",
	"Assesses a student's sessions at a skill: rate, trend, forecast for the next step, and reasons for attention with evidence and advice. With walk, also what was known after each session.",
	`{"sessions":[{"day":0,"balls":30,"inside":16},{"day":3,"balls":30,"inside":18},{"day":5,"balls":28,"inside":15},{"day":8,"balls":30,"inside":19}],`+
		`"tier":{"run":6,"holed":0,"radius_m":1.8},"balls_per_test":25,"as_of_day":9,"sessions_per_week":3,"walk":true}`, answerProgress)

// progressIn is the input of progress. All but the sessions is optional; a tier
// needs balls_per_test.
type progressIn struct {
	Sessions *[]sessionIn `json:"sessions" validate:"required"`
	// Tier is the step that comes next.
	Tier *progressTierIn `json:"tier"`
	// BallsPerTest is how many balls a test has; needed with a tier.
	BallsPerTest *int `json:"balls_per_test"`
	// RadiusM of the circle that the sessions are about; by default the tier's.
	RadiusM *float64 `json:"radius_m"`
	// AsOfDay is the day to judge on; that of the last session by default.
	AsOfDay *float64 `json:"as_of_day"`
	// SessionsPerWeek is the pace by which sessions are turned into dates; 0 takes the
	// student's own.
	SessionsPerWeek float64 `json:"sessions_per_week"`
	// Prior is what was known before the first session.
	Prior *priorIn `json:"prior"`
	// Learned is what an academy's students teach, as in the progress of one of
	// them.
	Learned *learnedIn `json:"learned"`
	// Walk asks for what was known after each session as well.
	Walk bool `json:"walk"`
	// Passed are the tiers passed so far, and BestRun is the longest run in the
	// tier's circle: what advice must not fall behind.
	Passed  []tierIn `json:"passed"`
	BestRun *fromIn  `json:"best_run"`
	// StartDate is the date of day 0, YYYY-MM-DD, so that sentences can name
	// dates; Metric writes their lengths in metres instead of feet.
	StartDate string `json:"start_date" format:"date"`
	Metric    bool   `json:"metric"`
}

// progressTierIn is a tier whose radius is optional; with it the advice names
// circles.
type progressTierIn struct {
	Run *int `json:"run" validate:"required"`
	// Holed is how many of the balls in a row must be holed.
	Holed   *int     `json:"holed" validate:"required"`
	RadiusM *float64 `json:"radius_m"`
}

// ProgressOut is the answer of progress.
type ProgressOut struct {
	// Rate is the level now, NextSession what the next session will bring, and
	// Trend the change from session to session.
	Rate        RateOut    `json:"rate"`
	NextSession NextOut    `json:"next_session"`
	Trend       TrendOut   `json:"trend"`
	DayForm     DayFormOut `json:"day_form"`
	// Slow says that a gain worth having is improbable, and a small one likely.
	Slow bool `json:"slow"`
	// Forecast is null without a tier.
	Forecast *ForecastOut `json:"forecast"`
	// Stalls are the reasons for attention, most pressing first.
	Stalls    []StallOut   `json:"stalls"`
	Undecided UndecidedOut `json:"undecided"`
	// History is there when walk was true.
	History []StatusOut `json:"history,omitempty"`
}

// TrendOut is the change of the rate in logits a session.
type TrendOut struct {
	// Slope is the change in logits from one session to the next.
	Slope      float64    `json:"slope"`
	Interval80 [2]float64 `json:"interval80"`
	// PImproving is the probability that the rate rises.
	PImproving float64 `json:"p_improving"`
	// Text is the change from the first to the last session in words.
	Text string `json:"text"`
	// Sessions it rests on.
	Sessions int `json:"sessions"`
}

// ForecastOut says when the tier may be passed. Sessions and days beyond 200
// sessions are null.
type ForecastOut struct {
	// NextSession is the probability of passing the step in the next session.
	NextSession float64 `json:"next_session"`
	// Within is the probability within some numbers of sessions.
	Within WithinOut `json:"within"`
	// MedianSessions is the number of sessions by which it is passed with even odds.
	MedianSessions *float64 `json:"median_sessions"`
	// Range80Sessions holds the number of sessions with a probability of 80 %.
	Range80Sessions [2]*float64 `json:"range80_sessions"`
	// Range80Days holds the number of days with a probability of 80 %.
	Range80Days [2]*float64 `json:"range80_days"`
}

// WithinOut is a probability for each of three numbers of sessions.
type WithinOut struct {
	// Four is the probability within four sessions.
	Four float64 `json:"4"`
	// Eight is the probability within eight sessions.
	Eight float64 `json:"8"`
	// Twelve is the probability within twelve sessions.
	Twelve float64 `json:"12"`
}

// StallOut is a reason for attention with its evidence.
type StallOut struct {
	Reason string `json:"reason"`
	// SinceSession is the session from which the state holds; RaisedSession
	// is the one after which the flag went up.
	SinceSession  int     `json:"since_session"`
	RaisedSession int     `json:"raised_session"`
	Probability   float64 `json:"probability"`
	Evidence      string  `json:"evidence"`
	Advice        string  `json:"advice"`
	// Reliability says how often a flag of that kind is right; empty for what is
	// counted, not inferred.
	Reliability string `json:"reliability"`
}

// UndecidedOut says that the data cannot tell yet whether the rate rises.
type UndecidedOut struct {
	// Applies is whether that is so.
	Applies bool `json:"applies"`
	// MoreSessions is about how many more it takes to tell.
	MoreSessions int `json:"more_sessions"`
	// Sentence says it in words.
	Sentence string `json:"sentence"`
}

// StatusOut is what holds after a session.
type StatusOut struct {
	// Session is the session, from 1.
	Session int `json:"session"`
	// Reasons are the reasons for attention after it.
	Reasons []string `json:"reasons"`
	// Undecided is whether the data could not tell then.
	Undecided bool `json:"undecided"`
}

func answerProgress(in progressIn, p *domain.Problems) (any, error) {
	e, asOf := in.read(p)
	estimate.CheckDay(p, "/as_of_day", asOf)
	if e.Check(p, ""); in.Prior != nil && e.Prior == (estimate.Prior{}) {
		e.Prior.Check(p, "/prior") // zeros given, not left out
	}
	s := in.state(e, p)
	taught, form := in.Learned.read(p)
	if len(p.Fields()) > 0 {
		return nil, nil
	}
	s.Assessment = estimate.Assess(e).Under(taught, form)
	out := progressOut(e, s, asOf, in.Metric)
	if in.Walk {
		out.History = make([]StatusOut, len(e.Sessions))
		for i, s := range advice.Walk(e) {
			out.History[i] = StatusOut{Session: s.Session, Reasons: []string{}, Undecided: s.Undecided}
			for _, r := range s.Reasons {
				out.History[i].Reasons = append(out.History[i].Reasons, string(r))
			}
		}
	}
	return out, nil
}

func (in progressIn) read(p *domain.Problems) (e estimate.Evidence, asOf float64) {
	e = estimate.Evidence{
		Sessions: readSessions(in.Sessions, p), Prior: in.Prior.read(p), SessionsPerWeek: in.SessionsPerWeek,
	}
	if in.Tier != nil {
		e.Tier = &streak.Tier{Run: need(p, "/tier/run", in.Tier.Run, streak.MaxRun), Holed: need(p, "/tier/holed", in.Tier.Holed)}
		if in.Tier.RadiusM != nil {
			e.Tier.Radius = circleRadius(p, "/tier/radius_m", in.Tier.RadiusM)
			e.Radius = e.Tier.Radius
		}
		e.BallsPerTest = need(p, "/balls_per_test", in.BallsPerTest)
	}
	if in.RadiusM != nil {
		radius := circleRadius(p, "/radius_m", in.RadiusM)
		if e.Radius != 0 && radius != e.Radius {
			p.Add("/radius_m", "is %v m, and the tier's is %v m; give one", radius.Metres(), e.Radius.Metres())
		}
		e.Radius = radius
	}
	switch n := len(e.Sessions); {
	case in.AsOfDay != nil:
		asOf = *in.AsOfDay
	case n > 0:
		asOf = e.Sessions[n-1].Day
	}
	if in.StartDate != "" {
		start, err := domain.ParseDate(in.StartDate)
		if err != nil {
			p.Add("/start_date", "%v", err)
		}
		e.Origin = start
	}
	return e, asOf
}

// state is what is known of the student besides the evidence.
func (in progressIn) state(e estimate.Evidence, p *domain.Problems) (s progress.State) {
	for i, t := range most(p, "/passed", "tiers", in.Passed, streak.MaxTiers) {
		tier := t.read(p, at("/passed", i))
		s.Ladder.Tiers = append(s.Ladder.Tiers, tier)
		s.Tiers = append(s.Tiers, progress.TierRecord{Tier: tier, First: &progress.Hit{}})
	}
	s.Held = len(s.Ladder.Tiers)
	if e.Tier == nil {
		return s
	}
	s.Ladder.Tiers = append(s.Ladder.Tiers, *e.Tier)
	record := progress.TierRecord{Tier: *e.Tier}
	if in.BestRun != nil {
		record.Best = streak.Run{Length: need(p, "/best_run/run", in.BestRun.Run), Holed: need(p, "/best_run/holed", in.BestRun.Holed)}
	}
	s.Tiers = append(s.Tiers, record)
	return s
}

// progressOut judges the evidence as of a day.
func progressOut(e estimate.Evidence, s progress.State, asOf float64, metric bool) ProgressOut {
	a := s.Assessment
	s.Recent = progress.RecentOf(e.Sessions)
	out := ProgressOut{
		Rate: rateOut(a.Rate), NextSession: nextOut(a.Next), DayForm: dayFormOut(a.Form), Slow: a.Slow,
		Trend:     TrendOut{Slope: a.Trend.Slope, Interval80: pair(a.Trend.Interval80), PImproving: a.Trend.Improving, Sessions: a.Trend.Sessions, Text: advice.Trend(advice.Reader{Metric: metric}, s)},
		Stalls:    []StallOut{},
		Undecided: UndecidedOut{Applies: a.Undecided.Applies, MoreSessions: a.Undecided.MoreSessions, Sentence: advice.Undecided(advice.Reader{Metric: metric}, s)},
	}
	if f := a.Forecast; f != nil {
		out.Forecast = &ForecastOut{
			NextSession:     f.NextSession,
			Within:          WithinOut{f.Within[0], f.Within[1], f.Within[2]},
			MedianSessions:  beyond(f.MedianSessions, f.MedianSessions),
			Range80Sessions: [2]*float64{beyond(f.Range80Sessions.Lo, f.Range80Sessions.Lo), beyond(f.Range80Sessions.Hi, f.Range80Sessions.Hi)},
			Range80Days:     [2]*float64{beyond(f.Range80Sessions.Lo, f.Range80Days.Lo), beyond(f.Range80Sessions.Hi, f.Range80Days.Hi)},
		}
	}
	for _, s := range advice.Weigh(advice.PracticeOf(e, asOf), []progress.State{s}) {
		evidence, words := s.Words(advice.Reader{Metric: metric})
		out.Stalls = append(out.Stalls, StallOut{
			Reason: string(s.Reason), SinceSession: s.SinceSession, RaisedSession: s.RaisedSession,
			Probability: s.Probability, Evidence: evidence, Advice: words, Reliability: s.Reliability(),
		})
	}
	return out
}

// beyond is x, or nil when the number of sessions it belongs to is 0 for
// beyond the horizon.
func beyond(sessions, x float64) *float64 { return finiteIf(sessions > 0, x) }
