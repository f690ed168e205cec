package integration_test

import (
	"strings"
	"testing"

	"fringework/api"
)

// A step is passed in practice and held once a retest bears it out, cold and a week
// later; and tests are compared by lot while both sides agree.
func testLearning(t *testing.T, s *service) {
	a := s.open(t, "Learmouth")
	coach, student := a.coach.in(t), a.student.in(t)
	skill := coach.teach(student, "Low chip", pitchSteps())
	path := "/v1/students/" + string(student.id)
	student.practise(ago(24*16), test(skill, in(4)))

	learning := func() (api.Learning, api.SkillLearning) {
		l := read[api.Learning](coach.caller, path+"/learning")
		for _, x := range l.Skills {
			if x.SkillID == skill {
				return l, x
			}
		}
		t.Fatalf("no skill in %+v", l)
		return l, api.SkillLearning{}
	}
	_, of := learning()
	if len(of.Steps) != 1 || of.Steps[0].HeldAt != nil || of.Steps[0].DueAt == nil || of.RetestDue == nil || of.RetestDue.Balls != 10 || of.Cold.Days != 1 {
		t.Errorf("passed sixteen days ago: %+v", of)
	}
	now := read[api.Now](student.caller, path+"/now")
	if len(now.Retests) != 1 || now.Retests[0].SkillName != "Low chip" || now.Retests[0].Tier.Run != 4 || now.QuietTests {
		t.Errorf("today %+v, quiet %v", now.Retests, now.QuietTests)
	}

	retest := test(skill, in(6)+"....")
	retest["purpose"] = "retest"
	student.practise(ago(24*8), retest)
	_, of = learning()
	if of.Steps[0].HeldAt == nil || of.Steps[0].Retests != 1 || of.Steps[0].Balls != 10 || of.Steps[0].Inside != 6 || of.RetestDue != nil {
		t.Errorf("after six of ten cold balls: %+v", of)
	}
	stands := skillOf(t, progressOf(coach.caller, student.id), skill)
	if stands.Held != 1 || stands.StepsHeld != 1 || stands.RetestDueAt != nil || stands.Milestones[0].HeldAt == nil {
		t.Errorf("progress tells %+v", stands.SkillBrief)
	}
	told := strings.Contains(string(a.owner.in(t).get("/v1/events?limit=200").want(200).body), `"milestone.held"`)
	if !told {
		t.Error("the log does not tell of it")
	}

	student.put(path+"/quiet-tests", object{}).problem(422, "member_missing")
	student.put(path+"/quiet-tests", object{"agrees": true}).problem(409, "guardian_decides")
	guardian := coach.join("Gyda", object{"role": "guardian", "student_id": student.id})
	guardian.put(path+"/quiet-tests", object{"agrees": true}).want(200)
	var q api.QuietAgreement
	coach.put(path+"/quiet-tests", object{"agrees": true}).want(200).into(&q)
	if !q.Agreed || q.Guardian == nil || q.Student != nil || q.Coach.Side != "coach" || !read[api.Now](student.caller, path+"/now").QuietTests {
		t.Errorf("both agreed: %+v", q)
	}
	student.put(path+"/quiet-tests", object{"agrees": false}).want(200).into(&q)
	l, _ := learning()
	if q.Agreed || l.Quiet.Agreed || l.Quiet.Finding != "cannot_tell" || !strings.HasPrefix(l.Quiet.Text, "Cannot tell yet") {
		t.Errorf("withdrawn: %+v, %+v", q, l.Quiet)
	}
}
