package streak

import (
	"math"
	"strings"
	"testing"

	"fringework/domain"
)

// TestNearFrom: three quarters of the run rounded up, but one ball less at the
// most, and at least one. By hand: 0.75 · 7 = 5.25, so 6.
func TestNearFrom(t *testing.T) {
	for run, want := range map[int]int{
		1: 1, 2: 1, 3: 2, 4: 3, 5: 4, 6: 5, 7: 6, 8: 6, 10: 8, 11: 9, 12: 9, 13: 10, 14: 11, 15: 12, 16: 12, 200: 150,
	} {
		if got := (Tier{Run: run}).NearFrom(); got != want {
			t.Errorf("a run of %d: near from %d, want %d", run, got, want)
		}
	}
}

// problemsOf joins the pointers of what is wrong.
func problemsOf(check func(p *domain.Problems, at string)) string {
	var p domain.Problems
	check(&p, "")
	var all []string
	for _, f := range p.Fields() {
		all = append(all, f.Pointer)
	}
	return strings.Join(all, " ")
}

// TestBallsAtTheirBounds: each bound is accepted and one past it refused.
func TestBallsAtTheirBounds(t *testing.T) {
	const short, wide = domain.Metre / 10, 30 * domain.Metre
	for _, c := range []struct {
		ball Ball
		want string
	}{
		{Ball{Outcome: In, Radius: short}, ""},
		{Ball{Outcome: In, Radius: short - 1}, "/radius_m"},
		{Ball{Outcome: Out, Radius: wide}, ""},
		{Ball{Outcome: Out, Radius: wide + 1}, "/radius_m"},
		{Ball{Outcome: Holed}, ""},
		{Ball{Outcome: Holed, Radius: short}, ""},
		{Ball{Outcome: Holed, Radius: short - 1}, "/radius_m"},
		{Ball{Outcome: Holed, Radius: 1}, "/radius_m"},
		{Ball{Outcome: Holed, Radius: -1}, "/radius_m"},
		{Ball{Outcome: Holed, Radius: wide}, ""},
		{Ball{Outcome: Holed, Radius: wide + 1}, "/radius_m"},
		{Ball{Outcome: Holed, Measured: true}, ""},
		{Ball{Outcome: Holed, Measured: true, Leave: 1}, "/leave_m"},
		{Ball{Outcome: Holed, Measured: true, Leave: -1}, "/leave_m"},
		{Ball{Outcome: Holed, Leave: 1}, ""},
		{Ball{Outcome: In, Radius: 2 * domain.Metre, Measured: true}, ""},
		{Ball{Outcome: In, Radius: 2 * domain.Metre, Measured: true, Leave: 1}, ""},
		{Ball{Outcome: In, Radius: 2 * domain.Metre, Measured: true, Leave: -1}, "/leave_m"},
		{Ball{Outcome: In, Radius: 2 * domain.Metre, Measured: true, Leave: 2 * domain.Metre}, ""},
		{Ball{Outcome: In, Radius: 2 * domain.Metre, Measured: true, Leave: 2*domain.Metre + 1}, "/leave_m"},
		{Ball{Outcome: Out, Radius: 2 * domain.Metre, Measured: true, Leave: 2 * domain.Metre}, ""},
		{Ball{Outcome: Out, Radius: 2 * domain.Metre, Measured: true, Leave: 2*domain.Metre - 1}, "/leave_m"},
		{Ball{Outcome: Out, Radius: wide, Measured: true, Leave: 1000 * domain.Metre}, ""},
		{Ball{Outcome: Out, Radius: wide, Measured: true, Leave: 1000*domain.Metre + 1}, "/leave_m"},
		{Ball{Outcome: 3}, "/outcome"},
	} {
		if got := problemsOf(c.ball.Check); got != c.want {
			t.Errorf("%+v: problems at %q, want %q", c.ball, got, c.want)
		}
	}
}

