package estimate

import (
	"encoding/json"
	"errors"
	"math"
	"math/bits"
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
// the two large ones are drawn, which also holds countShuffled.
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

// drawLate estimates the same by shuffling sessions with as many inside as
// fair coins give.
func drawLate(balls, after int) (mean, sd float64) {
	r := rand.New(rand.NewPCG(7, 1))
	var n, sum, squares float64
	for range 200_000 {
		inside := 0
		for range balls {
			inside += int(r.Uint64() & 1)
		}
		var tally lateTally
		if tally.countShuffled(balls, inside, after, r); tally.late > 0 {
			n++
			sum += tally.lateRate()
			squares += tally.lateRate() * tally.lateRate()
		}
	}
	mean = sum / n
	return mean, math.Sqrt((squares/n - mean*mean) / n)
}

// TestPressureAgainstAllOrders compares bias and p-values with every order of
// two short sessions.
func TestPressureAgainstAllOrders(t *testing.T) {
	sessions := parse("1101110111", "0111110010")
	got := pressureOf(t, sessions, 2)
	var differences []float64
	for a := range 1 << 10 {
		for b := range 1 << 10 {
			if bits.OnesCount(uint(a)) != 8 || bits.OnesCount(uint(b)) != 6 {
				continue
			}
			var tally lateTally
			for _, code := range []int{a, b} {
				session := make([]bool, 10)
				for i := range session {
					session[i] = code>>i&1 == 1
				}
				tally.count(session, 2)
			}
			if d, ok := tally.difference(); ok {
				differences = append(differences, d)
			}
		}
	}
	mean := 0.0
	for _, d := range differences {
		mean += d / float64(len(differences))
	}
	observed := got.LateRate - got.EarlyRate
	below, outer := 0, 0
	for _, d := range differences {
		if d <= observed+1e-12 {
			below++
		}
		if math.Abs(d-mean) >= math.Abs(observed-mean)-1e-12 {
			outer++
		}
	}
	n := float64(len(differences))
	if math.Abs(got.Bias-mean) > 0.02 {
		t.Errorf("bias %v, all orders %v", got.Bias, mean)
	}
	// 1,999 draws tell a probability to four times 0.011 at the most.
	if want := float64(below) / n; math.Abs(got.P-want) > 0.045 {
		t.Errorf("p %v, all orders %v", got.P, want)
	}
	if want := float64(outer) / n; math.Abs(got.TwoSided-want) > 0.06 {
		t.Errorf("two-sided p %v, all orders %v", got.TwoSided, want)
	}
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
	if math.Abs(got.Difference-(3.0/6-7.0/8-got.Bias)) > 1e-15 {
		t.Errorf("difference %v with bias %v", got.Difference, got.Bias)
	}
}

func TestPressureWithoutATest(t *testing.T) {
	got := pressureOf(t, parse("0101", "", "00"), 2)
	if got != (Pressure{EarlyBalls: 6, EarlyRate: 2.0 / 6}) {
		t.Errorf("without a late ball: got %+v", got)
	}
	// All inside: every order is the same, and nothing is found.
	got = pressureOf(t, parse("11111111"), 3)
	if !got.Tested || got.Difference != 0 || got.P != 1 || got.TwoSided != 1 {
		t.Errorf("all inside: got %+v, want nothing found", got)
	}
	// One run of 8 in 400 balls among 8 inside: hardly ever again.
	session := make([]bool, 400)
	for i := range 8 {
		session[i] = true
	}
	if got = pressureOf(t, [][]bool{session}, 8); got.Tested || got.LateBalls != 1 {
		t.Errorf("an order all but impossible: got %+v, want no test", got)
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

// play draws sessions of 30 balls of a student with rate 0.7 and another rate
// once six or more in a row stand behind a ball.
func play(r *rand.Rand, sessions int, late float64) [][]bool {
	all := make([][]bool, sessions)
	for i := range all {
		all[i] = make([]bool, 30)
		run := 0
		for j := range all[i] {
			rate := 0.7
			if run >= 6 {
				rate = late
			}
			run++
			if all[i][j] = r.Float64() < rate; !all[i][j] {
				run = 0
			}
		}
	}
	return all
}

// TestPressureLevel and TestPressurePower measure the operating
// characteristics on simulated students; the seeds are fixed. The level of a
// test by permutation is exact with any number of them of which 0.05 takes a
// whole number (Phipson & Smyth, 2010, Stat. Appl. Genet. Mol. Biol. 9:39), so
// 199 tell it as well as 1,999; fewer than 1,999 only lose power.
func TestPressureLevel(t *testing.T) {
	r := rand.New(rand.NewPCG(20, 1))
	const students = 2000
	drop, either, difference := 0, 0, 0.0
	for range students {
		p := pressure(play(r, 12, 0.7), 6, minShuffles)
		difference += p.Difference / students
		if p.P < 0.05 {
			drop++
		}
		if p.TwoSided < 0.05 {
			either++
		}
	}
	t.Logf("found a drop %d times, a difference %d times of %d; mean difference %.4f", drop, either, students, difference)
	for what, found := range map[string]int{"a drop": drop, "a difference": either} {
		if rate := float64(found) / students; rate < 0.04 || rate > 0.06 {
			t.Errorf("found %s in %.3f of independent students, want 0.04 to 0.06", what, rate)
		}
	}
	// The standard error of the mean difference is about 0.002.
	if math.Abs(difference) > 0.008 {
		t.Errorf("mean difference %v, want 0", difference)
	}
}

func TestPressurePower(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 1))
	const students = 250
	found, difference := 0, 0.0
	for range students {
		p := pressure(play(r, 40, 0.55), 6, 499)
		difference += p.Difference / students
		if p.P < 0.05 {
			found++
		}
	}
	t.Logf("power %.3f, mean difference %.3f", float64(found)/students, difference)
	if power := float64(found) / students; power <= 0.8 {
		t.Errorf("found the drop in %.3f of students, want more than 0.8", power)
	}
	if math.Abs(difference+0.15) > 0.02 {
		t.Errorf("mean difference %v, want about -0.15", difference)
	}
}

func BenchmarkPressure(b *testing.B) {
	sessions := play(rand.New(rand.NewPCG(1, 1)), 40, 0.55)
	b.ReportAllocs()
	for b.Loop() {
		pressureOf(b, sessions, 6)
	}
}
