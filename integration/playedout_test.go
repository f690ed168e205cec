package integration_test

import (
	"testing"

	"fringework/api"
)

// Places that a student plays out are told by skill; on a mat they are not, and the
// time counts all the same. Both pass no step, and what contradicts itself is refused.
func testPlayedOut(t *testing.T, s *service) {
	a := s.open(t, "Playoutham")
	student := a.student.in(t)
	skill := a.coach.in(t).teach(a.student, "Chips to hole out", pitchSteps())
	block := func(kind string, more ...object) object {
		return object{"kind": kind, "skill_id": skill, "radius_m": 1.524, "seconds": 900, "balls": more}
	}
	places := block("playout",
		object{"outcome": "holed", "strokes": 1, "lie": "fairway", "distance_m": 14, "after_s": 60},
		object{"outcome": "in", "strokes": 2, "lie": "rough", "distance_m": 9, "after_s": 180},
		object{"outcome": "out", "strokes": 4, "lie": "bunker", "distance_m": 12, "after_s": 300},
		object{"outcome": "in", "lie": "fairway", "distance_m": 14, "after_s": 420})
	first := student.practise(ago(50), places)
	if got := first.Blocks[0].Balls[2].Strokes; got != 4 || len(first.Milestones) != 0 {
		t.Errorf("stored %d strokes and %d milestones", got, len(first.Milestones))
	}
	mat := sessionBody(1, ago(40), places, block("test", balls("+++++++++")...))
	mat["surface"] = "mat"
	if got := student.store(newID(), mat, 201); got.Surface != "mat" || len(got.Milestones) != 0 {
		t.Errorf("on a mat: %q, milestones %+v", got.Surface, got.Milestones)
	}
	wrong := sessionBody(1, ago(30), block("test", object{"outcome": "in", "strokes": 3}))
	wrong["surface"] = "ice"
	if p := student.put(sessionPath(newID()), wrong).problem(422, "session_invalid"); len(p.Errors) != 2 {
		t.Errorf("told %+v, want both faults", p.Errors)
	}
	path := "/v1/students/" + string(a.student.id)
	got := read[api.PlayedOut](a.coach.in(t).caller, path+"/played-out")
	if len(got.Skills) != 1 || got.Skills[0].Places != 3 || got.Skills[0].Strokes != 7 || got.Skills[0].UpAndDown.Saved != 2 || len(got.Skills[0].Sessions) != 1 {
		t.Errorf("the coach reads %+v", got)
	}
	for _, p := range read[api.Progress](student.caller, path+"/progress").Pace {
		if (p.Kind == "playout") != (p.Sessions == 1) || p.BallsAnHour < 25 {
			t.Errorf("the pace of %s is %v from %d sessions", p.Kind, p.BallsAnHour, p.Sessions)
		}
	}
}
