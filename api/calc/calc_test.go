package calc

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"os"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"

	"fringework/domain"
)

// ask runs a calculation on JSON and decodes its answer as a caller would.
func ask(t testing.TB, name, in string, out any) {
	t.Helper()
	got, err := Run(name, []byte(in))
	if err != nil {
		t.Fatalf("%s %s: %v", name, in, err)
	}
	raw, err := json.Marshal(got)
	if err != nil {
		t.Fatalf("%s %s: %v", name, in, err)
	}
	if err := json.Unmarshal(raw, out); err != nil {
		t.Fatalf("%s %s gave %s: %v", name, in, raw, err)
	}
}

// unpack reads JSON of the reference.
func unpack(t testing.TB, text []byte, into any) {
	t.Helper()
	if err := json.Unmarshal(text, into); err != nil {
		t.Fatal(err)
	}
}

// encode writes a value as JSON for an input.
func encode(t testing.TB, v any) string {
	t.Helper()
	raw, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return string(raw)
}

func near(t *testing.T, what string, got *float64, want, rel float64) {
	t.Helper()
	if got == nil || math.Abs(*got-want) > rel*math.Abs(want) {
		t.Errorf("%s = %v, want %v", what, show(got), want)
	}
}

func show(x *float64) any {
	if x == nil {
		return "null"
	}
	return *x
}

func TestListIsInOrder(t *testing.T) {
	names := Names()
	if !slices.IsSorted(names) || len(slices.Compact(slices.Clone(names))) != len(names) {
		t.Errorf("names are %v, want them sorted and once each", names)
	}
	for i, c := range All() {
		if c.Name != names[i] || c.About == "" {
			t.Errorf("entry %d is %q, %q, want %q and a sentence", i, c.Name, c.About, names[i])
		}
	}
}

func TestExamplesAreAnswered(t *testing.T) {
	for _, c := range All() {
		var out map[string]any
		ask(t, c.Name, c.Example, &out)
		if len(out) == 0 {
			t.Errorf("%s: the example has an empty answer", c.Name)
		}
	}
}

func TestUnknownName(t *testing.T) {
	_, err := Run("odds", nil)
	if domain.KindOf(err) != domain.NotFound || !strings.Contains(err.Error(), "streak-odds") {
		t.Errorf("got %v, want a NotFound error that lists the names", err)
	}
}

// TestShapes holds the members that callers rely on, by name.
func TestShapes(t *testing.T) {
	for name, members := range map[string]string{
		"split":       "minutes",
		"runs":        "tiers",
		"streak-odds": "probability expected_balls balls_for rate_for_even_odds",
		"pressure":    "early_rate late_rate difference p_value",
		"spread":      "sigma_m interval80 inside radius_for",
		"holing":      "probability expected_putts three_or_more half_m line_degrees pace",

		"green-speed":    "level_ft slope_deg",
		"carry-roll":     "carry_m apex_m descent_deg landing_speed_mps bounce_m roll_m back_m total_m carry_share",
		"landing-spot":   "carry_m roll_m carry_share speed_mps aim_m learned",
		"stations":       "carry_m clubs",
		"strokes-gained": "shots sum baseline",
		"up-and-down":    "probability interval80 expected_strokes",
	} {
		i := slices.IndexFunc(all, func(c Calculation) bool { return c.Name == name })
		var out map[string]any
		ask(t, name, all[i].Example, &out)
		for member := range strings.FieldsSeq(members) {
			if out[member] == nil {
				t.Errorf("%s: %q is %v", name, member, out[member])
			}
		}
	}
}

// refusal is an input that is refused at some pointers.
type refusal struct{ name, in, want string }

