package estimate

import (
	"encoding/json"
	"math"
	"os"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"fringework/domain"
)

// freireich reads the published weeks in remission; see testdata/freireich.json
// for their source. To pass stands for to relapse.
func freireich(t *testing.T) (drug, placebo []Wait) {
	t.Helper()
	raw, err := os.ReadFile("testdata/freireich.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Groups []struct {
			Name     string
			Weeks    []float64
			Relapsed []bool
		}
	}
	if err := json.Unmarshal(raw, &file); err != nil {
		t.Fatal(err)
	}
	groups := map[string][]Wait{}
	for _, g := range file.Groups {
		for i, week := range g.Weeks {
			groups[g.Name] = append(groups[g.Name], Wait{Time: week, Passed: g.Relapsed[i]})
		}
	}
	if len(groups["6-MP"]) != 21 || len(groups["placebo"]) != 21 {
		t.Fatalf("%d and %d patients, want 21 pairs", len(groups["6-MP"]), len(groups["placebo"]))
	}
	return groups["6-MP"], groups["placebo"]
}

// TestFreireichCourse: the product-limit estimates and Greenwood's standard errors
// of the drug's group are published in D. Collett, Modelling Survival Data in
// Medical Research, and in D. G. Kleinbaum and M. Klein, Survival Analysis, chapter
// 2 (values from memory; 0.8571 and 0.7529 found in public tests that cite page 18
// there). The intervals are those that statistical programs print on the log-log
// scale (values from memory, to four places).
func TestFreireichCourse(t *testing.T) {
	drug, placebo := freireich(t)
	type row struct {
		week             float64
		atRisk, relapsed int
		s, se, low, high float64
	}
	want := []row{
		{6, 21, 3, 0.8571, 0.0764, 0.6197, 0.9516},
		{7, 17, 1, 0.8067, 0.0869, 0.5631, 0.9228},
		{10, 15, 1, 0.7529, 0.0963, 0.5032, 0.8894},
		{13, 12, 1, 0.6902, 0.1068, 0.4316, 0.8491},
		{16, 11, 1, 0.6275, 0.1141, 0.3675, 0.8049},
		{22, 7, 1, 0.5378, 0.1282, 0.2678, 0.7468},
		{23, 6, 1, 0.4482, 0.1346, 0.1881, 0.6801},
	}
	got := SurvivalOf(drug)
	i := 0
	for _, s := range got.Steps {
		if s.Passed == 0 {
			continue
		}
		w := want[i]
		i++
		if s.Time != w.week || s.AtRisk != w.atRisk || s.Passed != w.relapsed {
			t.Errorf("at %v: %d of %d, want at %v %d of %d", s.Time, s.Passed, s.AtRisk, w.week, w.relapsed, w.atRisk)
		}
		for _, x := range []struct {
			what      string
			got, want float64
		}{
			{"share", s.Waiting, w.s}, {"standard error", s.SE, w.se},
			{"low end", s.Interval95.Lo, w.low}, {"high end", s.Interval95.Hi, w.high},
		} {
			if !(math.Abs(x.got-x.want) <= 0.00005+1e-9) {
				t.Errorf("week %v: %s %.5f, want %.4f", w.week, x.what, x.got, x.want)
			}
		}
	}
	if i != len(want) || got.Students != 21 || got.Passed != 9 {
		t.Errorf("%d weeks with a relapse, %d of %d relapsed; want %d, 9 of 21", i, got.Passed, got.Students, len(want))
	}
	// The median of the drug is 23 weeks, from 13 with no upper end; of the placebo 8
	// weeks, from 4 to 11 (values from memory).
	if got.Median != 23 || got.MedianInterval95.Lo != 13 || !math.IsInf(got.MedianInterval95.Hi, 1) {
		t.Errorf("6-MP: median %v in %v, want 23 from 13 on", got.Median, got.MedianInterval95)
	}
	if p := SurvivalOf(placebo); p.Median != 8 || p.MedianInterval95 != (Interval{4, 11}) {
		t.Errorf("placebo: median %v in %v, want 8 in 4 to 11", p.Median, p.MedianInterval95)
	}
}

