package estimate

import (
	"math/rand/v2"
	"testing"

	"fringework/domain/streak"
)

// career is a student-skill of n sessions for benchmarks.
func career(n int, rise float64, r *rand.Rand) []Observation {
	out := make([]Observation, n)
	for i := range out {
		balls := 20 + r.IntN(21)
		inside := 0
		p := logistic(-0.2 + rise*float64(i) + 0.15*r.NormFloat64())
		for range balls {
			if r.Float64() < p {
				inside++
			}
		}
		out[i] = Observation{Day: float64(2 * i), Balls: balls, Inside: inside, Holed: inside / 10}
	}
	return out
}

func careers() []Evidence {
	r := rand.New(rand.NewPCG(1, 2))
	var all []Evidence
	for i := range 200 {
		all = append(all, Evidence{
			Sessions:     career(100, float64(i%5)*0.01-0.01, r),
			Tier:         &streak.Tier{Run: 9, Radius: 15240},
			BallsPerTest: 20,
		})
	}
	return all
}

// BenchmarkAssess is one student-skill of 100 sessions.
func BenchmarkAssess(b *testing.B) {
	all := careers()
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		Assess(all[i%len(all)])
		i++
	}
}

// BenchmarkAssessMixed is one student-skill of 100 sessions whose circle changed
// before the last 15.
func BenchmarkAssessMixed(b *testing.B) { benchmarkMixed(b, false) }

// BenchmarkAssessBoth is the same with balls judged in both circles all the time.
func BenchmarkAssessBoth(b *testing.B) { benchmarkMixed(b, true) }

func benchmarkMixed(b *testing.B, both bool) {
	all := careers()
	for i := range all {
		all[i].Radius = 15240
		for j := range all[i].Sessions {
			if s := &all[i].Sessions[j]; both {
				s.Elsewhere = []Circle{{Radius: 9144, Balls: s.Balls, Inside: s.Inside / 2}}
			} else if j < 85 {
				s.Elsewhere = []Circle{{Radius: 18288, Balls: s.Balls, Inside: s.Inside}}
				s.Balls, s.Inside, s.Holed = 0, 0, 0
			}
		}
	}
	i := 0
	for b.Loop() {
		Assess(all[i%len(all)])
		i++
	}
}

// BenchmarkRecompute10000 is 10,000 student-skills of 100 sessions, on one
// core: what a rebuild computes for an academy of thousands.
func BenchmarkRecompute10000(b *testing.B) {
	all := careers()
	for b.Loop() {
		for i := range 10_000 {
			Assess(all[i%len(all)])
		}
	}
}

// BenchmarkWalk is the history of 100 sessions.
func BenchmarkWalk(b *testing.B) {
	all := careers()
	i := 0
	for b.Loop() {
		Walk(all[i%len(all)])
		i++
	}
}

// BenchmarkRate is a rate from 30 sessions.
func BenchmarkRate(b *testing.B) {
	all := careers()
	b.ReportAllocs()
	for b.Loop() {
		RateOf(all[0].Sessions, 0, Prior{})
	}
}
