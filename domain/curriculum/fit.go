package curriculum

import (
	"fmt"
	"slices"

	"fringework/domain"
	"fringework/domain/greenside"
)

// SkillDrill is what a coach gives for every new block of one kind that plays a
// skill. What is left empty is filled with what is usual for the sort of shot;
// the target radius is the ladder's.
type SkillDrill struct {
	Kind      BlockKind
	Text      string
	Lies      []string
	Distances []domain.Length
	Clubs     []string
	// Carry is how much of the way the ball flies, in whole per cent; 0 leaves it
	// open.
	Carry int
}

// drill is what a coach gave, as a drill without a radius.
func (d SkillDrill) drill() Drill {
	return Drill{Text: d.Text, Lies: d.Lies, Distances: d.Distances, Clubs: d.Clubs, Carry: d.Carry}
}

// Fitted gives the drill that a new block of a kind takes from the skill: what
// the coach gave for that kind, the rest as is usual for the sort of shot, and
// the radius of the ladder's first tier, so that a test or a warm-up always
// plays a circle of the ladder.
func (s Skill) Fitted(kind BlockKind) Drill {
	d := s.Kind.Usual(kind)
	if i := slices.IndexFunc(s.Drills, func(own SkillDrill) bool { return own.Kind == kind }); i >= 0 {
		d = s.Drills[i].drill().or(d)
	}
	if len(s.Ladder.Tiers) > 0 {
		d.Radius = s.Ladder.Tiers[0].Radius
	}
	return d
}

// or fills what a drill leaves empty from another.
func (d Drill) or(other Drill) Drill {
	if d.Text == "" {
		d.Text = other.Text
	}
	if len(d.Lies) == 0 {
		d.Lies = other.Lies
	}
	if len(d.Distances) == 0 {
		d.Distances = other.Distances
	}
	if len(d.Clubs) == 0 {
		d.Clubs = other.Clubs
	}
	if d.Carry == 0 {
		d.Carry = other.Carry
	}
	return d
}

// checkDrills notes what is wrong with the drills of a skill: what no drill may
// say, and what does not make a drill of its kind even with the usual filled in.
func (s Skill) checkDrills(p *domain.Problems, at string) {
	seen := map[BlockKind]bool{}
	for i, own := range s.Drills {
		here := fmt.Sprintf("%s/%d", at, i)
		before := len(p.Fields())
		checkKind(p, here+"/kind", own.Kind)
		if seen[own.Kind] {
			p.Add(here+"/kind", "%s already has a drill; keep one of them", own.Kind)
		}
		seen[own.Kind] = true
		own.drill().check(p, here)
		if len(p.Fields()) == before {
			s.Fitted(own.Kind).checkSuits(p, here, string(own.Kind), own.Kind, s.Kind.putts())
		}
	}
}

// putts reports whether a sort of shot is played along the ground of the green,
// with one club.
func (k SkillKind) putts() bool { return k.Stroke() != greenside.OffGreen }

// Usual is the drill of a kind of block as it is common for a sort of shot,
// without a radius: common practice, no source. The coach's own sort of shot has
// words, but no lies, distances or clubs: nobody else can know them.
func (k SkillKind) Usual(kind BlockKind) Drill {
	shot := shots[k]
	d := Drill{Text: shot.words[kind]}
	switch kind {
	case Stations:
		d.Lies, d.Distances, d.Clubs = shot.one.Lies, shot.one.Distances, shot.clubs
		if k.putts() {
			d.Lies, d.Distances = nil, shot.distances
		}
	case Playout: // with the club of the student's choice
		d.Lies, d.Distances = shot.lies, shot.distances
	case Random:
		d.Lies, d.Distances, d.Clubs = shot.lies, shot.distances, shot.clubs
	default:
		d.Lies, d.Distances, d.Clubs, d.Carry = shot.one.Lies, shot.one.Distances, shot.one.Clubs, shot.one.Carry
	}
	return d
}

// shot is what is usual for a sort of shot: the one spot of a warm-up, of
// technique and of a test; the clubs of stations; the lies, distances and clubs
// that random tasks are dealt from, and places to play out from; and what to tell the student.
type shot struct {
	one       Drill
	lies      []string
	distances []domain.Length
	clubs     []string
	words     map[BlockKind]string
}

func feet(n ...int) []domain.Length { return lengths(domain.Foot, n) }

func yards(n ...int) []domain.Length { return lengths(domain.Yard, n) }

func lengths(unit domain.Length, n []int) []domain.Length {
	all := make([]domain.Length, len(n))
	for i, x := range n {
		all[i] = domain.Length(x) * unit
	}
	return all
}

// spot is a drill of one lie, distance and club.
func spot(lie string, distance []domain.Length, club string, carry int) Drill {
	return Drill{Lies: []string{lie}, Distances: distance, Clubs: []string{club}, Carry: carry}
}

// words are texts for a warm-up, technique, stations, random, a test and places
// played out.
func words(warmup, technique, stations, random, test, playout string) map[BlockKind]string {
	return map[BlockKind]string{Warmup: warmup, Technique: technique, Stations: stations, Random: random, Test: test, Playout: playout}
}

