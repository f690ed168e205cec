package course_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/course"
)

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if math.Abs(got-want) > within || math.IsNaN(got) {
		t.Errorf("%s: got %.6f, want %.6f", what, got, want)
	}
}

// Jeffreys' posterior of 9 of 24 is Beta(9.5, 15.5), whose mean is 0.38.
func TestUpAndDown(t *testing.T) {
	s := course.UpAndDown(course.Tally{Rounds: 8, Chances: 24, Saved: 9})
	near(t, "mean", s.Rate.Mean, 9.5/25, 1e-12)
	if got := s.Text(); got != "Up and down 9 of 24 times (38 %); the true rate is probably 26 to 51 %." {
		t.Errorf("%q", got)
	}
	// The share beside the counts is that of the counts: 3 of 13 is 23 %, though 25 % is
	// to be expected (3.5 of 14).
	if got := course.UpAndDown(course.Tally{Rounds: 5, Chances: 13, Saved: 3}).Text(); !strings.HasPrefix(got, "Up and down 3 of 13 times (23 %); the true rate is probably ") {
		t.Errorf("%q", got)
	}
	if got := course.UpAndDown(course.Tally{Rounds: 1}).Text(); got != "No hole yet of which the putts are known." {
		t.Errorf("%q", got)
	}
	// Beta(1/2, 3/2) is below x with (2/π)(asin √x + √(x(1−x))): 0.90 at 0.65.
	if got := course.UpAndDown(course.Tally{Rounds: 1, Chances: 1}).Text(); got != "Up and down 0 of 1 time (0 %); the true rate is probably 1 to 65 %." {
		t.Errorf("%q", got)
	}
}

// The interval of the up-and-down rate holds the student's own in at least three of
// four cases that it promises four of five, with the form of the day in it.
func TestUpAndDownCoverage(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for _, rounds := range []int{6, 20} {
		const draws = 600
		held := 0.0
		for range draws {
			level := 0.2 + 0.35*r.Float64()
			tally := course.Tally{Rounds: rounds}
			for range rounds {
				day := logistic(math.Log(level/(1-level)) + 0.3*r.NormFloat64())
				for range 3 + r.IntN(5) {
					tally.Chances++
					if r.Float64() < day {
						tally.Saved++
					}
				}
			}
			if i := course.UpAndDown(tally).Rate.Interval80; i.Lo <= level && level <= i.Hi {
				held += 1.0 / draws
			}
		}
		if held < 0.75 || held > 0.86 {
			t.Errorf("%d rounds: held in %.3f", rounds, held)
		}
	}
}

func shotOf(lie course.Lie, from, left domain.Length) course.Shot {
	return course.Shot{Lie: lie, Distance: from, Left: left, LeftLie: course.Green, Holed: left == 0}
}

func TestProximity(t *testing.T) {
	var r course.Round
	for i := range 10 { // 0 (holed), 1, … 9 m from the rough at 15 yd
		r.Shots = append(r.Shots, shotOf(course.Rough, 15*domain.Yard, domain.Length(9-i)*domain.Metre))
	}
	r.Shots = append(r.Shots, shotOf(course.Fairway, 10*domain.Yard-1, 3*domain.Foot), shotOf(course.Fairway, 10*domain.Yard, 5*domain.Foot),
		shotOf(course.Sand, course.MaxDistance, domain.Metre), shotOf(course.Sand, 30*domain.Yard, 3*domain.Metre))
	got := course.Near([]course.Round{r, {}})
	if len(got) != 4 {
		t.Fatalf("got %+v", got)
	}
	// For ten values the third from either end hold the median with probability
	// 1 − 2·(1 + 10 + 45)/1024 = 0.89, and the fourth with 0.66 (binomial, by hand).
	if p := got[2]; p.Lie != course.Rough || p.Shots != 10 || p.Holed != 1 || p.Median != 45*domain.Metre/10 || !p.Told || p.Low != 2*domain.Metre || p.High != 7*domain.Metre {
		t.Errorf("ten from the rough: %+v", p)
	}
	if p := got[0]; p.Lie != course.Fairway || p.To != 10*domain.Yard || p.Told || p.Median != 3*domain.Foot {
		t.Errorf("near: %+v", p)
	}
	if p := got[1]; p.From != 10*domain.Yard || p.Median != 5*domain.Foot {
		t.Errorf("farther: %+v", p)
	}
	if p := got[3]; p.Shots != 2 || p.Median != 2*domain.Metre || p.From != 30*domain.Yard {
		t.Errorf("from the sand: %+v", p)
	}
	r.Shots = r.Shots[:4] // 6 to 9 m: the extremes of four hold it with 7/8
	if p := course.Near([]course.Round{r})[0]; !p.Told || p.Low != 6*domain.Metre || p.High != 9*domain.Metre {
		t.Errorf("four: %+v", p)
	}
	r.Shots = r.Shots[:3]
	if p := course.Near([]course.Round{r})[0]; p.Told {
		t.Errorf("three: %+v", p)
	}
}

