package curriculum

import "math"

// Pace is how many balls an hour a kind of block has, or places where each is played
// out: from Low to High.
type Pace struct{ Low, High float64 }

// UsualPace is the pace of a kind of block for as long as a student's own is not
// known: from one pile of balls 90 to 120 an hour, with a new place for every ball 40
// to 60, played out 25 to 35 places (common practice, no source).
func (k BlockKind) UsualPace() Pace {
	switch k {
	case Random:
		return Pace{40, 60}
	case Playout:
		return Pace{25, 35}
	}
	return Pace{90, 120}
}

// Middle is the middle of the range.
func (p Pace) Middle() float64 { return (p.Low + p.High) / 2 }

// BallsIn is how many balls so many minutes have room for at a pace in balls an hour,
// to the whole ball.
func BallsIn(minutes int, anHour float64) int {
	return int(math.Round(float64(minutes) * anHour / 60))
}
