package strict

import (
	"errors"
	"testing"

	json "github.com/go-json-experiment/json"
)

// Distances between words as textbooks give them.
func TestApart(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{{"kitten", "sitting", 3}, {"", "abc", 3}, {"abc", "", 3}, {"flaw", "lawn", 2}, {"same", "same", 0}, {"saturday", "sunday", 3}} {
		if got := apart(c.a, c.b); got != c.want {
			t.Errorf("%s and %s: %d, want %d", c.a, c.b, got, c.want)
		}
	}
}

// The field that was probably meant is named, and none where it could be another.
func TestUnknown(t *testing.T) {
	type green struct {
		StimpFt float64 `json:"stimp_ft,omitempty"`
	}
	type shot struct {
		green
		ToHoleM float64 `json:"to_hole_m"`
		Lie     *green  `json:"lie"`
		Hidden  string  `json:"-"`
		lost    string  //nolint:unused // a field that JSON does not see
	}
	const none = "is not a field here; remove it or check its spelling"
	for raw, want := range map[string]string{
		`{"toHoleM":1}`:           "is not a field here; did you mean to_hole_m?",
		`{"to_green_m":1}`:        none,
		`{"stimp":1}`:             "is not a field here; did you mean stimp_ft?",
		`{"stim":1}`:              none,
		`{"stimp_f":1}`:           "is not a field here; did you mean stimp_ft?",
		`{"Lie":{}}`:              "is not a field here; did you mean lie?",
		`{"lye":{}}`:              "is not a field here; did you mean lie?",
		`{"lay":{}}`:              none,
		`{"lie":{"stmip_ft":1}}`:  "is not a field here; did you mean stimp_ft?",
		`{"Hidden":"a"}`:          none,
		`{"lost":"a"}`:            none,
		`{"lie":{"to_hole_m":1}}`: none,
	} {
		var in shot
		faults, _ := Unmarshal([]byte(raw), &in)
		if len(faults) != 1 {
			t.Fatalf("%s: %v", raw, faults)
		}
		fault, ok := errors.AsType[*json.SemanticError](faults[0])
		if !ok || Unknown(fault) != want {
			t.Errorf("%s: %v, want %q", raw, Unknown(fault), want)
		}
	}
}
