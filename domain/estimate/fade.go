package estimate

import (
	"math"
	"slices"
	"strconv"

	"gonum.org/v1/gonum/optimize"

	"fringework/domain"
)

// Bounds of what is learned of fading.
const (
	MaxFadeCourses = 5000
	// LongBreak is from how many days on a break is long.
	LongBreak = 10
	// MinLongBreaks and MinBreakStudents are how many long breaks, of how many
	// students, it takes before a fade is told. No source; our choice.
	MinLongBreaks    = 8
	MinBreakStudents = 4
	// MaxFadeWidth is how wide the 80 % interval after four weeks may be, as a
	// share of balls, before nothing is told.
	MaxFadeWidth = 0.25
)

// FewBreaks: fewer than MinLongBreaks long breaks; TooWide: the interval is
// wider than MaxFadeWidth.
const (
	FewBreaks CannotTell = "few_breaks"
	TooWide   CannotTell = "too_wide"
)

// FadeSession is one session of a course.
type FadeSession struct {
	Day float64
	// Balls were judged at the circle of the course, Inside of them inside. A
	// session without such balls still ends a break.
	Balls, Inside int
}

// FadeCourse is what one student did at one skill, judged at one circle, oldest
// first.
type FadeCourse struct {
	Student  string
	Sessions []FadeSession
}

// FadeAfter is what some days without the skill take away, compared with going
// on at the usual gap. What is above 0 is lost.
type FadeAfter struct {
	Days             float64
	Logits           float64
	LogitsInterval80 Interval
	// Share is the same as a share of balls, from −1 to 1, at the middling rate.
	Share           float64
	ShareInterval80 Interval
}

// Fade is how much a skill fades with days away.
type Fade struct {
	// Breaks are those of at least LongBreak days with balls judged before and
	// after, Students those who took them.
	Breaks, Students int
	// CannotTell is why the rest is zero; empty when it is not.
	CannotTell CannotTell
	// UsualGap is how many days pass between sessions in the median, at most 7.
	UsualGap float64
	// Middling is the rate, from 0 to 1, that shares are told at.
	Middling  float64
	TwoWeeks  FadeAfter
	FourWeeks FadeAfter
}

// CheckFadeCourses notes what is wrong with courses under a pointer.
func CheckFadeCourses(p *domain.Problems, at string, courses []FadeCourse) {
	if len(courses) > MaxFadeCourses {
		p.Add(at, "are %d courses; give at most %d", len(courses), MaxFadeCourses)
		return
	}
	for i, c := range courses {
		here := at + "/" + strconv.Itoa(i)
		if c.Student == "" {
			p.Add(here+"/student", "is empty; name the student")
		}
		sessions := make([]Observation, len(c.Sessions))
		for j, s := range c.Sessions {
			sessions[j] = Observation{Day: s.Day, Balls: s.Balls, Inside: max(0, s.Inside)}
			if s.Inside < 0 {
				p.Add(here+"/sessions/"+strconv.Itoa(j)+"/inside", "is %d; give 0 to %d balls inside, as many as were struck", s.Inside, max(0, s.Balls))
			}
		}
		checkSessions(p, here+"/sessions", sessions)
	}
}

