package integration_test

import (
	"fringework/api"
	"fringework/domain"
	"slices"
	"strings"
	"testing"
)

// A coach changes what one student works by: the phone shows it at once, sessions
// are kept against it, and undone it is gone. The version stays byte for byte the
// same, and another student of it sees nothing.
func testAdjustments(t *testing.T, s *service) {
	a := s.open(t, "Adjuster")
	skill := a.coach.skill("Pitch", pitchSteps()).ID
	content := course("Adjusted", skill)
	blocks := content["weeks"].([]object)[0]["plans"].([]object)[0]["blocks"].([]object)
	blocks[0]["drill"].(object)["distances_m"], blocks[2]["drill"].(object)["distances_m"] = []float64{16, 20, 25}, []float64{20}
	programme := a.coach.publish(content)
	other := a.coach.join("Twin", object{"role": "student"})
	a.owner.put("/v1/students/"+string(other.id)+"/coaches/"+string(a.coach.id), nil).want(204)
	a.coach.assign(programme, ago(24), a.student, other)
	a.coach.asPublished(a.student)
	version := func() string {
		return string(a.coach.get("/v1/programmes/" + string(programme) + "/versions/1").want(200).body)
	}
	now := func(p *person) api.Now { return read[api.Now](p.caller, "/v1/students/"+string(p.id)+"/now") }
	same := func(x, y api.Now) bool {
		return slices.EqualFunc(x.Work[0].Week.Plans, y.Work[0].Week.Plans, func(p, q api.NowPlan) bool {
			return slices.EqualFunc(p.Blocks, q.Blocks, func(b, c api.NowBlock) bool {
				return b.Share == c.Share && b.Minutes == c.Minutes && b.Drill.RadiusM == c.Drill.RadiusM
			})
		})
	}
	published, before, twin := version(), now(a.student), now(other)
	text := "Closer in for a while."

	got := a.coach.adjust(a.student.id, object{"kind": "radius", "skill_id": skill, "radius_m": 1.5, "text": text, "reason": "outgrown"})
	if got.Problem != nil || got.Adjustment.Text != text || got.Adjustment.Reason != "outgrown" || got.Adjustment.From != before.On {
		t.Fatalf("got %+v (%+v)", got.Adjustment, got.Problem)
	}
	after := now(a.student)
	for _, b := range after.Work[0].Week.Plans[0].Blocks {
		if b.Drill.RadiusM != 1.5 {
			t.Errorf("block %d is judged at %v m, want 1.5", b.Number, b.Drill.RadiusM)
		}
	}
	if told := after.Work[0].Adjustments; len(told) != 1 || told[0].ID != got.Adjustment.ID || told[0].Text != text {
		t.Errorf("the phone is told %+v, want the coach's words", told)
	}
	if version() != published || !same(now(other), twin) || len(now(other).Work[0].Adjustments) != 0 {
		t.Errorf("the version or another student changed")
	}
	if again := a.coach.adjust(a.student.id, object{"kind": "radius", "skill_id": skill, "radius_m": 1.5}); again.Problem == nil || again.Problem.Code != "adjusted_already" {
		t.Errorf("twice: %+v", again)
	}

	// A second of the kind is refused while the first stands; the shot moves in by a
	// part of each block's own distances.
	if second := a.coach.adjust(a.student.id, object{"kind": "radius", "skill_id": skill, "radius_m": 1.2}); second.Problem == nil || second.Problem.Status != 409 || !strings.Contains(second.Problem.Detail, "Closer in for a while") {
		t.Errorf("a second circle: %+v", second)
	}
	closer := a.coach.adjust(a.student.id, object{"kind": "distance", "skill_id": skill, "distance_percent": 67})
	if closer.Problem != nil || closer.Adjustment.DistancePercent != 67 || closer.Adjustment.AssignmentID != "" {
		t.Fatalf("from closer in: %+v (%+v)", closer.Adjustment, closer.Problem)
	}
	for i, want := range map[int][]float64{0: {10, 13, 16}, 2: {13}} {
		if got := now(a.student).Work[0].Week.Plans[0].Blocks[i].Drill.DistancesM; !slices.Equal(got, want) {
			t.Errorf("block %d is played from %v m, want %v", i+1, got, want)
		}
	}
	a.coach.post("/v1/adjustments/"+string(closer.Adjustment.ID)+"/end", nil).want(200)

	// An extra step becomes the next one, and its milestone stands.
	extra := a.coach.adjust(a.student.id, object{"kind": "step", "skill_id": skill, "tier": object{"run": 3, "radius_m": wide}})
	if extra.Problem != nil {
		t.Fatalf("a step before the first is refused: %+v", extra.Problem)
	}
	if next := skillOf(t, progressOf(a.coach.caller, a.student.id), skill).NextTier; next == nil || next.Run != 3 {
		t.Errorf("next is %+v, want three in a row", next)
	}
	a.student.practise(ago(3), test(skill, in(3)))
	at := skillOf(t, progressOf(a.coach.caller, a.student.id), skill)
	if at.Held != 1 || len(at.Milestones) != 1 || at.Milestones[0].Tier.Run != 3 || at.NextTier.Run != 4 {
		t.Errorf("after three in a row: %d held, %+v, next %+v", at.Held, at.Milestones, at.NextTier)
	}

	for _, id := range []domain.ID{got.Adjustment.ID, extra.Adjustment.ID} {
		var ended api.Adjustment
		a.coach.post("/v1/adjustments/"+string(id)+"/end", nil).want(200).into(&ended)
		if ended.EndedAt == nil || ended.EndedBy != a.coach.id {
			t.Errorf("undone: %+v", ended)
		}
	}
	if !same(now(a.student), before) || len(now(a.student).Work[0].Adjustments) != 0 {
		t.Errorf("undone, the phone shows %+v", now(a.student).Work[0])
	}
	at = skillOf(t, progressOf(a.coach.caller, a.student.id), skill)
	if at.Tiers != 2 || at.Held != 0 || len(at.Milestones) != 1 {
		t.Errorf("undone: %d of %d held and %+v; want none of two, and the milestone kept", at.Held, at.Tiers, at.Milestones)
	}
	all := read[api.AdjustmentList](a.student.caller, "/v1/students/"+string(a.student.id)+"/adjustments").Items
	if len(all) < 3 || all[2].Kind != "radius" || all[0].ID != extra.Adjustment.ID || all[1].EndedAt == nil {
		t.Errorf("the student's list has %+v", all)
	}
	if version() != published {
		t.Error("the version is not what was published")
	}

	for what, c := range map[string]struct {
		body           object
		pointer, words string
	}{
		"an easy step":         {object{"kind": "step", "skill_id": skill, "tier": object{"run": 2, "radius_m": wide}}, "/tier", "passed it"},
		"a step of the ladder": {object{"kind": "step", "skill_id": skill, "tier": object{"run": 4, "radius_m": wide}}, "/tier", "is a step of the student's ladder already"},
		"a skill of nobody":    {object{"kind": "radius", "skill_id": newID(), "radius_m": 2}, "/skill_id", "does not train this skill"},
		"what changes nothing": {object{"kind": "sessions", "sessions_per_week": 9}, "/sessions_per_week", "changes nothing"},
	} {
		if got := a.coach.adjust(a.student.id, c.body); got.Problem == nil || got.Problem.Status != 422 || len(got.Problem.Errors) == 0 ||
			got.Problem.Errors[0].Pointer != c.pointer || !strings.Contains(got.Problem.Errors[0].Detail, c.words) {
			t.Errorf("%s: got %+v, want %s: … %s", what, got, c.pointer, c.words)
		}
	}
	wrongAt(t, a.coach.post("/v1/adjustments", object{"items": []object{{"student_id": a.student.id, "kind": "wish"}}}).problem(422, "adjustment_invalid"), "/items/0/kind", "use one of step")
	wrongAt(t, a.coach.post("/v1/adjustments", object{"items": []object{{"student_id": a.student.id, "kind": "radius", "skill_id": skill, "radius_m": 1, "from": "2020-01-01"}}}).problem(422, "adjustment_invalid"), "/items/0/from", "is over")
	a.coach.post("/v1/adjustments", object{"items": []object{}}).problem(422, "adjustment_invalid")
}
