package estimate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/streak"
)

func same(a, b any) bool { return reflect.DeepEqual(a, b) }

// statusOf is what an assessment says in short.
func statusOf(a Assessment, session int) Status {
	return Status{
		Session: session, Slipping: a.Slipping != nil, Flat: a.Flat != nil, Overreached: a.Overreached != nil, Outgrown: a.Outgrown != nil, Slow: a.Slow,
		Near: a.Forecast.Near(), Undecided: a.Undecided.Applies,
	}
}

// flags are those that stand.
func (a Assessment) flags() (raised []*Flag) {
	for _, f := range []*Flag{a.Slipping, a.Flat, a.Overreached, a.Outgrown} {
		if f != nil {
			raised = append(raised, f)
		}
	}
	return raised
}

// steady gives sessions of equal counts two days apart.
func steady(n, balls, inside int) []Observation {
	out := make([]Observation, n)
	for i := range out {
		out[i] = Observation{Day: float64(2 * i), Balls: balls, Inside: inside}
	}
	return out
}

// TestWalkIsAssessOfEveryPrefix: history holds what an assessment of the
// sessions up to each would have said, beyond the window as well.
func TestWalkIsAssessOfEveryPrefix(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 10))
	var said Status
	for c := range 7 {
		e := Evidence{Sessions: career(70, []float64{0.05, 0, -0.03, 0, 0, 0.05, 0.017}[c], r), SessionsPerWeek: 3}
		for i := range e.Sessions {
			switch r.IntN(12) {
			case 0:
				e.Sessions[i] = Observation{Day: e.Sessions[i].Day} // planned, not held
			case 1:
				e.Sessions[i].Milestone = true
			}
		}
		if c > 2 {
			e.Tier, e.BallsPerTest = &streak.Tier{Run: 6, Holed: c % 2, Radius: 15240}, 20
		}
		if c == 1 || c == 4 { // at first elsewhere, later in both circles
			e.Radius = 15240
			for i := range e.Sessions[:25] {
				moveAway(&e.Sessions[i], 22860, 1)
			}
			for i := 30; i < len(e.Sessions); i += 5 {
				moveAway(&e.Sessions[i], 9144, 1+i%2)
			}
		}
		for i, got := range Walk(e) {
			part := e
			part.Sessions = e.Sessions[:i+1]
			want := statusOf(Assess(part), i+1)
			if got != want {
				t.Fatalf("career %d, session %d: walk says %+v, assess %+v", c, i+1, got, want)
			}
			said.Slow = said.Slow || got.Slow
			said.Flat = said.Flat || got.Flat
			said.Slipping = said.Slipping || got.Slipping
		}
	}
	if !said.Slow || !said.Flat || !said.Slipping {
		t.Errorf("the careers show %+v, want all of slow, flat and slipping", said)
	}
	if got := Walk(Evidence{}); len(got) != 0 {
		t.Errorf("no session: %+v", got)
	}
}

// TestOnlyTheWindowIsRead: what lies before the window changes nothing but the
// numbering.
func TestOnlyTheWindowIsRead(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	e := Evidence{Sessions: career(Window+40, 0, r), Tier: &streak.Tier{Run: 8, Radius: 15240}, BallsPerTest: 30}
	a := Assess(e)
	e.Sessions = e.Sessions[40:]
	b := Assess(e)
	if len(b.flags()) == 0 {
		t.Error("no flag to compare")
	}
	for _, f := range b.flags() {
		f.Since += 40
		f.Raised += 40
	}
	if !same(a, b) {
		t.Errorf("the whole history says %+v, its window %+v", a, b)
	}
}

