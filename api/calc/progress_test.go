package calc

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"fringework/domain"
	"fringework/domain/estimate"
)

// TestReferenceRate asks for one session each of the published intervals:
// Brown, Cai & DasGupta (2001), Statistical Science 16:101-133, and Newcombe
// (1998), Statistics in Medicine 17:857-872, by scipy 1.10.1.
func TestReferenceRate(t *testing.T) {
	var groups []struct {
		ID    string
		Cases []struct {
			ID, Kind         string
			Inputs, Expected json.RawMessage
			Tolerance        struct{ Abs float64 }
		}
	}
	readFile(t, "../../domain/estimate/testdata/statistics.json", &groups)
	asked := 0
	for _, g := range groups {
		if g.ID != "6-binomial-intervals" {
			continue
		}
		for _, c := range g.Cases {
			if c.Kind != "interval" {
				continue
			}
			var in struct {
				X, N  int
				Level float64
			}
			if err := json.Unmarshal(c.Inputs, &in); err != nil {
				t.Fatal(err)
			}
			var want struct {
				Jeffreys     [2]float64
				JeffreysMean float64 `json:"jeffreys_mean"`
				Uniform      [2]float64
			}
			if err := json.Unmarshal(c.Expected, &want); err != nil {
				t.Fatal(err)
			}
			for prior, interval := range map[string][2]float64{"": want.Jeffreys, `,"prior":{"a":1,"b":1}`: want.Uniform} {
				var out RateOut
				ask(t, "rate", fmt.Sprintf(`{"sessions":[{"day":0,"balls":%d,"inside":%d}]%s}`, in.N, in.X, prior), &out)
				got, ok := map[float64][2]float64{0.8: out.Interval80, 0.95: out.Interval95}[in.Level]
				if !ok {
					continue
				}
				asked++
				for i := range got {
					if math.Abs(got[i]-interval[i]) > c.Tolerance.Abs {
						t.Errorf("%s%s: %v, want %v", c.ID, prior, got, interval)
					}
				}
				if prior == "" && math.Abs(out.Mean-want.JeffreysMean) > c.Tolerance.Abs {
					t.Errorf("%s: mean %v, want %v", c.ID, out.Mean, want.JeffreysMean)
				}
				if math.Abs(out.EffectiveBalls-float64(in.N)) > 1e-9 {
					t.Errorf("%s: %v effective balls, want %d", c.ID, out.EffectiveBalls, in.N)
				}
			}
		}
	}
	if asked < 20 {
		t.Errorf("asked %d questions, want at least 20", asked)
	}
}

// TestProgressShape holds the members that callers rely on, by name.
func TestProgressShape(t *testing.T) {
	var days []string
	for i := range 26 {
		days = append(days, fmt.Sprintf(`{"day":%d,"balls":30,"inside":%d}`, 2*i, 14+i%3))
	}
	in := `{"sessions":[` + strings.Join(days, ",") + `],"tier":{"run":6,"holed":0,"radius_m":1.8},"balls_per_test":20,` +
		`"as_of_day":51,"sessions_per_week":3,"walk":true,"start_date":"2026-05-01"}`
	var out map[string]any
	ask(t, "progress", in, &out)
	for path, kind := range map[string]string{
		"rate.mean": "float64", "rate.interval80": "[]interface {}", "rate.interval95": "[]interface {}", "rate.effective_balls": "float64",
		"trend.slope": "float64", "trend.interval80": "[]interface {}", "trend.p_improving": "float64",
		"forecast.next_session": "float64", "forecast.within.4": "float64", "forecast.within.8": "float64", "forecast.within.12": "float64",
		"forecast.range80_sessions": "[]interface {}", "forecast.range80_days": "[]interface {}",
		"undecided.applies": "bool", "undecided.more_sessions": "float64",
	} {
		var v any = out
		for name := range strings.SplitSeq(path, ".") {
			m, _ := v.(map[string]any)
			v = m[name]
		}
		if got := fmt.Sprintf("%T", v); got != kind {
			t.Errorf("%s is %s, want %s", path, got, kind)
		}
	}
	if _, ok := out["forecast"].(map[string]any)["median_sessions"]; !ok {
		t.Error("forecast lacks median_sessions")
	}
	history := out["history"].([]any)
	first, last := history[0].(map[string]any), history[25].(map[string]any)
	if len(history) != 26 || first["session"] != 1.0 || first["undecided"] != true || len(first["reasons"].([]any)) != 0 {
		t.Errorf("history of %d begins with %v", len(history), first)
	}
	if !slices.Contains(last["reasons"].([]any), any("flat")) || last["undecided"] != false {
		t.Errorf("26 sessions alike end as %v, want flat", last)
	}
	for _, s := range out["stalls"].([]any) {
		s := s.(map[string]any)
		for _, name := range []string{"reason", "since_session", "evidence", "advice"} {
			if s[name] == nil || s[name] == "" {
				t.Errorf("stall %v lacks %s", s, name)
			}
		}
	}
}

