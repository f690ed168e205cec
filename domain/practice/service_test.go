package practice_test

import (
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/practice"
	"fringework/domain/progress"
)

func TestPut(t *testing.T) {
	h := open(t)
	sent := session("s", 1, block(curriculum.Test, h.pitch, "oih"))
	sent.StartedAt, sent.Note = sent.StartedAt.Add(1234567), "windy" // 1.234567 ms
	sent.Blocks[0].Balls[0].After = 1500 * time.Microsecond
	out := h.put(ada, sent)
	want := sent
	want.Student, want.By, want.ReceivedAt = adaID, adaID, now
	want.StartedAt = sent.StartedAt.Truncate(time.Millisecond)
	want.Blocks = slices.Clone(sent.Blocks)
	want.Blocks[0].Balls = slices.Clone(sent.Blocks[0].Balls)
	want.Blocks[0].Balls[0].After = time.Millisecond
	want.Blocks[0].Counts = practice.BlockCounts{Balls: 3, Inside: 2, Holed: 1}
	if !reflect.DeepEqual(out.Session, want) || !out.Created || out.Notices != nil {
		t.Errorf("got %+v\nwant %+v, created", out, want)
	}
	if r := out.Results[h.pitch]; len(r) != 2 || r[0].Judged != 3 {
		t.Errorf("readings: got %+v, want one for each tier", r)
	}
	got := must(h.s.Get(ctx, coach, "s"))(t)
	if got.Created = true; !reflect.DeepEqual(got, out) {
		t.Errorf("read %+v\nwant %+v", got, out)
	}
	e := h.sessionEvents()[0]
	wantEvent := domain.Event{Seq: e.Seq, At: now, Actor: adaID, Kind: "session.stored", Subject: "s", Student: adaID, Data: map[string]any{"revision": 1, "balls": 3}}
	if !reflect.DeepEqual(e, wantEvent) {
		t.Errorf("got %+v, want %+v", e, wantEvent)
	}
}

// TestWhoMayPut walks the askers: a student for themselves, a coach and an owner
// for students they see.
func TestWhoMayPut(t *testing.T) {
	for _, c := range []struct {
		why     string
		a       domain.Actor
		student domain.ID
		want    domain.ID // whose session it became; empty when refused
		code    string
	}{
		{"a student", ada, "", adaID, ""},
		{"a student, by name", ada, adaID, adaID, ""},
		{"a student for another", ada, benID, "", "not_found"},
		{"a coach for their student", coach, adaID, adaID, ""},
		{"a coach for another's", coach, benID, "", "not_found"},
		{"a coach for nobody", coach, "", "", "session_invalid"},
		{"an owner", owner, benID, benID, ""},
		{"an owner for a coach", owner, domaintest.CoachID, "", "not_found"},
		{"an owner for who left", owner, domaintest.GoneID, "", "not_found"},
		{"an owner next door", domaintest.AsOther, adaID, "", "not_found"},
	} {
		h := open(t)
		s := session("s", 1)
		s.Student = c.student
		out, err := h.s.Put(ctx, c.a, s)
		if c.want != "" && (err != nil || out.Session.Student != c.want || out.Session.By != c.a.Member) {
			t.Errorf("%s: got %+v, %v", c.why, out.Session, err)
		}
		if c.code != "" && (err == nil || !strings.HasPrefix(err.Error(), c.code+":")) {
			t.Errorf("%s: got %v, want %s", c.why, err, c.code)
		}
	}
}

func TestPutRefusals(t *testing.T) {
	h := open(t)
	future := session("s", 1)
	future.StartedAt, future.EndedAt = now.Add(24*time.Hour), time.Time{}
	_, err := h.s.Put(ctx, ada, future)
	wantFields(t, "a start in the future", err, "/started_at",
		"is 24 hours in the future; the phone's clock may be wrong: set it to the network's time, correct the start and send the session again")
	_, err = h.s.Put(ctx, ada, session("s", 1, block(curriculum.Test, h.pitch, ""), block(curriculum.Test, "lob", "")))
	wantFields(t, "an unknown skill", err, "/blocks/1/skill_id", `there is no skill "lob" in this academy; name one of the plan's skills`)
	for _, id := range []domain.ID{"none", h.work} {
		s := session("s", 1)
		s.Assignment, s.Week, s.Plan = id, 1, 1
		_, err = h.s.Put(ctx, ben, s)
		wantFields(t, "an assignment that is not the student's", err, "/assignment_id", "there is no such assignment of this student; name one, or leave it out")
	}
	if got := h.events(); got != nil {
		t.Errorf("refusals left %v", got)
	}
}