// flat is a baseline of three strokes from the sand, two and a half from elsewhere off
// the green, and two from it, up to 50 m.
var flat = course.Baseline{Whose: "others", Name: "others, 2026", Expected: func(lie course.Lie, d domain.Length) (float64, bool) {
	return map[course.Lie]float64{course.Sand: 3, course.Green: 2}[lie] + map[bool]float64{true: 2.5}[lie == course.Rough || lie == course.Fairway], d <= 50*domain.Metre
}}

func TestGained(t *testing.T) {
	for _, c := range []struct {
		why  string
		shot course.Shot
		want float64
		ok   bool
	}{
		{"onto the green", shotOf(course.Rough, domain.Metre, domain.Metre), 2.5 - 1 - 2, true},
		{"holed from the sand", shotOf(course.Sand, domain.Metre, 0), 2, true},
		{"too far", shotOf(course.Sand, 51*domain.Metre, 0), 0, false},
		{"left too far", shotOf(course.Sand, domain.Metre, 51*domain.Metre), 0, false},
	} {
		got, ok := flat.Gained(c.shot)
		if ok != c.ok || ok && math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%s: %v, %v", c.why, got, ok)
		}
	}
	// From 20 yd of rough to 6 ft: 2.59 − 1 − 1.34 (Broadie 2012, Table 9; 2014).
	got, _ := course.Tour().Gained(shotOf(course.Rough, 20*domain.Yard, 6*domain.Foot))
	near(t, "the tour's", got, 0.25, 0.011)
	if _, ok := course.Tour().Gained(shotOf(course.Rough, 95*domain.Metre, domain.Metre)); ok {
		t.Error("beyond a hundred yards the baseline says something")
	}
	if _, ok := course.Tour().Gained(shotOf(course.Rough, 20*domain.Metre, 30*domain.Metre)); ok {
		t.Error("beyond ninety feet of green the baseline says something")
	}
	if _, ok := course.Tour().Gained(shotOf(course.Fairway, 1, 1)); !ok {
		t.Error("very near the baseline says nothing")
	}
}

// The variance is that of a ratio over rounds, by hand: rounds of 2 and 4 and 6 shots
// gained 0, 1 and 2, so 0.25 a shot; the residuals are −0.5, 0 and 0.5.
func TestLevelByHand(t *testing.T) {
	l := course.LevelOf([]course.Sum{{Shots: 2}, {Shots: 4, Gained: 1}, {Shots: 6, Gained: 2}, {}})
	se := math.Sqrt(3.0 / 2 * 0.5 / 144)
	const t90 = 1.8856 // Student, 2 degrees of freedom, 90 %: any table
	near(t, "a shot", l.PerShot, 0.25, 1e-12)
	near(t, "a round", l.PerRound(), 1, 1e-12)
	near(t, "high", l.Interval80.Hi, 0.25+t90*se, 1e-5)
	near(t, "low", l.Interval80.Lo, 0.25-t90*se, 1e-5)
	if got := l.Text("others"); got != "+1.0 strokes a round of 4 shots against others (+0.5 to +1.5), from 12 shots in 3 rounds." {
		t.Errorf("%q", got)
	}
	if l := course.LevelOf([]course.Sum{{Shots: 1, Gained: -0.3}, {Shots: 1, Gained: -0.3}}); l.Told || l.Text("others") != "−0.3 strokes a round of 1 shot against others, from 2 shots in 2 rounds." {
		t.Errorf("two rounds: %+v %q", l, l.Text("others"))
	}
	if l := course.LevelOf(nil); l.Text("others") != "No shot yet to count strokes gained of." || l.PerRound() != 0 {
		t.Errorf("no round: %+v", l)
	}
}

