package academy_test

import (
	"reflect"
	"strconv"
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
)

// told writes what became of each of many in one line.
func told(results []academy.ManyResult) string {
	var b strings.Builder
	for _, r := range results {
		b.WriteString(r.Name + ":")
		for _, as := range r.Assignments {
			b.WriteString(" ok")
			if !as.EndedAt.IsZero() {
				b.WriteString(" ended")
			}
		}
		if r.Err != nil {
			code, _, _ := strings.Cut(r.Err.Error(), ":")
			b.WriteString(" " + code)
		}
		b.WriteString("; ")
	}
	return strings.TrimSuffix(b.String(), "; ")
}

// redraft changes the programme's draft and publishes it.
func (h *fixture) redraft(change func(*curriculum.Content)) {
	h.t.Helper()
	p, _, err := h.curriculum.Programme(ctx, coach, h.programme, domain.Length.String)
	if err != nil {
		h.t.Fatal(err)
	}
	change(&p.Draft)
	must(h.curriculum.SaveDraft(ctx, coach, h.programme, 0, p.Draft))(h.t)
	h.publish()
}

func TestMany(t *testing.T) {
	h := open(t)
	g := must(h.people.CreateGroup(ctx, owner, "Spring", []domain.ID{ben, june}))(t)
	h.assign(ben, 4)
	h.redraft(func(c *curriculum.Content) { c.Text = "Twice." })
	day := domain.Date{Year: 2026, Month: 5, Day: 6}
	for _, c := range []struct {
		what string
		r    academy.ManyRequest
		want string
	}{
		{"assign", academy.ManyRequest{Action: academy.GiveAll, Programme: h.programme, Version: 1, Start: may(4), Students: []domain.ID{ada, "none", ada}, Group: g.ID},
			"Ada: ok; : not_found; Ben: assigned_already; June: ok"},
		{"move", academy.ManyRequest{Action: academy.MoveAll, Programme: h.programme, Version: 2, Students: []domain.ID{ada}}, "Ada: ok"},
		{"move those who lag", academy.ManyRequest{Action: academy.MoveAll, Programme: h.programme, Version: 2, Students: []domain.ID{ada, ben}}, "Ada: moved_already; Ben: ok"},
		{"pause", academy.ManyRequest{Action: academy.PauseAll, Students: []domain.ID{ada, june}, Pause: academy.Pause{From: day, Until: may(20), Reason: "camp"}}, "Ada: ok; June: ok"},
		{"resume", academy.ManyRequest{Action: academy.ResumeAll, Students: []domain.ID{ada, ben}, On: may(13)}, "Ada: ok; Ben: not_paused"},
		{"end", academy.ManyRequest{Action: academy.EndAll, Group: g.ID}, "Ben: ok ended; June: ok ended"},
		{"end again", academy.ManyRequest{Action: academy.EndAll, Group: g.ID, Students: []domain.ID{ada}, Programme: h.programme}, "Ada: ok ended; Ben: no_assignment; June: no_assignment"},
	} {
		if got := told(must(h.people.Many(ctx, owner, c.r))(t)); got != c.want {
			t.Errorf("%s: got %s, want %s", c.what, got, c.want)
		}
	}
	as := must(h.people.Assignments(ctx, owner, academy.AssignmentFilter{Student: ada}, domain.Page{Limit: 9}))(t)[0]
	if want := []academy.Pause{{From: day, Until: may(13), Reason: "camp"}}; !reflect.DeepEqual(as.Pauses, want) || as.Version != 2 {
		t.Errorf("Ada's is %+v, want version 2, paused %v", as, want)
	}
	if got := told(must(h.people.Many(ctx, coach, academy.ManyRequest{Action: academy.EndAll, Students: []domain.ID{ben}}))(t)); got != ": not_found" {
		t.Errorf("another coach's student: got %s, want not_found", got)
	}
}