// TestFreireichLogRank: chi-square 16.79 with one degree of freedom, p = 4.17e-05,
// as in Kleinbaum and Klein, chapter 2 (from memory, and found in public tests that
// quote a statistical program); 19.25 relapses expected with the drug and 10.75
// with the placebo there.
func TestFreireichLogRank(t *testing.T) {
	drug, placebo := freireich(t)
	r := LogRankOf([][]Wait{drug, placebo})
	if r.CannotTell != "" || r.DF != 1 || math.Abs(r.ChiSquare-16.79) > 0.005 || math.Abs(r.P-4.17e-5) > 0.005e-5 {
		t.Errorf("got %+v, want a chi-square of 16.79 and p of 4.17e-05", r)
	}
	if !slices.Equal(r.Passed, []int{9, 21}) || math.Abs(r.Expected[0]-19.25) > 0.005 || math.Abs(r.Expected[1]-10.75) > 0.005 {
		t.Errorf("relapsed %v of %v expected, want 9 and 21 of 19.25 and 10.75", r.Passed, r.Expected)
	}
}

// TestSurvivalByHand: of four, one passes at 1; of the three left, one is last seen
// at 2 when another passes; the fourth passes at 5. By hand S is 3/4, then
// 3/4·2/3 = 1/2, then 0. The first of the two at 2 counts as at risk.
func TestSurvivalByHand(t *testing.T) {
	s := SurvivalOf([]Wait{{5, true}, {2, false}, {1, true}, {2, true}})
	want := []WaitStep{{Time: 1, AtRisk: 4, Passed: 1}, {Time: 2, AtRisk: 3, Passed: 1, Left: 1}, {Time: 5, AtRisk: 1, Passed: 1}}
	shares := []float64{0.75, 0.5, 0}
	// Greenwood: 0.75²·1/(4·3) = 3/64, and 0.5²·(1/12 + 1/6) = 1/16.
	errors := []float64{math.Sqrt(3.0 / 64), 0.25, math.NaN()}
	for i, x := range s.Steps {
		if x.Time != want[i].Time || x.AtRisk != want[i].AtRisk || x.Passed != want[i].Passed || x.Left != want[i].Left {
			t.Errorf("step %d is %+v, want %+v", i, x, want[i])
		}
		if math.Abs(x.Waiting-shares[i]) > 1e-12 {
			t.Errorf("step %d: share %v, want %v", i, x.Waiting, shares[i])
		}
		if math.IsNaN(errors[i]) != math.IsNaN(x.SE) || math.Abs(x.SE-errors[i]) > 1e-12 {
			t.Errorf("step %d: standard error %v, want %v", i, x.SE, errors[i])
		}
	}
	if last := s.Steps[2].Interval95; !math.IsNaN(last.Lo) || !math.IsNaN(last.Hi) {
		t.Errorf("an interval of nobody: %v, want none", last)
	}
	if s.Median != 2 || s.Students != 4 || s.Passed != 3 {
		t.Errorf("median %v, %d of %d, want 2, 3 of 4", s.Median, s.Passed, s.Students)
	}
}

