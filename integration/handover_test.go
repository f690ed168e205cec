package integration_test

import (
	"slices"
	"testing"

	"fringework/api"
	"fringework/domain"
)

// Names become invitations with their links, a result for each, and whoever
// joins has a coach, a group and a programme.
func testHandOver(t *testing.T, s *service) {
	a := s.open(t, "Hanover")
	coach := a.coach
	programme := coach.publish(course("Six weeks", coach.skill("Pitch", pitchSteps()).ID))
	group := made[api.Group](coach.caller, "/v1/groups", object{"name": "Sunday", "student_ids": []domain.ID{}})
	zone := read[api.Me](coach.caller, "/v1/me").Member.TimeZone
	start := today(t, zone, 3)
	var all api.InviteManyResults
	coach.post("/v1/invitations/bulk", object{
		"items":    []object{{"name": "Edda Falk"}, {"name": "Finn", "email": "nowhere"}, {"name": "Gry", "junior": true}},
		"group_id": group.ID, "programme_id": programme, "start_date": start,
	}).want(200).into(&all)
	if len(all.Results) != 3 || all.Results[1].Invitation != nil || all.Results[1].Problem == nil || all.Results[1].Problem.Errors[0].Pointer != "/email" {
		t.Fatalf("got %+v; want two invitations, and Finn's e-mail wrong", all.Results)
	}
	first := *all.Results[0].Invitation
	if want := (api.Gift{ProgrammeID: programme, Version: 1, StartDate: start}); first.Gives == nil || *first.Gives != want || first.CoachID != coach.id || first.GroupID != group.ID {
		t.Errorf("got %+v; want it to give %+v, the coach and the group", first, want)
	}
	edda := s.accept(t, first.Code, "Edda Falk", mailbox("Edda"))
	junior := s.accept(t, all.Results[2].Invitation.Code, "Gry", mailbox("Gry"))
	for _, p := range []*person{edda, junior} {
		now := read[api.Now](p.caller, "/v1/students/"+string(p.id)+"/now")
		if len(now.Work) != 1 || now.Work[0].ProgrammeID != programme || now.Work[0].StartDate != start {
			t.Errorf("%s has %+v; want the programme from %s", p.name, now.Work, start)
		}
	}
	// A junior's practice still waits for a guardian.
	junior.put(sessionPath(newID()), sessionBody(1, ago(3))).problem(409, "consent_missing")
	if got := read[api.Group](coach.caller, "/v1/groups/"+string(group.ID)).StudentIDs; len(got) != 2 {
		t.Errorf("the group has %v; want both", got)
	}
	// A reply that was lost: the same again gives nothing twice.
	edda.post("/v1/invitations/accept", object{"code": first.Code}).want(200)
	if page := read[api.AssignmentPage](coach.caller, "/v1/assignments?student_id="+string(edda.id)); len(page.Items) != 1 {
		t.Errorf("accepting twice gave %d assignments; want 1", len(page.Items))
	}
	coach.post("/v1/assignments/"+string(read[api.AssignmentPage](coach.caller, "/v1/assignments?student_id="+string(edda.id)).Items[0].ID)+"/end", nil).want(200)
	edda.post("/v1/invitations/accept", object{"code": first.Code}).want(200)
	if page := read[api.AssignmentPage](coach.caller, "/v1/assignments?current=true&student_id="+string(edda.id)); len(page.Items) != 0 {
		t.Errorf("an old code gave %+v after the coach had ended it; want nothing", page.Items)
	}

	t.Run("wrong as a whole", func(t *testing.T) {
		coach, one := coach.in(t), []object{{"name": "Edda"}}
		wrongAt(t, coach.post("/v1/invitations/bulk", object{"items": []object{}}).problem(422, "invitation_invalid"), "/items", "1 to 200")
		wrongAt(t, coach.post("/v1/invitations/bulk", object{"items": one, "coach_id": a.owner.id}).problem(422, "invitation_invalid"), "/coach_id", "not a coach")
		wrongAt(t, coach.post("/v1/invitations/bulk", object{"items": one, "start_date": start}).problem(422, "invitation_invalid"), "/start_date", "of no programme")
		wrongAt(t, coach.post("/v1/invitations/bulk", object{"items": one, "programme_id": programme}).problem(422, "invitation_invalid"), "/start_date", "is missing")
		wrongAt(t, coach.post("/v1/invitations/bulk", object{"items": one, "programme_id": programme, "version": 2, "start_date": start}).problem(422, "invitation_invalid"), "/version", "no published version 2")
		wrongAt(t, coach.post("/v1/invitations", object{"role": "guardian", "student_id": junior.id, "programme_id": programme, "start_date": start}).problem(422, "invitation_invalid"), "/programme_id", "only for students")
	})
	t.Run("a newcomer to a group", func(t *testing.T) {
		coach := coach.in(t)
		coach.post("/v1/assignments", object{"programme_id": programme, "group_id": group.ID, "start_date": start}).want(201)
		late := coach.join("Late", object{"role": "student"})
		var saved api.GroupDetail
		coach.put("/v1/groups/"+string(group.ID), object{"name": "Sunday", "student_ids": []domain.ID{edda.id, junior.id, late.id}}).want(200).into(&saved)
		if len(saved.Programmes) != 1 || !slices.Equal(saved.Programmes[0].LackingIDs, []domain.ID{late.id}) || saved.Programmes[0].StartDate != start {
			t.Fatalf("saved %+v; want the group's programme offered to the newcomer", saved)
		}
		give := object{"programme_id": programme, "group_id": group.ID, "start_date": start}
		var given api.AssignmentList
		coach.post("/v1/assignments", give).want(201).into(&given)
		if len(given.Items) != 1 || given.Items[0].StudentID != late.id || len(given.Had) != 2 {
			t.Errorf("given again: %+v; want the newcomer alone, and two told", given)
		}
		coach.post("/v1/assignments", give).want(200).into(&given)
		if len(given.Items) != 0 || len(given.Had) != 3 {
			t.Errorf("given once more: %+v; want three told", given)
		}
		if got := read[api.GroupDetail](coach.caller, "/v1/groups/"+string(group.ID)); len(got.Programmes) != 1 || len(got.Programmes[0].LackingIDs) != 0 {
			t.Errorf("the group's are %+v; want the one, which nobody lacks any more", got.Programmes)
		}
	})
}

