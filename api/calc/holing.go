package calc

import (
	"math"

	"fringework/domain"
	"fringework/domain/greenside"
)

var holing = define[holingIn, HolingOut]("holing",
	"What a distance left is worth: the chance to hole the putt, and the putts to expect, for a player who holes half of the putts from half_m.",
	`{"leave_m":1.8,"half_m":1.4}`, answerHoling)

// holingIn is the input of holing.
type holingIn struct {
	LeaveM *float64 `json:"leave_m" validate:"required"`
	// HalfM is from where the player holes half of the putts; without it a club
	// golfer's, who goes round in about 90.
	HalfM *float64 `json:"half_m"`
}

// HolingOut is the answer of holing, for level and straight putts.
type HolingOut struct {
	// Probability of holing the next putt.
	Probability float64 `json:"probability"`
	// ExpectedPutts is the mean number until the ball is in the hole.
	ExpectedPutts float64 `json:"expected_putts"`
	// ThreeOrMore is the probability of three putts or more.
	ThreeOrMore float64 `json:"three_or_more"`
	HalfM       float64 `json:"half_m"`
	// LineDegrees is the standard deviation of the direction of a putt, and Pace
	// that of its length as a share of the length aimed at.
	LineDegrees float64 `json:"line_degrees"`
	Pace        float64 `json:"pace"`
}

func answerHoling(in holingIn, p *domain.Problems) (any, error) {
	leave := need(p, "/leave_m", in.LeaveM)
	if in.LeaveM != nil && !(leave >= greenside.HoleRadius && leave <= greenside.MaxPutt) {
		p.Add("/leave_m", "is %v m; give the distance of a putt, %v to %v m from the middle of the hole", leave, greenside.HoleRadius, greenside.MaxPutt)
	}
	half := halfOr(p, in.HalfM)
	if len(p.Fields()) > 0 {
		return nil, nil
	}
	putter := greenside.PutterOf(half)
	putts := putter.Putts(leave)
	return HolingOut{
		Probability: putter.Holed(leave), ExpectedPutts: putts.Expected, ThreeOrMore: putts.ThreeOrMore,
		HalfM: half, LineDegrees: putter.Line * 180 / math.Pi, Pace: putter.Pace,
	}, nil
}

// halfOr reads from where a player holes half of the putts: a club golfer's unless
// given.
func halfOr(p *domain.Problems, given *float64) float64 {
	if given == nil {
		return greenside.ClubHalf
	}
	if !(*given >= greenside.MinHalf && *given <= greenside.MaxHalf) {
		p.Add("/half_m", "is %v m; give the distance from which half of the putts are holed, %v to %v m", *given, greenside.MinHalf, greenside.MaxHalf)
	}
	return *given
}
