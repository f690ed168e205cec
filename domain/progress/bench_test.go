package progress

import (
	"math/rand/v2"
	"testing"

	"fringework/domain/streak"
)

// career is a student-skill of n sessions for benchmarks.
func career(n int, rise float64, r *rand.Rand) []Session {
	out := make([]Session, n)
	for i := range out {
		balls := 20 + r.IntN(21)
		inside := 0
		p := logistic(-0.2 + rise*float64(i) + 0.15*r.NormFloat64())
		for range balls {
			if r.Float64() < p {
				inside++
			}
		}
		out[i] = Session{Day: float64(2 * i), Balls: balls, Inside: inside, Holed: inside / 10}
	}
	return out
}

// BenchmarkAssess is one student-skill of 100 sessions; recomputing 10,000 of
// them takes 10,000 times as long.
func BenchmarkAssess(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 2))
	var all []Evidence
	for i := range 200 {
		all = append(all, Evidence{
			Sessions:     career(100, float64(i%5)*0.01-0.01, r),
			Tier:         &streak.Tier{Run: 9, Radius: 15240},
			BallsPerTest: 20,
			AsOf:         198,
		})
	}
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		Assess(all[i%len(all)])
		i++
	}
}
