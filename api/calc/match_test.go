package calc

import (
	"reflect"
	"strings"
	"testing"

	"fringework/domain"
)

// TestMatchCalculation: a code deals what it was made of, and what makes none is told.
func TestMatchCalculation(t *testing.T) {
	var made, read MatchOut
	ask(t, "match", match.Example, &made)
	ask(t, "match", `{"code":"b000 oo1r"}`, &read)
	if made.Code != "B000-001R" || made.MatchID != "58000000-2000-8000-8000-6d6174636873" || len(made.Cards) != 9 || made.CircleM != nil || !reflect.DeepEqual(made, read) {
		t.Errorf("made %+v, read %+v", made, read)
	}
	ask(t, "match", `{"kind":"lag_putt","cards":6,"seed":0}`, &made)
	if made.CircleM == nil || *made.CircleM != 1 {
		t.Errorf("one circle for all: %+v", made)
	}
	for in, want := range map[string]string{
		`{"code":"B000-001S"}`:                 "/code",
		`{"kind":"pitch","cards":9}`:           "/seed",
		`{"kind":"lob","cards":9,"seed":1}`:    "/kind",
		`{"kind":"pitch","cards":7,"seed":-1}`: "/seed /cards",
	} {
		_, err := Run(t.Context(), "match", []byte(in))
		var at []string
		for _, f := range domain.FieldsOf(err) {
			at = append(at, f.Pointer)
		}
		if got := strings.Join(at, " "); got != want {
			t.Errorf("%s: %s (%v), want %s", in, got, err, want)
		}
	}
}
