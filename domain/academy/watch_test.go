package academy_test

import (
	"slices"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/advice"
	"fringework/domain/domaintest"
)

// TestWatch: a reason is told of once when it is raised, and once when it is gone.
func TestWatch(t *testing.T) {
	h := open(t)
	s := h.mem.Watching()
	raised, cleared := 0, 0
	s.Told = func(_ advice.Reason, up bool) {
		if up {
			raised++
		} else {
			cleared++
		}
	}
	h.assign(ada, 4)
	watch := func() (told []domain.Event) {
		t.Helper()
		before := len(h.mem.Events(hollow))
		if err := s.Watch(ctx, hollow); err != nil {
			t.Fatal(err)
		}
		told = h.mem.Events(hollow)[before:]
		if raised+cleared != len(told) || raised != len(slices.DeleteFunc(slices.Clone(told), func(e domain.Event) bool { return e.Kind != "reason.raised" })) {
			t.Errorf("%d raised and %d cleared beside the events %+v", raised, cleared, told)
		}
		raised, cleared = 0, 0
		return told
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
	s.Told = nil // nobody asks
	h.assign(ben, 25)
	h.mem.Pass(21 * 24 * time.Hour)
	if err := domaintest.EveryFault(t, h.mem, hollow, func() error { return s.Watch(ctx, hollow) }); err != nil {
		t.Error(err)
	}
}