// FadeOf learns from many students' breaks how much a skill fades. From one
// session to the next the logit of a student's rate changes by the student's
// usual gain, by chance, and by
//
//	− fade · log(1 + days beyond the usual gap / 7),
//
// days beyond eight weeks counting no more. Gains and fades differ from student
// to student around those of the academy; every session has a form of its own
// beside the chance of its balls, so that a good day is not taken for a gain
// that fades. Counts enter by their logit, linearised where the model puts the
// session's rate. A Kalman filter for each course gives the likelihood, with
// start, gain and fade of the academy integrated out; the spreads are at the
// mode of their posterior, and intervals of 80 % take them for known. Known
// fades of 0.3 and 0.6 come out 2 to 4 % too small.
//
// The form of the curve is that of forgetting: fast at first, then slower (J. T.
// Wixted and E. B. Ebbesen, Psychological Science 2 (1991) 409-415). Sources: B.
// Rosenberg, Annals of Economic and Social Measurement 2 (1973) 399-428, for the
// filter with unknown constants; N. E. Breslow and D. G. Clayton, JASA 88 (1993)
// 9-25, for counts entering linearised.
func FadeOf(courses []FadeCourse) Fade {
	out := Fade{UsualGap: usualGap(courses)}
	students := map[string]bool{}
	out.Breaks = longBreaks(courses, students)
	out.Students = len(students)
	switch {
	case out.Breaks < MinLongBreaks:
		out.CannotTell = FewBreaks
		return out
	case out.Students < MinBreakStudents:
		out.CannotTell = FewStudents
		return out
	}
	f := readCourses(courses, out.UsualGap)
	got := f.fit()
	middling := f.middling()
	fade, reach := got.fixed[2], reach80(out.Students)*math.Sqrt(got.variance[2][2])
	after := func(days float64) FadeAfter {
		by := Away(days, out.UsualGap)
		share := func(logits float64) float64 { return logistic(middling) - logistic(middling-logits) }
		logits := Interval{Lo: (fade - reach) * by, Hi: (fade + reach) * by}
		return FadeAfter{
			Days: days, Logits: fade * by, LogitsInterval80: logits,
			Share: share(fade * by), ShareInterval80: Interval{Lo: share(logits.Lo), Hi: share(logits.Hi)},
		}
	}
	two, four := after(14), after(28)
	if four.ShareInterval80.Hi-four.ShareInterval80.Lo > MaxFadeWidth {
		out.CannotTell = TooWide
		return out
	}
	out.Middling, out.TwoWeeks, out.FourWeeks = logistic(middling), two, four
	return out
}

// usualGap is the median of the days between sessions, at most a week.
func usualGap(courses []FadeCourse) float64 {
	var gaps []float64
	for _, c := range courses {
		for i := 1; i < len(c.Sessions); i++ {
			gaps = append(gaps, c.Sessions[i].Day-c.Sessions[i-1].Day)
		}
	}
	if len(gaps) == 0 {
		return 0
	}
	slices.Sort(gaps)
	return min(7, gaps[len(gaps)/2])
}

// longBreaks counts the long breaks with balls before and after, each once
// although a student may have several courses, and notes whose they are.
func longBreaks(courses []FadeCourse, students map[string]bool) int {
	type end struct {
		student string
		day     float64
	}
	ends := map[end]bool{}
	for _, c := range courses {
		last := 0 // the latest session with balls
		for i, s := range c.Sessions {
			if s.Balls > 0 {
				last = i
			}
		}
		seen := false
		for i := range last {
			seen = seen || c.Sessions[i].Balls > 0
			if next := c.Sessions[i+1].Day; seen && next-c.Sessions[i].Day >= LongBreak {
				ends[end{c.Student, next}] = true
				students[c.Student] = true
			}
		}
	}
	return len(ends)
}

// Away is how much of the fade some days without the skill bring, beyond the usual
// gap: 1 at 12 days and 1.39 at 21 days beyond it.
func Away(days, usual float64) float64 {
	const mostDays = 56
	return math.Log1p(max(0, min(days, mostDays)-usual) / 7)
}

// sight is one session as the filter sees it.
type sight struct {
	away      float64 // since the session before
	balls, in float64
	// logit is the rate as a logit, of this variance by the chance of its balls.
	logit, variance float64
}

// at linearises the counts at a logit rate.
func (s *sight) at(x float64) {
	if s.balls > 0 {
		p := logistic(max(-5, min(5, x)))
		s.variance = 1 / (s.balls * p * (1 - p))
		s.logit = logit(p) + (s.in-s.balls*p)*s.variance
	}
}

// readCourses linearises counts at the rate of the sessions around.
func readCourses(courses []FadeCourse, usual float64) fading {
	var f fading
	for _, c := range courses {
		sights := make([]sight, len(c.Sessions))
		for i, s := range c.Sessions {
			if i > 0 {
				sights[i].away = Away(s.Day-c.Sessions[i-1].Day, usual)
			}
			sights[i].balls, sights[i].in = float64(s.Balls), float64(s.Inside)
			sights[i].at(logit(rateAround(c.Sessions, i)))
		}
		f.courses = append(f.courses, sights)
	}
	return f
}

// rateAround is the rate of the sessions around the i-th, those farther off
// counting less.
func rateAround(sessions []FadeSession, i int) float64 {
	const reach, less = 6, 0.6
	y, n := 0.5, 1.0 // half a ball on each side
	for j := max(0, i-reach); j < min(len(sessions), i+reach+1); j++ {
		w := math.Pow(less, math.Abs(float64(j-i)))
		y += w * float64(sessions[j].Inside)
		n += w * float64(sessions[j].Balls)
	}
	return y / n
}

