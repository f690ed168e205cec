package integration_test

import (
	"slices"
	"strings"
	"testing"

	"fringework/api"
)

// measured is a first test or an end test.
func measured(block object, purpose string) object {
	block["purpose"] = purpose
	return block
}

// A first test says where to begin: the coach is asked, and the student need not wait.
// An end test is held against it, for the coach's page and the report.
func testTests(t *testing.T, s *service) {
	a := s.open(t, "Tested")
	skill := a.coach.skill("Pitch", object{"tiers": []object{{"run": 9, "radius_m": wide}, {"run": 15, "radius_m": wide}}}).ID
	programme := a.coach.publish(course("Placed", skill))
	as := a.coach.assign(programme, ago(-24*3), a.student)[0]
	path := "/v1/students/" + string(a.student.id)
	tests := func() api.StudentTests { return read[api.StudentTests](a.student.caller, path+"/tests") }

	due := read[api.Now](a.student.caller, path+"/now").Tests
	if len(due) != 1 || due[0].Purpose != "first_test" || due[0].SkillName != "Pitch" || due[0].Left != 20 || due[0].Drill.RadiusM == 0 || due[0].AssignmentID != as.ID {
		t.Fatalf("asked for %+v", due)
	}
	switched := func(asked bool) []api.TestDue {
		var got api.AssignmentDetail
		a.coach.post("/v1/assignments/"+string(as.ID)+"/tests", object{"asked": asked}).want(200).into(&got)
		if got.Tests != asked {
			t.Errorf("asked is %v, want %v", got.Tests, asked)
		}
		return tests().Due
	}
	if off := switched(false); len(off) != 0 {
		t.Errorf("switched off it asks for %+v", off)
	}
	if on := switched(true); len(on) != 1 {
		t.Errorf("switched on it asks for %+v", on)
	}
	a.student.post("/v1/students/"+string(a.student.id)+"/start", object{"skill_id": skill}).problem(409, "nothing_proposed")

	// Stopped after twelve balls, and gone on with.
	id, start := newID(), ago(5)
	few := measured(test(skill, in(3)+strings.Repeat(".", 9)), "first_test")
	a.student.store(id, sessionBody(1, start, few), 201)
	if got := tests().Skills; len(got) != 1 || got[0].Unfinished == nil || got[0].Unfinished.Left != 8 || got[0].First != nil {
		t.Fatalf("unfinished: %+v", got)
	}
	wrongAt(t, a.student.put(sessionPath(id), sessionBody(2, start, measured(test(skill, in(21)), "first_test"))).problem(422, "session_invalid"), "/blocks/0/balls", "has 21 balls")
	whole := measured(test(skill, in(3)+strings.Repeat(".", 9)+in(3)+strings.Repeat(".", 5)), "first_test")
	a.student.store(id, sessionBody(2, start, whole), 200)
	got := tests()
	if len(got.Due) != 0 || got.Skills[0].Unfinished != nil || got.Skills[0].First == nil || got.Skills[0].First.Inside != 6 || len(got.Starts) == 0 {
		t.Fatalf("measured: %+v", got)
	}
	starts := func() (of []api.Proposal) {
		for _, x := range read[api.Proposals](a.coach.caller, "/v1/proposals").Students {
			for _, item := range x.Items {
				if item.Move == "start" && item.Adjustment != nil {
					of = append(of, item)
				}
			}
		}
		return of
	}
	proposed := starts()
	if len(proposed) == 0 || !strings.HasPrefix(proposed[0].Label, "Begin with ") || !strings.Contains(proposed[0].Reason, "6 of 20 inside") || proposed[0].Chance.Of != "three_sessions" || proposed[0].Chance.Then < 0.85 {
		t.Fatalf("proposed: %+v", proposed)
	}

	begin := func() api.AdjustmentResults {
		var out api.AdjustmentResults
		a.student.post(path+"/start", object{"skill_id": skill}).want(200).into(&out)
		return out
	}
	given := begin()
	if len(given.Results) != len(proposed) || given.Results[0].Adjustment == nil || given.Results[0].Adjustment.CreatedBy != a.student.id || !strings.HasPrefix(given.Results[0].Adjustment.Text, "After your first test: begin with ") {
		t.Fatalf("begun: %+v", given)
	}
	if left := starts(); len(left) != 0 {
		t.Errorf("still proposed: %+v", left)
	}
	ladder := skillOf(t, progressOf(a.student.caller, a.student.id), skill)
	if *ladder.NextTier != *given.Results[0].Adjustment.Tier {
		t.Errorf("next is %+v, want the step to begin with", ladder.NextTier)
	}
	a.student.post("/v1/adjustments/"+string(given.Results[0].Adjustment.ID)+"/end", nil).problem(403, "role_refused")
	for _, r := range given.Results {
		a.coach.post("/v1/adjustments/"+string(r.Adjustment.ID)+"/end", nil).want(200)
	}
	if again := starts(); len(again) != len(proposed) {
		t.Errorf("undone, it is proposed as %+v", again)
	}
	var refused []object
	for _, x := range proposed {
		refused = append(refused, object{"student_id": a.student.id, "skill_id": skill, "kind": x.Adjustment.Kind})
	}
	a.coach.post("/v1/proposals/refusals", object{"items": refused}).want(200)
	a.student.post(path+"/start", object{"skill_id": skill}).problem(409, "nothing_proposed")
	wrongAt(t, a.student.post(path+"/start", object{}).problem(422, "start_invalid"), "/skill_id", "is missing")

	// A ladder may begin with a step of its own, once.
	last := object{"kind": "step", "skill_id": skill, "tier": object{"run": 15, "radius_m": wide}, "begins": true}
	if r := a.coach.adjust(a.student.id, last); r.Problem != nil || !r.Adjustment.Begins {
		t.Fatalf("beginning later: %+v", r)
	}
	if next := skillOf(t, progressOf(a.student.caller, a.student.id), skill); next.NextTier.Run != 15 || next.Tiers != 1 {
		t.Errorf("it begins with %+v of %d", next.NextTier, next.Tiers)
	}
	if r := a.coach.adjust(a.student.id, last); r.Problem == nil || r.Problem.Code != "adjusted_already" {
		t.Errorf("beginning twice: %+v", r)
	}

	endTest(t, a)
}

