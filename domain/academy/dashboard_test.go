package academy_test

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
	"fringework/domain/domaintest"
	"fringework/domain/estimate"
	"fringework/domain/practice"
	"fringework/domain/progress"
)

// reasons lists a row's reasons, those acknowledged in brackets.
func reasons(row academy.StudentRow) (all []string) {
	for _, r := range row.Attention {
		name := string(r.Reason)
		if r.Acknowledged != nil {
			name = "(" + name + ")"
		}
		all = append(all, name)
	}
	return all
}

func names(rows []academy.StudentRow) (all []string) {
	for _, row := range rows {
		all = append(all, row.Student.Name)
	}
	return all
}

func (h *fixture) dashboard(f academy.DashboardFilter) []academy.StudentRow {
	h.t.Helper()
	return must(h.reading.Dashboard(ctx, owner, f))(h.t)
}

func TestProgress(t *testing.T) {
	h := open(t)
	as := h.assign(ada, 4)
	h.practised(ada, "s1", now.Add(-3*time.Hour), h.pitch.ID, 12, as.ID, 1)
	h.practised(ada, "s0", now.AddDate(0, 0, -7), h.pitch.ID, 4, "", 0)
	h.mem.Set(now.AddDate(0, 0, 4)) // Friday, day 5 of 7: 2·5/7 sessions planned
	st := must(h.reading.Progress(ctx, domaintest.AsAda, ada))(t)
	if st.Student.ID != ada || st.Habit.Sessions != 2 || len(st.Attention) != 0 {
		t.Errorf("got %+v, want Ada's two sessions and no reason to look", st)
	}
	if len(st.Work) != 1 {
		t.Fatalf("got work %+v, want one assignment", st.Work)
	}
	d := st.Work[0]
	if d.Name != "Two weeks" || d.Weeks != 2 || d.Planned != 1 || d.Assignment.Sessions != 1 || d.Position.Day != 5 {
		t.Errorf("got %+v, want 1 of 1 sessions by day 5", d)
	}
	sk := st.Skills[0]
	if sk.Skill.ID != h.pitch.ID || sk.State.Held != 1 || sk.State.Totals.Balls != 16 || len(sk.Milestones) != 1 {
		t.Errorf("got %+v, want the pitch with 16 balls and a tier", sk)
	}
	if want := (progress.Tally{Sessions: 1, Balls: 12, Inside: 12, Seconds: 900, AttestedBalls: 30}); sk.Week != want {
		t.Errorf("this week: got %+v, want %+v", sk.Week, want)
	}
	if chip := st.Skills[1]; chip.Skill.ID != h.chip.ID || chip.Milestones != nil || chip.Week != (progress.Tally{}) {
		t.Errorf("got %+v, want the chip untouched", chip)
	}
}

// skewed lets a student spend a session on the test alone, by the plan.
func (h *fixture) skewed(student, id domain.ID, at time.Time, as domain.ID) {
	h.t.Helper()
	s := h.practised(student, id, at, h.pitch.ID, 1, as, 1).Session
	s.Revision, s.Blocks[0].PlanBlock = 2, 4
	must(h.practice.Put(ctx, owner, s))(h.t)
}