// A student with several programmes: what suits one of them is done.
func TestManyOfSeveralProgrammes(t *testing.T) {
	h := open(t)
	second := must(h.curriculum.CreateProgramme(ctx, coach, domaintest.Programme(h.pitch.ID, h.chip.ID)))(t).ID
	must(h.curriculum.Publish(ctx, coach, second, 0))(t)
	as := h.assign(ada, 4)
	must(h.people.Assign(ctx, coach, academy.AssignRequest{Programme: second, Version: 1, Students: []domain.ID{ada}, Start: may(4)}))(t)
	must(h.people.Pause(ctx, coach, as.ID, 0, academy.Pause{From: may(5)}))(t)
	pause := academy.ManyRequest{Action: academy.PauseAll, Students: []domain.ID{ada}, Pause: academy.Pause{From: may(6)}}
	if got := told(must(h.people.Many(ctx, coach, pause))(t)); got != "Ada: ok" {
		t.Errorf("one of two is paused already: got %s, want the other paused", got)
	}
	if got := told(must(h.people.Many(ctx, coach, pause))(t)); got != "Ada: already_paused" {
		t.Errorf("both are paused: got %s, want already_paused", got)
	}
	if got := told(must(h.people.Many(ctx, coach, academy.ManyRequest{Action: academy.EndAll, Students: []domain.ID{ada}}))(t)); got != "Ada: ok ended ok ended" {
		t.Errorf("ended: got %s, want both", got)
	}
}

// many makes so many identities of nobody.
func many(n int) (ids []domain.ID) {
	for i := range n {
		ids = append(ids, domain.ID(strconv.Itoa(i)))
	}
	return ids
}

func TestManyRefusals(t *testing.T) {
	h := open(t)
	log := len(h.mem.Events(hollow))
	for _, c := range []struct {
		why  string
		r    academy.ManyRequest
		want []string
	}{
		{"no action", academy.ManyRequest{Students: []domain.ID{ada}}, []string{"/action", `is missing; use assign, move, pause, resume or end`}},
		{"nothing to assign", academy.ManyRequest{Action: academy.GiveAll, Students: []domain.ID{ada}}, []string{
			"/programme_id", "is missing; give the ID of the programme to assign", "/version", "is missing; give the number of a published version",
			"/start_date", "is missing; give a date as YYYY-MM-DD"}},
		{"nothing to move to", academy.ManyRequest{Action: academy.MoveAll, Students: []domain.ID{ada}}, []string{
			"/programme_id", "is missing; give the ID of the programme to move", "/version", "is missing; give the number of a published version"}},
		{"nobody", academy.ManyRequest{Action: academy.EndAll}, []string{"/student_ids", "is empty; give student_ids, or a group_id with students of yours"}},
		{"no group", academy.ManyRequest{Action: academy.EndAll, Group: "none"}, []string{"/group_id", `this academy has no group "none"; check the ID`}},
		{"too many", academy.ManyRequest{Action: academy.EndAll, Students: many(501)}, []string{"/student_ids", "has 501 students, with those of the group; give at most 500 at a time"}},
		{"not published", academy.ManyRequest{Action: academy.MoveAll, Programme: h.programme, Version: 7, Students: []domain.ID{ada}},
			[]string{"/version", "there is no published version 7 of this programme; publish it or choose another"}},
	} {
		wantFields(t, c.why, failure(h.people.Many(ctx, coach, c.r)), c.want...)
	}
	h.wantNoEvent(log)
}

