package integration_test

import (
	"slices"
	"strings"
	"testing"

	"fringework/api"
	"fringework/domain/curriculum"
)

// Two students who dealt the same cards come to the same result in either order, after
// each half was sent twice, corrected, deleted and brought back. A half alone says so. A
// junior plays with a guardian's consent only, and nobody else reads along.
func testMatches(t *testing.T, s *service) {
	a := s.open(t, "Fairways")
	skill := a.coach.skill("Pitch", pitchSteps()).ID
	ada, bo := a.coach.join("Ada Fairways", object{"role": "student"}), a.coach.join("Bo Fairways", object{"role": "student"})
	a.coach.assign(a.coach.publish(course("Company", skill)), ago(72), ada, bo, a.student)
	match := curriculum.Match{Kind: curriculum.Pitch, Balls: 6, Seed: 77}
	path := "/v1/matches/" + string(match.ID())
	half := func(revision int, outcomes string) object {
		cards := test(skill, outcomes)
		cards["kind"] = "random"
		b := sessionBody(revision, ago(2), cards)
		b["match_id"] = match.ID()
		return b
	}
	stands := func(p *person) (standing string, inside []int) {
		t.Helper()
		m := read[api.Match](p.caller, path)
		if m.Code != match.Code() || len(m.Cards) != 6 {
			t.Errorf("the match is %+v", m)
		}
		for _, x := range m.Players {
			inside = append(inside, x.Inside)
		}
		return m.Standing, inside
	}
	agree := func(what, standing string, inside ...int) {
		t.Helper()
		for _, p := range []*person{ada, bo, a.coach} {
			if got, counts := stands(p); got != standing || !slices.Equal(counts, inside) {
				t.Errorf("%s: %s %v, want %s %v", what, got, counts, standing, inside)
			}
		}
	}
	first, second := newID(), newID()
	// Neither a test nor another shot is a card of it, nor a wider circle than all play to.
	other := half(1, in(6))
	other["blocks"].([]object)[0]["kind"] = "test"
	bo.store(newID(), other, 201)
	wider := half(1, in(6))
	wider["blocks"].([]object)[0]["radius_m"] = 6
	wider["started_at"] = ago(5)
	wider["ended_at"] = ago(4)
	bo.store(newID(), wider, 201)
	bo.get(path).want(404)
	ada.store(first, half(1, in(4)+".."), 201)
	if got, inside := stands(ada); got != "alone" || !slices.Equal(inside, []int{4}) {
		t.Errorf("a half alone: %s %v", got, inside)
	}
	bo.get(path).want(404) // who has not played it
	bo.store(second, half(1, in(3)), 201)
	agree("three cards are left", "going_on", 4, 3)
	bo.store(second, half(2, in(3)+"..."), 200)
	ada.store(first, half(1, in(4)+".."), 200) // again
	agree("both have sent", "won", 4, 3)
	bo.store(second, half(3, in(3)+"..o"), 200)
	agree("after a correction", "level", 4, 4)
	bo.del(sessionPath(second) + "?revision=4").want(204)
	if got, _ := stands(ada); got != "alone" {
		t.Errorf("after a deletion: %s", got)
	}
	bo.store(second, half(5, in(5)+"."), 200)
	agree("brought back", "won", 5, 4)

	june := half(1, in(6))
	if p := a.student.put(sessionPath(newID()), june).problem(409, "consent_matches"); !strings.Contains(p.Detail, "A guardian agrees to it") {
		t.Errorf("a junior's half without consent: %+v", p)
	}
	a.guardian.put("/v1/students/"+string(a.student.id)+"/consent", object{"given": true, "matches": true}).want(200)
	a.student.store(newID(), june, 201)
	agree("with a junior", "won", 6, 5, 4)
	a.guardian.put("/v1/students/"+string(a.student.id)+"/consent", object{"given": true, "matches": false}).want(200)
	for _, p := range []*person{ada, bo} {
		if got, inside := stands(p); got != "won" || !slices.Equal(inside, []int{5, 4}) {
			t.Errorf("consent withdrawn: %s %v", got, inside)
		}
	}
	a.student.get(path).want(409)
	s.open(t, "Elsewhere").student.get(path).want(404)

	list := read[api.Matches](ada.caller, "/v1/students/"+string(ada.id)+"/matches")
	if len(list.Items) != 1 || list.Items[0].ID != match.ID() {
		t.Errorf("listed are %+v", list.Items)
	}
	bo.get("/v1/students/" + string(ada.id) + "/matches").want(404)
	if list.StudentID != ada.id {
		t.Errorf("the list is of %s", list.StudentID)
	}
}