// TestDashboardOrder: first by the most pressing reason, then by how many, then
// by how long not seen, then by name.
func TestDashboardOrder(t *testing.T) {
	h := open(t)
	must(h.people.Consent(ctx, guardian, june, agreed))(t)
	extra := func(name string) domain.ID {
		id := domain.ID("m-x-" + strings.ToLower(name))
		h.mem.AddMember(hollow, academy.Member{ID: id, Role: domain.Student, Name: name, TimeZone: "UTC", Revision: 1})
		return id
	}
	zoe, yann, xenia, walt := extra("Zoe"), extra("Yann"), extra("Xenia"), extra("Walt")
	h.mem.Set(now.AddDate(0, 0, 12)) // Saturday of week 2
	today := h.mem.Now()
	// Ada lapsed long ago, which is why her skewed time is not told; Ben never
	// came; June was skewed but here yesterday. The programme of two weeks ends.
	a := h.assign(ada, 4)
	h.assign(ben, 4)
	j := h.assign(june, 4)
	for i := range 3 {
		day := time.Duration(i) * 24 * time.Hour
		h.skewed(ada, domain.ID(fmt.Sprint("a", i)), today.AddDate(0, 0, -30).Add(day), a.ID)
		h.skewed(june, domain.ID(fmt.Sprint("j", i)), today.AddDate(0, 0, -4).Add(day), j.ID)
	}
	// Without a programme: never seen (by name), then seen long ago, then lately.
	h.practised(xenia, "x", today.AddDate(0, 0, -3), h.pitch.ID, 1, "", 0)
	h.practised(walt, "w", today.AddDate(0, 0, -2), h.pitch.ID, 1, "", 0)
	rows := h.dashboard(academy.DashboardFilter{})
	if got, want := names(rows), []string{"Ada", "Ben", "Yann", "Zoe", "Xenia", "Walt", "June"}; !slices.Equal(got, want) {
		t.Errorf("order: got %v, want %v", got, want)
	}
	for i, want := range [][]string{{"lapsed", "ending"}, {"unstarted", "ending"}, {"uncoached", "unplanned"}, {"uncoached", "unplanned"}, {"uncoached", "unplanned"}, {"uncoached", "unplanned"}, {"ending", "lopsided"}} {
		if got := reasons(rows[i]); !slices.Equal(got, want) {
			t.Errorf("%s: got %v, want %v", rows[i].Student.Name, got, want)
		}
	}
	if got := names(h.dashboard(academy.DashboardFilter{Reason: advice.Lopsided})); !slices.Equal(got, []string{"June"}) {
		t.Errorf("lopsided: got %v", got)
	}
	if got := names(h.dashboard(academy.DashboardFilter{Programme: h.programme})); !slices.Equal(got, []string{"Ada", "Ben", "June"}) {
		t.Errorf("with the programme: got %v", got)
	}
	if got := h.dashboard(academy.DashboardFilter{Programme: "none"}); len(got) != 0 {
		t.Errorf("with no programme: got %v", names(got))
	}
	g := must(h.people.CreateGroup(ctx, owner, "Late", []domain.ID{zoe, yann, ada}))(t)
	if got := names(h.dashboard(academy.DashboardFilter{Group: g.ID})); !slices.Equal(got, []string{"Ada", "Yann", "Zoe"}) {
		t.Errorf("in the group: got %v", got)
	}
}

// TestLapseAndPauses: paused days are no lapse, whatever pauses are planned.
func TestLapseAndPauses(t *testing.T) {
	h := open(t)
	as := h.assign(ada, 4)
	h.practised(ada, "before", now.AddDate(0, 0, -1), h.pitch.ID, 1, "", 0)
	lapsed := func(day int) bool {
		t.Helper()
		h.mem.Set(time.Date(2026, 5, day, 10, 0, 0, 0, time.UTC))
		return slices.Contains(reasons(must(h.reading.Progress(ctx, owner, ada))(t)), "lapsed")
	}
	// Two sessions a week make a gap of 3.5 days: a lapse after 10.5.
	for day, want := range map[int]bool{3: false, 14: false, 15: true, 17: true, 18: false} { // finished on the 18th
		if got := lapsed(day); got != want {
			t.Errorf("%d May: lapsed %v, want %v", day, got, want)
		}
	}
	must(h.people.Pause(ctx, owner, as.ID, 0, academy.Pause{From: may(6), Reason: "holiday"}))(t)
	if lapsed(30) {
		t.Error("lapsed while paused")
	}
	must(h.people.Resume(ctx, owner, as.ID, 0, may(20)))(t)
	must(h.people.Pause(ctx, owner, as.ID, 0, academy.Pause{From: may(31), Reason: "planned"}))(t)
	if lapsed(30) {
		t.Error("ten days after the pause: a pause planned for later hid its end")
	}
	must(h.people.Resume(ctx, owner, as.ID, 0, may(31)))(t)
	if !lapsed(31) {
		t.Error("eleven days after the pause there is no lapse")
	}
}

