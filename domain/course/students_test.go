package course_test

import (
	"math"
	"math/rand/v2"
	"time"

	"fringework/domain"
	"fringework/domain/course"
	"fringework/domain/estimate"
	"fringework/domain/greenside"
)

// student is one invented: a season of practice and of rounds.
type student struct {
	rates  []float64 // in practice before each round, as the estimate has it
	rounds []course.Round
}

func (s student) points(b course.Baseline) []course.Point {
	points := make([]course.Point, len(s.rounds))
	for i, r := range s.rounds {
		points[i] = course.Point{Practice: s.rates[i], Sum: b.Of(r)}
	}
	return points
}

// population draws students of so many rounds. transfer is how much of what the
// scatter shrinks in practice it shrinks on the course: 1 for all, 0 for nothing.
type population func(r *rand.Rand, rounds int, transfer float64) student

// circle is what practice is judged in, in metres.
const circle = 2.0

// scatterOf is the scatter that leaves so many balls inside the circle, by Rayleigh's
// distribution.
func scatterOf(rate float64) float64 { return circle / math.Sqrt(-2*math.Log(1-rate)) }

func logistic(x float64) float64 { return 1 / (1 + math.Exp(-x)) }

// season plays a season: the true rate in practice before each round is level; the
// shots of a round share form, and left gives how far a ball stops in units of its
// scatter.
func season(r *rand.Rand, level []float64, transfer, form float64, shots func() int, left func() float64) student {
	var s student
	var seen []estimate.Observation
	began := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
	for i, rate := range level {
		for range 2 {
			day := logistic(math.Log(rate/(1-rate)) + 0.25*r.NormFloat64())
			inside := 0
			for range 45 {
				if r.Float64() < day {
					inside++
				}
			}
			seen = append(seen, estimate.Observation{Balls: 45, Inside: inside, Day: float64(7 * i)})
		}
		if n := len(seen); n > 40 {
			seen = seen[n-40:]
		}
		s.rates = append(s.rates, estimate.RateOf(seen, 0, estimate.Prior{}).Mean)
		gain := math.Log(scatterOf(rate) / scatterOf(level[0]))
		scale := math.Exp(transfer*gain + form*r.NormFloat64())
		played := course.Round{PlayedAt: began.AddDate(0, 0, 7*i+6)}
		for range shots() {
			played.Shots = append(played.Shots, shot(r, 0.19*scale, left))
		}
		s.rounds = append(s.rounds, played)
	}
	return s
}

// shot is one from 6 to 30 m that stops a share of the distance from the hole.
func shot(r *rand.Rand, share float64, left func() float64) course.Shot {
	lie := greenside.StruckLies()[r.IntN(3)]
	worse := map[course.Lie]float64{course.Fairway: 1, course.Rough: 1.25, course.Sand: 1.5}[lie]
	far := 6 + 24*r.Float64()
	stop, _ := domain.Metres(max(0.06, share*worse*far*left()))
	from, _ := domain.Metres(far)
	s := course.Shot{Lie: lie, Distance: from, Left: min(stop, 25*domain.Metre), LeftLie: course.Green}
	if s.Left < domain.Metre/8 {
		return course.Shot{Lie: lie, Distance: from, Holed: true}
	}
	if s.Left > 12*domain.Metre {
		s.LeftLie = course.Rough
		return s
	}
	s.Putts = 2
	if r.Float64() < 1/(1+math.Pow(s.Left.Metres()/1.6, 2)) { // about half from 1.6 m
		s.Putts = 1
	}
	return s
}

func rayleigh(r *rand.Rand) float64 { return math.Sqrt(2 * r.ExpFloat64()) }

// setting is the population that the limits were set on: practice gains steadily.
func setting(r *rand.Rand, rounds int, transfer float64) student {
	from := 0.25 + 0.15*r.Float64()
	to := from + 0.15 + 0.2*r.Float64()
	level := make([]float64, rounds)
	for i := range level {
		level[i] = from + (to-from)*float64(i)/float64(rounds-1)
	}
	return season(r, level, transfer, 0.12, func() int { return 4 + r.IntN(5) }, func() float64 { return rayleigh(r) })
}

// report is the population that is reported on, drawn by another process: practice
// gains in two or three steps and slips between them, one ball in twelve is thinned or
// fat, and rounds differ in how many shots they have.
func report(r *rand.Rand, rounds int, transfer float64) student {
	level := make([]float64, rounds)
	at := math.Log(0.3 / 0.7)
	steps := 2 + r.IntN(2)
	jump := map[int]bool{}
	for range steps {
		jump[1+r.IntN(rounds-1)] = true
	}
	for i := range level {
		if jump[i] {
			at += 0.3 + 0.4*r.Float64()
		} else {
			at += 0.04 * r.NormFloat64()
		}
		level[i] = logistic(at)
	}
	left := func() float64 {
		x := rayleigh(r)
		if r.IntN(12) == 0 {
			x *= 2 + r.Float64()
		}
		return x
	}
	shots := func() int { return 2 + r.IntN(4) + r.IntN(5) }
	return season(r, level, transfer, 0.15, shots, left)
}
