package calc

import (
	"fringework/domain"
	"fringework/domain/streak"
)

// usualHoledShare is how many of the balls inside are holed when the input does
// not say: one in twenty-five, of the order of what is seen around practice
// greens (common practice, no source).
const usualHoledShare = 0.04

var ladder = define("ladder",
	"Previews a ladder: how long each step takes students who put 50 to 95 % of balls inside, with a warning if almost nobody will pass it.",
	`{"tiers":[{"run":4,"radius_m":2},{"run":6,"radius_m":1.5},{"run":7,"radius_m":1.5,"holed":2}],"balls":35,"holed_share":0.04}`,
	answerLadder)

type ladderIn struct {
	Tiers *[]tierIn `json:"tiers"`
	// Balls that count in a session, in one block.
	Balls *int `json:"balls"`
	// HoledShare is how many of the balls inside are holed.
	HoledShare *float64 `json:"holed_share"`
}

// LadderOut is the answer of ladder.
type LadderOut struct {
	Tiers []TierPreviewOut `json:"tiers"`
}

// TierPreviewOut is how long one tier takes.
type TierPreviewOut struct {
	Run     int              `json:"run"`
	RadiusM float64          `json:"radius_m"`
	Holed   int              `json:"holed"`
	Rates   []RatePreviewOut `json:"rates"`
	// EvenRate is the inside rate that gives even odds in one session; null
	// when none does.
	EvenRate *float64 `json:"even_rate"`
	// Warning is a sentence if almost nobody will pass the tier; null
	// otherwise.
	Warning *string `json:"warning"`
}

// RatePreviewOut is how long a tier takes at one inside rate.
type RatePreviewOut struct {
	Rate       float64 `json:"rate"`
	PerSession float64 `json:"per_session"`
	// Sessions is the expected number; null when the tier cannot be passed.
	Sessions *float64 `json:"sessions"`
}

func answerLadder(in ladderIn, p *domain.Problems) (any, error) {
	tiersIn, balls := need(p, "/tiers", in.Tiers), need(p, "/balls", in.Balls)
	if !most(p, "/tiers", "tiers", len(tiersIn), streak.MaxTiers) {
		return nil, nil
	}
	l := streak.Ladder{}
	for i, t := range tiersIn {
		l.Tiers = append(l.Tiers, t.read(p, at("/tiers", i)))
	}
	share := usualHoledShare
	if in.HoledShare != nil {
		share = *in.HoledShare
	}
	if !(share >= 0 && share <= 1) {
		p.Add("/holed_share", "is %v; give a share from 0 to 1", share)
	}
	if in.Balls != nil && (balls < 1 || balls > 5000) {
		p.Add("/balls", "is %d; give 1 to 5000 balls a session", balls)
	}
	if len(p.Fields()) > 0 {
		return nil, nil
	}
	if l.Check(p, "/tiers"); len(p.Fields()) > 0 {
		return nil, nil
	}
	var out LadderOut
	for _, t := range l.Preview(streak.Session{Balls: balls, HoledShare: share}) {
		out.Tiers = append(out.Tiers, previewOut(t))
	}
	return out, nil
}

func previewOut(t streak.TierPreview) TierPreviewOut {
	out := TierPreviewOut{Run: t.Tier.Run, RadiusM: t.Tier.Radius.Metres(), Holed: t.Tier.Holed, EvenRate: finite(t.EvenRate)}
	for _, r := range t.Rates {
		out.Rates = append(out.Rates, RatePreviewOut{Rate: r.Rate, PerSession: r.PerSession, Sessions: finite(r.Sessions)})
	}
	if t.Warning != "" {
		out.Warning = &t.Warning
	}
	return out
}
