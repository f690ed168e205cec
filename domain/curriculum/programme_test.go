package curriculum_test

import (
	"slices"
	"testing"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
)

// Worked by hand: 20, 35, 15 and 30 % of 70 minutes are 14, 24.5, 10.5 and 21.
func TestBlockMinutes(t *testing.T) {
	plan := curriculum.Plan{Blocks: []curriculum.Block{{Share: 20}, {Share: 35}, {Share: 15}, {Share: 30}}}
	for minutes, want := range map[int][]int{80: {16, 28, 12, 24}, 70: {14, 25, 10, 21}} {
		plan.Minutes = minutes
		if got := plan.BlockMinutes(); !slices.Equal(got, want) {
			t.Errorf("%d minutes: got %v, want %v", minutes, got, want)
		}
	}
	plan.Blocks[0].Share = -1
	if got := plan.BlockMinutes(); got != nil {
		t.Errorf("a split that breaks the rules gives %v, want nothing", got)
	}
}

// Worked by hand: 15 % of 45 minutes are 405 seconds, whatever whole minutes the block
// gets.
func TestBlockSeconds(t *testing.T) {
	plan := curriculum.Plan{Minutes: 45, Blocks: []curriculum.Block{{Share: 20}, {Share: 25}, {Share: 15}, {Share: 40}}}
	if got, want := plan.BlockSeconds(), []int{540, 675, 405, 1080}; !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	plan.Minutes = 1
	if got, want := plan.BlockSeconds(), []int{12, 15, 9, 24}; !slices.Equal(got, want) {
		t.Errorf("a minute: got %v, want %v", got, want)
	}
	plan.Blocks[0].Share = 19
	if got := plan.BlockSeconds(); got != nil {
		t.Errorf("shares of 99 %% give %v, want nothing", got)
	}
}

func TestBlockKinds(t *testing.T) {
	oneSpot := map[curriculum.BlockKind]bool{
		curriculum.Warmup: true, curriculum.Technique: true, curriculum.Stations: false, curriculum.Random: false, curriculum.Test: true, curriculum.Playout: false,
	}
	kinds := curriculum.BlockKinds()
	if len(kinds) != len(oneSpot) {
		t.Errorf("there are %d kinds, want %d", len(kinds), len(oneSpot))
	}
	for _, k := range kinds {
		if want, ok := oneSpot[k]; !ok || k.OneSpot() != want {
			t.Errorf("%s is played from one spot: got %v, want %v", k, k.OneSpot(), want)
		}
	}
}

func TestSkillsOfContent(t *testing.T) {
	c := domaintest.Programme("pitch", "chip")
	if got, want := c.SkillIDs(), []domain.ID{"pitch", "chip"}; !slices.Equal(got, want) {
		t.Errorf("got skills %v, want %v", got, want)
	}
	second := c.Weeks[1]
	if got := second.SkillOf(second.Plans[0].Blocks[0]); got != "pitch" {
		t.Errorf("the warm-up trains %q, want pitch", got)
	}
	if got := second.SkillOf(second.Plans[0].Blocks[3]); got != "chip" {
		t.Errorf("the test trains %q, want the week's chip", got)
	}
	second.Plans = append(second.Plans, curriculum.Plan{Times: 3})
	if got := second.Sessions(); got != 5 {
		t.Errorf("a plan twice and one three times make %d sessions, want 5", got)
	}
	v := curriculum.Version{Skills: []curriculum.Skill{{ID: "pitch", Name: "Pitch"}}}
	if s, ok := v.SkillByID("pitch"); !ok || s.Name != "Pitch" {
		t.Errorf("got %v, %v, want the pitch", s, ok)
	}
	if _, ok := v.SkillByID("chip"); ok {
		t.Error("found a skill that the version does not train")
	}
}
