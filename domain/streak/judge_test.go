package streak

import (
	"encoding/json"
	"os"
	"testing"

	"fringework/domain"
)

// jsonBall is a ball as testdata/cases.json writes it.
type jsonBall struct {
	Outcome string   `json:"outcome"`
	RadiusM float64  `json:"radius_m"`
	LeaveM  *float64 `json:"leave_m"`
	Times   int      `json:"times"`
}

func length(t testing.TB, m float64) domain.Length {
	t.Helper()
	l, ok := domain.Metres(m)
	if !ok {
		t.Fatalf("%v m is no length", m)
	}
	return l
}

func (j jsonBall) ball(t testing.TB) Ball {
	t.Helper()
	b := Ball{Radius: length(t, j.RadiusM)}
	switch j.Outcome {
	case "out":
		b.Outcome = Out
	case "in":
		b.Outcome = In
	case "holed":
		b.Outcome = Holed
	default:
		t.Fatalf("unknown outcome %q", j.Outcome)
	}
	if j.LeaveM != nil {
		b.Leave, b.Measured = length(t, *j.LeaveM), true
	}
	return b
}

type jsonRun struct {
	Length int `json:"length"`
	Holed  int `json:"holed"`
}

type jsonResult struct {
	Best       jsonRun `json:"best"`
	Current    jsonRun `json:"current"`
	PassedAt   *int    `json:"passed_at"`
	Inside     int     `json:"inside"`
	Judged     int     `json:"judged"`
	Unmeasured int     `json:"unmeasured"`
	Near       struct {
		Runs   int `json:"runs"`
		Length int `json:"length"`
		Times  int `json:"times"`
		Holed  int `json:"holed"`
	} `json:"near"`
}

func (j jsonResult) result(tier Tier) Result {
	r := Result{
		Tier: tier, Best: Run(j.Best), Current: Run(j.Current),
		Inside: j.Inside, Judged: j.Judged, Unmeasured: j.Unmeasured, Near: Near(j.Near),
	}
	if j.PassedAt != nil {
		r.PassedAt = *j.PassedAt
	}
	return r
}

type caseFile struct {
	Runs []struct {
		Name string
		Tier struct {
			Run     int     `json:"run"`
			RadiusM float64 `json:"radius_m"`
			Holed   int     `json:"holed"`
		}
		Blocks [][]jsonBall
		Want   []jsonResult
	}
	Balls []struct {
		Name string
		Ball jsonBall
		At   *string
	}
	Kinds []struct {
		Kind      string
		TestOnly  bool `json:"test_only"`
		Technique bool `json:"technique_counts"`
		Counts    bool
	}
}

func readCases(t *testing.T) caseFile {
	t.Helper()
	raw, err := os.ReadFile("testdata/cases.json")
	if err != nil {
		t.Fatal(err)
	}
	var f caseFile
	if err := json.Unmarshal(raw, &f); err != nil {
		t.Fatal(err)
	}
	if len(f.Runs) == 0 || len(f.Balls) == 0 || len(f.Kinds) == 0 {
		t.Fatal("the case file is empty")
	}
	return f
}

func TestCasesRuns(t *testing.T) {
	for _, c := range readCases(t).Runs {
		t.Run(c.Name, func(t *testing.T) {
			tier := Tier{Run: c.Tier.Run, Radius: length(t, c.Tier.RadiusM), Holed: c.Tier.Holed}
			if len(c.Want) != len(c.Blocks) {
				t.Fatalf("%d results for %d blocks", len(c.Want), len(c.Blocks))
			}
			for i, block := range c.Blocks {
				var balls []Ball
				for _, j := range block {
					for range max(1, j.Times) {
						balls = append(balls, j.ball(t))
					}
				}
				if got, want := Read(balls, tier), c.Want[i].result(tier); got != want {
					t.Errorf("block %d:\n got %+v\nwant %+v", i+1, got, want)
				}
			}
		})
	}
}

func TestCasesBalls(t *testing.T) {
	for _, c := range readCases(t).Balls {
		t.Run(c.Name, func(t *testing.T) {
			var p domain.Problems
			c.Ball.ball(t).Check(&p, "/b")
			switch got := p.Fields(); {
			case c.At == nil && len(got) != 0:
				t.Errorf("refused with %v, want accepted", got)
			case c.At != nil && (len(got) != 1 || got[0].Pointer != "/b"+*c.At || got[0].Detail == ""):
				t.Errorf("got %v, want one problem at /b%s", got, *c.At)
			}
		})
	}
}

func TestCasesKinds(t *testing.T) {
	for _, c := range readCases(t).Kinds {
		if got := (Ladder{TestOnly: c.TestOnly, Technique: c.Technique}).CountsIn(c.Kind); got != c.Counts {
			t.Errorf("a %s block, test-only %v, technique %v: got %v, want %v", c.Kind, c.TestOnly, c.Technique, got, c.Counts)
		}
	}
	if OneSpot("") || OneSpot("Test") {
		t.Error("an unknown kind counts as one spot")
	}
}

func TestBallCheckRefusesUnknown(t *testing.T) {
	for _, c := range []struct {
		ball Ball
		at   string
	}{
		{Ball{Outcome: 3, Radius: domain.Foot}, "/outcome"},
		{Ball{Outcome: Holed, Radius: 31 * domain.Metre}, "/radius_m"},
		{Ball{Outcome: Out, Radius: domain.Foot, Measured: true, Leave: domain.MaxLength + 1}, "/leave_m"},
	} {
		var p domain.Problems
		c.ball.Check(&p, "")
		if got := p.Fields(); len(got) != 1 || got[0].Pointer != c.at {
			t.Errorf("%+v: got %v, want one problem at %s", c.ball, got, c.at)
		}
	}
}

func TestVerdictWords(t *testing.T) {
	for v, want := range map[Verdict]string{CountsOut: "out", CountsIn: "in", CountsHoled: "holed", Unmeasured: "unmeasured"} {
		if got := v.String(); got != want {
			t.Errorf("verdict %d: got %q, want %q", v, got, want)
		}
	}
}

func TestOutcomeWords(t *testing.T) {
	for o, want := range map[Outcome]string{Out: "out", In: "in", Holed: "holed"} {
		if got := o.String(); got != want {
			t.Errorf("outcome %d: got %q, want %q", o, got, want)
		}
	}
}

func TestReadingBeforeTheEnd(t *testing.T) {
	c := NewCounter(Tier{Run: 9, Radius: domain.Foot})
	for range 7 {
		c.Add(Ball{Outcome: In, Radius: domain.Foot})
	}
	if got := c.r.Near; got != (Near{}) {
		t.Errorf("while the run of seven goes on, near is %+v, want none", got)
	}
	if got := c.Ended().Near; got != (Near{Runs: 1, Length: 7, Times: 1}) {
		t.Errorf("when the block ends at seven, near is %+v, want one of 7", got)
	}
}
