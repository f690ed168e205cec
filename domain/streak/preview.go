package streak

import (
	"math"

	"fringework/domain"
)

// Session is what a ladder is previewed for: a session of so many balls that
// count, in one block.
type Session struct {
	// Balls is from 1 to 5,000.
	Balls int
	// HoledShare gives the share holed, from 0 to 1, of the balls inside a
	// radius.
	HoledShare func(radius domain.Length) float64
}

// PreviewRates are the inside rates that a ladder is previewed at: from a
// beginner's to what hardly anybody keeps up.
var PreviewRates = []float64{0.10, 0.20, 0.30, 0.40, 0.50, 0.60, 0.70, 0.80, 0.90, 0.95}

// RatePreview is what a tier takes at one inside rate.
type RatePreview struct {
	Rate float64
	// PerSession is the chance of passing the tier in one session, from 0 to 1.
	PerSession float64
	// Sessions is the expected number of sessions, +Inf when it never comes. A
	// run does not go on into the next session, so the sessions are independent
	// and their number is geometric: 1/PerSession.
	Sessions float64
}

// TierPreview is what a tier takes at each of PreviewRates.
type TierPreview struct {
	Tier Tier
	// HoledShare is the share holed of the balls inside that it was worked out
	// with.
	HoledShare float64
	Rates      []RatePreview
	// EvenRate is the inside rate that gives even odds in one session; NaN when
	// none does.
	EvenRate float64
	// Hard is what the tier takes at hardRate when almost nobody will finish it;
	// nil otherwise.
	Hard *RatePreview
}

// hardRate and hardSessions say when a tier is almost nobody's: a student who
// leaves four balls of five inside would need more than so many sessions, three
// months at three a week. Both are our choice.
const (
	hardRate     = 0.80
	hardSessions = 36
)

// Preview says what each tier of a ladder takes, every ball judged at that
// tier's own radius. Ladder and session are taken to be valid.
func (l Ladder) Preview(s Session) []TierPreview {
	var o Odds
	out := make([]TierPreview, len(l.Tiers))
	for i, t := range l.Tiers {
		p := TierPreview{Tier: t, HoledShare: s.HoledShare(t.Radius), EvenRate: math.NaN()}
		for _, rate := range PreviewRates {
			p.Rates = append(p.Rates, o.preview(p, s.Balls, rate))
		}
		if rate, ok := RateFor(t, p.HoledShare, s.Balls, 0.5); ok {
			p.EvenRate = rate
		}
		if at := o.preview(p, s.Balls, hardRate); at.Sessions > hardSessions {
			p.Hard = &at
		}
		out[i] = p
	}
	return out
}

func (o *Odds) preview(p TierPreview, balls int, rate float64) RatePreview {
	o.Prepare(p.Tier, Rates{In: rate * (1 - p.HoledShare), Holed: rate * p.HoledShare})
	chance := o.Within(Run{}, balls)
	return RatePreview{Rate: rate, PerSession: chance, Sessions: 1 / chance}
}
