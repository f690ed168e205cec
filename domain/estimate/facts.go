package estimate

import (
	"math"

	"fringework/domain"
	"fringework/domain/greenside"
	"fringework/domain/streak"
)

// recently is how many practised sessions a rate in a sentence rests on when
// the state has no beginning of its own.
const recently = 9

// stall gives a flag that stands its numbers and its sentences.
func (w *watch) stall(r Reason, a Assessment) Stall {
	s := Stall{Reason: r, Probability: 1}
	first, raised := 0, 0
	switch r {
	case Lapsed:
		first = w.lastPractised()
		raised = len(w.sessions) - 1
	case Flat:
		first, s.Facts.Rose = w.flatSince()
		raised = w.flat.raised
		s.Probability = w.filter.now.staying() + w.filter.now.falling
	case Slipping:
		first = w.fallsSince()
		raised = w.slipping.raised
		s.Probability = w.filter.now.falling
	case Overreached:
		first, raised = w.overreached.raised, w.overreached.raised
	case Outgrown:
		first, raised = w.outgrown.raised, w.outgrown.raised
	}
	s.Since, s.SinceDay, s.Raised = w.skipped+first+1, w.sessions[first].Day, w.skipped+raised+1
	s.Facts.SinceSession = s.Since
	if !w.Style.Origin.IsZero() {
		s.Facts.Since = w.Style.Origin.AddDate(0, 0, int(math.Floor(s.SinceDay)))
	}
	switch r {
	case Lapsed:
		s.Facts.Days, s.Facts.Gap = w.asOf-s.SinceDay, w.gap()
		s.Facts.Missed = len(w.sessions) - 1 - first
	case Flat, Slipping:
		w.rates(&s.Facts, first, r == Slipping)
	default:
		w.rates(&s.Facts, w.recentFrom(recently), false)
	}
	if r != Lapsed {
		w.odds(&s.Facts, a)
	}
	s.Evidence, s.Advice = Describe(s, w.Style)
	return s
}

func (w *watch) lastPractised() int {
	for i := len(w.sessions) - 1; i >= 0; i-- {
		if w.sessions[i].Balls > 0 {
			return i
		}
	}
	return 0
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