// TestLapseOfTwo: with two assignments the paces add up, and the earlier start
// counts.
func TestLapseOfTwo(t *testing.T) {
	h := open(t)
	p := must(h.curriculum.Clone(ctx, coach, h.programme, ""))(t)
	must(h.curriculum.Publish(ctx, coach, p.ID, 0))(t)
	must(h.people.Assign(ctx, owner, academy.AssignRequest{Programme: p.ID, Version: 1, Students: []domain.ID{ada}, Start: may(8)}))(t)
	h.assign(ada, 4)
	h.practised(ada, "before", now.AddDate(0, 0, -1), h.pitch.ID, 1, "", 0)
	h.mem.Set(time.Date(2026, 5, 11, 10, 0, 0, 0, time.UTC))
	st := must(h.reading.Progress(ctx, owner, ada))(t)
	told := ""
	if len(st.Attention) > 0 {
		told, _ = st.Attention[0].Words(advice.Reader{})
	}
	if len(st.Attention) != 1 || told != "no session for 7 days (the plan began or resumed on 4 May); planned: one every 1.8 days." {
		t.Errorf("got %+v, want a lapse since 4 May at four sessions a week", st.Attention)
	}
}

// TestSkillReasons: what the assessment of a skill flags is a reason with the
// skill's name on it, behind the more pressing ones.
func TestSkillReasons(t *testing.T) {
	h := open(t)
	h.assign(ada, 4)
	h.practised(ada, "s1", now.AddDate(0, 0, -1), h.pitch.ID, 3, "", 0)
	err := h.mem.Doctor(hollow, func(tx practice.RebuildStore) error {
		k, err := tx.Kept(ctx, ada)
		if err != nil {
			return err
		}
		for i := range k.States {
			a := &k.States[i].Assessment
			a.Outgrown, a.Flat, a.Overreached, a.Slipping = &estimate.Flag{}, &estimate.Flag{}, &estimate.Flag{}, &estimate.Flag{}
		}
		return tx.ReplaceKept(ctx, ada, k)
	})
	if err != nil {
		t.Fatal(err)
	}
	st := must(h.reading.Progress(ctx, owner, ada))(t)
	want := []string{"slipping", "slipping", "flat", "flat", "overreached", "overreached", "outgrown", "outgrown"}
	if got := reasons(st); !slices.Equal(got, want) {
		t.Errorf("while practising: got %v, want %v", got, want)
	}
	if got := st.Skills[0].Stalls; len(got) != 4 || got[1].Reason != advice.Flat || got[1].Skill != h.pitch.ID {
		t.Errorf("at the pitch: got %+v, want its four", got)
	}
	h.mem.Set(now.AddDate(0, 0, 12))
	st = must(h.reading.Progress(ctx, owner, ada))(t)
	want = []string{"lapsed", "slipping", "slipping", "overreached", "overreached", "ending"} // a lapse silences flat and outgrown
	if got := reasons(st); !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	hist := must(h.reading.History(ctx, owner, ada, h.pitch.ID))(t)
	if got := hist.Stalls; len(got) != 2 || got[0].Reason != advice.Slipping {
		t.Errorf("in the history: got %+v, want the pitch's two", got)
	}
	if st.Attention[0].Skill != "" || st.Attention[1].Skill != h.pitch.ID || st.Attention[2].Skill != h.chip.ID {
		t.Errorf("got %+v, want the lapse of no skill, the rest of each", st.Attention)
	}
	must(h.seen.Acknowledge(ctx, coach, academy.Acknowledgement{Student: ada, Skill: h.pitch.ID, Reason: advice.Slipping}, 1))(t)
	st = must(h.reading.Progress(ctx, owner, ada))(t)
	if got := reasons(st); got[1] != "slipping" || st.Attention[1].Skill != h.chip.ID || got[5] != "(slipping)" {
		t.Errorf("got %v, want the pitch's slipping last, acknowledged, and the chip's where it was", got)
	}
}

