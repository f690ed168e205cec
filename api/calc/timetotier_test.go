package calc

import (
	"strings"
	"testing"
)

// TestTimeToTierExample: of six with the first version four passed, of whom the
// third and fourth at 16 of five left; by hand 5/6, then 5/6·3/5 = 1/2, then 1/4.
func TestTimeToTierExample(t *testing.T) {
	var out TimeToTierOut
	ask(t, "time-to-tier", timeToTier.Example, &out)
	if len(out.Groups) != 2 || out.LogRank == nil {
		t.Fatalf("%+v", out)
	}
	first := out.Groups[0]
	if first.Name != "version 1" || first.Students != 6 || first.Passed != 4 || len(first.Steps) != 5 {
		t.Errorf("%+v", first)
	}
	near(t, "median", first.Median, 16, 0)
	for i, share := range []float64{5.0 / 6, 0.5, 0.5, 0.25, 0.25} {
		near(t, "share waiting", &first.Steps[i].Waiting, share, 1e-12)
	}
	if s := first.Steps[1]; s.AtRisk != 5 || s.Passed != 2 || s.Left != 0 || s.SE == nil || !(*s.Interval95[0] < 0.5 && 0.5 < *s.Interval95[1]) {
		t.Errorf("%+v", s)
	}
	// All of the second version who were followed that far have passed by 19.
	last := out.Groups[1].Steps[3]
	if last.Time != 19 || last.Waiting != 0 || last.SE != nil || last.Interval95[0] != nil || last.Interval95[1] != nil {
		t.Errorf("%+v, want a share of 0 with no interval", last)
	}
	if l := out.LogRank; l.CannotTell != nil || *l.DF != 1 || *l.ChiSquare <= 0 || !(0 < *l.P && *l.P < 1) || l.Passed[0] != 4 || l.Passed[1] != 4 {
		t.Errorf("%+v", l)
	}
}

func TestTimeToTierCannotTell(t *testing.T) {
	var out TimeToTierOut
	ask(t, "time-to-tier", `{"groups":[{"students":[{"time":4,"passed":false}]}]}`, &out)
	if g := out.Groups[0]; out.LogRank != nil || g.Median != nil || g.MedianInterval95[0] != nil || len(g.Steps) != 1 || g.Steps[0].Waiting != 1 || g.Steps[0].Interval95[0] != nil {
		t.Errorf("nobody passed: %+v", out)
	}
	ask(t, "time-to-tier", `{"groups":[{"students":[{"time":4,"passed":false}]},{"students":[{"time":5,"passed":true}]}]}`, &out)
	if l := out.LogRank; *l.CannotTell != "nothing_to_compare" || l.ChiSquare != nil || l.DF != nil || l.P != nil {
		t.Errorf("never both at risk: %+v", l)
	}
}

func TestTimeToTierRefusals(t *testing.T) {
	const student = `{"time":1,"passed":true},`
	checkRefusals(t, []refusal{
		{"time-to-tier", `{}`, "/groups"},
		{"time-to-tier", `{"groups":[]}`, "/groups"},
		{"time-to-tier", `{"groups":[{}]}`, "/groups/0/students"},
		{"time-to-tier", `{"groups":[{"students":[]}]}`, "/groups/0/students"},
		{"time-to-tier", `{"groups":[{"students":[{}]}]}`, "/groups/0/students/0/time /groups/0/students/0/passed"},
		{"time-to-tier", `{"groups":[{"students":[` + student + `{"time":-1,"passed":false}]}]}`, "/groups/0/students/1/time"},
		{"time-to-tier", `{"groups":[{"name":3,"students":[]}]}`, "/groups/0/name /groups/0/students"},
		{"time-to-tier", `{"groups":[{"name":"a","students":[{"time":1,"passed":true}]},{"students":[{"time":-1}]},{"name":"a","students":[]},{"students":[{"passed":true,"time":1}]}]}`, "/groups/1/students/0/passed /groups/2/name /groups/1/students/0/time /groups/2/students"},
		{"time-to-tier", `{"groups":[` + strings.Repeat(`{"students":[]},`, 50) + `{"students":[]}]}`, "/groups"},
		{"time-to-tier", `{"groups":[{"students":[` + strings.Repeat(student, 20_000) + `{"time":1,"passed":true}]}]}`, "/groups"},
	})
}