// One request does the same with many, and tells of each.
func testMany(t *testing.T, s *service) {
	a := s.open(t, "Manfred")
	coach, zone := a.coach, read[api.Me](a.student.caller, "/v1/me").Member.TimeZone
	second := coach.join("Second", object{"role": "student"})
	programme := coach.publish(course("Six weeks", coach.skill("Pitch", pitchSteps()).ID))
	change := func(body object) []api.AssignmentsChangeResult {
		t.Helper()
		var got api.AssignmentsChangeResults
		body["student_ids"] = []domain.ID{a.student.id, second.id, newID()}
		coach.post("/v1/assignments/bulk", body).want(200).into(&got)
		if len(got.Results) != 3 || got.Results[2].Problem == nil || got.Results[2].Problem.Code != "not_found" || got.Results[2].Name != "" {
			t.Fatalf("got %+v; want three results, the last unknown", got.Results)
		}
		return got.Results
	}
	change(object{"action": "assign", "programme_id": programme, "start_date": today(t, zone, -2)})
	again := change(object{"action": "assign", "programme_id": programme, "start_date": today(t, zone, 0)})
	if p := again[0].Problem; p == nil || p.Code != "assigned_already" || p.Status != 409 {
		t.Errorf("again: %+v; want it told that the student has it", again[0])
	}
	paused := change(object{"action": "pause", "until": today(t, zone, 7), "reason": "camp"})
	if got := paused[1].Assignments[0].Pauses; len(got) != 1 || got[0].Until != today(t, zone, 7) || got[0].Reason != "camp" {
		t.Errorf("paused %+v; want it until next week", got)
	}
	now := read[api.Now](second.caller, "/v1/students/"+string(second.id)+"/now")
	if now.Work[0].Position.Phase != "paused" {
		t.Errorf("now is %+v; want it paused", now.Work[0].Position)
	}
	change(object{"action": "resume"})
	ended := change(object{"action": "end"})
	if ended[0].Assignments[0].EndedAt == nil || ended[1].Problem != nil {
		t.Errorf("ended %+v; want both", ended)
	}
	wrongAt(t, coach.post("/v1/assignments/bulk", object{"action": "burn"}).problem(422, "assignment_invalid"), "/action", "is not an action")
	wrongAt(t, coach.post("/v1/assignments/bulk", object{"action": "move", "programme_id": "x"}).problem(422, "assignment_invalid"), "/programme_id", "not a UUID")
}

// A move to a version whose weeks changed places credits what was done.
func testMovedWeeks(t *testing.T, s *service) {
	a := s.open(t, "Mova")
	coach, student := a.coach, a.student
	pitch, chip := coach.skill("Pitch", pitchSteps()).ID, coach.skill("Chip", pitchSteps()).ID
	programme := coach.publish(course("Two weeks", pitch, chip))
	as := coach.assign(programme, ago(2*24), student)[0]
	done := follow(as, pitch, ago(20), asPlanned, in(3))
	done["week"] = 1
	student.store(newID(), done, 201)
	coach.put("/v1/programmes/"+string(programme), course("Two weeks", chip, pitch)).want(200)
	coach.post("/v1/programmes/"+string(programme)+"/versions", nil).want(201)
	var got api.AssignmentsChangeResults
	coach.post("/v1/assignments/bulk", object{"action": "move", "programme_id": programme, "student_ids": []domain.ID{student.id}}).want(200).into(&got)
	want := []api.MovedWeek{{Version: 1, Week: 1, CountsFor: 2}, {Version: 1, Week: 2, CountsFor: 1}}
	if moved := got.Results[0].Assignments[0]; moved.Version != 2 || !slices.Equal(moved.MovedWeeks, want) {
		t.Errorf("moved to %+v; want version 2, its weeks %+v", moved, want)
	}
	if detail := read[api.AssignmentDetail](coach.caller, "/v1/assignments/"+string(as.ID)); !slices.Equal(detail.MovedWeeks, want) {
		t.Errorf("read %+v; want the weeks that moved", detail)
	}
	week := func() api.NowWeek {
		t.Helper()
		return *read[api.Now](student.caller, "/v1/students/"+string(student.id)+"/now").Work[0].Week
	}
	if w := week(); w.SkillID != chip || w.Plans[0].Done != 0 {
		t.Errorf("week 1 is %+v; want the chip, nothing done", w)
	}
	// A phone that has not heard of the move yet follows the first version.
	late := follow(as, pitch, ago(10), asPlanned, in(3))
	late["week"], late["version"] = 2, 1
	student.store(newID(), late, 201)
	if w := week(); w.Plans[0].Done != 1 {
		t.Errorf("week 1 is %+v; want what was done of the chip by version 1", w)
	}
}