// TestQuestionsAtTheirBounds, as for balls.
func TestQuestionsAtTheirBounds(t *testing.T) {
	ask := func(change func(q *Question)) string {
		q := Question{Run: 6, Rates: Rates{In: 0.5, Holed: 0.1}}
		change(&q)
		return problemsOf(q.Check)
	}
	for _, c := range []struct {
		what   string
		change func(q *Question)
		want   string
	}{
		{"no ball", func(q *Question) { q.Balls = 0 }, ""},
		{"most balls", func(q *Question) { q.Balls = 20_000 }, ""},
		{"a ball more", func(q *Question) { q.Balls = 20_001 }, "/balls"},
		{"longest current run", func(q *Question) { q.From = Run{Length: 20_000} }, ""},
		{"a ball longer", func(q *Question) { q.From = Run{Length: 20_001} }, "/from/run"},
		{"all of it holed", func(q *Question) { q.From = Run{Length: 3, Holed: 3} }, ""},
		{"less than none holed", func(q *Question) { q.From = Run{Length: 3, Holed: -1} }, "/from/holed"},
		{"longest run", func(q *Question) { q.Run = 200 }, ""},
		{"longer", func(q *Question) { q.Run = 201 }, "/run"},
		{"shortest run, all holed", func(q *Question) { q.Run, q.Holed = 1, 1 }, ""},
		{"more holed than a run of one", func(q *Question) { q.Run, q.Holed = 1, 2 }, "/holed"},
		{"no run asks for a run alone", func(q *Question) { q.Run, q.Holed = 0, 1 }, "/run"},
		{"rates of nothing", func(q *Question) { q.Rates = Rates{} }, ""},
		{"always in", func(q *Question) { q.Rates = Rates{In: 1} }, ""},
		{"always holed", func(q *Question) { q.Rates = Rates{Holed: 1} }, ""},
		{"a little more than always", func(q *Question) { q.Rates = Rates{In: 0.5, Holed: 0.5 + 1e-9} }, "/rates"},
		{"both rates impossible", func(q *Question) { q.Rates = Rates{In: -1, Holed: 2} }, "/rates/in /rates/holed"},
	} {
		if got := ask(c.change); got != c.want {
			t.Errorf("%s: problems at %q, want %q", c.what, got, c.want)
		}
	}
}

// TestNoRate: where no rate will do, none is given.
func TestNoRate(t *testing.T) {
	var o Odds
	o.Prepare(Tier{Run: 5, Holed: 1}, Rates{In: 0.5, Holed: 0.1})
	for what, ask := range map[string]func() (float64, bool){
		"too few balls":       func() (float64, bool) { return o.RateFor(Run{Length: 2}, 2, 0.5) },
		"attained already":    func() (float64, bool) { return o.RateFor(Run{Length: 6, Holed: 1}, 9, 0.5) },
		"holed balls too few": func() (float64, bool) { return o.RateFor(Run{}, 5, 0.999) },
	} {
		if rate, ok := ask(); ok || rate != 0 {
			t.Errorf("%s: got %v, %v, want no rate", what, rate, ok)
		}
	}
	// Three more balls of a run, all inside, one of them surely holed: p³ = 1/2.
	o.Prepare(Tier{Run: 5}, Rates{In: 0.5})
	if rate, ok := o.RateFor(Run{Length: 2}, 3, 0.5); !ok || math.Abs(rate-math.Cbrt(0.5)) > 1e-12 {
		t.Errorf("just enough balls: got %v, %v, want %v", rate, ok, math.Cbrt(0.5))
	}
}

// TestWarningAtItsLimit: a run of n in n balls takes 1/0.8ⁿ sessions at 80 %:
// 35.5 for sixteen, which is within three months at three a week, and 44.4 for
// seventeen. Even odds for that take 0.5^(1/17) = 0.96005, so 97 % in whole
// per cent that are enough.
func TestWarningAtItsLimit(t *testing.T) {
	one := func(tier Tier, balls int) string {
		return Ladder{Tiers: []Tier{tier}}.Preview(Session{Balls: balls})[0].Warning
	}
	if got := one(Tier{Run: 16, Radius: 2 * domain.Metre}, 16); got != "" {
		t.Errorf("sixteen in sixteen balls is warned of: %q", got)
	}
	want := "17 in a row inside 2 m: a student with 80 % inside needs about 44 sessions of 17 balls. Even odds in one session take 97 % inside. Almost nobody will finish it: shorten the run, widen the circle, or put a tier in between."
	if got := one(Tier{Run: 17, Radius: 2 * domain.Metre}, 17); got != want {
		t.Errorf("seventeen in seventeen balls:\ngot  %s\nwant %s", got, want)
	}
	want = "18 in a row inside 2 m cannot be made in 17 balls; shorten the run or plan more balls."
	if got := one(Tier{Run: 18, Radius: 2 * domain.Metre}, 17); got != want {
		t.Errorf("eighteen in seventeen balls:\ngot  %s\nwant %s", got, want)
	}
	want = "6 in a row inside 2 m with 1 holed cannot be made in 20 balls; shorten the run or plan more balls."
	if got := one(Tier{Run: 6, Radius: 2 * domain.Metre, Holed: 1}, 20); got != want {
		t.Errorf("a holed ball where none is ever holed:\ngot  %s\nwant %s", got, want)
	}
}

