package estimate

import (
	"encoding/json"
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"reflect"
	"testing"

	"fringework/domain"
)

// parse reads sessions as strings of 1 (inside) and 0.
func parse(sessions ...string) [][]bool {
	var all [][]bool
	for _, s := range sessions {
		balls := make([]bool, len(s))
		for i := range s {
			balls[i] = s[i] == '1'
		}
		all = append(all, balls)
	}
	return all
}

func pressureOf(t testing.TB, sessions [][]bool, lateFrom int) Pressure {
	t.Helper()
	p, err := PressureOf(sessions, lateFrom)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// TestSelectionBiasReference holds the balls that are told to be late to Miller
// and Sanjurjo (2018): the file names the source. Small cases are enumerated;
// the two large ones are drawn.
func TestSelectionBiasReference(t *testing.T) {
	raw, err := os.ReadFile("testdata/streak_selection.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Cases []struct {
			ID     string
			Inputs struct {
				Balls int     `json:"n"`
				After int     `json:"k"`
				P     float64 `json:"p"`
			}
			Expected  float64
			Tolerance struct{ Abs float64 }
			Kept      float64 `json:"share_of_sequences_kept"`
		}
	}
	if err := json.Unmarshal(raw, &file); err != nil {
		t.Fatal(err)
	}
	if len(file.Cases) == 0 {
		t.Fatal("no cases")
	}
	for _, c := range file.Cases {
		if c.Inputs.P != 0.5 {
			t.Fatalf("%s: the sequences are not equally likely", c.ID)
		}
		if c.Inputs.Balls <= 16 {
			got, kept := enumerateLate(c.Inputs.Balls, c.Inputs.After)
			if math.Abs(got-c.Expected) > c.Tolerance.Abs || math.Abs(kept-c.Kept) > 1e-12 {
				t.Errorf("%s: got %v of %v kept, want %v of %v", c.ID, got, kept, c.Expected, c.Kept)
			}
			continue
		}
		got, sd := drawLate(c.Inputs.Balls, c.Inputs.After)
		if math.Abs(got-c.Expected) > 4*sd {
			t.Errorf("%s: got %v ± %v, want %v", c.ID, got, sd, c.Expected)
		}
	}
}

// enumerateLate is the mean late rate over all sequences that have late balls,
// and their share.
func enumerateLate(balls, after int) (mean, kept float64) {
	session := make([]bool, balls)
	for code := range 1 << balls {
		for i := range session {
			session[i] = code>>i&1 == 1
		}
		var tally lateTally
		if tally.count(session, after); tally.late > 0 {
			kept++
			mean += tally.lateRate()
		}
	}
	return mean / kept, kept / float64(int(1)<<balls)
}

// drawLate estimates the same by tossing fair coins.
func drawLate(balls, after int) (mean, sd float64) {
	r := rand.New(rand.NewPCG(7, 1))
	session := make([]bool, balls)
	var n, sum, squares float64
	for range 200_000 {
		for i := range session {
			session[i] = r.Uint64()&1 == 1
		}
		var tally lateTally
		if tally.count(session, after); tally.late > 0 {
			n++
			sum += tally.lateRate()
			squares += tally.lateRate() * tally.lateRate()
		}
	}
	mean = sum / n
	return mean, math.Sqrt((squares/n - mean*mean) / n)
}

func TestPressureCounts(t *testing.T) {
	// Counted by hand; late balls in brackets: 1 1 [0] 1 1 [1] [0] 1 and
	// 0 1 1 [1] [1] [0].
	got := pressureOf(t, parse("11011101", "011110"), 2)
	if got.EarlyBalls != 8 || got.LateBalls != 6 {
		t.Errorf("%d early and %d late balls, want 8 and 6", got.EarlyBalls, got.LateBalls)
	}
	if got.EarlyRate != 7.0/8 || got.LateRate != 3.0/6 {
		t.Errorf("rates %v and %v, want 7/8 and 3/6", got.EarlyRate, got.LateRate)
	}
	if !got.Tested || math.Abs(got.Difference-(3.0/6-7.0/8-got.Bias)) > 1e-15 {
		t.Errorf("got %+v, want a difference that is the naive one without the bias", got)
	}
}

