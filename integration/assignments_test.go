package integration_test

import (
	"slices"
	"testing"
	"time"

	"fringework/api"
	"fringework/domain"
)

// today is the date in a time zone, days later.
func today(t *testing.T, zone string, days int) string {
	t.Helper()
	where, err := time.LoadLocation(zone)
	if err != nil {
		t.Fatal(err)
	}
	return clock.Now().In(where).AddDate(0, 0, days).Format(time.DateOnly)
}

func testAssignments(t *testing.T, s *service) {
	a := s.open(t, "Assisi")
	coach, student := a.coach, a.student
	chip, pitch := coach.skill("Chip", pitchSteps()).ID, coach.skill("Pitch", pitchSteps()).ID
	id := coach.publish(course("Two skills", chip, pitch, pitch))
	zone := read[api.Me](student.caller, "/v1/me").Member.TimeZone
	give := func(c *person, start string, who ...domain.ID) answer {
		return c.post("/v1/assignments", object{"programme_id": id, "student_ids": who, "start_date": start})
	}
	now := func(t *testing.T) api.Now {
		t.Helper()
		return read[api.Now](student.in(t).caller, "/v1/students/"+string(student.id)+"/now")
	}

	// From nine days ago this is the third day of the second week.
	var list api.AssignmentList
	give(coach, today(t, zone, -9), student.id).want(201).into(&list)
	path := "/v1/assignments/" + string(list.Items[0].ID)
	give(coach, today(t, zone, 0), student.id).problem(409, "assigned_already")
	coach.asPublished(student)

	n := now(t)
	if n.On != today(t, zone, 0) || len(n.Work) != 1 || n.Work[0].Position != (api.Position{Phase: "running", Week: 2, Day: 3}) {
		t.Fatalf("now is %+v; want day 3 of week 2", n.Work)
	}
	week := n.Work[0].Week
	if week.Number != 2 || week.SkillID != pitch || week.StartsOn != today(t, zone, -2) || len(week.Plans) != 1 || week.Plans[0].Times != 3 {
		t.Errorf("the week is %+v; want the second, of pitches", week)
	}
	for i, b := range week.Plans[0].Blocks {
		if minutes := []int{15, 10, 18, 7}[i]; b.Minutes != minutes || b.Number != i+1 || b.SkillName != "Pitch" || b.Drill.RadiusM != wide {
			t.Errorf("block %+v; want %d minutes of pitches inside two metres", b, minutes)
		}
	}
	// The chip of the first week is still open, so it is kept alive.
	if got := skillsOf(n); !slices.Equal(got, []string{"Pitch", "Chip, earlier"}) {
		t.Errorf("skills %v; want the pitch, and the chip as an earlier one", got)
	}

	session := sessionBody(1, ago(1), test(pitch, in(4)), test(chip, in(5)+"oo"))
	session["assignment_id"], session["week"], session["plan"] = list.Items[0].ID, 2, 1
	for i, b := range session["blocks"].([]object) {
		b["plan_block"] = 3 - i
	}
	stored := student.store(newID(), session, 201)
	if b := stored.Blocks[0]; b.PlannedSeconds != 1080 {
		t.Errorf("planned %d s; want 1080", b.PlannedSeconds)
	}
	if done := now(t).Work[0].Week.Plans[0].Done; done != 1 {
		t.Errorf("done %d times this week; want 1", done)
	}
	if got := skillsOf(now(t)); !slices.Equal(got, []string{"Pitch"}) {
		t.Errorf("skills %v; want the pitch alone, since the chip's ladder is finished", got)
	}

	t.Run("pause and resume shift the weeks", func(t *testing.T) {
		coach := coach.in(t)
		change := func(what string, body object, want api.Position) {
			t.Helper()
			var got api.AssignmentDetail
			coach.post(path+"/"+what, body).want(200).into(&got)
			if got.Position != want {
				t.Errorf("%s %v: %+v; want %+v", what, body, got.Position, want)
			}
		}
		coach.post(path+"/resume", nil).problem(409, "not_paused")
		wrongAt(t, coach.post(path+"/pause", object{"from": today(t, zone, -20)}).problem(422, "date_invalid"), "/from", "before the assignment starts")
		// Paused since the day before yesterday, the week's first: it waits.
		change("pause", object{"from": today(t, zone, -2), "reason": "holiday"}, api.Position{Phase: "paused", Week: 2, Day: 1})
		coach.post(path+"/pause", nil).problem(409, "already_paused")
		change("resume", object{"on": today(t, zone, 0)}, api.Position{Phase: "running", Week: 2, Day: 1})
		if n := now(t); n.Work[0].Week.StartsOn != today(t, zone, 0) {
			t.Errorf("the second week starts on %s; want today", n.Work[0].Week.StartsOn)
		}
		if got := read[api.AssignmentDetail](coach.caller, path); got.Planned != 3 {
			t.Errorf("%d sessions were planned by today; want the 3 of the first week", got.Planned)
		}
	})
	t.Run("moving keeps milestones", func(t *testing.T) {
		coach, before := coach.in(t), skillOf(t, progressOf(coach.caller, student.id), chip)
		content := course("Two skills", chip, pitch)
		harder := object{"name": "Chip", "kind": "chip_and_run", "ladder": object{"tiers": []object{{"run": 5, "radius_m": wide}, {"run": 30, "radius_m": wide}}}}
		coach.put("/v1/skills/"+string(chip), harder).want(200)
		coach.put("/v1/programmes/"+string(id), content).want(200)
		coach.post("/v1/programmes/"+string(id)+"/versions", nil).want(201)
		if still := skillOf(t, progressOf(coach.caller, student.id), chip); still.Tiers != 2 || still.Held != 2 {
			t.Errorf("publishing changed what is held to %d of %d; want 2 of 2, by the version assigned", still.Held, still.Tiers)
		}
		wrongAt(t, coach.post(path+"/move", object{"version": 3}).problem(422, "assignment_invalid"), "/version", "no published version 3")
		var moved api.AssignmentDetail
		coach.post(path+"/move", object{"version": 2}).want(200).into(&moved)
		if moved.Version != 2 || moved.Weeks != 2 || moved.Sessions != 1 {
			t.Errorf("moved to %+v; want version 2 of two weeks, its session kept", moved)
		}
		after := skillOf(t, progressOf(coach.caller, student.id), chip)
		for _, m := range before.Milestones {
			if !slices.Contains(after.Milestones, m) {
				t.Errorf("the milestone %+v was lost; left are %+v", m, after.Milestones)
			}
		}
		// What was practised counts for the new ladder as well.
		if after.Tiers != 2 || after.Held != 1 || after.HeldTier.Run != 5 {
			t.Errorf("held %d of %d, %+v; want the five in a row of the new ladder", after.Held, after.Tiers, after.HeldTier)
		}
	})
	t.Run("a session is held to the version that was followed", func(t *testing.T) {
		late := func(version int) answer {
			o := follow(list.Items[0], pitch, ago(30), asPlanned, in(3))
			o["week"], o["version"] = 3, version
			return student.in(t).put(sessionPath(newID()), o)
		}
		// The third week is gone in version 2, to which the student was moved.
		for version, planned := range map[int]int{1: 900, 2: 0} {
			var got api.SessionResult
			late(version).want(201).into(&got)
			told := slices.ContainsFunc(got.Notices, func(n api.Notice) bool { return n.Code == "plan_missing" })
			if got.Version != version || got.Blocks[0].PlannedSeconds != planned || told != (planned == 0) {
				t.Errorf("by version %d: version %d, %d seconds planned, notices %+v; want %d, and the student told if there is no plan",
					version, got.Version, got.Blocks[0].PlannedSeconds, got.Notices, planned)
			}
		}
		wrongAt(t, late(3).problem(422, "session_invalid"), "/version", "no published version 3")
	})
	t.Run("end", func(t *testing.T) {
		coach := coach.in(t)
		coach.post(path+"/end", nil).want(200)
		coach.post(path+"/end", nil).problem(409, "assignment_ended")
		coach.post(path+"/pause", nil).problem(409, "assignment_ended")
		if n := now(t); len(n.Work) != 0 {
			t.Errorf("now is %+v; want nothing to do", n.Work)
		}
		from := today(t, zone, 3)
		give(coach, from, student.id).want(201)
		if n := now(t); n.Work[0].Position != (api.Position{Phase: "upcoming", From: from}) || n.Work[0].Week != nil {
			t.Errorf("now is %+v; want it upcoming", n.Work[0])
		}
	})
	t.Run("all or nobody", func(t *testing.T) {
		coach := coach.in(t)
		second := coach.join("Second", object{"role": "student"})
		give(coach, today(t, zone, 0), second.id, student.id).problem(409, "assigned_already")
		if page := read[api.AssignmentPage](coach.caller, "/v1/assignments?student_id="+string(second.id)); len(page.Items) != 0 {
			t.Errorf("one of two got it: %+v", page.Items)
		}
		wrongAt(t, give(coach, "2026-02-30", second.id).problem(422, "assignment_invalid"), "/start_date", "YYYY-MM-DD")
		wrongAt(t, give(coach, today(t, zone, 0)).problem(422, "assignment_invalid"), "/student_ids", "is empty")
	})
}

