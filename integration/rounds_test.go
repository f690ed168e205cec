package integration_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"fringework/api"
	"fringework/domain"
)

func roundPath(id domain.ID) string { return "/v1/rounds/" + string(id) }

// roundBody is a round of two chances, the first of them saved; revisions above 1
// have a shot more each.
func roundBody(revision int, played time.Time) object {
	shots := []object{
		{"hole": 3, "lie": "rough", "distance_m": 18, "left_m": 1.2, "left_lie": "green", "putts": 1},
		{"hole": 8, "lie": "sand", "distance_m": 11, "left_m": 4, "left_lie": "green", "putts": 2},
	}
	for i := 1; i < revision; i++ {
		shots = append(shots, object{"hole": 9, "lie": "fairway", "distance_m": 14, "left_m": 2, "left_lie": "green", "putts": 1})
	}
	return object{"revision": revision, "started_at": played, "time_zone": "Europe/Lisbon", "course": "Links End", "shots": shots}
}

// A round syncs as a session does: nothing is lost, nothing counted twice, and the
// order of arrival does not matter.
func testRounds(t *testing.T, s *service) {
	a := s.open(t, "Roundell")
	played := ago(30)
	course := func(c *caller) api.CourseReport {
		return read[api.CourseReport](c, "/v1/students/"+string(a.student.id)+"/course")
	}
	id, student := newID(), a.student.in(t)
	first := student.put(roundPath(id), roundBody(2, played)).want(201)
	again := student.put(roundPath(id), roundBody(2, played)).want(200)
	if string(again.body) != string(first.body) || first.header.Get("Location") != roundPath(id) {
		t.Errorf("a replay was answered\n%s\nwant\n%s", again.body, first.body)
	}
	other := roundBody(2, played)
	other["note"] = "Wet."
	if p := student.put(roundPath(id), other).problem(409, "revision_conflict"); p.Stored == nil || p.Stored.Revision != 2 {
		t.Errorf("told %+v; want that 2 stands", p)
	}
	student.put(roundPath(id), roundBody(1, played)).problem(409, "revision_superseded")
	student.put(roundPath(id), roundBody(5, played)).want(200)
	got := read[api.Round](a.coach.in(t).caller, roundPath(id))
	if got.Revision != 5 || got.Chances != 6 || got.Saved != 5 || got.CountedShots != 6 || got.StrokesGained == 0 || got.StoredBy != a.student.id {
		t.Errorf("the coach reads %+v", got)
	}

	later := newID()
	student.del(roundPath(later) + "?revision=2").want(204) // it overtakes the round
	student.put(roundPath(later), roundBody(1, played)).problem(409, "revision_superseded")
	student.get(roundPath(later)).problem(404, "not_found")
	student.put(roundPath(later), roundBody(3, played)).want(200)
	if c := course(a.coach.in(t).caller); c.Rounds != 2 || c.UpAndDown.Chances != 10 || c.UpAndDown.Saved != 8 ||
		c.StrokesGained.Shots != 10 || c.Recent.Verdict != "cannot_tell" || !strings.HasPrefix(c.UpAndDown.Text, "Up and down 8 of 10 times") {
		t.Errorf("on the course: %+v", c)
	}
	row := func() *api.UpAndDown {
		for _, r := range read[api.Dashboard](a.coach.in(t).caller, "/v1/dashboard").Items {
			if r.Student.ID == a.student.id {
				return r.Course
			}
		}
		return nil
	}
	if c := row(); c == nil || c.Rounds != 2 || c.Chances != 10 {
		t.Errorf("the dashboard says %+v", c)
	}
	student.del(roundPath(id) + "?revision=6").want(204)
	student.del(roundPath(id) + "?revision=6").want(204)
	student.del(roundPath(later) + "?revision=4").want(204)
	if c := row(); c != nil {
		t.Errorf("without rounds the dashboard says %+v", c)
	}
	if c := course(student.caller); c.Rounds != 0 || c.UpAndDown.Text != "No round yet." || len(c.Programmes) != 0 {
		t.Errorf("without rounds: %+v", c)
	}
	var told []string
	for _, e := range allEvents(a.owner.in(t).caller) {
		if e.SubjectID == id {
			told = append(told, fmt.Sprint(e.Kind, " ", e.Data["revision"]))
		}
	}
	if want := []string{"round.stored 2", "round.extended 5", "round.deleted 6"}; !slices.Equal(told, want) {
		t.Errorf("the log has %v; want %v", told, want)
	}

	bad := roundBody(1, played)
	bad["shots"] = []object{{"lie": "water", "distance_m": 12, "holed": true}}
	wrongAt(t, student.put(roundPath(newID()), bad).problem(422, "round_invalid"), "/shots/0/lie", "give fairway")
	wrongAt(t, a.coach.in(t).put(roundPath(newID()), roundBody(1, played)).problem(422, "round_invalid"), "/student_id", "say whose")

	for i := range 3 {
		student.put(roundPath(newID()), roundBody(1, played.Add(time.Duration(i)*time.Hour))).want(201)
	}
	page := read[api.RoundPage](student.caller, "/v1/rounds?limit=2")
	rest := read[api.RoundPage](student.caller, page.Links.Next)
	if len(page.Items) != 2 || len(rest.Items) != 1 || rest.Links.Next != "" || !page.Items[0].StartedAt.After(rest.Items[0].StartedAt) {
		t.Errorf("pages of %d and %d rounds", len(page.Items), len(rest.Items))
	}
	student.put("/v1/rounds/not-one", roundBody(1, played)).problem(400, "parameter_invalid")
}