func TestRefusals(t *testing.T) {
	long := "[" + strings.Repeat("1,", 1000) + "1]"
	checkRefusals(t, append([]refusal{
		{"split", ``, ""},
		{"split", `{"minutes":50,"shares":[1]} {}`, ""},
		{"split", `[]`, ""},
		{"split", strings.Repeat(" ", MaxInput+1), ""},
		{"split", `null`, "/minutes /shares"},
		{"split", `{"minutes":50,"shares":[1],"minute":1}`, "/minute"},
		{"split", `{"Minutes":50,"shares":[1]}`, "/Minutes /minutes"},
		{"split", `{"minutes":50,"minutes":50,"shares":[1]}`, "/minutes"},
		{"split", `{"minutes":1.5,"shares":[1]}`, "/minutes"},
		{"split", `{"minutes":50,"shares":1}`, "/shares"},
		{"split", `{"minutes":50,"shares":[25,null]}`, "/shares/1"},
		{"split", `{"minutes":0,"shares":[]}`, "/minutes /shares"},
		{"split", `{"minutes":50,"shares":[1,-1]}`, "/shares/1"},
		{"split", `{"minutes":50,"shares":` + long + `}`, "/shares"},
		{"split", `{"minutes":50,"shares":["\ud800"]}`, "/shares/0"},
		{"runs", `{}`, "/balls /tiers"},
		{"runs", `{"balls":{},"tiers":[]}`, "/balls"},
		{"runs", `{"balls":[{"outcome":"hit","radius_m":1}],"tiers":[]}`, "/balls/0/outcome"},
		{"runs", `{"balls":[{"outcome":"in"}],"tiers":[]}`, "/balls/0/radius_m"},
		{"runs", `{"balls":[{"outcome":3}],"tiers":[]}`, "/balls/0/outcome"},
		{"runs", `{"balls":[{"outcome":"in","radius_m":1,"leave_m":2}],"tiers":[]}`, "/balls/0/leave_m"},
		{"runs", `{"balls":[{"outcome":"in","radius_m":1e9}],"tiers":[]}`, "/balls/0/radius_m"},
		{"runs", `{"balls":[null],"tiers":[{"run":0,"radius_m":1,"holed":0}]}`, "/balls/0/outcome /tiers/0/run"},
		{"runs", `{"balls":[],"tiers":[{"run":6,"radius_m":1,"holed":10}]}`, "/tiers/0/holed"},
		{"runs", `{"balls":[],"tiers":[` + strings.Repeat(`{},`, 50) + `{}]}`, "/tiers"},
		{"ladder", `{}`, "/tiers /balls"},
		{"ladder", `{"tiers":[],"balls":30}`, "/tiers"},
		{"ladder", `{"tiers":[{"run":6,"radius_m":1}],"balls":0,"holed_share":1.5}`, "/holed_share /balls"},
		{"ladder", `{"tiers":[{"run":6,"radius_m":1},{"run":5,"radius_m":1}],"balls":30}`, "/tiers/1/run"},
		{"ladder", `{"tiers":[{"run":6,"radius_m":1}],"balls":30,"skill":"drive","distance_m":101}`, "/skill /distance_m"},
		{"ladder", `{"tiers":[{"run":6,"radius_m":1}],"balls":30,"skill":1}`, "/skill"},
		{"ladder", `{"tiers":[{"run":6,"radius_m":1}],"balls":30,"distance_m":0.05,"holed_share":-1}`, "/distance_m /holed_share"},
		{"holing", `{}`, "/leave_m"},
		{"holing", `{"leave_m":0.05,"half_m":0.2}`, "/leave_m /half_m"},
		{"holing", `{"leave_m":40.1,"half_m":6.1}`, "/leave_m /half_m"},
		{"holing", `{"leave_m":"2 m"}`, "/leave_m"},
		{"streak-odds", `{}`, "/rates /run /holed /balls"},
		{"streak-odds", `{"run":6,"holed":0,"rates":{"in":0.7},"balls":60}`, "/rates/holed"},
		{"streak-odds", `{"run":6,"holed":0,"rates":{"in":0.7,"holed":0.4},"balls":60}`, "/rates"},
		{"streak-odds", `{"run":6,"holed":0,"rates":{"in":1e999,"holed":0},"balls":60}`, "/rates/in"},
		{"streak-odds", `{"run":6,"holed":0,"rates":{"in":"0.7","holed":0},"balls":60}`, "/rates/in"},
		{"streak-odds", `{"run":201,"holed":0,"rates":{"in":0.7,"holed":0},"balls":-1}`, "/run /balls"},
		{"streak-odds", `{"run":6,"holed":0,"rates":{"in":0.7,"holed":0},"balls":60,"from":{"run":1,"holed":2}}`, "/from/holed"},
		{"streak-odds", `{"run":6,"holed":0,"rates":{"in":0.7,"holed":0},"balls":60,"from":{"run":1}}`, "/from/holed"},
		{"pressure", `{}`, "/sessions /late_from"},
		{"pressure", `{"sessions":["1102","x",null],"late_from":2}`, "/sessions/0 /sessions/1 /sessions/2"},
		{"pressure", `{"sessions":["110"],"late_from":0}`, "/late_from"},
		{"pressure", `{"sessions":[true],"late_from":2}`, "/sessions/0"},
		{"pressure", `{"sessions":["` + strings.Repeat("1", 20_001) + `"],"late_from":2}`, "/sessions/0"},
		{"pressure", `{"sessions":[` + strings.Repeat(`"",`, 1000) + `""],"late_from":2}`, "/sessions"},
		{"spread", `{}`, "/balls"},
		{"spread", `{"balls":[]}`, "/balls"},
		{"spread", `{"balls":[{}]}`, "/balls/0"},
		{"spread", `{"balls":[{"radius_m":1}]}`, "/balls/0/inside"},
		{"spread", `{"balls":[{"inside":1}]}`, "/balls/0/inside"},
		{"spread", `{"balls":[{"inside":true}]}`, "/balls/0/radius_m"},
		{"spread", `{"balls":[{"radius_m":0,"inside":true}]}`, "/balls/0/radius_m"},
		{"spread", `{"balls":[{"leave_m":-1}]}`, "/balls/0/leave_m"},
		{"spread", `{"balls":[{"leave_m":1001}]}`, "/balls/0/leave_m"},
		{"spread", `{"balls":[{"leave_m":2,"radius_m":1,"inside":true}]}`, "/balls/0/leave_m"},
		{"spread", `{"balls":[{"leave_m":1}],"radii_m":[0,-1]}`, "/radii_m/0 /radii_m/1"},
	}, drillRefusals...))
}