func TestPressureWithoutATest(t *testing.T) {
	got := pressureOf(t, parse("0101", "", "00"), 2)
	if got != (Pressure{EarlyBalls: 6, EarlyRate: 2.0 / 6}) {
		t.Errorf("without a late ball: got %+v", got)
	}
	// One late ball is little, but something.
	if got = pressureOf(t, parse("00111001101011"), 3); !got.Tested || got.LateBalls != 1 || got.P < 0.2 {
		t.Errorf("one late ball: got %+v, want a test that finds nothing", got)
	}
	// All inside: there is nothing to compare.
	if got = pressureOf(t, parse("11111111", "1111"), 3); got != (Pressure{EarlyBalls: 6, EarlyRate: 1, LateBalls: 6, LateRate: 1}) {
		t.Errorf("all inside: got %+v, want no test", got)
	}
	// One late ball where 8 of 400 are inside: it was all but sure to miss.
	session := make([]bool, 400)
	for i := range 8 {
		session[300+i] = true
	}
	if got = pressureOf(t, [][]bool{session}, 8); got.Tested || got.LateBalls != 1 {
		t.Errorf("a ball sure to miss: got %+v, want no test", got)
	}
}

func TestPressureDependsOnDataAlone(t *testing.T) {
	sessions := parse("1101110111", "0111110010")
	before := parse("1101110111", "0111110010")
	if a, b := pressureOf(t, sessions, 2), pressureOf(t, sessions, 2); a != b {
		t.Errorf("got %+v, then %+v", a, b)
	}
	if !reflect.DeepEqual(sessions, before) {
		t.Error("the sessions were changed")
	}
}

func TestPressureRefuses(t *testing.T) {
	long := make([]bool, MaxPressureBalls/2+1)
	for _, c := range []struct {
		sessions [][]bool
		lateFrom int
		want     string
	}{
		{parse("1"), 0, "/late_from"},
		{parse("1"), 201, "/late_from"},
		{nil, 6, "/sessions"},
		{[][]bool{long, long, long}, 6, "/sessions/1"},
	} {
		_, err := PressureOf(c.sessions, c.lateFrom)
		var e *domain.Error
		if !errors.As(err, &e) || e.Kind != domain.Invalid || len(e.Fields) != 1 || e.Fields[0].Pointer != c.want {
			t.Errorf("got %v, want one problem at %s", err, c.want)
		}
	}
}

// TestPressureTells works out what is told from a score and its variance: one
// late ball of four inside where 2.5 were expected.
func TestPressureTells(t *testing.T) {
	f := lateFit{spread: 0.8}
	f.gradient[lateTerm] = -1.5
	f.information[lateTerm][lateTerm] = 0.64
	for i := range lateTerm {
		f.information[i][i] = 1
	}
	p := Pressure{LateBalls: 4, LateRate: 0.25, EarlyRate: 0.6}
	p.test(f)
	if !p.Tested {
		t.Fatal("not tested")
	}
	// With half a ball (−1.5 + 0.5)/0.8 = −1.25 and (1.5 + 0.5)/0.8 = 2.5 for a
	// rise; Φ(−1.25) = 0.10565, a table's value.
	near(t, "p", math.Round(1e5*p.P)/1e5, 0.10565)
	near(t, "two-sided", p.TwoSided, 2*p.P)
	// −1/0.64 logits, 0.2 of the rate each.
	near(t, "difference", p.Difference, -0.3125)
	near(t, "bias", p.Bias, 0.25-0.6+0.3125)
	for score, want := range map[float64]float64{-4: -0.75, 4: 0.25} {
		f.gradient[lateTerm] = score
		if p.test(f); p.Difference != want {
			t.Errorf("score %v: difference %v, want the bound %v", score, p.Difference, want)
		}
	}
	f.gradient[lateTerm] = 4
	if p.test(f); math.Abs(p.TwoSided-2*(1-0.9999939)) > 1e-6 || p.P < 0.99999 {
		t.Errorf("a rise: got %+v", p)
	}
	f.gradient[lateTerm] = 0
	if p.test(f); p.TwoSided != 1 {
		t.Errorf("nothing: two-sided %v, want 1", p.TwoSided)
	}
	for variance, want := range map[float64]bool{0.0999: false, 0.1: true} {
		f.information[lateTerm][lateTerm] = variance
		p := Pressure{LateBalls: 4}
		if p.test(f); p.Tested != want || !want && p != (Pressure{LateBalls: 4}) {
			t.Errorf("variance %v: got %+v, want tested %v", variance, p, want)
		}
	}
}

