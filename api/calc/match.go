package calc

import (
	"fringework/domain"
	"fringework/domain/curriculum"
)

var match = define[matchIn, MatchOut]("match",
	"Deals a match that two or more play on the same cards: from its code, or from the shot, how many cards, the circle and a seed, which make a code. The same code deals the same cards everywhere, without a network. A session of the match names match_id, and logs a ball to each card, in their order, in a random block.",
	`{"kind":"pitch","cards":9,"own_circles":true,"seed":1}`, answerMatch)

// matchIn has to have a code, or else kind, cards and seed.
type matchIn struct {
	// Code is a match's code, as people type it.
	Code string `json:"code"`
	// Kind is the shot: chip_and_run, pitch, bunker_shot or lag_putt.
	Kind string `json:"kind"`
	// Cards is how many cards there are: 6, 9, 12 or 18.
	Cards int `json:"cards"`
	// OwnCircles says that each plays to a circle of their own, which each hits half the
	// time.
	OwnCircles bool `json:"own_circles"`
	// Seed chooses the cards, from 0 to 1073741823.
	Seed *int `json:"seed"`
}

// MatchOut is the answer of match.
type MatchOut struct {
	// Code is what the others type to deal the same cards.
	Code string `json:"code" example:"B000-001R"`
	// MatchID is what the session of a match names.
	MatchID domain.ID `json:"match_id" format:"uuid"`
	// Kind is the shot.
	Kind string `json:"kind" example:"pitch"`
	// OwnCircles says that each plays to a circle of their own.
	OwnCircles bool `json:"own_circles"`
	// CircleM is the radius in metres of the circle that all play to; null where each
	// plays to their own.
	CircleM *float64 `json:"circle_m"`
	// Cards are one ball each, in order.
	Cards []TaskOut `json:"cards"`
}

func answerMatch(in matchIn, p *domain.Problems) (any, error) {
	m := curriculum.Match{Kind: curriculum.SkillKind(in.Kind), Balls: in.Cards, Own: in.OwnCircles}
	switch {
	case in.Code != "":
		read, err := curriculum.ReadMatch(in.Code)
		if err != nil {
			p.Beside(domain.FieldsOf(err))
			return nil, nil
		}
		m = read
	case in.Seed == nil || *in.Seed < 0 || *in.Seed >= curriculum.MaxMatchSeed:
		p.Add("/seed", "is needed without a code: a whole number from 0 to %d", curriculum.MaxMatchSeed-1)
	default:
		m.Seed = uint32(*in.Seed)
	}
	if m.Check(p); len(p.Fields()) > 0 {
		return nil, nil
	}
	out := MatchOut{Code: m.Code(), MatchID: m.ID(), Kind: string(m.Kind), OwnCircles: m.Own}
	if !m.Own {
		circle := m.Circle().Metres()
		out.CircleM = &circle
	}
	for _, t := range m.Cards() {
		out.Cards = append(out.Cards, TaskOut{Lie: t.Lie, DistanceM: t.Distance.Metres(), Club: t.Club})
	}
	return out, nil
}
