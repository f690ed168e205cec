package greenside

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"pgregory.net/rapid"
)

const foot = 0.3048

// putting is testdata/putting.json, which names its sources.
type putting struct {
	Putts [][3]float64
	Fit   struct {
		PublishedDegrees float64 `json:"published_degrees"`
		Line             float64
	}
	Holed []struct{ Feet, Line, Pace, Want float64 }
	Tour  struct{ Expected, Holed [][2]float64 }
	Club  struct{ Holed [][2]float64 }
}

func readPutting(t *testing.T) (p putting) {
	t.Helper()
	raw, err := os.ReadFile("testdata/putting.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(raw, &p); err != nil {
		t.Fatal(err)
	}
	if len(p.Putts) != 19 || len(p.Holed) == 0 {
		t.Fatalf("%d rows and %d values, want 19 and some", len(p.Putts), len(p.Holed))
	}
	return p
}

func about(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.5f, want %.5f within %v", what, got, want, tolerance)
	}
}

// TestHoledIsThePublishedFormula holds both models to values computed elsewhere.
func TestHoledIsThePublishedFormula(t *testing.T) {
	for _, c := range readPutting(t).Holed {
		got := Putter{Line: c.Line, Pace: c.Pace}.Holed(c.Feet * foot)
		if math.Abs(got-c.Want) > 1e-8 {
			t.Errorf("%v ft, line %v, pace %v: got %.10f, want %.10f", c.Feet, c.Line, c.Pace, got, c.Want)
		}
	}
}

// TestLineFitsTheProfessionals fits the model of one parameter to the published
// putts, and holds it to the published angle and to the putts themselves.
func TestLineFitsTheProfessionals(t *testing.T) {
	data := readPutting(t)
	logLikelihood := func(line float64) (sum float64) {
		for _, row := range data.Putts {
			p := Putter{Line: line}.Holed(row[0] * foot)
			sum += row[2]*math.Log(p) + (row[1]-row[2])*math.Log1p(-p)
		}
		return sum
	}
	low, high := 0.01, 0.06
	for range 60 { // the likelihood has one top
		a, b := low+(high-low)/3, high-(high-low)/3
		if logLikelihood(a) < logLikelihood(b) {
			low = a
		} else {
			high = b
		}
	}
	near(t, "line", low, data.Fit.Line, 1e-4)
	about(t, "degrees", low*180/math.Pi, data.Fit.PublishedDegrees, 0.01)
	misses, tries := 0.0, 0.0
	for _, row := range data.Putts {
		misses += math.Abs(Putter{Line: low}.Holed(row[0]*foot)*row[1] - row[2])
		tries += row[1]
	}
	// Sampling alone would make it 1.7 %; one parameter is known not to fit all
	// distances (Gelman 2019), and worst at 7 and 14 ft.
	if misses/tries > 0.035 {
		t.Errorf("the fit is off by %.3f of the putts", misses/tries)
	}
}

// TestTourPutts holds the player who holes half from eight feet to the tour's
// figures, none of which set a constant but that half and the published two.
func TestTourPutts(t *testing.T) {
	data, tour := readPutting(t), PutterOf(8*foot)
	about(t, "degrees", tour.Line*180/math.Pi, 1.02, 0.005)
	about(t, "pace", tour.Pace, 0.08, 0.0005)
	for _, row := range data.Tour.Holed {
		about(t, "holed", tour.Holed(row[0]*foot), row[1], 0.02)
	}
	for _, row := range data.Tour.Expected {
		about(t, "expected putts", tour.Putts(row[0]*foot).Expected, row[1], 0.016)
	}
}

// TestClubPutts holds the usual club golfer to what is said of those who go
// round in 90.
func TestClubPutts(t *testing.T) {
	club := PutterOf(ClubHalf)
	for _, row := range readPutting(t).Club.Holed {
		tolerance := 0.02
		if row[0] < 5 { // the model is a little hard on the shortest putts
			tolerance = 0.065
		}
		about(t, "holed", club.Holed(row[0]*foot), row[1], tolerance)
	}
}

// TestPuttsAgreeWithPlay plays putts one by one, with a fixed seed: the standard
// error of a share is below 0.0012.
func TestPuttsAgreeWithPlay(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 2))
	club, beginner := PutterOf(ClubHalf), PutterOf(MinHalf)
	const games, circle = 200_000, 0.9
	for _, c := range []struct {
		player Putter
		feet   float64
	}{{club, 1}, {club, 4}, {club, 12}, {club, 40}, {beginner, 2}, {beginner, 60}} {
		feet, putts, three, within := c.feet, 0, 0, 0
		for range games {
			x := feet * foot
			for n := 1; ; n++ {
				angle := c.player.Line * r.NormFloat64()
				roll := (x + foot) * max(0, 1+c.player.Pace*r.NormFloat64())
				// The same as geometry in the plane: the hole at (x, 0), the line
				// crossing it at x tan(angle).
				left := math.Hypot(roll*math.Cos(angle)-x, roll*math.Sin(angle))
				holed := math.Abs(x*math.Sin(angle)) < 0.032639 && roll >= x && roll <= x+3*foot
				if n == 1 && (holed || left <= circle) {
					within++
				}
				if holed || n == 8 {
					putts += n
					if n > 2 {
						three++
					}
					break
				}
				x = max(left, HoleRadius)
			}
		}
		got := c.player.Putts(feet * foot)
		about(t, "expected putts", got.Expected, float64(putts)/games, 0.006)
		about(t, "three or more", got.ThreeOrMore, float64(three)/games, 0.005)
		about(t, "within", c.player.Within(feet*foot, circle), float64(within)/games, 0.004)
	}
}

