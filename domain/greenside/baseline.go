package greenside

import (
	"bytes"
	_ "embed"
	"encoding/csv"
	"slices"
	"strconv"

	"fringework/domain"

	"gonum.org/v1/gonum/interp"
)

// Baseline names the players against whom strokes are gained, and where their figures
// are from; baseline.csv says how they came here.
const Baseline = "tour professionals, 2003 to 2010 (Broadie 2012, Table 9; putts Broadie 2014); approximate figures"

//go:embed baseline.csv
var baselineFile []byte

// Bounds of distances of the baseline in metres: the shortest of all, the longest off
// the green (100 yd) and on it (90 ft).
const (
	MinShotM     = 0.05
	MaxOffGreenM = 100 * yardM
	MaxOnGreenM  = 90 * footM
)

const yardM = 3 * footM

// tableFromM is where the table begins off the green, in metres.
const tableFromM = 10 * yardM

// baseline is strokes to hole out by lie and distance in metres.
var baseline = readBaseline(baselineFile)

func readBaseline(file []byte) map[Lie]*interp.PiecewiseLinear {
	read := csv.NewReader(bytes.NewReader(file))
	read.Comment = '#'
	rows, err := read.ReadAll()
	sound(err)
	unit := map[string]float64{"yd": yardM, "ft": footM}
	at, strokes := map[Lie][]float64{}, map[Lie][]float64{}
	for _, row := range rows[1:] {
		lie := Lie(row[0])
		at[lie] = append(at[lie], number(row[1])*unit[row[2]])
		strokes[lie] = append(strokes[lie], number(row[3]))
	}
	table := map[Lie]*interp.PiecewiseLinear{}
	for lie := range at {
		table[lie] = new(interp.PiecewiseLinear)
		sound(table[lie].Fit(at[lie], strokes[lie]))
	}
	return table
}

func number(text string) float64 {
	x, err := strconv.ParseFloat(text, 64)
	sound(err)
	return x
}

// sound stops a program whose own file cannot be read.
func sound(err error) {
	if err != nil {
		panic(err)
	}
}

// Place is where a ball lies: on what, and how far from the hole.
type Place struct {
	Lie Lie
	// DistanceM is in metres, MinShotM to MaxOffGreenM, on the green to MaxOnGreenM.
	DistanceM float64
}

// Lies are those of the baseline.
func Lies() []Lie { return []Lie{Fairway, Rough, Sand, OnGreen} }

// ExpectedStrokes is how many strokes the baseline takes from a place to hole out. The
// place must be within the limits.
//
// Between the distances of the table it is on the straight line. Nearer than 10 yd
// from off the green, where the table has nothing, the lie costs as much more than a
// putt from there as it does at 10 yd (our choice).
func ExpectedStrokes(at Place) float64 {
	if at.Lie == OnGreen {
		return baseline[OnGreen].Predict(at.DistanceM)
	}
	if at.DistanceM >= tableFromM {
		return baseline[at.Lie].Predict(at.DistanceM)
	}
	more := baseline[at.Lie].Predict(tableFromM) - baseline[OnGreen].Predict(tableFromM)
	return baseline[OnGreen].Predict(at.DistanceM) + more
}

func (at Place) check(p *domain.Problems, pointer string) {
	if !slices.Contains(Lies(), at.Lie) {
		p.Add(pointer+"/lie", "is %q; give fairway, rough, sand or green", string(at.Lie))
		return
	}
	farthest, what := MaxOffGreenM, "the distance to the hole"
	if at.Lie == OnGreen {
		farthest, what = MaxOnGreenM, "the distance of a putt"
	}
	inRange(p, pointer+"/distance_m", at.DistanceM, MinShotM, farthest, "m", what)
}

// Played is one stroke: from where, and to where.
type Played struct {
	From Place
	// Holed says that it went in; Next is where it stopped otherwise.
	Holed bool
	Next  Place
}

// Gained is what a stroke gained.
type Gained struct {
	// Before and After are the strokes that the baseline takes from where the ball lay
	// and from where it then lies; After is 0 when it was holed.
	Before, After float64
	// Strokes is Before less After less the one played: above 0 it was better than the
	// baseline.
	Strokes float64
}

// StrokesGained tells what each stroke gained on the baseline, and all together. It
// refuses, with pointers into {"shots"}, lies and distances that the baseline does
// not have.
//
// Source: M. Broadie, Assessing Golfer Performance on the PGA TOUR, Interfaces 42
// (2012) 146-165.
func StrokesGained(shots []Played) (each []Gained, sum float64, err error) {
	var p domain.Problems
	for i, s := range shots {
		at := "/shots/" + strconv.Itoa(i)
		s.From.check(&p, at)
		if !s.Holed {
			s.Next.check(&p, at+"/next")
		}
	}
	if err := p.Err("strokes_gained", "The strokes gained cannot be told of these shots."); err != nil {
		return nil, 0, err
	}
	each = make([]Gained, len(shots))
	for i, s := range shots {
		g := Gained{Before: ExpectedStrokes(s.From)}
		if !s.Holed {
			g.After = ExpectedStrokes(s.Next)
		}
		g.Strokes = g.Before - g.After - 1
		each[i], sum = g, sum+g.Strokes
	}
	return each, sum, nil
}