// checkRefusals asks for what is refused, and where.
func checkRefusals(t *testing.T, refusals []refusal) {
	t.Helper()
	for _, c := range refusals {
		_, err := Run(c.name, []byte(c.in))
		var e *domain.Error
		if !errors.As(err, &e) || e.Kind != domain.Invalid {
			t.Errorf("%s %.90s: got %v, want a refusal", c.name, c.in, err)
			continue
		}
		var got []string
		for _, f := range e.Fields {
			got = append(got, f.Pointer)
			if f.Detail == "" {
				t.Errorf("%s %.90s: no detail at %q", c.name, c.in, f.Pointer)
			}
		}
		if strings.Join(got, " ") != c.want || len(got) == 0 {
			t.Errorf("%s %.90s: refused at %q, want %q", c.name, c.in, got, c.want)
		}
	}
}

func TestNothingIsNull(t *testing.T) {
	var odds OddsOut
	ask(t, "streak-odds", `{"run":6,"holed":1,"rates":{"in":0.7,"holed":0},"balls":60}`, &odds)
	if odds.ExpectedBalls != nil || odds.DeviationBalls != nil || odds.BallsFor != (BallsForOut{}) || odds.RateForEvenOdds != nil {
		t.Errorf("never holed: got %+v, want null throughout", odds)
	}
	var press PressureOut
	ask(t, "pressure", `{"sessions":["0101"],"late_from":6}`, &press)
	if press.LateRate != nil || press.Difference != nil || press.PValue != nil || show(press.EarlyRate) != 0.5 {
		t.Errorf("never late: got %+v, want null and an early rate of 0.5", press)
	}
	ask(t, "pressure", `{"sessions":[""],"late_from":6}`, &press)
	if press.EarlyRate != nil {
		t.Errorf("no balls: early rate %v, want null", *press.EarlyRate)
	}
	for in, missing := range map[string]int{
		`{"balls":[{"radius_m":1,"inside":false}]}`: 1,
		`{"balls":[{"radius_m":1,"inside":true}]}`:  -1,
	} {
		var out struct {
			SigmaM     *float64    `json:"sigma_m"`
			Interval80 [2]*float64 `json:"interval80"`
			Inside     map[string]*float64
			RadiusFor  map[string]*float64 `json:"radius_for"`
		}
		ask(t, "spread", in, &out)
		if out.SigmaM != nil || out.RadiusFor["0.5"] != nil || out.Inside["1"] != nil {
			t.Errorf("%s: got %+v, want no sigma", in, out)
		}
		if missing == 1 && (out.Interval80[1] != nil || out.Interval80[0] == nil) ||
			missing == -1 && (out.Interval80[1] == nil || show(out.Interval80[0]) != 0.0) {
			t.Errorf("%s: interval %v to %v", in, show(out.Interval80[0]), show(out.Interval80[1]))
		}
	}
}