// TestFlatHasItsNumbers: since when, and what would give even
// odds.
func TestFlatHasItsNumbers(t *testing.T) {
	origin := domain.Date{Year: 2026, Month: time.May, Day: 1}
	var sessions []Observation
	for i := range 32 { // rises to the 13th session, then stays
		inside := int(math.Round(40 * logistic(-0.6+0.075*float64(min(i, 12)))))
		sessions = append(sessions, Observation{Day: float64(2 * i), Balls: 40, Inside: inside})
	}
	e := Evidence{Sessions: sessions, Radius: 5 * domain.Foot, Tier: &streak.Tier{Run: 9, Radius: 5 * domain.Foot}, BallsPerTest: 20, Origin: origin}
	a := Assess(e)
	f := a.Flat
	if f == nil {
		t.Fatalf("flags are %+v, want flat among them", statusOf(a, 32))
	}
	if f.Since < 11 || f.Since > 15 || f.Raised <= f.Since {
		t.Errorf("flat since session %d, raised after %d; the rise ended with session 13", f.Since, f.Raised)
	}
	if f.SinceDay != float64(2*(f.Since-1)) || f.Date != origin.AddDays(2*(f.Since-1)) {
		t.Errorf("session %d is said to be of day %v, %v", f.Since, f.SinceDay, f.Date)
	}
	if !f.Rose || f.Radius != 5*domain.Foot || f.Tier != *e.Tier || f.BallsPerTest != 20 || f.Sessions != 32-f.Since+1 {
		t.Errorf("numbers are %+v", f)
	}
	if f.Chance != a.Forecast.NextSession || f.MedianSessions != a.Forecast.MedianSessions || f.MedianSessions == 0 {
		t.Errorf("chance %v and median %v are not those of the forecast %+v", f.Chance, f.MedianSessions, a.Forecast)
	}
	// The circle named really has even odds, by the scatter that the present
	// rate implies and the exact odds.
	sigma := 5 * 0.3048 / math.Sqrt(-2*math.Log(1-a.Rate.Mean))
	x := f.EvenRadius.Metres() / sigma
	if p := streak.Within(*e.Tier, streak.Rates{In: 1 - math.Exp(-x*x/2)}, 20); math.Abs(p-0.5) > 0.001 {
		t.Errorf("a circle of %v gives odds %v, want even", f.EvenRadius, p)
	}
	if p, q := within(f.EvenRun, a.Rate.Mean), within(f.EvenRun+1, a.Rate.Mean); p < 0.5 || q >= 0.5 {
		t.Errorf("runs of %d and one more have odds %v and %v, want the longest with even odds", f.EvenRun, p, q)
	}
}

func within(run int, rate float64) float64 {
	return streak.Within(streak.Tier{Run: run}, streak.Rates{In: rate}, 20)
}

// TestNear: the next tier is near from a chance of four in five within four
// sessions on.
func TestNear(t *testing.T) {
	e := Evidence{Sessions: steady(30, 30, 22), BallsPerTest: 20}
	if a := Assess(e); a.Forecast.Near() {
		t.Error("near without a tier")
	}
	for _, c := range []struct {
		run  int
		want bool
	}{{4, true}, {7, true}, {16, false}} {
		e.Tier = &streak.Tier{Run: c.run}
		f := Assess(e).Forecast
		if f.Near() != c.want || f.Near() != (f.Within[0] >= 0.8) {
			t.Errorf("run %d: near is %v with a chance of %.2f within four sessions, want %v", c.run, f.Near(), f.Within[0], c.want)
		}
	}
}

// TestHysteresis: a flag does not come and go from session to session. Flat
// learners, once flagged, stay so but rarely.
func TestHysteresis(t *testing.T) {
	r := rand.New(rand.NewPCG(15, 16))
	flips, flagged := 0, 0
	for range 100 {
		before := false
		for _, s := range Walk(Evidence{Sessions: career(48, 0, r)}) {
			now := s.Flat || s.Slipping
			if now {
				flagged++
			}
			if before && !now {
				flips++
			}
			before = now
		}
	}
	if flagged == 0 || float64(flips)/float64(flagged) > 0.01 {
		t.Errorf("flags came down %d times in %d flagged sessions of flat learners, want at most 1 %%", flips, flagged)
	}
}

// TestFlagComesDown: a student who starts to rise is no longer flat.
func TestFlagComesDown(t *testing.T) {
	r := rand.New(rand.NewPCG(17, 18))
	down := 0
	for range 100 {
		sessions := career(20, 0, r)
		for i, s := range career(28, 0, r) {
			p := logistic(-0.2 + 0.07*float64(i) + 0.15*r.NormFloat64())
			s.Day += sessions[19].Day + 2
			s.Inside, s.Holed = 0, 0
			for range s.Balls {
				if r.Float64() < p {
					s.Inside++
				}
			}
			sessions = append(sessions, s)
		}
		if Assess(Evidence{Sessions: sessions}).Flat == nil {
			down++
		}
	}
	if down < 90 {
		t.Errorf("of 100 who rose for 28 sessions %d are no longer flat, want at least 90", down)
	}
}

