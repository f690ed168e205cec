package integration_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"fringework/api"
)

// A left-handed beginner with three wedges of lofts of their own does a week on a mat and a
// carpet, since the green is closed, and nobody edits anything: each session counts, no
// step is passed, and the rate stays unknown. A junior's plan comes with changes that the
// coach sees and undoes.
func testOtherDays(t *testing.T, s *service) {
	a := s.open(t, "Otterday")
	coach, student := a.coach.in(t), a.student.in(t)
	path := "/v1/students/" + string(student.id)
	student.put(path+"/bag", object{"hand": "left", "clubs": []object{{"name": "Fifty", "loft_deg": 50}, {"name": "The low one", "loft_deg": 45}, {"name": "Sandy", "loft_deg": 55}}}).want(200)
	skill := coach.skill("Shut pitch", pitchSteps())
	programme := coach.publish(course("Shut weeks", skill.ID))
	as := coach.assign(programme, ago(72), student)[0]
	plan := read[api.Now](student.caller, path+"/now").Work[0].Week.Plans[0]
	days := read[api.StudentDays](student.caller, path+"/days")
	if len(days.Plans) != 1 || len(days.Plans[0].Versions) != 6 || len(days.Warmup) == 0 || len(days.Etiquette) == 0 || !days.Plans[0].Bring.String {
		t.Fatalf("other days: %+v", days)
	}
	closed := slices.DeleteFunc(slices.Clone(days.Plans[0].Versions), func(v api.PlanOnDay) bool { return v.Surface != "mat" && v.Surface != "carpet" })
	for _, v := range closed {
		if len(v.Bring.Clubs) == 0 || len(v.Cautions) == 0 || !strings.Contains(v.Counts, "no odds") {
			t.Errorf("on a %s: bring %+v, %q", v.Surface, v.Bring, v.Cautions)
		}
		for _, club := range v.Bring.Clubs {
			if !slices.Contains([]string{"Fifty", "The low one", "Sandy"}, club) {
				t.Errorf("on a %s: %q is none of the student's clubs", v.Surface, club)
			}
		}
	}
	for i := range plan.Times {
		v := closed[i%len(closed)]
		var blocks []object
		minute := 0
		for _, b := range v.Blocks {
			var struck []object
			for j := range b.Minutes {
				minute++
				ball := object{"outcome": "in", "after_s": 60 * minute}
				if len(b.Deck) > 0 {
					ball["distance_m"], ball["club"], ball["lie"] = b.Deck[j].DistanceM, b.Deck[j].Club, b.Deck[j].Lie
				}
				struck = append(struck, ball)
			}
			blocks = append(blocks, object{"plan_block": b.Number, "kind": b.Kind, "skill_id": b.SkillID, "radius_m": b.Drill.RadiusM, "seconds": 60 * b.Minutes, "balls": struck})
		}
		body := sessionBody(1, ago(60-24*i), blocks...)
		body["assignment_id"], body["week"], body["plan"], body["variant"], body["surface"] = as.ID, 1, plan.Number, v.Variant, v.Surface
		got := student.store(newID(), body, 201)
		if !got.Counts || len(got.Milestones) != 0 || got.Variant != v.Variant || got.Surface != v.Surface || len(got.Missed) != 0 {
			t.Errorf("session %d: counts %v, %d steps, missed %+v, notices %+v", i+1, got.Counts, len(got.Milestones), got.Missed, got.Notices)
		}
	}
	after := read[api.Now](student.caller, path+"/now")
	if done := after.Work[0].Week.Plans[0].Done; done != plan.Times || after.Skills[0].Held != 0 || after.Skills[0].Odds != nil {
		t.Errorf("afterwards: %d of %d done, %d steps held, odds %v", done, plan.Times, after.Skills[0].Held, after.Skills[0].Odds)
	}
	if got := skillOf(t, progressOf(coach.caller, student.id), skill.ID); got.Rate != nil {
		t.Errorf("a rate from a mat and a carpet: %+v", got.Rate)
	}
	for _, row := range read[api.Dashboard](coach.caller, "/v1/dashboard?reason=lapsed").Items {
		if row.Student.ID == student.id {
			t.Error("called lapsed after a whole week")
		}
	}

	draft := "/v1/programmes/" + string(programme) + "/days"
	shown := read[api.PlanDays](coach.caller, draft+"?week=1&plan=1")
	if len(shown.Versions) != 6 || len(shown.Versions[2].Blocks) != len(closed[0].Blocks) || shown.Versions[2].Blocks[1].Kind != closed[0].Blocks[1].Kind {
		t.Errorf("the coach sees %+v", shown)
	}
	coach.get(draft+"?week=9&plan=1").problem(404, "not_found")
	coach.get(draft+"?week=0&plan=1").problem(400, "parameter_invalid")

	junior := coach.join("Jutta", object{"role": "student", "junior": true})
	coach.assign(programme, time.Now(), junior)
	changes := read[api.AdjustmentList](coach.caller, "/v1/students/"+string(junior.id)+"/adjustments").Items
	if len(changes) == 0 || changes[len(changes)-1].Kind != "minutes" || changes[len(changes)-1].Minutes != 40 || changes[len(changes)-1].Text == "" {
		t.Fatalf("a junior's changes: %+v", changes)
	}
	minutes := func() int {
		return read[api.StudentDays](coach.caller, "/v1/students/"+string(junior.id)+"/days").Plans[0].Versions[1].Minutes
	}
	if got := minutes(); got != 40 {
		t.Errorf("a junior's hour is %d minutes, want 40", got)
	}
	coach.post("/v1/adjustments/"+string(changes[len(changes)-1].ID)+"/end", nil).want(200)
	if got := minutes(); got != 50 {
		t.Errorf("undone, it is %d minutes, want 50", got)
	}
	if got := coach.adjust(junior.id, object{"kind": "minutes", "minutes": 25}); got.Adjustment == nil || got.Adjustment.Minutes != 25 {
		t.Errorf("the coach's own: %+v", got)
	}
	wrongAt(t, coach.post("/v1/adjustments", object{"items": []object{{"student_id": junior.id, "kind": "minutes", "minutes": 3}}}).problem(422, "adjustment_invalid"), "/items/0/minutes", "5 to 240")
}
