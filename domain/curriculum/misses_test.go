package curriculum_test

import (
	"testing"

	"fringework/domain"
	"fringework/domain/curriculum"
)

// TestByMissesByHand: 30 balls with a, 24 missed; 30 with b, 6 missed; none with c
// and d. Of all 60 balls and the two added, 31 are missed: a half. With ten balls of
// that, a misses (24+5)/40 = 0.725, b (6+5)/40 = 0.275, c and d 0.5. The greatest is
// 900; b, at 0.379 of it, has 341, and c and d 621.
func TestByMissesByHand(t *testing.T) {
	drill := curriculum.Drill{Clubs: []string{"a", "b", "c", "d"}}
	count := func(club string, balls, inside int) curriculum.TaskCount {
		return curriculum.TaskCount{Task: curriculum.Task{Lie: "fringe", Distance: 8 * domain.Metre, Club: club}, Balls: balls, Inside: inside}
	}
	want := func(what string, got []curriculum.Weighted, weights ...int) {
		t.Helper()
		if len(got) != len(weights) {
			t.Fatalf("%s: %v", what, got)
		}
		for i, w := range weights {
			if got[i].Weight != w {
				t.Errorf("%s: %v has weight %d, want %d", what, got[i].Task, got[i].Weight, w)
			}
		}
	}
	want("by hand", curriculum.ByMisses(drill, []curriculum.TaskCount{count("a", 20, 4), count("b", 30, 24), count("a", 10, 2), count("e", 90, 0)}), 900, 341, 621, 621)
	want("no balls", curriculum.ByMisses(drill, nil), 900, 900, 900, 900)
	// One ball missed: of all, 2 of 3 are; a misses (1 + 6.67)/11 = 0.697, the others 0.667.
	want("one ball", curriculum.ByMisses(drill, []curriculum.TaskCount{count("a", 1, 0)}), 900, 861, 861, 861)
	// Nobody comes more than three times as often as another, …
	want("at most three times", curriculum.ByMisses(drill, []curriculum.TaskCount{count("a", 500, 0), count("b", 500, 500), count("c", 500, 500), count("d", 500, 500)}), 900, 300, 300, 300)
	// … nor more than all others together.
	drill.Clubs = drill.Clubs[:3]
	want("of three", curriculum.ByMisses(drill, []curriculum.TaskCount{count("a", 500, 0), count("b", 500, 500), count("c", 500, 500)}), 600, 300, 300)
	drill.Clubs = drill.Clubs[:2]
	want("of two", curriculum.ByMisses(drill, []curriculum.TaskCount{count("a", 500, 0), count("b", 500, 500)}), 300, 300)
	want("of one", curriculum.ByMisses(curriculum.Drill{}, []curriculum.TaskCount{count("a", 5, 0)}), 1)
}

// TestByMissesKnowsTheTask: a drill that names lie and distance tells balls apart by
// them, and one that leaves a club open takes any.
func TestByMissesKnowsTheTask(t *testing.T) {
	drill := curriculum.Drill{Lies: []string{"rough", "fringe"}, Distances: []domain.Length{6 * domain.Metre, 12 * domain.Metre}}
	missed := curriculum.Task{Lie: "fringe", Distance: 12 * domain.Metre, Club: "any"}
	heaviest := 0
	all := curriculum.ByMisses(drill, []curriculum.TaskCount{{Task: missed, Balls: 40}})
	for i, w := range all {
		if w.Weight > all[heaviest].Weight {
			heaviest = i
		}
	}
	if got := all[heaviest].Task; got.Lie != "fringe" || got.Distance != 12*domain.Metre || got.Club != "" || all[heaviest].Weight == all[0].Weight {
		t.Errorf("heaviest is %+v of %+v", got, all)
	}
}
