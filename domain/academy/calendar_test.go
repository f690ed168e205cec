package academy_test

import (
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
)

func TestCalendar(t *testing.T) {
	h := open(t)
	cals := h.mem.Calendars()
	asAda := who(ada)
	wantError(t, "no calendar", failure(cals.Link(ctx, asAda)), domain.NotFound, "not_found")
	wantError(t, "a coach's", failure(cals.Make(ctx, coach, [32]byte{1})), domain.NotFound, "not_found")
	wantError(t, "a junior's without consent", failure(cals.Make(ctx, who(june), [32]byte{1})), domain.Conflict, "consent_missing")
	must(cals.Make(ctx, asAda, [32]byte{1}))(t)
	h.wantEvent(asAda, "calendar.made", ada, ada, nil)
	if l := must(cals.Link(ctx, asAda))(t); l.Token != [32]byte{1} || !l.Created.Equal(now) {
		t.Errorf("got %+v", l)
	}
	shown := func() []academy.CalendarWeek {
		t.Helper()
		c := must(cals.Shown(ctx, hollow, [32]byte{1}))(t)
		if c.Student.ID != ada {
			t.Errorf("shows %s", c.Student.ID)
		}
		return c.Weeks
	}
	if weeks := shown(); len(weeks) != 0 {
		t.Errorf("without a programme: %+v", weeks)
	}
	h.mem.Pass(time.Minute)
	as := h.assign(ada, 4)
	weeks := shown()
	if len(weeks) != 2 || weeks[0].First != may(4) || weeks[1].First != may(11) || weeks[1].Number != 2 || weeks[1].Weeks != 2 ||
		weeks[0].SkillName != "Pitch" || weeks[1].SkillName != "Chip" || weeks[0].Programme != "Two weeks" || weeks[0].Week.Title != "First" ||
		weeks[0].Assignment != as.ID || !weeks[0].Changed.Equal(h.mem.Now()) {
		t.Errorf("got %+v", weeks)
	}
	// The week that is over is told no more; a pause without an end tells nothing.
	h.mem.Pass(7 * 24 * time.Hour)
	if weeks = shown(); len(weeks) != 1 || weeks[0].Number != 2 {
		t.Errorf("in the second week: %+v", weeks)
	}
	must(h.people.Pause(ctx, coach, as.ID, 0, academy.Pause{From: may(11), Until: may(13)}))(t)
	if weeks = shown(); len(weeks) != 1 {
		t.Errorf("paused until Wednesday: %+v", weeks)
	}
	h.mem.Pass(2 * 24 * time.Hour)
	must(h.people.Pause(ctx, coach, as.ID, 0, academy.Pause{From: may(13)}))(t)
	if weeks = shown(); len(weeks) != 0 {
		t.Errorf("paused for good: %+v", weeks)
	}
	h.assign(ben, 18)
	must(cals.Make(ctx, who(ben), [32]byte{2}))(t)
	if c := must(cals.Shown(ctx, hollow, [32]byte{2}))(t); len(c.Weeks) != 2 || c.Weeks[0].First != may(18) {
		t.Errorf("to come: %+v", c.Weeks)
	}

	must(cals.Make(ctx, asAda, [32]byte{3}))(t)
	wantError(t, "the old address", failure(cals.Shown(ctx, hollow, [32]byte{1})), domain.NotFound, "not_found")
	must(0, cals.Withdraw(ctx, asAda))(t)
	h.wantEvent(asAda, "calendar.withdrawn", ada, ada, nil)
	must(0, cals.Withdraw(ctx, asAda))(t)
	wantError(t, "withdrawn", failure(cals.Shown(ctx, hollow, [32]byte{3})), domain.NotFound, "not_found")
	must(0, h.people.RemoveMember(ctx, owner, ben))(t)
	wantError(t, "of one who left", failure(cals.Shown(ctx, hollow, [32]byte{2})), domain.NotFound, "not_found")
	wantError(t, "in another academy", failure(cals.Shown(ctx, domaintest.Other, [32]byte{2})), domain.NotFound, "not_found")
}

// An adjustment moves what the calendar says was changed.
func TestCalendarFollowsAdjustments(t *testing.T) {
	h := open(t)
	cals := h.mem.Calendars()
	must(cals.Make(ctx, who(ada), [32]byte{1}))(t)
	h.assign(ada, 4)
	h.mem.Pass(time.Hour)
	h.given(curriculum.Adjustment{Kind: curriculum.ExtraStep, Skill: h.pitch.ID, Tier: step(6, 5)})
	weeks := must(cals.Shown(ctx, hollow, [32]byte{1}))(t).Weeks
	if len(weeks) == 0 || !weeks[0].Changed.Equal(h.mem.Now()) {
		t.Errorf("got %+v, want it changed at %v", weeks, h.mem.Now())
	}
}
