package streak

import (
	"encoding/json"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// testdata/odds_reference.json names a source for each of its groups: NIST
// SP 800-22 rev. 1a, Feller vol. 1 XIII.7, and exact Markov chains.

type tolerance struct{ Abs, Rel float64 }

func (tol tolerance) holds(got, want float64) bool {
	return math.Abs(got-want) <= tol.Abs+tol.Rel*math.Abs(want)
}

// number is a float64 that may be written "Infinity".
type number float64

func (n *number) UnmarshalJSON(raw []byte) error {
	if string(raw) == `"Infinity"` {
		*n = number(math.Inf(1))
		return nil
	}
	return json.Unmarshal(raw, (*float64)(n))
}

type referenceCase struct {
	ID        string
	Kind      string
	Tolerance tolerance
	Inputs    json.RawMessage
	Expected  json.RawMessage
	Published json.RawMessage
	// PublishedTolerance says how closely the printed values are held.
	PublishedTolerance float64  `json:"published_tolerance"`
	Disagree           []string `json:"published_classes_that_disagree_with_exact"`
}

func (c referenceCase) read(t *testing.T, inputs, expected any) {
	t.Helper()
	if err := json.Unmarshal(c.Inputs, inputs); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(c.Expected, expected); err != nil {
		t.Fatal(err)
	}
}

func (c referenceCase) near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if !c.Tolerance.holds(got, want) {
		t.Errorf("%s = %.17g, want %.17g", what, got, want)
	}
}

// eachReference runs the cases of the group whose id begins with a prefix.
func eachReference(t *testing.T, prefix string, run func(*testing.T, referenceCase)) {
	t.Helper()
	raw, err := os.ReadFile("testdata/odds_reference.json")
	if err != nil {
		t.Fatal(err)
	}
	var groups []struct {
		ID    string
		Cases []referenceCase
	}
	if err := json.Unmarshal(raw, &groups); err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(groups, func(g struct {
		ID    string
		Cases []referenceCase
	}) bool {
		return strings.HasPrefix(g.ID, prefix)
	})
	if i < 0 || len(groups[i].Cases) == 0 {
		t.Fatalf("no cases for %s", prefix)
	}
	for _, c := range groups[i].Cases {
		t.Run(c.ID, func(t *testing.T) { run(t, c) })
	}
}

// atLeast is the probability that the longest run of N balls has n or more.
func atLeast(n, balls int, p float64) float64 {
	return Within(Tier{Run: n}, Rates{In: p}, balls)
}

func TestReferenceLongestRun(t *testing.T) {
	eachReference(t, "1-", func(t *testing.T, c referenceCase) {
		switch c.Kind {
		case "run_probability":
			var in struct {
				Run   int     `json:"n"`
				Balls int     `json:"N"`
				P     float64 `json:"p"`
			}
			var want float64
			c.read(t, &in, &want)
			c.near(t, "probability", atLeast(in.Run, in.Balls, in.P), want)
		case "longest_run_class_probabilities":
			classProbabilities(t, c)
		case "longest_run_of_sequence":
			longestOfSequence(t, c)
		case "longest_run_distribution":
			longestDistribution(t, c)
		default:
			t.Fatalf("unknown kind %q", c.Kind)
		}
	})
}

// classes are probabilities of the longest run being ≤ low, low+1, …, ≥ high.
func classes(balls, low, high int, p float64) []float64 {
	probs := []float64{1 - atLeast(low+1, balls, p)}
	for n := low + 1; n < high; n++ {
		probs = append(probs, atLeast(n, balls, p)-atLeast(n+1, balls, p))
	}
	return append(probs, atLeast(high, balls, p))
}

func classProbabilities(t *testing.T, c referenceCase) {
	var in struct {
		Balls   int     `json:"M"`
		P       float64 `json:"p"`
		Classes []string
	}
	var want, published []float64
	c.read(t, &in, &want)
	if err := json.Unmarshal(c.Published, &published); err != nil {
		t.Fatal(err)
	}
	low, _ := strconv.Atoi(strings.TrimPrefix(in.Classes[0], "<="))
	high, _ := strconv.Atoi(strings.TrimPrefix(in.Classes[len(in.Classes)-1], ">="))
	for i, got := range classes(in.Balls, low, high, in.P) {
		c.near(t, "class "+in.Classes[i], got, want[i])
		printed := tolerance{Abs: c.PublishedTolerance}
		if !slices.Contains(c.Disagree, in.Classes[i]) && !printed.holds(got, published[i]) {
			t.Errorf("class %s = %v, printed %v", in.Classes[i], got, published[i])
		}
	}
}

// bests reads runs of ones in blocks of the given length.
func bests(bits string, block int) (best []int) {
	for start := 0; start < len(bits); start += block {
		balls := make([]Ball, 0, block)
		for _, b := range bits[start:min(start+block, len(bits))] {
			balls = append(balls, Ball{Outcome: Outcome(b - '0'), Radius: fiveFeet})
		}
		best = append(best, Read(balls, Tier{Run: 1, Radius: fiveFeet}).Best.Length)
	}
	return best
}

