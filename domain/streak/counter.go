package streak

// Result is what the balls of one block say about one tier.
type Result struct {
	Tier Tier
	// Best is the longest run; of equally long ones the one with most holed.
	Best Run
	// Current is the run at the last ball, {0, 0} when that ball ended it.
	Current Run
	// PassedAt is the 1-based ball that passed the tier, 0 when none did.
	PassedAt int
	// Inside counts the balls that were in or holed at the tier's radius.
	Inside int
	// Judged counts the balls that say something about the tier's radius;
	// Inside of Judged is the rate, and Judged + Unmeasured the balls.
	Judged int
	// Unmeasured counts the balls that say nothing about it. Each ended a run,
	// because it never counts as in.
	Unmeasured int
	// Near sums up the runs that came close and ended.
	Near Near
}

// Near sums up runs that came near a tier and ended without passing it:
// "made 7 of 9, twice" is {Length: 7, Times: 2}.
//
// A run is near when it reached three quarters of the tier's length, rounded
// up, but at the most one ball less than the length so that short tiers have
// near runs as well: 7 of 9, 14 of 18, 2 of 3. A run that was long enough but
// held too few holed balls is near, too. The choice of three quarters is
// common practice, no source.
type Near struct {
	// Runs is how many runs came near.
	Runs int
	// Length is the longest of them.
	Length int
	// Times is how many of them had that length.
	Times int
	// Holed is the most holed balls in one of those.
	Holed int
}

// NearFrom is the length from which a run counts as near the tier.
func (t Tier) NearFrom() int { return max(1, min((3*t.Run+3)/4, t.Run-1)) }

// Add joins what two stretches of play say about the same tier, in any order.
func (n Near) Add(m Near) Near {
	n.Runs += m.Runs
	switch {
	case m.Length > n.Length:
		n.Length, n.Times, n.Holed = m.Length, m.Times, m.Holed
	case m.Length == n.Length:
		n.Times += m.Times
		n.Holed = max(n.Holed, m.Holed)
	}
	return n
}

// Counter reads the balls of one block as they are struck. It is a plain value:
// a copy of it is a snapshot. Start a new one for every block, because a run
// never continues into the next.
type Counter struct {
	r Result
	// met says that the current run has passed the tier.
	met bool
}

// NewCounter starts a block for a tier with a run of at least 1.
func NewCounter(t Tier) Counter { return Counter{r: Result{Tier: t}} }

// Add reads the next ball and says what it counted as.
func (c *Counter) Add(b Ball) Verdict {
	v := c.r.Tier.Judge(b)
	if v == Unmeasured {
		c.r.Unmeasured++
	} else {
		c.r.Judged++
	}
	if !v.Inside() {
		c.end()
		return v
	}
	c.r.Inside++
	c.r.Current.Length++
	if v == CountsHoled {
		c.r.Current.Holed++
	}
	c.extend()
	return v
}

// extend follows the current run after it grew by a ball.
func (c *Counter) extend() {
	if c.r.Current.Length > c.r.Best.Length ||
		c.r.Current.Length == c.r.Best.Length && c.r.Current.Holed > c.r.Best.Holed {
		c.r.Best = c.r.Current
	}
	if c.met || !c.r.Tier.MeetsIn(c.r.Current) {
		return
	}
	c.met = true
	if c.r.PassedAt == 0 {
		c.r.PassedAt = c.Balls()
	}
}

// end closes the current run.
func (c *Counter) end() {
	c.r.Near = c.r.Near.Add(c.near())
	c.r.Current, c.met = Run{}, false
}

// near is what the current run adds to Near if it ends here.
func (c *Counter) near() Near {
	run := c.r.Current
	if c.met || run.Length < c.r.Tier.NearFrom() {
		return Near{}
	}
	return Near{Runs: 1, Length: run.Length, Times: 1, Holed: run.Holed}
}

// Balls is how many balls were read.
func (c *Counter) Balls() int { return c.r.Judged + c.r.Unmeasured }

// Ended is what stands if the block ends here, which ends the current run.
// Current still tells how it stood at the last ball.
func (c *Counter) Ended() Result {
	r := c.r
	r.Near = r.Near.Add(c.near())
	return r
}

// Read reads the balls of one whole block against a tier.
func Read(balls []Ball, t Tier) Result {
	c := NewCounter(t)
	for _, b := range balls {
		c.Add(b)
	}
	return c.Ended()
}
