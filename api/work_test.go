package api

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// What a client reads of a draft can be sent back and is the same draft.
func TestContentRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := contentOf(skillsOf().Draw(t, "skills")).Draw(t, "content")
		text, err := encode(encodeContent(want))
		if err != nil {
			t.Fatal(err)
		}
		var r ProgrammeContent
		if err := decodeBytes(text, &r); err != nil {
			t.Fatal(errorText(err))
		}
		got, err := r.read()
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, got, cmpopts.EquateEmpty()); diff != "" {
			t.Fatalf("the draft changed (-want +got):\n%s", diff)
		}
	})
}

func TestContentDefaults(t *testing.T) {
	var r ProgrammeContent
	if err := decodeBytes([]byte(`{"name": "N", "limits": [{"kind": "test", "at_least": 15}, {"kind": "random", "at_most": 0}],
		"weeks": [{"plans": [{"minutes": 60}, {"minutes": 60, "times": 0}]}]}`), &r); err != nil {
		t.Fatal(err)
	}
	c, err := r.read()
	if err != nil {
		t.Fatal(err)
	}
	want := []curriculum.Limit{{Kind: curriculum.Test, AtLeast: 15, AtMost: 100}, {Kind: curriculum.Random}}
	if !cmp.Equal(c.Limits, want) {
		t.Errorf("limits: got %+v, want %+v", c.Limits, want)
	}
	if c.Weeks[0].Plans[0].Times != 1 {
		t.Errorf("times left out: got %d, want 1", c.Weeks[0].Plans[0].Times)
	}
	if err := c.CheckDraft(nil); err == nil || !strings.Contains(err.Error(), "/weeks/0/plans/1/times") {
		t.Errorf("times of 0: got %v, want a refusal there", err)
	}
}

