package advice_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"fringework/domain"
	"fringework/domain/advice"
)

// loads are four weeks of so many balls and minutes, and a fifth.
func loads(before advice.LoadWeek, now advice.LoadWeek) [advice.LoadWeeks]advice.LoadWeek {
	return [advice.LoadWeeks]advice.LoadWeek{before, before, before, before, now}
}

func week(balls int, minutes float64) advice.LoadWeek {
	return advice.LoadWeek{Balls: balls, Minutes: minutes}
}

// TestLoadByHand: 80, 120, 100 and 100 balls are 100 a week, 60, 60, 90 and 30
// minutes are 60; 120 balls are a fifth more.
func TestLoadByHand(t *testing.T) {
	l := advice.LoadOf([advice.LoadWeeks]advice.LoadWeek{week(80, 60), week(120, 60), week(100, 90), week(100, 30), week(120, 45)}, false)
	if l.Balls != (advice.LoadChange{Now: 120, Before: 100, Ratio: 1.2}) || l.Minutes != (advice.LoadChange{Now: 45, Before: 60, Ratio: 0.75}) {
		t.Errorf("%+v", l)
	}
	if want := "120 balls in 45 minutes this week so far: about the usual 100 balls in 60 minutes."; l.Text != want {
		t.Errorf("%q, want %q", l.Text, want)
	}
	if l.Caution != "" || l.Why != "" || l.Rule != "" {
		t.Errorf("a caution without a reason: %+v", l)
	}
	if l := advice.LoadOf(loads(week(1, 1), week(1, 1)), true); !strings.HasPrefix(l.Text, "1 ball in 1 minute this week so far: about the usual 1 ball in 1 minute.") || l.Rule == "" || l.Caution != "" {
		t.Errorf("a junior: %+v", l)
	}
}

func TestLoadWords(t *testing.T) {
	for _, c := range []struct {
		before, now int
		want        string
	}{
		{0, 0, "None in the last five weeks."}, {0, 40, "40 balls in 0 minutes this week so far; no ball in the four weeks before."}, {100, 0, "None this week; usually 100 balls in 0 minutes."},
		{100, 1, "1 ball in 0 minutes this week so far; a usual whole week has 100 balls in 0 minutes."}, {100, 79, "so far; a usual whole week has 100"},
		{100, 80, ": about the"}, {100, 125, ": about the"}, {100, 126, ": a little more than the"}, {100, 150, ": a little more than the"},
		{100, 151, ": over one and a half times the"}, {100, 200, ": over one and a half times the"}, {100, 201, ": more than twice the"},
		{100, 249, ": more than twice the"}, {100, 250, ": three times the"}, {100, 300, ": three times the"}, {100, 420, ": 4 times the"},
	} {
		if l := advice.LoadOf(loads(week(c.before, 0), week(c.now, 0)), false); !strings.Contains(l.Text, c.want) {
			t.Errorf("%d after %d: %q, want %q", c.now, c.before, l.Text, c.want)
		}
	}
	if l := advice.LoadOf(loads(week(0, 0), week(40, 30)), false); !math.IsNaN(l.Balls.Ratio) || !math.IsNaN(l.Minutes.Ratio) {
		t.Errorf("a ratio to nothing: %+v", l)
	}
}

// TestLoadCaution: more than half as much again, and by 100 balls or an hour.
func TestLoadCaution(t *testing.T) {
	for _, c := range []struct {
		name        string
		before, now advice.LoadWeek
		want        string // in the caution; empty for none
	}{
		{"half as much again is not more", week(200, 0), week(300, 0), ""},
		{"more than that", week(200, 0), week(301, 0), "301 balls (usually 200)."},
		{"99 balls more", week(100, 0), week(199, 0), ""},
		{"100 balls more", week(100, 0), week(200, 0), "200 balls (usually 100)."},
		{"59 minutes more", week(0, 60), week(0, 119), ""},
		{"an hour more", week(0, 60), week(0, 120), "120 minutes (usually 60)."},
		{"both", week(0, 0), week(100, 60), "100 balls (usually 0), 60 minutes (usually 0)."},
		{"less", week(400, 300), week(10, 10), ""},
	} {
		l := advice.LoadOf(loads(c.before, c.now), false)
		if (l.Caution == "") != (c.want == "") || !strings.HasSuffix(l.Caution, c.want) {
			t.Errorf("%s: %q, want %q", c.name, l.Caution, c.want)
		}
		told := strings.Contains(l.Why, "Lolli") && strings.Contains(l.Why, "Impellizzeri") && strings.Contains(l.Why, "our own choice") && strings.HasPrefix(l.Rule, "Stop if it hurts")
		if told != (c.want != "") {
			t.Errorf("%s: why %q, rule %q", c.name, l.Why, l.Rule)
		}
	}
}

// TestLoadOfJuniors: a quarter more, by 50 balls or half an hour, is a reason to warn a
// junior, and none to warn anybody else.
func TestLoadOfJuniors(t *testing.T) {
	for _, c := range []struct {
		name        string
		before, now advice.LoadWeek
		want        string
	}{
		{"a quarter more is not more", week(200, 0), week(250, 0), ""},
		{"more than that", week(200, 0), week(251, 0), "251 balls (usually 200)."},
		{"49 balls more", week(100, 0), week(149, 0), ""},
		{"50 balls more", week(100, 0), week(150, 0), "150 balls (usually 100)."},
		{"29 minutes more", week(0, 60), week(0, 89), ""},
		{"half an hour more", week(0, 60), week(0, 90), "90 minutes (usually 60)."},
	} {
		l := advice.LoadOf(loads(c.before, c.now), true)
		if (l.Caution == "") != (c.want == "") || !strings.HasSuffix(l.Caution, c.want) || l.Rule == "" || strings.Contains(l.Why, "for a junior a quarter") != (c.want != "") {
			t.Errorf("%s: %+v, want %q", c.name, l, c.want)
		}
		if grown := advice.LoadOf(loads(c.before, c.now), false); grown.Caution != "" {
			t.Errorf("%s, of somebody else: %q", c.name, grown.Caution)
		}
	}
}

func TestCheckLoad(t *testing.T) {
	most := week(advice.MaxWeekBalls, advice.MaxWeekMinutes)
	for _, c := range []struct {
		weeks []advice.LoadWeek
		want  []string
	}{
		{slices.Repeat([]advice.LoadWeek{{}, most}, 3)[:5], nil},
		{nil, []string{"/weeks"}},
		{make([]advice.LoadWeek, 6), []string{"/weeks"}},
		{[]advice.LoadWeek{week(-1, 0), week(10_001, 0), week(0, -0.5), week(0, 10_080.5), week(0, math.NaN())}, []string{"/weeks/0/balls", "/weeks/1/balls", "/weeks/2/minutes", "/weeks/3/minutes", "/weeks/4/minutes"}},
	} {
		var p domain.Problems
		advice.CheckLoad(&p, "/weeks", c.weeks)
		var at []string
		for _, f := range p.Fields() {
			at = append(at, f.Pointer)
		}
		if !slices.Equal(at, c.want) {
			t.Errorf("%v: refused at %v, want %v", c.weeks, at, c.want)
		}
	}
}