func TestPlanned(t *testing.T) {
	h := open(t)
	s := session("s", 1, block(curriculum.Warmup, h.pitch, "iiiiiii"), block(curriculum.Technique, h.pitch, "i"), block(curriculum.Technique, h.pitch, "i"), block(curriculum.Test, h.pitch, "i"))
	s.Assignment, s.Week, s.Plan, s.EndedAt = h.work, 1, 1, time.Time{}
	s.Blocks[0].PlanBlock, s.Blocks[1].PlanBlock, s.Blocks[2].PlanBlock = 1, 2, 2
	s.Blocks[3].Planned, s.Missed = 99, []progress.KindTime{{Kind: "lie"}} // not a client's to say
	planned := func(o practice.PutResult) (all []int) {
		for _, b := range o.Session.Blocks {
			all = append(all, b.Planned)
		}
		return all
	}
	out := h.put(ada, s)
	left := []progress.KindTime{{Kind: "random", Planned: 900}, {Kind: "test", Planned: 900}}
	if got := planned(out); !slices.Equal(got, []int{900, 900, 0, 0}) || !reflect.DeepEqual(out.Session.Missed, left) || len(out.Notices) != 0 {
		t.Errorf("while it goes on: got %v planned, %+v left, %+v, want a quarter for each block of the plan", got, out.Session.Missed, out.Notices)
	}
	if got := h.kept(adaID).Habit.Times; slices.ContainsFunc(got, func(t progress.KindTime) bool { return t.Kind == "random" }) {
		t.Errorf("while it goes on, time is missed: %+v", got)
	}
	if s.Blocks[0].Planned != 0 {
		t.Error("storing changed the client's session")
	}
	s.Revision, s.EndedAt = 2, now
	out = h.put(ada, s)
	if !reflect.DeepEqual(out.Session.Missed, left) {
		t.Errorf("ended: got %+v missed, want %+v", out.Session.Missed, left)
	}
	if got := h.kept(adaID); got.Counts[0] != (practice.AssignmentCount{Assignment: h.work, Sessions: 1}) || got.Habit.Planned != 1 {
		t.Errorf("kept %+v, want one session of the assignment, by the plan", got)
	}
	// Another plan of the assignment, or none that it has.
	for _, c := range []struct{ week, plan int }{{3, 1}, {1, 2}} {
		s.Revision, s.Week, s.Plan = s.Revision+1, c.week, c.plan
		out = h.put(ada, s)
		if got := planned(out); !slices.Equal(got, []int{0, 0, 0, 0}) || out.Session.Missed != nil || len(out.Notices) != 1 || out.Notices[0].Code != "plan_missing" {
			t.Errorf("week %d, plan %d: got %v, %+v, %+v, want no plan and a notice", c.week, c.plan, got, out.Session.Missed, out.Notices)
		}
	}
	if want := "Version 1 of the programme has no plan 2 with these blocks in week 1, so the time is not compared with a plan."; out.Notices[0].Detail != want {
		t.Errorf("got %q, want %q", out.Notices[0].Detail, want)
	}
	s.Revision, s.Week, s.Plan, s.Blocks[0].PlanBlock = 9, 1, 1, 5
	out = h.put(ada, s)
	if want := "Block 1 says that it was block 5 of the plan, which is of another kind or not there, so its time is not compared with the plan's."; len(out.Notices) != 1 || out.Notices[0] != (practice.Notice{Code: "other_block", Detail: want}) {
		t.Errorf("a fifth block of a plan of four: got %+v, want a notice", out.Notices)
	}
	s.Revision, s.Blocks[0].PlanBlock = 10, 3
	out = h.put(ada, s)
	if got := planned(out); !slices.Equal(got, []int{0, 900, 0, 0}) || len(out.Notices) != 1 || out.Notices[0].Code != "other_block" || len(out.Session.Missed) != 3 {
		t.Errorf("a warm-up said to be the random block: got %v, %+v, %+v, want it without a plan, that block missed, and a notice", got, out.Session.Missed, out.Notices)
	}
	// Leaving the assignment takes the session out of its count.
	s.Revision, s.Assignment, s.Week, s.Plan = 11, "", 0, 0
	h.put(ada, s)
	if got := h.kept(adaID); len(got.Counts) != 0 || got.Habit.Planned != 0 {
		t.Errorf("kept %+v, want no session of the assignment", got)
	}
}

