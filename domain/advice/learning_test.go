package advice_test

import (
	"testing"

	"fringework/domain/advice"
	"fringework/domain/estimate"
)

func TestLearningTexts(t *testing.T) {
	arms := estimate.Quiet{Shown: estimate.ArmTally{Tests: 1}}
	quiet := func(difference, lo, hi float64, found estimate.Gap) string {
		return advice.QuietText(estimate.Quiet{Told: true, Difference: difference, Interval95: estimate.Interval{Lo: lo, Hi: hi}, Finding: found})
	}
	for _, c := range []struct{ got, want string }{
		{advice.QuietText(arms), "Cannot tell yet: 1 test with the run shown, 0 tests with it hidden."},
		{quiet(-0.03, -0.09, 0.02, estimate.GapOpen), "3 points lower when the run is shown (between −9 and +2): cannot tell yet."},
		{quiet(-0.081, -0.141, -0.012, estimate.GapLower), "8 points lower when the run is shown (between −14 and −1)."},
		{quiet(0.011, 0.002, 0.02, estimate.GapHigher), "1 point higher when the run is shown (between 0 and +2)."},
		{quiet(0.004, -0.3, 0.3, estimate.GapOpen), "No difference when the run is shown (between −30 and +30): cannot tell yet."},
		{advice.ColdText(estimate.Cold{}), "No first ball of the day yet that has later ones in the same circle beside it."},
		{advice.ColdText(estimate.Cold{Days: 1, Inside: 1}), "1 of 1 first ball of the day inside. Cannot tell yet how they compare with later balls."},
		{
			advice.ColdText(estimate.Cold{Days: 24, Inside: 11, Told: true, LaterRate: 0.6, Difference: -0.142, Range80: estimate.Interval{Lo: -0.25, Hi: -0.03}, Finding: estimate.GapOpen}),
			"11 of 24 first balls of the day inside (46 %), 60 % of the later balls: 14 points lower at first (between −25 and −3): cannot tell yet.",
		},
	} {
		if c.got != c.want {
			t.Errorf("got  %s\nwant %s", c.got, c.want)
		}
	}
}
