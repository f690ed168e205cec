package curriculum_test

import (
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"fringework/domain"
	"fringework/domain/curriculum"
)

// TestDealIsEvenAndNeverRepeats holds what random practice needs: every task
// comes up as often as any other, give or take one, at any point of the deck,
// and no task comes twice in a row.
func TestDealIsEvenAndNeverRepeats(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.SliceOfNDistinct(rapid.StringMatching(`[a-z]{1,8}`), 0, 4, rapid.ID[string])
		drill := curriculum.Drill{Lies: words.Draw(t, "lies"), Clubs: words.Draw(t, "clubs")}
		for i := range rapid.IntRange(0, 4).Draw(t, "distances") {
			drill.Distances = append(drill.Distances, domain.Length(i+5)*domain.Metre)
		}
		tasks := curriculum.Tasks(drill)
		deck := curriculum.Deal(drill, rapid.IntRange(0, 150).Draw(t, "balls"), rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1)))
		came := map[curriculum.Task]int{}
		for i, task := range deck {
			came[task]++
			if i > 0 && deck[i-1] == task && len(tasks) > 1 {
				t.Fatalf("ball %d repeats %+v at once", i+1, task)
			}
			low, high := i+1, 0
			for _, x := range tasks {
				low, high = min(low, came[x]), max(high, came[x])
			}
			if high-low > 1 {
				t.Fatalf("after ball %d tasks came between %d and %d times", i+1, low, high)
			}
		}
		if len(came) > len(tasks) {
			t.Fatalf("dealt %d tasks, the drill has %d", len(came), len(tasks))
		}
	})
}

// TestDealChangesEverything holds that with several lies, distances and clubs
// every ball has a new one of each, and each comes up evenly.
func TestDealChangesEverything(t *testing.T) {
	drill := curriculum.Drill{
		Lies: []string{"fairway", "light rough", "upslope"}, Clubs: []string{"52°", "56°", "60°"},
		Distances: []domain.Length{8 * domain.Metre, 14 * domain.Metre, 22 * domain.Metre},
	}
	for seed := range uint64(50) {
		deck := curriculum.Deal(drill, 24, rand.New(rand.NewPCG(seed, 2)))
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

// TestDeckIsTheDays gives the same deck for the same day and place, and another
// for another.
func TestDeckIsTheDays(t *testing.T) {
	drill := curriculum.Drill{Lies: []string{"a", "b", "c"}, Clubs: []string{"x", "y", "z"}}
	day := domain.Date{Year: 2026, Month: 5, Day: 4}
	first := curriculum.Deck(drill, 20, "s", day, 1, 4)
	if again := curriculum.Deck(drill, 20, "s", day, 1, 4); !slices.Equal(first, again) {
		t.Error("the same day dealt another deck")
	}
	if next := curriculum.Deck(drill, 20, "s", day.AddDays(1), 1, 4); slices.Equal(first, next) {
		t.Error("the next day dealt the same deck")
	}
}

// TestDealIsItsRule: each task dealt is one of those that came least; of these
// it shares least with the task before; and of these its lie, distance and club
// together came least.
func TestDealIsItsRule(t *testing.T) {
	drill := curriculum.Drill{
		Lies: []string{"fairway", "bare", "upslope"}, Clubs: []string{"wedge", "eight", "fairway"},
		Distances: []domain.Length{6 * domain.Metre, 11 * domain.Metre},
	}
	tasks := curriculum.Tasks(drill)
	for seed := range uint64(20) {
		deck := curriculum.Deal(drill, 40, rand.New(rand.NewPCG(seed, 3)))
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
		deck := curriculum.Deal(drill, 2, rand.New(rand.NewPCG(seed, 4)))
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
	if one := curriculum.Deal(curriculum.Drill{}, 3, rand.New(rand.NewPCG(1, 2))); len(one) != 3 {
		t.Errorf("a drill with one task: dealt %v, want it three times", one)
	}
}
