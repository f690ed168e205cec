package estimate

import (
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mathext"
)

// group is a part of testdata/statistics.json: published statistics, or such
// as were computed outside this project; each group names its source.
type group struct {
	ID     string `json:"id"`
	Source string `json:"source"`
	Cases  []struct {
		ID        string          `json:"id"`
		Kind      string          `json:"kind"`
		Inputs    json.RawMessage `json:"inputs"`
		Expected  json.RawMessage `json:"expected"`
		Tolerance struct{ Abs, Rel float64 }
	} `json:"cases"`
}

func reference(t *testing.T, id string) group {
	t.Helper()
	raw, err := os.ReadFile("testdata/statistics.json")
	if err != nil {
		t.Fatal(err)
	}
	var groups []group
	if err := json.Unmarshal(raw, &groups); err != nil {
		t.Fatal(err)
	}
	for _, g := range groups {
		if strings.HasSuffix(g.ID, id) {
			return g
		}
	}
	t.Fatalf("no group %q", id)
	return group{}
}

func read(t *testing.T, raw json.RawMessage, v any) {
	t.Helper()
	if err := json.Unmarshal(raw, v); err != nil {
		t.Fatalf("%s: %v", raw, err)
	}
}

// TestReferenceIntervals: Brown, Cai & DasGupta (2001), Statistical Science
// 16:101-133; Newcombe (1998), Statistics in Medicine 17:857-872; the numbers
// by scipy 1.10.1.
func TestReferenceIntervals(t *testing.T) {
	asked := 0
	for _, c := range reference(t, "binomial-intervals").Cases {
		near := func(what string, got, want float64) {
			t.Helper()
			asked++
			if !(math.Abs(got-want) <= c.Tolerance.Abs+c.Tolerance.Rel*math.Abs(want)) {
				t.Errorf("%s %s = %.15g, want %.15g", c.ID, what, got, want)
			}
		}
		var in struct {
			X, N                  int
			Level, Q, Alpha, Beta float64
			Threshold             float64
		}
		read(t, c.Inputs, &in)
		switch c.Kind {
		case "interval":
			var want struct {
				Jeffreys, Uniform []float64
				JeffreysMean      float64 `json:"jeffreys_mean"`
				UniformMean       float64 `json:"uniform_mean"`
			}
			read(t, c.Expected, &want)
			session := []Observation{{Balls: in.N, Inside: in.X}}
			for prior, w := range map[Prior]struct {
				interval []float64
				mean     float64
			}{{}: {want.Jeffreys, want.JeffreysMean}, {1, 1}: {want.Uniform, want.UniformMean}} {
				r := RateOf(session, 0, prior)
				near("mean", r.Mean, w.mean)
				tail := (1 - in.Level) / 2
				near("lower", betaQuantile(tail, r.A, r.B), w.interval[0])
				near("upper", betaQuantile(1-tail, r.A, r.B), w.interval[1])
				switch in.Level {
				case 0.95:
					near("lower 95 %", r.Interval95.Lo, w.interval[0])
					near("upper 95 %", r.Interval95.Hi, w.interval[1])
				case 0.8:
					near("lower 80 %", r.Interval80.Lo, w.interval[0])
					near("upper 80 %", r.Interval80.Hi, w.interval[1])
				}
			}
		case "beta_quantile":
			var want float64
			read(t, c.Expected, &want)
			near("quantile", betaQuantile(in.Q, in.Alpha, in.Beta), want)
		case "posterior_P(rate>threshold)":
			var want float64
			read(t, c.Expected, &want)
			near("tail", 1-mathext.RegIncBeta(in.Alpha, in.Beta, in.Threshold), want)
		}
	}
	if asked < 60 {
		t.Errorf("asked %d questions, want at least 60", asked)
	}
}
