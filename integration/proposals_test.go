package integration_test

import (
	"slices"
	"strings"
	"testing"

	"fringework/api"
	"fringework/domain"
)

// Next week is proposed by what the academy wants; accepted as it stands it is an
// adjustment, undone it is proposed again, and refused it is not.
func testProposals(t *testing.T, s *service) {
	a := s.open(t, "Proposer")
	skill := a.coach.skill("Pitch", object{"tiers": []object{{"run": 9, "radius_m": wide}, {"run": 15, "radius_m": wide}}}).ID
	programme := a.coach.publish(course("Proposed", skill, skill, skill, skill))
	a.coach.assign(programme, ago(24*8), a.student)
	a.coach.asPublished(a.student)
	for i := range 3 {
		a.student.practise(ago(24*(3-i)), test(skill, strings.Repeat(in(3)+"..", 8)))
	}
	const path = "/v1/proposals"
	proposals := func() api.Proposals { return read[api.Proposals](a.coach.caller, path) }
	step := func(p api.Proposals) *api.Proposal {
		i := slices.IndexFunc(p.Students[0].Items, func(x api.Proposal) bool { return x.Adjustment != nil && x.Adjustment.Kind == "step" })
		if i < 0 {
			return nil
		}
		return &p.Students[0].Items[i]
	}
	got := proposals()
	if got.Challenge != 0.7 || len(got.Students) != 1 || got.Students[0].Student.ID != a.student.id {
		t.Fatalf("got %+v", got)
	}
	easier := step(got)
	if easier == nil || easier.Move != "ease" || easier.SkillName != "Pitch" || easier.Chance == nil || easier.Chance.Then < 1.3*easier.Chance.Now ||
		!strings.HasPrefix(easier.Label, "First ") || !strings.Contains(easier.Reason, "too hard for now") || easier.Adjustment.Until != "" {
		t.Fatalf("got %+v", easier)
	}
	tag := a.coach.get(path).want(200).header.Get("ETag")
	a.coach.get(path, header("If-None-Match", tag)).want(304)
	if none := read[api.Proposals](a.coach.caller, path+"?group_id="+string(newID())); len(none.Students) != 0 {
		t.Errorf("a group of nobody: got %+v", none)
	}

	a.owner.patch("/v1/academy", object{"challenge": 0.5}).want(200)
	if half := proposals(); half.Challenge != 0.5 || step(half) != nil {
		t.Errorf("nine in a row is not too hard when half is wanted: got %+v", half)
	}
	wrongAt(t, a.owner.patch("/v1/academy", object{"challenge": 0.95}).problem(422, "academy_invalid"), "/challenge", "from 50 to 90 %")
	a.owner.patch("/v1/academy", object{"challenge": 0.7}).want(200)

	refuse := func(again bool) object {
		return object{"again": again, "items": []object{{"student_id": a.student.id, "skill_id": skill, "kind": "step"}}}
	}
	var refused api.RefusalList
	a.coach.post(path+"/refusals", refuse(false)).want(200).into(&refused)
	if len(refused.Items) != 1 || refused.Items[0].Until == "" || refused.Items[0].By != a.coach.id || step(proposals()) != nil {
		t.Errorf("refused: %+v", refused)
	}
	var again api.RefusalList
	a.coach.post(path+"/refusals", refuse(true)).want(200).into(&again)
	if again.Items[0].Until != "" || step(proposals()) == nil {
		t.Errorf("proposed again: %+v", again)
	}
	wrongAt(t, a.coach.post(path+"/refusals", object{"items": []object{{"student_id": a.student.id, "skill_id": skill, "kind": "sessions"}}}).problem(422, "refusal_invalid"), "/items/0", "is not proposed for")

	var bodies []api.AdjustmentBody
	for _, x := range proposals().Students[0].Items {
		if x.Adjustment != nil {
			bodies = append(bodies, *x.Adjustment)
		}
	}
	var results api.AdjustmentResults
	a.coach.post("/v1/adjustments", object{"items": bodies}).want(200).into(&results)
	var given []domain.ID
	for i, r := range results.Results {
		if r.Problem != nil {
			t.Fatalf("%s is refused: %+v", bodies[i].Kind, r.Problem)
		}
		given = append(given, r.Adjustment.ID)
	}
	if next := skillOf(t, progressOf(a.coach.caller, a.student.id), skill).NextTier; next.Run != easier.Adjustment.Tier.Run || step(proposals()) != nil {
		t.Errorf("accepted: next is %+v", next)
	}
	if now := proposals(); len(now.Students[0].Given) != len(given) || len(now.Absent) != 0 {
		t.Errorf("accepted: given %+v, absent %+v", now.Students[0].Given, now.Absent)
	}
	for _, id := range given {
		a.coach.post("/v1/adjustments/"+string(id)+"/end", nil).want(200)
	}
	if step(proposals()) == nil {
		t.Error("undone, it is not proposed again")
	}
}
