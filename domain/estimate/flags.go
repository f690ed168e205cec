package estimate

// Limits of the flags. Those of flat and slipping were set on simulated
// learners, the reference ones among them, so that one in twenty of those who
// rise throughout is ever flagged within 30 sessions; of learners drawn afresh
// it is one in sixteen. The package comment has the table. The other limits
// are our choice.
const (
	// A rise is told once it is as likely as not that it goes on, with no more
	// than restOfDoubt left for never having risen and for falling. More cannot
	// be had: that it levelled off in the last few sessions never shows yet.
	goesOn, restOfDoubt = 0.5, 0.1

	// flat goes up when the odds of rising against staying fall below
	// stillFlat, or below levelledOff after a rise, once there are
	// flatSessions. Besides, a student who never rose is judged after
	// firstLook sessions against firstLimit: half of the false alarms are
	// spent on that one look, since a student who stays where he is from the
	// start should hear of it by then, and before that the data seldom tell.
	flatSessions = 8
	stillFlat    = 0.05
	levelledOff  = 0.10
	firstLook    = 15
	firstLimit   = 0.24
	// and it comes down once rising is as likely as not.
	risesAgain = 0.5

	// slipping goes up and comes down by the probability of falling, after
	// enough sessions.
	fallsNow, fallsNoMore = 0.62, 0.3
	slippingSessions      = 6

	// afterMilestone is how many sessions a student has after a milestone
	// before flat may be raised.
	afterMilestone = 6

	// overreached and outgrown go by the chance of attaining the tier in one
	// session: below 1 % the odds within twelve sessions are 9 to 1 against.
	hopeless, hopeAgain = 0.01, 0.02
	tooEasy, notTooEasy = 0.95, 0.85
	fewSessions         = 3
	fewBalls            = 60
)

// rises says whether a rise can be told.
func (c chances) rises() bool {
	return c.rising >= goesOn && c.neverRose+c.falling <= restOfDoubt
}

// latch is one flag with hysteresis.
type latch struct {
	on     bool
	raised int // index of the session
	count  int // sessions in a row that asked for it
}

// set raises the flag when up, takes it down when down, and else leaves it.
func (f *latch) set(up, down bool, i int) {
	switch {
	case !f.on && up:
		f.on, f.raised = true, i
	case f.on && down && !up:
		f.on = false
	}
}

// flags are the stalls that are inferred from the balls.
type flags struct {
	flat, slipping, overreached, outgrown latch
	balls                                 int
	sinceMilestone                        int
	everMilestone                         bool
	// truncated says that there may be sessions before the window, so that
	// its firstLook-th is not the student's.
	truncated bool
}

// judge goes on by one practised session, i of the window, the last of a
// number of sessions. next is the chance of attaining the tier in one session,
// NaN without a tier.
func (g *flags) judge(now chances, next float64, sessions, balls, i int) {
	g.sinceMilestone++
	g.balls += balls
	g.slipping.set(sessions >= slippingSessions && now.falling > fallsNow, now.falling < fallsNoMore, i)
	g.flat.set(g.staysFlat(now, sessions), now.rising > risesAgain, i)
	if g.slipping.on {
		g.flat.on = false
	}
	enough := sessions >= fewSessions && g.balls >= fewBalls
	g.overreached.set(enough && next < hopeless, next > hopeAgain, i)
	if next > tooEasy {
		g.outgrown.count++
	} else {
		g.outgrown.count = 0
	}
	g.outgrown.set(enough && g.outgrown.count >= fewSessions, next < notTooEasy, i)
}

// staysFlat says whether the odds ask for the flag.
func (g *flags) staysFlat(now chances, sessions int) bool {
	if sessions < flatSessions || g.everMilestone && g.sinceMilestone < afterMilestone {
		return false
	}
	if sessions == firstLook && !g.truncated && now.rising < firstLimit*now.neverRose {
		return true
	}
	return now.rising < stillFlat*now.neverRose || now.rising < levelledOff*now.levelled
}

// milestone makes a new start for what a new tier makes new.
func (g *flags) milestone() {
	g.everMilestone, g.sinceMilestone = true, 0
	g.flat.on, g.overreached.on, g.outgrown = false, false, latch{}
}
