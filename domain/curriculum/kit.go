package curriculum

import (
	"slices"
	"strings"
)

// Kit is what to bring for a plan.
type Kit struct {
	// Balls is how many; Soft says that they are soft practice balls.
	Balls int
	Soft  bool
	// Clubs are those that the drills name, each once, without the putter.
	Clubs  []string
	Putter bool
	// Tees mark circles, String measures them, and a towel is to land on or to dry with.
	Tees   int
	String bool
	Towel  bool
}

// How many balls a plan takes, by what is played: from one spot a dozen are struck
// before they are fetched, with a new place for every ball half of that, and one is
// played out. Four tees mark a circle. Common practice, no source.
const (
	pileBalls   = 12
	dealtBalls  = 6
	playedBalls = 1
	circleTees  = 4
)

// Kit gives what to bring for the plan on a day; the zero day is one that goes by the
// plan. kind tells what sort of shot a block trains.
func (plan Plan) Kit(day Day, kind func(Block) SkillKind) (k Kit) {
	green := !day.Surface.Off()
	k.Soft, k.Towel = day.Surface == OnCarpet || day.Surface == InGarden, day.Variant == InRain
	for _, b := range plan.Blocks {
		putts := kind(b).putts()
		k.Balls = max(k.Balls, ballsFor(b.Kind))
		k.Putter = k.Putter || putts || b.Kind == Playout
		k.Towel = k.Towel || b.Kind == Stations || !green && !putts
		if green && b.Drill.Radius > 0 && b.Kind != Playout && b.Kind != Stations {
			k.Tees, k.String = circleTees, true
		}
		for _, club := range b.Drill.Clubs {
			switch {
			case strings.Contains(strings.ToLower(club), "putter"):
				k.Putter = true
			case !slices.Contains(k.Clubs, club):
				k.Clubs = append(k.Clubs, club)
			}
		}
	}
	if day.Variant == OneBall {
		k.Balls = 1
	}
	return k
}

func ballsFor(kind BlockKind) int {
	switch kind {
	case Random:
		return dealtBalls
	case Playout:
		return playedBalls
	}
	return pileBalls
}
