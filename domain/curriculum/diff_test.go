package curriculum_test

import (
	"slices"
	"testing"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/streak"
)

func version(c curriculum.Content, skills ...curriculum.Skill) curriculum.Version {
	v := curriculum.Version{Content: c}
	k := known()
	for _, id := range c.SkillIDs() {
		if i := slices.IndexFunc(skills, func(s curriculum.Skill) bool { return s.ID == id }); i >= 0 {
			v.Skills = append(v.Skills, skills[i])
		} else {
			v.Skills = append(v.Skills, k[id])
		}
	}
	return v
}

func TestDiff(t *testing.T) {
	const b = "/weeks/0/plans/0/blocks/1"
	twin := curriculum.Skill{ID: "twin", Name: "Pitch"}
	stricter := known()["pitch"]
	stricter.Name, stricter.Kind, stricter.Text = "High pitch", curriculum.Lob, "Up and soft."
	stricter.Ladder = streak.Ladder{Tiers: []streak.Tier{{Run: 9, Radius: domain.Metre}}, TestOnly: true}
	drilled := known()["pitch"]
	drilled.Drills = []curriculum.SkillDrill{
		{Kind: curriculum.Test, Text: "Ten balls.", Lies: []string{"fringe", "rough"}, Distances: []domain.Length{12 * domain.Metre}, Clubs: []string{"52"}, Carry: 60},
		{Kind: curriculum.Technique, Text: "Slowly.", Carry: 1},
	}
	for _, c := range []struct {
		why    string
		change func(c *curriculum.Content)
		skills []curriculum.Skill
		want   []curriculum.Change
	}{
		{"nothing", func(*curriculum.Content) {}, nil, nil},
		{"the whole", func(c *curriculum.Content) {
			c.Name, c.Text, c.Limits = "Three", "For spring.", []curriculum.Limit{{curriculum.Test, 15, 100}}
		}, nil, []curriculum.Change{
			{"/name", "programme", "name", "Two weeks", "Three"},
			{"/text", "programme", "text", "", "For spring."},
			{"/limits", "programme", "limits", "", "test 15 to 100 %"},
		}},
		{"a skill, told once wherever it is used", func(*curriculum.Content) {}, []curriculum.Skill{stricter}, []curriculum.Change{
			{"/skills", "skill High pitch", "name", "Pitch", "High pitch"},
			{"/skills", "skill High pitch", "kind", "pitch", "lob"},
			{"/skills", "skill High pitch", "text", "", "Up and soft."},
			{"/skills", "skill High pitch", "ladder", "9 in a row inside 5 ft (1.52 m); 18 in a row inside 5 ft (1.52 m), 1 holed", "9 in a row inside 1 m (3.3 ft); tests only"},
		}},
		{"what blocks take from a skill", func(*curriculum.Content) {}, []curriculum.Skill{drilled}, []curriculum.Change{
			{"/skills", "skill Pitch", "drill of a technique block", "", "Slowly.; 1 % in the air"},
			{"/skills", "skill Pitch", "drill of a test block", "", "Ten balls.; fringe, rough; 12 m (39.4 ft); 52; 60 % in the air"},
		}},
		{"a week", func(c *curriculum.Content) {
			c.Weeks[1].Title, c.Weeks[1].Text, c.Weeks[1].Skill = "Last", "Go.", "pitch"
		}, nil, []curriculum.Change{
			{"/weeks/1/title", "week 2", "title", "Second", "Last"},
			{"/weeks/1/text", "week 2", "text", "", "Go."},
			{"/weeks/1/skill_id", "week 2", "skill", "Chip-and-run", "Pitch"},
		}},
		{"another skill of the same name", func(c *curriculum.Content) { c.Weeks[0].Skill = "twin" }, []curriculum.Skill{twin},
			[]curriculum.Change{{"/weeks/0/skill_id", "week 1", "skill", "Pitch (pitch)", "Pitch (twin)"}}},
		{"a week more", func(c *curriculum.Content) { c.Weeks = append(c.Weeks, curriculum.Week{}) }, nil,
			[]curriculum.Change{{"/weeks/2", "week 3", "added", "", "untitled"}}},
		{"a week less", func(c *curriculum.Content) { c.Weeks = c.Weeks[:1] }, nil,
			[]curriculum.Change{{"/weeks/1", "week 2", "removed", "Second", ""}}},
		{"a plan", func(c *curriculum.Content) {
			p := &c.Weeks[0].Plans[0]
			p.Name, p.Minutes, p.Times = "Two hours", 120, 1
			c.Weeks[0].Plans = append(c.Weeks[0].Plans, curriculum.Plan{Minutes: 30})
			c.Weeks[1].Plans = nil
		}, nil, []curriculum.Change{
			{"/weeks/0/plans/0/name", "week 1, plan 1", "name", "Hour", "Two hours"},
			{"/weeks/0/plans/0/minutes", "week 1, plan 1", "minutes", "60", "120"},
			{"/weeks/0/plans/0/times", "week 1, plan 1", "times a week", "2", "1"},
			{"/weeks/0/plans/1", "week 1, plan 2", "added", "", "30 minutes"},
			{"/weeks/1/plans/0", "week 2, plan 1", "removed", "Hour", ""},
		}},
		{"a block", func(c *curriculum.Content) {
			x := block(c, 1)
			x.Kind, x.Share, x.Skill = curriculum.Test, 24, "chip"
			x.Drill = curriculum.Drill{Text: "Go.", Lies: []string{"fringe", "rough"}, Distances: []domain.Length{domain.Yard, domain.Metre},
				Carry: 30, Radius: domain.Metre}
		}, nil, []curriculum.Change{
			{b + "/kind", "week 1, plan 1, block 2", "kind", "technique", "test"},
			{b + "/share", "week 1, plan 1, block 2", "share", "25", "24"},
			{b + "/skill_id", "week 1, plan 1, block 2", "skill", "", "Chip-and-run"},
			{b + "/drill/text", "week 1, plan 1, block 2", "text", "One spot, one club.", "Go."},
			{b + "/drill/lies", "week 1, plan 1, block 2", "lies", "", "fringe, rough"},
			{b + "/drill/distances_m", "week 1, plan 1, block 2", "distances", "", "3 ft (0.91 m), 1 m (3.3 ft)"},
			{b + "/drill/clubs", "week 1, plan 1, block 2", "clubs", "wedge", ""},
			{b + "/drill/carry_percent", "week 1, plan 1, block 2", "carry", "0", "30"},
			{b + "/drill/radius_m", "week 1, plan 1, block 2", "target radius", "5 ft (1.52 m)", "1 m (3.3 ft)"},
		}},
		{"blocks more and less", func(c *curriculum.Content) {
			c.Weeks[0].Plans[0].Blocks = append(c.Weeks[0].Plans[0].Blocks, curriculum.Block{Kind: curriculum.Test, Share: 5})
			c.Weeks[1].Plans[0].Blocks = c.Weeks[1].Plans[0].Blocks[:3]
		}, nil, []curriculum.Change{
			{"/weeks/0/plans/0/blocks/4", "week 1, plan 1, block 5", "added", "", "test, 5 %"},
			{"/weeks/1/plans/0/blocks/3", "week 2, plan 1, block 4", "removed", "test, 25 %", ""},
		}},
	} {
		if got := curriculum.Diff(version(edited(nil)), version(edited(c.change), c.skills...)); !slices.Equal(got, c.want) {
			t.Errorf("%s:\ngot  %v\nwant %v", c.why, got, c.want)
		}
	}
}

// TestDiffSeesWords: a comma inside a word is not a comma between two.
func TestDiffSeesWords(t *testing.T) {
	with := func(lies ...string) curriculum.Version {
		return version(edited(func(c *curriculum.Content) { block(c, 2).Drill.Lies = lies }))
	}
	if got := curriculum.Diff(with("rough, deep"), with("rough", "deep")); len(got) != 1 {
		t.Errorf("one lie became two: got %v, want one change", got)
	}
}

// TestDiffSkillGone: a skill taken up or dropped is told where it was used.
func TestDiffSkillGone(t *testing.T) {
	gone := curriculum.Diff(version(domaintest.Programme("pitch", "chip")), version(domaintest.Programme("pitch", "pitch")))
	if len(gone) != 1 || gone[0].Pointer != "/weeks/1/skill_id" {
		t.Errorf("got %v, want the change of week 2's skill alone", gone)
	}
	unknown := curriculum.Diff(curriculum.Version{Content: edited(nil)}, version(edited(nil)))
	if len(unknown) != 0 {
		t.Errorf("skills without a frozen copy: got %v, want no change", unknown)
	}
}
