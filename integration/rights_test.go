package integration_test

import (
	"bytes"
	"encoding/json"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	ics "github.com/emersion/go-ical"

	"fringework/api"
	"fringework/domain"
)

// A person takes home what is held on them, leaves, and is erased; the academy keeps
// how much was practised.
func testRights(t *testing.T, s *service) {
	a := s.open(t, "Rightside")
	skill := a.owner.skill("Pitch", pitchSteps()).ID
	student := a.coach.join("Rosalind Right", object{"role": "student"})
	student.store(newID(), sessionBody(1, ago(24), test(skill, in(7))), 201)
	student.put("/v1/rounds/"+string(newID()), roundBody(1, ago(30))).want(201)
	student.post("/v1/students/"+string(student.id)+"/messages", object{"text": "Is <b>Monday</b> fine?"}).want(201)

	var export api.Export
	got := student.get("/v1/me/export").want(200)
	got.into(&export)
	if len(export.Academies) != 1 || len(export.Academies[0].Sessions) != 1 || len(export.Academies[0].Sessions[0].Blocks[0].Balls) != 7 ||
		len(export.Academies[0].Rounds) != 1 || export.Account.Email != student.email || len(export.SignIns) == 0 {
		t.Errorf("exported %s", got.body)
	}
	if !bytes.Contains(got.body, []byte("Monday")) || bytes.Contains(got.body, []byte("token")) || bytes.Contains(got.body, []byte("argon2")) {
		t.Errorf("the export lacks a message, or has secrets in it: %s", got.body)
	}
	if disposition := got.header.Get("Content-Disposition"); disposition != `attachment; filename="fringework.json"` || got.header.Get("Cache-Control") != "no-store" {
		t.Errorf("Content-Disposition %q, Cache-Control %q", disposition, got.header.Get("Cache-Control"))
	}
	page := student.get("/v1/me/export/page").want(200)
	if text := string(page.body); !strings.Contains(text, "Rosalind Right") || !strings.Contains(text, "Is &lt;b&gt;Monday&lt;/b&gt; fine?") || strings.Contains(text, "<b>Monday") {
		t.Errorf("the page is %s", text)
	}
	for _, p := range []*person{a.coach, a.guardian, a.owner} {
		p.get("/v1/me/export").want(200)
	}

	practised := func() api.Practised {
		t.Helper()
		return read[api.PractisedList](a.owner.caller, "/v1/academy/practised").Items[0]
	}
	before := practised()
	here := object{"academy_id": a.owner.academy}
	a.owner.post("/v1/me/leave", here).problem(409, "last_owner")
	erase := "/v1/members/" + string(student.id) + "/erase"
	a.owner.post(erase, nil).problem(409, "not_removed")
	student.post("/v1/me/leave", here).want(204)
	student.get("/v1/me").problem(401, "token_refused")
	a.owner.post(erase, nil).want(204)
	a.owner.get("/v1/members/"+string(student.id)).problem(404, "not_found")
	after := practised()
	if before.Erased = 1; after != before || after.Balls != 7 || after.Students != 1 {
		t.Errorf("practised %+v, want %+v with 7 balls", after, before)
	}
	s.caller(t).post("/v1/sign-in", object{"email": student.email, "password": password}).problem(401, "sign_in_refused")

	// An account goes with all that its academies hold.
	coach := a.owner.join("Corinna Right", object{"role": "coach"})
	wrong := coach.post("/v1/me/deletion", object{"password": "not mine"}).problem(422, "password")
	if len(wrong.Errors) != 1 || wrong.Errors[0].Pointer != "/password" {
		t.Errorf("a wrong password: %+v", wrong)
	}
	if alone := a.owner.post("/v1/me/deletion", object{"password": password}).problem(409, "last_owner"); !strings.Contains(alone.Detail, "Rightside Academy") {
		t.Errorf("the only owner is told %q", alone.Detail)
	}
	coach.post("/v1/me/deletion", object{"password": password}).want(204)
	coach.get("/v1/me").problem(401, "token_refused")
	s.caller(t).post("/v1/sign-in", object{"email": coach.email, "password": password}).problem(401, "sign_in_refused")
	var log api.EventPage
	a.owner.get("/v1/events?limit=200").want(200).into(&log)
	for _, gone := range []*person{student, coach} {
		if raw, _ := json.Marshal(log); bytes.Contains(raw, []byte(gone.id)) {
			t.Errorf("the log still has %s", gone.name)
		}
	}

	a.owner.patch("/v1/academy", object{"erase_removed_days": 3, "forget_events_days": 90}).problem(422, "academy_invalid")
	var kept api.Academy
	a.owner.patch("/v1/academy", object{"erase_removed_days": 365, "forget_events_days": 730}).want(200).into(&kept)
	if kept.EraseRemovedDays != 365 || kept.ForgetEventsDays != 730 {
		t.Errorf("kept for %+v", kept)
	}
}

