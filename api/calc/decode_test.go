package calc

import (
	"testing"

	"fringework/domain"
)

// TestNumbersAsTexts: a member that is named for metres says so.
func TestNumbersAsTexts(t *testing.T) {
	const metres, number = "must be a number of metres, at most 1000, without a unit", "must be a number, without a unit and no larger than 1e308"
	for raw, want := range map[string]string{
		`{"radius_m":"10 yd"}`:        metres,
		`{"distances_m":[3,"10 yd"]}`: metres,
		`{"minutes":"an hour"}`:       number,
		`{"minutes":1e999}`:           number,
	} {
		var in struct {
			RadiusM    *float64  `json:"radius_m"`
			DistancesM []float64 `json:"distances_m"`
			Minutes    float64   `json:"minutes"`
		}
		var p domain.Problems
		if err := decode([]byte(raw), &in, &p); err != nil {
			t.Errorf("%s: %v", raw, err)
		}
		if f := p.Fields(); len(f) != 1 || f[0].Detail != want {
			t.Errorf("%s: got %v, want %q", raw, f, want)
		}
	}
}
