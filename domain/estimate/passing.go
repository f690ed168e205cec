package estimate

import (
	"fringework/domain"
	"fringework/domain/streak"
)

// Passing is the chance, from 0 to 1, that a student as assessed passes a tier
// within a number of sessions that each offer so many balls for it. focus is the
// circle that the assessment is of, and sessions and balls are at least 1.
//
// The rate stays where it is, since the trend belongs to the tier that was
// assessed; what is not known of it, and the form of each day, are averaged over: see
// [SessionRate]. In another circle than the one in focus the rate is that of a scatter
// of each shape that balls may have ([greenside.Shapes]), by the weight it has before
// any ball is seen, and the holed balls are the same ones. As in [Forecast], a part of
// the chance is kept back for what no session can show.
func (a Assessment) Passing(t streak.Tier, focus domain.Length, balls, sessions int) float64 {
	return (1 - unforeseen) * a.SessionRate().Within(t, t.Radius.Metres()/focus.Metres(), sessions, balls)
}
