package demo

// The invented academy. Nobody in it exists.
const (
	academyName = "Larkmoor Short Game"
	ownerName   = "Odile Vantongeren"
	coachName   = "Ruben Ashgrove"
	groupName   = "Thursday evening"
	password    = "larkmoor-demo"
	mailDomain  = "larkmoor.example"
)

const foot = 0.3048

// tier, skill, drill and so on are the shapes the API takes, as the coach of
// the demo fills them in.
type tier struct {
	Run     int     `json:"run"`
	RadiusM float64 `json:"radius_m"`
}

type ladder struct {
	Tiers []tier `json:"tiers"`
}

type skill struct {
	Name   string `json:"name"`
	Kind   string `json:"kind"`
	Text   string `json:"text"`
	Ladder ladder `json:"ladder"`
	// radius is the circle that its drills are judged at, in metres.
	radius float64
	// spot is how far from the hole, in metres, and club what its single-spot
	// drills are played with.
	spot  float64
	club  string
	clubs []string
	lies  []string
}

// The skills, as indexes into skills.
const (
	pitch = iota
	chip
	sand
)

// skills are what the programme trains. Their circles are wide and their first
// steps short, so that a beginner passes one within a few sessions.
func skills() []skill {
	return []skill{
		{
			Name: "Pitch", Kind: "pitch", Text: "Fly it most of the way and let it stop near where it lands.",
			Ladder: inARow(10*foot, 3, 4, 6), radius: 10 * foot, spot: 20, club: "sand wedge",
			clubs: []string{"gap wedge", "sand wedge"}, lies: []string{"fairway", "light rough", "upslope"},
		},
		{
			Name: "Chip and run", Kind: "chip_and_run", Text: "Land it just on the green and let it roll out like a putt.",
			Ladder: inARow(6*foot, 3, 5, 7), radius: 6 * foot, spot: 8, club: "8 iron",
			clubs: []string{"7 iron", "9 iron", "pitching wedge"}, lies: []string{"fringe", "tight fairway", "downslope"},
		},
		{
			Name: "Greenside bunker", Kind: "bunker_shot", Text: "Out first time, every time; then nearer.",
			Ladder: inARow(15*foot, 3, 4, 6), radius: 15 * foot, spot: 11, club: "58° wedge",
			clubs: []string{"54° wedge", "58° wedge"}, lies: []string{"flat sand", "upslope in sand"},
		},
	}
}

// inARow is a ladder of ever more balls in a row inside one circle.
func inARow(radius float64, runs ...int) (l ladder) {
	for _, run := range runs {
		l.Tiers = append(l.Tiers, tier{run, radius})
	}
	return l
}

type drill struct {
	text      string
	lies      []string
	distances []float64
	clubs     []string
	radius    float64
	carry     int
}

type planned struct {
	kind  string
	share int
	skill int // index into skills
	drill drill
}

type week struct {
	title   string
	skill   int
	minutes int
	blocks  []planned
}

// times is how often a week's session is to be done.
const times = 3

// weeks are the six weeks: two of pitches, two of chips, one in the sand, and
// one of everything. From the third on a warm-up keeps an earlier skill alive.
func weeks() []week {
	return []week{
		{"Get it in the air", pitch, 45, []planned{
			stations(20, pitch), technique(25, pitch, "Feet close, turn back and through, let the club slide under the ball."), random(15, pitch), test(40, pitch),
		}},
		{"Choose the landing spot", pitch, 45, []planned{
			random(25, pitch), technique(30, pitch, "Lay a towel down and land every ball on it."), test(45, pitch),
		}},
		{"Low and running", chip, 55, []planned{
			warmup(15, pitch), test(35, chip), technique(20, chip, "Weight forward, hands quiet, brush the grass."), random(30, chip),
		}},
		{"One swing, three clubs", chip, 55, []planned{
			warmup(20, pitch), stations(25, chip), technique(15, chip, "Same length of swing every time; only the club changes."), test(40, chip),
		}},
		{"Into the sand", sand, 50, []planned{
			warmup(25, chip), technique(35, sand, "Open the face, then grip. Enter the sand a hand's width behind the ball."), test(40, sand),
		}},
		{"All three", chip, 50, []planned{
			random(20, sand), warmup(30, pitch), technique(10, chip, "Pick the spot, one practice swing, go."), test(40, chip),
		}},
	}
}

// spot is a drill from one spot with one club.
func spot(text string, of int) drill {
	s := skills()[of]
	return drill{text: text, clubs: []string{s.club}, distances: []float64{s.spot}, radius: s.radius}
}

func warmup(share, of int) planned {
	return planned{"warmup", share, of, spot("Where you left off. Count how many in a row.", of)}
}

func technique(share, of int, cue string) planned {
	return planned{"technique", share, of, spot(cue, of)}
}

func test(share, of int) planned {
	return planned{"test", share, of, spot("One spot, one club. How many in a row?", of)}
}

func stations(share, of int) planned {
	d := spot("One landing spot, a ball with each club in turn. Watch how far each one rolls.", of)
	d.clubs, d.carry = skills()[of].clubs, 40
	return planned{"stations", share, of, d}
}

func random(share, of int) planned {
	s := skills()[of]
	return planned{"random", share, of, drill{
		text: "A new lie, distance and club for every ball. Go through your routine; one chance.",
		lies: s.lies, clubs: s.clubs, distances: []float64{s.spot - 3, s.spot, s.spot + 5}, radius: s.radius,
	}}
}
