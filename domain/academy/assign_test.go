package academy_test

import (
	"reflect"
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/streak"
)

func TestAssign(t *testing.T) {
	h := open(t)
	g := must(h.people.CreateGroup(ctx, owner, "Spring", []domain.ID{ben, june}))(t)
	made := must(h.people.Assign(ctx, coach, academy.AssignRequest{
		Programme: h.programme, Version: 1, Students: []domain.ID{june, ada, ada}, Group: g.ID, Start: may(11)}))(t)
	// The coach does not see Ben; June is meant twice.
	if len(made) != 2 || made[0].Student != ada || made[1].Student != june {
		t.Fatalf("got %+v, want Ada and June once each", made)
	}
	want := academy.Assignment{ID: made[0].ID, Student: ada, Programme: h.programme, Version: 1, Start: may(11), Tests: true, Revision: 1, CreatedBy: coach.Member, CreatedAt: now}
	if !reflect.DeepEqual(made[0], want) {
		t.Errorf("got %+v, want %+v", made[0], want)
	}
	log := h.mem.Events(hollow)
	given := log[len(log)-2] // June is a junior: her shorter sessions follow
	if data := map[string]any{"programme_id": h.programme, "version": 1, "start_date": "2026-05-11"}; given.Kind != "assignment.made" || given.Subject != made[1].ID || !reflect.DeepEqual(given.Data, data) {
		t.Errorf("got %+v, want that June has it", given)
	}
	as, v, err := h.people.Assignment(ctx, domaintest.AsAda, made[0].ID)
	if err != nil || !reflect.DeepEqual(as, want) || v.Number != 1 || len(v.Content.Weeks) != 2 {
		t.Errorf("read %+v with %+v, %v", as, v, err)
	}
	st := must(h.reading.Progress(ctx, owner, ada))(t)
	if len(st.Skills) != 2 || st.Skills[0].State.Held != 0 || len(st.Skills[0].State.Ladder.Tiers) != 2 {
		t.Errorf("Ada stands at %+v, want both skills at the foot of their ladders", st.Skills)
	}
}

func TestAssignRefusals(t *testing.T) {
	h := open(t)
	h.assign(ben, 4)
	empty := must(h.people.CreateGroup(ctx, owner, "Cleo's", []domain.ID{ben}))(t)
	log := len(h.mem.Events(hollow))
	request := func(change func(*academy.AssignRequest)) error {
		r := academy.AssignRequest{Programme: h.programme, Version: 1, Students: []domain.ID{ada}, Start: may(4)}
		change(&r)
		return failure(h.people.Assign(ctx, coach, r))
	}
	noVersion := "there is no published version 2 of this programme; publish it or choose another"
	for _, c := range []struct {
		why    string
		change func(*academy.AssignRequest)
		want   []string
	}{
		{"no start", func(r *academy.AssignRequest) { r.Start = domain.Date{} }, []string{"/start_date", "is missing; give a date as YYYY-MM-DD"}},
		{"long ago", func(r *academy.AssignRequest) { r.Start = domain.Date{Year: 1999, Month: 12, Day: 31} },
			[]string{"/start_date", "is 1999-12-31; give a date in the years 2000 to 2199"}},
		{"far ahead", func(r *academy.AssignRequest) { r.Start = domain.Date{Year: 2200, Month: 1, Day: 1} },
			[]string{"/start_date", "is 2200-01-01; give a date in the years 2000 to 2199"}},
		{"a version not published", func(r *academy.AssignRequest) { r.Version = 2 }, []string{"/version", noVersion}},
		{"nobody", func(r *academy.AssignRequest) { r.Students = nil },
			[]string{"/student_ids", "is empty; give student_ids, or a group_id with students of yours"}},
		{"a group of nobody the coach sees", func(r *academy.AssignRequest) { r.Students, r.Group = nil, empty.ID },
			[]string{"/student_ids", "is empty; give student_ids, or a group_id with students of yours"}},
		{"a group that is not there", func(r *academy.AssignRequest) { r.Group = "none" }, []string{"/group_id", `this academy has no group "none"; check the ID`}},
		{"students unseen", func(r *academy.AssignRequest) { r.Students = []domain.ID{ada, ben, gone} },
			[]string{"/student_ids/1", `you have no student "m-student-ben"; check the ID`,
				"/student_ids/2", `you have no student "m-student-gone"; check the ID`}},
	} {
		wantFields(t, c.why, request(c.change), c.want...)
	}
	// All of them get it, or nobody does: Ben has it already.
	_, err := h.people.Assign(ctx, owner, academy.AssignRequest{Programme: h.programme, Version: 1, Students: []domain.ID{ada, ben}, Start: may(4)})
	wantError(t, "given twice", err, domain.Conflict, "assigned_already")
	if !strings.Contains(err.Error(), "Ben already has version 1 of this programme. Move that assignment to another version, or end it first.") {
		t.Errorf("got %v, want Ben named with the remedy", err)
	}
	h.wantNoEvent(log)
	_, err = h.people.Assign(ctx, domaintest.AsOther, academy.AssignRequest{Programme: h.programme, Version: 1, Students: []domain.ID{domaintest.StrangerID}, Start: may(4)})
	wantFields(t, "another academy's programme", err, "/version", "there is no published version 1 of this programme; publish it or choose another")
	if got := must(h.people.Assignments(ctx, owner, academy.AssignmentFilter{}, domain.Page{Limit: 9}))(t); len(got) != 1 {
		t.Errorf("kept %+v, want Ben's alone", got)
	}
}