// A group that is given a programme again: those who lack it get it.
func TestGiveAgain(t *testing.T) {
	h := open(t)
	has := h.assign(june, 4)
	g := must(h.people.CreateGroup(ctx, owner, "Spring", []domain.ID{ada, june}))(t)
	r := academy.AssignRequest{Programme: h.programme, Version: 1, Group: g.ID, Start: may(11)}
	out := must(h.people.Give(ctx, coach, r))(t)
	if len(out.Made) != 1 || out.Made[0].Student != ada || !reflect.DeepEqual(out.Had, []academy.Assignment{has}) {
		t.Errorf("got %+v, want Ada's made and June's told", out)
	}
	if out := must(h.people.Give(ctx, coach, r))(t); len(out.Made) != 0 || len(out.Had) != 2 {
		t.Errorf("once more: got %+v, want both told", out)
	}
	r.Students = []domain.ID{june}
	wantError(t, "June is named as well", failure(h.people.Give(ctx, coach, r)), domain.Conflict, "assigned_already")
}

func TestGroupProgrammes(t *testing.T) {
	h := open(t)
	g := must(h.people.CreateGroup(ctx, owner, "Spring", []domain.ID{ada, ben, june}))(t)
	common := func(a domain.Actor) []academy.GroupProgramme {
		t.Helper()
		return must(h.people.GroupProgrammes(ctx, a, g.ID))(t)
	}
	if got := common(owner); len(got) != 0 {
		t.Errorf("nobody has anything: got %+v", got)
	}
	h.assign(ada, 4)
	if got := common(owner); len(got) != 0 {
		t.Errorf("one of three has it: got %+v, want nothing", got)
	}
	want := academy.GroupProgramme{
		Programme: h.programme, Name: "Around the green", Version: 1, Start: may(4), Weeks: 2,
		Position: academy.Position{Phase: academy.Running, Week: 1, Day: 1}, Lacking: []domain.ID{june},
	}
	want.Name = must(h.curriculum.Version(ctx, owner, h.programme, 1))(t).Content.Name
	if got := common(coach); !reflect.DeepEqual(got, []academy.GroupProgramme{want}) {
		t.Errorf("of the coach's two one has it: got %+v, want %+v", got, want)
	}
	h.assign(ben, 4)
	h.mem.Pass(7 * 24 * time.Hour)
	want.Position.Week = 2
	if got := common(owner); !reflect.DeepEqual(got, []academy.GroupProgramme{want}) {
		t.Errorf("two of three have it: got %+v, want %+v", got, want)
	}
	h.mem.Pass(7 * 24 * time.Hour)
	if got := common(owner); len(got) != 0 {
		t.Errorf("it is over: got %+v, want nothing", got)
	}
	h.mem.Pass(-14 * 24 * time.Hour)
	h.assign(june, 11)
	if got := common(owner); len(got) != 1 || len(got[0].Lacking) != 0 {
		t.Errorf("all have it: got %+v, want it, and nobody lacking it", got)
	}
	if _, err := h.people.GroupProgrammes(ctx, owner, "none"); domain.KindOf(err) != domain.NotFound {
		t.Errorf("no such group: got %v", err)
	}
}

// Most of a group decide which version and start are usual.
func TestGroupProgrammeAsMostHaveIt(t *testing.T) {
	h := open(t)
	h.mem.AddMember(hollow, academy.Member{ID: "m-student-zoe", Role: domain.Student, Name: "Zoe", TimeZone: "UTC", Revision: 1})
	g := must(h.people.CreateGroup(ctx, owner, "Spring", []domain.ID{ada, ben, june, "m-student-zoe"}))(t)
	h.assign(ada, 4)
	h.assign(ben, 11)
	h.assign(june, 11)
	if got := must(h.people.GroupProgrammes(ctx, owner, g.ID))(t); len(got) != 1 || got[0].Start != may(11) || got[0].Position.Phase != academy.Upcoming {
		t.Errorf("got %+v, want the start of the two, 11 May", got)
	}
}