func TestAcknowledge(t *testing.T) {
	h := open(t)
	for i, student := range []domain.ID{ada, ben} {
		h.practised(student, domain.ID(fmt.Sprint("before", i)), now.AddDate(0, 0, -1), h.pitch.ID, 1, "", 0)
		h.assign(student, 4)
	}
	h.mem.Set(now.AddDate(0, 0, 11)) // 15 May: both lapsed, and the two weeks end
	lapse := academy.Acknowledgement{Student: ada, Reason: advice.Lapsed, Note: "on a trip"}
	got := must(h.seen.Acknowledge(ctx, coach, lapse, 3))(t)
	want := lapse
	want.Until, want.By, want.At = may(17), coach.Member, h.mem.Now()
	if got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
	h.wantEvent(coach, "reason.acknowledged", ada, ada, map[string]any{"reason": advice.Lapsed, "skill_id": domain.ID(""), "until": "2026-05-17", "note": "on a trip"})
	rows := h.dashboard(academy.DashboardFilter{})
	if got := names(rows); got[0] != "Ben" || !reflect.DeepEqual(reasons(rows[slices.Index(got, "Ada")]), []string{"ending", "(lapsed)"}) {
		t.Errorf("got %v, want Ben first and Ada's lapse acknowledged", got)
	}
	// The 17th is the last day of the silence.
	for day, want := range map[int]string{17: "(lapsed)", 16: "(lapsed)"} {
		h.mem.Set(time.Date(2026, 5, day, 22, 0, 0, 0, time.UTC))
		if got := reasons(must(h.reading.Progress(ctx, owner, ada))(t)); !slices.Equal(got, []string{"ending", want}) {
			t.Errorf("%d May: got %v, want %s", day, got, want)
		}
	}
	h.mem.Set(time.Date(2026, 5, 17, 23, 30, 0, 0, time.UTC)) // the 18th in Lisbon: the programme is over
	must(h.people.Pause(ctx, owner, must(h.people.Assignments(ctx, coach, academy.AssignmentFilter{}, domain.Page{Limit: 1}))(t)[0].ID, 0, academy.Pause{From: may(4)}))(t)
	must(h.people.Resume(ctx, owner, must(h.people.Assignments(ctx, coach, academy.AssignmentFilter{}, domain.Page{Limit: 1}))(t)[0].ID, 0, may(5)))(t)
	if got := reasons(must(h.reading.Progress(ctx, owner, ada))(t)); !slices.Equal(got, []string{"lapsed", "ending"}) {
		t.Errorf("after the silence: got %v, want the lapse again", got)
	}
	must(h.seen.Acknowledge(ctx, coach, lapse, 1))(t)
	if ended := must(h.seen.Acknowledge(ctx, coach, lapse, 0))(t); ended.Until != (domain.Date{}) {
		t.Errorf("ended: got %+v", ended)
	}
	if got := reasons(must(h.reading.Progress(ctx, owner, ada))(t)); !slices.Equal(got, []string{"lapsed", "ending"}) {
		t.Errorf("after the silence was ended: got %v", got)
	}
}

func TestAcknowledgeRefusals(t *testing.T) {
	h := open(t)
	log := len(h.mem.Events(hollow))
	_, err := h.seen.Acknowledge(ctx, coach, academy.Acknowledgement{Student: ada, Reason: "tired", Note: strings.Repeat("x", 1001)}, 91)
	wantFields(t, "out of bounds", err, "/reason", `"tired" is not a reason; use `+advice.Names(),
		"/days", "is 91; give 1 to 90 days, or 0 to show the reason again", "/note", "has 1001 characters; use at most 1000")
	_, err = h.seen.Acknowledge(ctx, coach, academy.Acknowledgement{Student: ada, Reason: advice.Flat, Note: "\x00"}, -1)
	wantFields(t, "a NUL", err, "/days", "is -1; give 1 to 90 days, or 0 to show the reason again", "/note", "contains a NUL character; remove it")
	_, err = h.seen.Acknowledge(ctx, coach, academy.Acknowledgement{Student: ada, Skill: "elsewhere", Reason: advice.Flat}, 1)
	if f := domain.FieldsOf(err); len(f) != 1 || f[0].Pointer != "/skill_id" {
		t.Errorf("a skill of nobody: got %v, want it refused at /skill_id", err)
	}
	_, err = h.seen.Acknowledge(ctx, coach, academy.Acknowledgement{Student: ben, Reason: advice.Flat}, 1)
	wantError(t, "another coach's student", err, domain.NotFound, "not_found")
	h.wantNoEvent(log)
}

