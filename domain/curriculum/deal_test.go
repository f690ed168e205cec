package curriculum_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"fringework/domain"
	"fringework/domain/curriculum"
)

// evenly deals a drill's tasks all alike.
func evenly(t testing.TB, d curriculum.Drill, n int, seed uint64) []curriculum.Task {
	t.Helper()
	return dealt(t, curriculum.Evenly(d), n, seed)
}

func dealt(t testing.TB, all []curriculum.Weighted, n int, seed uint64) []curriculum.Task {
	t.Helper()
	deck, err := curriculum.Deal(all, n, seed)
	if err != nil {
		t.Fatal(err)
	}
	return deck
}

// grid is a random grid with random weights, and what follows from them.
type grid struct {
	all             []curriculum.Weighted
	n               int
	sum, most, some int // of the weights; some are above 0
}

func randomGrid(rng *rand.Rand) grid {
	var g grid
	var d curriculum.Drill
	for i := range rng.IntN(5) {
		d.Lies = append(d.Lies, fmt.Sprint("lie ", i))
	}
	for i := range rng.IntN(4) {
		d.Distances = append(d.Distances, domain.Length(5+i)*domain.Metre)
	}
	for i := range rng.IntN(4) {
		d.Clubs = append(d.Clubs, fmt.Sprint("club ", i))
	}
	g.all = curriculum.Evenly(d)
	if rng.IntN(4) > 0 { // the others stay alike
		top := []int{2, 4, 20, curriculum.MaxWeight}[rng.IntN(4)]
		for i := range g.all {
			g.all[i].Weight = rng.IntN(top + 1)
		}
	}
	for _, w := range g.all {
		g.sum, g.most = g.sum+w.Weight, max(g.most, w.Weight)
		if w.Weight > 0 {
			g.some++
		}
	}
	g.n = 1 + rng.IntN(100)
	return g
}

// TestDealKeepsItsPromises over 10,000 random grids: no task twice in a row; each as
// often as its due, rounded up or down; along the way within one of its share or,
// where one weighs more than all others together, within two; the same seed deals
// the same. Or the refusal says why: one task is so heavy that its due, rounded down,
// leaves no other ball between two of its own, or nothing has a weight.
func TestDealKeepsItsPromises(t *testing.T) {
	refused, kept := 0, 0
	for seed := range uint64(10_000) {
		g := randomGrid(rand.New(rand.NewPCG(seed, 5)))
		deck, err := curriculum.Deal(g.all, g.n, seed)
		if err != nil {
			refused++
			g.checkRefusal(t, err)
			continue
		}
		kept++
		if len(deck) != g.n {
			t.Fatalf("seed %d: %d tasks dealt, want %d", seed, len(deck), g.n)
		}
		if again := dealt(t, g.all, g.n, seed); !slices.Equal(deck, again) {
			t.Fatalf("seed %d dealt twice: %v and %v", seed, deck, again)
		}
		g.checkDeck(t, deck)
	}
	if refused < 500 || kept < 5000 {
		t.Errorf("%d grids refused and %d dealt: too few of a kind to say anything", refused, kept)
	}
}

func (g grid) checkDeck(t *testing.T, deck []curriculum.Task) {
	t.Helper()
	limit := g.sum // in balls times the sum of weights, so that nothing is rounded
	if 2*g.most > g.sum {
		limit *= 2
	}
	came := map[curriculum.Task]int{}
	for i, task := range deck {
		if came[task]++; i > 0 && deck[i-1] == task && g.some > 1 {
			t.Fatalf("%+v: ball %d repeats %v at once", g, i+1, task)
		}
		for _, w := range g.all {
			off := came[w.Task]*g.sum - (i+1)*w.Weight
			if off < 0 {
				off = -off
			}
			if off > limit {
				t.Fatalf("%+v: after ball %d %v came %d times, which is %.2f off its share", g, i+1, w.Task, came[w.Task], float64(off)/float64(g.sum))
			}
			if i == g.n-1 && off >= g.sum {
				t.Fatalf("%+v: in the end %v came %d times, due are %.2f", g, w.Task, came[w.Task], float64(g.n*w.Weight)/float64(g.sum))
			}
		}
	}
}

