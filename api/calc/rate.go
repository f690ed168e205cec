package calc

import (
	"math"
	"strconv"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/streak"
)

var rate = define[rateIn, RateNowOut]("rate",
	"Estimates the current rate of balls inside a circle, with intervals, from a number of sessions, and what the next session will bring. Balls that were judged in another circle count by what they say of this one.",
	`{"radius_m":0.91,"sessions":[{"day":0,"elsewhere":[{"radius_m":1.52,"balls":30,"inside":22}]},{"day":3,"balls":25,"inside":12},{"day":5,"balls":30,"inside":16}]}`, answerRate)

// rateIn is the input of rate.
type rateIn struct {
	Sessions *[]sessionIn `json:"sessions" validate:"required"`
	// RadiusM of the circle that the rate is about. It is needed only when balls
	// were judged elsewhere.
	RadiusM *float64 `json:"radius_m"`
	// Prior is optional; Jeffreys' by default.
	Prior *priorIn `json:"prior"`
	// Learned is what an academy's students teach, as in the progress of one of
	// them.
	Learned *learnedIn `json:"learned"`
}

// learnedIn is what an academy's students teach.
type learnedIn struct {
	// Prior is how the levels of the academy's students are spread.
	Prior *priorIn `json:"prior"`
	// Form are the probabilities of the kinds of form.
	Form []float64 `json:"form"`
}

// read gives what to read an assessment under.
func (l *learnedIn) read(p *domain.Problems) (prior estimate.Prior, form estimate.FormKinds) {
	if l == nil {
		return prior, form
	}
	if l.Prior != nil {
		prior = estimate.Prior{A: need(p, "/learned/prior/a", l.Prior.A, 1), B: need(p, "/learned/prior/b", l.Prior.B, 1)}
		prior.Check(p, "/learned/prior")
	}
	if l.Form == nil {
		return prior, form
	}
	if len(l.Form) != len(form) {
		p.Add("/learned/form", "has %d entries; give the %d probabilities of the kinds of form, or leave it out", len(l.Form), len(form))
		return prior, form
	}
	sum, before := 0.0, len(p.Fields())
	for i, x := range l.Form {
		if !(x >= 0 && x <= 1) {
			p.Add(at("/learned/form", i), "is %v; give a probability from 0 to 1", x)
		}
		sum += x
	}
	if len(p.Fields()) == before && math.Abs(sum-1) > 1e-6 {
		p.Add("/learned/form", "sums to %v; give probabilities that sum to 1", sum)
	}
	copy(form[:], l.Form)
	return prior, form
}

// sessionIn is one session; holed (of those inside), milestone (a tier was passed
// in it) and elsewhere are optional. Balls and inside may be left out when all
// were judged elsewhere.
type sessionIn struct {
	// Day is the day of the session, counted from any day.
	Day    *float64 `json:"day" validate:"required"`
	Balls  *int     `json:"balls"`
	Inside *int     `json:"inside"`
	Holed  int      `json:"holed"`
	// Milestone is true when a step was passed in it.
	Milestone bool `json:"milestone"`
	// Elsewhere are the balls judged in other circles, whatever came of them.
	Elsewhere []circleIn `json:"elsewhere"`
}

// circleIn is balls judged in one circle.
type circleIn struct {
	RadiusM *float64 `json:"radius_m" validate:"required"`
	Balls   *int     `json:"balls" validate:"required"`
	Inside  *int     `json:"inside" validate:"required"`
	Holed   int      `json:"holed"`
}

