package api

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/labstack/echo/v4"

	"fringework/domain"
)

// TestEveryKindHasAStatus walks the closed set of failures; a new kind fails
// here until it is thought about.
func TestEveryKindHasAStatus(t *testing.T) {
	want := map[domain.Kind]int{
		domain.Internal: 500, domain.Invalid: 422, domain.Unauthenticated: 401, domain.Forbidden: 403,
		domain.NotFound: 404, domain.Conflict: 409, domain.Stale: 412, domain.TooMany: 429,
	}
	for _, k := range domain.Kinds() {
		status, known := want[k]
		if !known {
			t.Errorf("kind %d is mapped to %d, and this test knows nothing of it", k, statusOf(k))
		} else if got := statusOf(k); got != status {
			t.Errorf("kind %d is %d; want %d", k, got, status)
		}
		p := ProblemOf(fmt.Errorf("on the way: %w", domain.Errorf(k, "a_code", "A sentence.")))
		if p.Status != statusOf(k) || p.Title != http.StatusText(p.Status) || p.Type != "about:blank" {
			t.Errorf("kind %d makes %+v", k, p)
		}
		if k != domain.Internal && (p.Code != "a_code" || p.Detail != "A sentence.") {
			t.Errorf("kind %d makes %+v; want the code and the sentence", k, p)
		}
	}
}

func TestProblemHidesInternals(t *testing.T) {
	secret := errors.New("pq: relation accounts at 10.1.2.3")
	for name, err := range map[string]error{
		"plain":    secret,
		"wrapped":  fmt.Errorf("reading: %w", secret),
		"internal": domain.Errorf(domain.Internal, "store", "pq: relation accounts").Because(secret),
		"caused":   domain.Errorf(domain.Conflict, "taken", "It is taken.").Because(secret),
		"echo 500": echo.NewHTTPError(500, "pq: relation accounts"),
		"echo 404": echo.NewHTTPError(404, "pq: relation accounts"),
	} {
		t.Run(name, func(t *testing.T) {
			body, marshalErr := json.Marshal(ProblemOf(err))
			if marshalErr != nil {
				t.Fatal(marshalErr)
			}
			if strings.Contains(string(body), "pq:") || strings.Contains(string(body), "10.1.2.3") {
				t.Errorf("internal text is shown: %s", body)
			}
		})
	}
}

func TestProblemFields(t *testing.T) {
	err := &domain.Error{Kind: domain.Invalid, Code: "c", Fields: []domain.Field{
		{Pointer: "/weeks/0", Detail: "a"}, {Pointer: "limit", Detail: "b"}, {Pointer: "", Detail: "c"},
	}, Stored: &domain.Standing{Revision: 3}}
	p := ProblemOf(err)
	want := []ProblemField{{Pointer: "/weeks/0", Detail: "a"}, {Parameter: "limit", Detail: "b"}, {Detail: "c"}}
	for i := range want {
		if p.Errors[i] != want[i] {
			t.Errorf("field %d is %+v; want %+v", i, p.Errors[i], want[i])
		}
	}
	if p.Stored == nil || p.Stored.Revision != 3 {
		t.Errorf("stored %v; want what the error carries", p.Stored)
	}
}

func TestRenamed(t *testing.T) {
	var p domain.Problems
	p.Add("/coach", "a")
	p.Add("/role", "b")
	original := p.Err("c", "d")
	got := domain.FieldsOf(renamed(original, map[string]string{"/coach": "/coach_id"}))
	if got[0].Pointer != "/coach_id" || got[1].Pointer != "/role" {
		t.Errorf("fields %+v; want /coach_id and /role", got)
	}
	if first := domain.FieldsOf(original)[0].Pointer; first != "/coach" {
		t.Errorf("the original now points at %q; want it left alone", first)
	}
	if plain := errors.New("x"); !errors.Is(renamed(plain, nil), plain) {
		t.Error("another error was changed")
	}
}