func (g grid) checkRefusal(t *testing.T, err error) {
	t.Helper()
	var e *domain.Error
	if !errors.As(err, &e) || e.Kind != domain.Invalid || len(e.Fields) != 1 {
		t.Fatalf("%+v: refused with %v, want one reason", g, err)
	}
	switch at := e.Fields[0]; {
	case g.some == 0:
		if at.Pointer != "/tasks" || !strings.Contains(at.Detail, "every task has weight 0") {
			t.Fatalf("%+v: refused with %v, want that nothing has a weight", g, err)
		}
	default:
		heavy := slices.IndexFunc(g.all, func(w curriculum.Weighted) bool { return w.Weight == g.most })
		due := int(math.Floor(float64(g.n) * (float64(g.most) / float64(g.sum))))
		if at.Pointer != fmt.Sprintf("/tasks/%d/weight", heavy) || !strings.Contains(at.Detail, "more than half") || due <= (g.n+1)/2 {
			t.Fatalf("%+v: refused with %v, though %d of %d can be dealt", g, err, due, g.n)
		}
	}
}

// TestDealAtTheHalf: of three balls one task may have two, and of four two, but of
// five it must not have four: with weights of 7 and 2 it is due 3.9.
func TestDealAtTheHalf(t *testing.T) {
	two := func(a, b int) []curriculum.Weighted {
		return []curriculum.Weighted{{curriculum.Task{Club: "a"}, a}, {curriculum.Task{Club: "b"}, b}}
	}
	for _, c := range []struct {
		a, b, n int
		want    int // how often a comes; -1 when refused
	}{
		{2, 1, 3, 2}, {1, 1, 4, 2}, {7, 2, 5, 3}, {4, 1, 5, -1}, {3, 1, 4, -1}, {3, 1, 3, 2}, {9, 1, 1, 1}, {1, 0, 5, 5}, {7, 3, 5, 3}, {3, 2, 10, -1}, {11, 9, 10, 5}, {6, 5, 11, 6},
	} {
		deck, err := curriculum.Deal(two(c.a, c.b), c.n, 3)
		got := -1
		if err == nil {
			got = 0
			for _, task := range deck {
				if task.Club == "a" {
					got++
				}
			}
		}
		if got != c.want {
			t.Errorf("weights %d and %d, %d balls: a came %d times, want %d (%v)", c.a, c.b, c.n, got, c.want, err)
		}
	}
}

// TestDealRefuses says where and how to correct it.
func TestDealRefuses(t *testing.T) {
	a, b := curriculum.Task{Club: "a"}, curriculum.Task{Lie: "rough", Distance: 9 * domain.Metre, Club: "b"}
	for _, c := range []struct {
		name string
		all  []curriculum.Weighted
		n    int
		want string
	}{
		{"nothing", nil, 10, "/tasks"},
		{"no weight", []curriculum.Weighted{{a, 0}}, 10, "/tasks"},
		{"too many balls", []curriculum.Weighted{{a, 1}}, 2001, "/balls"},
		{"none", []curriculum.Weighted{{a, 1}}, 0, "/balls"},
		{"twice", []curriculum.Weighted{{a, 1}, {b, 1}, {a, 1}}, 10, "/tasks/2"},
		{"weights", []curriculum.Weighted{{a, -1}, {b, 1_000_000_001}}, 10, "/tasks/0/weight /tasks/1/weight"},
		{"too heavy", []curriculum.Weighted{{a, 1}, {b, 3}}, 10, "/tasks/1/weight"},
	} {
		_, err := curriculum.Deal(c.all, c.n, 1)
		var e *domain.Error
		if !errors.As(err, &e) || e.Kind != domain.Invalid {
			t.Errorf("%s: %v, want a refusal", c.name, err)
			continue
		}
		var at []string
		for _, f := range e.Fields {
			at = append(at, f.Pointer)
		}
		if strings.Join(at, " ") != c.want {
			t.Errorf("%s: refused at %v, want %s", c.name, at, c.want)
		}
	}
	_, err := curriculum.Deal([]curriculum.Weighted{{a, 1}, {b, 3}}, 10, 1)
	for _, want := range []string{"rough from 9 m (29.5 ft) with b is due 7 of 10 balls", "which is 1"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("%v does not say %q", err, want)
		}
	}
	for n, all := range map[int][]curriculum.Weighted{2000: {{a, 1_000_000_000}, {b, 1_000_000_000}}, 1: {{a, 1}}} {
		if deck := dealt(t, all, n, 1); len(deck) != n {
			t.Errorf("at the bounds %d were dealt, want %d", len(deck), n)
		}
	}
	if got := (curriculum.Task{Lie: "rough", Club: "b"}).String(); got != "rough with b" {
		t.Errorf("a task without a distance is %q", got)
	}
	for _, w := range curriculum.Evenly(curriculum.Drill{Clubs: []string{"a", "b"}}) {
		if w.Weight != 1 {
			t.Errorf("evenly, %v has the weight %d", w.Task, w.Weight)
		}
	}
}

