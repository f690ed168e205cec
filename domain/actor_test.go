package domain_test

import (
	"errors"
	"reflect"
	"testing"
	"time"

	"fringework/domain"
)

func TestActorSees(t *testing.T) {
	for _, c := range []struct {
		who           string
		a             domain.Actor
		software, all bool
	}{
		{"an owner", domain.Actor{Member: "m", Role: domain.Owner}, false, true},
		{"a coach", domain.Actor{Member: "m", Role: domain.Coach}, false, false},
		{"a student", domain.Actor{Member: "m", Role: domain.Student}, false, false},
		{"a guardian", domain.Actor{Member: "m", Role: domain.Guardian}, false, false},
		{"a key", domain.Actor{Key: "k"}, true, true},
		{"nobody", domain.Actor{}, false, false},
	} {
		if got := c.a.Software(); got != c.software {
			t.Errorf("%s is software: got %v, want %v", c.who, got, c.software)
		}
		if got := c.a.SeesAll(); got != c.all {
			t.Errorf("%s sees all: got %v, want %v", c.who, got, c.all)
		}
	}
}

func TestActorEvent(t *testing.T) {
	at := time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC)
	data := map[string]any{"revision": 2}
	want := domain.Event{At: at, Actor: "m", Kind: "session.stored", Subject: "s", Student: "st", Data: data}
	got := domain.Actor{Member: "m", Role: domain.Coach}.Event(at, "session.stored", "s", "st", data)
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got %+v, want %+v", got, want)
	}
	want.Actor = "k"
	if got := (domain.Actor{Key: "k"}).Event(at, "session.stored", "s", "st", data); !reflect.DeepEqual(got, want) {
		t.Errorf("a key's event: got %+v, want %+v", got, want)
	}
}

func TestCheckRevision(t *testing.T) {
	for _, wanted := range []int{0, 3} {
		if err := domain.CheckRevision("skill", wanted, 3); err != nil {
			t.Errorf("revision %d of 3: %v", wanted, err)
		}
	}
	for _, wanted := range []int{-1, 2, 4} {
		err := domain.CheckRevision("skill", wanted, 3)
		var e *domain.Error
		if domain.KindOf(err) != domain.Stale || !errors.As(err, &e) || e.Stored.Revision != 3 {
			t.Errorf("revision %d of 3: got %v, want a Stale error that tells of revision 3", wanted, err)
		}
	}
}
