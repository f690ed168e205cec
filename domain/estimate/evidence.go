package estimate

import (
	"strconv"

	"fringework/domain"
	"fringework/domain/streak"
)

// Observation is what one session says about one skill. Which balls are counted
// where must not depend on how they came out: a ball that was out of a wider
// circle was out of this one, but one that was in it may be either, so both belong
// to Elsewhere.
type Observation struct {
	// Day counts days from any fixed origin; sessions are in rising order.
	Day float64
	// Balls that were judged in the circle in focus, or whose leave was measured.
	// A session without any, here or elsewhere, was planned and not held.
	Balls int
	// Inside is how many of Balls came to rest inside the radius or were
	// holed: 0 … Balls.
	Inside int
	// Holed is how many of Inside were holed: 0 … Inside.
	Holed int
	// Milestone says that a tier of the ladder was attained in this session.
	Milestone bool
	// Elsewhere are the balls that were judged in other circles, one entry for
	// each.
	Elsewhere []Circle
	// Measured counts those of Balls whose leave was measured in every circle it
	// tells of, the one in focus among them: their scatter.
	Measured []Circle
}

// struck counts the balls.
func (o Observation) struck() int {
	n := o.Balls
	for _, c := range o.Elsewhere {
		n += c.Balls
	}
	return n
}

// Evidence is everything an assessment may use.
type Evidence struct {
	// Sessions, oldest first. Only the last Window of them are read.
	Sessions []Observation
	// Prior of the rate; the zero value means Jeffreys'.
	Prior Prior
	// Radius of the circle in focus; it may be 0, for unknown, when no ball was
	// judged elsewhere.
	Radius domain.Length
	// Tier is the next tier to attain, in the circle in focus; nil when the ladder
	// is finished or there is none.
	Tier *streak.Tier
	// BallsPerTest is how many balls a session offers for attaining Tier.
	BallsPerTest int
	// SessionsPerWeek is the plan's pace; 0 when there is no plan.
	SessionsPerWeek float64
	// Origin is the date of day 0; zero when days have no dates.
	Origin domain.Date
}

// Interval is a closed interval.
type Interval struct{ Lo, Hi float64 }

// Rate is the chance that a ball comes to rest inside, as it stands now without
// the day's form: a Beta(A, B) distribution.
type Rate struct {
	Mean       float64
	Interval80 Interval
	Interval95 Interval
	// EffectiveBalls is how many balls of today the whole evidence is worth.
	EffectiveBalls float64
	// A and B are the parameters of the distribution.
	A, B float64
}

// Trend is the change of the rate from session to session.
type Trend struct {
	// Sessions is how many practised sessions since the last milestone it
	// rests on.
	Sessions int
	// Slope in logits per session.
	Slope float64
	// Interval80 of the slope.
	Interval80 Interval
	// Improving is the probability that the slope is above 0.
	Improving float64
}

// Forecast says when the next tier may be attained.
type Forecast struct {
	// NextSession and Within are probabilities of attaining the tier in the
	// next session and within 4, 8 and 12 sessions.
	NextSession float64
	Within      [3]float64
	// MedianSessions and Range80Sessions are in sessions from now, at least 1;
	// 0 when that share of the probability lies beyond 200 sessions.
	MedianSessions  float64
	Range80Sessions Interval
	// Range80Days is the same range in days at the student's own pace.
	Range80Days Interval
}

// Horizons are the numbers of sessions of Forecast.Within.
var Horizons = [3]int{4, 8, 12}

// likely is the chance of the next tier within four sessions from which on it is
// near. A lower one would keep silent about students who level off in sight of an
// easy tier: at even odds it hides a quarter of the reference learners who do,
// with a tier of 9 in 20.
const likely = 0.8

// Near says whether the next tier is likely attained within four sessions, with
// a chance of four in five; it is not without a forecast.
func (f *Forecast) Near() bool { return f != nil && f.Within[0] >= likely }

// Flag is a state that the balls show, with the numbers behind it.
type Flag struct {
	// Since is the 1-based session of Evidence.Sessions from which the state
	// holds by the best reading of the data, and SinceDay its day; Date is that
	// day's date, zero when days have no dates. The flag itself went up later:
	// see Raised.
	Since    int
	SinceDay float64
	Date     domain.Date
	// Raised is the 1-based session after which the flag went up.
	Raised int
	// Probability of the state; 1 for what is computed from the rate.
	Probability float64
	Facts
}

