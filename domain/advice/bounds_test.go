package advice

import (
	"math"
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/estimate"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// TestRateInWords: with these numbers one per cent of a rate shows.
func TestRateInWords(t *testing.T) {
	f := flag{&estimate.Flag{Facts: estimate.Facts{Rate: 0.904, RateLo: 0.856, RateHi: 0.996, Sessions: 2, Before: 0.96, BeforeLo: 0.91, BeforeHi: 0.98}}}
	if got, want := f.rate(Reader{}), "inside: 90 % (86 to 100) over the last 2 sessions"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got, _ := (slip{f}).words(Reader{}); !strings.Contains(got, ", down from 96 % (91 to 98) before session 0") {
		t.Errorf("got %q", got)
	}
}

// TestWaitAtItsBounds: a test as long as the run can be passed; beyond forty
// sessions nothing is promised.
func TestWaitAtItsBounds(t *testing.T) {
	const far = "; the next step is not realistic this season at today's form"
	for _, c := range []struct {
		run, balls int
		median     float64
		want       string
	}{
		{0, 20, 5, ""},
		{1, 1, 1, "; at this rate the next step is about 1 session away"},
		{1, 0, 1, "; one ball cannot be made in 0 balls"},
		{9, 9, 5, "; at this rate the next step is about 5 sessions away"},
		{9, 8, 5, "; 9 in a row cannot be made in 8 balls"},
		{9, 20, 40, "; at this rate the next step is about 40 sessions away"},
		{9, 20, 41, far},
		{9, 20, 0, far},
	} {
		f := flag{&estimate.Flag{Facts: estimate.Facts{Tier: streak.Tier{Run: c.run}, BallsPerTest: c.balls, MedianSessions: c.median}}}
		if got := f.wait(); got != c.want {
			t.Errorf("%d in a row in %d balls, %v sessions: got %q, want %q", c.run, c.balls, c.median, got, c.want)
		}
	}
	for balls, want := range map[int]string{8: "Plan tests of at least 18 balls.", 9: "Put an easier step before it: a shorter shot, or a better lie."} {
		f := flag{&estimate.Flag{Facts: estimate.Facts{Tier: streak.Tier{Run: 9}, BallsPerTest: balls}}}
		if _, got := (reach{f}).words(Reader{}); got != want {
			t.Errorf("9 in a row in %d balls: got %q, want %q", balls, got, want)
		}
	}
}

// TestEasierAtItsBounds: a run of three is worth playing for, one of two not; a
// circle is named from wider than it is to three times as wide.
func TestEasierAtItsBounds(t *testing.T) {
	for _, c := range []struct {
		scale  float64
		radius domain.Length
		run    int
		want   string
	}{
		{0, 0, 2, ""},
		{0, 0, 3, "3 in a row (even odds in one session)"},
		{0, 0, 8, "8 in a row (even odds in one session)"},
		{0, 0, 9, ""},
		{0, 0, 10, ""},
		{0.5, domain.Metre, 0, ""},
		{1, domain.Metre, 0, ""},
		{1.001, domain.Metre, 0, "a 1 m circle (even odds in one session)"},
		{2.5, domain.Metre, 4, "a 1 m circle or 4 in a row (either has even odds in one session)"},
		{3, domain.Metre, 0, "a 1 m circle (even odds in one session)"},
		{3.001, domain.Metre, 0, ""},
		{3.001, domain.Metre, 4, "4 in a row (even odds in one session)"},
		{1.01, 0, 0, "a circle 1.1 times as wide (even odds in one session)"},
		{1.9, 0, 0, "a circle 1.9 times as wide (even odds in one session)"},
	} {
		f := flag{&estimate.Flag{Facts: estimate.Facts{Tier: streak.Tier{Run: 9}, EvenScale: c.scale, EvenRadius: c.radius, EvenRun: c.run}}}
		if got := f.easier(Reader{Metric: true}); got != c.want {
			t.Errorf("%v times as wide, %v, %d in a row: got %q, want %q", c.scale, c.radius, c.run, got, c.want)
		}
	}
	for scale, want := range map[float64]string{
		0.2: "a smaller circle, more in a row", 0.21: "a circle 0.2 times as wide (even odds in one session)",
		0.99: "a circle 1.0 times as wide (even odds in one session)", 1: "a smaller circle, more in a row", 1.2: "a smaller circle, more in a row",
	} {
		f := flag{&estimate.Flag{Facts: estimate.Facts{Tier: streak.Tier{Run: 9}, EvenScale: scale}}}
		if _, got := (ease{f}).words(Reader{}); got != "Test it, and go on to "+want+" or a longer shot." {
			t.Errorf("%v times as wide: got %q, want %q", scale, got, want)
		}
	}
}

// TestLengthsInWords: a circle is rounded to half a foot or a tenth of a metre,
// to the side it is meant for; what was set is told as it was set.
func TestLengthsInWords(t *testing.T) {
	feet := func(f float64) domain.Length { return domain.Length(math.Round(f * float64(domain.Foot))) }
	metres := func(m float64) domain.Length { return domain.Length(math.Round(m * float64(domain.Metre))) }
	ft, m := Reader{}, Reader{Metric: true}
	for _, c := range []struct{ got, want string }{
		{ft.circle(feet(3.6), up), "a 4 ft circle"}, {ft.circle(feet(3.6), down), "a 3.5 ft circle"},
		{ft.circle(feet(7.5), up), "a 7.5 ft circle"}, {ft.circle(feet(7.5), down), "a 7.5 ft circle"},
		{ft.circle(feet(8.5), up), "an 8.5 ft circle"}, {ft.circle(feet(11), up), "an 11 ft circle"},
		{ft.circle(feet(18), down), "an 18 ft circle"}, {ft.circle(feet(10), down), "a 10 ft circle"},
		{ft.circle(feet(5), down), "a 5 ft circle"}, {ft.circle(feet(81), up), "an 81 ft circle"},
		{m.circle(metres(1.23), up), "a 1.3 m circle"}, {m.circle(metres(1.23), down), "a 1.2 m circle"},
		{m.circle(metres(1.3), up), "a 1.3 m circle"}, {m.circle(metres(1.3), down), "a 1.3 m circle"},
		{m.circle(metres(0.8), up), "a 0.8 m circle"}, {m.circle(metres(8), up), "an 8 m circle"},
		{ft.exact(feet(4.26)), "4.3 ft"}, {ft.exact(feet(12)), "12 ft"}, {ft.exact(feet(4.24)), "4.2 ft"},
		{m.exact(metres(1.524)), "1.52 m"}, {m.exact(metres(1.526)), "1.53 m"}, {m.exact(metres(2)), "2 m"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

func TestNumbersInWords(t *testing.T) {
	for p, want := range map[float64]string{
		0: "under 0.1 %", 0.00099: "under 0.1 %", 0.001: "0.1 %", 0.0994: "9.9 %", 0.0995: "10 %", 0.5: "50 %", 0.904: "90 %", 1: "100 %",
	} {
		if got := percent(p); got != want {
			t.Errorf("%v: got %q, want %q", p, got, want)
		}
	}
	for _, c := range []struct{ got, want string }{
		{inARow(1), "one ball"}, {inARow(2), "2 in a row"}, {count(0, "ball"), "0 balls"}, {count(1, "ball"), "1 ball"}, {count(2, "ball"), "2 balls"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
	a := estimate.Assessment{
		Rate:      estimate.Rate{Mean: 0.904, Interval95: estimate.Interval{Lo: 0.856, Hi: 0.996}},
		Undecided: estimate.Undecided{Applies: true, Sessions: 3, Rising: 0.78, MoreSessions: 2, Balls: 20},
	}
	if got, want := Undecided(a), "90 % (86 to 100) after 3 sessions: the chance that it is rising is 78 %, which is not enough to tell; about 2 more sessions of 20 balls will."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestNearText(t *testing.T) {
	six := streak.Tier{Run: 6, Holed: 2}
	for _, c := range []struct {
		near streak.Near
		want string
	}{
		{streak.Near{Length: 5, Times: 1}, "reached 5 of 6, once"},
		{streak.Near{Length: 5, Times: 2}, "reached 5 of 6, twice"},
		{streak.Near{Length: 4, Times: 3}, "reached 4 of 6, 3 times"},
		{streak.Near{Length: 6, Holed: 1, Times: 1}, "reached 6 in a row with 1 of 2 holed, once"},
		{streak.Near{Length: 7, Times: 11}, "reached 7 in a row with 0 of 2 holed, 11 times"},
	} {
		if got := NearText(c.near, six); got != c.want {
			t.Errorf("%+v: got %q, want %q", c.near, got, c.want)
		}
	}
}

// TestGap is the median of the last gaps, by hand.
func TestGap(t *testing.T) {
	start := time.Date(2026, time.May, 4, 10, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		days []float64
		want float64
	}{
		{nil, 0}, {[]float64{0}, 0}, {[]float64{0, 3, 6}, 0},
		{[]float64{0, 1, 3, 8}, 2},       // gaps 1, 2, 5
		{[]float64{0, 5, 6, 8}, 2},       // gaps 5, 1, 2
		{[]float64{0, 1, 4, 8, 16}, 3.5}, // gaps 1, 3, 4, 8
		{[]float64{0, 0.5, 1, 1.5}, 0.5}, // twice a day
	} {
		var h progress.Habit
		for _, d := range c.days {
			h.Starts = append(h.Starts, start.Add(time.Duration(d*24*float64(time.Hour))))
		}
		if got := gap(h); got != c.want {
			t.Errorf("%v: got %v days, want %v", c.days, got, c.want)
		}
	}
}

// TestPracticeOf: what sessions at one skill show of a habit, on what day.
func TestPracticeOf(t *testing.T) {
	undated := estimate.Evidence{SessionsPerWeek: 2, Sessions: []estimate.Observation{
		{Day: 0, Balls: 20}, {Day: 2.5, Balls: 1}, {Day: 4, Balls: 0}, {Day: 6.75, Balls: 20}, {Day: 9, Balls: 0},
	}}
	dated := undated
	dated.Origin = domain.Date{Year: 2026, Month: time.May, Day: 4}
	p := PracticeOf(dated, 10.9)
	var starts []string
	for _, s := range p.Habit.Starts {
		starts = append(starts, s.Format("2 January 15:04"))
	}
	if got := strings.Join(starts, ", "); got != "4 May 00:00, 6 May 12:00, 10 May 18:00" || p.Habit.Sessions != 5 {
		t.Errorf("got %s, %d sessions, want the three that were held of five", got, p.Habit.Sessions)
	}
	if want := (Numbered{Last: 4, Sessions: 5}); *p.Numbered != want || p.Today != dated.Origin.AddDays(10) || p.PerWeek != 2 || !p.Expected || p.Zone != time.UTC || p.Since != (domain.Date{}) {
		t.Errorf("got %+v, numbered %+v, want it on 14 May, the last held the fourth of five", p, *p.Numbered)
	}
	if p := PracticeOf(dated, 3); p.Today != dated.Origin.AddDays(9) {
		t.Errorf("a day before the last session: got %v, want that session's", p.Today)
	}
	if p := PracticeOf(undated, 9); !p.Numbered.Undated || p.Habit.Starts[0].AddDate(0, 0, 9).Day() != p.Today.Day {
		t.Errorf("undated: got %+v on %v", p.Habit, p.Today)
	}
}

// TestSplitAtItsBounds: a plan of one second is a plan, one second spent is time
// spent; of kinds equally far from the plan the first is named.
func TestSplitAtItsBounds(t *testing.T) {
	kind := func(k string, planned, spent int) progress.KindTime {
		return progress.KindTime{Kind: k, Planned: planned, Spent: spent}
	}
	for _, c := range []struct {
		why         string
		times       []progress.KindTime
		want        bool
		most, least string
	}{
		{"one second", []progress.KindTime{kind("warmup", 1, 0), kind("test", 0, 1)}, true, "test", "warmup"},
		{"two equally short", []progress.KindTime{kind("warmup", 100, 50), kind("technique", 100, 50), kind("test", 100, 200)}, true, "test", "warmup"},
		{"two equally long", []progress.KindTime{kind("warmup", 100, 150), kind("technique", 100, 150), kind("test", 100, 0)}, true, "warmup", "test"},
		{"nothing planned", []progress.KindTime{kind("warmup", 0, 9), kind("test", 0, 1)}, false, "", ""},
		{"nothing spent", []progress.KindTime{kind("warmup", 9, 0), kind("test", 1, 0)}, false, "", ""},
	} {
		got, ok := isLopsided(Practice{Habit: progress.Habit{Planned: 3, Times: c.times}})
		if ok != c.want {
			t.Errorf("%s: stands %v, want %v", c.why, ok, c.want)
			continue
		}
		if s, _ := got.numbers.(split); ok && (s.most.Kind != c.most || s.least.Kind != c.least) {
			t.Errorf("%s: most to %q and least to %q, want %q and %q", c.why, s.most.Kind, s.least.Kind, c.most, c.least)
		}
	}
}

// TestLongestSilence: a reason may be silenced for ninety days.
func TestLongestSilence(t *testing.T) {
	for _, r := range Reasons() {
		if got := r.Silence(); got != 90 {
			t.Errorf("%s: %d days", r, got)
		}
	}
}