// priorIn is a beta distribution of rates.
type priorIn struct {
	// A is the first parameter of the beta distribution.
	A *float64 `json:"a" validate:"required"`
	// B is its second parameter.
	B *float64 `json:"b" validate:"required"`
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

// NextOut is the share inside that the next session will bring.
type NextOut struct {
	Mean       float64    `json:"mean"`
	Interval80 [2]float64 `json:"interval80"`
	// Balls that the session is taken to have.
	Balls int `json:"balls"`
}

// DayFormOut is how sessions differ from the level, in logits, and the share of
// it left at the next session.
type DayFormOut struct {
	// SD is the standard deviation from session to session, in logits.
	SD float64 `json:"sd"`
	// Memory is the share of the day's form left at the next session.
	Memory float64 `json:"memory"`
}

// RateNowOut is the answer of rate: the rate, and what comes next.
type RateNowOut struct {
	RateOut
	NextSession NextOut    `json:"next_session"`
	DayForm     DayFormOut `json:"day_form"`
}

func answerRate(in rateIn, p *domain.Problems) (any, error) {
	sessions := readSessions(in.Sessions, p)
	prior := in.Prior.read(p)
	e := estimate.Evidence{Sessions: sessions, Prior: prior}
	if in.RadiusM != nil {
		e.Radius = circleRadius(p, "/radius_m", in.RadiusM)
	}
	taught, form := in.Learned.read(p)
	if e.Check(p, ""); in.Prior != nil && prior == (estimate.Prior{}) {
		prior.Check(p, "/prior") // zeros given, not left out
	}
	if len(p.Fields()) > 0 {
		return nil, nil
	}
	a := estimate.Assess(e).Under(taught, form)
	return RateNowOut{rateOut(a.Rate), nextOut(a.Next), dayFormOut(a.Form)}, nil
}

func nextOut(n estimate.NextSession) NextOut {
	return NextOut{Mean: n.Mean, Interval80: pair(n.Interval80), Balls: n.Balls}
}

func dayFormOut(f estimate.DayForm) DayFormOut { return DayFormOut{SD: f.SD, Memory: f.Memory} }

// circleRadius reads the radius of a circle, which is not 0.
func circleRadius(p *domain.Problems, at string, given *float64) domain.Length {
	radius := metres(p, at, given)
	if given != nil && radius == 0 {
		p.Add(at, "is %[3]v m; give a radius from %[1]v to %[2]v", streak.MinRadius, streak.MaxRadius, *given)
	}
	return radius
}

func readSessions(in *[]sessionIn, p *domain.Problems) []estimate.Observation {
	given := need(p, "/sessions", in)
	given = most(p, "/sessions", "sessions", given, estimate.MaxSessions)
	sessions := make([]estimate.Observation, len(given))
	for i, s := range given {
		at := at("/sessions", i)
		day := 0.0 // stands in for one that is missing: the day of the session before
		if i > 0 {
			day = sessions[i-1].Day
		}
		sessions[i] = estimate.Observation{Day: need(p, at+"/day", s.Day, day), Holed: s.Holed, Milestone: s.Milestone}
		if s.Balls != nil || s.Inside != nil || len(s.Elsewhere) == 0 {
			sessions[i].Balls, sessions[i].Inside = need(p, at+"/balls", s.Balls, estimate.MaxBalls), need(p, at+"/inside", s.Inside, s.Holed)
		}
		for j, c := range s.Elsewhere {
			at := at + "/elsewhere/" + strconv.Itoa(j)
			sessions[i].Elsewhere = append(sessions[i].Elsewhere, estimate.Circle{
				Radius: circleRadius(p, at+"/radius_m", c.RadiusM),
				Balls:  need(p, at+"/balls", c.Balls, estimate.MaxBalls), Inside: need(p, at+"/inside", c.Inside, c.Holed), Holed: c.Holed,
			})
		}
	}
	return sessions
}

func (b *priorIn) read(p *domain.Problems) estimate.Prior {
	if b == nil {
		return estimate.Prior{}
	}
	return estimate.Prior{A: need(p, "/prior/a", b.A, 1), B: need(p, "/prior/b", b.B, 1)}
}

func rateOut(r estimate.Rate) RateOut {
	return RateOut{Mean: r.Mean, Interval80: pair(r.Interval80), Interval95: pair(r.Interval95), EffectiveBalls: r.EffectiveBalls, Beta: [2]float64{r.A, r.B}}
}

func pair(i estimate.Interval) [2]float64 { return [2]float64{i.Lo, i.Hi} }