// A junior's guardians are listed, end it, and wait for the student's word once the
// student is a junior no more.
func testGuardians(t *testing.T, s *service) {
	a := s.open(t, "Wardholm")
	junior, guardian := "/v1/students/"+string(a.student.id), a.guardian
	wards := func() []domain.ID {
		t.Helper()
		ids := []domain.ID{}
		for _, m := range read[api.WardList](guardian.caller, "/v1/me/juniors").Items {
			ids = append(ids, m.ID)
		}
		return ids
	}
	second := a.coach.join("Second Child", object{"role": "student", "junior": true})
	code := a.coach.invite(object{"role": "guardian", "student_id": second.id}).Code
	guardian.post("/v1/invitations/accept", object{"code": code}).want(200)
	if got := wards(); len(got) != 2 || !slices.Contains(got, second.id) {
		t.Errorf("the guardian looks after %v", got)
	}
	if list := read[api.GuardianList](a.coach.caller, junior+"/guardians").Items; len(list) != 1 || list[0].ID != guardian.id || list[0].AskedAt != nil {
		t.Errorf("the junior's guardians: %+v", list)
	}
	toCoach := a.owner.invite(object{"role": "guardian", "student_id": second.id}).Code
	told := a.coach.post("/v1/invitations/accept", object{"code": toCoach}).problem(409, "already_member")
	if !strings.Contains(told.Detail, "another e-mail address") {
		t.Errorf("a coach who would be a guardian is told %q", told.Detail)
	}

	guardian.put(junior+"/consent", object{"given": true, "reports": false}).want(200)
	a.coach.post(junior+"/report-links", object{"days": 7}).problem(409, "sharing_not_agreed")
	guardian.put(junior+"/consent", object{"given": false}).want(200)
	refusal := a.coach.post(junior+"/report-links", object{"days": 7}).problem(409, "consent_withdrawn")
	if !strings.Contains(refusal.Detail, "was withdrawn on ") || !strings.Contains(refusal.Detail, guardian.name) {
		t.Errorf("refused with %q", refusal.Detail)
	}
	guardian.put(junior+"/consent", object{"given": true}).want(200)

	a.coach.patch("/v1/members/"+string(a.student.id), object{"junior": false}).problem(403, "owner_only")
	a.owner.patch("/v1/members/"+string(a.student.id), object{"junior": false}).want(200)
	guardian.get(junior+"/guardians").problem(404, "not_found")
	if got := wards(); !slices.Equal(got, []domain.ID{second.id}) {
		t.Errorf("while the student is asked, the guardian looks after %v", got)
	}
	let := junior + "/guardians/" + string(guardian.id)
	a.student.put(let, nil).want(204)
	guardian.get(junior + "/guardians").want(200)
	a.student.del(let).want(204)
	guardian.del("/v1/students/" + string(second.id) + "/guardians/" + string(guardian.id)).want(204)
	if got := wards(); len(got) != 0 {
		t.Errorf("in the end the guardian looks after %v", got)
	}
}

// Comments are answered, edited and deleted, and all of it shows.
func testReplies(t *testing.T, s *service) {
	a := s.open(t, "Parley")
	session := newID()
	a.student.store(session, sessionBody(1, ago(24), test(a.owner.skill("Pitch", pitchSteps()).ID, in(3))), 201)
	comments := sessionPath(session) + "/comments"
	said := made[api.Comment](a.coach.caller, comments, object{"text": "Nice tempo."})
	one := comments + "/" + string(said.ID)
	reply := made[api.Comment](a.student.caller, one+"/replies", object{"text": "Thanks."})
	if reply.ReplyTo != said.ID || reply.AuthorID != a.student.id {
		t.Errorf("the reply is %+v", reply)
	}
	var edited api.Comment
	a.coach.put(one, object{"text": "Fine tempo."}).want(200).into(&edited)
	if edited.EditedAt == nil || edited.Text != "Fine tempo." {
		t.Errorf("edited: %+v", edited)
	}
	a.student.put(one, object{"text": "Mine"}).problem(403, "not_yours")
	a.coach.del(one).want(204)
	a.coach.put(one, object{"text": "Back"}).problem(409, "comment_deleted")
	list := read[api.CommentList](a.guardian.caller, comments).Items
	if len(list) != 2 || list[0].Text != "" || list[0].DeletedAt == nil || list[1].Text != "Thanks." {
		t.Errorf("the comments: %+v", list)
	}
	a.student.del(comments + "/" + string(reply.ID)).want(204)
}