// rounds gives rounds of so many shots from a lie; all of each third round are holed.
func roundsFrom(n int, lies ...course.Lie) (all []course.Round) {
	for i := range n {
		var r course.Round
		for j, lie := range lies {
			r.Shots = append(r.Shots, shotOf(lie, 9*domain.Metre, domain.Length(min(1, i*(j+1)%3))*domain.Metre))
		}
		all = append(all, r)
	}
	return all
}

func TestCompare(t *testing.T) {
	before := roundsFrom(12, course.Rough, course.Rough, course.Sand)
	c := flat.Compare(before, before)
	near(t, "no change", c.PerShot, 0, 1e-12)
	if c.Verdict != course.CannotTell || !c.Told {
		t.Errorf("no change: %+v", c)
	}
	// All holed: two strokes more a shot than two putts, from whichever lie.
	after := []course.Round{}
	for i := range 6 {
		r := course.Round{Shots: []course.Shot{shotOf(course.Rough, 9*domain.Metre, 0), shotOf(course.Rough, 9*domain.Metre, 0)}}
		if i == 0 {
			r.Shots[0] = shotOf(course.Rough, 9*domain.Metre, domain.Metre)
		}
		after = append(after, r)
	}
	better, worse := flat.Compare(before, after), flat.Compare(after, before)
	if better.Verdict != course.Better || better.PerShot < 0.5 || better.PerRound() != 3*better.PerShot {
		t.Errorf("better: %+v", better)
	}
	if worse.Verdict != course.Worse || worse.PerShot > -0.5 {
		t.Errorf("worse: %+v", worse)
	}
	for why, c := range map[string]course.Change{"few before": flat.Compare(before[:2], after), "few after": flat.Compare(before, after[:2]), "the same to a hair": flat.Compare(after[1:], after[1:])} {
		if c.Told || c.Verdict != course.CannotTell {
			t.Errorf("%s: %+v", why, c)
		}
	}
	if got := flat.Compare(before[:2], after).Text(); got != "Cannot tell yet: it takes 3 rounds before and 3 after." {
		t.Errorf("%q", got)
	}
	few := roundsFrom(6, course.Rough, course.Rough, course.Sand)
	if got := flat.Compare(few, after[:4]).Text(); got != "+2.7 strokes a round of 3 shots against the 6 rounds before (+1.0 to +4.2): likely better, and too early to be sure." {
		t.Errorf("%q", got)
	}
	if got := flat.Compare(after[:4], few).Text(); got != "−1.5 strokes a round of 3 shots against the 4 rounds before (−3.0 to +0.2): too early to say." {
		t.Errorf("%q", got)
	}
	if got := flat.Compare(after[:5], few).Text(); !strings.HasSuffix(got, "likely worse, and too early to be sure.") {
		t.Errorf("%q", got)
	}
	if got := flat.Compare(nil, after).Text(); got != "Cannot tell yet: there are no earlier rounds to compare with." {
		t.Errorf("%q", got)
	}
	if got := flat.Compare(before, before).Text(); got != "0 strokes a round of 3 shots against the 12 rounds before (−1.1 to +1.1): too early to say." {
		t.Errorf("%q", got)
	}
	if got := better.Text(); got[len(got)-8:] != "better." && got[len(got)-7:] != "better." {
		t.Errorf("%q", got)
	}
}