// spreads are standard deviations in logits: of a day's form, of the drift by
// chance from session to session, and of students' gains and fades.
type spreads struct{ form, drift, gain, fade float64 }

// likelySpreads are what is held plausible before anything is seen: the
// logarithm of each is normal around theirs with standard deviation 1. No
// source; from what students' rates look like.
var likelySpreads = spreads{form: 0.3, drift: 0.1, gain: 0.03, fade: 0.15}

// The academy's constants are the start, the gain per session and the fade, in
// logits. Their priors are normal around 0 with these standard deviations; that
// of the starts is the spread around theirs.
const (
	startSpread = 1.2
	likelyStart = 10.0
	likelyGain  = 0.2
	likelyFade  = 1.0
)

// vector3 is start, gain and fade; or level, gain and fade of one student.
type (
	vector3 [3]float64
	matrix3 [3]vector3
)

// fading is the courses of an academy at a skill.
type fading struct{ courses [][]sight }

// fadeFit is what the courses say under some spreads.
type fadeFit struct {
	logLikelihood float64
	fixed         vector3
	variance      matrix3
}

// fit finds the mode of the spreads' posterior, and linearises the counts anew at
// what it says of each session, a few times.
func (f fading) fit() fadeFit {
	const rounds = 4
	at := likelySpreads
	for range rounds {
		at = f.mode(at)
		f.linearise(at, f.under(at).fixed)
	}
	return f.under(at)
}

// mode finds the mode of the spreads' posterior, from a start.
func (f fading) mode(from spreads) spreads {
	logs := func(s spreads) []float64 {
		return []float64{math.Log(s.form), math.Log(s.drift), math.Log(s.gain), math.Log(s.fade)}
	}
	of := func(x []float64) spreads {
		return spreads{math.Exp(x[0]), math.Exp(x[1]), math.Exp(x[2]), math.Exp(x[3])}
	}
	likely := logs(likelySpreads)
	minus := func(x []float64) float64 {
		sum := -f.under(of(x)).logLikelihood
		for i := range x {
			sum += (x[i] - likely[i]) * (x[i] - likely[i]) / 2
		}
		return sum
	}
	settings := &optimize.Settings{Converger: &optimize.FunctionConverge{Absolute: 1e-3, Iterations: 30}}
	best, err := optimize.Minimize(optimize.Problem{Func: minus}, logs(from), settings, &optimize.NelderMead{SimplexSize: 0.5})
	if err != nil || math.IsNaN(best.F) {
		return from
	}
	return of(best.X)
}

// under gives the likelihood of the courses with start, gain and fade integrated
// out, and their posterior.
func (f fading) under(s spreads) fadeFit {
	var sums fadeSums
	priors := vector3{1 / (likelyStart * likelyStart), 1 / (likelyGain * likelyGain), 1 / (likelyFade * likelyFade)}
	for i, precision := range priors {
		sums.information[i][i] = precision
		sums.logLikelihood += math.Log(precision) / 2
	}
	for _, c := range f.courses {
		sums.add(c, s)
	}
	inverse, det := sums.information.inverse()
	got := fadeFit{variance: inverse, logLikelihood: sums.logLikelihood - math.Log(det)/2}
	for i := range inverse {
		for j := range inverse {
			got.fixed[i] += inverse[i][j] * sums.score[j]
		}
		got.logLikelihood += got.fixed[i] * sums.score[i] / 2
	}
	return got
}

// fadeSums are what the innovations of the filters sum up to.
type fadeSums struct {
	logLikelihood float64
	score         vector3
	information   matrix3
}