// played is how simulated students strike: rates in logits change by drift from
// the first ball to the last; a session ends with stop in a row, if not 0.
type played struct {
	sessions                int
	rate, form, drift, drop float64
	stop                    int
}

// play strikes sessions of 20 to 40 balls; late is from six in a row.
func (p played) play(r *rand.Rand) [][]bool {
	all := make([][]bool, p.sessions)
	for i := range all {
		level, run := logit(p.rate)+p.form*r.NormFloat64(), 0
		balls := 20 + r.IntN(21)
		for j := range balls {
			x := level + p.drift*(float64(j)/float64(balls-1)-0.5)
			if run >= 6 {
				x -= p.drop
			}
			inside := r.Float64() < logistic(x)
			all[i] = append(all[i], inside)
			if run++; !inside {
				run = 0
			}
			if p.stop > 0 && run == p.stop {
				break
			}
		}
	}
	return all
}

// found is the share of students in whom a drop, and a difference, is found, and
// the mean difference.
func (p played) found(r *rand.Rand, students int) (drop, either, difference float64) {
	for range students {
		got := pressure(p.play(r), 6)
		difference += got.Difference / float64(students)
		if got.Tested && got.P < 0.05 {
			drop += 1 / float64(students)
		}
		if got.Tested && got.TwoSided < 0.05 {
			either += 1 / float64(students)
		}
	}
	return drop, either, difference
}

// TestPressureLevel: in independent students a drop is seldom found, whatever
// their sessions are like; the seeds are fixed. Of 2,000 students, 0.06 lies two
// standard errors above 0.05.
func TestPressureLevel(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name string
		played
		bias float64 // the most that the mean difference may be from 0
	}{
		{"steady", played{12, 0.7, 0, 0, 0, 0}, 0.02},
		{"varying", played{12, 0.75, 0.4, 0, 0, 0}, 0.02},
		{"warming up", played{12, 0.7, 0.2, 0.6, 0, 0}, 0.02},
		{"tiring", played{12, 0.7, 0.2, -0.6, 0, 0}, 0.02},
		// What ends well is overrated.
		{"stopping", played{12, 0.75, 0.2, 0, 0, 9}, 0.06},
		{"stopping, warming up", played{12, 0.75, 0, 0.6, 0, 8}, 0.06},
		{"stopping, tiring", played{12, 0.75, 0, -0.6, 0, 10}, 0.06},
		{"stopping at the first", played{12, 0.8, 0, -0.6, 0, 7}, 0.06},
	} {
		drop, either, difference := c.found(rand.New(rand.NewPCG(20, 1)), 2000)
		t.Logf("%-22s a drop %.4f, a difference %.4f, mean difference %+.4f", c.name, drop, either, difference)
		if drop < 0.01 || drop > 0.06 || either > 0.06 {
			t.Errorf("%s: found a drop in %.4f and a difference in %.4f of independent students", c.name, drop, either)
		}
		if math.Abs(difference) > c.bias {
			t.Errorf("%s: mean difference %v, want about 0", c.name, difference)
		}
	}
}

// TestPressurePower: a drop from 0.75 to 0.52 is found, and measured.
func TestPressurePower(t *testing.T) {
	for name, p := range map[string]played{
		"steady":     {24, 0.75, 0, 0, 1, 0},
		"warming up": {24, 0.75, 0.2, 0.6, 1, 0},
		"tiring":     {24, 0.75, 0.2, -0.6, 1, 0},
		"stopping":   {24, 0.75, 0.2, 0, 1, 10},
	} {
		drop, _, difference := p.found(rand.New(rand.NewPCG(21, 1)), 400)
		t.Logf("%-11s power %.3f, mean difference %.3f", name, drop, difference)
		if drop < 0.85 {
			t.Errorf("%s: found the drop in %.3f of students, want at least 0.85", name, drop)
		}
		if want := logistic(logit(0.75)-1) - 0.75; math.Abs(difference-want) > 0.03 {
			t.Errorf("%s: mean difference %v, want about %v", name, difference, want)
		}
	}
}

func BenchmarkPressure(b *testing.B) {
	sessions := played{40, 0.7, 0.2, 0, 0.65, 0}.play(rand.New(rand.NewPCG(1, 1)))
	b.ReportAllocs()
	for b.Loop() {
		pressureOf(b, sessions, 6)
	}
}