// TestFollowedVersion: a session that names the version it followed is compared
// with that one's plan, whether it arrives before the assignment moves or after.
func TestFollowedVersion(t *testing.T) {
	longer := func(h *fixture) (move func()) {
		as := must(h.people.Assignments(ctx, owner, academy.AssignmentFilter{Student: adaID}, domain.Page{Limit: 1}))(t)[0]
		c := domaintest.Programme(h.pitch, h.chip)
		c.Weeks[0].Plans[0].Minutes = 120
		must(h.curriculum.SaveDraft(ctx, coach, as.Programme, 0, c))(t)
		must(h.curriculum.Publish(ctx, coach, as.Programme, 0))(t)
		return func() { must(h.people.Move(ctx, coach, h.work, 0, 2, true))(t) }
	}
	followed := func(h *fixture) practice.Session {
		s := session("s", 1, block(curriculum.Test, h.pitch, "i"))
		s.Assignment, s.Week, s.Plan, s.Version, s.Blocks[0].PlanBlock = h.work, 1, 1, 1, 4
		return s
	}
	before, after := open(t), open(t)
	move := longer(before)
	before.put(ada, followed(before))
	move()
	longer(after)()
	out := after.put(ada, followed(after))
	if got := out.Session.Blocks[0].Planned; got != 900 {
		t.Errorf("after the move: %d s planned, want the 900 s of version 1", got)
	}
	if a, b := before.kept(adaID).Habit, after.kept(adaID).Habit; !reflect.DeepEqual(a, b) {
		t.Errorf("the order of arrival matters: %+v and %+v", a, b)
	}
	s := followed(after)
	s.Revision, s.Version = 2, 3
	err := failure(after.s.Put(ctx, ada, s))
	wantError(t, "a version that is not there", err, domain.Invalid, "session_invalid", nil)
	if f := domain.FieldsOf(err); len(f) != 1 || f[0].Pointer != "/version" {
		t.Errorf("a version that is not there: got %+v, want it at /version", f)
	}
}

func TestJunior(t *testing.T) {
	h := open(t)
	_, err := h.s.Put(ctx, june, session("s", 1))
	wantError(t, "without consent", err, domain.Conflict, "consent_missing", nil)
	must(h.people.Consent(ctx, domaintest.AsGuardian, juneID, academy.ConsentChange{Given: true}))(t)
	h.put(june, session("s", 1))
	must(h.people.Consent(ctx, domaintest.AsGuardian, juneID, academy.ConsentChange{}))(t)
	_, err = h.s.Put(ctx, june, session("s", 2))
	wantError(t, "after consent was withdrawn", err, domain.Conflict, "consent_withdrawn", nil)
	// What was kept can still be removed.
	if err := h.s.Delete(ctx, owner, "s", "", 2); err != nil {
		t.Errorf("deleting: %v", err)
	}
	if k := h.kept(juneID); k.Habit.Sessions != 0 {
		t.Errorf("kept %+v, want nothing", k)
	}
}

// TestOverlap: both sessions are kept, each with a notice naming the other.
func TestOverlap(t *testing.T) {
	h := open(t)
	first := session("s1", 1, block(curriculum.Test, h.pitch, "i"))
	first.TimeZone = "Europe/Lisbon"
	second := session("s2", 1, block(curriculum.Test, h.pitch, "i"))
	second.StartedAt, second.EndedAt = first.EndedAt.Add(-time.Minute), time.Time{}
	after := session("s3", 1)
	after.StartedAt, after.EndedAt = first.EndedAt.Add(20*time.Minute), first.EndedAt.Add(30*time.Minute)
	other := session("s4", 1)
	other.Student = benID
	h.put(ada, first)
	h.put(owner, other)
	h.put(ada, after)
	want := practice.Notice{Code: "overlaps", Session: "s1",
		Detail: "This session overlaps with the one that started at 16:00 on 10 May 2026. Both are kept; delete one if they are the same practice."}
	if got := h.put(ada, second).Notices; !reflect.DeepEqual(got, []practice.Notice{want}) {
		t.Errorf("got %+v, want %+v", got, want)
	}
	want = practice.Notice{Code: "overlaps", Session: "s2", // 16:59 UTC, as the first session's zone reads it
		Detail: "This session overlaps with the one that started at 17:59 on 10 May 2026. Both are kept; delete one if they are the same practice."}
	if got := must(h.s.Get(ctx, ada, "s1"))(t).Notices; !reflect.DeepEqual(got, []practice.Notice{want}) {
		t.Errorf("got %+v, want %+v", got, want)
	}
	if got := must(h.s.Get(ctx, ada, "s3"))(t).Notices; got != nil {
		t.Errorf("a session five minutes later: got %+v", got)
	}
	if err := h.s.Delete(ctx, ada, "s2", "", 2); err != nil {
		t.Fatal(err)
	}
	if got := must(h.s.Get(ctx, ada, "s1"))(t).Notices; got != nil {
		t.Errorf("after the other was deleted: got %+v", got)
	}
}