func skillsOf(n api.Now) (all []string) {
	for _, x := range n.Skills {
		if x.Earlier {
			x.Name += ", earlier"
		}
		all = append(all, x.Name)
	}
	return all
}

// A group gets a programme at once, each student from the date in their own
// time zone: at any moment Kiritimati (UTC+14) is a day ahead of Pago Pago
// (UTC-11; both from the tz database), so one has begun when the other has not.
func testZones(t *testing.T, s *service) {
	coach := s.open(t, "Zoe").coach
	skill := coach.skill("Pitch", pitchSteps()).ID
	id := coach.publish(course("Far apart", skill))
	const ahead, behind = "Pacific/Kiritimati", "Pacific/Pago_Pago"
	var ids []domain.ID
	zones := map[domain.ID]string{}
	for _, zone := range []string{ahead, behind} {
		p := coach.join("Islander", object{"role": "student"})
		p.patch("/v1/me", object{"time_zone": zone}).want(200)
		ids, zones[p.id] = append(ids, p.id), zone
	}
	group := made[api.Group](coach.caller, "/v1/groups", object{"name": "Islands", "student_ids": ids})
	for _, start := range []int{0, 1} {
		var list api.AssignmentList
		coach.post("/v1/assignments", object{"programme_id": id, "group_id": group.ID, "start_date": today(t, behind, start)}).want(201).into(&list)
		if len(list.Items) != 2 {
			t.Fatalf("%d students of the group got it; want 2", len(list.Items))
		}
		for _, x := range list.Items {
			got := read[api.AssignmentDetail](coach.caller, "/v1/assignments/"+string(x.ID)).Position
			// Kiritimati is 25 hours ahead: its date is one or two later.
			begun := zones[x.StudentID] == ahead || start == 0
			if (got.Phase == "running") != begun {
				t.Errorf("starting %s, in %s: %+v; want begun: %v", x.StartDate, zones[x.StudentID], got, begun)
			}
			coach.post("/v1/assignments/"+string(x.ID)+"/end", nil).want(200)
		}
	}
}

