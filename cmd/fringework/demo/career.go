package demo

import (
	"math"
	"math/rand/v2"
	"time"
)

// career is how an invented student develops: the chance of coming to rest
// inside the circle, in logits, changes with every session, and each session
// has a good or bad day of its own.
type career struct {
	name string
	zone string
	// start is the inside rate of the first session, from 0 to 1.
	start float64
	// climb is the change in logits per session, below 0 for one who gets worse,
	// until levels (a session, counted from 0), when there is one.
	climb  float64
	levels int
	// perWeek is how many sessions they do of the three planned.
	perWeek int
	// quits is the week, counted from 0, from which they do not come; 0 never.
	quits int
	// skewed spends the time on technique and skips the test.
	skewed bool
	// tardy phones upload days later and out of order.
	tardy bool
}

// careers are the dozen, beginners and some who have played a while: 15 to 40 %
// inside at the start. Most climb, at their own pace; one stands still, one
// levels off, one falls, one lapses, one spends the time elsewhere.
func careers() []career {
	return []career{
		{name: "Anouk Brenner", zone: "Europe/Zurich", start: 0.24, climb: 0.05, perWeek: 3},
		{name: "Bastian Okoro", zone: "Europe/Dublin", start: 0.33, climb: 0.04, perWeek: 3, tardy: true},
		{name: "Cosima Hale", zone: "Europe/London", start: 0.40, climb: -0.06, perWeek: 3},
		{name: "Dario Lindqvist", zone: "Europe/Stockholm", start: 0.36, climb: 0.05, perWeek: 2},
		{name: "Edda Marchetti", zone: "Europe/Rome", start: 0.28, climb: 0, perWeek: 3},
		{name: "Femi Castellan", zone: "Europe/Dublin", start: 0.30, climb: 0.04, perWeek: 3, quits: 5},
		{name: "Gwen Aldous", zone: "Europe/London", start: 0.26, climb: 0.04, perWeek: 3, skewed: true},
		{name: "Henrik Sabo", zone: "Europe/Budapest", start: 0.22, climb: 0.07, perWeek: 2, tardy: true},
		{name: "Ilse Thornton", zone: "Europe/London", start: 0.39, climb: 0.04, perWeek: 3},
		{name: "Jonas Quiroga", zone: "Europe/Madrid", start: 0.20, climb: 0.08, perWeek: 3, levels: 12},
		{name: "Kaisa Drummond", zone: "Europe/Helsinki", start: 0.15, climb: 0.03, perWeek: 2},
		{name: "Leander Fitch", zone: "America/New_York", start: 0.37, climb: 0.045, perWeek: 3},
	}
}

// insideRate is the chance of coming to rest inside a drill's own circle in a
// session.
func (c career) insideRate(session int, day float64) float64 {
	trained := session
	if c.levels > 0 {
		trained = min(session, c.levels)
	}
	logit := math.Log(c.start/(1-c.start)) + c.climb*float64(trained) + day
	return 1 / (1 + math.Exp(-logit))
}

// holeRadius is how near the middle of the hole, in metres, the demo's balls
// must come to drop.
const holeRadius = 0.2

// strike plays a ball at the hole: its leave in metres, or holed.
func strike(rng *rand.Rand, inside, radius float64) (leave float64, holed bool) {
	sigma := radius / math.Sqrt(-2*math.Log(1-inside))
	leave = sigma * math.Sqrt(-2*math.Log(1-rng.Float64()))
	return math.Round(leave*100) / 100, leave < holeRadius
}

// ball is one shot as the API takes it.
type ball struct {
	Outcome  string   `json:"outcome"`
	LeaveM   *float64 `json:"leave_m,omitempty"`
	Club     string   `json:"club,omitempty"`
	Lie      string   `json:"lie,omitempty"`
	Distance float64  `json:"distance_m,omitempty"`
	AfterS   float64  `json:"after_s,omitempty"`
}

// played is one block of a session as the API takes it.
type played struct {
	PlanBlock int     `json:"plan_block,omitempty"`
	Kind      string  `json:"kind"`
	SkillID   string  `json:"skill_id"`
	RadiusM   float64 `json:"radius_m"`
	Seconds   int     `json:"seconds"`
	Balls     []ball  `json:"balls,omitempty"`
}

// sessionBody is a session as the API takes it.
type sessionBody struct {
	id           string
	Revision     int       `json:"revision"`
	AssignmentID string    `json:"assignment_id,omitempty"`
	Week         int       `json:"week,omitempty"`
	Plan         int       `json:"plan,omitempty"`
	TimeZone     string    `json:"time_zone"`
	StartedAt    time.Time `json:"started_at"`
	EndedAt      time.Time `json:"ended_at"`
	Note         string    `json:"note,omitempty"`
	Blocks       []played  `json:"blocks"`
}

// play fills a block with balls, one every pace seconds of the time spent.
func (c career) play(rng *rand.Rand, b played, session int, day float64, drill drill, from int) played {
	const secondsPerBall = 24
	n := b.Seconds / secondsPerBall
	for i := range n {
		inside := c.insideRate(session, day)
		if b.Kind == "random" {
			inside *= 0.85 // a new lie every ball is harder
		}
		leave, holed := strike(rng, inside, b.RadiusM)
		shot := ball{Outcome: "out", AfterS: float64(from + (i+1)*secondsPerBall)}
		switch {
		case holed:
			shot.Outcome = "holed"
		case leave <= b.RadiusM:
			shot.Outcome = "in"
		}
		if !holed && rng.Float64() < 0.25 {
			shot.LeaveM = &leave
		}
		drill.choose(rng, i, &shot)
		b.Balls = append(b.Balls, shot)
	}
	return b
}

// choose says what was played, where the drill offers a choice.
func (d drill) choose(rng *rand.Rand, i int, shot *ball) {
	if len(d.clubs) > 0 {
		shot.Club = d.clubs[i%len(d.clubs)]
	}
	if len(d.lies) > 1 {
		shot.Lie = d.lies[rng.IntN(len(d.lies))]
	}
	if len(d.distances) > 1 {
		shot.Distance = d.distances[rng.IntN(len(d.distances))]
	}
}