func TestList(t *testing.T) {
	h := open(t)
	for i, id := range []domain.ID{"s1", "s2", "s3", "s4"} {
		s := session(id, 1, block(curriculum.Test, h.pitch, "oh"))
		s.StartedAt = s.StartedAt.AddDate(0, 0, -i/2) // two and two at once
		s.EndedAt = s.StartedAt
		h.put(ada, s)
	}
	if err := h.s.Delete(ctx, ada, "s4", "", 2); err != nil {
		t.Fatal(err)
	}
	list := func(f practice.SessionFilter) (ids []domain.ID) {
		f.Student, f.Limit = adaID, max(1, f.Limit)
		for _, s := range must(h.s.List(ctx, coach, f))(t) {
			ids = append(ids, s.ID)
			if s.Blocks[0].Balls != nil || s.Blocks[0].Counts != (practice.BlockCounts{Balls: 2, Inside: 1, Holed: 1}) {
				t.Errorf("listed %+v, want counts without balls", s.Blocks[0])
			}
		}
		return ids
	}
	if got := list(practice.SessionFilter{Limit: 9}); !slices.Equal(got, []domain.ID{"s2", "s1", "s3"}) {
		t.Errorf("got %v, want the latest first and no deleted one", got)
	}
	start := now.Add(-2 * time.Hour)
	if got := list(practice.SessionFilter{Limit: 9, Before: start, BeforeID: "s2"}); !slices.Equal(got, []domain.ID{"s1", "s3"}) {
		t.Errorf("after s2: got %v", got)
	}
	if got := list(practice.SessionFilter{Limit: 1}); !slices.Equal(got, []domain.ID{"s2"}) {
		t.Errorf("one: got %v", got)
	}
	if got := list(practice.SessionFilter{Limit: 9, From: start.AddDate(0, 0, -1), Until: start}); !slices.Equal(got, []domain.ID{"s3"}) {
		t.Errorf("the day before: got %v", got)
	}
	_, err := h.s.List(ctx, domaintest.AsCoach2, practice.SessionFilter{Student: adaID, Limit: 9})
	wantError(t, "another coach", err, domain.NotFound, "not_found", nil)
}

func TestComments(t *testing.T) {
	h := open(t)
	h.put(ada, session("s", 1))
	c := must(h.s.Comment(ctx, coach, "s", "Good tempo."))(t)
	want := practice.Comment{ID: c.ID, Session: "s", Author: coach.Member, AuthorName: "Carl", Text: "Good tempo.", At: now}
	if c != want || c.ID == "" {
		t.Errorf("got %+v, want %+v", c, want)
	}
	h.mem.Pass(time.Minute)
	second := must(h.s.Comment(ctx, ada, "s", "Thanks."))(t)
	if got := must(h.s.Comments(ctx, ada, "s"))(t); !slices.Equal(got, []practice.Comment{c, second}) {
		t.Errorf("got %+v, want both in order", got)
	}
	log := h.mem.Events(hollow)
	if e := log[len(log)-2]; e.Kind != "comment.made" || e.Subject != "s" || e.Student != adaID || e.Data["comment_id"] != c.ID || e.Actor != coach.Member {
		t.Errorf("got event %+v", e)
	}
	_, err := h.s.Comment(ctx, coach, "s", " \n")
	wantFields(t, "nothing", err, "/text", "is empty; write what you want to say")
	_, err = h.s.Comment(ctx, coach, "s", strings.Repeat("x", 4000)+"\x00")
	wantFields(t, "too much", err, "/text", "has 4001 characters; at most 4000 fit", "/text", "contains a NUL character; remove it")
	if err := h.s.Delete(ctx, ada, "s", "", 2); err != nil {
		t.Fatal(err)
	}
	absent := domain.ErrNotFound("session").Error()
	for what, err := range map[string]error{
		"commenting on a deleted session": failure(h.s.Comment(ctx, coach, "s", "x")),
		"reading its comments":            failure(h.s.Comments(ctx, coach, "s")),
		"commenting on none":              failure(h.s.Comment(ctx, coach, "none", "x")),
		"reading none":                    failure(h.s.Get(ctx, coach, "none")),
	} {
		if err == nil || err.Error() != absent {
			t.Errorf("%s: got %v, want %s", what, err, absent)
		}
	}
}