func TestContentRefusals(t *testing.T) {
	r := ProgrammeContent{Name: "N", Weeks: []Week{{SkillID: "pitch", Plans: []Plan{{Minutes: 60, Blocks: []Block{
		{SkillID: "lob", Drill: Drill{RadiusM: 1e6, DistancesM: []float64{1, -2000}}},
	}}}}}}
	_, err := r.read()
	var got []string
	for _, f := range domain.FieldsOf(err) {
		got = append(got, f.Pointer)
	}
	want := []string{"/weeks/0/skill_id", "/weeks/0/plans/0/blocks/0/skill_id", "/weeks/0/plans/0/blocks/0/drill/radius_m", "/weeks/0/plans/0/blocks/0/drill/distances_m/1"}
	if !cmp.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

// Minutes are told once the shares make a split: a plan of an hour in four
// equal quarters has 15 minutes each (common practice, no source).
func TestPlanMinutes(t *testing.T) {
	quarter := curriculum.Block{Kind: curriculum.Test, Share: 25}
	whole := encodePlan(curriculum.Plan{Minutes: 60, Times: 1, Blocks: []curriculum.Block{quarter, quarter, quarter, quarter}})
	for i, b := range whole.Blocks {
		if b.Minutes != 15 {
			t.Errorf("block %d: got %d minutes, want 15", i+1, b.Minutes)
		}
	}
	if got := encodePlan(curriculum.Plan{Minutes: 60, Blocks: []curriculum.Block{{Kind: curriculum.Test}}}).Blocks[0].Minutes; got != 0 {
		t.Errorf("without shares: got %d minutes, want none", got)
	}
}

func TestReadAssign(t *testing.T) {
	id := domain.ID("0198c5f2-0000-7000-8000-00000000000a")
	two := 2
	got, err := AssignRequest{ProgrammeID: id, Version: &two, StudentIDs: []domain.ID{id}, StartDate: "2026-05-04"}.read()
	want := academy.AssignRequest{Programme: id, Version: 2, Students: []domain.ID{id}, Start: domain.Date{Year: 2026, Month: time.May, Day: 4}}
	if diff := cmp.Diff(want, got); err != nil || diff != "" {
		t.Errorf("%v, -want +got:\n%s", err, diff)
	}
	_, err = AssignRequest{GroupID: "juniors", StudentIDs: []domain.ID{id, ""}}.read()
	var pointers []string
	for _, f := range domain.FieldsOf(err) {
		pointers = append(pointers, f.Pointer)
	}
	if want := []string{"/group_id", "/student_ids/1", "/programme_id", "/start_date"}; !cmp.Equal(pointers, want) {
		t.Errorf("got %v, want %v", pointers, want)
	}
	for _, bad := range []string{"4 May 2026", "2026-02-30", "2026-5-4"} {
		if _, err := (AssignRequest{ProgrammeID: id, StudentIDs: []domain.ID{id}, StartDate: bad}).read(); err == nil {
			t.Errorf("start_date %q was accepted", bad)
		}
	}
}

func TestEncodeAssignment(t *testing.T) {
	start := domain.Date{Year: 2026, Month: time.May, Day: 4}
	a := academy.Assignment{ID: "a", Start: start, Sessions: 1, Pauses: []academy.Pause{{From: start.AddDays(7), Until: start.AddDays(9)}, {From: start.AddDays(20), Reason: "holiday"}}}
	got := encodeAssignment(a)
	want := []Pause{{From: "2026-05-11", Until: "2026-05-13"}, {From: "2026-05-24", Reason: "holiday"}}
	if got.StartDate != "2026-05-04" || !cmp.Equal(got.Pauses, want) {
		t.Errorf("got %+v", got)
	}
	c := curriculum.Content{Name: "N", Weeks: []curriculum.Week{{Plans: []curriculum.Plan{{Times: 2}}}, {}, {}}}
	d := encodeAssignmentDetail(a, c, start.AddDays(3))
	if d.Position != (Position{Phase: "running", Week: 1, Day: 4}) || d.Weeks != 3 || d.Planned != 1 {
		t.Errorf("on day 4: got %+v", d)
	}
}

func TestEncodeNow(t *testing.T) {
	chip, pitch := curriculum.Skill{ID: "chip", Name: "Chip"}, curriculum.Skill{ID: "pitch", Name: "Pitch"}
	weeks := []curriculum.Week{{Skill: "chip"}, {Title: "Second", Skill: "pitch", Plans: []curriculum.Plan{{Minutes: 50, Times: 2, Blocks: []curriculum.Block{
		{Kind: curriculum.Warmup, Share: 30, Skill: "chip", Drill: curriculum.Drill{Radius: 6 * domain.Foot}}, {Kind: curriculum.Test, Share: 70, Drill: curriculum.Drill{Radius: 8 * domain.Foot}},
	}}}}}
	start := domain.Date{Year: 2026, Month: time.May, Day: 4}
	version := curriculum.Version{Number: 3, Content: curriculum.Content{Name: "Two weeks", Weeks: weeks}, Skills: []curriculum.Skill{chip, pitch}}
	ladder := streak.Ladder{Tiers: []streak.Tier{{Run: 5, Radius: 6 * domain.Foot}}}
	got := encodeNow(academy.Now{
		Student: academy.Member{ID: "s", Name: "Mira Holt", TimeZone: "Europe/Lisbon", Units: academy.FeetAndYards}, On: start.AddDays(7),
		Work: []academy.Work{
			{Assignment: academy.Assignment{ID: "a", Version: 3, Start: start}, Version: version, Position: academy.Position{Phase: academy.Running, Week: 2, Day: 1},
				WeekStart: start.AddDays(7), Weeks: weeks, Week: &weeks[1], Done: academy.WeekDone{Sessions: map[int]int{1: 1}}},
			{Assignment: academy.Assignment{ID: "b", Start: start.AddDays(30)}, Version: version, Position: academy.Position{Phase: academy.Upcoming}, Weeks: weeks, WeekStart: start.AddDays(30)},
		},
		Skills: []academy.OpenSkill{
			{Skill: pitch, State: progress.State{Skill: "pitch", Ladder: ladder}},
			{Skill: chip, State: progress.State{Skill: "chip", Ladder: ladder, Near: streak.Near{Runs: 2, Length: 4, Times: 2}}, Earlier: true},
		},
	})
	if got.On != "2026-05-11" || got.Units != "feet" {
		t.Errorf("got %+v", got)
	}
	week := got.Work[0].Week
	if week == nil || week.Number != 2 || week.StartsOn != "2026-05-11" || week.Plans[0].Done != 1 || week.Plans[0].Times != 2 {
		t.Fatalf("week: got %+v", week)
	}
	blocks := week.Plans[0].Blocks
	// 30 and 70 % of 50 minutes.
	if blocks[0].Minutes != 15 || blocks[1].Minutes != 35 || blocks[0].SkillName != "Chip" || blocks[1].SkillID != "pitch" || blocks[1].Number != 2 || blocks[1].BallsAnHour != 105 || blocks[1].Balls != 61 {
		t.Errorf("blocks: got %+v", blocks)
	}
	if got.Work[1].Week != nil || got.Work[1].Position.Phase != "upcoming" {
		t.Errorf("upcoming: got %+v", got.Work[1])
	}
	if s := got.Skills[1]; !s.Earlier || s.Near.Text != "reached 4 of 5, twice" || s.NextTier.Run != 5 {
		t.Errorf("earlier skill: got %+v", s)
	}
}