// TestMissesStopWhereTheyRoll holds the leaves of missed putts to the mean leave
// and its square over angles and lengths of roll in fine, equal steps, and the
// putts within small circles to the same sum.
func TestMissesStopWhereTheyRoll(t *testing.T) {
	table := distances()
	radii := [3]float64{0.1, 0.5, 1.2}
	for _, p := range []Putter{PutterOf(ClubHalf), PutterOf(0.6), PutterOf(MinHalf)} {
		for _, x := range []float64{0.4, 1.5, 6, 20} {
			var miss, mean, square float64
			var within [3]float64
			const steps = 1200
			for i := range steps {
				a := 6 * (float64(i) + 0.5) / steps // either side
				angle := a * p.Line
				cos, crosses := math.Cos(angle), x*math.Sin(angle) < 0.032639
				for j := range steps {
					b := 12*(float64(j)+0.5)/steps - 6
					weight := 2 * 6.0 / steps * 12 / steps * math.Exp(-(a*a+b*b)/2) / (2 * math.Pi)
					roll := (x + foot) * max(0, 1+p.Pace*b)
					left := math.Sqrt(x*x + roll*roll - 2*x*roll*cos)
					holed := crosses && roll >= x && roll <= x+3*foot
					for k, radius := range radii {
						if holed || left <= radius {
							within[k] += weight
						}
					}
					if !holed {
						left = max(left, HoleRadius)
						miss, mean, square = miss+weight, mean+weight*left, square+weight*left*left
					}
				}
			}
			var gotMiss, gotMean, gotSquare float64
			for i, weight := range p.misses(x, table) {
				gotMiss, gotMean, gotSquare = gotMiss+weight, gotMean+weight*table[i], gotSquare+weight*table[i]*table[i]
			}
			about(t, "missed", gotMiss, miss, 0.002)
			near(t, "mean leave", gotMean/gotMiss, mean/miss, 0.003)
			near(t, "mean square of the leave", gotSquare/gotMiss, square/miss, 0.006)
			for k, want := range within {
				about(t, "within", p.Within(x, radii[k]), want, 0.002)
			}
		}
	}
}

// TestWithinIsTheIntegral holds putts within a circle to a sum of 15,000 terms
// over the angles, computed outside this project. Who putts with 54 % of pace
// leaves three putts in a hundred where they lie.
func TestWithinIsTheIntegral(t *testing.T) {
	for _, c := range []struct{ line, pace, x, radius, want float64 }{
		{0.0133, 0.08, 3, 0.5, 0.895578948},
		{0.028, 0.126, 1, 0.02, 0.735490325},
		{0.028, 0.126, 6, 0.9, 0.699837611},
		{0.028, 0.126, 20, 0.1, 0.009323181},
		{0.028, 0.126, 20, 2, 0.542061903},
		{0.12, 0.54, 0.4, 0.5, 0.817237875},
		{0.12, 0.54, 0.4, 1.2, 0.990405971},
		{0.12, 0.54, 1, 1.2, 0.894614736},
		{0.12, 0.54, 2, 0.5, 0.274682413},
	} {
		about(t, "within", Putter{Line: c.line, Pace: c.pace}.Within(c.x, c.radius), c.want, 2e-5)
	}
}

// TestTourIsThePublishedPlayer: 1.02° and 8 % (Gelman 2019; values from memory).
func TestTourIsThePublishedPlayer(t *testing.T) {
	near(t, "degrees", tour(1).Line*180/math.Pi, 1.02, 1e-12)
	near(t, "pace", tour(1).Pace, 0.08, 1e-12)
}

// TestMissesReachTheEnds: some putts stop at the edge of the hole, and of a
// beginner's longest some roll beyond the table.
func TestMissesReachTheEnds(t *testing.T) {
	table := distances()
	if got := PutterOf(ClubHalf).misses(0.4, table)[0]; !(got > 0) {
		t.Errorf("%v of the putts stop at the edge", got)
	}
	if got := PutterOf(MinHalf).misses(40, table)[len(table)-1]; !(got > 0) {
		t.Errorf("%v of the putts roll beyond the table", got)
	}
}

// TestPuttingProperties ties the answers together, for any player and distance.
func TestPuttingProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		half := rapid.Float64Range(MinHalf, MaxHalf).Draw(t, "half")
		x := rapid.Float64Range(HoleRadius, MaxPutt).Draw(t, "x")
		radius := rapid.Float64Range(0.1, 30).Draw(t, "radius")
		p := PutterOf(half)
		if got := p.Holed(half); math.Abs(got-0.5) > 1e-9 {
			t.Fatalf("holed from %v m: %v, want a half", half, got)
		}
		holed := p.Holed(x)
		if worse := PutterOf(0.9 * half).Holed(x); worse > holed {
			t.Fatalf("the worse player holes %v, the better %v", worse, holed)
		}
		if farther := p.Holed(1.1 * x); farther > holed {
			t.Fatalf("from farther %v, from %v m %v", farther, x, holed)
		}
		in, wider := p.Within(x, radius), p.Within(x, 1.2*radius)
		if !(holed <= in && in <= wider+1e-6 && wider <= 1+1e-6) {
			t.Fatalf("holed %v, within %v m %v, within more %v", holed, radius, in, wider)
		}
		got := p.Putts(x)
		// At least one putt more after every miss, and all three-putts two more.
		if !(got.Expected >= 2-holed+got.ThreeOrMore-1e-6 && got.ThreeOrMore <= 1-holed+1e-6 && got.Expected <= mostPutts) {
			t.Fatalf("from %v m holed %v, putts %+v", x, holed, got)
		}
	})
}

func BenchmarkPutts(b *testing.B) {
	club := PutterOf(ClubHalf)
	b.ReportAllocs()
	for b.Loop() {
		club.Putts(6)
	}
}
