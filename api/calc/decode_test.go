package calc

import (
	"testing"

	"fringework/domain"
)

// TestNumbersAsTexts: a member that is named for metres says so.
func TestNumbersAsTexts(t *testing.T) {
	const metres, number = "must be a number of metres, without quotes and without a unit", "must be a number, without quotes and without a unit"
	for raw, want := range map[string]string{
		`{"radius_m":"10 yd"}`:        metres,
		`{"distances_m":[3,"10 yd"]}`: metres,
		`{"minutes":"an hour"}`:       number,
		`{"minutes":1e999}`:           "must be a number, no larger than 1e308",
		`{"minutes":"7.5"}`:           number,
		`{"minutes":[7]}`:             "must be a number, no larger than 1e308",
		`{"radius_m":true}`:           "must be a number of metres, at most 1000",
		`{"balls":"7"}`:               "must be a whole number, without quotes",
		`{"balls":7.5}`:               "must be a whole number, written without a point or an exponent",
		`{"radiusm":7}`:               "is not a field here; did you mean radius_m?",
		`{"weight":7}`:                "is not a field here; remove it or check its spelling",
	} {
		var in struct {
			RadiusM    *float64  `json:"radius_m"`
			DistancesM []float64 `json:"distances_m"`
			Minutes    float64   `json:"minutes"`
			Balls      *int      `json:"balls"`
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
