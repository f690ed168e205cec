package calc

import (
	"fringework/domain"
	"fringework/domain/greenside"
)

var strokesGained = define[strokesGainedIn, StrokesGainedOut]("strokes-gained",
	"What each shot gained on a published baseline of strokes to hole out, which is named, and all of them together.",
	`{"shots":[{"lie":"rough","distance_m":18,"next":{"lie":"green","distance_m":1.8}},{"lie":"green","distance_m":1.8,"holed":true}]}`, answerStrokesGained)

var upAndDown = define[upAndDownIn, UpAndDownOut]("up-and-down",
	"The chance of two strokes or fewer from where balls are left at such distances, 0 for a holed one, and the strokes to expect, for a player who holes half of the putts from half_m.",
	`{"leaves_m":[1.1,0,2.6,3.4,0.8],"half_m":1.6}`, answerUpAndDown)

// maxPlayed bounds the shots of strokes-gained.
const maxPlayed = 2_000

// placeIn is where a ball lies.
type placeIn struct {
	// Lie is what the ball lies in or on.
	Lie       *string  `json:"lie" validate:"required"`
	DistanceM *float64 `json:"distance_m" validate:"required"`
}

func (in placeIn) read(p *domain.Problems, pointer string) greenside.Place {
	return greenside.Place{
		Lie:       greenside.Lie(need(p, pointer+"/lie", in.Lie)),
		DistanceM: need(p, pointer+"/distance_m", in.DistanceM),
	}
}

// playedIn is one shot: where from, and where it stopped.
type playedIn struct {
	placeIn
	// Next is where the ball stopped, unless it was holed.
	Next *placeIn `json:"next"`
	// Holed is true when the shot was holed.
	Holed bool `json:"holed"`
}

// strokesGainedIn is the input of strokes-gained.
type strokesGainedIn struct {
	// Shots are the shots, in any order.
	Shots *[]playedIn `json:"shots" validate:"required"`
}

// StrokesGainedOut is the answer of strokes-gained.
type StrokesGainedOut struct {
	// Shots are the shots, in the order given.
	Shots []GainedOut `json:"shots"`
	// Sum is the strokes gained by all of them.
	Sum float64 `json:"sum"`
	// Baseline names the players compared with, and the source.
	Baseline string `json:"baseline"`
}

// GainedOut is what a shot gained: before − after − 1.
type GainedOut struct {
	// Before and After are the strokes to hole out that the baseline takes.
	Before float64 `json:"before"`
	After  float64 `json:"after"`
	// Gained is the strokes gained by the shot.
	Gained float64 `json:"gained"`
}

func answerStrokesGained(in strokesGainedIn, p *domain.Problems) (any, error) {
	shotsIn := most(p, "/shots", "shots", need(p, "/shots", in.Shots), maxPlayed)
	if in.Shots != nil && len(*in.Shots) == 0 {
		p.Add("/shots", "is empty; give 1 to %d shots", maxPlayed)
	}
	shots := make([]greenside.Played, len(shotsIn))
	for i, s := range shotsIn {
		shots[i] = s.read(p, at("/shots", i))
	}
	each, sum, err := greenside.StrokesGained(shots)
	if err != nil || len(p.Fields()) > 0 {
		return nil, relayRest(p, err)
	}
	out := StrokesGainedOut{Shots: make([]GainedOut, len(each)), Sum: sum, Baseline: greenside.Baseline}
	for i, g := range each {
		out.Shots[i] = GainedOut{Before: g.Before, After: g.After, Gained: g.Strokes}
	}
	return out, nil
}

func (in playedIn) read(p *domain.Problems, pointer string) greenside.Played {
	s := greenside.Played{From: in.placeIn.read(p, pointer), Holed: in.Holed}
	switch next := pointer + "/next"; {
	case in.Holed && in.Next != nil:
		p.Add(next, "is given for a holed ball; remove next, or holed")
	case in.Next != nil:
		s.Next = in.Next.read(p, next)
	case !in.Holed:
		p.Add(next, "is missing; give the lie and the distance where the ball stopped, or \"holed\": true")
	}
	return s
}

// upAndDownIn is the input of up-and-down.
type upAndDownIn struct {
	// LeavesM are the distances left to the hole after the shots, in metres; 0 for a holed
	// one.
	LeavesM *[]float64 `json:"leaves_m" validate:"required"`
	HalfM   *float64   `json:"half_m"`
}

// UpAndDownOut is the answer of up-and-down, for level and straight putts.
type UpAndDownOut struct {
	// Probability is the chance to get up and down: to be in the hole in two.
	Probability float64 `json:"probability"`
	// Interval80 bounds it with probability 80 %, as if each ball had been putted out.
	Interval80 [2]float64 `json:"interval80"`
	// ExpectedStrokes is the mean number of strokes, the shot included.
	ExpectedStrokes float64 `json:"expected_strokes"`
	Balls           int     `json:"balls"`
	Holed           int     `json:"holed"`
	HalfM           float64 `json:"half_m"`
}

func answerUpAndDown(in upAndDownIn, p *domain.Problems) (any, error) {
	leaves, half := need(p, "/leaves_m", in.LeavesM), halfOr(p, in.HalfM)
	putter := greenside.PutterOf(greenside.ClubHalf) // whichever: the leaves are wrong or right with any
	if len(p.Fields()) == 0 {
		putter = greenside.PutterOf(half)
	}
	u, err := greenside.UpAndDownOf(leaves, putter)
	if err != nil || len(p.Fields()) > 0 {
		return nil, relayRest(p, err)
	}
	return UpAndDownOut{
		Probability: u.Chance, Interval80: [2]float64{u.Low, u.High}, ExpectedStrokes: u.Strokes,
		Balls: u.Balls, Holed: u.Holed, HalfM: half,
	}, nil
}