func TestGiveOnJoining(t *testing.T) {
	h := open(t)
	r := academy.AssignRequest{Programme: h.programme, Version: 1, Start: may(11)}
	accepted := now
	give := func(student domain.ID) []academy.Assignment {
		t.Helper()
		if err := h.people.GiveOnJoining(ctx, coach, student, accepted, r); err != nil {
			t.Fatal(err)
		}
		return must(h.people.Assignments(ctx, owner, academy.AssignmentFilter{Student: student}, domain.Page{Limit: 9}))(t)
	}
	// Also to somebody whom the inviter is no coach of.
	for _, student := range []domain.ID{ada, ben} {
		if got := give(student); len(got) != 1 || got[0].Start != may(11) || got[0].CreatedBy != coach.Member {
			t.Errorf("got %+v, want one from 11 May in the coach's name", got)
		}
	}
	h.wantEvent(coach, "assignment.made", give(ben)[0].ID, ben, map[string]any{"programme_id": h.programme, "version": 1, "start_date": "2026-05-11"})
	// An acceptance that is repeated, also once a coach has ended it.
	must(h.people.End(ctx, owner, give(ada)[0].ID, 0))(t)
	h.mem.Pass(time.Hour)
	if got := give(ada); len(got) != 1 {
		t.Errorf("repeated after the end: got %+v, want the one that ended", got)
	}
	// Somebody who comes back by another invitation starts again.
	accepted = h.mem.Now()
	if got := give(ada); len(got) != 2 {
		t.Errorf("invited again: got %+v, want a second", got)
	}
	if got := give(gone); len(got) != 0 {
		t.Errorf("one who left: got %+v, want none", got)
	}
	r.Version = 9
	if err := h.people.GiveOnJoining(ctx, coach, june, accepted, r); domain.KindOf(err) != domain.NotFound {
		t.Errorf("a version that is not there: got %v", err)
	}
}

func TestCheckGift(t *testing.T) {
	h := open(t)
	if err := h.people.CheckGift(ctx, coach, academy.AssignRequest{Programme: h.programme, Version: 1, Start: may(4)}); err != nil {
		t.Error(err)
	}
	wantFields(t, "no start", h.people.CheckGift(ctx, coach, academy.AssignRequest{Programme: h.programme, Version: 1}), "/start_date", "is missing; give a date as YYYY-MM-DD")
	wantFields(t, "no version", h.people.CheckGift(ctx, coach, academy.AssignRequest{Programme: h.programme, Version: 2, Start: may(4)}),
		"/version", "there is no published version 2 of this programme; publish it or choose another")
}

// Weeks that changed places: what was done counts where its week is now.
func TestMoveCreditsByWhatWasDone(t *testing.T) {
	h := open(t)
	as := h.assign(ada, 4)
	h.practised(ada, "s1", now.Add(-2*time.Hour), h.pitch.ID, 9, as.ID, 1)
	done := func(day int) map[int]int {
		t.Helper()
		h.mem.Set(time.Date(2026, 5, day, 10, 0, 0, 0, time.UTC))
		return must(h.reading.Now(ctx, coach, ada))(t).Work[0].Done.Sessions
	}
	h.redraft(func(c *curriculum.Content) { c.Weeks[0], c.Weeks[1] = c.Weeks[1], c.Weeks[0] })
	moved := must(h.people.Move(ctx, coach, as.ID, 0, 2, true))(t)
	if want := []academy.MovedWeek{{Version: 1, Week: 1, For: 2}, {Version: 1, Week: 2, For: 1}}; !reflect.DeepEqual(moved.MovedWeeks(), want) {
		t.Errorf("moved weeks are %+v, want %+v", moved.MovedWeeks(), want)
	}
	if first, second := done(4), done(11); len(first) != 0 || !reflect.DeepEqual(second, map[int]int{1: 1}) {
		t.Errorf("done in week 1: %v, in week 2: %v; want the session of the pitch in week 2", first, second)
	}
	// The third version drops the chip and brings the pitch back to week 1.
	h.redraft(func(c *curriculum.Content) { c.Weeks = c.Weeks[1:] })
	moved = must(h.people.Move(ctx, coach, as.ID, 0, 3, true))(t)
	want := []academy.MovedWeek{{Version: 2, Week: 1}, {Version: 2, Week: 2, For: 1}, {Version: 1, Week: 2}}
	if !reflect.DeepEqual(moved.MovedWeeks(), want) {
		t.Errorf("moved weeks are %+v, want %+v", moved.MovedWeeks(), want)
	}
	if first := done(4); !reflect.DeepEqual(first, map[int]int{1: 1}) {
		t.Errorf("done in week 1: %v, want the session of the pitch", first)
	}
	// Back at the first, everything is where it was.
	moved = must(h.people.Move(ctx, coach, as.ID, 0, 1, true))(t)
	if got := done(4); !reflect.DeepEqual(got, map[int]int{1: 1}) || moved.CountsFor(1, 1) != 1 || moved.CountsFor(3, 1) != 1 || moved.CountsFor(9, 4) != 4 {
		t.Errorf("back: done %v by %+v, want the session in week 1", got, moved.Credits)
	}
}

