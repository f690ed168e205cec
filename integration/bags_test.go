package integration_test

import (
	"slices"
	"testing"

	"fringework/api"
	"fringework/domain"
)

// A student's own clubs are in what they read, and from the balls that they say landed
// and stopped it is learned where to land the next.
func testBags(t *testing.T, s *service) {
	a := s.open(t, "Bagley")
	coach, student := a.coach.in(t), a.student.in(t)
	path := "/v1/students/" + string(student.id) + "/bag"
	usual := read[api.Bag](student.caller, path)
	if usual.Set || usual.Hand != "right" || len(usual.Clubs) != 0 || len(usual.Spots) < 3 {
		t.Errorf("before it is set: %+v", usual)
	}
	wedges := []object{{"name": "Fifty", "loft_deg": 50}, {"name": "The low one", "loft_deg": 45}, {"name": "Sandy", "loft_deg": 54}}
	var set api.Bag
	student.put(path, object{"hand": "left", "clubs": wedges}).want(200).into(&set)
	if again := read[api.Bag](coach.caller, path); !set.Set || len(again.Spots) != 3 || again.Clubs[1].Name != "The low one" {
		t.Errorf("set %+v; the coach reads %+v", set, again)
	}
	wrongAt(t, coach.put(path, object{"hand": "left", "clubs": []object{{"name": "Driver", "loft_deg": 10}}}).problem(422, "bag_invalid"), "/clubs/0/loft_deg", "24 to 70")

	now := func(p *person) api.Now { return read[api.Now](p.caller, "/v1/students/"+string(student.id)+"/now") }
	programme := coach.publish(course("Wedges", coach.skill("Low pitch", pitchSteps()).ID))
	coach.assign(programme, ago(72), student)
	n := now(student)
	stations := func(n api.Now) (found []string) {
		for _, b := range n.Work[0].Week.Plans[0].Blocks {
			if b.Kind == "stations" {
				found = b.Drill.Clubs
			}
		}
		return found
	}
	if got := stations(n); n.Hand != "left" || !slices.Equal(got, []string{"Fifty", "Sandy"}) {
		t.Errorf("now: %s-handed, with %q", n.Hand, got)
	}
	if len(n.Stations) != 2 || n.Stations[1].Name != "Sandy" || n.Stations[1].LoftDeg != 54 || n.Stations[1].Learned != nil || len(n.Stations[1].Table.RunM) != len(n.Stations[1].Table.CarryM) {
		t.Fatalf("now has the stations %+v", n.Stations)
	}

	// Every ball runs twice as far as it flies, which is more than a plain shot with
	// this club runs.
	landings := make([]object, 15)
	for i := range landings {
		landings[i] = object{"club": "Sandy", "loft_deg": 54, "lie": "fairway", "carry_m": 6, "total_m": 18, "aim_m": 6}
	}
	id := newID()
	body := sessionBody(1, ago(5))
	body["green"], body["landings"] = object{"stimp_ft": 9, "slope_deg": -1}, landings
	student.put(sessionPath(id), body).want(201)
	kept := read[api.Session](coach.caller, sessionPath(id))
	if len(kept.Landings) != 15 || kept.Landings[3].TotalM != 18 || kept.Green == nil || kept.Green.SlopeDeg != -1 {
		t.Errorf("kept %+v on %+v", kept.Landings, kept.Green)
	}
	learned := now(coach).Stations[1].Learned
	if learned == nil || learned.Balls != 15 || learned.RunFactor <= 1 || learned.CarryM < 5.9 || learned.CarryM > 6.1 || learned.RunM < 9 || learned.RunM > 13 {
		t.Errorf("learned %+v; want a run near 12 m from 15 balls", learned)
	}
	if own := read[api.Bag](student.caller, path); own.Spots[2].Learned == nil || own.Spots[2].Learned.Text != learned.Text {
		t.Errorf("the bag says %+v", own.Spots[2])
	}
	body["revision"] = 2
	delete(body, "green")
	wrongAt(t, student.put(sessionPath(id), body).problem(422, "session_invalid"), "/green", "how fast")
	student.del(sessionPath(id) + "?revision=2").want(204)
	if gone := now(student).Stations[1].Learned; gone != nil {
		t.Errorf("after the session is deleted: %+v", gone)
	}
	if got := stations(now(a.coach.in(t))); !slices.Equal(got, []string{"Fifty", "Sandy"}) {
		t.Errorf("the coach sees the student play with %q", got)
	}
	var told []domain.ID
	for _, e := range allEvents(a.owner.in(t).caller) {
		if e.Kind == "bag.changed" {
			told = append(told, e.SubjectID)
		}
	}
	if !slices.Equal(told, []domain.ID{student.id}) {
		t.Errorf("the log has the bags of %q", told)
	}
}
