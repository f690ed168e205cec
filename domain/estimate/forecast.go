package estimate

import "math"

// forecastSessions is how far the forecast carries a trend, and no further
// than sessions have been seen; from there on the level stays.
const forecastSessions = 12

// horizon is how many sessions ahead a forecast speaks of.
const horizon = 200

// unforeseen is the part of every probability that is kept back for what no
// session can show, so that a forecast never promises.
const unforeseen = 0.005

// forecast goes on from what the filter knows: in each session to come some
// change over, all move, and those who attain the tier drop out. The tier's
// exact odds are averaged over the day's form, the level, the pace and the
// change-over, so all of what is uncertain is integrated; the selection that
// whoever has not attained it is likely the weaker one is part of it. A rise
// flattens with the chance to level off, and stops after forecastSessions.
// days is the student's pace, in days a session.
func (f *filter) forecast(attain *table, days float64) Forecast {
	g := f.clone()
	defer g.free()
	var done [forecastSessions + 1]float64
	for k := 1; k <= forecastSessions; k++ {
		done[k] = g.next(k, attain, done[k-1])
	}
	within := func(k int) float64 { return (1 - unforeseen) * done[k] }
	out := Forecast{NextSession: within(1)}
	for i, k := range Horizons {
		out.Within[i] = within(k)
	}
	tail := g.tail(attain)
	quantile := func(q float64) float64 {
		for k := 1; k <= forecastSessions; k++ {
			if within(k) >= q {
				return float64(k)
			}
		}
		return tail.first((1 - q/(1-unforeseen)) / (1 - done[forecastSessions]))
	}
	out.MedianSessions = quantile(0.5)
	out.Range80Sessions = Interval{quantile(0.1), quantile(0.9)}
	out.Range80Days = Interval{out.Range80Sessions.Lo * days, out.Range80Sessions.Hi * days}
	return out
}

// within is the chance of attaining the tier within a number of sessions, at
// most forecastSessions.
func (f *filter) within(attain *table, sessions int) float64 {
	g := f.clone()
	defer g.free()
	done := 0.0
	for k := 1; k <= sessions; k++ {
		done = g.next(k, attain, done)
	}
	return (1 - unforeseen) * done
}

// next plays session k from now, for those who have not attained the tier; done
// is the chance of having attained it before, and the result that of having
// attained it by then.
func (f *filter) next(k int, attain *table, done float64) float64 {
	if k <= f.sessions {
		f.advance()
		f.bin()
	}
	done += (1 - done) * f.mean(attain)
	f.weigh(attain, true)
	return math.Min(done, 1)
}

// tail is what is left when the trend has ended: weights of levels and the
// logarithm of the chance of not attaining the tier in a session there.
type tail struct{ weight, miss []float64 }

func (f *filter) tail(attain *table) tail {
	sum := f.up[:]
	f.gather(sum, f.lanes)
	k := 1 / f.total
	t := tail{}
	for c := f.lo; c < min(f.hi+1, cells); c++ {
		if sum[c] > 0 {
			t.weight = append(t.weight, sum[c]*k)
			t.miss = append(t.miss, math.Log1p(-math.Min(float64(attain[c*finePerCell]), 1-1e-9)))
		}
	}
	return t
}

// first is the first session, counted from now, after which the chance of not
// having attained the tier is at most bar; 0 when it lies beyond the horizon.
func (t tail) first(bar float64) float64 {
	lo, hi := 0, horizon-forecastSessions // not yet at lo
	if t.left(hi) > bar {
		return 0
	}
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; t.left(mid) <= bar {
			hi = mid
		} else {
			lo = mid
		}
	}
	return float64(forecastSessions + hi)
}

func (t tail) left(k int) float64 {
	sum := 0.0
	for i, w := range t.weight {
		sum += w * math.Exp(float64(k)*t.miss[i])
	}
	return sum
}