// TestAcknowledgeAll: each of many has its result, and one that is refused keeps
// none of the others back.
func TestAcknowledgeAll(t *testing.T) {
	h := open(t)
	lapse := func(student domain.ID, days int) academy.Seen {
		return academy.Seen{Acknowledgement: academy.Acknowledgement{Student: student, Reason: advice.Lapsed}, Days: days}
	}
	log := len(h.mem.Events(hollow))
	got := must(h.seen.AcknowledgeAll(ctx, coach, []academy.Seen{lapse(ada, 14), lapse(ben, 14), lapse(ada, 91), lapse(ada, 1)}))(t)
	if len(got) != 4 || got[0].Err != nil || got[0].Until != may(17) || got[0].By != coach.Member || got[3].Err != nil || got[3].Until != may(4) {
		t.Errorf("got %+v, want Ada's lapse silent until the 17th and then until today", got)
	}
	wantError(t, "another coach's student", got[1].Err, domain.NotFound, "not_found")
	wantFields(t, "too long", got[2].Err, "/days", "is 91; give 1 to 90 days, or 0 to show the reason again")
	if got[1].Student != ben || got[2].Student != ada {
		t.Errorf("got %+v, want each refusal to name its student", got[1:3])
	}
	if n := len(h.mem.Events(hollow)) - log; n != 2 {
		t.Errorf("%d events; want one for each that was kept", n)
	}
	if got, err := h.seen.AcknowledgeAll(ctx, coach, make([]academy.Seen, 1000)); err != nil || len(got) != 1000 || got[999].Err == nil {
		t.Errorf("a thousand without a reason: %d results, %v; want each refused", len(got), err)
	}
	for n, words := range map[int]string{0: "is missing or empty; give 1 to 1000 reasons", 1001: "has 1001 reasons; give at most 1000"} {
		_, err := h.seen.AcknowledgeAll(ctx, coach, make([]academy.Seen, n))
		wantFields(t, "how many", err, "/items", words)
	}
}

// TestStanding: what is told of a student's place and plan, and to whom.
func TestStanding(t *testing.T) {
	h := open(t)
	told := func(a domain.Actor, student domain.ID) (all []string) {
		t.Helper()
		st := must(h.reading.Progress(ctx, a, student))(t)
		for _, x := range st.Attention {
			evidence, _ := x.Words(advice.Reader{})
			all = append(all, fmt.Sprintf("%s %s: %s", x.Reason, x.Figure(), evidence))
		}
		return all
	}
	want := func(why string, got []string, want ...string) {
		t.Helper()
		if !slices.Equal(got, want) {
			t.Errorf("%s: got %q, want %q", why, got, want)
		}
	}
	joined := now.AddDate(0, 0, 2)
	h.mem.AddMember(hollow, academy.Member{ID: "m-x-new", Role: domain.Student, Name: "New", TimeZone: "UTC", Revision: 1, JoinedAt: joined})
	h.mem.Set(joined)
	alone := "uncoached : no coach works with this student, who joined on 6 May; only an owner sees the reasons."
	want("joined a minute ago", told(owner, "m-x-new"), alone, "unplanned : no programme now; joined on 6 May.")
	if err := h.people.Link(ctx, owner, coach.Member, "m-x-new", true); err != nil {
		t.Fatal(err)
	}
	as := h.assign("m-x-new", 4)
	want("with a plan that began before", told(owner, "m-x-new"))
	h.mem.Set(joined.AddDate(0, 0, 6))
	want("six days after joining", told(coach, "m-x-new"), "ending in 5 days: Two weeks ends on Sunday 17 May; nothing follows.")
	h.mem.Set(joined.AddDate(0, 0, 7))
	want("a week after joining", told(coach, "m-x-new"), "unstarted 7 days: joined on 6 May, no session yet; the plan began on 4 May.",
		"ending in 4 days: Two weeks ends on Sunday 17 May; nothing follows.")
	next := must(h.curriculum.Clone(ctx, coach, h.programme, ""))(t)
	must(h.curriculum.Publish(ctx, coach, next.ID, 0))(t)
	follows := must(h.people.Assign(ctx, owner, academy.AssignRequest{Programme: next.ID, Version: 1, Students: []domain.ID{"m-x-new"}, Start: may(18)}))(t)[0]
	want("with one that follows", told(coach, "m-x-new"), "unstarted 7 days: joined on 6 May, no session yet; the plan began on 4 May.")
	must(h.people.End(ctx, owner, follows.ID, 0))(t)
	must(h.people.Pause(ctx, owner, as.ID, 0, academy.Pause{From: may(13)}))(t)
	want("while paused", told(coach, "m-x-new"))
	pausedUntil := func() domain.Date { return must(h.reading.Progress(ctx, coach, "m-x-new"))(t).Work[0].Position.Until }
	if got := pausedUntil(); got != (domain.Date{}) {
		t.Errorf("paused until %v, want no end", got)
	}
	must(h.people.Resume(ctx, owner, as.ID, 0, may(15)))(t)
	if got := pausedUntil(); got != may(15) {
		t.Errorf("paused until %v, want 15 May", got)
	}
	must(h.people.Pause(ctx, owner, as.ID, 0, academy.Pause{From: may(15)}))(t)
	h.mem.Set(time.Date(2026, 5, 16, 10, 0, 0, 0, time.UTC))
	must(h.people.Resume(ctx, owner, as.ID, 0, may(15)))(t)
	if got := pausedUntil(); got != (domain.Date{}) {
		t.Errorf("after the pause: until %v, want none", got)
	}
	h.mem.Set(time.Date(2026, 5, 21, 10, 0, 0, 0, time.UTC))
	want("after the end", told(coach, "m-x-new"), "unplanned 2 days: Two weeks ended on 19 May; nothing follows.")
}

