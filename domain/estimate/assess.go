package estimate

import (
	"math"
	"slices"
	"sync"

	"fringework/domain"
	"fringework/domain/greenside"
)

// Assess judges the evidence as of the last session. It expects evidence that
// passed [Evidence.Check], reads the last Window sessions and is a pure function
// of them: the hysteresis of its flags is that of walking through the window.
func Assess(e Evidence) Assessment {
	w := startWatch(e)
	defer w.free()
	var line []int
	for i := range w.sessions {
		w.take(i)
		if before := len(w.sessions) - 1 - i; before > 0 && before <= LineSessions {
			line = append(line, int(math.Round(1000*w.mean())))
		}
	}
	w.join()
	f := w.filters[0]
	a := Assessment{Rate: w.rate(), Trend: TrendOf(w.sessions), Form: f.kinds.form(), HoledShare: w.share, Line: line}
	a.Next = f.foresee(w.usualBalls())
	if w.attain != nil {
		forecast := f.forecast(f.kinds.mixed(w.attain), w.pace())
		a.Forecast = &forecast
	}
	w.raise(&a)
	a.Slow = w.slow.on
	if w.undecided() {
		a.Undecided = w.outlook(a.Rate)
	}
	return a
}

// Walk gives the status after each session, judged on the sessions up to it
// alone.
func Walk(e Evidence) []Status { return WalkAt(e, 0) }

// WalkAt is Walk with another limit of the probability of a gain worth having
// below which the flag of flat goes up, from 0 to 1; 0 is the one that ships. It
// is there to draw how false alarms are traded for detections.
func WalkAt(e Evidence, improbable float64) []Status {
	history := make([]Status, len(e.Sessions))
	if len(history) == 0 {
		return history
	}
	// As long as the window holds everything, one walk through it serves all,
	// unless something has to be learned from the part alone.
	part := e
	whole := min(len(e.Sessions), Window-1)
	if e.Tier != nil && e.Tier.Holed > 0 || !e.inOneCircle() {
		whole = 0
	}
	part.Sessions = e.Sessions[:whole]
	w := startWatch(part)
	w.improbable = improbable
	for i := range whole {
		w.sessions = e.Sessions[:i+1]
		w.take(i)
		history[i] = w.note(i)
	}
	w.free()
	for i := whole; i < len(e.Sessions); i++ {
		part.Sessions = e.Sessions[:i+1]
		w := startWatch(part)
		w.improbable = improbable
		for j := range w.sessions {
			w.take(j)
		}
		history[i] = w.note(i)
		w.free()
	}
	return history
}

func (e Evidence) inOneCircle() bool {
	return !slices.ContainsFunc(e.Sessions, func(s Observation) bool { return len(s.Elsewhere) > 0 })
}

func (w *watch) note(i int) Status {
	w.join()
	return Status{
		Session: i + 1, Slipping: w.slipping.on, Flat: w.flat.on, Slow: w.slow.on, Overreached: w.overreached.on, Outgrown: w.outgrown.on,
		Near:      w.attain != nil && w.filters[0].within(w.filters[0].kinds.mixed(w.attain), Horizons[0]) >= likely,
		Undecided: w.undecided(),
	}
}

// watch is a walk through the window. It has one filter while all balls were
// judged in one circle. When they were not, there is one for each shape that the
// scatter may have, from the first ball judged elsewhere until no more come: the
// shape then is part of what is uncertain about the level. Sessions at the start
// that were all judged in one other circle need but one filter, whose levels are
// of that circle; it moves over when other balls come.
type watch struct {
	Evidence
	sessions []Observation // the window
	skipped  int           // sessions before it
	filters  []*filter
	// weights of the shapes; those of filters when there are several.
	weights []float64
	shapes  []int
	// away is the circle that the only filter's levels are of when it is not the
	// one in focus.
	away          domain.Length
	lastElsewhere int // index of the last session with balls judged elsewhere; -1 without
	now           chances
	level         float64 // mean of the level after the last session, and its highest so far
	highest       float64
	attain        *byForm // chance of attaining the tier in one session; nil without
	attainAway    *byForm
	share         float64 // of the balls inside that are holed
	flags
}

