package estimate

import (
	"math"
	"math/rand/v2"
	"testing"

	"fringework/domain"
)

// looks are the numbers of tests that are reported on.
var looks = []int{20, 40, 60, 80, 120, 200}

// found gives the share of students of whom a difference was ever told after so many
// tests, looking after each, and the share whose true one was in the interval at all
// looks.
func found(of tester, seed uint64, students int, drop float64) (told []float64, covered float64) {
	r := rand.New(rand.NewPCG(seed, uint64(1000*drop)))
	told = make([]float64, len(looks))
	for range students {
		tests := signedOf(of(r, looks[len(looks)-1], drop))
		at, inside := len(tests)+1, true
		for n := 1; n <= len(tests); n++ {
			if at > n && excluded(tests[:n], 0) {
				at = n
			}
			inside = inside && !excluded(tests[:n], -drop)
		}
		for i, n := range looks {
			if at <= n {
				told[i] += 1 / float64(students)
			}
		}
		if inside {
			covered += 1 / float64(students)
		}
	}
	return told, covered
}

// A known drop is found, and nothing is where there is none, though a coach looks after
// every test: on the population that the constants were set on, and on another.
func TestQuiet(t *testing.T) {
	students := *draws / 2
	for _, p := range []struct {
		name string
		of   tester
		seed uint64
	}{{"setting", testerOfSetting, 17}, {"report", testerOfReport, 2026}} {
		for _, drop := range []float64{0, 0.05, 0.1, 0.15, 0.2} {
			if drop == 0.05 && *draws < 1000 || drop == 0.15 && *draws < 1000 {
				continue
			}
			told, covered := found(p.of, p.seed, students, drop)
			t.Logf("%s, %2.0f points lower: told %.3f of %v tests; in the interval at all looks %.3f", p.name, 100*drop, told, looks, covered)
			last := told[len(told)-1]
			if drop == 0 && last > 0.05 {
				t.Errorf("%s: a difference is told of %.3f of those without one", p.name, last)
			}
			if drop == 0.2 && (told[1] < 0.6 || last < 0.99) {
				t.Errorf("%s: a drop of 20 points is told in %.3f after 40 tests, %.3f in the end", p.name, told[1], last)
			}
			if covered < 0.95 {
				t.Errorf("%s: the true difference of −%.0f points is in the interval at all looks in %.3f", p.name, 100*drop, covered)
			}
		}
	}
}

// Two tests by hand. Of the first a half is expected of 20 balls; it is shown and 2 of
// 5 were inside, 0.5 fewer than that. The second is hidden.
func TestQuietByHand(t *testing.T) {
	tests := []LotTest{
		{Skill: "chip", Radius: domain.Metre, Balls: 5, Inside: 2},
		{Skill: "chip", Radius: domain.Metre, Hidden: true, Balls: 15, Inside: 12},
		{Skill: "chip", Radius: domain.Metre},
	}
	// Of either lot a fifth of a test of 20 balls stands for what is not known. When the
	// second comes, 0.9 of that and 2 of 5 balls stand for shown ones.
	shown, usual := (0.9*2+2)/(0.9*4+5), (0.9*4+5+4)/(0.9*0.2+1+0.2)
	surplus := -0.5/20 - (12-15*(shown+0.5)/2)/usual
	reach := 5.0/20/2 + 15/usual/2
	q := QuietOf(tests)
	if want := surplus / reach; !q.Told || math.Abs(q.Difference-want) > 1e-12 {
		t.Errorf("the difference is %.6f, want %.6f", q.Difference, want)
	}
	if q.Shown != (ArmTally{1, 5, 2}) || q.Hidden != (ArmTally{1, 15, 12}) {
		t.Errorf("counted %+v and %+v", q.Shown, q.Hidden)
	}
	if q.Interval95 != (Interval{-1, 1}) || q.Finding != GapOpen {
		t.Errorf("two tests tell %+v", q)
	}
}

// What the tests of another circle or skill let expect is their own.
func TestQuietKeepsCirclesApart(t *testing.T) {
	one := LotTest{Skill: "chip", Radius: domain.Metre, Balls: 20, Inside: 20}
	for _, other := range []LotTest{{Skill: "pitch", Radius: domain.Metre}, {Skill: "chip", Radius: 2 * domain.Metre}} {
		other.Balls, other.Inside = 20, 10
		if s := signedOf([]LotTest{one, other}); math.Abs(s[1].surplus) > 1e-12 {
			t.Errorf("%+v has a surplus of %.3f beside what is expected of nobody", other, s[1].surplus)
		}
	}
}

// A difference that is told has an interval on one side of 0, either way round, whose
// ends are where the tests exclude.
func TestQuietTells(t *testing.T) {
	for _, c := range []struct {
		hidden, shown int
		want          Gap
	}{{16, 8, GapLower}, {8, 16, GapHigher}, {12, 12, GapOpen}, {20, 0, GapLower}} {
		var tests []LotTest
		for i := range 40 {
			x := LotTest{Radius: domain.Metre, Hidden: i%2 == 0, Balls: 20, Inside: c.shown}
			if x.Hidden {
				x.Inside = c.hidden
			}
			tests = append(tests, x)
		}
		q := QuietOf(tests)
		if q.Finding != c.want || q.Difference < q.Interval95.Lo || q.Difference > q.Interval95.Hi {
			t.Errorf("%d of 20 hidden, %d shown: %+v", c.hidden, c.shown, q)
		}
		signed := signedOf(tests)
		for _, end := range []float64{q.Interval95.Lo, q.Interval95.Hi} {
			out := end + math.Copysign(1e-5, end-q.Difference)
			if math.Abs(end) < 0.999 && (!excluded(signed, out) || excluded(signed, end-math.Copysign(1e-5, end-q.Difference))) {
				t.Errorf("%d of 20 hidden, %d shown: the interval does not end at %.6f", c.hidden, c.shown, end)
			}
		}
	}
	if q := QuietOf([]LotTest{{Balls: 4, Inside: 1}}); q.Told || q.Finding != GapOpen || q.Interval95 != (Interval{}) {
		t.Errorf("one test tells %+v", q)
	}
}
