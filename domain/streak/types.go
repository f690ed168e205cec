// Package streak judges runs of balls against tiers and computes the odds of
// passing one. It is pure: balls in, results out.
package streak

import "fringework/domain"

// Outcome is where a ball came to rest.
type Outcome uint8

// The outcomes. Out and In are judged at the ball's own radius; a holed ball is
// in at any radius.
const (
	Out Outcome = iota
	In
	Holed
)

// Outcomes lists them, from the worst to the best.
func Outcomes() []Outcome { return []Outcome{Out, In, Holed} }

// String gives the outcome's word: "out", "in" or "holed".
func (o Outcome) String() string {
	switch o {
	case In:
		return "in"
	case Holed:
		return "holed"
	default:
		return "out"
	}
}

// Ball is one shot as it was judged on the green.
type Ball struct {
	Outcome Outcome
	// Radius is the circle that Out and In were judged at.
	Radius domain.Length
	// Leave is the distance from the hole at rest, when Measured.
	Leave    domain.Length
	Measured bool
}

// Tier is one step of a ladder: Run balls in a row inside Radius, at least
// Holed of them holed.
type Tier struct {
	Run    int
	Radius domain.Length
	Holed  int
}

// AtLeast reports whether the tier is at least as hard as another: the balls that
// pass it pass the other as well.
func (t Tier) AtLeast(other Tier) bool {
	return t.Run >= other.Run && t.Radius <= other.Radius && t.Holed >= other.Holed
}

// Ladder is the tiers of a skill, each strictly harder than the one before.
type Ladder struct {
	Tiers []Tier
	// TestOnly restricts the blocks that count to tests; otherwise warm-ups that
	// play the skill count as well.
	TestOnly bool
	// Technique lets technique blocks count, too, unless TestOnly is set. As a
	// rule technique is not tested: whoever changes a swing does not count.
	Technique bool
}

// Run is a stretch of consecutive balls that were in or holed.
type Run struct {
	Length int
	Holed  int
}
