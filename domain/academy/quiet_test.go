package academy_test

import (
	"fmt"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/estimate"
	"fringework/domain/practice"
	"fringework/domain/streak"
)

// TestQuietTakesBoth: tests are drawn while the student and a coach agree, and either
// withdraws at any time.
func TestQuietTakesBoth(t *testing.T) {
	h := open(t)
	quiet := h.mem.Quiet()
	for i, c := range []struct {
		by     domain.Actor
		agrees bool
		drawn  bool
		kind   string // of the event; empty for none
		side   academy.QuietSide
	}{
		{coach, true, false, "quiet-tests.agreed", academy.QuietCoach},
		{coach, true, false, "", ""},
		{domaintest.AsAda, true, true, "quiet-tests.agreed", academy.QuietStudent},
		{owner, true, true, "", ""}, // who teaches has agreed
		{domaintest.AsAda, false, false, "quiet-tests.withdrawn", academy.QuietStudent},
		{domaintest.AsAda, true, true, "quiet-tests.agreed", academy.QuietStudent},
		{owner, false, false, "quiet-tests.withdrawn", academy.QuietCoach},
	} {
		h.mem.Set(now.Add(time.Duration(i) * time.Minute))
		before := len(h.mem.Events(hollow))
		m, q, err := quiet.Say(ctx, c.by, ada, c.agrees)
		if err != nil || m.ID != ada || q.Agreed != c.drawn {
			t.Errorf("step %d: drawn %v of %q, %v, want %v", i, q.Agreed, m.ID, err, c.drawn)
		}
		if n := must(h.reading.Now(ctx, coach, ada))(t); n.Quiet.Agreed != c.drawn {
			t.Errorf("step %d: today says %v", i, n.Quiet.Agreed)
		}
		if c.kind == "" {
			h.wantNoEvent(before)
		} else {
			h.wantEvent(c.by, c.kind, ada, ada, map[string]any{"side": c.side, "drawn": c.drawn})
		}
	}
	if _, _, err := quiet.Say(ctx, domaintest.AsBen, ada, true); domain.KindOf(err) != domain.NotFound {
		t.Errorf("another student: %v", err)
	}
	if _, _, err := quiet.Say(ctx, coach2, ada, true); domain.KindOf(err) != domain.NotFound {
		t.Errorf("another coach: %v", err)
	}
}

// TestQuietOfJuniors: a guardian agrees for a junior, who may say no; and nobody's word
// outlives what they spoke as.
func TestQuietOfJuniors(t *testing.T) {
	h := open(t)
	quiet := h.mem.Quiet()
	minute := 0
	say := func(by domain.Actor, student domain.ID, agrees, want bool) {
		t.Helper()
		minute++
		h.mem.Set(now.Add(time.Duration(minute) * time.Minute))
		_, q, err := quiet.Say(ctx, by, student, agrees)
		if err != nil || q.Agreed != want {
			t.Errorf("step %d: drawn %v, %v", minute, q.Agreed, err)
		}
	}
	_, _, err := quiet.Say(ctx, domaintest.AsJune, june, true)
	wantError(t, "a junior agrees", err, domain.Conflict, "guardian_decides")
	say(coach, june, true, false)
	say(guardian, june, true, true)
	say(domaintest.AsJune, june, false, false)
	say(guardian, june, false, false)
	say(guardian, june, true, false) // the junior's no stands
	say(domaintest.AsJune, june, true, true)
	say(domaintest.AsJune, june, false, false)
	grown, again := false, true
	must(h.people.ChangeMember(ctx, owner, june, 0, academy.MemberChange{Junior: &grown}))(t)
	if l := must(h.reading.Learning(ctx, coach, june))(t); l.Quiet.Agreed {
		t.Error("a guardian's word outlives the junior")
	}
	say(domaintest.AsJune, june, false, false)
	say(domaintest.AsJune, june, true, true)
	must(h.people.ChangeMember(ctx, coach, june, 0, academy.MemberChange{Junior: &again}))(t)
	say(guardian, june, false, false)
	if l := must(h.reading.Learning(ctx, coach, june))(t); l.Quiet.Agreed || !l.Quiet.Student.Agrees {
		t.Error("a grown student's word holds for the junior that they are now")
	}
	h.mem.AddLink(hollow, domaintest.GuardianID, ada)
	_, _, err = quiet.Say(ctx, guardian, ada, true)
	wantError(t, "not a junior", err, domain.Conflict, "not_a_junior")
}

// quietSession is a session of one test of the plan, n of ten balls inside.
func (h *fixture) quietSession(id domain.ID, at time.Time, as domain.ID, inside int) {
	h.t.Helper()
	b := testBlock(h.pitch.ID, 10)
	b.PlanBlock = 4
	for i := inside; i < 10; i++ {
		b.Balls[i].Outcome = streak.Out
	}
	must(h.practice.Put(ctx, owner, practice.Session{
		ID: id, Student: ada, StartedAt: at, EndedAt: at.Add(time.Hour), TimeZone: "UTC", Revision: 1,
		Assignment: as, Week: 1, Plan: 1, Blocks: []practice.Block{b},
	}))(h.t)
}

