package integration_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"fringework/api"
	"fringework/domain"
)

type request = http.Request

// Two circles, their radii in metres.
const (
	narrow = 1.2
	wide   = 2.0
)

// pitchSteps is a ladder for a pitch: four in a row inside the wide circle, then
// seven with two holed.
func pitchSteps() object {
	return object{"tiers": []object{{"run": 4, "radius_m": wide}, {"run": 7, "radius_m": wide, "holed": 2}}}
}

// skill keeps a skill with a ladder.
func (p *person) skill(name string, ladder object) api.Skill {
	p.Helper()
	return made[api.Skill](p.caller, "/v1/skills", object{"name": name, "kind": "pitch", "ladder": ladder})
}

// block is a block of a plan, with what its kind needs to be published.
func block(kind string, share int) object {
	drill := object{"text": "Pick a landing spot.", "radius_m": wide}
	switch kind {
	case "stations":
		drill["clubs"] = []string{"50° wedge", "54° wedge"}
	case "random", "playout":
		drill["lies"] = []string{"fairway", "light rough"}
	}
	return object{"kind": kind, "share": share, "drill": drill}
}

// afterWork is a plan of 50 minutes: 15 of random practice, 10 at stations, 18 of
// test and 7 of technique.
func afterWork() object {
	return object{"name": "After work", "minutes": 50, "times": 3, "blocks": []object{
		block("random", 30), block("stations", 20), block("test", 36), block("technique", 14),
	}}
}

// course is a programme of some weeks that train skills, one plan each.
func course(name string, skills ...domain.ID) object {
	weeks := make([]object, len(skills))
	for i, id := range skills {
		weeks[i] = object{"title": fmt.Sprintf("Week %d", i+1), "skill_id": id, "plans": []object{afterWork()}}
	}
	return object{"name": name, "weeks": weeks}
}

// publish keeps a programme and publishes it.
func (p *person) publish(content object) domain.ID {
	p.Helper()
	id := made[api.Programme](p.caller, "/v1/programmes", content).ID
	p.post("/v1/programmes/"+string(id)+"/versions", nil).want(201)
	return id
}

// assign gives a programme to students from a date.
func (p *person) assign(programme domain.ID, start time.Time, students ...*person) []api.Assignment {
	p.Helper()
	ids := make([]domain.ID, len(students))
	for i, s := range students {
		ids[i] = s.id
	}
	return made[api.AssignmentList](p.caller, "/v1/assignments", object{
		"programme_id": programme, "student_ids": ids, "start_date": start.Format(time.DateOnly),
	}).Items
}

// adjust changes what a student works by, and gives what came of it.
func (p *person) adjust(student domain.ID, change object) api.AdjustmentResult {
	p.Helper()
	change["student_id"] = student
	var out api.AdjustmentResults
	p.post("/v1/adjustments", object{"items": []object{change}}).want(200).into(&out)
	if len(out.Results) != 1 || out.Results[0].StudentID != student {
		p.Fatalf("one adjustment has the results %+v", out.Results)
	}
	return out.Results[0]
}

// asPublished takes back all that stands for a student, such as what a junior's programme
// comes with.
func (p *person) asPublished(student *person) {
	p.Helper()
	for _, x := range read[api.AdjustmentList](p.caller, "/v1/students/"+string(student.id)+"/adjustments").Items {
		p.post("/v1/adjustments/"+string(x.ID)+"/end", nil).want(200)
	}
}

// teach gives a student a one-week programme that trains a new skill with a
// ladder, from a week ago.
func (p *person) teach(student *person, name string, ladder object) domain.ID {
	p.Helper()
	skill := p.skill(name, ladder)
	content := course(name, skill.ID)
	for _, b := range content["weeks"].([]object)[0]["plans"].([]object)[0]["blocks"].([]object) {
		b["drill"].(object)["radius_m"] = skill.Ladder.Tiers[0].RadiusM // so that it can be passed
	}
	p.assign(p.publish(content), ago(7*24), student)
	return skill.ID
}

// newID makes a session's identity, as a client does.
func newID() domain.ID { return clock.NewID() }

// sessionPath is where a session is.
func sessionPath(id domain.ID) string { return "/v1/sessions/" + string(id) }

// balls writes outcomes, "." out, "+" in and "o" holed, as the API takes them.
func balls(outcomes string) []object {
	words := map[rune]string{'.': "out", '+': "in", 'o': "holed"}
	all := []object{}
	for _, r := range outcomes {
		all = append(all, object{"outcome": words[r]})
	}
	return all
}

// in says n balls in.
func in(n int) string { return strings.Repeat("+", n) }

// test is a block of a session that is judged at the wide circle.
func test(skill domain.ID, outcomes string) object {
	return object{"kind": "test", "skill_id": skill, "radius_m": wide, "seconds": 900, "balls": balls(outcomes)}
}

// sessionBody is a whole session of an hour that began at an instant.
func sessionBody(revision int, start time.Time, blocks ...object) object {
	return object{"revision": revision, "started_at": start, "ended_at": start.Add(time.Hour), "blocks": append([]object{}, blocks...)}
}

// practise stores a new session and gives it with what it did.
func (p *person) practise(start time.Time, blocks ...object) api.SessionResult {
	p.Helper()
	return p.store(newID(), sessionBody(1, start, blocks...), 201)
}

// store stores a revision of a session.
func (p *person) store(id domain.ID, session object, status int) (o api.SessionResult) {
	p.Helper()
	p.put(sessionPath(id), session).want(status).into(&o)
	return o
}

// progressOf reads where a student stands.
func progressOf(c *caller, student domain.ID) api.Progress {
	c.Helper()
	return read[api.Progress](c, "/v1/students/"+string(student)+"/progress")
}

// skillOf finds a skill in a student's progress.
func skillOf(t *testing.T, p api.Progress, skill domain.ID) api.SkillProgress {
	t.Helper()
	for _, s := range p.Skills {
		if s.SkillID == skill {
			return s
		}
	}
	t.Fatalf("%s has no skill %s; only %+v", p.Student.Name, skill, p.Skills)
	return api.SkillProgress{}
}

// ago is an instant some hours before the tests began, to the second; the same
// whenever it is asked for.
func ago(hours int) time.Time {
	return began.Add(-time.Duration(hours) * time.Hour)
}