// TestProgressLeavesOut: a tier, the day, the pace and the prior may be left
// out, and there may be no session yet.
func TestProgressLeavesOut(t *testing.T) {
	var out ProgressOut
	ask(t, "progress", `{"sessions":[]}`, &out)
	if out.Forecast != nil || out.Stalls == nil || len(out.Stalls) != 0 || !out.Undecided.Applies || out.History != nil {
		t.Errorf("without anything: %+v", out)
	}
	ask(t, "progress", `{"sessions":[],"tier":{"run":30,"holed":0},"balls_per_test":20}`, &out)
	if f := out.Forecast; f == nil || f.MedianSessions != nil || f.Range80Days[1] != nil || f.Within.Twelve != 0 {
		t.Errorf("a run that does not fit: %+v, want no chance and no median", f)
	}
}

// TestProgressOfALapse: who has stopped practising is told so, by session without
// a start date and by day with one, and is not called flat besides.
func TestProgressOfALapse(t *testing.T) {
	var days []string
	for i := range 26 {
		days = append(days, fmt.Sprintf(`{"day":%d,"balls":30,"inside":%d}`, 2*i, 14+i%3))
	}
	held := strings.Join(days, ",")
	for in, want := range map[string]StallOut{
		`{"sessions":[` + held + `],"as_of_day":60}`: {
			SinceSession: 26, RaisedSession: 26, Evidence: "no session for 10 days (the last was session 26); usually one every 2 days."},
		`{"sessions":[` + held + `,{"day":55,"balls":0,"inside":0}],"as_of_day":60.5,"start_date":"2026-05-01"}`: {
			SinceSession: 26, RaisedSession: 27, Evidence: "no session for 10 days (the last session was on 20 June); usually one every 2 days; 1 planned session missed."},
	} {
		want.Reason, want.Probability = "lapsed", 1
		want.Advice = "Ask what is in the way; pause the programme for a holiday or an injury, or plan fewer, shorter sessions."
		var out ProgressOut
		ask(t, "progress", in, &out)
		if len(out.Stalls) != 1 || out.Stalls[0] != want {
			t.Errorf("got %+v, want %+v alone", out.Stalls, want)
		}
	}
}

