package learners

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"sync"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"fringework/domain/estimate"
	"fringework/domain/streak"
)

var reference = sync.OnceValues(Reference)

func all(t *testing.T) []Learner {
	t.Helper()
	ls, err := reference()
	if err != nil {
		t.Fatal(err)
	}
	return ls
}

// TestReferenceIsTheFile: the copy is the file that its source describes, by
// hash, and is read as it sums up there.
func TestReferenceIsTheFile(t *testing.T) {
	raw, err := os.ReadFile("../testdata/statistics.json")
	if err != nil {
		t.Fatal(err)
	}
	var groups []struct {
		ID    string
		Cases []struct{ Expected json.RawMessage }
	}
	if err := json.Unmarshal(raw, &groups); err != nil {
		t.Fatal(err)
	}
	var want struct {
		SHA256  string `json:"sha256"`
		Bytes   int
		PerKind map[Kind]struct {
			Students, Rows, Balls, Successes int
			Empty                            int     `json:"empty_sessions"`
			First                            float64 `json:"rate_sessions_1_10"`
			Last                             float64 `json:"rate_sessions_21_30"`
		} `json:"per_kind"`
	}
	for _, g := range groups {
		if g.ID == "14-learners" {
			if err := json.Unmarshal(g.Cases[0].Expected, &want); err != nil {
				t.Fatal(err)
			}
		}
	}
	z, err := gzip.NewReader(bytes.NewReader(sessionsFile))
	if err != nil {
		t.Fatal(err)
	}
	plain, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256(plain)
	if got := hex.EncodeToString(sum[:]); got != want.SHA256 || len(plain) != want.Bytes {
		t.Errorf("the file has hash %s and %d bytes, want %s and %d", got, len(plain), want.SHA256, want.Bytes)
	}
	for kind, w := range want.PerKind {
		g := w
		g.Students, g.Rows, g.Balls, g.Successes, g.Empty = 0, 0, 0, 0, 0
		var balls, inside [2]int
		for _, l := range all(t) {
			if l.Kind != kind {
				continue
			}
			g.Students++
			for i, s := range l.Sessions {
				g.Rows++
				g.Balls += s.Balls
				g.Successes += s.Inside
				if s.Balls == 0 {
					g.Empty++
				}
				if i < 10 || i >= 20 {
					balls[i/20] += s.Balls
					inside[i/20] += s.Inside
				}
			}
		}
		g.First, g.Last = float64(inside[0])/float64(balls[0]), float64(inside[1])/float64(balls[1])
		if math.Abs(g.First-w.First) > 1e-6 || math.Abs(g.Last-w.Last) > 1e-6 {
			t.Errorf("%s: rates %v and %v, want %v and %v", kind, g.First, g.Last, w.First, w.Last)
		}
		if g.First, g.Last = w.First, w.Last; g != w {
			t.Errorf("%s: %+v, want %+v", kind, g, w)
		}
	}
}

// TestStalls holds the rule to what it must reach on the reference learners:
// the targets of the project. The naive rule must be far worse, or the
// comparison means nothing, and nothing may beat the bound.
func TestStalls(t *testing.T) {
	t.Parallel()
	for name, tier := range map[string]*streak.Tier{"no tier": nil, "nine in twenty": {Run: 9}, "a tier out of reach": {Run: 15}} {
		o := Measure(all(t), Walk(tier, 20))
		t.Logf("%s: %v", name, o)
		for _, c := range []struct {
			what           string
			got, low, high float64
		}{
			{"improving, ever flat or slipping", o.False, 0, 5},
			{"flat, flagged", o.Flat, 95, 100},
			{"flat, median session", o.FlatMedian, 1, 15},
			{"regressing, flagged after the change", o.Regressing, 96, 100},
			{"regressing, median delay", o.RegressingDelay, 0, 7},
			{"regressing, flagged before", o.RegressingEarly, 0, 5},
			{"plateau, flagged after the change", o.Plateau, 50, 100},
			{"plateau, median delay", o.PlateauDelay, 0, 12},
			{"stopped practising, flagged", o.Lapsed, 95, 100},
			{"stopped practising, median delay", o.LapsedDelay, 0, 5},
			{"others ever lapsed", o.LapsedFalse, 0, 1},
		} {
			if c.got < c.low || c.got > c.high {
				t.Errorf("%s: %s = %.1f, want %v to %v", name, c.what, c.got, c.low, c.high)
			}
		}
	}
	if naive := Measure(all(t), Naive(1)); naive.False < 50 || naive.RegressingEarly < 50 {
		t.Errorf("the naive rule: %v, want it to cry wolf", naive)
	}
	bound := Bound(all(t), Like.Change, FormSD)
	t.Logf("bound: %v", bound)
	if bound.FlatMedian > 15 || bound.Plateau < 51 || bound.RegressingDelay > 7 {
		t.Errorf("bound %v is no bound", bound)
	}
}

