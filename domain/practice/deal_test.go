package practice_test

import (
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/practice"
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
		tasks := practice.Tasks(drill)
		deck := practice.Deal(drill, rapid.IntRange(0, 150).Draw(t, "balls"), rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1)))
		came := map[practice.Task]int{}
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
		deck := practice.Deal(drill, 24, rand.New(rand.NewPCG(seed, 2)))
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
	first := practice.Deck(drill, 20, "s", day, 1, 4)
	if again := practice.Deck(drill, 20, "s", day, 1, 4); !slices.Equal(first, again) {
		t.Error("the same day dealt another deck")
	}
	if next := practice.Deck(drill, 20, "s", day.AddDays(1), 1, 4); slices.Equal(first, next) {
		t.Error("the next day dealt the same deck")
	}
}
