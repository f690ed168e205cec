package streak

import "fringework/domain"

// Verdict is what one ball counts as for one tier.
type Verdict uint8

// The verdicts. Only CountsIn and CountsHoled lengthen a run; the other two
// end it.
const (
	CountsOut Verdict = iota
	CountsIn
	CountsHoled
	// Unmeasured means that the ball was judged at another radius, that this
	// judgement says nothing about the tier's, and that no leave was taken.
	Unmeasured
)

// String gives the verdict's word: "out", "in", "holed" or "unmeasured".
func (v Verdict) String() string {
	switch v {
	case CountsIn:
		return "in"
	case CountsHoled:
		return "holed"
	case Unmeasured:
		return "unmeasured"
	default:
		return "out"
	}
}

// Inside reports whether the ball lengthens a run.
func (v Verdict) Inside() bool { return v == CountsIn || v == CountsHoled }

// Judge says what a ball counts as at the tier's own radius.
//
// A holed ball is in at any radius. A ball judged in is in at every radius as
// large or larger, and one judged out is out at every radius as small or
// smaller. Where the judgement does not reach, the leave decides, a ball at
// rest on the line being in; without a leave the ball is Unmeasured.
//
// The ball is taken to satisfy [Ball.Check].
func (t Tier) Judge(b Ball) Verdict {
	switch {
	case b.Outcome == Holed:
		return CountsHoled
	case b.Outcome == In && t.Radius >= b.Radius:
		return CountsIn
	case b.Outcome == Out && t.Radius <= b.Radius:
		return CountsOut
	case !b.Measured:
		return Unmeasured
	case b.Leave <= t.Radius:
		return CountsIn
	default:
		return CountsOut
	}
}

// MeetsIn reports whether a current run passes the tier: it is long enough
// and holds enough holed balls. A run may be longer than the tier asks, and
// all its holed balls count.
func (t Tier) MeetsIn(r Run) bool { return r.Length >= t.Run && r.Holed >= t.Holed }

// The distances that a radius may have: from well inside a flagstick's reach
// to the width of a large green.
const (
	MinRadius = domain.Metre / 10
	MaxRadius = 30 * domain.Metre
)

// Check notes what is wrong with a ball in p, at the members "outcome",
// "radius_m" and "leave_m" of the object at the JSON pointer at.
//
// A leave that contradicts the judgement is refused: more than the radius when
// in, less than it when out, more than nothing when holed. A leave equal to
// the radius contradicts neither, because both are rounded.
func (b Ball) Check(p *domain.Problems, at string) {
	if b.Outcome > Holed {
		p.Add(at+"/outcome", `unknown outcome; use "out", "in" or "holed"`)
		return
	}
	if b.Outcome == Holed {
		b.checkHoled(p, at)
		return
	}
	if b.Radius < MinRadius || b.Radius > MaxRadius {
		p.Add(at+"/radius_m", "the radius a ball is judged at is from %v to %v, got %v", MinRadius, MaxRadius, b.Radius)
		return
	}
	switch {
	case !b.Measured:
	case b.Leave < 0 || b.Leave > domain.MaxLength:
		p.Add(at+"/leave_m", "a leave is from 0 m to %v, got %v", domain.MaxLength, b.Leave)
	case b.Outcome == In && b.Leave > b.Radius:
		p.Add(at+"/leave_m", "a ball judged in at %v cannot have been left %v away; correct the leave or make it \"out\"", b.Radius, b.Leave)
	case b.Outcome == Out && b.Leave < b.Radius:
		p.Add(at+"/leave_m", "a ball judged out at %v cannot have been left %v away; correct the leave or make it \"in\"", b.Radius, b.Leave)
	}
}

// checkHoled holds a holed ball to its few rules; its radius may be left out.
func (b Ball) checkHoled(p *domain.Problems, at string) {
	if b.Radius != 0 && (b.Radius < MinRadius || b.Radius > MaxRadius) {
		p.Add(at+"/radius_m", "the radius a ball is judged at is from %v to %v, got %v", MinRadius, MaxRadius, b.Radius)
	}
	if b.Measured && b.Leave != 0 {
		p.Add(at+"/leave_m", "a holed ball has no leave, got %v; leave it out or make the ball \"in\"", b.Leave)
	}
}