// TestSurvivalAtItsEdges: nobody at all, nobody who passed, everybody at once.
func TestSurvivalAtItsEdges(t *testing.T) {
	if s := SurvivalOf(nil); len(s.Steps) != 0 || !math.IsInf(s.Median, 1) || s.Students != 0 {
		t.Errorf("nobody: %+v", s)
	}
	s := SurvivalOf([]Wait{{3, false}, {8, false}})
	if len(s.Steps) != 2 || s.Steps[1].Waiting != 1 || s.Steps[1].SE != 0 || s.Steps[1].Left != 1 || s.Passed != 0 {
		t.Errorf("nobody passed: %+v", s)
	}
	if i := s.Steps[0].Interval95; !math.IsNaN(i.Lo) || !math.IsNaN(i.Hi) || !math.IsInf(s.Median, 1) || !math.IsInf(s.MedianInterval95.Lo, 1) {
		t.Errorf("nobody passed: %+v, want no interval and no median", s)
	}
	if s := SurvivalOf([]Wait{{0, true}, {0, true}}); s.Median != 0 || s.Steps[0].Waiting != 0 || !math.IsInf(s.MedianInterval95.Hi, 1) {
		t.Errorf("everybody at once: %+v", s)
	}
	// A half is reached though 9/10·8/9·…·5/6 is not exactly a half in binary.
	ten := make([]Wait, 10)
	for i := range ten {
		ten[i] = Wait{Time: float64(i), Passed: i < 5}
	}
	if s := SurvivalOf(ten); s.Median != 4 {
		t.Errorf("five of ten have passed by 4, and the median is %v", s.Median)
	}
}

// TestLogRankByHand: the first group passes at 1 and 2, the second at 2 and 3, the
// third is last seen at 2 and passes at 4. At 1, 6 at risk, of each group 2; at 2, 5
// at risk (1, 2, 2), two pass; at 3, 2 at risk (0, 1, 1), one passes; at 4 the third
// is alone. Expected: 2/6 + 2·1/5 = 11/15; 2/6 + 2·2/5 + 1/2 = 49/30; 2/6 + 4/5 + 1/2
// + 1 = 79/30. Covariance of the first two: 1/3·2/3 + 3/2·1/5·4/5 = 2/9 + 6/25;
// 2/9 + 3/2·2/5·3/5 + 1/4 = 2/9 + 9/25 + 1/4; −(1/9 + 3/2·1/5·2/5) = −(1/9 + 3/25).
func TestLogRankByHand(t *testing.T) {
	groups := [][]Wait{{{2, true}, {1, true}}, {{3, true}, {2, true}}, {{4, true}, {2, false}}}
	r := LogRankOf(groups)
	want := []float64{11.0 / 15, 49.0 / 30, 79.0 / 30}
	for g, e := range want {
		if math.Abs(r.Expected[g]-e) > 1e-12 {
			t.Errorf("group %d: expected %v, want %v", g, r.Expected[g], e)
		}
	}
	a, b, c := 2.0/9+6.0/25, 2.0/9+9.0/25+1.0/4, -(1.0/9 + 3.0/25)
	x, y := 2-want[0], 2-want[1]
	chi := (b*x*x - 2*c*x*y + a*y*y) / (a*b - c*c)
	if r.DF != 2 || math.Abs(r.ChiSquare-chi) > 1e-9 || math.Abs(r.P-math.Exp(-chi/2)) > 1e-9 {
		t.Errorf("got %+v, want a chi-square of %v with 2 degrees, p = exp(−χ²/2)", r, chi)
	}
	if groups[0][0].Time != 2 {
		t.Error("the groups given were put in another order")
	}
	// Whom nothing is expected of does not count: two groups are left.
	r = LogRankOf([][]Wait{{{2, true}, {1, true}}, {{3, true}, {2, true}}, {{0, false}}, {}})
	if r.DF != 1 || r.Expected[2] != 0 {
		t.Errorf("got %+v, want one degree of freedom", r)
	}
}

func TestLogRankCannotTell(t *testing.T) {
	for name, groups := range map[string][][]Wait{
		"no group":           nil,
		"one group":          {{{1, true}, {2, true}}},
		"nobody passed":      {{{1, false}}, {{2, false}}},
		"all at once":        {{{1, true}}, {{1, true}, {1, true}}},
		"only one was there": {{{1, false}}, {{2, true}, {3, true}}},
	} {
		if r := LogRankOf(groups); r.CannotTell != NothingToCompare || r.ChiSquare != 0 || r.DF != 0 || r.P != 0 {
			t.Errorf("%s: %+v, want nothing to compare", name, r)
		}
	}
}

