package estimate

// Limits of the flags. Those of flat, slow and slipping were set on simulated
// learners; the package comment says on which, and what they are worth on others.
// The other limits are our choice.
const (
	// A rise is told once it is as likely as not that it goes on, with no more
	// than restOfDoubt left for never having risen and for falling. More cannot
	// be had: that it levelled off in the last few sessions never shows yet.
	goesOn, restOfDoubt = 0.5, 0.1

	// flat goes up when a gain worth having has become improbable, after enough
	// sessions, and a small one is improbable as well; it comes down once a gain is
	// likely again. Where a small gain is likely the student is slow instead, which
	// is no alarm and told sooner.
	flatSessions  = 6
	improbableNow = 0.03
	unlikelyNow   = 0.10
	likelyAgain   = 0.4
	smallGain     = 0.4
	noSmallGain   = 0.26

	// slipping goes up when falling is likely and the level has fallen by enough
	// to matter, in logits from the highest since the last milestone, after enough
	// sessions; it comes down when falling is no longer likely.
	fallsNow, fallsNoMore = 0.82, 0.3
	fallWorthTelling      = 0.3
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
	return c.rising+c.slow >= goesOn && c.neverRose+c.falling <= restOfDoubt
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
	flat, slow, slipping, overreached, outgrown latch
	balls                                       int
	sinceMilestone                              int
	everMilestone                               bool
	// improbable takes the place of improbableNow where it is not 0.
	improbable float64
}

// standing is what a flag goes by after a practised session.
type standing struct {
	now chances
	// fallen is how far the level lies below its highest since the last milestone.
	fallen float64
	// next is the chance of attaining the tier in one session, NaN without one.
	next float64
	// sessions so far, and balls of the last.
	sessions, balls int
}

// judge goes on by one practised session, i of the window.
func (g *flags) judge(s standing, i int) {
	g.sinceMilestone++
	g.balls += s.balls
	now, next := s.now, s.next
	falls := s.sessions >= slippingSessions && now.falling > fallsNow && s.fallen >= fallWorthTelling
	g.slipping.set(falls, now.falling < fallsNoMore, i)
	early := s.sessions < flatSessions || g.everMilestone && g.sinceMilestone < afterMilestone
	back := now.rising > likelyAgain
	small := now.slow / (now.slow + now.staying() + now.falling)
	g.slow.set(!early && now.rising < unlikelyNow && small > smallGain, back || small < noSmallGain, i)
	limit := improbableNow
	if g.improbable > 0 {
		limit = g.improbable
	}
	g.flat.set(!early && now.rising < limit && small < noSmallGain, back || g.slow.on, i)
	if g.slipping.on {
		g.flat.on, g.slow.on = false, false
	}
	enough := s.sessions >= fewSessions && g.balls >= fewBalls
	g.overreached.set(enough && next < hopeless, next > hopeAgain, i)
	if next > tooEasy {
		g.outgrown.count++
	} else {
		g.outgrown.count = 0
	}
	g.outgrown.set(enough && g.outgrown.count >= fewSessions, next < notTooEasy, i)
}

// milestone makes a new start for what a new tier makes new.
func (g *flags) milestone() {
	g.everMilestone, g.sinceMilestone = true, 0
	g.flat.on, g.slow.on, g.overreached.on, g.outgrown = false, false, false, latch{}
}
