package estimate

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Gap is what a comparison of two rates finds of the first beside the second.
type Gap string

// The findings. GapOpen stands for as long as neither is sure enough.
const (
	GapLower  Gap = "lower"
	GapHigher Gap = "higher"
	GapOpen   Gap = "cannot_tell"
)

// Gaps lists them.
func Gaps() []Gap { return []Gap{GapLower, GapHigher, GapOpen} }

// gapOf reads a finding off an interval of a difference.
func gapOf(i Interval) Gap {
	switch {
	case i.Hi < 0:
		return GapLower
	case i.Lo > 0:
		return GapHigher
	}
	return GapOpen
}

// ColdDay is the first ball of a day at a skill, and the later ones of its session in
// the same circle.
type ColdDay struct {
	Inside bool
	// Later is at least 1, and LaterInside 0 … Later.
	Later, LaterInside int
}

// Cold compares first balls of the day with later ones.
type Cold struct {
	// Days is how many first balls there are, and Inside how many of them were inside.
	Days, Inside int
	// Interval80 is of the rate of first balls, by Jeffreys' prior.
	Interval80 Interval
	// Later are the later balls of the same days, and LaterRate their rate: the mean
	// over the days.
	Later     int
	LaterRate float64
	// Told says whether the rest means something: from twelve days on.
	Told bool
	// Difference is the rate of first balls less that of later ones, and Range80 holds
	// the true one with 80 %.
	Difference float64
	Range80    Interval
	// Finding asks for 95 %.
	Finding Gap
}

// leastColdDays is how many first balls it takes to compare them: with fewer the
// interval is wider than any difference that a coach would act on.
const leastColdDays = 12

// ColdOf compares the first ball of each day with the later ones of its session, day
// by day, so that the day's form and the circle are the same. The interval is that of
// A. Agresti and B. Caffo, Simple and effective confidence intervals for proportions
// and differences of proportions result from adding two successes and two failures,
// The American Statistician 54 (2000) 280-288 (reference from memory), with the later
// rate as the mean of days and Student's distribution of as many days. Of drawn students
// with form, and a rate that is 0 to 25 points lower at first, 76 to 80 % are in the
// range of 80 % after 12 to 60 days, and a gap is told of 5 to 6 % of those without
// one: "go test ./domain/estimate -run TestColdCovers -v -draws 2000".
func ColdOf(days []ColdDay) Cold {
	c := Cold{Days: len(days), Finding: GapOpen}
	variance := 0.0
	for _, d := range days {
		if d.Inside {
			c.Inside++
		}
		c.Later += d.Later
		c.LaterRate += float64(d.LaterInside) / float64(d.Later)
		share := float64(d.LaterInside+1) / float64(d.Later+2)
		variance += share * (1 - share) / float64(d.Later)
	}
	if c.Days == 0 {
		return c
	}
	n, inside := float64(c.Days), float64(c.Inside)
	c.LaterRate /= n
	c.Interval80 = betaRate(inside+0.5, n-inside+0.5, n).Interval80
	if c.Told = c.Days >= leastColdDays; !c.Told {
		return c
	}
	cold := (inside + 1) / (n + 2)
	sd := math.Sqrt(cold*(1-cold)/(n+2) + variance/n/n)
	c.Difference = inside/n - c.LaterRate
	around := func(level float64) Interval {
		half := sd * distuv.StudentsT{Sigma: 1, Nu: n - 1}.Quantile((1+level)/2)
		return Interval{max(-1, c.Difference-half), min(1, c.Difference+half)}
	}
	c.Range80, c.Finding = around(0.8), gapOf(around(0.95))
	return c
}
