package estimate

import (
	"math"

	"fringework/domain"
	"fringework/domain/streak"
)

// levelSlices is into how many equally likely parts a rate is cut to average over
// what is not known of it; more change the third decimal no more.
const levelSlices = 40

// Passing is the chance, from 0 to 1, that a student as assessed passes a tier
// within a number of sessions that each offer so many balls for it. focus is the
// circle that the assessment is of, and sessions and balls are at least 1.
//
// The rate stays where it is, since the trend belongs to the tier that was
// assessed; what is not known of it, and the form of each day, are averaged over.
// In another circle than the one in focus the rate is that of a scatter of each
// shape that balls may have ([greenside.Shapes]), by the weight it has before any
// ball is seen, and the holed balls are the same ones. As in [Forecast], a part of
// the chance is kept back for what no session can show.
func (a Assessment) Passing(t streak.Tier, focus domain.Length, balls, sessions int) float64 {
	levels := a.levels()
	if t.Radius == focus {
		return a.passing(t, a.HoledShare, levels, balls, sessions)
	}
	sum := 0.0
	for k, shape := range shapes {
		via := passageTo(k, focus, t.Radius, a.HoledShare)
		there := levels
		for i, point := range levels {
			there[i] = clamped(float64(via[point]))
		}
		mean := logistic(lowestLevel + fine*float64(via[pointOf(a.Rate.Mean)]))
		sum += shape.Weight * a.passing(t, math.Min(1, a.HoledShare*a.Rate.Mean/mean), there, balls, sessions)
	}
	return sum
}

// levels are equally likely levels, as points of a table.
func (a Assessment) levels() (found [levelSlices]int) {
	for i := range found {
		found[i] = pointOf(betaQuantile((float64(i)+0.5)/levelSlices, a.Rate.A, a.Rate.B))
	}
	return found
}

// passing is Passing at equally likely levels in the tier's own circle, where the
// given share of the balls inside is holed.
func (a Assessment) passing(t streak.Tier, share float64, levels [levelSlices]int, balls, sessions int) float64 {
	chance := a.Form.Kinds.mixed(chanceOf(t, share, balls))
	missed := 0.0
	for _, point := range levels {
		missed += math.Pow(1-math.Min(float64(chance[point]), 1), float64(sessions)) / levelSlices
	}
	return (1 - unforeseen) * (1 - missed)
}

// pointOf is the point of a table nearest to a rate.
func pointOf(rate float64) int {
	return clamped((logit(math.Min(math.Max(rate, 1e-6), 1-1e-6)) - lowestLevel) / fine)
}

// clamped is the point of a table nearest to a place on its scale.
func clamped(at float64) int { return min(max(int(at+0.5), 0), points-1) }
