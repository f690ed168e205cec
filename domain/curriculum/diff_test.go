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
				Carry: 30, Radius: domain.Metre, MoreOfMisses: true}
		}, nil, []curriculum.Change{
			{b + "/kind", "week 1, plan 1, block 2", "kind", "technique", "test"},
			{b + "/share", "week 1, plan 1, block 2", "share", "25", "24"},
			{b + "/skill_id", "week 1, plan 1, block 2", "skill", "", "Chip-and-run"},
			{b + "/drill/text", "week 1, plan 1, block 2", "text", "One spot, one club.", "Go."},
			{b + "/drill/lies", "week 1, plan 1, block 2", "lies", "", "fringe, rough"},
			{b + "/drill/distances_m", "week 1, plan 1, block 2", "distances", "", "3 ft (0.91 m), 1 m (3.3 ft)"},
			{b + "/drill/clubs", "week 1, plan 1, block 2", "clubs", "wedge", ""},
			{b + "/drill/carry_percent", "week 1, plan 1, block 2", "share in the air", "0", "30"},
			{b + "/drill/radius_m", "week 1, plan 1, block 2", "target radius", "5 ft (1.52 m)", "1 m (3.3 ft)"},
			{b + "/drill/more_of_misses", "week 1, plan 1, block 2", "more of what is missed", "no", "yes"},
		}},
		{"blocks more and less", func(c *curriculum.Content) {
			c.Weeks[0].Plans[0].Blocks = append(c.Weeks[0].Plans[0].Blocks, curriculum.Block{Kind: curriculum.Test, Share: 5})
			c.Weeks[1].Plans[0].Blocks = c.Weeks[1].Plans[0].Blocks[:3]
		}, nil, []curriculum.Change{
			{"/weeks/0/plans/0/blocks/4", "week 1, plan 1, block 5", "added", "", "test, 5 %"},
			{"/weeks/1/plans/0/blocks/3", "week 2, plan 1, block 4", "removed", "test, 25 %", ""},
		}},
	} {
		if got := curriculum.Diff(version(edited(nil)), version(edited(c.change), c.skills...), domain.Length.String); !slices.Equal(got, c.want) {
			t.Errorf("%s:\ngot  %v\nwant %v", c.why, got, c.want)
		}
	}
}

// TestDiffSeesWords: a comma inside a word is not a comma between two.
func TestDiffSeesWords(t *testing.T) {
	with := func(lies ...string) curriculum.Version {
		return version(edited(func(c *curriculum.Content) { block(c, 2).Drill.Lies = lies }))
	}
	if got := curriculum.Diff(with("rough, deep"), with("rough", "deep"), domain.Length.String); len(got) != 1 {
		t.Errorf("one lie became two: got %v, want one change", got)
	}
}

// TestDiffSkillGone: a skill taken up or dropped is told where it was used.
func TestDiffSkillGone(t *testing.T) {
	gone := curriculum.Diff(version(domaintest.Programme("pitch", "chip")), version(domaintest.Programme("pitch", "pitch")), domain.Length.String)
	if len(gone) != 1 || gone[0].Pointer != "/weeks/1/skill_id" {
		t.Errorf("got %v, want the change of week 2's skill alone", gone)
	}
	unknown := curriculum.Diff(curriculum.Version{Content: edited(nil)}, version(edited(nil)), domain.Length.String)
	if len(unknown) != 0 {
		t.Errorf("skills without a frozen copy: got %v, want no change", unknown)
	}
}

// TestDiffForAReader: lengths as the reader writes them, told apart even where
// they look alike, and each change with its week.
func TestDiffForAReader(t *testing.T) {
	after := version(edited(func(c *curriculum.Content) {
		c.Text = "For spring."
		block(c, 3).Drill.Radius++ // a tenth of a millimetre
		c.Weeks[1].Plans[0].Blocks[2].Drill.Distances = []domain.Length{10 * domain.Metre, 20 * domain.Foot}
		c.Weeks = append(c.Weeks, curriculum.Week{Title: "Third"})
	}))
	for _, c := range []struct {
		metric bool
		want   []curriculum.Change
	}{
		{false, []curriculum.Change{
			{"/text", "programme", "text", "", "For spring."},
			{"/weeks/0/plans/0/blocks/3/drill/radius_m", "week 1, plan 1, block 4", "target radius", "5 ft", "5 ft"},
			{"/weeks/1/plans/0/blocks/2/drill/distances_m", "week 2, plan 1, block 3", "distances", "", "32.8 ft, 20 ft"},
			{"/weeks/2", "week 3", "added", "", "Third"},
		}},
		{true, []curriculum.Change{
			{"/text", "programme", "text", "", "For spring."},
			{"/weeks/0/plans/0/blocks/3/drill/radius_m", "week 1, plan 1, block 4", "target radius", "1.52 m", "1.52 m"},
			{"/weeks/1/plans/0/blocks/2/drill/distances_m", "week 2, plan 1, block 3", "distances", "", "10 m, 6.1 m"},
			{"/weeks/2", "week 3", "added", "", "Third"},
		}},
	} {
		got := curriculum.Diff(version(edited(nil)), after, func(l domain.Length) string { return l.In(c.metric) })
		if !slices.Equal(got, c.want) {
			t.Errorf("in metres %v:\ngot  %v\nwant %v", c.metric, got, c.want)
		}
		for i, want := range []int{0, 1, 2, 3} {
			if week := got[i].Week(); week != want {
				t.Errorf("%s is in week %d, want %d", got[i].Pointer, week, want)
			}
		}
	}
	if week := (curriculum.Change{Pointer: "/weeks"}).Week(); week != 0 {
		t.Errorf("all weeks together are week %d, want 0", week)
	}
	if week := (curriculum.Change{Pointer: "/weeks/first"}).Week(); week != 0 {
		t.Errorf("a week without a number is week %d, want 0", week)
	}
}

// TestDiffOfLadders: a tenth of a millimetre in a step's circle, and whether only
// tests count, are changes even where the words look alike.
func TestDiffOfLadders(t *testing.T) {
	nudged, strict := known()["pitch"], known()["pitch"]
	nudged.Ladder.Tiers = slices.Clone(nudged.Ladder.Tiers)
	nudged.Ladder.Tiers[0].Radius++
	strict.Ladder.TestOnly = true
	for _, skill := range []curriculum.Skill{nudged, strict} {
		got := curriculum.Diff(version(edited(nil)), version(edited(nil), skill), func(l domain.Length) string { return l.In(false) })
		if len(got) != 1 || got[0].What != "ladder" || got[0].Before != "9 in a row inside 5 ft; 18 in a row inside 5 ft, 1 holed" {
			t.Errorf("got %v, want a changed ladder", got)
		}
	}
}
