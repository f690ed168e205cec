package calc

import (
	"encoding/json"
	"math"
	"testing"
)

// Answers are rounded to what their unit carries, at any depth, and nothing else
// changes.
func TestTidy(t *testing.T) {
	type inner struct {
		LandingM []float64 `json:"landing_m"`
		hidden   float64
	}
	type answer struct {
		CarryM   float64  `json:"carry_m,omitempty"`
		SpinRPM  float64  `json:"spin_rpm"`
		Share    *float64 `json:"share"`
		None     *float64 `json:"none"`
		Balls    int      `json:"balls"`
		TotalM   [2]float64
		Inner    []inner
		Empty    []float64
		ByRadius byRadius[*float64]
		Any      any
	}
	share, at := 0.1+0.2, 1.0/3
	given := answer{
		CarryM: 9.000000000000002, SpinRPM: 2749.9996, Share: &share, Balls: 7, TotalM: [2]float64{1.0 / 3, 2},
		Inner: []inner{{[]float64{0.12345678, 1e-9}, 1.0 / 3}}, ByRadius: byRadius[*float64]{{1.5, &at}}, Any: 0.1 + 0.2,
	}
	got := tidy(given)
	if got.Inner[0].hidden != 1.0/3 || got.Empty != nil || got.None != nil {
		t.Errorf("got %+v", got)
	}
	text, err := json.Marshal(got)
	if want := `{"carry_m":9,"spin_rpm":2750,"share":0.3,"none":null,"balls":7,"TotalM":[0.333333333333,2],"Inner":[{"landing_m":[0.123457,1e-9]}],"Empty":null,"ByRadius":{"1.5":0.333333333333},"Any":0.3}`; err != nil || string(text) != want {
		t.Errorf("got %s\nwant %s (%v)", text, want, err)
	}
	if share != 0.1+0.2 || at != 1.0/3 || given.Inner[0].LandingM[0] != 0.12345678 {
		t.Error("what was given is changed")
	}
	if x := round(1e308, 6); x != 1e308 {
		t.Errorf("1e308 becomes %v", x)
	}
	if x := round(-0.0000005, 6); x != -0.000001 {
		t.Errorf("half of the last place becomes %v", x)
	}
	if x := round(math.MaxFloat64, -1); math.IsInf(x, 0) {
		t.Errorf("the largest number becomes %v", x)
	}
}

// Every calculation's answer to its example is tidy: no number has more than twelve
// digits, and none of a length more than six decimals.
func TestAnswersAreTidy(t *testing.T) {
	for _, c := range All() {
		out, err := Run(c.Name, []byte(c.Example))
		if err != nil {
			t.Fatal(err)
		}
		text, err := json.Marshal(out)
		again, _ := json.Marshal(tidy(out))
		if err != nil || string(text) != string(again) {
			t.Errorf("%s: %s\ntidied %s (%v)", c.Name, text, again, err)
		}
	}
}
