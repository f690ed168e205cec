package academy_test

import (
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/domaintest"
)

func TestMessages(t *testing.T) {
	h := open(t)
	talk := h.mem.Messages()
	first := must(talk.Write(ctx, coach, ada, "Bring the 56."))(t)
	if first.Author != coach.Member || first.AuthorName != "Carl" || first.Text != "Bring the 56." || !first.At.Equal(now) || first.Unread {
		t.Errorf("got %+v, want Carl's words", first)
	}
	// The log tells that a message was sent, not what it says.
	h.wantEvent(coach, "message.sent", first.ID, ada, nil)
	h.mem.Pass(time.Hour)
	reply := must(talk.Write(ctx, domaintest.AsAda, ada, "I will."))(t)
	second := must(talk.Write(ctx, domaintest.AsAda, ada, "Which lie?"))(t)
	if !reply.ByStudent() || first.ByStudent() {
		t.Error("the student's words are not told from the coach's")
	}
	unread := func(a domain.Actor) (texts string) {
		t.Helper()
		for _, m := range must(talk.Thread(ctx, a, ada, domain.Page{Limit: 9}))(t) {
			if texts += m.AuthorName + ": " + m.Text; m.Unread {
				texts += " (new)"
			}
			texts += "; "
		}
		return texts
	}
	if got, want := unread(coach), "Ada: Which lie? (new); Ada: I will. (new); Carl: Bring the 56.; "; got != want {
		t.Errorf("the coach reads %s, want %s", got, want)
	}
	if got, want := unread(domaintest.AsAda), "Ada: Which lie?; Ada: I will.; Carl: Bring the 56.; "; got != want {
		t.Errorf("Ada, who wrote last, reads %s, want %s", got, want)
	}
	if page := must(talk.Thread(ctx, coach, ada, domain.Page{Limit: 1, After: second.ID}))(t); len(page) != 1 || page[0].ID != reply.ID {
		t.Errorf("before the latest: %+v, want the first reply", page)
	}
	threads := must(talk.Unread(ctx, coach))(t)
	if want := (academy.UnreadThread{Student: ada, Name: "Ada", Messages: 2, LastAt: h.mem.Now()}); len(threads) != 1 || threads[0] != want {
		t.Errorf("unread are %+v, want %+v", threads, want)
	}
	for what, a := range map[string]domain.Actor{"another coach": coach2, "an owner who has no part in it": owner} {
		if got := must(talk.Unread(ctx, a))(t); len(got) != 0 {
			t.Errorf("%s is called by %+v", what, got)
		}
	}
	mark := func(id domain.ID) { t.Helper(); must(0, talk.MarkRead(ctx, coach, ada, id))(t) }
	mark(reply.ID)
	if got, want := unread(coach), "Ada: Which lie? (new); Ada: I will.; Carl: Bring the 56.; "; got != want {
		t.Errorf("read up to the first reply: %s, want %s", got, want)
	}
	log := len(h.mem.Events(hollow))
	mark(second.ID)
	mark(first.ID) // a mark never goes back
	if got := must(talk.Unread(ctx, coach))(t); len(got) != 0 {
		t.Errorf("once read: %+v", got)
	}
	h.wantNoEvent(log)
	wantFields(t, "a message that is not there", talk.MarkRead(ctx, coach, ada, "z"), "/up_to", "is no message of this student; give the ID of the latest that was read")
	wantFields(t, "of an empty thread", talk.MarkRead(ctx, coach, june, "z"), "/up_to", "is no message of this student; give the ID of the latest that was read")
}

