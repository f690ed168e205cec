package api_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"fringework/api"
	"fringework/domain"
)

// students are two students of one coach, with a published programme.
type students struct {
	*fixture
	cast
	mira, noel api.SignedIn
	skill      api.Skill
	version    api.Version
}

func newStudents(t *testing.T) *students {
	t.Helper()
	s := &students{}
	s.fixture = newFixture(t)
	s.cast = s.fixture.cast()
	s.mira = s.join(s.coach.AccessToken, "Mira", object{"role": "student"})
	s.noel = s.join(s.coach.AccessToken, "Noel", object{"role": "student"})
	s.skill, s.version = s.published(s.coach.AccessToken)
	return s
}

// later moves the clock and signs everybody in afresh.
func (s *students) later(d time.Duration) {
	s.Helper()
	s.clock.Advance(d)
	for name, in := range map[string]*api.SignedIn{"ines": &s.owner, "carl": &s.coach, "mira": &s.mira, "noel": &s.noel} {
		s.do("POST", "/v1/sign-in", object{"email": name + "@example.org", "password": password}).want(200).read(in)
	}
}

// assign gives the programme to a student from the fixture's first day.
func (s *students) assign(student api.SignedIn) api.Assignment {
	s.Helper()
	var list api.AssignmentList
	s.do("POST", "/v1/assignments", object{"programme_id": s.version.ProgrammeID, "student_ids": []domain.ID{student.Membership.MemberID}, "start_date": "2026-05-04"},
		as(s.coach.AccessToken)).want(201).read(&list)
	return list.Items[0]
}

func TestAssign(t *testing.T) {
	s := newStudents(t)
	coach, mira, noel := s.coach.AccessToken, s.mira.Membership.MemberID, s.noel.Membership.MemberID
	var group api.Group
	s.do("POST", "/v1/groups", object{"name": "Evening", "student_ids": []domain.ID{mira, noel}}, as(coach)).want(201).read(&group)
	body := object{"programme_id": s.version.ProgrammeID, "student_ids": []domain.ID{mira}, "group_id": group.ID, "start_date": "2026-05-04"}
	made := s.do("POST", "/v1/assignments", body, as(coach)).want(201)
	var list api.AssignmentList
	made.read(&list)
	if len(list.Items) != 2 || list.Items[0].Version != 1 {
		t.Fatalf("got %+v, want one assignment of version 1 for each of two students", list.Items)
	}
	s.do("POST", "/v1/assignments", body, as(coach)).problem(409, "assigned_already")

	one := read[api.AssignmentDetail](s.fixture, "/v1/assignments/"+string(list.Items[0].ID), coach)
	if one.Position != (api.Position{Phase: "running", Week: 1, Day: 1}) || one.ProgrammeName != "Pitching" || one.Weeks != 3 {
		t.Errorf("got %+v, want the first day of the first week", one)
	}
	if got := read[api.AssignmentPage](s.fixture, "/v1/assignments?student_id="+string(mira), coach); len(got.Items) != 1 || got.Items[0].StudentID != mira {
		t.Errorf("Mira's assignments: got %+v", got.Items)
	}
	// A student sees their own and nobody else's.
	if got := read[api.AssignmentPage](s.fixture, "/v1/assignments", s.mira.AccessToken); len(got.Items) != 1 || got.Items[0].StudentID != mira {
		t.Errorf("what Mira sees: got %+v", got.Items)
	}
	for _, a := range list.Items {
		if a.StudentID == noel {
			s.do("GET", "/v1/assignments/"+string(a.ID), nil, as(s.mira.AccessToken)).problem(404, "not_found")
		}
	}
	other := s.join(s.owner.AccessToken, "Dora", object{"role": "coach"}).AccessToken
	s.do("GET", "/v1/assignments/"+string(list.Items[0].ID), nil, as(other)).problem(404, "not_found")
	if got := read[api.AssignmentPage](s.fixture, "/v1/assignments", other); len(got.Items) != 0 {
		t.Errorf("another coach sees %+v", got.Items)
	}
}