func TestMilestoneMakesANewStart(t *testing.T) {
	e := Evidence{Sessions: steady(24, 30, 16)}
	if a := Assess(e); a.Flat == nil {
		t.Fatalf("flags are %+v, want flat", statusOf(a, 24))
	}
	e.Sessions[21].Milestone = true
	if Assess(e).Flat != nil {
		t.Errorf("flat two sessions after a milestone")
	}
}

func TestOverreachedAndOutgrown(t *testing.T) {
	e := Evidence{Sessions: steady(10, 30, 12), Radius: domain.Metre, Tier: &streak.Tier{Run: 12, Radius: domain.Metre}, BallsPerTest: 20}
	a := Assess(e)
	if f := a.Overreached; f == nil {
		t.Errorf("12 in a row at 40 %%: flags are %+v, want overreached", statusOf(a, 10))
	} else if f.Chance >= 0.01 || f.Probability != 1 || f.Since != 3 || f.Sessions != 8 {
		t.Errorf("numbers %+v", f)
	}
	e = Evidence{Sessions: steady(10, 30, 29), Radius: domain.Metre, Tier: &streak.Tier{Run: 5, Radius: domain.Metre}, BallsPerTest: 20}
	a = Assess(e)
	if f := a.Outgrown; f == nil {
		t.Errorf("5 in a row at 97 %%: flags are %+v, want outgrown", statusOf(a, 10))
	} else if f.EvenScale >= 1 || f.EvenRadius >= domain.Metre || f.EvenRadius == 0 {
		t.Errorf("numbers %+v, want a smaller circle", f)
	}
	e.Tier.Run, e.BallsPerTest = 25, 20
	a = Assess(e)
	if f := a.Forecast; f.Within != [3]float64{} || f.MedianSessions != 0 {
		t.Errorf("a run of 25 in 20 balls: forecast %+v, want no chance and no median", f)
	}
}

func TestUndecidedSaysHowManyMore(t *testing.T) {
	last := math.MaxInt
	for _, n := range []int{0, 3, 6, 9, 12} {
		a := Assess(Evidence{Sessions: steady(n, 30, 15)})
		u := a.Undecided
		if !u.Applies || u.MoreSessions < 1 || u.MoreSessions > last {
			t.Errorf("after %d sessions: %+v, want a number of sessions that does not rise", n, u)
		}
		if u.Sessions != n || n > 0 && u.Balls != 30 {
			t.Errorf("after %d sessions of 30 balls: %+v", n, u)
		}
		last = u.MoreSessions
	}
	rising := make([]Observation, 20)
	for i := range rising {
		rising[i] = Observation{Day: float64(i), Balls: 40, Inside: int(40 * logistic(-0.8+0.1*float64(i)))}
	}
	if a := Assess(Evidence{Sessions: rising}); a.Undecided.Applies || len(a.flags()) > 0 {
		t.Errorf("a clear rise: %+v %+v, want it told", a.Undecided, statusOf(a, 20))
	}
}

// TestForecastHoldsTogether: probabilities grow with the sessions and never
// reach certainty; more balls help, a longer run does not; days follow pace.
func TestForecastHoldsTogether(t *testing.T) {
	r := rand.New(rand.NewPCG(19, 20))
	for range 200 {
		e := Evidence{Sessions: career(r.IntN(40), 0.12*r.Float64()-0.05, r), Tier: &streak.Tier{Run: 1 + r.IntN(12)}, BallsPerTest: 1 + r.IntN(60)}
		f := *Assess(e).Forecast
		chain := []float64{0, f.NextSession, f.Within[0], f.Within[1], f.Within[2], 1 - unforeseen + 1e-9}
		if !slices.IsSorted(chain) {
			t.Errorf("%+v: not rising from 0 to below 1", f)
		}
		more := e
		more.BallsPerTest += 10
		longer := e
		longer.Tier = &streak.Tier{Run: e.Tier.Run + 1}
		if g := *Assess(more).Forecast; g.Within[1] < f.Within[1]-1e-9 {
			t.Errorf("ten more balls took the chance from %v to %v", f.Within[1], g.Within[1])
		}
		if g := *Assess(longer).Forecast; g.Within[1] > f.Within[1]+1e-9 {
			t.Errorf("a longer run took the chance from %v to %v", f.Within[1], g.Within[1])
		}
		for i, k := range Horizons {
			if m := f.MedianSessions; m > 0 && (f.Within[i] >= 0.5) != (m <= float64(k)) {
				t.Errorf("median %v but %v within %d", m, f.Within[i], k)
			}
		}
	}
	f := *Assess(Evidence{Sessions: steady(10, 30, 18), Tier: &streak.Tier{Run: 6}, BallsPerTest: 20}).Forecast
	if f.Range80Days.Lo != 2*f.Range80Sessions.Lo || f.Range80Days.Hi != 2*f.Range80Sessions.Hi {
		t.Errorf("%+v: want two days a session", f)
	}
}

