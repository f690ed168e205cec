package advice_test

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"fringework/domain"
	"fringework/domain/advice"
	"fringework/domain/estimate"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

func reasons(stalls []advice.Stall) (out []advice.Reason) {
	for _, s := range stalls {
		out = append(out, s.Reason)
	}
	return out
}

func state(skill domain.ID, a estimate.Assessment) progress.State {
	return progress.State{Skill: skill, Assessment: a}
}

// allFlags raises every flag.
func allFlags() estimate.Assessment {
	return estimate.Assessment{Slipping: &estimate.Flag{}, Flat: &estimate.Flag{}, Overreached: &estimate.Flag{}, Outgrown: &estimate.Flag{}}
}

// TestReasonsAreDeclaredOnce: in order of urgency, each with a label.
func TestReasonsAreDeclaredOnce(t *testing.T) {
	// What is being lost comes first, what is merely too easy last.
	order := []advice.Reason{
		advice.Lapsed, advice.Unstarted, advice.Uncoached, advice.Slipping, advice.Flat, advice.Overreached, advice.Ending, advice.Unplanned, advice.Lopsided, advice.Outgrown,
	}
	got := advice.Reasons()
	known := slices.DeleteFunc(slices.Clone(got), func(r advice.Reason) bool { return !slices.Contains(order, r) })
	if !slices.Equal(known, order) {
		t.Errorf("got %v, want %v in that order", got, order)
	}
	labels := map[string]bool{}
	for i, r := range got {
		if r.Urgency() != i || r.Label() == "" || labels[r.Label()] || r.Silence() < 1 || r.Silence() > advice.LongestSilence {
			t.Errorf("%s: urgency %d, label %q, silence of %d days", r, r.Urgency(), r.Label(), r.Silence())
		}
		labels[r.Label()] = true
	}
	none := advice.Reason("tired")
	if none.Urgency() != -1 || none.Label() != "" || none.Silence() != advice.LongestSilence {
		t.Errorf("tired is no reason: got %d, %q", none.Urgency(), none.Label())
	}
	inWords := strings.Split(strings.Replace(advice.Names(), " or ", ", ", 1), ", ")
	if len(inWords) != len(got) || inWords[0] != "lapsed" || inWords[len(inWords)-1] != string(got[len(got)-1]) {
		t.Errorf("in words: %q", advice.Names())
	}
}

// TestSilence: a near tier silences what holds a student up, but not what is too
// easy; a lapse what the student cannot gain or try without practice.
func TestSilence(t *testing.T) {
	near := allFlags()
	near.Forecast = &estimate.Forecast{Within: [3]float64{0.8, 0.9, 0.95}}
	far := allFlags()
	far.Forecast = &estimate.Forecast{Within: [3]float64{0.79, 0.9, 0.95}}
	skills := []progress.State{state("pitch", near), state("chip", far), state("lob", allFlags())}
	today := domain.Date{Year: 2026, Month: 5, Day: 20}
	gone := advice.Practice{Expected: true, Today: today, Since: today.AddDays(-9)}
	for _, c := range []struct {
		why  string
		p    advice.Practice
		want string
	}{
		{"practising", advice.Practice{}, "slipping chip, slipping lob, flat chip, flat lob, overreached chip, overreached lob, outgrown pitch, outgrown chip, outgrown lob"},
		{"lapsed", gone, "lapsed , slipping chip, slipping lob, overreached chip, overreached lob"},
	} {
		var got []string
		for _, s := range advice.Weigh(c.p, skills) {
			got = append(got, string(s.Reason)+" "+string(s.Skill))
		}
		if strings.Join(got, ", ") != c.want {
			t.Errorf("%s: got %v, want %s", c.why, got, c.want)
		}
	}
}

// career has a level that rises by so many hundredths of a ball a session.
func career(n int, rise float64, r *rand.Rand) []estimate.Observation {
	out := make([]estimate.Observation, n)
	for i := range out {
		balls, inside := 20+r.IntN(21), 0
		for range balls {
			if r.Float64() < 0.45+rise*float64(i) {
				inside++
			}
		}
		out[i] = estimate.Observation{Day: float64(2 * i), Balls: balls, Inside: inside, Holed: inside / 10}
	}
	return out
}

// TestWalkIsWeighOfEveryPrefix: what is told of the past is what would have been
// told then.
func TestWalkIsWeighOfEveryPrefix(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 10))
	seen := map[advice.Reason]bool{}
	for c := range 12 {
		e := estimate.Evidence{Sessions: career(40, []float64{0.01, 0, -0.008, 0.012}[c%4], r)}
		from := 40
		if c%2 == 0 {
			from = 20
		}
		for i := range e.Sessions {
			if i > from && r.IntN(8) > 0 || r.IntN(12) == 0 {
				e.Sessions[i] = estimate.Observation{Day: e.Sessions[i].Day} // planned, not held
			}
		}
		if c > 3 {
			e.Tier, e.BallsPerTest = &streak.Tier{Run: 2 + 2*c, Radius: 15240}, 20
		}
		if c > 6 {
			e.Tier.Run = 3
		}
		for i, got := range advice.Walk(e) {
			part := e
			part.Sessions = e.Sessions[:i+1]
			want := reasons(advice.Weigh(advice.PracticeOf(part, 0), []progress.State{state("", estimate.Assess(part))}))
			if got.Session != i+1 || !slices.Equal(got.Reasons, want) {
				t.Fatalf("career %d, session %d: walk says %+v, weighing %v", c, i+1, got, want)
			}
			for _, x := range want {
				seen[x] = true
			}
		}
	}
	for _, x := range []advice.Reason{advice.Lapsed, advice.Slipping, advice.Flat, advice.Overreached, advice.Outgrown} {
		if !seen[x] {
			t.Errorf("no career was ever %s", x)
		}
	}
}

// TestNobodyCloseIsFlagged: whoever likely attains the next tier within four
// sessions is neither flat nor slipping nor overreached.
func TestNobodyCloseIsFlagged(t *testing.T) {
	stalls := func(e estimate.Evidence) (estimate.Assessment, []advice.Reason) {
		a := estimate.Assess(e)
		return a, reasons(advice.Weigh(advice.Practice{}, []progress.State{state("", a)}))
	}
	e := estimate.Evidence{Sessions: steady(30, 30, 22), BallsPerTest: 20}
	if _, got := stalls(e); !slices.Contains(got, advice.Flat) {
		t.Fatalf("without a tier the stalls are %v, want flat", got)
	}
	for _, c := range []struct {
		run  int
		want bool
	}{{4, false}, {7, false}, {16, true}} {
		e.Tier = &streak.Tier{Run: c.run}
		a, all := stalls(e)
		near := a.Forecast.Within[0] >= 0.8
		if got := slices.Contains(all, advice.Flat); got != c.want || got == near {
			t.Errorf("run %d: flat is %v with a chance of %.2f within four sessions, want %v", c.run, got, a.Forecast.Within[0], c.want)
		}
	}
	r := rand.New(rand.NewPCG(13, 14))
	for range 300 {
		e := estimate.Evidence{Sessions: career(10+r.IntN(40), 0.012*r.Float64()-0.006, r), Tier: &streak.Tier{Run: 2 + r.IntN(10)}, BallsPerTest: 10 + r.IntN(40)}
		a, all := stalls(e)
		for _, reason := range all {
			if a.Forecast.Within[0] >= 0.8 && reason != advice.Outgrown {
				t.Errorf("%s with a chance of %v within four sessions", reason, a.Forecast.Within[0])
			}
		}
	}
}
