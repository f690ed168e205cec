package greenside

import (
	"strconv"

	"fringework/domain"

	"gonum.org/v1/gonum/stat/distuv"
)

// MaxLeaves is the most leaves that are looked at.
const MaxLeaves = 1_000

// UpAndDown is what becomes of balls played to the green from one place.
type UpAndDown struct {
	// Chance is the probability of two strokes or fewer from there.
	Chance float64
	// Low and High bound it with probability 80 %, as if each ball had been putted out
	// once: wider than need be, and never narrower.
	Low, High float64
	// Strokes is the mean number to hole out.
	Strokes float64
	// Balls is how many leaves it rests on, Holed how many of them were holed.
	Balls, Holed int
}

// UpAndDownOf tells how often a student who leaves balls so far from the hole, in
// metres, gets down in two from there, and in how many strokes on average; 0 is a
// ball that was holed. The putts are those of a putter, on a level green.
//
// The bounds are Jeffreys' (L. D. Brown, T. T. Cai and A. DasGupta, Statistical
// Science 16 (2001) 101-133), with the sum of the chances to hole each putt for the
// count of successes. It refuses, with pointers into {"leaves_m"}, no leaves or more
// than MaxLeaves, and any that is no putt of up to MaxPutt.
func UpAndDownOf(leaves []float64, putter Putter) (UpAndDown, error) {
	var p domain.Problems
	if countOf(&p, "/leaves_m", len(leaves), MaxLeaves, "distances"); len(p.Fields()) > 0 {
		return UpAndDown{}, p.Err("up_and_down", "The chance cannot be told from these leaves.")
	}
	u, table := UpAndDown{Balls: len(leaves)}, putter.table()
	down := 0.0
	for i, leave := range leaves {
		switch {
		case leave == 0:
			u.Holed++
			down++
			u.Strokes++
		case inRange(&p, "/leaves_m/"+strconv.Itoa(i), leave, HoleRadius, MaxPutt, "m", "the distance left, 0 when holed, else"):
			down += putter.Holed(leave)
			u.Strokes += 1 + table.putts(leave).Expected
		}
	}
	if err := p.Err("up_and_down", "The chance cannot be told from these leaves."); err != nil {
		return UpAndDown{}, err
	}
	n := float64(len(leaves))
	rate := distuv.Beta{Alpha: down + 0.5, Beta: n - down + 0.5}
	u.Chance, u.Strokes = down/n, u.Strokes/n
	u.Low, u.High = min(rate.Quantile(0.1), u.Chance), max(rate.Quantile(0.9), u.Chance)
	return u, nil
}
