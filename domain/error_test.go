package domain_test

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"fringework/domain"
)

func TestKinds(t *testing.T) {
	got := domain.Kinds()
	want := []domain.Kind{domain.Internal, domain.Invalid, domain.Unauthenticated, domain.Forbidden,
		domain.NotFound, domain.Conflict, domain.Stale, domain.TooMany, domain.Gone, domain.Unavailable}
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

// TestProblemsNumbers writes numbers without an exponent where a person would.
func TestProblemsNumbers(t *testing.T) {
	for _, c := range []struct {
		x    float64
		want string
	}{{1e6, "1000000"}, {-1e-7, "-0.0000001"}, {0.1, "0.1"}, {3, "3"}, {999999999999999, "999999999999999"}, {1e15, "1e+15"}, {-1e300, "-1e+300"}} {
		var p domain.Problems
		p.Add("", "%v", c.x)
		if got := p.Fields()[0].Detail; got != c.want {
			t.Errorf("%g is written %q, want %q", c.x, got, c.want)
		}
	}
	var p domain.Problems
	p.Add("", "%.2f and %[2]v of %[1]v", 1234567.891, 8)
	if got, want := p.Fields()[0].Detail, "1234567.89 and 8 of 1234567.891"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// TestProblemsBeside tells of nothing at or within what is told of already.
func TestProblemsBeside(t *testing.T) {
	var p domain.Problems
	p.Add("/a", "could not be read")
	p.Add("/c/1/d", "could not be read")
	p.Beside([]domain.Field{{Pointer: "/a", Detail: "x"}, {Pointer: "/a/0", Detail: "x"}, {Pointer: "/a/0/b", Detail: "x"}, {Pointer: "/ab", Detail: "first"}, {Pointer: "/ab", Detail: "second"}, {Pointer: "/ab/1", Detail: "third"}, {Pointer: "", Detail: "x"}, {Pointer: "/c/1", Detail: "x"}, {Pointer: "/c/1/e", Detail: "fourth"}, {Pointer: "/c", Detail: "fifth"}})
	want := []domain.Field{{Pointer: "/a", Detail: "could not be read"}, {Pointer: "/c/1/d", Detail: "could not be read"}, {Pointer: "/ab", Detail: "first"}, {Pointer: "/ab/1", Detail: "third"}, {Pointer: "/c/1/e", Detail: "fourth"}, {Pointer: "/c", Detail: "fifth"}}
	if !slices.Equal(p.Fields(), want) {
		t.Errorf("got %v, want %v", p.Fields(), want)
	}
	var all domain.Problems
	all.Add("", "could not be read")
	if all.Beside(want); len(all.Fields()) != 1 {
		t.Errorf("beside the whole: %v", all.Fields())
	}
	var none domain.Problems
	if none.Beside(want); !slices.Equal(none.Fields(), want) {
		t.Errorf("beside nothing: %v", none.Fields())
	}
}

func TestProblemsEntries(t *testing.T) {
	var p domain.Problems
	for _, n := range []int{0, 1, 5, 6} {
		p.Entries("/items", "people", n, 5)
	}
	want := []domain.Field{{Pointer: "/items", Detail: "is missing or empty; give 1 to 5 people"}, {Pointer: "/items", Detail: "has 6 people; give at most 5"}}
	if !slices.Equal(p.Fields(), want) {
		t.Errorf("got %v, want %v", p.Fields(), want)
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

// What somebody sent is repeated so that they see which it was, and no further.
func TestMessagesRepeatLittle(t *testing.T) {
	type word string
	long := strings.Repeat("ü", 1<<20)
	var p domain.Problems
	p.Add("/name", "%q is no name", long)
	p.Add("/word", "%s of %d", word(long), 7)
	p.AddAt("/plan", "plan 1", "%q", long)
	e := domain.Errorf(domain.Invalid, "code", "%s", long)
	for _, text := range []string{p.Fields()[0].Detail, p.Fields()[1].Detail, p.Fields()[2].Detail, e.Detail} {
		if len(text) > 1000 || !strings.Contains(text, "üüü") || !strings.Contains(text, "…") || !utf8.ValidString(text) {
			t.Errorf("a message of %d bytes: %.60s", len(text), text)
		}
	}
	if short := strings.Repeat("ü", 400); domain.Cut(short) != short {
		t.Error("400 characters are cut")
	}
}

func TestFailed(t *testing.T) {
	for _, k := range domain.Kinds() {
		want := k == domain.Internal || k == domain.Unavailable
		if got := domain.Failed(domain.Errorf(k, "c", "d")); got != want {
			t.Errorf("kind %d: failed is %v", k, got)
		}
	}
	if domain.Failed(nil) || !domain.Failed(io.EOF) {
		t.Error("no error is no failure, and any other is one")
	}
}
