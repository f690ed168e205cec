package calc

import (
	"fmt"
	"strings"
	"testing"
)

// TestDifficultyExample: the long drill is the harder one, and what is null is
// null with a reason.
func TestDifficultyExample(t *testing.T) {
	var out DifficultyOut
	ask(t, "difficulty", difficulty.Example, &out)
	if len(out.Drills) != 2 || len(out.Students) != 5 {
		t.Fatalf("%+v", out)
	}
	long, short := out.Drills[0], out.Drills[1]
	if long.Drill != "long" || long.Students != 4 || long.Balls != 120 || long.CannotTell != nil ||
		!(*long.Difficulty > 0.5 && long.DifficultyInterval80[0] > 0 && *short.Difficulty < -0.5 && *long.MiddlingRate < 0.5 && short.MiddlingRateInterval80[0] > 0.5) {
		t.Errorf("long %+v, short %+v", long, short)
	}
	for _, s := range out.Students {
		if s.CannotTell != nil || !(s.LevelInterval80[0] < *s.Level && *s.Level < s.LevelInterval80[1]) {
			t.Errorf("%+v", s)
		}
	}
	for what, spread := range map[string]*float64{"levels": out.LevelSpread, "difficulties": out.DifficultySpread, "form": out.Form, "taste": out.Taste} {
		if spread == nil || *spread < 0 {
			t.Errorf("spread of %s is %v", what, show(spread))
		}
	}
	ask(t, "difficulty", `{"results":[{"student":"a","drill":"one","balls":80,"inside":40}]}`, &out)
	if d := out.Drills[0]; *d.CannotTell != "unlinked" || d.Difficulty != nil || d.MiddlingRate != nil || d.DifficultyInterval80 != nil || d.MiddlingRateInterval80 != nil || out.LevelSpread != nil {
		t.Errorf("one drill: %+v", out)
	}
	if s := out.Students[0]; *s.CannotTell != "unlinked" || s.Level != nil || s.LevelInterval80 != nil || s.Balls != 80 {
		t.Errorf("one drill: %+v", s)
	}
}

// TestFadeExample: every break costs three balls of forty.
func TestFadeExample(t *testing.T) {
	var out FadeOut
	ask(t, "fade", fade.Example, &out)
	if out.Breaks != 8 || out.Students != 4 || out.CannotTell != nil || out.UsualGap != 3 {
		t.Fatalf("%+v", out)
	}
	near(t, "loss after three weeks, between two and four", new((out.TwoWeeks.Share+out.FourWeeks.Share)/2), 3.0/40, 0.25)
	if four := out.FourWeeks; !(four.ShareInterval80[0] < four.Share && four.Share < four.ShareInterval80[1] && four.LogitsInterval80[0] < four.Logits && four.Logits > out.TwoWeeks.Logits) {
		t.Errorf("%+v", four)
	}
	ask(t, "fade", `{"courses":[]}`, &out)
	if *out.CannotTell != "few_breaks" || out.TwoWeeks != nil || out.FourWeeks != nil || out.MiddlingRate != nil {
		t.Errorf("nothing: %+v", out)
	}
}

// TestUsualDrills: a bunker shot is played from the sand with wedges, from one
// spot where a run counts; of a coach's own shot only words are known.
func TestUsualDrills(t *testing.T) {
	var out UsualDrillsOut
	ask(t, "usual-drills", usualDrills.Example, &out)
	for i, kind := range []string{"warmup", "technique", "stations", "random", "test"} {
		d := out.Drills[i]
		spots, clubs := 1, 1
		switch kind {
		case "stations":
			clubs = 2
		case "random":
			spots, clubs = 3, 2
		}
		if d.Kind != kind || d.Text == "" || len(d.Lies) != spots || len(d.DistancesM) != spots || len(d.Clubs) != clubs || !strings.HasPrefix(d.Lies[0], "bunker") || !strings.HasSuffix(d.Clubs[0], "wedge") {
			t.Errorf("%+v, want %s", d, kind)
		}
	}
	var own UsualDrillsOut
	ask(t, "usual-drills", `{"skill":"own"}`, &own)
	for _, d := range own.Drills {
		if d.Text == "" || d.Lies != nil || d.DistancesM != nil || d.Clubs != nil || d.CarryPercent != 0 {
			t.Errorf("%+v, want a text alone", d)
		}
	}
}

// result and session are correct entries.
const (
	result  = `{"student":"s","drill":"d","balls":3,"inside":1},`
	session = `{"day":1,"balls":3,"inside":1},`
)

// drillRefusals are joined to the list of TestRefusals.
var drillRefusals = []refusal{
	{"difficulty", `{}`, "/results"},
	{"difficulty", `{"results":[null]}`, "/results/0/student /results/0/drill /results/0/balls /results/0/inside"},
	{"difficulty", `{"results":[` + result + `{"student":"","drill":"d","balls":3,"inside":4}]}`, "/results/1/student /results/1/inside"},
	{"difficulty", `{"results":[{"student":"s","drill":"d","balls":1.5,"inside":1}]}`, "/results/0/balls"},
	{"difficulty", `{"results":[` + strings.Repeat(`{},`, 20_000) + `{}]}`, "/results"},
	{"usual-drills", `{}`, "/skill"},
	{"usual-drills", `{"skill":"putting"}`, "/skill"},
	{"fade", `{}`, "/courses"},
	{"fade", `{"courses":[{}]}`, "/courses/0/student /courses/0/sessions"},
	{"fade", `{"courses":[{"student":"s","sessions":[` + session + `{}]}]}`, "/courses/0/sessions/1/day /courses/0/sessions/1/balls /courses/0/sessions/1/inside"},
	{"fade", `{"courses":[{"student":"s","sessions":[` + session + `{"day":0,"balls":2,"inside":3}]}]}`, "/courses/0/sessions/1/day /courses/0/sessions/1/inside"},
	{"fade", `{"courses":[` + strings.Repeat(`{},`, 5000) + `{}]}`, "/courses"},
	{"fade", fmt.Sprintf(`{"courses":[{"student":"s","sessions":[%s{}]}]}`, strings.Repeat(`{},`, 20_000)), "/courses"},
}