func startWatch(e Evidence) *watch {
	w := &watch{Evidence: e, sessions: e.Sessions, lastElsewhere: -1}
	if over := len(e.Sessions) - Window; over > 0 {
		w.skipped, w.sessions = over, e.Sessions[over:]
	}
	w.filters = []*filter{newFilter(e.Prior.orJeffreys(), len(e.Sessions) >= Window)}
	w.now = w.filters[0].now
	w.highest = math.Inf(-1)
	for i, s := range w.sessions {
		if len(s.Elsewhere) > 0 {
			w.lastElsewhere = i
		}
	}
	if w.lastElsewhere >= 0 {
		w.weights = shapeWeights(w.sessions, w.Radius)
	}
	w.share = w.holedShare()
	if e.Tier != nil {
		w.attain = chanceOf(*e.Tier, w.share, e.BallsPerTest)
	}
	for _, s := range w.sessions {
		if s.struck() > 0 {
			if s.Balls == 0 && len(s.Elsewhere) == 1 {
				w.leave(s.Elsewhere[0].Radius)
			}
			break
		}
	}
	return w
}

func (w *watch) free() {
	for _, f := range w.filters {
		f.free()
	}
}

// holedShare is the share of the balls inside the circle in focus that are holed:
// the mean of its posterior under a prior worth two balls inside. Balls inside
// another circle count for as many as a round scatter would put inside this one.
func (w *watch) holedShare() float64 {
	inside := 2.0
	holed := inside * usuallyHoled(w.Radius)
	for _, s := range w.sessions {
		inside += float64(s.Inside)
		holed += float64(s.Holed)
		for _, c := range s.Elsewhere {
			rate := (float64(c.Inside) + 0.5) / (float64(c.Balls) + 1)
			ratio := w.Radius.Metres() / c.Radius.Metres()
			inside += math.Max(float64(c.Holed), float64(c.Balls)*-math.Expm1(ratio*ratio*math.Log1p(-rate)))
			holed += float64(c.Holed)
		}
	}
	return math.Min(1, holed/inside)
}

// usuallyHoled is the share of the balls inside a circle that a club golfer holes
// from off the green; of an unknown circle, that of one of three feet. It is
// remembered, since it takes some integrals and the circles are few.
func usuallyHoled(circle domain.Length) float64 {
	if circle == 0 {
		circle = 3 * domain.Foot
	}
	const centimetre = domain.Metre / 100
	circle = max(1, (circle+centimetre/2)/centimetre) * centimetre
	if known, ok := holedShares.Load(circle); ok {
		return known.(float64)
	}
	share := greenside.HoledShare(greenside.OffGreen, 0, circle.Metres())
	holedShares.Store(circle, share)
	return share
}

var holedShares sync.Map // domain.Length → float64

// passages lead from one circle to another, one for each shape.
func (w *watch) passages(from, to domain.Length) []*passage {
	ways := make([]*passage, len(shapes))
	for k := range ways {
		ways[k] = passageTo(k, from, to, w.share)
	}
	return ways
}

// leave begins in another circle.
func (w *watch) leave(circle domain.Length) {
	w.away = circle
	if w.attain != nil {
		w.attainAway = new(byForm)
		ways := w.passages(circle, w.Radius)
		for sd := range w.attain {
			w.attainAway[sd] = *abroad(&w.attain[sd], ways, w.weights)
		}
	}
}

// arrive moves over to the circle in focus: to one filter, or to one for each
// shape.
func (w *watch) arrive(split bool) {
	ways := w.passages(w.away, w.Radius)
	w.away = 0
	w.highest = through(w.highest, ways, w.weights)
	if !split {
		w.filters[0].through(ways, w.weights)
		return
	}
	w.split()
	for k, f := range w.filters {
		f.through(ways[w.shapes[k]:w.shapes[k]+1], []float64{1})
	}
}

// through is a level in the circle that passages lead to, each with its weight.
func through(level float64, ways []*passage, weights []float64) float64 {
	if math.IsInf(level, -1) {
		return level // before the first session
	}
	at, to := int((level-lowestLevel)/fine+0.5), 0.0
	for k, p := range ways {
		to += weights[k] * float64(p[min(max(at, 0), points-1)])
	}
	return lowestLevel + fine*to
}

// split makes a filter for each shape.
func (w *watch) split() {
	f := w.filters[0]
	f.rescale()
	f.evidence = 0
	w.filters, w.shapes = nil, nil
	for k, weight := range w.weights {
		if weight > improbable {
			w.filters = append(w.filters, f.clone())
			w.shapes = append(w.shapes, k)
		}
	}
	f.free()
}

// improbable is the weight below which a shape is given up.
const improbable = 0.005