// TestWhoReadsSessions: every asker and two sessions; who may not see one
// cannot tell that it is there.
func TestWhoReadsSessions(t *testing.T) {
	h := open(t)
	h.put(owner, func() practice.Session { s := session("ada", 1); s.Student = adaID; return s }())
	h.put(owner, func() practice.Session { s := session("ben", 1); s.Student = benID; return s }())
	absent := domain.ErrNotFound("session").Error()
	for _, c := range []struct {
		who  string
		a    domain.Actor
		sees string
	}{
		{"owner", owner, "ada ben"}, {"key", domaintest.AsKey, "ada ben"}, {"coach", coach, "ada"}, {"coach 2", domaintest.AsCoach2, "ben"},
		{"ada", ada, "ada"}, {"ben", ben, "ben"}, {"guardian", domaintest.AsGuardian, ""}, {"nobody", domaintest.AsNobody, ""}, {"next door", domaintest.AsOther, ""},
	} {
		for _, id := range []domain.ID{"ada", "ben"} {
			may := strings.Contains(c.sees, string(id))
			for what, err := range map[string]error{
				"reads": failure(h.s.Get(ctx, c.a, id)), "reads comments": failure(h.s.Comments(ctx, c.a, id)), "comments": failure(h.s.Comment(ctx, c.a, id, "x")),
			} {
				if may && err != nil || !may && (err == nil || err.Error() != absent) {
					t.Errorf("%s %s on %s: got %v, may: %v", c.who, what, id, err, may)
				}
			}
		}
	}
}

// TestEveryFault: whichever store call fails, the failure comes out and nothing
// is kept.
func TestEveryFault(t *testing.T) {
	h := open(t)
	s := session("s", 1, block(curriculum.Test, h.pitch, "iiiiiiiii"), block(curriculum.Warmup, h.chip, "i"))
	s.Assignment, s.Week, s.Plan, s.Blocks[0].PlanBlock = h.work, 1, 1, 4
	edited := s
	edited.Revision, edited.Note, edited.Assignment, edited.Week, edited.Plan = 2, "x", "", 0, 0
	edited.Blocks = s.Blocks[1:]
	taken := session("b", 1)
	taken.Student = benID
	h.put(owner, taken)
	for _, c := range []struct {
		what string
		do   func() error
		code string
	}{
		{"Put", func() error { return failure(h.s.Put(ctx, coach, with(s, adaID))) }, ""},
		{"Put again", func() error { return failure(h.s.Put(ctx, coach, with(s, adaID))) }, ""},
		{"Get", func() error { return failure(h.s.Get(ctx, coach, "s")) }, ""},
		{"List", func() error { return failure(h.s.List(ctx, coach, practice.SessionFilter{Student: adaID, Limit: 9})) }, ""},
		{"Comment", func() error { return failure(h.s.Comment(ctx, coach, "s", "x")) }, ""},
		{"Comments", func() error { return failure(h.s.Comments(ctx, coach, "s")) }, ""},
		{"edit", func() error { return failure(h.s.Put(ctx, coach, with(edited, adaID))) }, ""},
		{"another's ID", func() error { return failure(h.s.Put(ctx, coach, with(taken, adaID))) }, "id_taken"},
		{"Delete", func() error { return h.s.Delete(ctx, coach, "s", "", 3) }, ""},
	} {
		err := domaintest.EveryFault(t, h.mem, hollow, c.do)
		if c.code == "" && err != nil || c.code != "" && (err == nil || !strings.HasPrefix(err.Error(), c.code)) {
			t.Errorf("%s: %v", c.what, err)
		}
	}
	if k := h.kept(adaID); len(k.Periods)+len(milestones(k))+len(k.Counts) != 0 {
		t.Errorf("after the deletion: kept %+v", k)
	}
}

func with(s practice.Session, student domain.ID) practice.Session {
	s.Student = student
	return s
}