func TestProgressRefusals(t *testing.T) {
	many := strings.Repeat(`{"day":0,"balls":1,"inside":1},`, 1000) + `{"day":0,"balls":1,"inside":1}`
	for _, c := range []struct{ name, in, want string }{
		{"rate", `{}`, "/sessions"},
		{"rate", `{"sessions":[{}]}`, "/sessions/0/day /sessions/0/balls /sessions/0/inside"},
		{"rate", `{"sessions":[{"day":0,"balls":3,"inside":4}]}`, "/sessions/0/inside"},
		{"rate", `{"sessions":[{"day":2,"balls":3,"inside":1},{"day":1,"balls":3,"inside":1}]}`, "/sessions/1/day"},
		{"rate", `{"sessions":[{"day":0,"balls":1.5,"inside":1}]}`, "/sessions/0/balls"},
		{"rate", `{"sessions":[],"prior":{"a":0,"b":0}}`, "/prior/a /prior/b"},
		{"rate", `{"sessions":[],"prior":{"a":1}}`, "/prior/b"},
		{"rate", `{"sessions":[` + many + `]}`, "/sessions"},
		{"rate", `{"sessions":[],"tier":{}}`, "/tier"},
		{"progress", `{}`, "/sessions"},
		{"progress", `{"sessions":[],"prior":{"a":0,"b":0}}`, "/prior/a /prior/b"},
		{"progress", `{"sessions":[],"tier":{"run":6}}`, "/tier/holed /balls_per_test"},
		{"progress", `{"sessions":[],"tier":{"run":0,"holed":0},"balls_per_test":-1}`, "/tier/run /balls_per_test"},
		{"progress", `{"sessions":[],"tier":{"run":3,"holed":4},"balls_per_test":10}`, "/tier/holed"},
		{"progress", `{"sessions":[],"tier":{"run":3,"holed":0,"radius_m":0},"balls_per_test":10}`, "/tier/radius_m"},
		{"progress", `{"sessions":[],"as_of_day":1e300,"sessions_per_week":-1}`, "/as_of_day /sessions_per_week"},
		{"progress", `{"sessions":[],"start_date":"1 May"}`, "/start_date"},
		{"progress", `{"sessions":[],"walk":1}`, "/walk"},
		{"progress", `{"sessions":[],"radius_m":1,"tier":{"run":3,"holed":0,"radius_m":2},"balls_per_test":10}`, "/radius_m"},
		{"progress", `{"sessions":[],"passed":[{"run":0,"radius_m":1,"holed":0}],"tier":{"run":3,"holed":0},"balls_per_test":9,"best_run":{"run":3}}`, "/passed/0/run /best_run/holed"},
		{"rate", `{"sessions":[{"day":0,"elsewhere":[{"radius_m":1.5,"balls":10,"inside":5}]}]}`, "/sessions/0/elsewhere/0/radius_m"},
		{"rate", `{"radius_m":1,"sessions":[{"day":0,"elsewhere":[{"radius_m":1,"balls":0,"inside":1,"holed":2}]}]}`,
			"/sessions/0/elsewhere/0/inside /sessions/0/elsewhere/0/holed /sessions/0/elsewhere/0/balls /sessions/0/elsewhere/0/radius_m"},
		{"rate", `{"radius_m":0,"sessions":[]}`, "/radius_m"},
		{"rate", `{"sessions":[],"learned":{"prior":{"a":1},"form":[1]}}`, "/learned/prior/b /learned/form"},
		{"rate", `{"sessions":[],"learned":{"prior":{"a":1,"b":2},"form":[1]}}`, "/learned/form"},
		{"progress", `{"sessions":[],"learned":{"form":[2,-1,0,0,0,0.5]}}`, "/learned/form/0 /learned/form/1"},
	} {
		_, err := Run(c.name, []byte(c.in))
		var e *domain.Error
		if !errors.As(err, &e) || e.Kind != domain.Invalid {
			t.Errorf("%s %.80s: got %v, want it refused", c.name, c.in, err)
			continue
		}
		var got []string
		for _, f := range e.Fields {
			got = append(got, f.Pointer)
		}
		if strings.Join(got, " ") != c.want {
			t.Errorf("%s %.80s: fields %v, want %s", c.name, c.in, got, c.want)
		}
	}
}

func FuzzRate(f *testing.F) {
	fuzz(f, rate, `{"sessions":[{"day":-1e5,"balls":10000,"inside":0,"holed":0},{"day":3,"balls":1,"inside":1,"holed":1,"milestone":true}],"prior":{"a":0.01,"b":10000}}`)
}
func FuzzProgress(f *testing.F) {
	fuzz(f, progressOf, `{"sessions":[{"day":0,"balls":0,"inside":0}],"tier":{"run":200,"holed":200,"radius_m":30},"balls_per_test":2000,"sessions_per_week":50,"metric":true}`,
		`{"sessions":[{"day":1e6,"balls":10000,"inside":10000}],"tier":{"run":1,"holed":0},"balls_per_test":2000,"walk":true,"start_date":"9999-12-31"}`)
}

// TestLearnedIsReadUnder: what an academy teaches changes rate and next session as
// it does in the progress of a student.
func TestLearnedIsReadUnder(t *testing.T) {
	sessions := []estimate.Observation{{Balls: 20, Inside: 12}, {Day: 2, Balls: 30, Inside: 15}}
	want := estimate.Assess(estimate.Evidence{Sessions: sessions}).Under(estimate.Prior{A: 12, B: 18}, estimate.FormKinds{0.1, 0.1, 0.1, 0.2, 0.2, 0.3})
	const in = `{"sessions":[{"day":0,"balls":20,"inside":12},{"day":2,"balls":30,"inside":15}],"learned":{"prior":{"a":12,"b":18},"form":[0.1,0.1,0.1,0.2,0.2,0.3]}}`
	for _, name := range []string{"rate", "progress"} {
		answer, err := Run(name, []byte(in))
		if err != nil {
			t.Fatal(err)
		}
		raw, err := json.Marshal(answer)
		if err != nil {
			t.Fatal(err)
		}
		var got struct {
			RateOut
			Rate *RateOut `json:"rate"`
			Next NextOut  `json:"next_session"`
		}
		if err := json.Unmarshal(raw, &got); err != nil {
			t.Fatal(err)
		}
		if got.Rate != nil {
			got.RateOut = *got.Rate
		}
		if got.Mean != tidy(want.Rate.Mean) || got.RateOut.Interval80 != tidy(pair(want.Rate.Interval80)) || got.Next.Interval80 != tidy(pair(want.Next.Interval80)) {
			t.Errorf("%s: got %+v and %+v, want %+v and %+v", name, got.RateOut, got.Next, want.Rate, want.Next)
		}
	}
}