// TestReferenceSplit and the following ask with JSON what the reference files
// of the domain hold; those files name their sources.
func TestReferenceSplit(t *testing.T) {
	var file struct {
		Cases []struct {
			ID      string
			Minutes int
			Shares  []int
			AnyOf   [][]int `json:"any_of"`
		}
	}
	readFile(t, "../../domain/curriculum/testdata/largest_remainder.json", &file)
	for _, c := range file.Cases {
		var out SplitOut
		ask(t, "split", encode(t, map[string]any{"minutes": c.Minutes, "shares": c.Shares}), &out)
		if !slices.ContainsFunc(c.AnyOf, func(want []int) bool { return slices.Equal(out.Minutes, want) }) {
			t.Errorf("%s: got %v, want one of %v", c.ID, out.Minutes, c.AnyOf)
		}
	}
}

func readFile(t *testing.T, path string, v any) {
	t.Helper()
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(raw, v); err != nil {
		t.Fatal(err)
	}
}

func TestReferenceRuns(t *testing.T) {
	type ball map[string]any
	var file struct {
		Runs []struct {
			Name   string
			Tier   map[string]any
			Blocks [][]ball
			Want   []struct {
				Best, Current struct{ Length, Holed int }
				PassedAt      *int `json:"passed_at"`
				Unmeasured    int
			}
		}
	}
	readFile(t, "../../domain/streak/testdata/cases.json", &file)
	if len(file.Runs) == 0 {
		t.Fatal("no cases")
	}
	for _, c := range file.Runs {
		for i, block := range c.Blocks {
			balls := []ball{}
			for _, b := range block {
				times, _ := b["times"].(float64)
				delete(b, "times")
				for range max(1, int(times)) {
					balls = append(balls, b)
				}
			}
			var out RunsOut
			ask(t, "runs", encode(t, map[string]any{"balls": balls, "tiers": []any{c.Tier}}), &out)
			got, want := out.Tiers[0], c.Want[i]
			if got.BestRun != want.Best.Length || got.CurrentRun != want.Current.Length || got.BestHoled != want.Best.Holed ||
				got.CurrentHoled != want.Current.Holed || got.Unmeasured != want.Unmeasured ||
				!reflect.DeepEqual(got.PassedAt, want.PassedAt) {
				t.Errorf("%s, block %d: got %+v, want %+v", c.Name, i+1, got, want)
			}
		}
	}
}

func TestReferenceOdds(t *testing.T) {
	var groups []struct {
		ID    string
		Cases []struct {
			ID, Kind string
			Inputs   struct {
				Run     int     `json:"n"`
				Balls   int     `json:"N"`
				P       float64 `json:"p"`
				Holed   int     `json:"m"`
				In      float64 `json:"in_not_holed"`
				Hole    float64 `json:"holed"`
				Current int     `json:"current_run"`
				Holds   int     `json:"current_holed"`
				Target  float64
			}
			Expected json.RawMessage
		}
	}
	readFile(t, "../../domain/streak/testdata/odds_reference.json", &groups)
	for _, g := range groups {
		for _, c := range g.Cases {
			in := c.Inputs
			if in.In == 0 && in.Hole == 0 {
				in.In = in.P
			}
			var out OddsOut
			query := encode(t, map[string]any{
				"run": in.Run, "holed": in.Holed, "balls": in.Balls,
				"rates": map[string]float64{"in": in.In, "holed": in.Hole},
				"from":  map[string]int{"run": in.Current, "holed": in.Holds},
			})
			switch {
			case c.Kind == "run_probability":
				var want float64
				unpack(t, c.Expected, &want)
				ask(t, "streak-odds", query, &out)
				near(t, c.ID, &out.Probability, want, 1e-9)
			case g.ID == "3-run-with-holed":
				var want struct {
					Within float64 `json:"p_within_N"`
					Mean   float64 `json:"mean_further_balls"`
				}
				unpack(t, c.Expected, &want)
				ask(t, "streak-odds", query, &out)
				near(t, c.ID, &out.Probability, want.Within, 1e-8)
				near(t, c.ID, out.ExpectedBalls, want.Mean, 1e-8)
			case c.Kind == "p_needed" && in.Target == 0.5:
				var want struct{ P float64 }
				unpack(t, c.Expected, &want)
				ask(t, "streak-odds", query, &out)
				near(t, c.ID, out.RateForEvenOdds, want.P, 1e-8)
			case c.Kind == "N_needed":
				var want struct{ N float64 }
				unpack(t, c.Expected, &want)
				ask(t, "streak-odds", query, &out)
				got := out.BallsFor.Half
				if in.Target == 0.9 {
					got = out.BallsFor.Ninety
				}
				near(t, c.ID, got, want.N, 0)
			}
		}
	}
}

