package integration_test

import (
	"net/url"
	"strings"
	"testing"

	"fringework/domain"
)

// Things that are named in a body or a query: whoever may not see them is told
// what they would be told of something that is not there.
func testLeaks(t *testing.T, s *service) {
	w := newFixture(t, s)
	other := w.strangers
	theirs := things{skill: other.owner.skill("Elsewhere's pitch", pitchSteps()).ID}
	theirs.programme = other.owner.publish(course("Elsewhere's course", theirs.skill))
	theirs.group = made[struct{ ID domain.ID }](other.owner.caller, "/v1/groups", object{"name": "Elsewhere's", "student_ids": []domain.ID{other.student.id}}).ID
	own := w.owner.teach(w.others.student, "Aside's pitch", pitchSteps())

	session := func(edit func(object)) object {
		o := sessionBody(1, ago(6), test(own, in(3)))
		edit(o)
		return o
	}
	for _, c := range []struct {
		name   string
		who    *person
		hidden domain.ID
		ask    func(p *person, id domain.ID) answer
	}{
		{"deleting a session of another coach's student", w.others.coach, w.its.session, func(p *person, id domain.ID) answer {
			return p.del(sessionPath(id) + "?revision=9")
		}},
		{"storing for another academy's student", w.coach, other.student.id, func(p *person, id domain.ID) answer {
			return p.put(sessionPath(newID()), session(func(o object) { o["student_id"] = id }))
		}},
		{"a session by another student's assignment", w.others.student, w.its.assignment, func(p *person, id domain.ID) answer {
			return p.put(sessionPath(newID()), session(func(o object) { o["assignment_id"], o["week"], o["plan"] = id, 1, 1 }))
		}},
		{"a session of another academy's skill", w.student, theirs.skill, func(p *person, id domain.ID) answer {
			return p.put(sessionPath(newID()), sessionBody(1, ago(6), test(id, in(3))))
		}},
		{"inviting a student for another academy's coach", w.owner, other.coach.id, func(p *person, id domain.ID) answer {
			return p.post("/v1/invitations", object{"role": "student", "coach_id": id})
		}},
		{"inviting a student for another coach", w.others.coach, w.coach.id, func(p *person, id domain.ID) answer {
			return p.post("/v1/invitations", object{"role": "student", "coach_id": id})
		}},
		{"inviting into another academy's group", w.owner, theirs.group, func(p *person, id domain.ID) answer {
			return p.post("/v1/invitations", object{"role": "student", "group_id": id})
		}},
		{"inviting a guardian for another academy's junior", w.owner, other.student.id, func(p *person, id domain.ID) answer {
			return p.post("/v1/invitations", object{"role": "guardian", "student_id": id})
		}},
		{"linking another academy's coach", w.owner, other.coach.id, func(p *person, id domain.ID) answer {
			return p.put("/v1/students/"+string(w.student.id)+"/coaches/"+string(id), nil)
		}},
		{"a group with another academy's student", w.owner, other.student.id, func(p *person, id domain.ID) answer {
			return p.post("/v1/groups", object{"name": "Both", "student_ids": []domain.ID{w.student.id, id}})
		}},
		{"assigning another academy's programme", w.owner, theirs.programme, func(p *person, id domain.ID) answer {
			return p.post("/v1/assignments", object{"programme_id": id, "student_ids": []domain.ID{w.student.id}, "start_date": "2026-05-04"})
		}},
		{"assigning to another academy's group", w.owner, theirs.group, func(p *person, id domain.ID) answer {
			return p.post("/v1/assignments", object{"programme_id": w.its.programme, "group_id": id, "start_date": "2026-05-04"})
		}},
		{"a programme of another academy's skill", w.owner, theirs.skill, func(p *person, id domain.ID) answer {
			return p.post("/v1/programmes", course("Borrowed", id))
		}},
		{"acknowledging at another academy's skill", w.coach, theirs.skill, func(p *person, id domain.ID) answer {
			return p.put("/v1/students/"+string(w.student.id)+"/acknowledgements", object{"reason": "flat", "skill_id": id, "days": 3})
		}},
		{"history at another academy's skill", w.coach, theirs.skill, func(p *person, id domain.ID) answer {
			return p.get("/v1/students/" + string(w.student.id) + "/skills/" + string(id) + "/history")
		}},
		{"the dashboard of another academy's group", w.owner, theirs.group, func(p *person, id domain.ID) answer {
			return p.get("/v1/dashboard?group_id=" + string(id))
		}},
		{"members of another academy's group", w.owner, theirs.group, func(p *person, id domain.ID) answer {
			return p.get("/v1/members?group_id=" + string(id))
		}},
		{"assignments of another coach's student", w.others.coach, w.student.id, func(p *person, id domain.ID) answer {
			return p.get("/v1/assignments?student_id=" + string(id))
		}},
		{"refreshing into another academy", w.owner.signIn(), other.owner.academy, func(p *person, id domain.ID) answer {
			return p.as("").post("/v1/tokens/refresh", object{"refresh_token": p.refresh, "academy_id": id})
		}},
		{"signing in to another academy", w.owner, other.owner.academy, func(p *person, id domain.ID) answer {
			return p.as("").post("/v1/sign-in", object{"email": p.email, "password": password, "academy_id": id})
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := c.who.in(t)
			there, not := c.ask(p, c.hidden), c.ask(p, newID())
			if anonymous(there) != anonymous(not) {
				t.Errorf("of a hidden thing it is said\n%s\nof one that is not there\n%s", anonymous(there), anonymous(not))
			}
			for _, mark := range []string{studentMark, "Elsewhere"} {
				if strings.Contains(string(there.body), mark) {
					t.Errorf("the answer tells of %s\n%s", mark, there.body)
				}
			}
		})
	}
	t.Run("another student's session ID", func(t *testing.T) {
		// Clients make these IDs, so a clash must be told, but not whose it is.
		p := w.others.student.in(t).put(sessionPath(w.its.session), session(func(object) {}))
		p.problem(409, "id_taken")
		if strings.Contains(string(p.body), string(w.student.id)) || strings.Contains(string(p.body), studentMark) {
			t.Errorf("the answer tells whose session it is\n%s", p.body)
		}
	})
	t.Run("whether an account exists", func(t *testing.T) {
		signIn := func(email string) string {
			return anonymous(s.caller(t).post("/v1/sign-in", object{"email": email, "password": "not the password"}))
		}
		if known, unknown := signIn(w.owner.email), signIn("nobody@example.org"); known != unknown {
			t.Errorf("a wrong password is told\n%s\nan unknown e-mail\n%s", known, unknown)
		}
	})
	t.Run("which key exists", func(t *testing.T) {
		exchange := func(id domain.ID) string {
			body := url.Values{"grant_type": {"client_credentials"}, "client_id": {string(id)}, "client_secret": {"fwk_wrong"}}
			return anonymous(s.caller(t).post("/v1/oauth/token", body.Encode(), form))
		}
		if known, unknown := exchange(w.its.key), exchange(newID()); known != unknown {
			t.Errorf("a wrong secret is told\n%s\nan unknown key\n%s", known, unknown)
		}
	})
}