// TestPreviewRates: the rates of a preview are every twentieth from one half,
// and three in three balls come up as p³, holed or not.
func TestPreviewRates(t *testing.T) {
	got := Ladder{Tiers: []Tier{{Run: 3, Radius: domain.Metre, Holed: 3}}}.Preview(Session{Balls: 3, HoledShare: 0.25})[0]
	if len(got.Rates) != 10 {
		t.Fatalf("%d rates, want 10", len(got.Rates))
	}
	for i, r := range got.Rates {
		rate := float64(50+5*i) / 100
		if want := math.Pow(rate/4, 3); r.Rate != rate || math.Abs(r.PerSession-want) > 1e-12 {
			t.Errorf("rate %v: got %+v, want a chance of %v", rate, r, want)
		}
	}
	if !math.IsNaN(got.EvenRate) {
		t.Errorf("a quarter holed at the most has an even rate of %v", got.EvenRate)
	}
}

// TestTableShape: a row for each length up to the run, for each number of holed
// balls up to what is asked, and a column for no ball and for each further one.
func TestTableShape(t *testing.T) {
	table := TableOf(Tier{Run: 4, Holed: 1}, Rates{In: 0.5, Holed: 0.25}, 6)
	if len(table) != 5 {
		t.Fatalf("%d lengths, want 5", len(table))
	}
	for run, rows := range table {
		if len(rows) != 2 {
			t.Fatalf("a run of %d: %d rows, want 2", run, len(rows))
		}
		for holed, row := range rows {
			if len(row) != 7 {
				t.Fatalf("a run of %d with %d holed: %d columns, want 7", run, holed, len(row))
			}
			if done := run == 4 && holed == 1; done != (row[0] == 1) || !done && row[0] != 0 {
				t.Errorf("a run of %d with %d holed, no ball left: got %v", run, holed, row[0])
			}
		}
	}
	// By hand: one ball makes three into four and holds a holed one, or not.
	for _, c := range []struct {
		run, holed, balls int
		want              float64
	}{{3, 1, 1, 0.75}, {3, 0, 1, 0.25}, {3, 0, 2, 0.25 + 0.5*0.25}, {4, 0, 1, 0.25}, {4, 0, 2, 0.25 + 0.5*0.25}, {4, 1, 6, 1}, {2, 0, 1, 0}} {
		if got := table[c.run][c.holed][c.balls]; math.Abs(got-c.want) > 1e-15 {
			t.Errorf("a run of %d with %d holed, %d balls: got %v, want %v", c.run, c.holed, c.balls, got, c.want)
		}
	}
}

// TestLaddersAtTheirBounds: twelve tiers fit, and steps are told on their own
// however the tier before fares.
func TestLaddersAtTheirBounds(t *testing.T) {
	rising := func(n int) (l Ladder) {
		for i := range n {
			l.Tiers = append(l.Tiers, Tier{Run: i + 3, Radius: 2 * domain.Metre})
		}
		return l
	}
	const two = 2 * domain.Metre
	for _, c := range []struct {
		what   string
		ladder Ladder
		want   string
	}{
		{"twelve", rising(12), ""},
		{"one", rising(1), ""},
		{"all three easier", Ladder{Tiers: []Tier{{6, two, 2}, {5, two + 1, 1}}}, "/1/run /1/radius_m /1/holed"},
		{"a step from a tier out of bounds is not judged", Ladder{Tiers: []Tier{{6, two, 7}, {5, two, 0}}}, "/0/holed"},
		{"but the next one is", Ladder{Tiers: []Tier{{6, two, 7}, {5, two, 0}, {4, two, 0}}}, "/0/holed /2/run"},
		{"nor a step to one", Ladder{Tiers: []Tier{{6, two, 0}, {201, two, 0}, {5, two, 0}}}, "/1/run"},
	} {
		got := problemsOf(c.ladder.Check)
		if got != c.want {
			t.Errorf("%s: problems at %q, want %q", c.what, got, c.want)
		}
	}
}