// Facts are the numbers behind a flag. What does not apply is 0.
type Facts struct {
	// Radius of the circle in focus.
	Radius domain.Length
	// Sessions practised since the state began, or the last ones.
	Sessions int
	// Before is the rate before a fall, with its 80 % interval.
	Before   float64
	BeforeLo float64
	BeforeHi float64
	// Rose says that a rise came before a flat stretch, and Trend is that of the
	// stretch.
	Rose  bool
	Trend Trend
	// Tier to attain, with BallsPerTest balls a session, the chance of that in
	// one session and the median number of sessions it takes; the median is 0
	// beyond 200.
	Tier           streak.Tier
	BallsPerTest   int
	Chance         float64
	MedianSessions float64
	// EvenRadius and EvenRun give even odds in one session at the present
	// rate: the tier's run in another circle, or another run in this circle.
	// EvenScale is EvenRadius over Radius, known without a radius.
	EvenRadius domain.Length
	EvenScale  float64
	EvenRun    int
}

// Undecided is the honest state of data that cannot tell yet.
type Undecided struct {
	// Applies says that the data cannot tell.
	Applies bool
	// MoreSessions is about how many more sessions of Balls balls it takes to
	// tell; 0 when nothing is undecided.
	MoreSessions int
	Balls        int
	// Sessions is how many practised sessions there were.
	Sessions int
}

// Assessment is everything the evidence says. A flag is nil unless it stands.
type Assessment struct {
	// Rate is the level now, Next what the next session will bring, and Trend the
	// change from session to session.
	Rate  Rate
	Next  NextSession
	Trend Trend
	// Form is the day's form.
	Form DayForm
	// HoledShare is the share of the balls inside that are holed, from 0 to 1.
	HoledShare float64
	// Forecast is nil without a tier to attain.
	Forecast *Forecast
	// Slipping: a fall is likely, and large enough to matter. Flat: a gain worth
	// having is improbable. Overreached: the next tier is out of reach at this
	// rate. Outgrown: it is too easy.
	Slipping    *Flag
	Flat        *Flag
	Overreached *Flag
	Outgrown    *Flag
	// Slow says that a gain worth having is improbable, and a small one likely.
	Slow      bool
	Undecided Undecided
	// Line is the mean of the rate after each of the last sessions before the latest,
	// oldest first, at most LineSessions, in thousandths: what a small drawing shows.
	// Like [RatesOf] it knows no prior.
	Line []int
}

// LineSessions is how many rates before the present one an assessment keeps.
const LineSessions = 11

// Status is what holds after one session, judged on the sessions up to it
// alone.
type Status struct {
	// Session is 1-based.
	Session                               int
	Slipping, Flat, Overreached, Outgrown bool
	Slow                                  bool
	// Near says whether the next tier was near, as [Forecast.Near] does.
	Near      bool
	Undecided bool
}

// Window is how many sessions an assessment reads at most: the last ones.
const Window = 50

// Bounds of the evidence.
const (
	MaxSessions = 1_000
	// MaxBalls is the most balls of one session, more than anybody strikes in
	// a day, and MaxBallsPerTest the most a session offers for a tier.
	MaxBalls = 10_000
	// MaxCircles is the most circles that a session's balls are judged in.
	MaxCircles      = 10
	MaxBallsPerTest = 2_000
	// MaxPerWeek is the most sessions a week of a plan.
	MaxPerWeek = 50
	// maxDay bounds days, so that differences stay exact.
	maxDay = 1_000_000
	// A prior's parameters lie from minPrior to maxPrior.
	minPrior, maxPrior = 0.01, 10_000
)