// A round with more bunkers than before is no worse one: only how each lie is played
// counts.
func TestCompareByLie(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 1))
	play := func(n int, lies ...course.Lie) (all []course.Round) {
		for range n {
			var x course.Round
			for _, lie := range lies {
				left := 2 * domain.Metre
				if r.Float64() < 0.3 {
					left = 0
				}
				s := shotOf(lie, 9*domain.Metre, left)
				if lie == course.Sand && left > 0 { // a bunker player who leaves it in
					s.LeftLie = course.Sand
				}
				x.Shots = append(x.Shots, s)
			}
			all = append(all, x)
		}
		return all
	}
	change, plain := 0.0, 0.0
	const draws = 200
	for range draws {
		before := play(12, course.Rough, course.Rough, course.Rough, course.Sand)
		after := play(8, course.Rough, course.Sand, course.Sand, course.Sand)
		c := flat.Compare(before, after)
		change += c.PerShot / draws
		plain += (levelOf(after).PerShot - levelOf(before).PerShot) / draws
		near(t, "before, from the lies played after", c.After.PerShot-c.Before.PerShot, c.PerShot, 1e-12)
	}
	if plain > -0.1 || math.Abs(change) > 0.5*math.Abs(plain) {
		t.Errorf("plainly %.3f, by lie %.3f", plain, change)
	}
}

// levelOf is the level of rounds by themselves.
func levelOf(rounds []course.Round) course.Level {
	var sums []course.Sum
	for _, r := range rounds {
		sums = append(sums, flat.Of(r))
	}
	return course.LevelOf(sums)
}

// What is told of before, of after and of the change adds up, as numbers and as read,
// however many shots and which lies the rounds had.
func TestCompareAddsUp(t *testing.T) {
	read := func(text string) (x float64, shots int) {
		if _, err := fmt.Sscanf(strings.Replace(text, "−", "-", 1), "%f strokes a round of %d shot", &x, &shots); err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		return x, shots
	}
	r := rand.New(rand.NewPCG(4, 11))
	for range 300 {
		s := report(r, 14, 1)
		for i := range s.rounds[8:] { // more shots a round later on
			s.rounds[8+i].Shots = append(s.rounds[8+i].Shots, s.rounds[i].Shots[:1]...)
		}
		c := course.Tour().Compare(s.rounds[:8], s.rounds[8:])
		near(t, "the change in a round", c.After.PerRound()-c.Before.PerRound(), c.PerRound(), 1e-9)
		if !(c.Before.Interval80.Lo < c.Before.PerShot && c.Before.PerShot < c.Before.Interval80.Hi) {
			t.Errorf("before is %v, in %v", c.Before.PerShot, c.Before.Interval80)
		}
		before, n := read(c.Before.Text("others"))
		after, m := read(c.After.Text("others"))
		change, k := read(c.Text())
		if all := c.Before.Shots + c.After.Shots; n != m || n != k || n != int(math.Round(float64(all)/14)) {
			t.Errorf("rounds of %d, %d and %d shots", n, m, k)
		}
		near(t, "as read", after-before, change, 1e-9)
		near(t, "as read, of the change", change, c.PerRound(), 0.1001)
	}
}

// Of students whose game stays as it is, one in forty is told better and one worse.
func TestCompareFalseAlarms(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	const draws = 500
	told := map[course.Verdict]float64{}
	for range draws {
		s := report(r, 15, 0)
		told[course.Tour().Compare(s.rounds[:10], s.rounds[10:]).Verdict] += 1.0 / draws
	}
	if told[course.Better] > 0.05 || told[course.Worse] > 0.05 {
		t.Errorf("told %v", told)
	}
}

func TestRecent(t *testing.T) {
	at := func(h int) course.Round { return course.Round{PlayedAt: now.Add(time.Duration(h) * time.Hour)} }
	for n, want := range map[int][2]int{0: {0, 0}, 1: {1, 0}, 2: {1, 1}, 7: {4, 3}, 10: {5, 5}, 30: {25, 5}} {
		var all []course.Round
		for i := range n {
			all = append(all, at(i))
		}
		course.Latest(all)
		earlier, recent := course.Recent(all)
		if len(earlier) != want[0] || len(recent) != want[1] {
			t.Errorf("%d: %d earlier and %d recent", n, len(earlier), len(recent))
		}
		if len(recent) > 0 && !recent[0].PlayedAt.After(earlier[0].PlayedAt) {
			t.Errorf("%d: the recent are not the latest", n)
		}
	}
	same := []course.Round{{ID: "a"}, {ID: "b"}}
	if course.Latest(same); same[0].ID != "b" {
		t.Error("of equal times the higher ID comes first")
	}
}
