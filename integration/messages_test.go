package integration_test

import (
	"strings"
	"testing"
	"time"

	"fringework/api"
	"fringework/domain"
)

// share makes a link to a student's report and gives its identity.
func (p *person) share(student *person) domain.ID {
	p.Helper()
	return made[api.ReportLinkCreated](p.caller, "/v1/students/"+string(student.id)+"/report-links", object{"days": 7}).ID
}

// A message reaches one or many, and comes back answered.
func testMessages(t *testing.T, s *service) {
	a := s.open(t, "Messina")
	coach, student := a.coach, a.student
	thread := "/v1/students/" + string(student.id) + "/messages"
	second := coach.join("Second", object{"role": "student"})
	junior := coach.join("Jonna", object{"role": "student", "junior": true})
	group := made[api.Group](coach.caller, "/v1/groups", object{"name": "Sunday", "student_ids": []domain.ID{second.id, junior.id}})
	const words = "The green is closed on Sunday."
	var sent api.MessageManyResults
	coach.post("/v1/messages", object{"student_ids": []domain.ID{student.id, newID()}, "group_id": group.ID, "text": words}).want(200).into(&sent)
	codes := ""
	for _, r := range sent.Results {
		code := "sent"
		if r.Problem != nil {
			code = r.Problem.Code
		}
		codes += r.Name + " " + code + "; "
	}
	if want := "Sunniva Messina sent;  not_found; Second sent; Jonna consent_missing; "; codes != want {
		t.Errorf("sent %s; want %s", codes, want)
	}
	page := read[api.MessagePage](student.caller, thread)
	if len(page.Items) != 1 || page.Items[0].Text != words || !page.Items[0].Unread || page.Items[0].AuthorID != coach.id {
		t.Fatalf("the student reads %+v; want the coach's words, unread", page.Items)
	}
	student.put(thread+"/read", object{"up_to": page.Items[0].ID}).want(204)
	if again := read[api.MessagePage](student.caller, thread); again.Items[0].Unread {
		t.Error("it is unread once it was read")
	}
	reply := made[api.Message](student.caller, thread, object{"text": "Then on Monday?"})
	unread := func(p *person) int {
		t.Helper()
		return len(read[api.UnreadThreads](p.caller, "/v1/messages/unread").Items)
	}
	if list := read[api.UnreadThreads](coach.caller, "/v1/messages/unread").Items; len(list) != 1 || list[0].StudentID != student.id || list[0].Messages != 1 {
		t.Errorf("unread are %+v; want the student's reply", list)
	}
	if n := unread(a.owner); n != 0 {
		t.Errorf("the owner is called by %d threads; want none, since a coach has them", n)
	}
	coach.put(thread+"/read", object{"up_to": reply.ID}).want(204)
	if n := unread(coach); n != 0 {
		t.Errorf("%d threads are unread once read", n)
	}
	first := read[api.MessagePage](coach.caller, thread+"?limit=1")
	if first.Items[0].ID != reply.ID || first.Links.Next == "" {
		t.Fatalf("the first page is %+v; want the reply, and more", first)
	}
	if rest := read[api.MessagePage](coach.caller, first.Links.Next); len(rest.Items) != 1 || rest.Items[0].Text != words {
		t.Errorf("the next page is %+v; want the first words", rest)
	}
	// The log, which owners and software read, does not have the words.
	if log := string(a.owner.get("/v1/events?limit=200").want(200).body); strings.Contains(log, words) || !strings.Contains(log, "message.sent") {
		t.Error("the log has the words of a message, or does not tell that it was sent")
	}
	wrongAt(t, coach.post(thread, object{"text": " "}).problem(422, "message_invalid"), "/text", "is empty")
	wrongAt(t, coach.put(thread+"/read", object{"up_to": newID()}).problem(422, "message_invalid"), "/up_to", "no message")
	coach.post("/v1/students/"+string(junior.id)+"/messages", object{"text": "Hello"}).problem(409, "consent_missing")
}

