package repo

import (
	"slices"

	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// The forms in which progress is kept. Whoever changes one raises its number;
// what is kept in an older form is made anew from the sessions (see
// [DB.Outdated]).
const (
	stateForm  = 6
	periodForm = 5
	habitForm  = 2
	// countForm is of what makes a session count (see [practice.Effort]).
	countForm = 1

	// progressForm changes with any of them.
	progressForm = stateForm + periodForm + habitForm + countForm
)

func packTier(p *packer, t *streak.Tier) {
	p.ints(&t.Run, &t.Holed)
	p.length(&t.Radius)
}

func packLadder(p *packer, l *streak.Ladder) {
	packSlice(p, &l.Tiers, packTier)
	p.bool(&l.TestOnly)
	p.bool(&l.Technique)
}

func packRun(p *packer, r *streak.Run) { p.ints(&r.Length, &r.Holed) }

func packNear(p *packer, n *streak.Near) { p.ints(&n.Runs, &n.Length, &n.Times, &n.Holed) }

func packTally(p *packer, t *progress.Tally) {
	p.ints(&t.Sessions, &t.Balls, &t.Inside, &t.Holed, &t.Seconds, &t.AttestedBalls, &t.AttestedInside, &t.AttestedHoled)
	m := &t.Misses
	p.ints(&m.Short, &m.Long, &m.Left, &m.Right, &m.Thin, &m.Fat)
}

func packHit(p *packer, h *progress.Hit) {
	p.id(&h.Session)
	p.ints(&h.Block, &h.Ball)
	p.instant(&h.At)
}

func packTierRecord(p *packer, t *progress.TierRecord) {
	packTier(p, &t.Tier)
	packRun(p, &t.Best)
	packOptional(p, &t.First, packHit)
}

func packRetest(p *packer, r *progress.Retest) {
	p.id(&r.Session)
	p.instant(&r.StartedAt)
	p.date(&r.Day)
	packRetestBalls(p, &r.RetestBalls)
	p.bool(&r.Cold)
}

func packRetestBalls(p *packer, r *progress.RetestBalls) {
	p.length(&r.Radius)
	p.ints(&r.Balls, &r.Inside)
}

// packState leaves out the student and the skill, which are the row's key.
func packState(p *packer, s *progress.State) {
	packLadder(p, &s.Ladder)
	p.ints(&s.Held)
	packTally(p, &s.Totals)
	p.instant(&s.LastAt)
	p.date(&s.Week)
	packTally(p, &s.WeekTally)
	packSlice(p, &s.Tiers, packTierRecord)
	packSlice(p, &s.Retests, packRetest)
	packNear(p, &s.Near)
	p.ints(&s.Recent.Sessions, &s.Recent.Judged, &s.Recent.Inside)
	packSlice(p, &s.Recent.Elsewhere, packCircle)
	p.instant(&s.LastMilestoneAt)
	packAssessment(p, &s.Assessment)
	p.instant(&s.TechniqueUntil)
	packSlice(p, &s.Parts, func(p *packer, x *progress.Part) {
		p.id(&x.Session)
		p.instant(&x.StartedAt)
		p.date(&x.Day)
		packPart(p, x)
	})
}

// packPart leaves out the session, its start and its day.
func packPart(p *packer, x *progress.Part) {
	p.word((*string)(&x.Purpose), purposes)
	p.bool(&x.Warm)
	packCircle(p, &x.Circle)
	packSlice(p, &x.Measured, packCircle)
}

func packCircle(p *packer, c *estimate.Circle) {
	p.length(&c.Radius)
	p.ints(&c.Balls, &c.Inside, &c.Holed)
}

func packInterval(p *packer, i *estimate.Interval) { p.floats(&i.Lo, &i.Hi) }

func packAssessment(p *packer, a *estimate.Assessment) {
	r := &a.Rate
	p.floats(&r.Mean, &r.EffectiveBalls, &r.A, &r.B)
	packInterval(p, &r.Interval80)
	packInterval(p, &r.Interval95)
	p.floats(&a.Next.Mean)
	packInterval(p, &a.Next.Interval80)
	p.ints(&a.Next.Balls)
	p.floats(&a.Form.SD, &a.Form.Memory, &a.HoledShare)
	for i := range a.Form.Kinds {
		p.floats(&a.Form.Kinds[i])
	}
	packTrend(p, &a.Trend)
	packOptional(p, &a.Forecast, packForecast)
	for _, f := range []**estimate.Flag{&a.Slipping, &a.Flat, &a.Overreached, &a.Outgrown} {
		packOptional(p, f, packFlag)
	}
	p.bool(&a.Slow)
	p.bool(&a.Undecided.Applies)
	p.ints(&a.Undecided.MoreSessions, &a.Undecided.Balls, &a.Undecided.Sessions)
	packSlice(p, &a.Line, func(p *packer, n *int) { p.ints(n) })
}

func packTrend(p *packer, t *estimate.Trend) {
	p.ints(&t.Sessions)
	p.floats(&t.Slope, &t.Improving)
	packInterval(p, &t.Interval80)
}

func packForecast(p *packer, f *estimate.Forecast) {
	p.floats(&f.NextSession, &f.MedianSessions)
	for i := range f.Within {
		p.floats(&f.Within[i])
	}
	packInterval(p, &f.Range80Sessions)
	packInterval(p, &f.Range80Days)
}

func packFlag(p *packer, f *estimate.Flag) {
	p.ints(&f.Since, &f.Raised)
	p.floats(&f.SinceDay, &f.Probability)
	p.date(&f.Date)
	packFacts(p, &f.Facts)
}

func packFacts(p *packer, f *estimate.Facts) {
	p.length(&f.Radius)
	p.ints(&f.Sessions)
	p.floats(&f.Before, &f.BeforeLo, &f.BeforeHi)
	p.bool(&f.Rose)
	packTrend(p, &f.Trend)
	packTier(p, &f.Tier)
	p.ints(&f.BallsPerTest)
	p.floats(&f.Chance, &f.MedianSessions)
	p.length(&f.EvenRadius)
	p.floats(&f.EvenScale)
	p.ints(&f.EvenRun)
}

// packPeriod writes the tiers once: every session of a period was judged for
// the same ones. The period's key and the sessions' skill are the row's.
func packPeriod(p *packer, x *progress.Period) {
	var tiers []streak.Tier
	if len(x.Sessions) > 0 {
		tiers = each(x.Sessions[0].Results, func(r progress.TierResult) streak.Tier { return r.Tier })
	}
	packSlice(p, &tiers, packTier)
	var room circleRoom
	packSlice(p, &x.Sessions, func(p *packer, s *progress.SessionSummary) { packSummary(p, s, tiers, &room) })
}

func packSummary(p *packer, s *progress.SessionSummary, tiers []streak.Tier, room *circleRoom) {
	p.id(&s.Session)
	p.instant(&s.StartedAt)
	p.date(&s.Week)
	p.date(&s.Day)
	packTally(p, &s.Tally)
	packOpening(p, s)
	if p.reading && len(tiers) > 0 {
		s.Results = make([]progress.TierResult, len(tiers))
	}
	for i := range s.Results {
		r := &s.Results[i]
		r.Session, r.StartedAt, r.Day, r.Tier = s.Session, s.StartedAt, s.Day, tiers[i]
		p.ints(&r.Judged, &r.Inside, &r.Holed, &r.Unmeasured, &r.Chances)
		packCircles(p, s.Results, i, room)
		packLeaves(p, r)
		packRun(p, &r.Best)
		packNear(p, &r.Near)
		packOptional(p, &r.Passed, func(p *packer, h *progress.Hit) {
			h.Session = s.Session
			p.ints(&h.Block, &h.Ball)
			p.instant(&h.At)
		})
	}
	packSlice(p, &s.Parts, func(p *packer, x *progress.Part) {
		x.Session, x.StartedAt = s.Session, s.StartedAt
		p.date(&x.Day)
		packPart(p, x)
	})
}

// packOpening packs how a session opened.
func packOpening(p *packer, s *progress.SessionSummary) {
	p.instant(&s.FirstAt)
	p.bool(&s.First.Inside)
	p.ints(&s.First.Later, &s.First.LaterInside)
	packOptional(p, &s.Retest, packRetestBalls)
	packSlice(p, &s.Tests, func(p *packer, t *progress.PlannedTest) {
		p.ints(&t.PlanBlock, &t.Balls, &t.Inside)
		p.length(&t.Radius)
	})
}

// packCircles writes the circles of a tier that are not those of the one before,
// since most tiers count the same balls.
func packCircles(p *packer, results []progress.TierResult, i int, room *circleRoom) {
	r := &results[i]
	if i > 0 {
		same := slices.Equal(r.Circles, results[i-1].Circles)
		if p.bool(&same); same {
			r.Circles = results[i-1].Circles
			return
		}
	}
	if n := p.count(len(r.Circles)); p.reading && n > 0 {
		r.Circles = room.take(n)
	}
	for i := range r.Circles {
		packCircle(p, &r.Circles[i])
	}
}

// circleRoom has room for the circles of a period's sessions, one or two of each,
// so that they are not allocated one by one.
type circleRoom []estimate.Circle

func (r *circleRoom) take(n int) []estimate.Circle {
	if cap(*r)-len(*r) < n {
		*r = make(circleRoom, 0, max(n, 32))
	}
	from := len(*r)
	*r = (*r)[:from+n]
	return (*r)[from : from+n : from+n]
}

// packLeaves leaves out the radius, which is the tier's.
func packLeaves(p *packer, r *progress.TierResult) {
	p.ints(&r.Leaves.Balls, &r.Leaves.Inside, &r.Leaves.Holed)
	if r.Leaves.Balls > 0 {
		r.Leaves.Radius = r.Tier.Radius
	}
}

// blockKinds are the words that a habit is full of.
var blockKinds = func() map[string]string {
	words := map[string]string{}
	for _, k := range curriculum.BlockKinds() {
		words[string(k)] = string(k)
	}
	return words
}()

// purposes are the words of tests that measure something.
var purposes = func() map[string]string {
	words := map[string]string{}
	for _, p := range curriculum.Purposes() {
		words[string(p)] = string(p)
	}
	return words
}()

// packTimes packs the recent sessions of a habit, which the rest follows from.
func packTimes(p *packer, times *[]progress.SessionTime) {
	packSlice(p, times, func(p *packer, t *progress.SessionTime) {
		p.id(&t.Session)
		p.instant(&t.StartedAt)
		packSlice(p, &t.Times, func(p *packer, k *progress.KindTime) {
			p.word(&k.Kind, blockKinds)
			p.ints(&k.Planned, &k.Spent)
		})
		packSlice(p, &t.Paces, func(p *packer, k *progress.KindPace) {
			p.word(&k.Kind, blockKinds)
			p.ints(&k.Balls, &k.Seconds)
		})
	})
}
