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
	Holed   int     `json:"holed,omitempty"`
}

type ladder struct {
	Tiers []tier `json:"tiers"`
}

type skill struct {
	Name   string `json:"name"`
	Kind   string `json:"kind"`
	Text   string `json:"text"`
	Ladder ladder `json:"ladder"`
}

// skills are what the programme trains. Nine in a row, then eighteen with one
// holed, are the usual tiers (common practice, no source); the ladders have an
// easier one before and a middle one between.
func skills() []skill {
	rungs := func(feet float64) ladder {
		return ladder{[]tier{{Run: 6, RadiusM: feet * foot}, {Run: 9, RadiusM: feet * foot}, {Run: 12, RadiusM: feet * foot}, {Run: 18, RadiusM: feet * foot, Holed: 1}}}
	}
	return []skill{
		{"Chip and run", "chip_and_run", "Land it on the green early and let it roll like a putt.", rungs(3)},
		{"Pitch", "pitch", "Half carry, half roll, to a landing spot you can point at.", rungs(5)},
		{"Greenside bunker", "bunker_shot", "Same splash every time; the sand moves the ball.",
			ladder{[]tier{{Run: 4, RadiusM: 8 * foot}, {Run: 7, RadiusM: 8 * foot}}}},
	}
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
	title  string
	skill  int
	blocks []planned
}

// minutes of a session and how often a week it is to be done.
const (
	minutes = 50
	times   = 3
)

// weeks are the six weeks: two of chips, then pitches and a visit to the sand,
// the chip kept alive as the warm-up all along.
func weeks() []week {
	const chip, pitch, sand = 0, 1, 2
	return []week{
		{"Strike it low", chip, session(chip, chip, "Feet together, weight left, brush the grass.")},
		{"Choose the landing spot", chip, session(chip, chip, "Pick a blade of grass a pace onto the green and land on it.")},
		{"Add height", pitch, session(pitch, chip, "Hinge, turn, let the club slide under the ball.")},
		{"Same swing, three clubs", pitch, session(pitch, chip, "One swing length; change only the club.")},
		{"Into the sand", sand, session(sand, chip, "Open the face first, then grip. Enter a hand's width behind the ball.")},
		{"Bring it together", pitch, session(pitch, chip, "Walk in, choose, one waggle, go.")},
	}
}

// session lays out a plan: an earlier skill kept alive, then technique,
// stations, random and test at the week's skill.
func session(skill, earlier int, cue string) []planned {
	radius := []float64{3 * foot, 5 * foot, 8 * foot}
	distance := []float64{10, 16, 12}
	club := []string{"9 iron", "56°", "58°"}
	lies := [][]string{{"fringe", "fairway", "light rough"}, {"fairway", "light rough", "upslope"}, {"flat sand", "upslope sand", "plugged"}}
	clubs := [][]string{{"8 iron", "9 iron", "pitching wedge"}, {"52°", "56°", "60°"}, {"54°", "58°"}}
	return []planned{
		{"warmup", 20, earlier, drill{text: "The earlier skill from its own spot. Count the run.",
			clubs: club[earlier : earlier+1], distances: distance[earlier : earlier+1], radius: radius[earlier]}},
		{"technique", 20, skill, drill{text: cue, clubs: club[skill : skill+1], distances: distance[skill : skill+1], radius: radius[skill]}},
		{"stations", 20, skill, drill{text: "One landing spot, a ball with each club in turn. Watch how far each rolls.",
			clubs: clubs[skill], distances: distance[skill : skill+1], radius: radius[skill], carry: 50}},
		{"random", 15, skill, drill{text: "A new lie, distance and club for every ball. Go through your routine; one chance.",
			lies: lies[skill], distances: []float64{distance[skill] - 4, distance[skill], distance[skill] + 6}, clubs: clubs[skill], radius: radius[skill]}},
		{"test", 25, skill, drill{text: "Back to the first spot. How many in a row?",
			clubs: club[skill : skill+1], distances: distance[skill : skill+1], radius: radius[skill]}},
	}
}