func TestAssignRefusals(t *testing.T) {
	s := newStudents(t)
	coach, mira := s.coach.AccessToken, []domain.ID{s.mira.Membership.MemberID}
	unpublished := s.programme(coach, object{"name": "Draft"})
	nothing := domain.ID("0198c5f2-0000-7000-8000-000000000000")
	for _, test := range []struct {
		body  object
		where string
	}{
		{object{"programme_id": unpublished.ID, "student_ids": mira, "start_date": "2026-05-04"}, "/programme_id"},
		{object{"programme_id": nothing, "student_ids": mira, "start_date": "2026-05-04"}, "/programme_id"},
		{object{"programme_id": s.version.ProgrammeID, "version": 2, "student_ids": mira, "start_date": "2026-05-04"}, "/version"},
		{object{"programme_id": s.version.ProgrammeID, "student_ids": mira, "start_date": "today"}, "/start_date"},
		{object{"programme_id": s.version.ProgrammeID, "student_ids": mira}, "/start_date"},
		{object{"programme_id": s.version.ProgrammeID, "start_date": "2026-05-04"}, "/student_ids"},
		{object{"programme_id": s.version.ProgrammeID, "group_id": nothing, "start_date": "2026-05-04"}, "/group_id"},
		{object{"programme_id": s.version.ProgrammeID, "student_ids": []domain.ID{s.coach.Membership.MemberID}, "start_date": "2026-05-04"}, "/student_ids/0"},
	} {
		at(t, s.do("POST", "/v1/assignments", test.body, as(coach)).problem(422, "assignment_invalid"), test.where)
	}
	s.do("POST", "/v1/assignments", object{"programme_id": s.version.ProgrammeID, "student_ids": mira, "start_date": "2026-05-04"}, as(s.mira.AccessToken)).problem(403, "role_refused")
}

func TestAssignmentChanges(t *testing.T) {
	s := newStudents(t)
	coach := s.coach.AccessToken
	path := "/v1/assignments/" + string(s.assign(s.mira).ID)
	tag := s.do("GET", path, nil, as(coach)).want(200).header.Get("ETag")

	var a api.AssignmentDetail
	s.do("POST", path+"/pause", object{"from": "2026-05-06", "reason": "holiday"}, as(coach), set("If-Match", tag)).want(200).read(&a)
	if want := []api.Pause{{From: "2026-05-06", Reason: "holiday"}}; !cmp.Equal(a.Pauses, want) || a.Revision != 2 {
		t.Errorf("paused: got %+v at revision %d", a.Pauses, a.Revision)
	}
	s.do("POST", path+"/pause", nil, as(coach)).problem(409, "already_paused")
	s.do("POST", path+"/resume", nil, as(coach), set("If-Match", tag)).problem(412, "stale")
	at(t, s.do("POST", path+"/resume", object{"on": "2026-05-05"}, as(coach)).problem(422, "date_invalid"), "/on")
	at(t, s.do("POST", path+"/resume", object{"on": "soon"}, as(coach)).problem(422, "date_invalid"), "/on")
	s.do("POST", path+"/resume", object{"on": "2026-05-20"}, as(coach)).want(200).read(&a)
	if want := []api.Pause{{From: "2026-05-06", Until: "2026-05-20", Reason: "holiday"}}; !cmp.Equal(a.Pauses, want) {
		t.Errorf("resumed: got %+v", a.Pauses)
	}

	at(t, s.do("POST", path+"/move", object{"version": 2}, as(coach)).problem(422, "assignment_invalid"), "/version")
	s.do("PUT", "/v1/programmes/"+string(s.version.ProgrammeID), draft("Pitching on", s.skill.ID, 50), as(coach)).want(200)
	s.do("POST", "/v1/programmes/"+string(s.version.ProgrammeID)+"/versions", nil, as(coach)).want(201)
	s.do("POST", path+"/move", object{"version": 2}, as(coach)).want(200).read(&a)
	if a.Version != 2 || a.ProgrammeName != "Pitching on" {
		t.Errorf("moved: got %+v", a)
	}

	s.do("POST", path+"/end", nil, as(s.mira.AccessToken)).problem(403, "role_refused")
	s.do("POST", path+"/end", nil, as(coach)).want(200).read(&a)
	if a.EndedAt == nil || a.Position.Phase != "ended" {
		t.Errorf("ended: got %+v", a)
	}
	s.do("POST", path+"/pause", nil, as(coach)).problem(409, "assignment_ended")
	if got := read[api.AssignmentPage](s.fixture, "/v1/assignments?current=true", coach); len(got.Items) != 0 {
		t.Errorf("current assignments: got %+v, want none", got.Items)
	}
}
