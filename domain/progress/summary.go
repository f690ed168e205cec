package progress

import (
	"slices"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/estimate"
	"fringework/domain/streak"
)

// Play is what a student did at one skill in one session.
type Play struct {
	Session   domain.ID
	Skill     domain.ID
	StartedAt time.Time
	// Day is the local date of the start, in the session's time zone.
	Day domain.Date
	// OffGreen says that it was played elsewhere than on a green: the time and the
	// balls are counted, and nothing is judged.
	OffGreen bool
	Blocks   []PlayedBlock
}

// PlayedBlock is one block of a session, in one of two forms: balls as they
// were struck, or counts attested from a paper card.
type PlayedBlock struct {
	// Position is 1-based among all blocks of the session, and PlanBlock among those
	// of the plan; 0 without one.
	Position  int
	PlanBlock int
	// Kind is the kind of block: "warmup", "test" …
	Kind string
	// Purpose is what a test measures beside the steps, if anything, and OtherDay says
	// that the block is of a version of a plan for a day that goes otherwise, which has
	// no test: of the balls the rates are made, and no run counts.
	Purpose  curriculum.Purpose
	OtherDay bool
	Seconds  int
	Balls    []streak.Ball
	// Misses are what was said of how the balls missed.
	Misses Misses
	// StruckAt says when a ball, counted from 0, was struck.
	StruckAt func(ball int) time.Time
	Attested Attested
}

// Measures reports whether the block only measures: its balls count for rates, and no
// run of them.
func (b PlayedBlock) Measures() bool { return b.Purpose != "" || b.OtherDay }

// Attested are counts without the order of the balls. Inside includes Holed.
type Attested struct {
	Balls  int
	Inside int
	Holed  int
	// BestRun is the longest run that the student wrote down.
	BestRun int
}

// Summarise judges what a session says of the track's skill. Tiers that only an
// earlier ladder had are judged in the same blocks as the present ladder's, but
// for what JudgedTier.OpenUntil and TechniqueUntil say.
func (t Track) Summarise(p Play) SessionSummary {
	d := SessionSummary{Session: p.Session, StartedAt: p.StartedAt, Day: p.Day, Week: p.Day.Monday(), Skill: p.Skill, Tally: p.tally(), Parts: t.parts(p)}
	p.open(&d)
	for _, tier := range t.Judged {
		r := TierResult{Session: p.Session, StartedAt: p.StartedAt, Day: p.Day, Tier: tier.Tier}
		for _, b := range p.Blocks {
			if !p.OffGreen && t.countsIn(tier, b.Kind, p.StartedAt) {
				r.add(b)
			}
		}
		d.Results = append(d.Results, r)
	}
	return d
}

func (p Play) tally() Tally {
	c := Tally{Sessions: 1}
	for _, b := range p.Blocks {
		c.Seconds += b.Seconds
		c.AttestedBalls += b.Attested.Balls
		c.AttestedInside += b.Attested.Inside
		c.AttestedHoled += b.Attested.Holed
		c.Balls += len(b.Balls)
		if !p.OffGreen {
			c.Misses = c.Misses.Plus(b.Misses)
		}
		for _, ball := range b.Balls {
			if ball.Outcome != streak.Out {
				c.Inside++
			}
			if ball.Outcome == streak.Holed {
				c.Holed++
			}
		}
	}
	return c
}

// add judges one more block; a run never goes on from the one before.
func (r *TierResult) add(b PlayedBlock) {
	got := streak.Read(b.Balls, r.Tier)
	r.Judged += got.Judged
	r.Inside += got.Inside
	r.Unmeasured += got.Unmeasured
	for _, ball := range b.Balls {
		if ball.Outcome == streak.Holed {
			r.Holed++
		}
		r.seen(ball)
	}
	if b.Measures() {
		return
	}
	r.Best = longer(r.Best, got.Best)
	r.Near = r.Near.Add(got.Near)
	r.Chances += max(0, len(b.Balls)-r.Tier.Run+1)
	if got.PassedAt == 0 || r.Passed != nil {
		return // blocks come in the order they were played
	}
	r.Passed = &Hit{Session: r.Session, Block: b.Position, Ball: got.PassedAt, At: b.StruckAt(got.PassedAt - 1)}
}

// seen counts a ball for estimates: where it is counted must not depend on how it
// came out.
func (r *TierResult) seen(b streak.Ball) {
	in, holed := b.Outcome != streak.Out, b.Outcome == streak.Holed
	if b.Measured {
		r.Leaves.Radius = r.Tier.Radius
		count(&r.Leaves, holed || b.Leave <= r.Tier.Radius, holed)
		return
	}
	i := slices.IndexFunc(r.Circles, func(c estimate.Circle) bool { return c.Radius == b.Radius })
	if i < 0 {
		i = len(r.Circles)
		r.Circles = append(r.Circles, estimate.Circle{Radius: b.Radius})
	}
	count(&r.Circles[i], in, holed)
}

func count(c *estimate.Circle, in, holed bool) {
	c.Balls++
	if in {
		c.Inside++
	}
	if holed {
		c.Holed++
	}
}

// scatter counts the measured balls in the circles of all tiers; nil when one
// circle tells all.
func (s SessionSummary) scatter() []estimate.Circle {
	if !slices.ContainsFunc(s.Results, func(r TierResult) bool { return r.Leaves.Balls > 0 && r.Tier.Radius != s.Results[0].Tier.Radius }) {
		return nil
	}
	found := make([]estimate.Circle, 0, len(s.Results))
	for _, r := range s.Results {
		if r.Leaves.Balls > 0 && !slices.ContainsFunc(found, func(c estimate.Circle) bool { return c.Radius == r.Tier.Radius }) {
			found = append(found, r.Leaves)
		}
	}
	if len(found) < 2 {
		return nil
	}
	return found
}

// Observation is what the session says of the tier's circle, but for its day.
func (r TierResult) Observation() estimate.Observation {
	o := estimate.Observation{Measured: r.Scatter, Balls: r.Leaves.Balls, Inside: r.Leaves.Inside, Holed: r.Leaves.Holed}
	for _, c := range r.Circles {
		if c.Radius != r.Tier.Radius {
			o.Elsewhere = append(o.Elsewhere, c)
			continue
		}
		o.Balls += c.Balls
		o.Inside += c.Inside
		o.Holed += c.Holed
	}
	return o
}

// Observations are what the last sessions say of a tier's circle, oldest first.
func Observations(results []TierResult) []estimate.Observation {
	seen := make([]estimate.Observation, len(results))
	for i, r := range results {
		seen[i] = r.Observation()
	}
	return seen
}
