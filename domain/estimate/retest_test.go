package estimate

import (
	"math"
	"math/rand/v2"
	"testing"

	"fringework/domain"
	"fringework/domain/streak"
)

// heldAfter are the shares of drawn students who are held after 1, 2 … retests.
func heldAfter(of func(*rand.Rand) gainer, seed uint64, warm bool, retests int) (shares []float64, gained float64) {
	r := rand.New(rand.NewPCG(seed, 3))
	shares = make([]float64, retests)
	for n := 0; n < *draws; {
		g := of(r)
		gain, ok := g.passed(r, warm)
		if !ok {
			continue
		}
		n++
		gained += gain / float64(*draws)
		at := HeldAt(g.step, g.retests(r, gain, warm, retests))
		for i := range shares {
			if at > 0 && at <= i+1 {
				shares[i] += 1 / float64(*draws)
			}
		}
	}
	return shares, gained
}

// Gains that are warm-up alone are passed and not held, true gains both: on the
// population that the limits were set on, and on another.
func TestHeld(t *testing.T) {
	for _, p := range []struct {
		name string
		of   func(*rand.Rand) gainer
		seed uint64
	}{{"setting", gainerOfSetting, 5}, {"report", gainerOfReport, 91}} {
		warm, warmGain := heldAfter(p.of, p.seed, true, 6)
		gain, trueGain := heldAfter(p.of, p.seed+1, false, 6)
		t.Logf("%s: gains of %.2f warm and %.2f true logits", p.name, warmGain, trueGain)
		for i := range warm {
			t.Logf("%s, %d retests: wrongly held %2.0f %%, wrongly not held %2.0f %%", p.name, i+1, 100*warm[i], 100*(1-gain[i]))
		}
		if warm[0] > 0.10 || warm[5] > 0.27 {
			t.Errorf("%s: %.3f of gains that are warm-up are held after one retest, %.3f after six", p.name, warm[0], warm[5])
		}
		if gain[1] < 0.4 || gain[5] < 0.65 {
			t.Errorf("%s: %.3f of true gains are held after two retests, %.3f after six", p.name, gain[1], gain[5])
		}
		if gain[0] < 3*warm[0] {
			t.Errorf("%s: one retest holds %.3f of true gains and %.3f of the others", p.name, gain[0], warm[0])
		}
	}
}

// The rate that is asked gives two chances in five by the odds themselves, whatever
// the circle and the holed balls.
func TestAskedCold(t *testing.T) {
	for _, c := range []struct{ run, balls int }{{2, 20}, {5, 20}, {6, 24}, {12, 48}} {
		rate := AskedCold(streak.Tier{Run: c.run, Holed: 1, Radius: domain.Metre})
		if got := runOdds(c.run, rate, c.balls); math.Abs(got-0.4) > 1e-9 {
			t.Errorf("%d in a row: %.6f is asked, which passes %d balls with %.6f", c.run, rate, c.balls, got)
		}
		if again := AskedCold(streak.Tier{Run: c.run}); again != rate {
			t.Errorf("%d in a row: %.6f is asked at first and then %.6f", c.run, rate, again)
		}
	}
}

// Worked by hand of 5 in a row: with p the rate that is asked and q the one 0.9 logits
// below, k inside of ten weigh k·ln(p/q) + (10−k)·ln((1−p)/(1−q)).
func TestHeldByHand(t *testing.T) {
	step := streak.Tier{Run: 5, Radius: domain.Metre}
	p := AskedCold(step)
	q := 1 / (1 + (1-p)/p*math.Exp(0.9))
	weigh := func(k float64) float64 { return k*math.Log(p/q) + (10-k)*math.Log((1-p)/(1-q)) }
	if weigh(6) < 1 || weigh(5) >= 1 || 2*weigh(5) >= 1 || 3*weigh(5) < 1 {
		t.Fatalf("10 balls weigh %.3f with 4, %.3f with 5, %.3f with 6 inside", weigh(4), weigh(5), weigh(6))
	}
	ten := func(inside ...int) (all []Retest) {
		for _, k := range inside {
			all = append(all, Retest{Balls: 10, Inside: k})
		}
		return all
	}
	for _, c := range []struct {
		why     string
		retests []Retest
		want    int
	}{
		{"none", nil, 0},
		{"six", ten(6), 1},
		{"five", ten(5), 0},
		{"five twice", ten(5, 5), 0},
		{"five thrice", ten(5, 5, 5), 3},
		{"held stays", ten(6, 0, 0), 1},
		{"old days weigh −1 at most", ten(0, 0, 6), 0},
		{"and are then made good", ten(0, 0, 6, 6), 4},
		{"one that was broken off holds nothing", []Retest{{Balls: 9, Inside: 9}}, 0},
		{"but it counts", append([]Retest{{Balls: 3, Inside: 3}}, ten(5)...), 2},
	} {
		if got := HeldAt(step, c.retests); got != c.want {
			t.Errorf("%s: held at %d, want %d", c.why, got, c.want)
		}
	}
}