func TestAssignmentsSeen(t *testing.T) {
	h := open(t)
	mine, his := h.assign(ada, 4), h.assign(ben, 4)
	for who, c := range map[string]struct {
		a    domain.Actor
		want []domain.ID
	}{
		"owner": {owner, []domain.ID{mine.ID, his.ID}}, "coach": {coach, []domain.ID{mine.ID}}, "ben": {domaintest.AsBen, []domain.ID{his.ID}},
		"guardian": {guardian, nil}, "nobody": {domaintest.AsNobody, nil}, "key": {key, []domain.ID{mine.ID, his.ID}},
	} {
		var got []domain.ID
		for _, as := range must(h.people.Assignments(ctx, c.a, academy.AssignmentFilter{}, domain.Page{Limit: 9}))(t) {
			got = append(got, as.ID)
		}
		if !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s lists %v, want %v", who, got, c.want)
		}
	}
	absent := domain.ErrNotFound("assignment").Error()
	for what, err := range map[string]error{
		"reading another coach's":   func() error { _, _, err := h.people.Assignment(ctx, coach, his.ID); return err }(),
		"reading none":              func() error { _, _, err := h.people.Assignment(ctx, coach, "none"); return err }(),
		"reading another academy's": func() error { _, _, err := h.people.Assignment(ctx, domaintest.AsOther, his.ID); return err }(),
		"pausing another coach's":   failure(h.people.Pause(ctx, coach, his.ID, 0, academy.Pause{From: may(5)})),
		"ending another coach's":    failure(h.people.End(ctx, coach, his.ID, 0)),
	} {
		if err == nil || err.Error() != absent {
			t.Errorf("%s: got %v, want %s", what, err, absent)
		}
	}
}

