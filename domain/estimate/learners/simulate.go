package learners

import (
	"math/rand/v2"

	"fringework/domain/estimate"
)

// Population says what learners are drawn from. Ranges are uniform.
type Population struct {
	P0         [2]float64 // rate at the first session
	Rise, Fall [2]float64 // logits a session
	Change     [2]int     // the last session before the change
	Form       float64    // standard deviation of the day's form, logits
	Balls      [2]int     // a session
	Skip       float64    // chance that a planned session is skipped after the change
}

// Like are learners like the reference ones, and Unlike others: they start
// from further apart, learn at other paces, change at other times, vary more
// from day to day, and hold shorter and longer sessions.
var (
	Like   = Population{P0: [2]float64{0.30, 0.65}, Rise: [2]float64{0.03, 0.08}, Fall: [2]float64{0.05, 0.12}, Change: [2]int{10, 18}, Form: FormSD, Balls: [2]int{20, 40}, Skip: 0.92}
	Unlike = Population{P0: [2]float64{0.20, 0.75}, Rise: [2]float64{0.03, 0.10}, Fall: [2]float64{0.05, 0.15}, Change: [2]int{8, 20}, Form: 0.20, Balls: [2]int{15, 50}, Skip: 0.85}
)

// Draw simulates n learners of each kind with a number of sessions. The same
// seed gives the same learners.
func (p Population) Draw(n, sessions int, seed uint64) []Learner {
	r := rand.New(rand.NewPCG(seed, 0))
	var out []Learner
	for _, k := range Kinds {
		for range n {
			out = append(out, p.draw(k, sessions, r))
		}
	}
	return out
}

func (p Population) draw(k Kind, sessions int, r *rand.Rand) Learner {
	l := Learner{Kind: k, P0: between(p.P0, r)}
	onset := p.Change[0] + r.IntN(p.Change[1]-p.Change[0]+1) + 1
	switch k {
	case Improving:
		l.Slope = between(p.Rise, r)
	case Plateau:
		l.Slope, l.Onset = between(p.Rise, r), onset
	case Regressing:
		l.Slope, l.Onset = -between(p.Fall, r), onset
	case NotPractising:
		l.Onset = max(4, onset-6)
	}
	day := 0
	for j := 1; j <= sessions; j++ {
		if j > 1 {
			day += 1 + r.IntN(4)
		}
		s := estimate.Observation{Day: float64(day)}
		if k != NotPractising || j < l.Onset || r.Float64() >= p.Skip {
			s.Balls = p.Balls[0] + r.IntN(p.Balls[1]-p.Balls[0]+1)
			s.Inside = hits(s.Balls, logistic(l.Level(j)+p.Form*r.NormFloat64()), r)
		}
		l.Sessions = append(l.Sessions, s)
	}
	return l
}

func between(x [2]float64, r *rand.Rand) float64 { return x[0] + (x[1]-x[0])*r.Float64() }

func hits(n int, p float64, r *rand.Rand) int {
	y := 0
	for range n {
		if r.Float64() < p {
			y++
		}
	}
	return y
}

// bestRun strikes a session's balls in random order and gives the longest run
// inside: given the counts, every order is as likely as any other.
func bestRun(s estimate.Observation, r *rand.Rand) int {
	inside, left := s.Inside, s.Balls
	best, run := 0, 0
	for ; left > 0; left-- {
		if r.IntN(left) < inside {
			inside--
			run++
			best = max(best, run)
		} else {
			run = 0
		}
	}
	return best
}