// TestEvidenceCheck: every refusal names its field.
func TestEvidenceCheck(t *testing.T) {
	tier, tier3 := &streak.Tier{Run: 0, Holed: 1}, &streak.Tier{Run: 3}
	e := Evidence{
		Sessions: []Observation{{Day: 5, Balls: 3, Inside: 4}, {Day: 1, Balls: -1, Holed: 2}, {Day: math.NaN()}},
		Prior:    Prior{A: 0, B: math.Inf(1)}, Tier: tier, BallsPerTest: -1, SessionsPerWeek: math.NaN(),
	}
	var p domain.Problems
	e.Check(&p, "/in")
	var got []string
	for _, f := range p.Fields() {
		got = append(got, f.Pointer)
	}
	want := []string{
		"/in/sessions/0/inside", "/in/sessions/1/day", "/in/sessions/1/balls", "/in/sessions/1/inside", "/in/sessions/1/holed",
		"/in/sessions/2/day", "/in/prior/a", "/in/prior/b", "/in/tier/run", "/in/balls_per_test", "/in/sessions_per_week",
	}
	if !slices.Equal(got, want) {
		t.Errorf("fields %v, want %v", got, want)
	}
	for _, c := range []struct {
		why  string
		e    Evidence
		want []string
	}{
		{"a circle without balls, one with more inside, one in focus", Evidence{Radius: five, Sessions: []Observation{
			{Elsewhere: []Circle{{Radius: three}, {Radius: three, Balls: 5, Inside: 6, Holed: 7}}},
			{Elsewhere: []Circle{{Radius: five, Balls: 1}}},
		}}, []string{"/sessions/0/elsewhere/0/balls", "/sessions/0/elsewhere/1/inside", "/sessions/0/elsewhere/1/holed", "/sessions/1/elsewhere/0/radius_m"}},
		{"no radius in focus, said once, and what else is wrong", Evidence{
			Sessions: []Observation{{Elsewhere: []Circle{{Radius: three, Balls: 1}, {Radius: five, Balls: 1}}}}, SessionsPerWeek: -1,
		}, []string{"/sessions/0/elsewhere/0/radius_m", "/sessions_per_week"}},
		{"too many circles", Evidence{Radius: five, Sessions: []Observation{{Elsewhere: make([]Circle, MaxCircles+1)}}}, []string{"/sessions/0/elsewhere"}},
		{"as many circles as may be", Evidence{Radius: five, Sessions: []Observation{{Elsewhere: slices.Repeat([]Circle{{Radius: three, Balls: 1}}, MaxCircles)}}}, nil},
		{"too many sessions", Evidence{Sessions: make([]Observation, MaxSessions+1)}, []string{"/sessions"}},
		{"as many sessions as may be", Evidence{Sessions: make([]Observation, MaxSessions)}, nil},
		{"the most", Evidence{Sessions: []Observation{{Day: -maxDay, Balls: MaxBalls, Inside: MaxBalls, Holed: MaxBalls}, {Day: maxDay}}, Prior: Prior{minPrior, maxPrior}, Tier: tier3, BallsPerTest: MaxBallsPerTest, SessionsPerWeek: MaxPerWeek}, nil},
		{"more than the most", Evidence{Sessions: []Observation{{Day: -maxDay - 1, Balls: MaxBalls + 1}, {Day: maxDay + 1}}, Prior: Prior{minPrior / 2, 2 * maxPrior}, Tier: tier3, BallsPerTest: MaxBallsPerTest + 1, SessionsPerWeek: MaxPerWeek + 1}, []string{"/sessions/0/day", "/sessions/0/balls", "/sessions/1/day", "/prior/a", "/prior/b", "/balls_per_test", "/sessions_per_week"}},
	} {
		var p domain.Problems
		c.e.Check(&p, "")
		var got []string
		for _, f := range p.Fields() {
			if !slices.Contains(got, f.Pointer) {
				got = append(got, f.Pointer)
			}
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: fields %v, want %v", c.why, got, c.want)
		}
	}
	var none domain.Problems
	if (Evidence{Sessions: steady(3, 10, 5), Tier: &streak.Tier{Run: 3}}).Check(&none, ""); len(none.Fields()) > 0 {
		t.Errorf("sound evidence is refused: %v", none.Fields())
	}
}