// weigh gives the weights of the filters by now, and gives up those of shapes
// that have become improbable.
func (w *watch) weigh() []float64 {
	if len(w.filters) == 1 {
		return []float64{1}
	}
	weights := make([]float64, len(w.filters))
	for k, f := range w.filters {
		weights[k] = math.Log(w.weights[w.shapes[k]]) + f.logEvidence()
	}
	normalise(weights)
	for k, x := range slices.Backward(weights) {
		if x < improbable && len(weights) > 1 {
			w.filters[k].free()
			w.filters, w.shapes, weights = slices.Delete(w.filters, k, k+1), slices.Delete(w.shapes, k, k+1), slices.Delete(weights, k, k+1)
		}
	}
	sum := 0.0
	for _, x := range weights {
		sum += x
	}
	for k := range weights {
		weights[k] /= sum
	}
	return weights
}

// join leaves one filter, in the circle in focus.
func (w *watch) join() {
	if w.away != 0 {
		w.arrive(false)
	}
	if len(w.filters) > 1 {
		weights := w.weigh()
		w.filters = []*filter{merge(w.filters, weights)}
	}
}

// take goes on to session i of the window.
func (w *watch) take(i int) {
	s := w.sessions[i]
	if s.struck() > 0 {
		w.observe(s, i)
		w.judge(standing{w.now, w.highest - w.level, w.chance(), w.sofar(), s.struck()}, i)
	}
	if s.Milestone {
		w.milestone()
		w.highest = w.level
	}
}

// observe takes in the balls of a session.
func (w *watch) observe(s Observation, i int) {
	elsewhere := s.Elsewhere
	if w.away != 0 {
		if s.Balls == 0 && len(elsewhere) == 1 && elsewhere[0].Radius == w.away {
			w.filters[0].observe(counts{elsewhere[0].Balls, elsewhere[0].Inside})
			w.update()
			return
		}
		w.arrive(i <= w.lastElsewhere)
	} else if len(elsewhere) > 0 && w.shapes == nil {
		w.split()
	}
	for k, f := range w.filters {
		own := counts{s.Balls, s.Inside}
		if s.Balls > 0 {
			f.observe(own)
		}
		for n, c := range elsewhere {
			via := passageTo(w.shapes[k], w.Radius, c.Radius, w.share)
			if there := (counts{c.Balls, c.Inside}); s.Balls == 0 && n == 0 {
				f.observeIn(there, via)
			} else {
				f.take(there, via, false)
			}
		}
	}
	if len(w.filters) > 1 && i == w.lastElsewhere {
		w.join() // the shape no longer matters
	}
	w.update()
}

// update notes what the filters say together.
func (w *watch) update() {
	weights := w.weigh()
	w.now, w.level = chances{}, 0
	for k, f := range w.filters {
		x, n := weights[k], f.now
		w.now.falling += x * n.falling
		w.now.neverRose += x * n.neverRose
		w.now.levelled += x * n.levelled
		w.now.slow += x * n.slow
		w.now.rising += x * n.rising
		w.level += x * f.mean(&levelTable)
	}
	w.highest = math.Max(w.highest, w.level)
}

// levelTable is the level itself.
var levelTable = func() (t table) {
	for i := range t {
		t[i] = float32(levelAt(i))
	}
	return t
}()

// chance is the chance of attaining the tier in one session, NaN without one.
func (w *watch) chance() float64 {
	switch {
	case w.attain == nil:
		return math.NaN()
	case w.away != 0:
		return w.filters[0].meanToday(w.attainAway)
	}
	sum := 0.0
	for k, x := range w.weigh() {
		sum += x * w.filters[k].meanToday(w.attain)
	}
	return sum
}

// sofar is how many sessions the filters have seen.
func (w *watch) sofar() int { return w.filters[0].sessions }

// undecided says whether the data cannot tell yet whether the student rises.
func (w *watch) undecided() bool {
	return !w.flat.on && !w.slipping.on && !w.slow.on && !w.now.rises()
}

// paceSessions is how many sessions a student's own pace is taken from.
const paceSessions = 12

// pace is the days a session takes: the student's own mean over the last gaps
// between practised sessions, or the plan's.
func (w *watch) pace() float64 {
	var days []float64
	for _, s := range w.sessions {
		if s.struck() > 0 {
			days = append(days, s.Day)
		}
	}
	days = days[max(0, len(days)-paceSessions-1):]
	gaps := len(days) - 1
	switch {
	case gaps >= 3 && days[gaps] > days[0]:
		return (days[gaps] - days[0]) / float64(gaps)
	case w.SessionsPerWeek > 0:
		return 7 / w.SessionsPerWeek
	}
	return 7
}