func TestPressureAndSpread(t *testing.T) {
	// Counted by hand; late balls in brackets: 1 1 [0] 1 1 [1] [0] 1.
	var press PressureOut
	ask(t, "pressure", `{"sessions":["11011101"],"late_from":2}`, &press)
	near(t, "early rate", press.EarlyRate, 1, 0)
	near(t, "late rate", press.LateRate, 1.0/3, 1e-12)
	// Three of five inside 1 m: 1 − e^(−1/2σ²) = 0.6.
	var out struct {
		SigmaM    *float64 `json:"sigma_m"`
		Inside    map[string]*float64
		RadiusFor map[string]*float64 `json:"radius_for"`
	}
	in := `{"radius_m":1,"inside":true},`
	ask(t, "spread", `{"balls":[`+strings.Repeat(in, 3)+`{"radius_m":1,"inside":false},{"radius_m":1,"inside":false}],"radii_m":[2]}`, &out)
	near(t, "sigma", out.SigmaM, 1/math.Sqrt(-2*math.Log(0.4)), 1e-6)
	near(t, "inside 1 m", out.Inside["1"], 0.6, 1e-12)
	near(t, "inside 2 m", out.Inside["2"], 1-math.Pow(0.4, 4), 1e-12)
	near(t, "radius for 0.5", out.RadiusFor["0.5"], math.Sqrt(math.Log(2)/-math.Log(0.4)), 1e-12)
}

func TestSpreadIsInOrder(t *testing.T) {
	got, err := Run("spread", []byte(`{"balls":[{"leave_m":1},{"radius_m":20,"inside":true},{"radius_m":0.5,"inside":false}]}`))
	if err != nil {
		t.Fatal(err)
	}
	raw := encode(t, got)
	last := -1
	for _, radius := range []string{`"0.5":`, `"1.5":`, `"3":`, `"4":`, `"20":`} {
		i := strings.Index(raw, radius)
		if i < last {
			t.Errorf("%s comes too early in %s", radius, raw)
		}
		last = i
	}
}

// FuzzSplit and the others hold every calculation to: no panic, no NaN or
// infinity, and refusals that name a field.
func FuzzSplit(f *testing.F) {
	fuzz(f, split, `{"minutes":9223372036854775807,"shares":[9223372036854775807,1]}`)
}
func FuzzRuns(f *testing.F) {
	fuzz(f, runs, `{"balls":[{"outcome":"out","radius_m":0.9144,"leave_m":1.2}],"tiers":[{"run":1,"radius_m":30,"holed":1}]}`)
}
func FuzzStreakOdds(f *testing.F) {
	fuzz(f, streakOdds, `{"run":200,"holed":200,"rates":{"in":0.999,"holed":1e-9},"balls":20000,"from":{"run":199,"holed":0}}`, `{"run":18,"holed":0,"rates":{"in":0.3,"holed":0},"balls":5000}`, `{"run":1,"holed":1,"rates":{"in":1,"holed":0},"balls":0}`, `{"run":6,"holed":3,"rates":{"in":0.9999999,"holed":5e-324},"balls":1}`)
}
func FuzzLadder(f *testing.F) {
	fuzz(f, ladder, `{"tiers":[{"run":200,"radius_m":0.1,"holed":200}],"balls":5000,"holed_share":1}`, `{"tiers":[{"run":1,"radius_m":30}],"balls":1,"holed_share":0}`, `{"tiers":[{"run":2,"radius_m":0.1}],"balls":9,"skill":"lag_putt","distance_m":100}`)
}
func FuzzHoling(f *testing.F) {
	fuzz(f, holing, `{"leave_m":0.054,"half_m":6}`, `{"leave_m":40,"half_m":0.3}`, `{"leave_m":1e-300}`)
}

