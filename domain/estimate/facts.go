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
		first := w.fallsSince()
		f := w.flag(*a, first, w.slipping.raised, w.filter.now.falling)
		w.rates(&f.Facts, first, true)
		a.Slipping = f
	}
	if w.flat.on {
		first, rose := w.flatSince()
		f := w.flag(*a, first, w.flat.raised, w.filter.now.staying()+w.filter.now.falling)
		f.Rose = rose
		w.rates(&f.Facts, first, false)
		a.Flat = f
	}
	if at := w.overreached.raised; w.overreached.on {
		a.Overreached = w.flag(*a, at, at, 1)
		w.rates(&a.Overreached.Facts, w.recentFrom(recently), false)
	}
	if at := w.outgrown.raised; w.outgrown.on {
		a.Outgrown = w.flag(*a, at, at, 1)
		w.rates(&a.Outgrown.Facts, w.recentFrom(recently), false)
	}
}

// flag is one whose state holds from session first of the window, and which went
// up after session raised.
func (w *watch) flag(a Assessment, first, raised int, probability float64) *Flag {
	f := &Flag{Since: w.skipped + first + 1, SinceDay: w.sessions[first].Day, Raised: w.skipped + raised + 1, Probability: probability}
	if w.Origin != (domain.Date{}) {
		f.Date = w.Origin.AddDays(int(math.Floor(f.SinceDay)))
	}
	w.odds(&f.Facts, a)
	return f
}

// recentFrom is the index of the n-th practised session from the end.
func (w *watch) recentFrom(n int) int {
	first := 0
	for i := len(w.sessions) - 1; i >= 0 && n > 0; i-- {
		if w.sessions[i].Balls > 0 {
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
	if now := w.filter.now; now.levelled > now.neverRose {
		if at, ok := changePoint(w.sessions, from, false); ok {
			return at, true
		}
	}
	return from, false
}

func (w *watch) fallsSince() int {
	if at, ok := changePoint(w.sessions, 0, true); ok {
		return at
	}
	return w.recentFrom(slippingSessions)
}

// rates fills in the rate from a session on and, if asked for, before it.
func (w *watch) rates(f *Facts, first int, before bool) {
	f.Rate, f.RateLo, f.RateHi, f.Sessions, f.Balls = pooled(w.sessions[first:])
	if before && first > 0 {
		f.Before, f.BeforeLo, f.BeforeHi, _, _ = pooled(w.sessions[:first])
	}
}

// pooled is the rate of sessions taken together, with a 95 % interval that
// allows for the day's form: balls count less by the factor by which typical
// form inflates the variance.
func pooled(sessions []Observation) (rate, lo, hi float64, n, balls int) {
	inside, squares := 0, 0.0
	for _, s := range sessions {
		if s.Balls == 0 {
			continue
		}
		n++
		balls += s.Balls
		inside += s.Inside
		squares += float64(s.Balls) * float64(s.Balls)
	}
	y, m := float64(inside), float64(balls-inside)
	rate = (y + Jeffreys.A) / (y + m + Jeffreys.A + Jeffreys.B)
	worth := 1.0
	if balls > 0 {
		perSession := squares / float64(balls)
		worth = 1 / (1 + (perSession-1)*typicalForm*typicalForm*rate*(1-rate))
	}
	a, b := Jeffreys.A+y*worth, Jeffreys.B+m*worth
	return rate, betaQuantile(0.025, a, b), betaQuantile(0.975, a, b), n, balls
}

// odds fills in what the tier takes and what would give even odds.
func (w *watch) odds(f *Facts, a Assessment) {
	if w.Tier == nil {
		return
	}
	f.Radius, f.Tier, f.BallsPerTest = w.Tier.Radius, *w.Tier, w.BallsPerTest
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
