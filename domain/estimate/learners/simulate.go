package learners

import (
	"math"
	"math/rand/v2"

	"fringework/domain/estimate"
)

// Population says what learners are drawn from. Ranges are uniform.
type Population struct {
	P0         [2]float64 // rate at the first session
	Rise, Fall [2]float64 // logits a session
	Change     [2]int     // the last session before the change
	Form       [2]float64 // standard deviation of the day's form, logits
	Memory     [2]float64 // share of the form left at the next session
	Balls      [2]int     // a session
	Gap        [2]int     // days from session to session
	Skip       float64    // chance that a planned session is skipped after the change
	// Heavy says that form has heavier tails than a normal distribution.
	Heavy bool
}

// slowRise is the pace of a slow learner.
var slowRise = [2]float64{0.015, 0.03}

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

// DrawKind simulates n learners of one kind.
func (p Population) DrawKind(k Kind, n, sessions int, seed uint64) []Learner {
	r := rand.New(rand.NewPCG(seed, 4))
	out := make([]Learner, n)
	for i := range out {
		out[i] = p.draw(k, sessions, r)
	}
	return out
}

func (p Population) draw(k Kind, sessions int, r *rand.Rand) Learner {
	l := Learner{Kind: k, P0: between(p.P0, r), Form: between(p.Form, r), Memory: between(p.Memory, r)}
	onset := p.Change[0] + r.IntN(p.Change[1]-p.Change[0]+1) + 1
	switch k {
	case Improving:
		l.Slope = between(p.Rise, r)
	case Slow:
		l.Slope = between(slowRise, r)
	case Plateau:
		l.Slope, l.Onset = between(p.Rise, r), onset
	case Regressing:
		l.Slope, l.Onset = -between(p.Fall, r), onset
	case NotPractising:
		l.Onset = max(4, onset-6)
	}
	day := 0
	form := l.Form * r.NormFloat64()
	for j := 1; j <= sessions; j++ {
		if j > 1 {
			day += p.Gap[0] + r.IntN(p.Gap[1]-p.Gap[0]+1)
			form = l.nextForm(form, p.Heavy, r)
		}
		s := estimate.Observation{Day: float64(day)}
		if k != NotPractising || j < l.Onset || r.Float64() >= p.Skip {
			s.Balls = p.Balls[0] + r.IntN(p.Balls[1]-p.Balls[0]+1)
			s.Inside = hits(s.Balls, logistic(l.Level(j)+form), r)
		}
		l.forms = append(l.forms, form)
		l.Sessions = append(l.Sessions, s)
	}
	return l
}

// nextForm is the form of the session after one of a form: an autoregression
// whose standard deviation stays. Heavy innovations are Student's with five
// degrees of freedom, of the same variance.
func (l Learner) nextForm(last float64, heavy bool, r *rand.Rand) float64 {
	z := r.NormFloat64()
	if heavy {
		chi := 0.0
		for range 5 {
			x := r.NormFloat64()
			chi += x * x
		}
		z /= math.Sqrt(chi / 3)
	}
	return l.Memory*last + math.Sqrt(1-l.Memory*l.Memory)*l.Form*z
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
