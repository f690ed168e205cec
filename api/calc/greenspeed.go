package calc

import (
	"fringework/domain"
	"fringework/domain/greenside"
)

var greenSpeed = define[greenSpeedIn, GreenSpeedOut]("green-speed",
	"Tells the level reading and the slope of a green from one roll up it and one down: of a stimpmeter, or of a putt stroked alike whose roll on a level green of known speed is given as reference_ft and reference_stimp_ft.",
	`{"up_ft":7.5,"down_ft":11}`, answerGreenSpeed)

// greenSpeedIn is the input of green-speed.
type greenSpeedIn struct {
	// UpFt is how far a ball rolls uphill, in feet.
	UpFt *float64 `json:"up_ft" validate:"required"`
	// DownFt is how far the same roll goes downhill, in feet.
	DownFt *float64 `json:"down_ft" validate:"required"`
	// ReferenceFt and ReferenceStimpFt are for putts alone.
	ReferenceFt      *float64 `json:"reference_ft"`
	ReferenceStimpFt *float64 `json:"reference_stimp_ft"`
}

// GreenSpeedOut is the answer of green-speed.
type GreenSpeedOut struct {
	// LevelFt is what the stimpmeter would read on a level part, in feet.
	LevelFt float64 `json:"level_ft"`
	// SlopeDeg is how steeply the green rises along the shorter roll, in degrees.
	SlopeDeg float64 `json:"slope_deg"`
	// LevelPastM is how far past the hole, in metres, a ball may be going to stop on
	// the level and still fall in.
	LevelPastM float64 `json:"level_past_m"`
}

func answerGreenSpeed(in greenSpeedIn, p *domain.Problems) (any, error) {
	rolls := greenside.TwoRolls{UpFt: need(p, "/up_ft", in.UpFt), DownFt: need(p, "/down_ft", in.DownFt)}
	if in.ReferenceFt != nil || in.ReferenceStimpFt != nil {
		rolls.ReferenceFt = need(p, "/reference_ft", in.ReferenceFt)
		rolls.ReferenceStimpFt = need(p, "/reference_stimp_ft", in.ReferenceStimpFt)
	}
	if len(p.Fields()) > 0 {
		return nil, nil
	}
	g, err := greenside.GreenOf(rolls)
	if err != nil {
		return nil, relay(p, err)
	}
	level := greenside.Green{StimpFt: g.StimpFt}
	return GreenSpeedOut{LevelFt: g.StimpFt, SlopeDeg: g.SlopeDeg, LevelPastM: level.PastM()}, nil
}
