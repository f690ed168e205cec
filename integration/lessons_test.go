package integration_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"fringework/api"
	"fringework/domain"
)

type request = http.Request

// Feet in metres; a foot is 0.3048 m exactly (international yard and pound
// agreement, 1959).
const (
	threeFeet = 0.9144
	fiveFeet  = 1.524
)

// rungs is a ladder: nine in a row inside five feet, then eighteen with one
// holed, for a pitch (common practice, no source).
func rungs() object {
	return object{"tiers": []object{{"run": 9, "radius_m": fiveFeet}, {"run": 18, "radius_m": fiveFeet, "holed": 1}}}
}

// skill keeps a skill with a ladder.
func (p *person) skill(name string, ladder object) api.Skill {
	p.Helper()
	return made[api.Skill](p.caller, "/v1/skills", object{"name": name, "kind": "pitch", "ladder": ladder})
}

// block is a block of a plan, with what its kind needs to be published.
func block(kind string, share int) object {
	drill := object{"text": "Pick a landing spot.", "radius_m": fiveFeet}
	switch kind {
	case "stations":
		drill["clubs"] = []string{"52°", "56°", "60°"}
	case "random":
		drill["lies"] = []string{"fairway", "light rough"}
	}
	return object{"kind": kind, "share": share, "drill": drill}
}

// hour is a plan of an hour in four equal blocks.
func hour() object {
	return object{"name": "An hour", "minutes": 60, "times": 3, "blocks": []object{
		block("technique", 25), block("stations", 25), block("random", 25), block("test", 25),
	}}
}

// course is a programme of some weeks that train skills, one plan each.
func course(name string, skills ...domain.ID) object {
	weeks := make([]object, len(skills))
	for i, id := range skills {
		weeks[i] = object{"title": fmt.Sprintf("Week %d", i+1), "skill_id": id, "plans": []object{hour()}}
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

// teach gives a student a one-week programme that trains a new skill with a
// ladder, from a week ago.
func (p *person) teach(student *person, name string, ladder object) domain.ID {
	p.Helper()
	skill := p.skill(name, ladder)
	p.assign(p.publish(course(name, skill.ID)), ago(7*24), student)
	return skill.ID
}

// newID makes a session's identity, as a client does.
func newID() domain.ID { return domain.ID(uuid.Must(uuid.NewV7()).String()) }

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

// test is a block of a session that plays a skill inside five feet.
func test(skill domain.ID, outcomes string) object {
	return object{"kind": "test", "skill_id": skill, "radius_m": fiveFeet, "seconds": 900, "balls": balls(outcomes)}
}

// outing is a whole session of an hour that began at an instant.
func outing(revision int, start time.Time, blocks ...object) object {
	return object{"revision": revision, "started_at": start, "ended_at": start.Add(time.Hour), "blocks": append([]object{}, blocks...)}
}

// practise stores a new session and gives it with what it did.
func (p *person) practise(start time.Time, blocks ...object) api.SessionOutcome {
	p.Helper()
	return p.store(newID(), outing(1, start, blocks...), 201)
}

// store stores a revision of a session.
func (p *person) store(id domain.ID, session object, status int) (o api.SessionOutcome) {
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

// ago is an instant some hours before now, to the second.
func ago(hours int) time.Time {
	return time.Now().UTC().Truncate(time.Second).Add(-time.Duration(hours) * time.Hour)
}