func TestPauseUntil(t *testing.T) {
	h := open(t)
	as := h.assign(ada, 4)
	for why, c := range map[string]struct {
		until domain.Date
		want  string
	}{
		"the same day":   {may(10), "is not after the first day of the pause, 2026-05-10; give a later day, or leave it out"},
		"the day before": {may(9), "is not after the first day of the pause, 2026-05-10; give a later day, or leave it out"},
		"another age":    {domain.Date{Year: 2300, Month: 1, Day: 1}, "is 2300-01-01; give a date in the years 2000 to 2199"},
	} {
		_, err := h.people.Pause(ctx, coach, as.ID, 0, academy.Pause{From: may(10), Until: c.until})
		wantFields(t, why, err, "/until", c.want)
	}
	got := must(h.people.Pause(ctx, coach, as.ID, 0, academy.Pause{From: may(10), Until: may(17), Reason: "camp"}))(t)
	h.wantEvent(coach, "assignment.paused", as.ID, ada, map[string]any{"from": "2026-05-10", "until": "2026-05-17", "reason": "camp"})
	for day, want := range map[int]academy.Phase{9: academy.Running, 10: academy.Paused, 16: academy.Paused, 17: academy.Running} {
		if on := got.On(may(day), 2); on.Phase != want {
			t.Errorf("on %d May: %s, want %s", day, on.Phase, want)
		}
	}
	// It may be ended early, and not once it is over.
	_, err := h.people.Resume(ctx, coach, as.ID, 0, may(17))
	wantError(t, "resuming when it is over", err, domain.Conflict, "not_paused")
	got = must(h.people.Resume(ctx, coach, as.ID, 0, may(12)))(t)
	if want := []academy.Pause{{From: may(10), Until: may(12), Reason: "camp"}}; !reflect.DeepEqual(got.Pauses, want) {
		t.Errorf("ended early: %+v, want %+v", got.Pauses, want)
	}
}

// A move of many keeps the adjustments that fit, unless it is to end them.
func TestManyAdjustments(t *testing.T) {
	h := open(t)
	h.assign(ada, 4)
	x := h.given(curriculum.Adjustment{Kind: curriculum.ExtraStep, Skill: h.pitch.ID, Tier: step(6, 5)})
	h.redraft(func(c *curriculum.Content) { c.Text = "Twice." })
	standing := func() (n int) {
		t.Helper()
		for _, a := range must(h.adjusting().List(ctx, coach, ada))(t) {
			if a.ID == x.ID && a.EndedAt.IsZero() {
				n++
			}
		}
		return n
	}
	move := academy.ManyRequest{Action: academy.MoveAll, Programme: h.programme, Version: 2, Students: []domain.ID{ada}}
	must(h.people.Many(ctx, coach, move))(t)
	if standing() != 1 {
		t.Error("the adjustment ended with the move; want it kept")
	}
	move.Version, move.EndAdjustments = 1, true
	must(h.people.Many(ctx, coach, move))(t)
	if standing() != 0 {
		t.Error("the adjustment was kept; want it ended")
	}
}
