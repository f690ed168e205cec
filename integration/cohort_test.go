package integration_test

import (
	"testing"

	"fringework/api"
)

// The students of a programme together: those whose programme has begun, for each
// step how long it takes, and the time kept.
func testCohort(t *testing.T, s *service) {
	c := s.class(t)
	path := "/v1/programmes/" + string(c.programme) + "/cohort"
	got := read[api.Cohort](c.coach.caller, path)
	if got.Name != "Twelve weeks" || len(got.Students) != 3 || len(got.Versions) != 1 || got.Versions[0].Students != 3 || got.ComparedBy != "" || len(got.Groups) != 0 {
		t.Fatalf("%+v", got)
	}
	steps := len(pitchSteps()["tiers"].([]object))
	if len(got.Steps) != steps || got.Steps[0].SkillName != "Pitch" || got.Steps[0].Number != 1 || got.Steps[0].LogRank.CannotTell != "few_students" {
		t.Errorf("steps %+v", got.Steps)
	}
	passed := 0
	for _, x := range got.Steps {
		if x.Before+x.All.Students != 3 || x.All.Passed != x.Passed {
			t.Errorf("%+v, want each of three students before or at risk", x)
		}
		passed += x.Passed
	}
	for _, st := range got.Students {
		// The first of 21 days was 20 days ago.
		if st.Days != 21 || len(st.Skills) != 1 || st.Skills[0].Tiers != steps {
			t.Errorf("%+v", st)
		}
		passed -= st.StepsPassed
	}
	if passed != 0 {
		t.Errorf("steps and students differ by %d steps passed", passed)
	}
	if got.Time.Sessions != 9 || len(got.Time.Kinds) == 0 {
		t.Errorf("time %+v, want that of nine sessions", got.Time)
	}
	group := made[api.Group](c.coach.caller, "/v1/groups", object{"name": "One", "student_ids": []any{c.steady.id}}).ID
	one := read[api.Cohort](c.coach.caller, path+"?compare=group&version=1&group_id="+string(group))
	if len(one.Students) != 1 || one.Students[0].Student.ID != c.steady.id || one.Students[0].Sessions != 4 || len(one.Groups) != 1 {
		t.Errorf("one group: %+v", one)
	}
	if none := read[api.Cohort](c.coach.caller, path+"?version=2"); len(none.Students) != 0 {
		t.Errorf("version 2: %+v", none.Students)
	}
	tag := c.coach.get(path).want(200).header.Get("ETag")
	c.coach.get(path, header("If-None-Match", tag)).want(304)
	for _, query := range []string{"?compare=luck", "?version=0", "?version=x", "?group_id=x", "?by=group"} {
		c.coach.get(path+query).problem(400, "parameter_invalid")
	}
	c.coach.get("/v1/programmes/"+string(newID())+"/cohort").problem(404, "not_found")
	c.coach.get("/v1/programmes/x/cohort").problem(404, "not_found")
	c.steady.get(path).problem(403, "role_refused")
}