func FuzzPressure(f *testing.F) {
	fuzz(f, pressure, `{"sessions":["","1","0000","11111111111"],"late_from":1}`)
}
func FuzzSpread(f *testing.F) {
	fuzz(f, spread, `{"balls":[{"leave_m":0},{"leave_m":1000},{"radius_m":1e-300,"inside":false}],"radii_m":[1e-9]}`, `{"balls":[{"radius_m":5e-324,"inside":true}]}`)
}

func fuzz(f *testing.F, c Calculation, seeds ...string) {
	for _, seed := range append(seeds, c.Example, `{}`, `null`, `[1e400]`, "{\"\xff\":0}") {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, in []byte) {
		out, err := Run(c.Name, in)
		if err == nil {
			raw := []byte(encode(t, out))
			if bytes.Contains(raw, []byte("Inf")) || bytes.Contains(raw, []byte("NaN")) {
				t.Fatalf("answer %s", raw)
			}
			return
		}
		var e *domain.Error
		if !errors.As(err, &e) || e.Kind != domain.Invalid || len(e.Fields) == 0 {
			t.Fatalf("got %v, want an Invalid error that names a field", err)
		}
	})
}

// sometimes are members that are missing beside some others only, by type.
var sometimes = []string{"sessionIn.Balls", "sessionIn.Inside", "progressIn.BallsPerTest", "ballIn.RadiusM", "restIn.RadiusM", "restIn.Inside", "playedIn.Next", "stationsIn.CarryM"}

// TestRequiredIsRequired takes one member after the other out of every example: what
// the type marks as required is refused without it, and nothing else is missing.
func TestRequiredIsRequired(t *testing.T) {
	for _, c := range All() {
		var example map[string]any
		unpack(t, []byte(c.Example), &example)
		var walk func(at string, node any, typed reflect.Type)
		walk = func(at string, node any, typed reflect.Type) {
			for typed.Kind() == reflect.Pointer {
				typed = typed.Elem()
			}
			switch n := node.(type) {
			case []any:
				for i, child := range n {
					walk(at+"/"+strconv.Itoa(i), child, typed.Elem())
				}
			case map[string]any:
				for _, field := range reflect.VisibleFields(typed) {
					name := field.Tag.Get("json")
					value, given := n[name]
					if !given {
						continue
					}
					walk(at+"/"+name, value, field.Type)
					delete(n, name)
					_, err := Run(c.Name, []byte(encode(t, example)))
					n[name] = value
					required := field.Tag.Get("validate") == "required" || slices.Contains(sometimes, typed.Name()+"."+field.Name) && err != nil
					if missing := isMissing(err, at+"/"+name); missing != required {
						t.Errorf("%s without %s/%s: marked as required: %v; got %v", c.Name, at, name, required, err)
					}
				}
			}
		}
		walk("", example, c.In)
	}
}

// isMissing tells a refusal because a member is missing.
func isMissing(err error, pointer string) bool {
	var e *domain.Error
	return errors.As(err, &e) && slices.ContainsFunc(e.Fields, func(f domain.Field) bool {
		return f.Pointer == pointer && strings.HasPrefix(f.Detail, "is missing; give")
	})
}

// TestAnswersHaveTheirTypes: the description goes by the types that are named.
func TestAnswersHaveTheirTypes(t *testing.T) {
	for _, c := range All() {
		answer, err := Run(c.Name, []byte(c.Example))
		if err != nil {
			t.Fatal(err)
		}
		if got := reflect.TypeOf(answer); got != c.Out {
			t.Errorf("%s answers %v; want %v", c.Name, got, c.Out)
		}
	}
}