func TestMessagesSeen(t *testing.T) {
	h := open(t)
	talk := h.mem.Messages()
	must(0, h.consent(true))(t)
	must(talk.Write(ctx, coach, june, "Well kept."))(t)
	if got := must(talk.Thread(ctx, guardian, june, domain.Page{Limit: 9}))(t); len(got) != 1 || !got[0].Unread {
		t.Errorf("the guardian reads %+v, want the coach's words", got)
	}
	absent := domain.ErrNotFound("student").Error()
	for what, err := range map[string]error{
		"reading another coach's": failure(talk.Thread(ctx, coach2, june, domain.Page{Limit: 9})), "writing to another coach's": failure(talk.Write(ctx, coach2, june, "Hi")),
		"another student": failure(talk.Write(ctx, domaintest.AsAda, june, "Hi")), "marking another coach's": talk.MarkRead(ctx, coach2, june, "z"),
		"another academy": failure(talk.Thread(ctx, domaintest.AsOther, june, domain.Page{Limit: 9})), "one who left": failure(talk.Write(ctx, coach, gone, "Hi")),
	} {
		if err == nil || err.Error() != absent {
			t.Errorf("%s: got %v, want %s", what, err, absent)
		}
	}
	must(0, h.consent(false))(t)
	wantError(t, "a junior without consent", failure(talk.Write(ctx, coach, june, "Hi")), domain.Conflict, "consent_withdrawn")
}

// consent gives or withdraws it for June.
func (h *fixture) consent(given bool) error {
	return failure(h.people.Consent(ctx, guardian, june, academy.ConsentChange{Given: given, Reports: &given}))
}

func TestSend(t *testing.T) {
	h := open(t)
	talk := h.mem.Messages()
	g := must(h.people.CreateGroup(ctx, owner, "Spring", []domain.ID{ada, ben, june}))(t)
	results := must(talk.Send(ctx, coach, []domain.ID{ada, "none", ada}, g.ID, "Green closed on Sunday."))(t)
	var got strings.Builder
	for _, r := range results {
		got.WriteString(string(r.Student) + " " + r.Name)
		if r.Err != nil {
			code, _, _ := strings.Cut(r.Err.Error(), ":")
			got.WriteString(" " + code)
		}
		got.WriteString("; ")
	}
	// The coach does not see Ben, and June's guardian has not agreed.
	if want := "m-student-ada Ada; none  not_found; m-student-june June consent_missing; "; got.String() != want {
		t.Errorf("got %s, want %s", got.String(), want)
	}
	if thread := must(talk.Thread(ctx, domaintest.AsAda, ada, domain.Page{Limit: 9}))(t); len(thread) != 1 || thread[0].Text != "Green closed on Sunday." || !thread[0].Unread {
		t.Errorf("Ada has %+v, want it unread", thread)
	}
	long := strings.Repeat("x", 4001)
	for _, c := range []struct {
		why      string
		students []domain.ID
		group    domain.ID
		text     string
		want     []string
	}{
		{"nothing to say", []domain.ID{ada}, "", " \n", []string{"/text", "is empty; write what you want to say"}},
		{"too long", []domain.ID{ada}, "", long, []string{"/text", "has 4001 characters; use at most 4000"}},
		{"nobody", nil, "", "Hi", []string{"/student_ids", "is empty; give student_ids, or a group_id with students of yours"}},
		{"no such group", nil, "none", "Hi", []string{"/group_id", `this academy has no group "none"; check the ID`}},
	} {
		wantFields(t, c.why, failure(talk.Send(ctx, coach, c.students, c.group, c.text)), c.want...)
	}
	wantFields(t, "an empty reply", failure(talk.Write(ctx, coach, ada, "")), "/text", "is empty; write what you want to say")
}

func TestMessageFaults(t *testing.T) {
	h := open(t)
	talk := h.mem.Messages()
	g := must(h.people.CreateGroup(ctx, owner, "G", []domain.ID{ada}))(t)
	said := must(talk.Write(ctx, domaintest.AsAda, ada, "Hi"))(t)
	page := domain.Page{Limit: 9}
	for what, do := range map[string]func() error{
		"Thread":   func() error { return failure(talk.Thread(ctx, coach, ada, page)) },
		"Unread":   func() error { return failure(talk.Unread(ctx, coach)) },
		"Write":    func() error { return failure(talk.Write(ctx, coach, ada, "Hi")) },
		"Send":     func() error { return failure(talk.Send(ctx, coach, nil, g.ID, "Hi")) },
		"MarkRead": func() error { return talk.MarkRead(ctx, owner, ada, said.ID) },
	} {
		if err := domaintest.EveryFault(t, h.mem, hollow, do); err != nil {
			t.Errorf("%s: %v", what, err)
		}
	}
}
