package main

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"fringework/domain/advice"
	"fringework/domain/curriculum"
)

// TestProposalsOnStudents plays a programme with students of the published population,
// as it is and with every proposal accepted. Those who learn best at a middling
// challenge reach its later steps sooner, by more than chance explains, and the others
// are not later by more than chance explains.
func TestProposalsOnStudents(t *testing.T) {
	trial := Trial{
		Population: Unseen, Challenge: advice.DefaultChallenge, Students: 60, Seed: 11,
		Accept: []curriculum.AdjustmentKind{curriculum.ExtraStep, curriculum.OtherRadius, curriculum.OtherShares},
	}
	for _, kind := range Kinds {
		c := trial.compare(Published[2], kind)
		t.Logf("\n%v", c)
		for i, s := range c.Steps {
			better, worse := s.Difference+s.Within < 0, s.Difference-s.Within > 0
			if worse || kind == Challenged && i == 2 && !better {
				t.Errorf("%s, step %d: %+.1f sessions, give or take %.1f", kind, i+1, s.Difference, s.Within)
			}
		}
		if c.Moves[advice.Hold] == 0 || c.Moves[advice.Ease] == 0 || c.Moves[advice.MoveTime] == 0 {
			t.Errorf("%s: some move was never proposed: %v", kind, c.Moves)
		}
	}
}

// TestStudents: what makes the kinds differ.
func TestStudents(t *testing.T) {
	for _, p := range []Population{Setting, Second, Unseen} {
		r := rand.New(rand.NewPCG(1, 1))
		learned := func(k Kind, chance float64) float64 { // by a thousand balls at a chance of success
			s := Student{Kind: k, Sigma: 1, Gain: 1e-4, Floor: 0.3, Peak: 0.65, Width: 0.15, Heart: 1, law: p.law}
			for range 1000 {
				circle := s.Sigma * math.Sqrt(-2*math.Log1p(-chance))
				s.strike(circle, 0, r)
			}
			return 1 - s.Sigma
		}
		best, hard, easy := learned(Challenged, 0.65), learned(Challenged, 0.3), learned(Challenged, 0.95)
		if hard > best/2 || easy > best/2 {
			t.Errorf("%s: a challenged student learns %v at the best, %v and %v off it", p.Name, best, hard, easy)
		}
		if a, b := learned(Even, 0.3), learned(Even, 0.95); math.Abs(a-b) > 1e-9 {
			t.Errorf("%s: an even student learns %v and %v", p.Name, a, b)
		}
		s := Student{Kind: Disheartened, Heart: 1, law: p.law}
		for range 8 {
			s.felt(0.3, false)
		}
		low := s.Heart
		if low > 0.5 || s.law.leaves(s) <= 0 {
			t.Errorf("%s: after eight failing sessions the heart is %v", p.Name, low)
		}
		s.felt(0.3, true)
		if s.Heart <= low {
			t.Errorf("%s: a step passed leaves the heart at %v", p.Name, s.Heart)
		}
		e := Student{Kind: Even, Heart: 1, law: p.law}
		if e.felt(0, false); e.Heart != 1 || !e.comes(r) {
			t.Errorf("%s: only a disheartened student loses heart", p.Name)
		}
	}
}

// TestFirstShare: the first balls come to rest inside the first circle in the share
// that is drawn.
func TestFirstShare(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	for range 100 {
		s := Unseen.Draw(Even, 1.5, r)
		if share := -math.Expm1(-1.5 * 1.5 / (2 * s.Sigma * s.Sigma)); share < Unseen.Share[0]-1e-9 || share > Unseen.Share[1]+1e-9 {
			t.Fatalf("got a share of %v", share)
		}
	}
}

// TestTable: the command prints a part for each programme and kind.
func TestTable(t *testing.T) {
	var b strings.Builder
	short := Published[0]
	short.Weeks = 3
	Trial{Population: Unseen, Challenge: 0.7, Students: 2, Seed: 1}.print(&b, []Programme{short})
	for _, want := range append([]string{"Population unseen", short.Name}, string(Challenged), string(Even), string(Disheartened)) {
		if !strings.Contains(b.String(), want) {
			t.Errorf("got\n%s\nwithout %q", b.String(), want)
		}
	}
}
