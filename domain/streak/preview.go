package streak

import (
	"fmt"
	"math"
)

// Session is what a ladder is previewed for: a session of so many balls that
// count, in one block, of whose balls inside a share is holed.
type Session struct {
	// Balls is from 1 to 5,000.
	Balls int
	// HoledShare of the balls inside, from 0 to 1.
	HoledShare float64
}

// PreviewRates are the inside rates that a ladder is previewed at: from a
// beginner's to what hardly anybody keeps up.
var PreviewRates = []float64{0.50, 0.55, 0.60, 0.65, 0.70, 0.75, 0.80, 0.85, 0.90, 0.95}

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
	Tier  Tier
	Rates []RatePreview
	// EvenRate is the inside rate that gives even odds in one session; NaN when
	// none does.
	EvenRate float64
	// Warning is a sentence for the author when almost nobody will finish the
	// tier; empty otherwise.
	Warning string
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
		p := TierPreview{Tier: t, EvenRate: math.NaN()}
		for _, rate := range PreviewRates {
			p.Rates = append(p.Rates, o.preview(t, s, rate))
		}
		if rate, ok := RateFor(t, s.HoledShare, s.Balls, 0.5); ok {
			p.EvenRate = rate
		}
		p.Warning = p.warn(s, o.preview(t, s, hardRate))
		out[i] = p
	}
	return out
}

func (o *Odds) preview(t Tier, s Session, rate float64) RatePreview {
	o.Prepare(t, Rates{In: rate * (1 - s.HoledShare), Holed: rate * s.HoledShare})
	p := RatePreview{Rate: rate, PerSession: o.Within(Run{}, s.Balls)}
	p.Sessions = 1 / p.PerSession
	return p
}

func (p TierPreview) warn(s Session, at RatePreview) string {
	if at.Sessions <= hardSessions {
		return ""
	}
	what := fmt.Sprintf("%d in a row inside %v", p.Tier.Run, p.Tier.Radius)
	if p.Tier.Holed > 0 {
		what += fmt.Sprintf(" with %d holed", p.Tier.Holed)
	}
	if math.IsInf(at.Sessions, 1) {
		return fmt.Sprintf("%s cannot be made in %d balls; shorten the run or plan more balls.", what, s.Balls)
	}
	text := fmt.Sprintf("%s: a student with %.0f %% inside needs about %.0f sessions of %d balls.", what, 100*at.Rate, at.Sessions, s.Balls)
	if !math.IsNaN(p.EvenRate) {
		text += fmt.Sprintf(" Even odds in one session take %.0f %% inside.", math.Ceil(100*p.EvenRate))
	}
	return text + " Almost nobody will finish it: shorten the run, widen the circle, or put a tier in between."
}