// FuzzAssess: any evidence that passes its check is judged without a panic, a
// NaN or an infinity. Of four bytes a session is made: balls, inside, days, and
// where they were judged or measured.
func FuzzAssess(f *testing.F) {
	f.Add([]byte{30, 15, 2, 0, 30, 16, 2, 0, 30, 14, 9, 0}, uint8(9), uint8(0), uint16(20), 0.5, 0.5, 3.0, uint16(0))
	f.Add([]byte{0, 0, 0, 0, 255, 255, 255, 0, 255, 0, 1, 0}, uint8(1), uint8(1), uint16(2000), 0.01, 10000.0, 0.0, uint16(0))
	f.Add([]byte{30, 200, 2, 1, 30, 190, 2, 1, 30, 120, 3, 0, 30, 110, 2, 2, 25, 99, 59, 3}, uint8(5), uint8(1), uint16(20), 0.5, 0.5, 3.0, uint16(9144))
	f.Add([]byte{30, 255, 2, 2, 90, 0, 2, 1, 255, 255, 251, 1, 30, 0, 2, 3, 1, 0, 1, 5}, uint8(12), uint8(0), uint16(40), 2.0, 3.0, 0.0, uint16(1))
	f.Add([]byte{1, 255, 1, 0, 1, 0, 1, 0, 1, 0, 1, 6}, uint8(2), uint8(2), uint16(2), 9.0, 0.02, 50.0, uint16(60000))
	f.Fuzz(func(t *testing.T, raw []byte, run, holed uint8, test uint16, a, b, perWeek float64, radius uint16) {
		e := Evidence{Prior: Prior{a, b}, BallsPerTest: int(test), SessionsPerWeek: perWeek, Radius: domain.Length(radius)}
		day := 0.0
		for ; len(raw) >= 4 && len(e.Sessions) < 80; raw = raw[4:] {
			day += float64(raw[2] % 60)
			balls := int(raw[0])
			if raw[2] > 250 {
				balls *= 39
			}
			inside := balls * int(raw[1]) / 255
			s := Observation{Day: day, Balls: balls, Inside: inside, Holed: inside / 3, Milestone: raw[2]%60 == 59}
			other := Circle{Radius: 10_000 + 3_000*domain.Length(raw[3]/4), Balls: balls, Inside: inside, Holed: inside / 4}
			switch {
			case balls == 0 || radius == 0 || other.Radius == e.Radius:
			case raw[3]%4 == 1:
				s = Observation{Day: day, Milestone: s.Milestone, Elsewhere: []Circle{other}}
			case raw[3]%4 == 2:
				s.Elsewhere = []Circle{other, {Radius: other.Radius + 500, Balls: 3, Inside: 1}}
			case raw[3]%4 == 3:
				here := Circle{Radius: e.Radius, Balls: s.Balls, Inside: s.Inside, Holed: s.Holed}
				s.Measured = []Circle{here, other}
			}
			e.Sessions = append(e.Sessions, s)
		}
		if run > 0 {
			e.Tier = &streak.Tier{Run: int(run), Holed: int(holed)}
		}
		var p domain.Problems
		if e.Check(&p, ""); len(p.Fields()) > 0 {
			return
		}
		got := Assess(e)
		checkFinite(t, reflect.ValueOf(got), "assessment")
		checkFinite(t, reflect.ValueOf(got.Under(Prior{A: 3, B: 2}, FormKinds{0.5, 0, 0.2, 0.2, 0.1})), "under others")
		checkFinite(t, reflect.ValueOf(RatesOf(e.Sessions, e.Radius, e.Prior)), "rates")
		Walk(e)
	})
}

func checkFinite(t *testing.T, v reflect.Value, path string) {
	t.Helper()
	switch v.Kind() {
	case reflect.Float64:
		if x := v.Float(); math.IsNaN(x) || math.IsInf(x, 0) {
			t.Errorf("%s is %v", path, x)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			checkFinite(t, v.Field(i), path+"."+v.Type().Field(i).Name)
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			checkFinite(t, v.Index(i), fmt.Sprintf("%s[%d]", path, i))
		}
	case reflect.Pointer:
		if !v.IsNil() {
			checkFinite(t, v.Elem(), path)
		}
	}
}