// Groups: a coach sees all of them, and in each the students linked to them.
func testGroups(t *testing.T, s *service) {
	a := s.open(t, "Groot")
	other := a.owner.join("Other", object{"role": "coach"})
	theirs := other.join("Theirs", object{"role": "student"})
	group := made[api.Group](a.owner.caller, "/v1/groups", object{"name": "Both", "student_ids": []domain.ID{a.student.id, theirs.id, theirs.id}})
	if len(group.StudentIDs) != 2 {
		t.Errorf("the group has %v; want each student once", group.StudentIDs)
	}
	path := "/v1/groups/" + string(group.ID)
	if got := read[api.Group](other.caller, path); !slices.Equal(got.StudentIDs, []domain.ID{theirs.id}) {
		t.Errorf("a coach sees %v in it; want their own student alone", got.StudentIDs)
	}
	// Who changes what they see leaves the rest.
	other.put(path, object{"name": "Renamed", "student_ids": []domain.ID{}}).problem(403, "others_group")
	other.put(path, object{"name": "Both", "student_ids": []domain.ID{}}).want(200)
	if got := read[api.Group](a.owner.caller, path); got.Name != "Both" || !slices.Equal(got.StudentIDs, []domain.ID{a.student.id}) {
		t.Errorf("the owner sees %+v; want the other coach's student still in it", got)
	}
	wrongAt(t, a.owner.put(path, object{"name": " ", "student_ids": []string{}}).problem(422, "group_invalid"), "/name", "empty")
	wrongAt(t, a.owner.put(path, object{"name": "Nobody"}).problem(422, "member_missing"), "/student_ids", "[]")
	a.owner.del(path).want(204)
	a.owner.get(path).problem(404, "not_found")
	a.owner.get("/v1/members/" + string(a.student.id)).want(200)
}

