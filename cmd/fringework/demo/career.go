package demo

import (
	"math"
	"math/rand/v2"
	"time"
)

// career is how an invented student develops: the chance of coming to rest
// inside the widest circle of a skill, in logits, changes with every session,
// and each session has a good or bad day of its own.
type career struct {
	name string
	zone string
	// start is the inside rate of the first session, from 0 to 1.
	start float64
	// climb is what a session of the shortest demo brings, in logits; in a longer
	// one each brings less.
	climb float64
	// levels says that they gain nothing more from the middle on.
	levels bool
	// falls is what each session of the last eight weeks takes away, in logits.
	falls float64
	// perWeek is how many sessions they do of the three planned.
	perWeek int
	// quit is how many weeks before the end they came for the last time; 0 never.
	quit int
	// skewed spends the time on technique and skips the test.
	skewed bool
	// wide judges by the widest circle, whatever the plan says, and never measures.
	wide bool
	// tardy phones upload days later and out of order.
	tardy bool
	// ending is whom nothing follows the programme for.
	ending bool
	// left is who plays left-handed.
	left bool
	// late is whoever is not one of the dozen.
	late bool
}

// dozen are the students of the shortest demo, most of them beginners. Most
// climb, at their own pace, and for every reason to look at a student there is
// one: Femi lapses, Cosima gets worse, Edda stands still, Kaisa is given too
// much, Gwen spends the time elsewhere, Ilse has long outgrown her circle, and
// nothing follows when Dario's programme ends.
func dozen() []career {
	return []career{
		{name: "Anouk Brenner", zone: "Europe/Zurich", start: 0.24, climb: 0.05, perWeek: 3},
		{name: "Bastian Okoro", zone: "Europe/Dublin", start: 0.33, climb: 0.04, perWeek: 3, tardy: true},
		{name: "Cosima Hale", zone: "Europe/London", start: 0.44, climb: 0.01, falls: 0.07, perWeek: 3},
		{name: "Dario Lindqvist", zone: "Europe/Stockholm", start: 0.36, climb: 0.05, perWeek: 2, ending: true},
		{name: "Edda Marchetti", zone: "Europe/Rome", start: 0.28, perWeek: 3},
		{name: "Femi Castellan", zone: "Europe/Dublin", start: 0.30, climb: 0.04, perWeek: 3, quit: 3},
		{name: "Gwen Aldous", zone: "Europe/London", start: 0.26, climb: 0.04, perWeek: 3, skewed: true},
		{name: "Henrik Sabo", zone: "Europe/Budapest", start: 0.22, climb: 0.07, perWeek: 2, tardy: true, left: true},
		{name: "Ilse Thornton", zone: "Europe/London", start: 0.97, perWeek: 3, wide: true},
		{name: "Jonas Quiroga", zone: "Europe/Madrid", start: 0.20, climb: 0.08, perWeek: 3, levels: true},
		{name: "Kaisa Drummond", zone: "Europe/Helsinki", start: 0.10, perWeek: 2},
		{name: "Leander Fitch", zone: "America/New_York", start: 0.37, climb: 0.045, perWeek: 3},
	}
}

// careers are the dozen and, after them, as many more as are wanted, drawn from
// the seed. Every fourth of those has a trouble of one of the dozen's kinds.
func careers(n int, seed uint64) []career {
	all := dozen()
	rng := rand.New(rand.NewPCG(seed, 1<<32))
	for i := range n - len(all) {
		c := career{
			name: firstNames[i%len(firstNames)] + " " + lastNames[(7*i+i/len(firstNames))%len(lastNames)],
			zone: zones[rng.IntN(len(zones))], start: 0.15 + 0.3*rng.Float64(), climb: 0.03 + 0.05*rng.Float64(),
			perWeek: 2 + rng.IntN(2), tardy: rng.IntN(8) == 0, late: true,
		}
		switch i % 20 {
		case 3:
			c.quit = 2 + rng.IntN(4)
		case 7:
			c.falls = 0.08
		case 11:
			c.start, c.climb = 0.25, 0
		case 15:
			c.skewed = true
		case 19:
			c.start, c.climb = 0.1, 0
		}
		all = append(all, c)
	}
	return all
}

