package calc

import (
	"slices"

	"fringework/domain"
	"fringework/domain/greenside"
)

const (
	maxSpreadBalls = 5_000
	maxRadii       = 100
)

var spread = define[spreadIn, SpreadOut]("spread",
	"Estimates how balls scatter around the hole, from distances left and from balls judged at known radii: the chance of being inside a radius, and the radius for a chance.",
	`{"balls":[{"leave_m":1.4},{"radius_m":1.2,"inside":true},{"radius_m":1.2,"inside":false},{"leave_m":2.3}]}`, answerSpread)

// spreadIn is the input of spread.
type spreadIn struct {
	// Balls are the balls, measured or judged.
	Balls *[]restIn `json:"balls" validate:"required"`
	// RadiiM asks for further radii; optional.
	RadiiM []float64 `json:"radii_m"`
}

// restIn has a leave, or a radius and whether the ball was inside; with both
// the leave counts, and must agree.
type restIn struct {
	LeaveM *float64 `json:"leave_m"`
	// RadiusM is the radius at which the ball was judged, in metres.
	RadiusM *float64 `json:"radius_m"`
	// Inside is whether the ball stopped inside the radius.
	Inside *bool `json:"inside"`
}

// SpreadOut is the answer of spread. With all balls inside, or all out, there
// is no sigma, only a bound on one side.
type SpreadOut struct {
	// SigmaM is the standard deviation in every direction, in metres.
	SigmaM *float64 `json:"sigma_m"`
	// Interval80 bounds it with probability 80 %; without a sigma one of the
	// bounds is 0 or null.
	Interval80 [2]*float64 `json:"interval80"`
	// Inside is the probability of coming to rest within a radius in metres,
	// for the radii of the balls, those asked for, and some round ones.
	Inside byRadius[*float64] `json:"inside" swaggertype:"object,number"`
	// Inside80 bounds it with probability 80 %.
	Inside80 byRadius[[2]float64] `json:"inside80" swaggertype:"object"`
	// RadiusFor is the radius for a probability, in metres.
	RadiusFor RadiusForOut `json:"radius_for"`
	Balls     int          `json:"balls"`
	// Measured is how many of the balls have a distance left.
	Measured int `json:"measured"`
}

// RadiusForOut is a radius in metres for each of three probabilities.
type RadiusForOut struct {
	// Half is the radius inside which half of the balls stop.
	Half *float64 `json:"0.5"`
	// Seventy is the radius inside which seven in ten stop.
	Seventy *float64 `json:"0.7"`
	// Ninety is the radius inside which nine in ten stop.
	Ninety *float64 `json:"0.9"`
}

// roundRadii are those from half a metre to four metres, for a table.
func roundRadii() []float64 { return []float64{0.5, 1, 1.5, 2, 3, 4} }

func answerSpread(in spreadIn, p *domain.Problems) (any, error) {
	ballsIn := need(p, "/balls", in.Balls)
	ballsIn = most(p, "/balls", "balls", ballsIn, maxSpreadBalls)
	if in.Balls != nil && len(ballsIn) == 0 {
		p.Add("/balls", "is empty; give at least one ball")
	}
	radii := roundRadii()
	for i, r := range most(p, "/radii_m", "radii", in.RadiiM, maxRadii) {
		if isRadius(p, at("/radii_m", i), r) {
			radii = append(radii, r)
		}
	}
	balls := make([]greenside.Rest, len(ballsIn))
	for i, b := range ballsIn {
		if balls[i] = b.read(p, at("/balls", i)); b.RadiusM != nil && len(radii) < 2*maxRadii {
			radii = append(radii, *b.RadiusM)
		}
	}
	if len(p.Fields()) > 0 {
		return nil, nil
	}
	s, err := greenside.SpreadOf(balls)
	if err != nil {
		return nil, relay(p, err)
	}
	slices.Sort(radii)
	return spreadOut(s, slices.Compact(radii)), nil
}

func spreadOut(s greenside.Spread, radii []float64) SpreadOut {
	radiusFor := func(share float64) *float64 { return finiteIf(s.Known(), s.RadiusFor(share)) }
	out := SpreadOut{
		SigmaM: finiteIf(s.Known(), s.Sigma), Interval80: [2]*float64{finite(s.Low), finite(s.High)},
		RadiusFor: RadiusForOut{Half: radiusFor(0.5), Seventy: radiusFor(0.7), Ninety: radiusFor(0.9)},
		Balls:     s.Balls, Measured: s.Measured,
	}
	for _, r := range radii {
		low, high := s.Inside80(r)
		out.Inside = append(out.Inside, radiusValue[*float64]{r, finiteIf(s.Known(), s.Inside(r))})
		out.Inside80 = append(out.Inside80, radiusValue[[2]float64]{r, [2]float64{low, high}})
	}
	return out
}

// isRadius holds a radius to greenside.MinRadius … domain.MaxLength.
func isRadius(p *domain.Problems, pointer string, metres float64) bool {
	longest := domain.MaxLength.Metres()
	if metres >= greenside.MinRadius && metres <= longest {
		return true
	}
	p.Add(pointer, "is %v m; give a radius from %v to %v m", metres, greenside.MinRadius, longest)
	return false
}

// within holds a length to 0 m … domain.MaxLength.
func within(p *domain.Problems, pointer string, metres float64) bool {
	longest := domain.MaxLength.Metres()
	if metres >= 0 && metres <= longest {
		return true
	}
	p.Add(pointer, "is %v m; give a length from 0 to %v m", metres, longest)
	return false
}

func (b restIn) read(p *domain.Problems, at string) greenside.Rest {
	judged := b.RadiusM != nil || b.Inside != nil
	if b.LeaveM == nil && !judged {
		p.Add(at, `says nothing of the ball; give "leave_m", or "radius_m" and "inside"`)
		return greenside.Rest{}
	}
	rest := greenside.Rest{}
	if judged {
		radius, inside := need(p, at+"/radius_m", b.RadiusM), need(p, at+"/inside", b.Inside)
		if b.RadiusM != nil {
			isRadius(p, at+"/radius_m", radius)
		}
		if rest = greenside.OutsideOf(radius); inside {
			rest = greenside.InsideOf(radius)
		}
		if b.LeaveM != nil && (inside && *b.LeaveM > radius || !inside && *b.LeaveM < radius) {
			p.Add(at+"/leave_m", "does not agree with inside at %v m; correct one of them", radius)
		}
	}
	if b.LeaveM != nil && within(p, at+"/leave_m", *b.LeaveM) {
		rest = greenside.Left(*b.LeaveM)
	}
	return rest
}