// TestSurvivalHolds what no course may break: shares fall from 1, only when
// somebody passes; intervals hold them; without censoring they are the plain
// shares; the order given does not matter; and the log-rank test does not care
// about the unit, the order of groups, or anything but the order of times.
func TestSurvivalHolds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		waits := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Wait {
			return Wait{Time: float64(rapid.IntRange(0, 12).Draw(t, "time")), Passed: rapid.Bool().Draw(t, "passed")}
		}), 1, 40).Draw(t, "waits")
		s := SurvivalOf(waits)
		before, people := 1.0, 0
		for _, x := range s.Steps {
			if x.Waiting > before || x.Passed == 0 && x.Waiting != before || x.Passed+x.Left == 0 {
				t.Fatalf("%+v after a share of %v", x, before)
			}
			if x.Waiting > 0 && x.Waiting < 1 && !(x.Interval95.Lo > 0 && x.Interval95.Lo < x.Waiting && x.Waiting < x.Interval95.Hi && x.Interval95.Hi < 1) {
				t.Fatalf("%+v: the interval does not hold the share", x)
			}
			before, people = x.Waiting, people+x.Passed+x.Left
		}
		if people != len(waits) || s.Students != len(waits) {
			t.Fatalf("%d people in %d waits", people, len(waits))
		}
		turned := slices.Clone(waits)
		slices.Reverse(turned)
		if again := SurvivalOf(turned); again.Median != s.Median || len(again.Steps) != len(s.Steps) {
			t.Fatalf("another order gave %+v, not %+v", again, s)
		}
		half := len(waits) / 2
		r := LogRankOf([][]Wait{waits[:half], waits[half:]})
		later := func(ws []Wait) (out []Wait) {
			for _, w := range ws {
				out = append(out, Wait{Time: w.Time*w.Time + 3, Passed: w.Passed})
			}
			return out
		}
		if o := LogRankOf([][]Wait{later(waits[half:]), later(waits[:half])}); math.Abs(o.ChiSquare-r.ChiSquare) > 1e-9 || o.CannotTell != r.CannotTell {
			t.Fatalf("the same order of times gave %+v, not %+v", o, r)
		}
		passed := 0
		for i := range waits {
			if waits[i].Passed = true; waits[i].Time <= 6 {
				passed++
			}
		}
		share := 1.0
		for _, x := range SurvivalOf(waits).Steps {
			if x.Time <= 6 {
				share = x.Waiting
			}
		}
		if want := 1 - float64(passed)/float64(len(waits)); math.Abs(share-want) > 1e-9 {
			t.Fatalf("without censoring the share is %v, want %v", share, want)
		}
	})
}

// TestCheckWaits on both sides of every bound.
func TestCheckWaits(t *testing.T) {
	many := func(groups, students int) [][]Wait {
		out := make([][]Wait, groups)
		for i := range out {
			out[i] = make([]Wait, students)
		}
		return out
	}
	for _, c := range []struct {
		name   string
		groups [][]Wait
		want   []string
	}{
		{"times", [][]Wait{{{0, true}, {100_000, false}}}, nil},
		{"no group", nil, []string{"/g"}},
		{"fifty groups", many(50, 1), nil},
		{"a group more", many(51, 1), []string{"/g"}},
		{"twenty thousand students", many(2, 10_000), nil},
		{"a student more", append(many(2, 10_000), []Wait{{}}), []string{"/g"}},
		{"nobody", [][]Wait{{{}}, {}}, []string{"/g/1/students"}},
		{"no times", [][]Wait{{{1, true}, {-0.5, true}, {100_000.5, false}, {math.NaN(), false}}}, []string{"/g/0/students/1/time", "/g/0/students/2/time", "/g/0/students/3/time"}},
	} {
		var p domain.Problems
		CheckWaits(&p, "/g", c.groups)
		var at []string
		for _, f := range p.Fields() {
			at = append(at, f.Pointer)
		}
		if !slices.Equal(at, c.want) {
			t.Errorf("%s: refused at %v, want %v", c.name, at, c.want)
		}
	}
}
