package academy_test

import (
	"slices"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/domaintest"
)

// TestWatch: a reason is told of once when it is raised, and once when it is gone.
func TestWatch(t *testing.T) {
	h := open(t)
	s := h.mem.Watching()
	h.assign(ada, 4)
	watch := func() (told []domain.Event) {
		t.Helper()
		before := len(h.mem.Events(hollow))
		if err := s.Watch(ctx, hollow); err != nil {
			t.Fatal(err)
		}
		return h.mem.Events(hollow)[before:]
	}
	watch() // what stands at the start
	if told := watch(); len(told) != 0 {
		t.Errorf("told again: %+v", told)
	}
	h.mem.Pass(21 * 24 * time.Hour) // three weeks without practice
	lapsed := func(told []domain.Event, kind string) bool {
		return slices.ContainsFunc(told, func(e domain.Event) bool {
			return e.Kind == kind && e.Subject == ada && e.Student == ada && e.Data["reason"] != nil && e.Actor == "" && e.At.Equal(h.mem.Now())
		})
	}
	if told := watch(); !lapsed(told, "reason.raised") {
		t.Errorf("after three weeks: %+v, want a reason raised", told)
	}
	if err := h.people.RemoveMember(ctx, owner, ada); err != nil {
		t.Fatal(err)
	}
	if told := watch(); !lapsed(told, "reason.cleared") {
		t.Errorf("after the student left: %+v, want the reason cleared", told)
	}
	h.assign(ben, 25)
	h.mem.Pass(21 * 24 * time.Hour)
	if err := domaintest.EveryFault(t, h.mem, hollow, func() error { return s.Watch(ctx, hollow) }); err != nil {
		t.Error(err)
	}
}
