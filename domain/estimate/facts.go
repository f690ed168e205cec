package estimate

import (
	"math"

	"fringework/domain"
	"fringework/domain/greenside"
	"fringework/domain/streak"
)

// recently is how many practised sessions a flag's rate rests on when the state
// has no beginning of its own.
const recently = 9

// raise gives the flags that stand their numbers.
func (w *watch) raise(a *Assessment) {
	if w.slipping.on {
		first := min(w.fallsSince(), w.slipping.raised)
		a.Slipping = w.flag(*a, first, w.slipping.raised, w.now.falling)
		if first > 0 {
			before := RateOf(w.sessions[:first], w.Radius, w.Prior)
			a.Slipping.Before, a.Slipping.BeforeLo, a.Slipping.BeforeHi = before.Mean, before.Interval80.Lo, before.Interval80.Hi
		}
	}
	if w.flat.on {
		first, rose := w.flatSince()
		first = min(first, w.flat.raised) // no state begins after it was seen
		a.Flat = w.flag(*a, first, w.flat.raised, 1-w.now.rising)
		a.Flat.Rose, a.Flat.Trend = rose, a.Trend
		if rose {
			a.Flat.Trend = TrendOf(w.sessions[first:])
		}
	}
	if at := w.overreached.raised; w.overreached.on {
		a.Overreached = w.flag(*a, at, at, 1)
	}
	if at := w.outgrown.raised; w.outgrown.on {
		a.Outgrown = w.flag(*a, at, at, 1)
	}
}

// flag is one whose state holds from session first of the window, and which went
// up after session raised.
func (w *watch) flag(a Assessment, first, raised int, probability float64) *Flag {
	f := &Flag{Since: w.skipped + first + 1, SinceDay: w.sessions[first].Day, Raised: w.skipped + raised + 1, Probability: probability}
	if w.Origin != (domain.Date{}) {
		f.Date = w.Origin.AddDays(int(math.Floor(f.SinceDay)))
	}
	for _, s := range w.sessions[first:] {
		if s.struck() > 0 {
			f.Sessions++
		}
	}
	w.odds(&f.Facts, a)
	return f
}

// recentFrom is the index of the n-th practised session from the end.
func (w *watch) recentFrom(n int) int {
	first := 0
	for i := len(w.sessions) - 1; i >= 0 && n > 0; i-- {
		if w.sessions[i].struck() > 0 {
			first = i
			n--
		}
	}
	return first
}

// flatSince is the session from which a student has stayed where he is, and
// whether a rise came before.
func (w *watch) flatSince() (at int, rose bool) {
	from := 0
	for i, s := range w.sessions {
		if s.Milestone {
			from = min(i+1, len(w.sessions)-1)
		}
	}
	if now := w.now; now.levelled > now.neverRose {
		if at, ok := changePoint(w.sessions, from, false); ok {
			return at, true
		}
	}
	return from, false
}

// fallsSince is the session from which a student falls: not before the last
// milestone, which nobody makes while falling.
func (w *watch) fallsSince() int {
	last := 0
	for i, s := range w.sessions {
		if s.Milestone {
			last = i
		}
	}
	if at, ok := changePoint(w.sessions, 0, true); ok {
		return max(at, last)
	}
	return max(w.recentFrom(slippingSessions), last)
}

// odds fills in what the tier takes and what would give even odds.
func (w *watch) odds(f *Facts, a Assessment) {
	f.Radius = w.Radius
	if w.Tier == nil {
		return
	}
	f.Tier, f.BallsPerTest = *w.Tier, w.BallsPerTest
	if a.Forecast != nil {
		f.Chance, f.MedianSessions = a.Forecast.NextSession, a.Forecast.MedianSessions
	}
	rate := a.Rate.Mean
	even, ok := streak.RateFor(*w.Tier, w.share, w.BallsPerTest, 0.5)
	if ok && rate > 0.01 && rate < 0.99 && even < 0.999 {
		f.EvenScale = greenside.RadiusFrom(1, rate, even)
		if f.Radius > 0 {
			f.EvenRadius, _ = domain.Metres(greenside.RadiusFrom(f.Radius.Metres(), rate, even))
		}
	}
	f.EvenRun = evenRun(rate, w.BallsPerTest)
}

// evenRun is the longest run that has at least even odds within a number of
// balls at a rate; 0 when not even a run of two has.
func evenRun(rate float64, balls int) int {
	longest := 0
	for n := 2; n <= min(balls, streak.MaxRun); n++ {
		if streak.Within(streak.Tier{Run: n}, streak.Rates{In: rate}, balls) < 0.5 {
			break
		}
		longest = n
	}
	return longest
}
