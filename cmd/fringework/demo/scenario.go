package demo

// The invented academy. Nobody in it exists.
const (
	academyName = "Larkmoor Short Game"
	ownerName   = "Odile Vantongeren"
	coachName   = "Ruben Ashgrove"
	password    = "larkmoor-demo"
	mailDomain  = "larkmoor.example"
	// newcomer has joined and has no programme yet; stray has no coach either.
	newcomer = "Nell Abernathy"
	stray    = "Osric Valentine"
	// followingName is the programme after the first.
	followingName = "Six weeks more"
	ownerEmail    = "odile@" + mailDomain
	coachEmail    = "ruben@" + mailDomain
)

const foot = 0.3048

// groupNames are of groups of at most perGroup students.
var groupNames = []string{"Thursday evening", "Saturday morning", "Monday lunch hour", "Wednesday nine-holers", "Sunday early", "Tuesday evening"}

const perGroup = 20

// tier, skill, drill and so on are the shapes the API takes, as the coach of
// the demo fills them in.
type tier struct {
	Run     int     `json:"run"`
	RadiusM float64 `json:"radius_m"`
}

type ladder struct {
	Tiers []tier `json:"tiers"`
}

// circle is what balls are judged at: a radius in metres, with the steps that are
// passed in it, as balls in a row.
type circle struct {
	radius float64
	runs   []int
}

type skill struct {
	Name   string `json:"name"`
	Kind   string `json:"kind"`
	Text   string `json:"text"`
	Ladder ladder `json:"ladder"`
	// circles are what its drills are judged at, ever narrower.
	circles []circle
	// spot is how far from the hole, in metres, and club what its single-spot
	// drills are played with.
	spot  float64
	club  string
	clubs []string
	lies  []string
	// carry is how much of the way the ball flies, in per cent.
	carry int
}

// The skills, as indexes into allSkills.
const (
	pitch = iota
	chip
	sand
)

// allSkills are what the programme trains. Their first circles are wide and their
// first steps short, so that a beginner passes one within a few sessions.
var allSkills = []skill{
	{
		Name: "Pitch", Kind: "pitch", Text: "Fly it most of the way and let it stop near where it lands.",
		circles: []circle{{10 * foot, []int{3, 4}}, {8 * foot, []int{5, 6}}, {6 * foot, []int{7, 9}}}, spot: 20, club: "sand wedge",
		clubs: []string{"gap wedge", "sand wedge"}, lies: []string{"fairway", "light rough", "uphill lie"}, carry: 75,
	},
	{
		Name: "Chip and run", Kind: "chip_and_run", Text: "Land it just on the green and let it roll out like a putt.",
		circles: []circle{{6 * foot, []int{4, 5}}, {5 * foot, []int{6, 7}}, {4 * foot, []int{8, 10}}}, spot: 8, club: "8 iron",
		clubs: []string{"7 iron", "9 iron", "pitching wedge"}, lies: []string{"fringe", "tight fairway", "downhill lie"}, carry: 35,
	},
	{
		Name: "Greenside bunker", Kind: "bunker_shot", Text: "Out first time, every time; then nearer.",
		circles: []circle{{15 * foot, []int{3, 4}}, {12 * foot, []int{5, 6}}, {9 * foot, []int{7, 8}}}, spot: 11, club: "58° wedge",
		clubs: []string{"54° wedge", "58° wedge"}, lies: []string{"flat sand", "uphill lie in the sand"}, carry: 80,
	},
}

// at is the circle of a round of the six weeks, counted from 0, or the narrowest.
func (s skill) at(round int) circle { return s.circles[min(round, len(s.circles)-1)] }

// steps are those of the circles that so many weeks come to; without repeating
// the six weeks, one step of the second circle is enough.
func (s skill) steps(weeks int) (l ladder) {
	for i, c := range s.circles {
		for j, run := range c.runs {
			if i == 0 || weeks > sixWeeks || i == 1 && j == 0 {
				l.Tiers = append(l.Tiers, tier{run, c.radius})
			}
		}
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
	skill int // index into allSkills
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

// sixWeeks is how many weeks there are before they come again, narrower.
const sixWeeks = 6

// weekAt gives a week of the programme, counted from 0: of six, two of pitches, two
// of chips, one in the sand, and one of everything. From the third on a warm-up
// keeps an earlier skill alive. The second time that a skill comes its circle is
// narrower, and so it is in the next six weeks.
func weekAt(i int) week {
	wide, narrow := i/sixWeeks, i/sixWeeks+1
	switch i % sixWeeks {
	case 0:
		return week{"Get it in the air", pitch, 45, []planned{
			stations(20, pitch, wide), technique(25, pitch, wide, "Feet close, turn back and through, let the club slide under the ball."), random(15, pitch, wide), test(40, pitch, wide),
		}}
	case 1:
		return week{"Choose the landing spot", pitch, 45, []planned{
			random(25, pitch, narrow), technique(30, pitch, narrow, "Lay a towel down and land every ball on it."), test(45, pitch, narrow),
		}}
	case 2:
		return week{"Low and running", chip, 55, []planned{
			warmup(15, pitch, narrow), test(35, chip, wide), technique(20, chip, wide, "Weight forward, hands quiet, brush the grass."), random(30, chip, wide),
		}}
	case 3:
		return week{"One swing, three clubs", chip, 55, []planned{
			warmup(20, pitch, narrow), stations(25, chip, wide), technique(15, chip, wide, "Same length of swing every time; only the club changes."), test(40, chip, wide),
		}}
	case 4:
		return week{"Into the sand", sand, 50, []planned{
			warmup(25, chip, narrow), technique(35, sand, wide, "Open the face, then grip. Enter the sand a hand's width behind the ball."), test(40, sand, wide),
		}}
	default:
		return week{"All three", chip, 50, []planned{
			random(20, sand, narrow), warmup(30, pitch, narrow), technique(10, chip, narrow, "Pick the spot, one practice swing, go."), test(40, chip, narrow),
		}}
	}
}

// spot is a drill from one spot with one club, in a round's circle.
func spot(text string, of, round int) drill {
	s := allSkills[of]
	return drill{text: text, clubs: []string{s.club}, distances: []float64{s.spot}, radius: s.at(round).radius}
}

func warmup(share, of, round int) planned {
	return planned{"warmup", share, of, spot("Where you left off. Count how many in a row.", of, round)}
}

func technique(share, of, round int, cue string) planned {
	return planned{"technique", share, of, spot(cue, of, round)}
}

func test(share, of, round int) planned {
	return planned{"test", share, of, spot("One spot, one club. How many in a row?", of, round)}
}

func stations(share, of, round int) planned {
	d := spot("One landing spot, a ball with each club in turn. Watch how far each one rolls.", of, round)
	d.clubs, d.carry = allSkills[of].clubs, allSkills[of].carry
	return planned{"stations", share, of, d}
}

func random(share, of, round int) planned {
	s := allSkills[of]
	return planned{"random", share, of, drill{
		text: "A new lie, distance and club for every ball. Go through your routine; one chance.",
		lies: s.lies, clubs: s.clubs, distances: []float64{s.spot - 3, s.spot, s.spot + 5}, radius: s.at(round).radius,
	}}
}