// TestDealFollowsShares: weights of 3, 2 and 1 in 12 balls give 6, 4 and 2, and in
// any six running balls from the first, the seventh … 3, 2 and 1.
func TestDealFollowsShares(t *testing.T) {
	all := []curriculum.Weighted{{curriculum.Task{Lie: "bunker"}, 3}, {curriculum.Task{Lie: "rough"}, 2}, {curriculum.Task{Lie: "fringe"}, 1}}
	orders := map[string]bool{}
	for seed := range uint64(40) {
		deck := dealt(t, all, 12, seed)
		for half := range 2 {
			came := map[string]int{}
			for _, task := range deck[6*half : 6*half+6] {
				came[task.Lie]++
			}
			if came["bunker"] != 3 || came["rough"] != 2 || came["fringe"] != 1 {
				t.Errorf("seed %d: %v, want 3, 2 and 1 in each half", seed, deck)
			}
		}
		orders[fmt.Sprint(deck)] = true
	}
	if len(orders) < 4 {
		t.Errorf("40 seeds gave %d decks; chance is to decide what weights leave open", len(orders))
	}
}

// TestDealChangesEverything holds that with several lies, distances and clubs
// every ball has a new one of each, and each comes up evenly.
func TestDealChangesEverything(t *testing.T) {
	drill := curriculum.Drill{
		Lies: []string{"fairway", "light rough", "upslope"}, Clubs: []string{"52°", "56°", "60°"},
		Distances: []domain.Length{8 * domain.Metre, 14 * domain.Metre, 22 * domain.Metre},
	}
	for seed := range uint64(50) {
		deck := evenly(t, drill, 24, seed)
		clubs := map[string]int{}
		same := 0
		for i, task := range deck {
			clubs[task.Club]++
			if i > 0 && (task.Club == deck[i-1].Club || task.Lie == deck[i-1].Lie || task.Distance == deck[i-1].Distance) {
				same++
			}
		}
		if same > 3 {
			t.Errorf("seed %d: %d of 23 changes kept the lie, the distance or the club", seed, same)
		}
		for club, n := range clubs {
			if n < 6 || n > 10 {
				t.Errorf("seed %d: %s came %d times of 24", seed, club, n)
			}
		}
	}
}

// TestDealIsItsRule: with equal weights each task dealt is one of those that came
// least; of these it shares least with the task before; and of these its lie,
// distance and club together came least.
func TestDealIsItsRule(t *testing.T) {
	drill := curriculum.Drill{
		Lies: []string{"fairway", "bare", "upslope"}, Clubs: []string{"wedge", "eight", "fairway"},
		Distances: []domain.Length{6 * domain.Metre, 11 * domain.Metre},
	}
	tasks := curriculum.Tasks(drill)
	for seed := range uint64(20) {
		deck := evenly(t, drill, 40, seed)
		cost := func(x curriculum.Task, n int) [3]int {
			var c [3]int
			for i, d := range deck[:n] {
				same := 0
				for _, b := range []bool{d.Lie == x.Lie, d.Distance == x.Distance, d.Club == x.Club} {
					if b {
						same++
					}
				}
				if same == 3 {
					c[0]++
				}
				if i == n-1 {
					c[1] = same
				}
				c[2] += same
			}
			return c
		}
		for n, dealt := range deck {
			is := cost(dealt, n)
			for _, other := range tasks {
				if c := cost(other, n); slices.Compare(c[:], is[:]) < 0 {
					t.Fatalf("seed %d: ball %d is %+v (%v), though %+v (%v) was due", seed, n+1, dealt, is, other, c)
				}
			}
		}
	}
}

// TestDealLeavesTheRestToChance: the first of five tasks is each as often, and
// so is the second of the four left: within five standard deviations of a
// binomial count, by hand 5·√(4000·0.2·0.8) = 126 and 5·√(4000·0.05·0.95) = 69.
func TestDealLeavesTheRestToChance(t *testing.T) {
	drill := curriculum.Drill{Clubs: []string{"a", "b", "c", "d", "e"}}
	first, pair := map[string]int{}, map[string]int{}
	for seed := range uint64(4000) {
		deck := evenly(t, drill, 2, seed)
		first[deck[0].Club]++
		pair[deck[0].Club+deck[1].Club]++
	}
	for club, n := range first {
		if n < 800-126 || n > 800+126 {
			t.Errorf("%s came first %d times of 4000, want about 800", club, n)
		}
	}
	for two, n := range pair {
		if n < 200-69 || n > 200+69 {
			t.Errorf("%s came %d times of 4000, want about 200", two, n)
		}
	}
	if len(first) != 5 || len(pair) != 20 {
		t.Errorf("%d firsts and %d pairs, want 5 and 20", len(first), len(pair))
	}
	if one := evenly(t, curriculum.Drill{}, 3, 1); len(one) != 3 {
		t.Errorf("a drill with one task: dealt %v, want it three times", one)
	}
}
