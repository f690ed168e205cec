package calc

import (
	"fringework/domain"
	"fringework/domain/estimate"
)

const maxPressureSessions = 1000

var pressure = define[pressureIn, PressureOut]("pressure",
	"Compares how often balls are inside late in a row with early in a row, allowing for the day's form, for warming up or tiring, and for sessions that stop at success. A ball is late if late_from or more balls in a row came before it.",
	`{"sessions":["11011101","0111110111"],"late_from":2}`, answerPressure)

// pressureIn is the input of pressure.
type pressureIn struct {
	// Sessions are texts of 1 (inside) and 0 (out), in the order struck.
	Sessions *[]*string `json:"sessions" validate:"required"`
	// LateFrom is the length of a run from which the next ball is late.
	LateFrom *int `json:"late_from" validate:"required"`
}

// PressureOut is the answer of pressure. Rates are null without such balls, and
// the comparison when the balls cannot tell.
type PressureOut struct {
	// EarlyRate is the share inside of the early balls; null without any.
	EarlyRate *float64 `json:"early_rate"`
	// LateRate is the share inside of the late balls; null without any.
	LateRate *float64 `json:"late_rate"`
	// Difference is late minus early with Bias removed.
	Difference *float64 `json:"difference"`
	// PValue is the probability of a drop as deep without pressure.
	PValue *float64 `json:"p_value"`
	// PValueTwoSided is that of a difference as large, drop or rise.
	PValueTwoSided *float64 `json:"p_value_two_sided"`
	// Bias is what the naive difference is without pressure: because of how
	// late balls are picked, unequal sessions, and warming up or tiring.
	Bias *float64 `json:"bias"`
	// EarlyBalls is how many balls were early in a run.
	EarlyBalls int `json:"early_balls"`
	// LateBalls is how many balls were late in a run.
	LateBalls int `json:"late_balls"`
}

func answerPressure(in pressureIn, p *domain.Problems) (any, error) {
	texts, lateFrom := need(p, "/sessions", in.Sessions), need(p, "/late_from", in.LateFrom, 1)
	texts = most(p, "/sessions", "sessions", texts, maxPressureSessions)
	sessions := make([][]bool, len(texts))
	for i, session := range texts {
		text := need(p, at("/sessions", i), session)
		sessions[i] = make([]bool, len(text))
		for j := range text {
			if sessions[i][j] = text[j] == '1'; text[j] != '1' && text[j] != '0' {
				p.Add(at("/sessions", i), "is neither 1 nor 0 at ball %d; write a session as a string of 1 (inside) and 0 (out)", j+1)
				break
			}
		}
	}
	got, err := estimate.PressureOf(sessions, lateFrom)
	return PressureOut{
		EarlyRate: finiteIf(got.EarlyBalls > 0, got.EarlyRate), EarlyBalls: got.EarlyBalls,
		LateRate: finiteIf(got.LateBalls > 0, got.LateRate), LateBalls: got.LateBalls,
		Difference: finiteIf(got.Tested, got.Difference), Bias: finiteIf(got.Tested, got.Bias),
		PValue: finiteIf(got.Tested, got.P), PValueTwoSided: finiteIf(got.Tested, got.TwoSided),
	}, relay(p, err)
}