// A calendar that an app subscribes to, read by a parser that is not ours.
func testCalendars(t *testing.T, s *service) {
	a := s.open(t, "Almanac")
	skill := a.owner.skill("Pitch, high; soft\\low", pitchSteps()).ID
	adult := a.coach.join("Adelheid Almanac", object{"role": "student"})
	version := a.coach.publish(course("Course for "+a.student.name+", and others", skill))
	a.coach.assign(version, ago(24), adult, a.student)
	subscribe := func(p *person) api.CalendarLinkCreated {
		t.Helper()
		return made[api.CalendarLinkCreated](p.caller, "/v1/me/calendar", nil)
	}
	read := func(l api.CalendarLinkCreated) (answer, []ics.Event) {
		t.Helper()
		at := s.caller(t).get(addressOf(l)).want(200)
		cal, err := ics.NewDecoder(bytes.NewReader(at.body)).Decode()
		if err != nil {
			t.Fatalf("%v\n%s", err, at.body)
		}
		for line := range strings.SplitSeq(strings.TrimSuffix(string(at.body), "\r\n"), "\r\n") {
			if len(line) > 75 || strings.ContainsAny(line, "\r\n") {
				t.Errorf("a line of %d bytes: %q (RFC 5545, section 3.1)", len(line), line)
			}
		}
		if strings.Contains(string(at.body), firstName(adult.name)) || strings.Contains(string(at.body), "@example.org") {
			t.Errorf("somebody is named\n%s", at.body)
		}
		return at, cal.Events()
	}
	link := subscribe(adult)
	body, events := read(link)
	if len(events) == 0 {
		t.Fatalf("no events\n%s", body.body)
	}
	ids := map[string]bool{}
	for _, e := range events {
		uid, _ := e.Props.Text(ics.PropUID)
		ids[uid] = true
		start, err := e.DateTimeStart(time.UTC)
		end, endErr := e.DateTimeEnd(time.UTC)
		stamp, stampErr := e.Props.DateTime(ics.PropDateTimeStamp, time.UTC)
		if err != nil || endErr != nil || stampErr != nil || end.Sub(start) != 7*24*time.Hour || stamp.IsZero() {
			t.Errorf("from %v to %v, made %v", start, end, stamp)
		}
	}
	if len(ids) != len(events) {
		t.Errorf("%d events have %d identities", len(events), len(ids))
	}
	text, err := events[0].Props.Text(ics.PropDescription)
	if err != nil || !strings.Contains(text, "Course for Sunniva Almanac, and others.") || !strings.Contains(text, "\n") {
		t.Errorf("described as %q (%v)", text, err)
	}
	again, same := read(link)
	first, _ := events[0].Props.Text(ics.PropUID)
	if uid, _ := same[0].Props.Text(ics.PropUID); uid != first || again.header.Get("ETag") != body.header.Get("ETag") {
		t.Error("the same calendar has other identities or another tag")
	}
	path := addressOf(link)
	s.caller(t).get(path, header("If-None-Match", body.header.Get("ETag"))).want(http.StatusNotModified)
	if got := body.header.Get("Content-Type"); got != "text/calendar; charset=utf-8" {
		t.Errorf("Content-Type %q", got)
	}

	_, juniors := read(subscribe(a.student))
	for _, e := range juniors {
		if text, _ := e.Props.Text(ics.PropDescription); strings.Contains(text, "Sunniva") || strings.Contains(text, "Course") {
			t.Errorf("a junior's calendar says %q", text)
		}
	}
	adult.get("/v1/me/calendar").want(200)
	next := subscribe(adult)
	s.caller(t).get(path).problem(404, "no_calendar")
	adult.del("/v1/me/calendar").want(204)
	s.caller(t).get(addressOf(next)).problem(404, "no_calendar")
	adult.get("/v1/me/calendar").problem(404, "not_found")
	s.caller(t).get("/calendars/nonsense.ics").problem(404, "no_calendar")
}

// addressOf is a calendar's address at the service.
func addressOf(l api.CalendarLinkCreated) string {
	_, file, _ := strings.Cut(l.Address, "/calendars/")
	return "/calendars/" + file
}

// firstName is a first name.
func firstName(name string) string {
	first, _, _ := strings.Cut(name, " ")
	return first
}
