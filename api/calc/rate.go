package calc

import (
	"fringework/domain"
	"fringework/domain/estimate"
)

var rate = define("rate",
	"Estimates the rate of balls inside as it stands after some sessions, with intervals; older sessions count less, by as much as predicts best.",
	`{"sessions":[{"day":0,"balls":30,"inside":18},{"day":3,"balls":25,"inside":16},{"day":5,"balls":30,"inside":21}]}`, answerRate)

type rateIn struct {
	Sessions *[]sessionIn `json:"sessions"`
	// Prior may be left out for Jeffreys'.
	Prior *priorIn `json:"prior"`
}

// sessionIn is one session; holed (of those inside) and milestone (a tier was
// attained in it) may be left out.
type sessionIn struct {
	Day       *float64 `json:"day"`
	Balls     *int     `json:"balls"`
	Inside    *int     `json:"inside"`
	Holed     int      `json:"holed"`
	Milestone bool     `json:"milestone"`
}

type priorIn struct {
	A *float64 `json:"a"`
	B *float64 `json:"b"`
}

// RateOut is the answer of rate.
type RateOut struct {
	Mean       float64    `json:"mean"`
	Interval80 [2]float64 `json:"interval80"`
	Interval95 [2]float64 `json:"interval95"`
	// EffectiveBalls is how many balls of today the evidence is worth.
	EffectiveBalls float64 `json:"effective_balls"`
	// Beta holds the parameters of the distribution.
	Beta [2]float64 `json:"beta"`
}

func answerRate(in rateIn, p *domain.Problems) (any, error) {
	sessions := readSessions(in.Sessions, p)
	prior := in.Prior.read(p)
	if len(p.Fields()) > 0 {
		return nil, nil
	}
	if estimate.CheckSessions(p, "/sessions", sessions); in.Prior != nil {
		prior.Check(p, "/prior")
	}
	if len(p.Fields()) > 0 {
		return nil, nil
	}
	return rateOut(estimate.RateOf(sessions, prior)), nil
}

func readSessions(in *[]sessionIn, p *domain.Problems) []estimate.Observation {
	given := need(p, "/sessions", in)
	if !most(p, "/sessions", "sessions", len(given), estimate.MaxSessions) {
		return nil
	}
	sessions := make([]estimate.Observation, len(given))
	for i, s := range given {
		at := at("/sessions", i)
		sessions[i] = estimate.Observation{
			Day: need(p, at+"/day", s.Day), Balls: need(p, at+"/balls", s.Balls), Inside: need(p, at+"/inside", s.Inside),
			Holed: s.Holed, Milestone: s.Milestone,
		}
	}
	return sessions
}

func (b *priorIn) read(p *domain.Problems) estimate.Prior {
	if b == nil {
		return estimate.Prior{}
	}
	return estimate.Prior{A: need(p, "/prior/a", b.A), B: need(p, "/prior/b", b.B)}
}

func rateOut(r estimate.Rate) RateOut {
	return RateOut{Mean: r.Mean, Interval80: pair(r.Interval80), Interval95: pair(r.Interval95), EffectiveBalls: r.EffectiveBalls, Beta: [2]float64{r.A, r.B}}
}

func pair(i estimate.Interval) [2]float64 { return [2]float64{i.Lo, i.Hi} }