// Names of students beyond the dozen. Their product is more than there can be.
var (
	firstNames = []string{
		"Amara", "Bram", "Celia", "Dov", "Elin", "Faisal", "Greta", "Hugo", "Imke", "Jarek", "Katya", "Lorcan", "Mirela", "Nils", "Oona", "Pavel",
		"Quinn", "Rosalind", "Stellan", "Tamsin", "Umar", "Vera", "Wendel", "Xenia", "Yusuf", "Zofia", "Alma", "Benedikt", "Carys", "Domenico",
	}
	lastNames = []string{
		"Abernethy", "Bellamy", "Carrow", "Dunmore", "Eastlake", "Farquhar", "Gilroy", "Hartigan", "Ingleby", "Jessop", "Kestrel", "Lomax",
		"Merriman", "Northcote", "Ormonde", "Pellew", "Quaife", "Rowntree", "Sallow", "Tregarth", "Underhill", "Vexley", "Winslade", "Yarrow", "Zeller",
		"Ashdown", "Bracken", "Coverdale", "Dacre", "Elstob", "Fenwright",
	}
	zones = []string{"Europe/London", "Europe/Dublin", "Europe/Lisbon", "Europe/Oslo", "Europe/Vienna", "America/New_York"}
)

// insideRate is the chance of coming to rest inside a skill's widest circle in a
// session, counted from 0, of so many in all.
func (c career) insideRate(session, all int, day float64) float64 {
	shortest := MinWeeks * c.perWeek
	trained := session
	if c.levels {
		trained = min(session, all/2)
	}
	gained := c.climb * math.Pow(float64(shortest)/float64(all), 0.6) * float64(trained)
	lost := c.falls * float64(max(0, session-(all-shortest)))
	return 1 / (1 + math.Exp(-(math.Log(c.start/(1-c.start)) + gained - lost + day)))
}

// holeRadius is how near the middle of the hole, in metres, the demo's balls
// must come to drop.
const holeRadius = 0.2

// strike plays a ball at the hole: its leave in metres, or holed. inside is the
// chance to come within a radius.
func strike(rng *rand.Rand, inside, radius float64) (leave float64, holed bool) {
	sigma := radius / math.Sqrt(-2*math.Log(1-inside))
	leave = sigma * math.Sqrt(-2*math.Log(1-rng.Float64()))
	return math.Round(leave*100) / 100, leave < holeRadius
}

// misses are which way balls go that are out: short more often than not, as
// amateurs' do (common practice, no source).
var misses = []string{"short", "long", "short", "left", "short", "right", "short"}

// ball is one shot as the API takes it.
type ball struct {
	Outcome  string   `json:"outcome"`
	LeaveM   *float64 `json:"leave_m,omitempty"`
	Miss     string   `json:"miss,omitempty"`
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
	Green        *green    `json:"green,omitempty"`
	Landings     []landing `json:"landings,omitempty"`
}

// play fills a block with balls, one every so many seconds of the time spent.
// inside is the chance to come within the skill's widest circle.
func (c career) play(rng *rand.Rand, b played, inside float64, p planned, from int) played {
	const secondsPerBall = 24
	widest := allSkills[p.skill].circles[0].radius
	if c.wide {
		b.RadiusM = widest
	}
	if b.Kind == "random" {
		inside *= 0.85 // a new lie every ball is harder
	}
	for i := range b.Seconds / secondsPerBall {
		leave, holed := strike(rng, inside, widest)
		shot := ball{Outcome: "out", AfterS: float64(from + (i+1)*secondsPerBall)}
		switch {
		case holed:
			shot.Outcome = "holed"
		case leave <= b.RadiusM:
			shot.Outcome = "in"
		}
		if shot.Outcome == "out" && i%2 == 0 {
			shot.Miss = misses[int(math.Round(leave*100))%len(misses)]
		}
		if measured := rng.Float64() < 0.25; measured && !holed && !c.wide {
			shot.LeaveM = &leave
		}
		p.drill.choose(rng, i, &shot)
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
