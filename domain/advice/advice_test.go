package advice_test

import (
	"strings"
	"testing"
	"time"

	"fringework/domain/advice"
	"fringework/domain/estimate"
	"fringework/domain/progress"
)

var day1 = time.Date(2026, 5, 4, 10, 0, 0, 0, time.UTC) // a Monday

// timed is a session of given times on a day after day1.
func timed(day float64, times ...progress.KindTime) progress.SessionTime {
	return progress.SessionTime{Session: "s", StartedAt: day1.Add(time.Duration(day * 24 * float64(time.Hour))), Times: times}
}

func kind(k string, planned, spent int) progress.KindTime {
	return progress.KindTime{Kind: k, Planned: planned, Spent: spent}
}

// steady gives sessions of equal counts two days apart.
func steady(n, balls, inside int) []estimate.Observation {
	out := make([]estimate.Observation, n)
	for i := range out {
		out[i] = estimate.Observation{Day: float64(2 * i), Balls: balls, Inside: inside}
	}
	return out
}

// told wants one reason with its evidence, and advice that begins so; none when
// the evidence is empty.
func told(t *testing.T, why string, got []advice.Stall, reason advice.Reason, evidence, begins string) {
	t.Helper()
	if evidence == "" {
		if len(got) != 0 {
			t.Errorf("%s: got %+v, want nothing", why, got)
		}
		return
	}
	if len(got) != 1 || got[0].Reason != reason || got[0].Probability != 1 {
		t.Errorf("%s: got %+v, want %s", why, got, reason)
		return
	}
	if e, a := got[0].Words(advice.Reader{}); e != evidence || !strings.HasPrefix(a, begins) {
		t.Errorf("%s: got %q, %q, want %q and advice that begins with %q", why, e, a, evidence, begins)
	}
}