// Check notes everything wrong with the evidence in p, at the members
// "sessions", "prior", "tier", "balls_per_test" and
// "sessions_per_week" of the object at the JSON pointer at. The radius of the
// evidence is not looked at.
func (e Evidence) Check(p *domain.Problems, at string) {
	checkSessions(p, at+"/sessions", e.Sessions)
	e.checkElsewhere(p, at+"/sessions/")
	if e.Prior != (Prior{}) {
		e.Prior.Check(p, at+"/prior")
	}
	if e.Tier != nil {
		t := *e.Tier
		if t.Radius == 0 {
			t.Radius = streak.MaxRadius // unknown, which is fine here
		}
		t.Check(p, at+"/tier")
		if e.BallsPerTest < 0 || e.BallsPerTest > MaxBallsPerTest {
			p.Add(at+"/balls_per_test", "a session offers from 0 to %d balls for a tier, got %d", MaxBallsPerTest, e.BallsPerTest)
		}
	}
	if !(e.SessionsPerWeek >= 0 && e.SessionsPerWeek <= MaxPerWeek) {
		p.Add(at+"/sessions_per_week", "is %v; give 0 (no plan) to %d sessions a week", e.SessionsPerWeek, MaxPerWeek)
	}
}

// checkElsewhere notes balls whose circle is no other than that in focus, or not
// known to be; without a radius the first of them stands for all.
func (e Evidence) checkElsewhere(p *domain.Problems, at string) {
	for i, s := range e.Sessions {
		for j, c := range s.Elsewhere {
			at := at + strconv.Itoa(i) + "/elsewhere/" + strconv.Itoa(j) + "/radius_m"
			switch {
			case e.Radius == 0:
				p.Add(at, "balls judged elsewhere say something only of a circle of a known radius; give it")
				return
			case c.Radius == e.Radius:
				p.Add(at, "is the circle that the sessions are about; count its balls in balls and inside")
			}
		}
	}
}

// Check notes what is wrong with a prior in p, at the members "a" and "b" of
// the object at the JSON pointer at.
func (p Prior) Check(problems *domain.Problems, at string) {
	for _, m := range []struct {
		name  string
		value float64
	}{{"/a", p.A}, {"/b", p.B}} {
		if v := m.value; !(v >= minPrior && v <= maxPrior) {
			problems.Add(at+m.name, "a parameter of a prior is from %v to %v, got %v; Jeffreys' are 0.5 and 0.5", minPrior, float64(maxPrior), v)
		}
	}
}

// checkSessions notes what is wrong with sessions in p, at the array at the
// JSON pointer at, whose entries have the members "day", "balls", "inside",
// "holed" and "elsewhere".
func checkSessions(p *domain.Problems, at string, sessions []Observation) {
	if len(sessions) > MaxSessions {
		p.Add(at, "has %d sessions; give at most %d, without the oldest", len(sessions), MaxSessions)
		return
	}
	for i, s := range sessions {
		at := at + "/" + strconv.Itoa(i)
		if CheckDay(p, at+"/day", s.Day) && i > 0 && s.Day < sessions[i-1].Day {
			p.Add(at+"/day", "is %v, before the session above it on day %v; put the oldest session first", s.Day, sessions[i-1].Day)
		}
		checkCounts(p, at, Circle{Balls: s.Balls, Inside: s.Inside, Holed: s.Holed})
		if len(s.Elsewhere) > MaxCircles {
			p.Add(at+"/elsewhere", "has %d circles; give at most %d", len(s.Elsewhere), MaxCircles)
			continue
		}
		for j, c := range s.Elsewhere {
			at := at + "/elsewhere/" + strconv.Itoa(j)
			if checkCounts(p, at, c); c.Balls == 0 {
				p.Add(at+"/balls", "is 0, which says nothing; leave the circle out")
			}
		}
	}
}

func checkCounts(p *domain.Problems, at string, c Circle) {
	if c.Balls < 0 || c.Balls > MaxBalls {
		p.Add(at+"/balls", "is %d; give 0 to %d balls", c.Balls, MaxBalls)
	}
	if c.Inside < 0 || c.Inside > c.Balls {
		p.Add(at+"/inside", "is %d; give 0 to %d balls inside, as many as were struck", c.Inside, max(0, c.Balls))
	}
	if c.Holed < 0 || c.Holed > c.Inside {
		p.Add(at+"/holed", "is %d; give 0 to %d holed balls, as many as were inside", c.Holed, max(0, c.Inside))
	}
}

// CheckDay notes a day that is out of bounds in p, at the JSON pointer at; it says
// whether the day is sound.
func CheckDay(p *domain.Problems, at string, day float64) bool {
	if day >= -maxDay && day <= maxDay {
		return true
	}
	p.Add(at, "is %v; give a day from -%d to %d", day, maxDay, maxDay)
	return false
}
