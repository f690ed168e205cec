package api

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/practice"
)

// By hand: of 2400 a day one comes back every 36 s.
func TestStoredBallsAreBounded(t *testing.T) {
	m := meter{aDay: 2400}
	now := time.Date(2026, 5, 4, 8, 0, 0, 0, time.UTC)
	for range 2 {
		if wait := m.take("ann", 1200, now); wait != 0 {
			t.Fatalf("half a day's balls: wait %v", wait)
		}
	}
	if wait := m.take("ann", 100, now); wait != time.Hour {
		t.Errorf("100 more: wait %v, want an hour", wait)
	}
	if wait := m.take("ben", 2400, now); wait != 0 {
		t.Errorf("another student: wait %v", wait)
	}
	if wait := m.take("ann", 100, now.Add(time.Hour)); wait != 0 {
		t.Errorf("after the wait that was told: wait %v", wait)
	}
	if wait := m.take("ann", 100, now.Add(-48*time.Hour)); wait != time.Hour {
		t.Errorf("with a clock that was ahead: wait %v, want an hour", wait)
	}
	for i := range meteredAtMost {
		m.take(fmt.Sprint(i), 1, now)
	}
	if m.take("cy", 1, now.Add(72*time.Hour)); len(m.spent) != 1 {
		t.Errorf("%d students are remembered, want the one who sent something", len(m.spent))
	}
	s := Server{Config: Config{Now: func() time.Time { return now }}, balls: meter{aDay: 10}}
	session := practice.Session{Student: "dee", Blocks: []practice.Block{{Balls: make([]practice.Ball, 5)}, {Balls: make([]practice.Ball, 5)}}}
	c := contextOf("PUT", "/")
	if err := s.metered(c, session); err != nil {
		t.Fatal(err)
	}
	var e *domain.Error
	if err := s.metered(c, session); !errors.As(err, &e) || e.Kind != domain.TooMany || e.RetryAfter != 24*3600+1 {
		t.Errorf("got %v, want a wait of a day", err)
	}
}
