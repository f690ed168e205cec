package api

import (
	"context"
	"errors"
	"testing"

	"fringework/domain"
)

func wantRefusal(t *testing.T, what string, err error, kind domain.Kind, code string) {
	t.Helper()
	e, ok := errors.AsType[*domain.Error](err)
	if !ok || e.Kind != kind || e.Code != code || e.RetryAfter < 1 {
		t.Errorf("%s: got %v, want kind %d, code %s and when to ask again", what, err, kind, code)
	}
}

func TestSlots(t *testing.T) {
	s := slots{each: 2, all: 3, what: "streams"}
	take := func(asker domain.ID) func() {
		t.Helper()
		release, err := s.take(asker)
		if err != nil {
			t.Fatal(err)
		}
		return release
	}
	first := take("ann")
	take("ann")
	_, err := s.take("ann")
	wantRefusal(t, "a third", err, domain.TooMany, "too_many_at_once")
	ben := take("ben")
	_, err = s.take("cy")
	wantRefusal(t, "a fourth of all", err, domain.Unavailable, "busy")
	ben()
	ben() // gives back once
	take("cy")
	if _, err := s.take("dee"); err == nil {
		t.Error("what was given back twice counted twice")
	}
	first()
	take("ann")
}

// Calculations wait for a processor, but not for ever, nor once nobody waits for them.
func TestCalculationsWaitForAProcessor(t *testing.T) {
	w := newWork()
	var ends []func()
	for range cap(w.processors) {
		end, err := w.begin(t.Context(), domain.ID(rune('a'+len(ends))))
		if err != nil {
			t.Fatal(err)
		}
		ends = append(ends, end)
	}
	gone, leave := context.WithCancel(t.Context())
	leave()
	_, err := w.begin(gone, "late")
	wantRefusal(t, "with all at work", err, domain.Unavailable, "busy")
	ends[0]()
	end, err := w.begin(t.Context(), "late")
	if err != nil {
		t.Fatal(err)
	}
	end()
	if w.slots.total != cap(w.processors)-1 {
		t.Errorf("%d are under way, want %d", w.slots.total, cap(w.processors)-1)
	}
}