func TestPauseAndResume(t *testing.T) {
	h := open(t)
	as := h.assign(ada, 4)
	change := func(do func(domain.Actor, domain.ID, int) (academy.Assignment, error)) academy.Assignment {
		t.Helper()
		return must(do(coach, as.ID, 0))(t)
	}
	h.mem.Set(time.Date(2026, 5, 9, 23, 30, 0, 0, time.UTC)) // Sunday 10 May in Lisbon
	got := change(func(a domain.Actor, id domain.ID, rev int) (academy.Assignment, error) {
		return h.people.Pause(ctx, a, id, rev, academy.Pause{Reason: "holiday"})
	})
	if want := []academy.Pause{{From: may(10), Reason: "holiday"}}; !reflect.DeepEqual(got.Pauses, want) || got.Revision != 2 {
		t.Errorf("paused: got %+v, want %+v", got, want)
	}
	h.wantEvent(coach, "assignment.paused", as.ID, ada, map[string]any{"from": "2026-05-10", "reason": "holiday"})
	_, err := h.people.Pause(ctx, coach, as.ID, 0, academy.Pause{From: may(12)})
	wantError(t, "pausing twice", err, domain.Conflict, "already_paused")
	_, err = h.people.Resume(ctx, coach, as.ID, 0, may(9))
	wantFields(t, "resuming before the pause", err, "/on", "is before the pause starts on 2026-05-10; give that day or a later one")
	_, err = h.people.Resume(ctx, coach, as.ID, 0, domain.Date{Year: 9999, Month: 1, Day: 1})
	wantFields(t, "resuming in another age", err, "/on", "is 9999-01-01; give a date in the years 2000 to 2199")
	h.mem.Pass(3 * 24 * time.Hour) // 13 May
	got = change(func(a domain.Actor, id domain.ID, rev int) (academy.Assignment, error) {
		return h.people.Resume(ctx, a, id, rev, domain.Date{})
	})
	if want := []academy.Pause{{From: may(10), Until: may(13), Reason: "holiday"}}; !reflect.DeepEqual(got.Pauses, want) {
		t.Errorf("resumed: got %+v, want %+v", got.Pauses, want)
	}
	h.wantEvent(coach, "assignment.resumed", as.ID, ada, map[string]any{"on": "2026-05-13"})
	_, err = h.people.Resume(ctx, coach, as.ID, 0, may(20))
	wantError(t, "resuming what is not paused", err, domain.Conflict, "not_paused")
	for _, c := range []struct {
		why  string
		from domain.Date
		text string
		want []string
	}{
		{"inside the pause before", may(12), "", []string{"/from", "is before the end of the pause before it, 2026-05-13; use that day or a later one"}},
		{"another age", domain.Date{Year: 1, Month: 1, Day: 1}, strings.Repeat("x", 401),
			[]string{"/from", "is 0001-01-01; give a date in the years 2000 to 2199", "/reason", "has 401 characters; use at most 400"}},
		{"a NUL", may(14), "\x00", []string{"/reason", "contains a NUL character; remove it"}},
	} {
		_, err := h.people.Pause(ctx, coach, as.ID, 0, academy.Pause{From: c.from, Reason: c.text})
		wantFields(t, c.why, err, c.want...)
	}
	// A pause may touch the one before, and one of no days is forgotten.
	must(h.people.Pause(ctx, coach, as.ID, 0, academy.Pause{From: may(13), Reason: "injury"}))(t)
	got = must(h.people.Resume(ctx, coach, as.ID, 0, may(13)))(t)
	if len(got.Pauses) != 1 || got.Revision != 5 {
		t.Errorf("a pause of no days: got %+v, want the first pause alone", got)
	}
	_, err = h.people.Pause(ctx, coach, as.ID, 4, academy.Pause{From: may(20)})
	wantError(t, "a revision not read", err, domain.Stale, "stale")
	_, err = h.people.Pause(ctx, coach, h.assign(june, 25).ID, 0, academy.Pause{From: may(24)})
	wantFields(t, "before the start", err, "/from", "is before the assignment starts, 2026-05-25; use that day or a later one")
}

