package learners

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"

	"fringework/domain/estimate"
)

// drift is how a rate changes within a session, in logits, by the ball (from 0)
// and by the share of the session that is over.
type drift struct {
	name string
	of   func(ball int, share, size float64) float64
}

// drifts take the rate 0.6 logits, or 0.7, from where it starts; size, about 1,
// multiplies that. No two have the same shape, and none has that of the model.
var drifts = []drift{
	{"none", func(int, float64, float64) float64 { return 0 }},
	{"warming up", func(ball int, _, size float64) float64 { return size * (min(0.6, 0.05*float64(ball)) - 0.6) }},
	{"rising throughout", func(_ int, share, size float64) float64 { return 0.6 * size * (share - 0.5) }},
	{"tiring", func(ball int, _, size float64) float64 { return -0.02 * size * float64(max(0, ball-10)) }},
	{"falling throughout", func(_ int, share, size float64) float64 { return -0.6 * size * (share - 0.5) }},
}

// struck is how sessions are struck.
type struck struct {
	sessions, lateFrom int
	rate, drop         float64 // the usual rate; logits lost late
	drift              drift
	// stopping is the share of sessions that end with lateFrom+beyond in a row.
	stopping float64
	beyond   int
}

// draw strikes the balls. Over the sessions the student gains up to half a
// logit; the day's form is uniform within 0.4 logits, and the drift of a session
// is within half of the usual one.
func (s struck) draw(r *rand.Rand) [][]bool {
	all := make([][]bool, s.sessions)
	gain := 0.5 * r.Float64()
	for i := range all {
		level := math.Log(s.rate/(1-s.rate)) + gain*(float64(i)/float64(s.sessions)-0.5) + 0.8*(r.Float64()-0.5)
		size, balls := 0.5+r.Float64(), 20+r.IntN(26)
		stops := r.Float64() < s.stopping
		for run, j := 0, 0; j < balls && !(stops && run == s.lateFrom+s.beyond); j++ {
			logit := level + s.drift.of(j, float64(j)/float64(balls-1), size)
			if run >= s.lateFrom {
				logit -= s.drop
			}
			inside := r.Float64() < logistic(logit)
			all[i] = append(all[i], inside)
			if run++; !inside {
				run = 0
			}
		}
	}
	return all
}

// found counts drops found at 5 %, one-sided, and differences at 5 %, two-sided,
// in per cent of all sets; what cannot be tested is not found.
func found(sets int, r *rand.Rand, next func() struck) (drops, either float64) {
	for range sets {
		s := next()
		p, err := estimate.PressureOf(s.draw(r), s.lateFrom)
		if err != nil {
			panic(err) // what is drawn is within the bounds
		}
		if p.Tested {
			drops += one(p.P < 0.05)
			either += one(p.TwoSided < 0.05)
		}
	}
	return 100 * drops / float64(sets), 100 * either / float64(sets)
}

// Pressure is a table of how often estimate.PressureOf finds a drop, in numbers
// of sets of sessions for each figure. Sizes are of students with rates from
// 0.6 to 0.85, in 6 to 20 sessions of 20 to 45 balls, who do not mind being late;
// power is of students with a rate of 0.75, late from 6. The same seed gives the
// same table.
func Pressure(sets int, seed uint64) string {
	r := rand.New(rand.NewPCG(seed, 4))
	var b strings.Builder
	fmt.Fprintf(&b, "Drops found late in a run, one-sided at 5 %%, in %% of %d sets (in brackets differences, two-sided).\n", sets)
	stopping := []float64{0, 0.5, 1}
	b.WriteString("without pressure      no session stops  half of them stop  all stop\n")
	for _, d := range drifts {
		fmt.Fprintf(&b, "  %-18s", d.name)
		for _, stops := range stopping {
			drops, either := found(sets, r, func() struck {
				return struck{sessions: 6 + r.IntN(15), lateFrom: 4 + r.IntN(5), rate: 0.6 + 0.25*r.Float64(), drift: d, stopping: stops, beyond: 1 + r.IntN(5)}
			})
			fmt.Fprintf(&b, "    %5.1f (%3.1f)", drops, either)
		}
		b.WriteByte('\n')
	}
	for lateFrom := 4; lateFrom <= 8; lateFrom++ {
		fmt.Fprintf(&b, "  late from %-8d", lateFrom)
		for _, stops := range stopping {
			drops, either := found(sets, r, func() struck {
				return struck{sessions: 6 + r.IntN(15), lateFrom: lateFrom, rate: 0.6 + 0.25*r.Float64(), drift: drifts[r.IntN(len(drifts))], stopping: stops, beyond: 1 + r.IntN(5)}
			})
			fmt.Fprintf(&b, "    %5.1f (%3.1f)", drops, either)
		}
		b.WriteByte('\n')
	}
	b.WriteString("with pressure, drop in logits    0.5   1.0   1.5\n")
	for _, stops := range []float64{0, 1} {
		for _, sessions := range []int{6, 12, 24} {
			fmt.Fprintf(&b, "  %2d sessions, %s", sessions, map[float64]string{0: "none stops     ", 1: "all stop at 10 "}[stops])
			for _, drop := range []float64{0.5, 1, 1.5} {
				drops, _ := found(sets, r, func() struck {
					return struck{sessions: sessions, lateFrom: 6, rate: 0.75, drop: drop, drift: drifts[r.IntN(len(drifts))], stopping: stops, beyond: 4}
				})
				fmt.Fprintf(&b, "%6.1f", drops)
			}
			b.WriteByte('\n')
		}
	}
	return b.String()
}
