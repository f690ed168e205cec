package domain_test

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"testing"

	"fringework/domain"
)

func TestKinds(t *testing.T) {
	got := domain.Kinds()
	want := []domain.Kind{domain.Internal, domain.Invalid, domain.Unauthenticated, domain.Forbidden,
		domain.NotFound, domain.Conflict, domain.Stale, domain.TooMany}
	if !slices.Equal(got, want) {
		t.Errorf("Kinds() = %v, want %v", got, want)
	}
}

func TestKindOf(t *testing.T) {
	stale := domain.Errorf(domain.Stale, "stale", "read it again")
	for _, c := range []struct {
		err  error
		want domain.Kind
	}{
		{io.ErrUnexpectedEOF, domain.Internal},
		{stale, domain.Stale},
		{fmt.Errorf("saving: %w", stale), domain.Stale},
		{domain.ErrNotFound("session"), domain.NotFound},
	} {
		if got := domain.KindOf(c.err); got != c.want {
			t.Errorf("KindOf(%v) = %v, want %v", c.err, got, c.want)
		}
	}
}

// TestErrorText keeps the cause for the log and out of what a person reads.
func TestErrorText(t *testing.T) {
	plain := domain.Errorf(domain.Conflict, "last_owner", "An academy needs %s.", "an owner")
	because := plain.Because(io.ErrUnexpectedEOF)
	if plain.Error() != "last_owner: An academy needs an owner." || errors.Is(plain, io.ErrUnexpectedEOF) {
		t.Errorf("Because changed the error it was called on: %v", plain)
	}
	if !errors.Is(because, io.ErrUnexpectedEOF) || because.Detail != plain.Detail {
		t.Errorf("got %v with detail %q, want the cause in the chain and not in the detail", because, because.Detail)
	}
	if got, want := because.Error(), "last_owner: An academy needs an owner.: unexpected EOF"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got, want := domain.ErrNotFound("session").Error(), "not_found: There is no such session, or you may not see it."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got, want := domain.ErrNotFound("student").Detail, "There is no such student, or you may not see them."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got, want := (&domain.Error{Code: "x"}).Error(), "x"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestProblems(t *testing.T) {
	var p domain.Problems
	if err := p.Err("x", "y"); err != nil {
		t.Errorf("no problems gave %v, want nil", err)
	}
	p.Add("/weeks/0", "has %d plans", 3)
	p.Add("limit", "is missing")
	p.AddAt("/weeks/1", "week 2", "has no %s", "skill")
	err := fmt.Errorf("checking: %w", p.Err("programme_invalid", "It cannot be kept."))
	want := []domain.Field{{Pointer: "/weeks/0", Detail: "has 3 plans"}, {Pointer: "limit", Detail: "is missing"}, {Pointer: "/weeks/1", Place: "week 2", Detail: "week 2: has no skill"}}
	if got := domain.FieldsOf(err); !slices.Equal(got, want) || !slices.Equal(p.Fields(), want) {
		t.Errorf("FieldsOf gives %v, want %v", got, want)
	}
	if domain.KindOf(err) != domain.Invalid {
		t.Errorf("kind %v, want Invalid", domain.KindOf(err))
	}
	if got, want := err.Error(), "checking: programme_invalid: It cannot be kept. [/weeks/0: has 3 plans] [limit: is missing] [/weeks/1: week 2: has no skill]"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got := domain.FieldsOf(io.EOF); got != nil {
		t.Errorf("FieldsOf(EOF) = %v, want none", got)
	}
}

// TestPointerToken holds the escapes of RFC 6901, sections 3 to 5.
func TestPointerToken(t *testing.T) {
	for token, want := range map[string]string{"a/b": "a~1b", "m~n": "m~0n", "~1": "~01", "": "", "k\"l": "k\"l"} {
		if got := domain.PointerToken(token); got != want {
			t.Errorf("PointerToken(%q) = %q, want %q", token, got, want)
		}
	}
}