func TestEnd(t *testing.T) {
	h := open(t)
	as := h.assign(ada, 4)
	h.practised(ada, "s1", now.Add(-2*time.Hour), h.pitch.ID, 9, as.ID, 1)
	ended := must(h.people.End(ctx, coach, as.ID, 0))(t)
	if !ended.EndedAt.Equal(now) || ended.Sessions != 1 {
		t.Errorf("got %+v, want it ended now, its session kept", ended)
	}
	h.wantEvent(coach, "assignment.ended", as.ID, ada, nil)
	for what, err := range map[string]error{
		"ending twice": failure(h.people.End(ctx, coach, as.ID, 0)),
		"pausing":      failure(h.people.Pause(ctx, coach, as.ID, 0, academy.Pause{From: may(5)})),
		"moving":       failure(h.people.Move(ctx, coach, as.ID, 0, 1, true)),
	} {
		wantError(t, what, err, domain.Conflict, "assignment_ended")
	}
	st := must(h.reading.Progress(ctx, owner, ada))(t)
	if len(st.Work) != 0 || st.Skills[1].State.Held+st.Skills[0].State.Held != 1 {
		t.Errorf("got %+v, want no work and the milestone kept", st)
	}
	h.assign(ada, 11) // an ended one does not stand in the way
}

// TestMoveKeepsMilestones: moving to a later version judges what was practised
// by its ladders as well, and takes nothing away.
func TestMoveKeepsMilestones(t *testing.T) {
	h := open(t)
	as := h.assign(ada, 4)
	h.practised(ada, "s1", now.Add(-2*time.Hour), h.pitch.ID, 12, as.ID, 1)
	nine := domaintest.PitchLadder().Tiers[0]
	twelve := streak.Tier{Run: 12, Radius: 5 * domain.Foot}
	far := streak.Tier{Run: 30, Radius: 5 * domain.Foot}
	h.pitch = must(h.curriculum.UpdateSkill(ctx, coach, h.pitch.ID, 0, curriculum.Skill{Name: "Pitch", Kind: curriculum.Pitch,
		Ladder: streak.Ladder{Tiers: []streak.Tier{twelve, far}, TestOnly: true}}))(t)
	h.publish()
	if st := must(h.reading.Progress(ctx, owner, ada))(t); st.Skills[0].State.Ladder.Tiers[0] != nine {
		t.Errorf("publishing moved Ada to %+v", st.Skills[0].State.Ladder)
	}
	moved := must(h.people.Move(ctx, coach, as.ID, 1, 2, true))(t)
	if moved.Version != 2 || moved.Revision != 2 || moved.Sessions != 1 {
		t.Errorf("got %+v, want version 2", moved)
	}
	h.wantEvent(coach, "assignment.moved", as.ID, ada, map[string]any{"from_version": 1, "to_version": 2})
	st := must(h.reading.Progress(ctx, owner, ada))(t).Skills[0]
	var tiers []streak.Tier
	for _, m := range st.Milestones {
		tiers = append(tiers, m.Tier)
	}
	if !reflect.DeepEqual(tiers, []streak.Tier{nine, twelve}) {
		t.Errorf("milestones after the move are %v, want the old nine and the new twelve", tiers)
	}
	next, _ := st.State.Next()
	if st.State.Held != 1 || next != far {
		t.Errorf("got %d held and %v next, want 1 and %v", st.State.Held, next, far)
	}
	at := now.Add(-2 * time.Hour).Add(11 * 75 * time.Second) // twelve balls share 900 s
	if m := st.Milestones[1]; m.Ball != 11+1 || !m.At.Equal(at.Add(75*time.Second)) {
		t.Errorf("twelve was made at ball %d, %v, want ball 12 at %v", m.Ball, m.At, at.Add(75*time.Second))
	}
	_, err := h.people.Move(ctx, coach, as.ID, 0, 9, true)
	wantFields(t, "a version not published", err, "/version", "there is no published version 9 of this programme; publish it or choose another")
	if again := must(h.people.Move(ctx, coach, as.ID, 0, 1, true))(t); again.Version != 1 {
		t.Errorf("back: got %+v, want version 1", again)
	}
	if st := must(h.reading.Progress(ctx, owner, ada))(t).Skills[0]; len(st.Milestones) != 2 || st.State.Held != 1 {
		t.Errorf("back: got %+v, want both milestones and one tier held", st)
	}
}
