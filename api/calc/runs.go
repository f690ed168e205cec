package calc

import (
	"fringework/domain"
	"fringework/domain/streak"
)

const (
	maxRunBalls = 10_000
	maxRunTiers = 50
)

var runs = define[runsIn, RunsOut]("runs",
	"Judges the balls of one block for steps of a ladder, each at its own radius: the most balls in a row, those in a row now, and the ball that passed the step.",
	`{"balls":[{"outcome":"in","radius_m":2,"leave_m":1.1},{"outcome":"out","radius_m":2},{"outcome":"in","radius_m":2,"leave_m":0.7},{"outcome":"holed"}],"tiers":[{"run":2,"radius_m":2},{"run":2,"radius_m":1.2,"holed":1}]}`,
	answerRuns)

// runsIn is the input of runs.
type runsIn struct {
	// Balls are the balls of the block, in the order struck.
	Balls *[]ballIn `json:"balls" validate:"required"`
	// Tiers are the steps to judge them for.
	Tiers *[]tierIn `json:"tiers" validate:"required"`
}

// ballIn is one ball, as it was judged.
type ballIn struct {
	// Outcome is out, in or holed.
	Outcome *string `json:"outcome" validate:"required"`
	// RadiusM is the radius at which the ball was judged, in metres; it may be left out for
	// a holed one.
	RadiusM *float64 `json:"radius_m"`
	// LeaveM is the distance left to the hole, in metres, if it was measured.
	LeaveM *float64 `json:"leave_m"`
}

// tierIn is a step of a ladder.
type tierIn struct {
	Run *int `json:"run" validate:"required"`
	// RadiusM is the radius of the circle, in metres.
	RadiusM *float64 `json:"radius_m" validate:"required"`
	// Holed is 0 by default.
	Holed *int `json:"holed"`
}

// RunsOut is the answer of runs.
type RunsOut struct {
	// Tiers holds a result for each tier asked for, in order.
	Tiers []TierResult `json:"tiers"`
}

// TierResult is what the balls say about one tier.
type TierResult struct {
	Run     int     `json:"run"`
	RadiusM float64 `json:"radius_m"`
	// Holed is how many of the balls in a row must be holed.
	Holed int `json:"holed"`
	// BestRun is the longest run, and BestHoled how many of it were holed.
	BestRun   int `json:"best_run"`
	BestHoled int `json:"best_holed"`
	// CurrentRun is the run at the last ball.
	CurrentRun int `json:"current_run"`
	// CurrentHoled is how many of the run at the last ball were holed.
	CurrentHoled int `json:"current_holed"`
	// PassedAt is the 1-based ball that passed the tier.
	PassedAt *int `json:"passed_at"`
	// Inside of Judged balls were inside the radius; Unmeasured ones say
	// nothing about it.
	Inside     int `json:"inside"`
	Judged     int `json:"judged"`
	Unmeasured int `json:"unmeasured"`
	// Near sums up the runs that came close and ended.
	Near NearOut `json:"near"`
}

// NearOut is how many runs came near, the longest, and how often it came to
// that length.
type NearOut struct {
	Runs int `json:"runs"`
	// Length is the most balls in a row among them.
	Length int `json:"length"`
	// Times is how often it came to that length.
	Times int `json:"times"`
	// Holed is how many of the longest were holed.
	Holed int `json:"holed"`
}

func answerRuns(in runsIn, p *domain.Problems) (any, error) {
	ballsIn, tiersIn := need(p, "/balls", in.Balls), need(p, "/tiers", in.Tiers)
	ballsIn, tiersIn = most(p, "/balls", "balls", ballsIn, maxRunBalls), most(p, "/tiers", "tiers", tiersIn, maxRunTiers)
	balls := make([]streak.Ball, len(ballsIn))
	for i, b := range ballsIn {
		balls[i] = b.read(p, at("/balls", i))
	}
	tiers := make([]streak.Tier, len(tiersIn))
	for i, t := range tiersIn {
		tiers[i] = t.read(p, at("/tiers", i))
	}
	if len(p.Fields()) > 0 {
		return nil, nil
	}
	out := RunsOut{Tiers: make([]TierResult, len(tiers))}
	for i, t := range tiers {
		out.Tiers[i] = resultOut(streak.Read(balls, t))
	}
	return out, nil
}

func (b ballIn) read(p *domain.Problems, at string) (ball streak.Ball) {
	before := len(p.Fields())
	switch outcome := need(p, at+"/outcome", b.Outcome); outcome {
	case "out":
		ball.Outcome = streak.Out
	case "in":
		ball.Outcome = streak.In
	default:
		if ball.Outcome = streak.Holed; b.Outcome != nil && outcome != "holed" {
			p.Add(at+"/outcome", `is %q; use "out", "in" or "holed"`, outcome)
		}
	}
	if b.RadiusM != nil || ball.Outcome != streak.Holed {
		ball.Radius = metres(p, at+"/radius_m", b.RadiusM, streak.MaxRadius)
	}
	if b.LeaveM != nil {
		// It is held against outcome and radius where both are known.
		known := len(p.Fields()) == before
		if leave := metres(p, at+"/leave_m", b.LeaveM); known {
			ball.Leave, ball.Measured = leave, true
		}
	}
	ball.Check(p, at)
	return ball
}

func (t tierIn) read(p *domain.Problems, at string) streak.Tier {
	tier := streak.Tier{
		Run:    need(p, at+"/run", t.Run, streak.MaxRun),
		Radius: metres(p, at+"/radius_m", t.RadiusM, streak.MaxRadius),
	}
	if t.Holed != nil {
		tier.Holed = *t.Holed
	}
	tier.Check(p, at)
	return tier
}

func resultOut(r streak.Result) TierResult {
	out := TierResult{
		Run: r.Tier.Run, RadiusM: r.Tier.Radius.Metres(), Holed: r.Tier.Holed,
		BestRun: r.Best.Length, BestHoled: r.Best.Holed,
		CurrentRun: r.Current.Length, CurrentHoled: r.Current.Holed,
		Inside: r.Inside, Judged: r.Judged, Unmeasured: r.Unmeasured,
		Near: NearOut(r.Near),
	}
	if r.PassedAt > 0 {
		out.PassedAt = &r.PassedAt
	}
	return out
}
