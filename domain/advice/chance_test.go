package advice_test

import (
	"math"
	"strings"
	"testing"

	"fringework/domain"
	"fringework/domain/advice"
	"fringework/domain/streak"
)

func TestOneIn(t *testing.T) {
	for p, want := range map[float64]string{
		0: "no session", -1: "no session", 1e-12: "less than 1 session in 1,000", 0.000999: "less than 1 session in 1,000",
		0.001: "about 1 session in 1,000", 1 / 996.0: "about 1 session in 1,000", 1 / 994.0: "about 1 session in 990",
		1 / 172.0: "about 1 session in 170", 1 / 99.4: "about 1 session in 99", 0.0225: "about 1 session in 44",
		0.4: "about 1 session in 3", 0.5: "about 1 session in 2", 2.0 / 3: "about 1 session in 2", 0.67: "most sessions", 1: "most sessions",
	} {
		if got := advice.OneIn(p); got != want {
			t.Errorf("%v: got %q, want %q", p, got, want)
		}
	}
}

// TestHardStepWords holds the warnings to hand arithmetic: n in a row in n balls
// has the chance 0.8ⁿ at 80 %, 0.0225 for 17, 0.0180 for 18, and 0.00379 for 25;
// even odds take 0.5^(1/n) inside, 0.9600 for 17, 0.9622 for 18 and 0.9727 for 25.
func TestHardStepWords(t *testing.T) {
	const remedy = " Shorten the run, widen the circle, or put a step in between."
	const fewer = " Shorten the run, ask for fewer holed, widen the circle, or put a step in between."
	for _, c := range []struct {
		tier  streak.Tier
		balls int
		share float64
		want  string
	}{
		{streak.Tier{Run: 16}, 16, 0, ""},
		{streak.Tier{Run: 17}, 17, 0, "In sessions of 17 balls, a student with 80 % inside passes it in about 1 session in 44: unlikely even in 30 sessions. Even odds in one session take 97 % inside." + remedy},
		{streak.Tier{Run: 18}, 18, 0, "In sessions of 18 balls, a student with 80 % inside passes it in about 1 session in 56: unlikely even in 30 sessions. Even odds in one session take 97 % inside." + remedy},
		{streak.Tier{Run: 25}, 25, 0, "In sessions of 25 balls, a student with 80 % inside passes it in about 1 session in 260: unlikely even in 30 sessions. Even odds in one session take 98 % inside." + remedy},
		{streak.Tier{Run: 100}, 100, 0, "In sessions of 100 balls, a student with 80 % inside passes it in less than 1 session in 1,000: unlikely even in 30 sessions. Even odds in one session take over 99 % inside." + remedy},
		{streak.Tier{Run: 18}, 17, 0, "18 in a row cannot be passed in 17 balls; shorten the run or plan more balls."},
		{streak.Tier{Run: 2}, 1, 0, "2 in a row cannot be passed in 1 ball; shorten the run or plan more balls."},
		{streak.Tier{Run: 6, Holed: 1}, 20, 0, "It asks for 1 holed, and none of the balls inside is expected to be; ask for fewer."},
		// One of 17 holed, half of them on average: all but 0.5¹⁷ of the above.
		{streak.Tier{Run: 17, Holed: 1}, 17, 0.5, "In sessions of 17 balls, a student with 80 % inside passes it in about 1 session in 44: unlikely even in 30 sessions. Even odds in one session take 97 % inside." + fewer},
		// Both balls holed, one in ten of those inside: 0.08² = 0.0064.
		{streak.Tier{Run: 2, Holed: 2}, 2, 0.1, "In sessions of 2 balls, a student with 80 % inside passes it in about 1 session in 160: unlikely even in 30 sessions. Even with every ball inside the odds are below even." + fewer},
	} {
		c.tier.Radius = domain.Metre
		p := streak.Ladder{Tiers: []streak.Tier{c.tier}}.Preview(streak.Session{Balls: c.balls, HoledShare: func(domain.Length) float64 { return c.share }})
		if got := advice.HardStep(p[0], c.balls); got != c.want {
			t.Errorf("%d in %d balls:\ngot  %s\nwant %s", c.tier.Run, c.balls, got, c.want)
		}
	}
	// Over all ladders and sessions, no count above thirty but as one in so many.
	hopeless := streak.TierPreview{Tier: streak.Tier{Run: 20, Radius: domain.Metre}, Hard: &streak.RatePreview{Rate: 0.8, PerSession: 1 / 471686622436.0, Sessions: 471686622436}, EvenRate: math.NaN()}
	if got := advice.HardStep(hopeless, 25); strings.Contains(got, "47168") || !strings.Contains(got, "less than 1 session in 1,000: unlikely even in 30 sessions") {
		t.Errorf("hopeless: got %q", got)
	}
}
