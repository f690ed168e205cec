package progress

import "math"

// forecastFromRate is the forecast at a rate that stays where it is: the odds
// of one test mixed over the rate's distribution.
func forecastFromRate(r Rate, run, balls int, pace float64) Forecast {
	const cells = 40
	var odds [cells]float64
	for i := range odds {
		odds[i] = runWithin(run, balls, betaQuantile((float64(i)+0.5)/cells, r.A, r.B))
	}
	by := func(k float64) float64 {
		sum := 0.0
		for _, p := range odds {
			sum += 1 - math.Pow(1-p, k)
		}
		return sum / cells
	}
	f := Forecast{NextSession: by(1)}
	for i, k := range Horizons {
		f.Within[i] = by(float64(k))
	}
	quantile := func(q float64) float64 {
		for k := 1; k <= horizon; k++ {
			if by(float64(k)) >= q {
				return float64(k)
			}
		}
		return math.Inf(1)
	}
	f.MedianSessions = quantile(0.5)
	f.Range80Sessions = Interval{quantile(0.1), quantile(0.9)}
	f.Range80Days = Interval{f.Range80Sessions.Lo * pace, f.Range80Sessions.Hi * pace}
	return f
}

// horizon is how many sessions ahead a forecast speaks of.
const horizon = 200

// runWithin is the probability of a run of n successes within N balls.
func runWithin(n, balls int, p float64) float64 {
	state := make([]float64, n)
	state[0] = 1
	done := 0.0
	for range balls {
		done += state[n-1] * p
		miss := 0.0
		for i := n - 1; i >= 0; i-- {
			miss += state[i] * (1 - p)
			if i > 0 {
				state[i] = state[i-1] * p
			}
		}
		state[0] = miss
	}
	return done
}
