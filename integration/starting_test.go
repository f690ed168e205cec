package integration_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"fringework/api"
)

// fittedTo is the drill that a skill gives a kind of block.
func fittedTo(t *testing.T, s api.Skill, kind string) api.Drill {
	t.Helper()
	for _, f := range s.Fitted {
		if f.Kind == kind {
			return f.Drill
		}
	}
	t.Fatalf("the skill %q gives a %s block nothing", s.Name, kind)
	return api.Drill{}
}

// A new academy takes the starting points as they are, writes a week for each,
// and publishes; what it changes later leaves the version as it was.
func testStartingPoints(t *testing.T, s *service) {
	coach := s.open(t, "Starter").coach
	points := read[api.StartingPoints](coach.caller, "/v1/starting-points").Items
	if len(points) < 4 {
		t.Fatalf("got %d starting points, want a choice", len(points))
	}
	var weeks []object
	var first api.Skill
	for _, point := range points {
		skill := made[api.Skill](coach.caller, "/v1/skills", point.Skill)
		for _, b := range point.Plan.Blocks {
			if d := cmp.Diff(fittedTo(t, skill, b.Kind), b.Drill); d != "" {
				t.Errorf("%s: the %s of the hour is not what the skill gives (-skill +hour)\n%s", point.Key, b.Kind, d)
			}
		}
		if first.ID == "" {
			first = skill
		}
		weeks = append(weeks, object{"skill_id": skill.ID, "plans": []api.Plan{point.Plan}})
	}
	id := coach.publish(object{"name": "Begun", "weeks": weeks})
	version := "/v1/programmes/" + string(id) + "/versions/1"
	before := read[api.Version](coach.caller, version)

	path := "/v1/skills/" + string(first.ID)
	own := []object{{"kind": "test", "text": "Ten balls.", "lies": []string{"fringe"}, "distances_m": []float64{1.3}, "clubs": []string{"putter"}, "carry_percent": 5}}
	coach.put(path, object{"name": first.Name, "kind": first.Kind, "ladder": first.Ladder, "drills": own}).want(200)
	changed := read[api.Skill](coach.caller, path)
	want := api.Drill{Text: "Ten balls.", Lies: []string{"fringe"}, DistancesM: []float64{1.3}, Clubs: []string{"putter"}, CarryPercent: 5, RadiusM: first.Ladder.Tiers[0].RadiusM}
	if d := cmp.Diff(want, fittedTo(t, changed, "test")); d != "" {
		t.Errorf("the test of the changed skill (-want +got)\n%s", d)
	}
	if d := cmp.Diff(before, read[api.Version](coach.caller, version)); d != "" {
		t.Errorf("the published version changed (-before +after)\n%s", d)
	}
	coach.post("/v1/programmes/"+string(id)+"/versions", nil).want(201)
	again := read[api.Version](coach.caller, "/v1/programmes/"+string(id)+"/versions/2")
	if len(again.Skills[0].Drills) != 1 || again.Skills[0].Drills[0].Text != "Ten balls." {
		t.Errorf("version 2 keeps the drills %+v, want the coach's", again.Skills[0].Drills)
	}

	two := []object{{"kind": "test", "lies": []string{"fringe", "rough"}}}
	p := coach.put(path, object{"name": first.Name, "kind": first.Kind, "ladder": first.Ladder, "drills": two}).problem(422, "skill_invalid")
	wrongAt(t, p, "/drills/0", "one spot")
	far := []object{{"kind": "random", "distances_m": []float64{1e9}}}
	p = coach.put(path, object{"name": first.Name, "kind": first.Kind, "ladder": first.Ladder, "drills": far}).problem(422, "skill_invalid")
	wrongAt(t, p, "/drills/0/distances_m/0", "a length")

	// A document carries the drills to another academy.
	document := coach.get("/v1/programmes/"+string(id)+"/document", header("Accept", "application/json")).want(200)
	other := s.open(t, "Receiver").coach
	var copied api.Programme
	other.do("POST", "/v1/programmes/import", string(document.body), header("Content-Type", "application/json")).want(201).into(&copied)
	skill := read[api.Skill](other.caller, "/v1/skills/"+string(copied.Draft.Weeks[0].SkillID))
	if d := cmp.Diff(changed.Fitted, skill.Fitted); d != "" {
		t.Errorf("the imported skill fits otherwise (-here +there)\n%s", d)
	}
}
