package greenside

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

// TestHoledShareOffGreen plays balls that scatter three times as far along the
// line as across, seven in ten of them inside the circle: the scale is found by
// counting, so nothing here knows how the share is computed.
func TestHoledShareOffGreen(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 4))
	const balls = 300_000
	across, along := make([]float64, balls), make([]float64, balls)
	for i := range balls {
		across[i], along[i] = r.NormFloat64()/3, r.NormFloat64()
	}
	for _, circle := range []float64{0.3, 1, 1.524, 3} {
		inside := func(scale float64) (share float64) {
			n := 0
			for i := range balls {
				if math.Hypot(across[i], along[i])*scale <= circle {
					n++
				}
			}
			return float64(n) / balls
		}
		low, high := circle/10, 10*circle
		for range 30 {
			if mid := (low + high) / 2; inside(mid) > 0.7 {
				low = mid
			} else {
				high = mid
			}
		}
		holed, in := 0, 0
		for i := range balls {
			y, z := across[i]*low, along[i]*low
			drops := math.Abs(y) < 0.032639 && z > 0 && z < 3*foot
			if drops {
				holed++
			}
			if drops || math.Hypot(y, z) <= circle {
				in++
			}
		}
		about(t, "share", HoledShare(OffGreen, 0, circle), float64(holed)/float64(in), 0.004)
	}
}

// TestHoledShareIsTheIntegral holds the shares to sums of 1,500 terms, computed
// outside this project: seven in ten lie inside when balls scatter 0.9122983 radii
// along the line.
func TestHoledShareIsTheIntegral(t *testing.T) {
	for _, c := range []struct{ circle, want float64 }{{0.3, 0.189150428}, {1, 0.041747566}, {1.524, 0.019621201}, {3, 0.005334797}} {
		near(t, "share", HoledShare(OffGreen, 0, c.circle), c.want, 1e-6)
		near(t, "along", scattered(c.circle).along/c.circle, 0.9122983, 1e-6)
	}
}

// TestHoledShareOfPutts: of putts that nearly all stop inside, the share holed
// is the chance to hole, one half from five feet; a long putt is far from it.
func TestHoledShareOfPutts(t *testing.T) {
	about(t, "short, wide", HoledShare(ShortPutt, 5*foot, 3), 0.5, 1e-6)
	about(t, "short, usual distance", HoledShare(ShortPutt, 0, 3), 0.5, 1e-6)
	// By hand, with 1.61° and 12.6 %: the line at 0.0653/0.0281 = 2.32 standard
	// deviations (98.0 %), short at 0.305/0.102 = 3.0 (0.13 %).
	about(t, "from half a metre", HoledShare(ShortPutt, 0.5, 3), 0.9786, 0.001)
	club := PutterOf(ClubHalf)
	for _, c := range []struct{ distance, taken float64 }{{0, 9}, {-1, 9}, {12, 12}, {300, 40}} {
		want := club.Holed(c.taken) / club.Within(c.taken, 0.9)
		about(t, "lag", HoledShare(LagPutt, c.distance, 0.9), want, 1e-12)
		about(t, "lag and short alike", HoledShare(ShortPutt, max(c.distance, c.taken), 0.9), want, 1e-12)
	}
	if lag := HoledShare(LagPutt, 0, 0.9); lag < 0.03 || lag > 0.1 {
		t.Errorf("of long putts inside 3 ft %v are holed", lag)
	}
	for _, s := range []Stroke{OffGreen, LagPutt, ShortPutt} {
		if got := HoledShare(s, 5, HoleRadius); got != 1 {
			t.Errorf("stroke %d: of the balls in the hole %v are holed", s, got)
		}
	}
}

// TestHoledShareProperties: a share, that no wider circle makes larger.
func TestHoledShareProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom([]Stroke{OffGreen, LagPutt, ShortPutt}).Draw(t, "stroke")
		distance := rapid.Float64Range(0, 100).Draw(t, "distance")
		circle := rapid.Float64Range(0.06, 30).Draw(t, "circle")
		got, wider := HoledShare(s, distance, circle), HoledShare(s, distance, 1.25*circle)
		if !(got > 0 && got <= 1 && wider <= got+1e-6) {
			t.Fatalf("%v m: %v, wider: %v", circle, got, wider)
		}
	})
}