// A report is shared by a link that expires, can be withdrawn, and tells no more
// than it must.
func testSharedReports(t *testing.T, s *service) {
	a := s.open(t, "Reporta")
	coach, anybody := a.coach, s.caller(t)
	student := coach.join("Sunniva Reporta", object{"role": "student"})
	skill := coach.skill("Pitch", pitchSteps()).ID
	coach.assign(coach.publish(course("Two weeks", skill, skill)), ago(3*24), student)
	student.store(newID(), sessionBody(1, ago(24), test(skill, in(5))), 201)
	links := "/v1/students/" + string(student.id) + "/report-links"
	link := made[api.ReportLinkCreated](coach.caller, links, object{"days": 14, "words": "A good spring."})
	if days := link.ExpiresAt.Sub(link.CreatedAt); days != 14*24*time.Hour || link.State != "open" {
		t.Errorf("got %+v; want it open for 14 days", link)
	}
	_, token, fragment := strings.Cut(link.Link, "/report#")
	if !fragment {
		t.Fatalf("the link is %s; want the token in its fragment", link.Link)
	}
	show := func(token string) answer {
		t.Helper()
		return anybody.post("/v1/shared-reports", object{"token": token})
	}
	shown := show(token).want(200)
	for name, want := range map[string]string{"Cache-Control": "no-store", "X-Robots-Tag": "noindex", "Referrer-Policy": "no-referrer"} {
		if got := shown.header.Get(name); got != want {
			t.Errorf("%s is %q; want %q", name, got, want)
		}
	}
	var r api.SharedReport
	shown.into(&r)
	if r.FirstName != "Sunniva" || r.Words != "A good spring." || len(r.Passed) != 1 || r.Passed[0].On == "" || len(r.Skills) != 1 || r.Skills[0].Held != 1 || len(r.Work) != 1 || r.Work[0].NextWeek == nil {
		t.Errorf("shown %+v; want one step passed, and what comes next week", r)
	}
	for _, secret := range []string{student.email, string(student.id), string(student.academy), coach.email, "Sunniva Reporta"} {
		if strings.Contains(string(shown.body), secret) {
			t.Errorf("the report has %s in it", secret)
		}
	}
	// A junior's has no days, and is there only while the guardian agrees.
	coach.patch("/v1/members/"+string(student.id), object{"junior": true}).want(200)
	show(token).problem(404, "no_report")
	a.owner.put("/v1/students/"+string(student.id)+"/consent", object{"given": true, "reports": true}).want(200)
	var again api.SharedReport
	show(token).want(200).into(&again)
	if len(again.Passed) != 1 || again.Passed[0].On != "" || !again.Junior {
		t.Errorf("a junior's is %+v; want no days", again)
	}
	list := read[api.ReportLinkList](coach.caller, links)
	if len(list.Items) != 1 || list.Items[0].ID != link.ID || list.Items[0].State != "open" {
		t.Errorf("listed %+v; want the one", list.Items)
	}
	coach.del(links + "/" + string(link.ID)).want(204)
	coach.del(links + "/" + string(link.ID)).want(204)
	show(token).problem(404, "no_report")
	if list := read[api.ReportLinkList](coach.caller, links); list.Items[0].State != "withdrawn" || list.Items[0].WithdrawnAt == nil {
		t.Errorf("listed %+v; want it withdrawn", list.Items)
	}
	show("fwl_nonsense").problem(404, "no_report")
	wrongAt(t, coach.post(links, object{"days": 91}).problem(422, "report_invalid"), "/days", "1 to 90")

	t.Run("only its hash is stored, and it expires", func(t *testing.T) {
		link := made[api.ReportLinkCreated](coach.in(t).caller, links, object{"days": 1})
		_, token, _ := strings.Cut(link.Link, "#")
		if list := coach.in(t).get(links).want(200); strings.Contains(string(list.body), token) {
			t.Error("the list shows a token")
		}
		anybody := anybody.in(t)
		anybody.post("/v1/shared-reports", object{"token": token}).want(200)
		execute(t, s.behind(t), "UPDATE report_links SET created_at = 1, expires_at = 2 WHERE id = '"+string(link.ID)+"'")
		anybody.post("/v1/shared-reports", object{"token": token}).problem(404, "no_report")
		if got := read[api.ReportLinkList](coach.in(t).caller, links).Items[0]; got.State != "expired" {
			t.Errorf("listed %+v; want it expired", got)
		}
	})
}