func TestHistory(t *testing.T) {
	h := open(t)
	h.assign(ada, 4)
	h.practised(ada, "s2", now.AddDate(0, 0, -7), h.pitch.ID, 4, "", 0)
	h.practised(ada, "s1", now.AddDate(0, 0, -14), h.pitch.ID, 2, "", 0)
	h.practised(ada, "s3", now.Add(-2*time.Hour), h.pitch.ID, 9, "", 0)
	h.practised(ada, "old", now.AddDate(0, 0, -7*26), h.pitch.ID, 5, "", 0) // 26 weeks ago
	hist := must(h.reading.History(ctx, domaintest.AsAda, ada, h.pitch.ID))(t)
	tier := domaintest.PitchLadder().Tiers[1] // the first is held, the second in focus
	if hist.Student.ID != ada || hist.Skill.ID != h.pitch.ID || !hist.Judged || hist.Tier != tier || len(hist.Milestones) != 1 {
		t.Errorf("got %+v, want the pitch at %v", hist, tier)
	}
	var sessions []domain.ID
	for _, p := range hist.Points {
		sessions = append(sessions, p.Session)
	}
	if want := []domain.ID{"old", "s1", "s2", "s3"}; !slices.Equal(sessions, want) {
		t.Errorf("points: got %v, want %v, oldest first", sessions, want)
	}
	// The first point is the posterior of 5 of 5 under Jeffreys' prior.
	if r := hist.Points[0].Rate; r.A != 5.5 || r.B != 0.5 {
		t.Errorf("the rate after the first session is Beta(%v, %v), want Beta(5.5, 0.5)", r.A, r.B)
	}
	var weeks []domain.Date
	for _, w := range hist.Weeks {
		weeks = append(weeks, w.Week)
	}
	if want := []domain.Date{may(4 - 14), may(4 - 7), may(4)}; !slices.Equal(weeks, want) {
		t.Errorf("weeks: got %v, want %v, of the last half year, oldest first", weeks, want)
	}
	_, err := h.reading.History(ctx, coach, ada, "none")
	wantError(t, "a skill never practised", err, domain.NotFound, "not_found")
	_, err = h.reading.History(ctx, coach2, ada, h.pitch.ID)
	wantError(t, "another coach's student", err, domain.NotFound, "not_found")
	h.practised(ben, "b1", now.Add(-2*time.Hour), h.pitch.ID, 1, "", 0)
	if free := must(h.reading.History(ctx, owner, ben, h.pitch.ID))(t); free.Judged || free.Points != nil || len(free.Weeks) != 1 {
		t.Errorf("without a ladder: got %+v, want the week alone", free)
	}
}