// TestStallsElsewhere: learners drawn afresh, and learners of quite another
// population, on which nothing was chosen, fare about as well. The tolerances
// are two standard errors of 400 learners beyond the targets.
func TestStallsElsewhere(t *testing.T) {
	t.Parallel()
	for name, ls := range map[string][]Learner{"alike": Like.Draw(400, 30, 101), "unlike": Unlike.Draw(400, 30, 102)} {
		o := Measure(ls, Walk(nil, 0))
		t.Logf("%s: %v", name, o)
		if o.False > 8 || o.Flat < 93 || o.FlatMedian > 17 || o.RegressingAfter < 93 || o.RegressingDelay > 8 ||
			o.RegressingEarly > 7.5 || o.Plateau < 45 || o.PlateauDelay > 13 || o.Lapsed < 95 || o.LapsedFalse > 1 {
			t.Errorf("%s: %v", name, o)
		}
	}
}

// TestRatesAreCalibrated: over all learners and sessions, 80 % and 95 %
// intervals hold 78 to 82 % and 93.5 to 96.5 % of the true rates; no kind by
// itself strays far; other learners come within a point or two.
func TestRatesAreCalibrated(t *testing.T) {
	t.Parallel()
	coverage := RateCoverage(all(t))
	for k, c := range coverage {
		in80, in95 := c.Shares()
		t.Logf("%q: %.1f and %.1f %% of %d", k, in80, in95, c.N)
		low80, high80, low95, high95 := 78.0, 82.0, 93.5, 96.5
		if k != "" {
			low80, high80, low95, high95 = 74, 88, 91, 98
		}
		if in80 < low80 || in80 > high80 || in95 < low95 || in95 > high95 {
			t.Errorf("%q: intervals hold %.1f and %.1f %%, want %v to %v and %v to %v", k, in80, in95, low80, high80, low95, high95)
		}
	}
	in80, in95 := RateCoverage(Unlike.Draw(100, 30, 103))[""].Shares()
	if in80 < 76 || in80 > 84 || in95 < 92 || in95 > 97.5 {
		t.Errorf("unlike learners: intervals hold %.1f and %.1f %%", in80, in95)
	}
}

// TestForecastsAreCalibrated: each decile of the predicted probability of
// attaining the tier within 8 sessions comes true within 5 points, and the
// Brier score beats the naive forecast's and the overall share's.
func TestForecastsAreCalibrated(t *testing.T) {
	t.Parallel()
	trial := Usual
	trial.After = []int{5, 10, 15, 20, 25}
	c := ForecastCalibration(all(t), trial, 7)
	t.Logf("\n%v", c)
	for i, d := range c.Deciles {
		if d.N < 5000 {
			t.Errorf("decile %d holds only %.0f forecasts", i+1, d.N)
		}
		if math.Abs(d.Predicted-d.Happened) > 0.05 {
			t.Errorf("decile %d: predicted %.3f, happened %.3f", i+1, d.Predicted, d.Happened)
		}
	}
	if c.Brier > c.Naive-0.01 || c.Brier > c.Climate/2 {
		t.Errorf("Brier score %.4f, naive %.4f, overall share %.4f", c.Brier, c.Naive, c.Climate)
	}
}

// TestBestRun compares with all orders of a short session.
func TestBestRun(t *testing.T) {
	// Of the ten orders of three balls inside and two out, the longest run is
	// 3 in 3 of them, 2 in 6 and 1 in 1:
	// 11100 01110 00111; 11010 11001 10110 01101 01011 10011; 10101.
	r := rand.New(rand.NewPCG(1, 1))
	var n [4]float64
	const draws = 40_000
	for range draws {
		n[bestRun(estimate.Observation{Balls: 5, Inside: 3}, r)] += 10.0 / draws
	}
	for run, want := range []float64{0, 1, 6, 3} {
		if math.Abs(n[run]-want) > 0.15 {
			t.Errorf("a longest run of %d in %.2f of 10 orders, want %v", run, n[run], want)
		}
	}
}

// TestNormals: the likelihood of a session, by quadrature, against a
// simulation of the form.
func TestNormals(t *testing.T) {
	t.Parallel()
	n := newNormals(0.3)
	r := rand.New(rand.NewPCG(2, 2))
	for _, c := range []struct {
		balls, inside int
		level         float64
	}{{30, 15, 0}, {30, 28, 1.5}, {20, 0, -2}} {
		sum := 0.0
		const draws = 200_000
		for range draws {
			b := distuv.Binomial{N: float64(c.balls), P: logistic(c.level + 0.3*r.NormFloat64())}
			sum += b.Prob(float64(c.inside)) / draws
		}
		got := n.log(estimate.Observation{Balls: c.balls, Inside: c.inside}, c.level) + math.Log(choose(c.balls, c.inside))
		if math.Abs(got-math.Log(sum)) > 0.01 {
			t.Errorf("%d of %d at %v: log-likelihood %.4f, by simulation %.4f", c.inside, c.balls, c.level, got, math.Log(sum))
		}
	}
}

func choose(n, k int) float64 {
	x := 1.0
	for i := range k {
		x *= float64(n-i) / float64(i+1)
	}
	return x
}

// TestDrawIsDeterministic: a seed is a population.
func TestDrawIsDeterministic(t *testing.T) {
	a, b := Like.Draw(3, 5, 9), Like.Draw(3, 5, 9)
	for i := range a {
		if a[i].P0 != b[i].P0 || a[i].Sessions[4] != b[i].Sessions[4] {
			t.Fatalf("learner %d differs: %+v and %+v", i, a[i], b[i])
		}
	}
}