// Members: roles, removal, and coming back.
func testMembers(t *testing.T, s *service) {
	a := s.open(t, "Memphis")
	owner, coach, student := a.owner, a.coach, a.student
	skill := coach.teach(student, "Pitch", pitchSteps())
	student.practise(ago(4), test(skill, in(4)))

	owner.del("/v1/members/"+string(owner.id)).problem(409, "last_owner")
	owner.patch("/v1/members/"+string(owner.id), object{"role": "coach"}).problem(409, "last_owner")
	coach.patch("/v1/members/"+string(coach.id), object{"role": "owner"}).problem(403, "role_refused")
	owner.patch("/v1/members/"+string(coach.id), object{"role": "owner"}).want(200)
	coach.get("/v1/events").want(200) // at once, with the token from before
	coach.patch("/v1/members/"+string(owner.id), object{"role": "coach"}).want(200)
	owner.get("/v1/events").problem(403, "role_refused")
	wrongAt(t, coach.patch("/v1/members/"+string(student.id), object{"role": "coach"}).problem(422, "member_invalid"), "/role", "invitation")
	wrongAt(t, coach.patch("/v1/members/"+string(student.id), object{"time_zone": nil}).problem(422, "member_invalid"), "/time_zone", "cannot be removed")
	wrongAt(t, coach.patch("/v1/members/"+string(student.id), object{"units": "yards"}).problem(422, "member_invalid"), "/units", "metres")
	student.patch("/v1/members/"+string(student.id), object{"junior": false}).problem(403, "staff_only")
	coach.put("/v1/students/"+string(student.id)+"/coaches/"+string(coach.id), nil).want(204)

	// Unlinking takes effect at once.
	third := coach.join("Third", object{"role": "coach"})
	third.get("/v1/students/"+string(student.id)+"/progress").problem(404, "not_found")
	coach.put("/v1/students/"+string(student.id)+"/coaches/"+string(third.id), nil).want(204)
	third.get("/v1/students/" + string(student.id) + "/progress").want(200)
	list := read[api.CoachList](third.caller, "/v1/students/"+string(student.id)+"/coaches")
	if !slices.Contains(list.Items, api.CoachRef{ID: third.id}) {
		t.Errorf("coaches %+v; want %s among them", list.Items, third.id)
	}
	coach.del("/v1/students/" + string(student.id) + "/coaches/" + string(third.id)).want(204)
	third.get("/v1/students/"+string(student.id)+"/progress").problem(404, "not_found")

	coach.del("/v1/members/" + string(student.id)).want(204)
	coach.del("/v1/members/" + string(student.id)).want(204)
	student.get("/v1/me").problem(401, "token_refused")
	coach.get("/v1/students/"+string(student.id)+"/progress").problem(404, "not_found")
	if m := read[api.Member](coach.caller, "/v1/members/"+string(student.id)); m.RemovedAt == nil {
		t.Errorf("an owner reads %+v; want when the student was removed", m)
	}
	back := s.accept(t, coach.invite(object{"role": "student"}).Code, "Sunniva again", student.email)
	if back.id != student.id {
		t.Errorf("came back as %s; want the member from before, %s", back.id, student.id)
	}
	if got := skillOf(t, progressOf(back.caller, back.id), skill); got.Held != 1 {
		t.Errorf("%d tiers held after coming back; want the one from before", got.Held)
	}
	kinds := eventKinds(coach.caller)
	for kind, n := range map[string]int{"member.removed": 1, "member.joined": 6, "coach.linked": 2, "coach.unlinked": 1} {
		if kinds[kind] != n {
			t.Errorf("the log has %d %s; want %d: %v", kinds[kind], kind, n, kinds)
		}
	}
}
