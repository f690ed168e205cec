package curriculum

import (
	"fmt"
	"strings"

	"fringework/domain"
)

// bounds are what a kind of skill is played within: common practice, no source.
// They are wide, since they are to find slips of the hand and not to teach.
type bounds struct {
	name string
	// nearest and farthest bound the distance to the hole.
	nearest, farthest domain.Length
	// putter says whether the shot is played with a putter alone, may be, or
	// never is.
	putter putting
}

type putting uint8

const (
	neverPutter putting = iota
	maybePutter
	onlyPutter
)

// boundsOf has every kind but the coach's own, of which nothing is known.
var boundsOf = map[SkillKind]bounds{
	ChipAndRun: {"a chip-and-run", domain.Metre, 50 * domain.Metre, maybePutter},
	Pitch:      {"a pitch", 4 * domain.Metre, 100 * domain.Metre, neverPutter},
	BunkerShot: {"a bunker shot", 2 * domain.Metre, 100 * domain.Metre, neverPutter},
	Lob:        {"a lob", 2 * domain.Metre, 60 * domain.Metre, neverPutter},
	LagPutt:    {"a lag putt", 3 * domain.Metre, 50 * domain.Metre, onlyPutter},
	ShortPutt:  {"a short putt", domain.Metre / 10, 5 * domain.Metre, onlyPutter},
}

// otherClubs are words that tell a club which is no putter. A club of which
// nothing is known, such as one that a coach calls by a name of their own, is let
// be.
var otherClubs = []string{"wedge", "iron", "driver", "wood", "hybrid", "°"}

// checkSuits warns of clubs and distances that do not suit the shot.
func (t *teller) checkSuits(b placed, kind SkillKind) {
	s, known := boundsOf[kind]
	if !known {
		return
	}
	for i, club := range b.Drill.Clubs {
		if wrong := s.wrongClub(club); wrong != "" {
			t.warnings.AddAt(fmt.Sprintf("%s/drill/clubs/%d", b.at, i), b.place, "%s is hardly ever played with %q; %s", s.name, club, wrong)
		}
	}
	for i, d := range b.Drill.Distances {
		if d < s.nearest || d > s.farthest {
			t.warnings.AddAt(fmt.Sprintf("%s/drill/distances_m/%d", b.at, i), b.place, "%s is unusual for %s; choose a distance from %s to %s, or another skill", t.write(d), s.name, t.write(s.nearest), t.write(s.farthest))
		}
	}
}

// wrongClub says what to do about a club that does not suit; empty when it does.
func (s bounds) wrongClub(club string) string {
	club = strings.ToLower(club)
	putter := strings.Contains(club, "putter")
	other := false
	for _, word := range otherClubs {
		other = other || strings.Contains(club, word)
	}
	switch {
	case s.putter == neverPutter && putter:
		return "choose a lofted club, or another skill"
	case s.putter == onlyPutter && other && !putter:
		return "choose the putter, or another skill"
	case strings.Contains(club, "driver"):
		return "choose a lofted club, or another skill"
	}
	return ""
}
