package curriculum_test

import (
	"slices"
	"testing"

	"fringework/domain"
	"fringework/domain/curriculum"
)

func TestMatchWeeks(t *testing.T) {
	week := func(skill domain.ID, minutes int) curriculum.Week {
		return curriculum.Week{Skill: skill, Plans: []curriculum.Plan{{Minutes: minutes, Times: 2, Blocks: []curriculum.Block{
			{Kind: curriculum.Technique, Share: 60, Drill: curriculum.Drill{Lies: []string{"fairway"}, Distances: []domain.Length{9 * domain.Metre}}},
			{Kind: curriculum.Test, Share: 40},
		}}}}
	}
	changed := func(w curriculum.Week, change func(*curriculum.Week)) curriculum.Week {
		w.Plans = slices.Clone(w.Plans)
		w.Plans[0].Blocks = slices.Clone(w.Plans[0].Blocks)
		change(&w)
		return w
	}
	pitch, chip, lob := week("pitch", 60), week("chip", 60), week("lob", 60)
	renamed := changed(pitch, func(w *curriculum.Week) {
		w.Title, w.Text, w.Plans[0].Name, w.Plans[0].Blocks[0].Drill.Text = "New", "words", "for", "it"
	})
	for _, c := range []struct {
		why           string
		before, after []curriculum.Week
		want          []int
	}{
		{"nothing moved", []curriculum.Week{pitch, chip}, []curriculum.Week{pitch, chip}, []int{1, 2}},
		{"two changed places", []curriculum.Week{pitch, chip}, []curriculum.Week{chip, pitch}, []int{2, 1}},
		{"one was put in front", []curriculum.Week{pitch, chip}, []curriculum.Week{lob, pitch, chip}, []int{2, 3}},
		{"one was taken out", []curriculum.Week{pitch, lob, chip}, []curriculum.Week{pitch, chip}, []int{1, 0, 2}},
		{"words do not matter", []curriculum.Week{chip, pitch}, []curriculum.Week{renamed, chip}, []int{2, 1}},
		{"twins keep their order", []curriculum.Week{pitch, pitch, chip}, []curriculum.Week{chip, pitch, pitch}, []int{3, 2, 1}},
		{"rewritten in place", []curriculum.Week{pitch, chip}, []curriculum.Week{week("pitch", 45), chip}, []int{1, 2}},
		{"rewritten and moved", []curriculum.Week{pitch, chip}, []curriculum.Week{chip, week("pitch", 45)}, []int{2, 1}},
		{"the one alike before the one rewritten", []curriculum.Week{pitch, week("pitch", 45)}, []curriculum.Week{week("pitch", 45)}, []int{0, 1}},
		{"another skill instead", []curriculum.Week{pitch}, []curriculum.Week{chip}, []int{0}},
		{"none before", nil, []curriculum.Week{chip}, []int{}},
	} {
		if got := curriculum.MatchWeeks(curriculum.Content{Weeks: c.before}, curriculum.Content{Weeks: c.after}); !slices.Equal(got, c.want) {
			t.Errorf("%s: got %v, want %v", c.why, got, c.want)
		}
	}
	// What tells two weeks of one skill apart: each change makes the twin, which
	// stands second, the better match.
	for what, change := range map[string]func(*curriculum.Week){
		"times":         func(w *curriculum.Week) { w.Plans[0].Times = 3 },
		"a plan more":   func(w *curriculum.Week) { w.Plans = append(w.Plans, w.Plans[0]) },
		"a block less":  func(w *curriculum.Week) { w.Plans[0].Blocks = w.Plans[0].Blocks[:1] },
		"kind":          func(w *curriculum.Week) { w.Plans[0].Blocks[0].Kind = curriculum.Random },
		"share":         func(w *curriculum.Week) { w.Plans[0].Blocks[0].Share = 61 },
		"block's skill": func(w *curriculum.Week) { w.Plans[0].Blocks[0].Skill = "lob" },
		"lies":          func(w *curriculum.Week) { w.Plans[0].Blocks[0].Drill.Lies = []string{"bunker"} },
		"clubs":         func(w *curriculum.Week) { w.Plans[0].Blocks[0].Drill.Clubs = []string{"56"} },
		"distances":     func(w *curriculum.Week) { w.Plans[0].Blocks[0].Drill.Distances = []domain.Length{8 * domain.Metre} },
		"carry":         func(w *curriculum.Week) { w.Plans[0].Blocks[0].Drill.Carry = 50 },
		"radius":        func(w *curriculum.Week) { w.Plans[0].Blocks[0].Drill.Radius = domain.Metre },
	} {
		got := curriculum.MatchWeeks(curriculum.Content{Weeks: []curriculum.Week{pitch}}, curriculum.Content{Weeks: []curriculum.Week{changed(pitch, change), pitch}})
		if !slices.Equal(got, []int{2}) {
			t.Errorf("%s: got %v, want the week that is alike, 2", what, got)
		}
	}
	own := changed(pitch, func(w *curriculum.Week) { w.Plans[0].Blocks[0].Skill = "pitch" })
	if got := curriculum.MatchWeeks(curriculum.Content{Weeks: []curriculum.Week{pitch}}, curriculum.Content{Weeks: []curriculum.Week{week("pitch", 45), own}}); !slices.Equal(got, []int{2}) {
		t.Errorf("a block that names the week's own skill: got %v, want it alike, 2", got)
	}
}