func longestOfSequence(t *testing.T, c referenceCase) {
	var in struct {
		Bits  string
		Block int
	}
	if err := json.Unmarshal(c.Inputs, &in); err != nil {
		t.Fatal(err)
	}
	if in.Block == 0 {
		var want int
		c.read(t, &in, &want)
		if got := bests(in.Bits, len(in.Bits))[0]; got != want {
			t.Errorf("best run of %s = %d, want %d", in.Bits, got, want)
		}
		return
	}
	var want struct {
		Longest []int `json:"longest_run_per_block"`
		Counts  []int
		Chi2    float64
		PValue  float64 `json:"p_value"`
	}
	c.read(t, &in, &want)
	got := bests(in.Bits, in.Block)
	if !slices.Equal(got, want.Longest) {
		t.Errorf("best runs = %v, want %v", got, want.Longest)
	}
	counts := make([]int, len(want.Counts)) // ≤ 1, 2, 3, ≥ 4 in blocks of 8
	for _, b := range got {
		counts[min(max(b, 1), 4)-1]++
	}
	if !slices.Equal(counts, want.Counts) {
		t.Errorf("counts = %v, want %v", counts, want.Counts)
	}
	chi2 := 0.0
	for i, p := range classes(in.Block, 1, 4, 0.5) {
		mean := p * float64(len(got))
		chi2 += (float64(counts[i]) - mean) * (float64(counts[i]) - mean) / mean
	}
	c.near(t, "chi squared", chi2, want.Chi2)
	c.near(t, "p-value", distuv.ChiSquared{K: 3}.Survival(chi2), want.PValue)
}

func longestDistribution(t *testing.T, c referenceCase) {
	var in struct {
		Balls int     `json:"N"`
		P     float64 `json:"p"`
	}
	var want struct {
		Mean    float64            `json:"mean_longest_run"`
		AtLeast map[string]float64 `json:"P_at_least"`
	}
	c.read(t, &in, &want)
	mean := 0.0
	for n := 1; n <= in.Balls; n++ {
		mean += atLeast(n, in.Balls, in.P)
	}
	c.near(t, "mean longest run", mean, want.Mean)
	for n, p := range want.AtLeast {
		run, err := strconv.Atoi(n)
		if err != nil {
			t.Fatal(err)
		}
		c.near(t, "P(at least "+n+")", atLeast(run, in.Balls, in.P), p)
	}
}

func TestReferenceExpectedWait(t *testing.T) {
	eachReference(t, "2-", func(t *testing.T, c referenceCase) {
		var in struct {
			Run     int     `json:"n"`
			P       float64 `json:"p"`
			Current int     `json:"current_run"`
		}
		var want struct {
			Mean     *number
			Further  *number `json:"mean_further_balls"`
			Variance *number
			SD       *number
		}
		c.read(t, &in, &want)
		var o Odds
		o.Prepare(Tier{Run: in.Run}, Rates{In: in.P})
		from := Run{Length: in.Current}
		mean, sd := o.Expected(from), o.Deviation(from)
		for _, w := range []struct {
			what string
			got  float64
			want *number
		}{
			{"mean", mean, want.Mean}, {"mean further balls", mean, want.Further},
			{"variance", sd * sd, want.Variance}, {"deviation", sd, want.SD},
		} {
			if w.want != nil && w.got != float64(*w.want) {
				c.near(t, w.what, w.got, float64(*w.want))
			}
		}
	})
}

func TestReferenceRunWithHoled(t *testing.T) {
	eachReference(t, "3-", func(t *testing.T, c referenceCase) {
		var in struct {
			Run     int     `json:"n"`
			Holed   int     `json:"m"`
			In      float64 `json:"in_not_holed"`
			Hole    float64 `json:"holed"`
			Balls   int     `json:"N"`
			Current int     `json:"current_run"`
			Holds   int     `json:"current_holed"`
		}
		var want struct {
			Within  float64 `json:"p_within_N"`
			Further float64 `json:"mean_further_balls"`
		}
		c.read(t, &in, &want)
		var o Odds
		o.Prepare(Tier{Run: in.Run, Holed: in.Holed}, Rates{In: in.In, Holed: in.Hole})
		from := Run{Length: in.Current, Holed: in.Holds}
		c.near(t, "probability", o.Within(from, in.Balls), want.Within)
		c.near(t, "mean further balls", o.Expected(from), want.Further)
	})
}

func TestReferenceInverse(t *testing.T) {
	eachReference(t, "4-", func(t *testing.T, c referenceCase) {
		var in struct {
			Run    int     `json:"n"`
			Balls  int     `json:"N"`
			P      float64 `json:"p"`
			Target float64
		}
		var want struct {
			P     float64 `json:"p"`
			Balls float64 `json:"N"`
		}
		c.read(t, &in, &want)
		if c.Kind == "p_needed" {
			got, ok := RateFor(Tier{Run: in.Run}, 0, in.Balls, in.Target)
			if !ok {
				t.Fatal("no rate found")
			}
			c.near(t, "rate", got, want.P)
			return
		}
		var o Odds
		o.Prepare(Tier{Run: in.Run}, Rates{In: in.P})
		if got := o.BallsFor(Run{}, in.Target); got != want.Balls {
			t.Errorf("balls = %v, want %v", got, want.Balls)
		}
	})
}