// shots are the usual drills by sort of shot: common practice, no source. How
// much of the way a ball flies follows the rule of twelve for chips and pitches:
// to one part of flight, twelve less the number of the club parts of roll, where
// a pitching wedge counts ten and a sand wedge eleven.
var shots = map[SkillKind]shot{
	ChipAndRun: {
		one:  spot("fairway", yards(14), "9 iron", 25),
		lies: []string{"fairway", "light rough", "tight lie"}, distances: yards(9, 14, 19), clubs: []string{"8 iron", "pitching wedge"},
		words: words(
			"One spot, one club. Land it just on the green and let it run. Count how many in a row stop inside the circle.",
			"One spot, one club, one landing spot just on the green. Same set-up, same tempo, every ball.",
			"One landing spot just on the green, one club after the other. Watch how far each rolls out from there.",
			"A new lie, distance and club for every ball. Choose the landing spot before you choose the swing.",
			"Back to one spot. How many in a row stop inside the circle?",
			"One ball, a new place each time. Chip it, then putt until it is holed."),
	},
	Pitch: {
		one:  spot("fairway", yards(22), "sand wedge", 50),
		lies: []string{"fairway", "light rough", "uphill lie"}, distances: yards(16, 22, 28), clubs: []string{"gap wedge", "sand wedge"},
		words: words(
			"One spot, one club. Nobody in front of you. Count how many in a row stop inside the circle.",
			"One spot, one club, one landing spot. Look before each ball: nobody in front of you. Hold the finish until it lands.",
			"One landing spot, one club after the other, nobody in front of you. Let the club change the roll, not the swing.",
			"A new lie, distance and club for every ball, and one chance. Look before each: nobody in front of you.",
			"Back to one spot, nobody in front of you. How many in a row stop inside the circle?",
			"One ball, a new place each time, nobody in front of you. Pitch it, then putt until it is holed."),
	},
	BunkerShot: {
		one:  spot("bunker", yards(13), "sand wedge", 0),
		lies: []string{"bunker", "bunker, uphill", "bunker, plugged"}, distances: yards(9, 13, 18), clubs: []string{"sand wedge", "lob wedge"},
		words: words(
			"One spot in the sand. Nobody in front of you or beside you. Count how many in a row stop inside the circle.",
			"One spot in the sand. Draw a line behind the ball and enter the sand on it. Nobody in front of you; rake when you leave.",
			"One landing spot, one club after the other from the same sand. Nobody in front of you.",
			"A new place in the sand, distance and club for every ball, and one chance. Look before each: thin ones fly far.",
			"Back to one spot in the sand, nobody in front of you. How many in a row stop inside the circle?",
			"One ball, a new place in the sand each time, nobody in front of you. Rake, then putt until it is holed."),
	},
	Lob: {
		one:  spot("light rough", yards(17), "lob wedge", 67),
		lies: []string{"fairway", "light rough", "deep rough"}, distances: yards(12, 17, 21), clubs: []string{"sand wedge", "lob wedge"},
		words: words(
			"One spot, one club, high and soft. Nobody in front of you. Count how many in a row stop inside the circle.",
			"One spot, one club. Face open, weight even, swing through to the end. Nobody in front of you: thin ones fly far.",
			"One landing spot, one club after the other, nobody in front of you. See how much sooner the higher one stops.",
			"A new lie, distance and club for every ball, and one chance. Look before each: nobody in front of you.",
			"Back to one spot, nobody in front of you. How many in a row stop inside the circle?",
			"One ball, a new place each time, nobody in front of you. Play it high, then putt until it is holed."),
	},
	LagPutt: {
		one:  spot("level", feet(32), "putter", 0),
		lies: []string{"uphill", "downhill", "across the slope"}, distances: feet(24, 32, 41), clubs: []string{"putter"},
		words: words(
			"One spot, one putt. Count how many in a row stop inside the circle.",
			"One spot. Look at the hole while you swing back and forth, then putt. Feel the length, forget the line.",
			"From three distances in turn, one ball from each. Let the swing grow, not the hit.",
			"A new place and distance for every ball. Walk around it once before you putt.",
			"Back to one spot. How many in a row stop inside the circle?",
			"One ball, a new place each time. Putt until it is holed: two putts are enough."),
	},
	ShortPutt: {
		one:  spot("level", feet(4), "putter", 0),
		lies: []string{"uphill", "downhill", "left to right", "right to left"}, distances: feet(3, 4, 6), clubs: []string{"putter"},
		words: words(
			"One spot, the same routine. Count how many in a row go in or stop inside the circle.",
			"One spot, one line. Two tees just wider than the putter head; start every ball through them.",
			"From three distances around the hole in turn, one ball from each.",
			"A new side of the hole and distance for every ball. Read it, choose the line, one chance.",
			"Back to one spot. How many in a row?",
			"One ball, a new place each time. Putt until it is holed."),
	},
	Own: {
		words: words(
			"One spot, one club. Count how many in a row stop inside the circle.",
			"One spot, one club. The same routine for every ball.",
			"One landing spot, one club after the other.",
			"A new task for every ball, and one chance.",
			"Back to one spot. How many in a row stop inside the circle?",
			"One ball, a new place each time. Play until it is holed."),
	},
}