// add filters a course. What is expected of the student is linear in start, gain
// and fade of the academy, so it is kept at 0 with how it grows with each.
func (sums *fadeSums) add(course []sight, s spreads) {
	k := startOf(s)
	slope := matrix3{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
	for i, see := range course {
		if i > 0 {
			k.pass(see.away, s)
			for j := range slope[0] {
				slope[0][j] += slope[1][j] - see.away*slope[2][j]
			}
		}
		if see.balls == 0 {
			continue
		}
		by := slope[0]
		off, spread, gain := k.see(see, s)
		precision := 1 / spread
		sums.logLikelihood -= (math.Log(2*math.Pi*spread) + off*off*precision) / 2
		for j := range by {
			w := by[j] * precision
			sums.score[j] += w * off
			for l := range by {
				sums.information[j][l] += w * by[l]
				slope[j][l] -= gain[j] * by[l]
			}
		}
	}
}

// kalman is what is expected of a student's level, gain and fade, and how sure
// that is.
type kalman struct {
	mean     vector3
	variance matrix3
}

func startOf(s spreads) kalman {
	return kalman{variance: matrix3{{startSpread * startSpread}, {0, s.gain * s.gain}, {0, 0, s.fade * s.fade}}}
}

// pass goes to the next session: level += gain − fade·away + drift.
func (k *kalman) pass(away float64, s spreads) {
	p := &k.variance
	k.mean[0] += k.mean[1] - away*k.mean[2]
	for j := range p[0] {
		p[0][j] += p[1][j] - away*p[2][j]
	}
	for j := range p {
		p[j][0] += p[j][1] - away*p[j][2]
	}
	p[0][0] += s.drift * s.drift
}

// see takes a session in. It gives how far it was from what was expected, the
// variance of that, and what of it each expectation moved by.
func (k *kalman) see(see sight, s spreads) (off, spread float64, gain vector3) {
	p := &k.variance
	spread = p[0][0] + s.form*s.form + see.variance
	off = see.logit - k.mean[0]
	first, precision := p[0], 1/spread
	for j := range gain {
		gain[j] = first[j] * precision
		k.mean[j] += gain[j] * off
		for l := range first {
			p[j][l] -= gain[j] * first[l]
		}
	}
	return off, spread, gain
}

// linearise linearises the counts at the rate that the whole course says each
// session had, its form included: a pass backwards over the filter (P. de Jong,
// JASA 84 (1989) 1085-1088).
func (f fading) linearise(s spreads, fixed vector3) {
	type step struct {
		expected kalman // before the session was seen
		off      float64
		gain     vector3
		spread   float64
	}
	for _, course := range f.courses {
		k := startOf(s)
		k.mean = fixed
		steps := make([]step, len(course))
		for i, see := range course {
			if i > 0 {
				k.pass(see.away, s)
			}
			steps[i].expected = k
			if see.balls > 0 {
				steps[i].off, steps[i].spread, steps[i].gain = k.see(see, s)
			}
		}
		var later vector3 // what later sessions say, to be weighed by the variance
		for i := len(course) - 1; i >= 0; i-- {
			at := steps[i]
			if course[i].balls > 0 {
				told := later[0]*at.gain[0] + later[1]*at.gain[1] + later[2]*at.gain[2]
				later[0] += at.off/at.spread - told
			}
			level := at.expected.mean[0]
			for j, p := range at.expected.variance[0] {
				level += p * later[j]
			}
			if course[i].balls > 0 {
				form := s.form * s.form / (s.form*s.form + course[i].variance)
				course[i].at(level + form*(course[i].logit-level))
			}
			later[1] += later[0]
			later[2] -= course[i].away * later[0]
		}
	}
}

// inverse gives the inverse of a positive definite matrix3, and its determinant.
func (m matrix3) inverse() (inverse matrix3, det float64) {
	cofactor := func(i, j int) float64 {
		a, b, c, d := (i+1)%3, (i+2)%3, (j+1)%3, (j+2)%3
		return m[a][c]*m[b][d] - m[a][d]*m[b][c]
	}
	for j := range m {
		det += m[0][j] * cofactor(0, j)
	}
	for i := range m {
		for j := range m {
			inverse[j][i] = cofactor(i, j) / det
		}
	}
	return inverse, det
}

// middling is the mean over courses of their logit rates.
func (f fading) middling() float64 {
	sum, n := 0.0, 0.0
	for _, c := range f.courses {
		value, weight := 0.0, 0.0
		for _, s := range c {
			if s.balls > 0 {
				w := 1 / (s.variance + likelySpreads.form*likelySpreads.form)
				value += w * s.logit
				weight += w
			}
		}
		if weight > 0 {
			sum += value / weight
			n++
		}
	}
	return sum / n
}

// Rate is what is lost, in logits, for each unit of [Away].
func (f Fade) Rate() float64 {
	if by := Away(f.FourWeeks.Days, f.UsualGap); by > 0 {
		return f.FourWeeks.Logits / by
	}
	return 0
}