// TestQuietCompares: the tests that were begun while both agreed, by the lots of the
// sessions and not by what the phone says, and a known drop is found.
func TestQuietCompares(t *testing.T) {
	h := open(t)
	as := h.assign(ada, 4)
	quiet := h.mem.Quiet()
	from := now.AddDate(0, 0, -60)
	say := func(by domain.Actor, at time.Time, agrees bool) {
		h.mem.Set(at)
		if _, _, err := quiet.Say(ctx, by, ada, agrees); err != nil {
			t.Fatal(err)
		}
	}
	say(coach, from.Add(-time.Hour), true)
	say(domaintest.AsAda, from, true)
	say(domaintest.AsAda, from.AddDate(0, 0, 50), false)
	h.mem.Set(now)
	var want estimate.Quiet
	for day := range 60 {
		at := from.AddDate(0, 0, day)
		id := domain.ID(fmt.Sprintf("s%02d", day))
		inside, arm := 5, &want.Shown
		if curriculum.Hidden(id, 4) {
			inside, arm = 9, &want.Hidden
		}
		h.quietSession(id, at, as.ID, inside)
		if day < 50 {
			arm.Tests++
			arm.Balls += 10
			arm.Inside += inside
		}
	}
	h.quietSession("early", from.Add(-time.Minute), as.ID, 0)
	l := must(h.reading.Learning(ctx, domaintest.AsAda, ada))(t)
	if got := l.Compared; got.Shown != want.Shown || got.Hidden != want.Hidden || want.Hidden.Tests < 10 {
		t.Errorf("compared %+v and %+v, want %+v and %+v", got.Shown, got.Hidden, want.Shown, want.Hidden)
	}
	if got := l.Compared; got.Finding != estimate.GapLower || got.Difference > -0.3 || got.Difference < -0.5 {
		t.Errorf("found %+v, want about 40 points lower when shown", got)
	}
	if l.Quiet.Agreed {
		t.Error("Ada has withdrawn")
	}
}

// TestLearning: a step is passed, and held by a retest a week later; a first ball is
// cold once a day.
func TestLearning(t *testing.T) {
	h := open(t)
	as := h.assign(ada, 4)
	at := now.AddDate(0, 0, -30)
	h.practised(ada, "pass", at, h.pitch.ID, 9, as.ID, 1)
	h.mem.Set(at.AddDate(0, 0, 8))
	n := must(h.reading.Now(ctx, coach, ada))(t)
	if len(n.Retests) != 1 || n.Retests[0].Skill.ID != h.pitch.ID || n.Retests[0].Tier.Run != 9 {
		t.Fatalf("a week later these are due: %+v", n.Retests)
	}
	l := must(h.reading.Learning(ctx, coach, ada))(t)
	if len(l.Skills) != 2 || l.Skills[1].Due != nil && l.Skills[0].Due != nil {
		t.Fatalf("got %+v, want the retest of the pitch alone", l.Skills)
	}
	retest := testBlock(h.pitch.ID, 10)
	retest.Purpose = curriculum.Retest
	must(h.practice.Put(ctx, owner, practice.Session{ID: "retest", Student: ada, StartedAt: h.mem.Now(), TimeZone: "UTC", Revision: 1, Blocks: []practice.Block{retest}}))(t)
	log := h.mem.Events(hollow)
	if e := log[len(log)-1]; e.Kind != "milestone.held" || e.Subject != h.pitch.ID || e.Data["run"] != 9 {
		t.Errorf("the last event is %+v", e)
	}
	if n = must(h.reading.Now(ctx, coach, ada))(t); len(n.Retests) != 0 {
		t.Errorf("held, and still due: %+v", n.Retests)
	}
	for _, s := range must(h.reading.Learning(ctx, coach, ada))(t).Skills {
		if s.Skill.ID != h.pitch.ID {
			if len(s.Steps) != 0 || s.Cold.Days != 0 || s.Due != nil {
				t.Errorf("of the other skill: %+v", s)
			}
			continue
		}
		if len(s.Steps) != 1 || !s.Steps[0].Held() || s.Due != nil || s.Cold.Days != 2 || s.Cold.Inside != 2 || s.Cold.Told {
			t.Errorf("got %+v", s)
		}
	}
	if err := h.practice.Delete(ctx, owner, "retest", ada, 2); err != nil {
		t.Fatal(err)
	}
	log = h.mem.Events(hollow)
	if e := log[len(log)-1]; e.Kind != "milestone.reopened" {
		t.Errorf("after its retest was deleted the last event is %+v", e)
	}
	if _, err := h.reading.Learning(ctx, domaintest.AsBen, ada); domain.KindOf(err) != domain.NotFound {
		t.Errorf("another student: %v", err)
	}
}