// endTest has a student tested before and after a programme of a week.
func endTest(t *testing.T, a academy) {
	t.Helper()
	skill := a.coach.skill("Chip", object{"tiers": []object{{"run": 5, "radius_m": wide}}}).ID
	student := a.coach.join("Before After", object{"role": "student"})
	a.coach.assign(a.coach.publish(course("One week", skill)), ago(24*9), student)
	student.practise(ago(24*10), measured(test(skill, strings.Repeat("+...", 5)), "first_test"))
	asked := read[api.Now](student.caller, "/v1/students/"+string(student.id)+"/now").Tests
	if len(asked) != 1 || asked[0].Purpose != "end_test" || asked[0].Drill.RadiusM != wide {
		t.Fatalf("asked for %+v", asked)
	}
	warm := student.practise(ago(24*4), test(skill, in(5)), measured(test(skill, in(20)), "end_test"))
	tests := func() api.SkillTests {
		return read[api.StudentTests](a.owner.caller, "/v1/students/"+string(student.id)+"/tests").Skills[0]
	}
	if got := tests(); got.Change != nil || got.Warm == nil || got.Warm.Inside != 20 {
		t.Errorf("after other balls it is not compared: %+v of %s", got, warm.ID)
	}
	student.practise(ago(24*3), measured(test(skill, strings.Repeat("+++.", 5)), "end_test"))
	got := tests()
	if got.Warm != nil || got.End == nil || got.End.Inside != 15 || got.Change == nil || got.Change.Interval80.Low <= 0 || got.Change.Mean >= 0.5 {
		t.Fatalf("compared: %+v", got)
	}
	for _, words := range []string{"5 of 20 balls in the first test", "15 of 20 in the end test", "more of 100 balls", "not what caused it"} {
		if !strings.Contains(got.Change.Text, words) {
			t.Errorf("%q lacks %q", got.Change.Text, words)
		}
	}
	link := made[api.ReportLinkCreated](a.owner.caller, "/v1/students/"+string(student.id)+"/report-links", object{"days": 7}).Link
	var report api.SharedReport
	a.owner.as("").post("/v1/shared-reports", object{"token": link[strings.LastIndex(link, "#")+1:]}).want(200).into(&report)
	if i := slices.IndexFunc(report.Skills, func(s api.SharedSkill) bool { return s.Change != nil }); i < 0 || report.Skills[i].Change.Mean != got.Change.Mean {
		t.Errorf("the report has %+v", report.Skills)
	}
}
