// Package course is play on the course: the shots around the green of a round,
// and what they tell of the short game there, by itself and beside practice.
package course

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"fringework/domain"
	"fringework/domain/greenside"
)

// Lie is where a ball lies before a shot, or after it.
type Lie = greenside.Lie

// The lies. Fairway stands for the fringe as well.
const (
	Fairway = greenside.Fairway
	Rough   = greenside.Rough
	Sand    = greenside.Sand
	Green   = greenside.OnGreen
)

// Shot is one shot around the green, not a putt.
type Shot struct {
	// Hole is that of the course, 1 to 18; 0 when it was not told. Shots of one
	// hole follow each other.
	Hole int
	Lie  Lie
	// Distance is to the hole, before the shot.
	Distance domain.Length
	Holed    bool
	// Left is the distance to the hole where the ball stopped, and LeftLie what it
	// stopped on; both are empty for a holed one.
	Left    domain.Length
	LeftLie Lie
	// Putts is how many putts it then took; 0 when that was not told.
	Putts int
}

// Round is the shots around the green of a round, whole, as one revision of it
// says.
type Round struct {
	// ID is made by the client, a UUIDv7.
	ID      domain.ID
	Student domain.ID
	// PlayedAt is when the round began, and TimeZone the IANA name of where.
	PlayedAt time.Time
	TimeZone string
	// Course is its name, and Note the student's own; both may be empty.
	Course string
	Note   string
	Shots  []Shot

	// Revision is the client's, from 1; the highest one stands.
	Revision int
	// DeletedAt is when a deletion, which is a revision as well, was stored.
	DeletedAt time.Time
	// By is who uploaded the revision that stands.
	By         domain.ID
	ReceivedAt time.Time
}

// Deleted reports whether the revision that stands is a deletion.
func (r Round) Deleted() bool { return !r.DeletedAt.IsZero() }

// Day is the local date on which the round began.
func (r Round) Day() domain.Date {
	zone, err := domain.Zone(r.TimeZone)
	if err != nil { // lost by the time zone database since it was stored
		zone = time.UTC
	}
	return domain.DateOf(r.PlayedAt, zone)
}

// Same reports whether a client said the same in both.
func (r Round) Same(other Round) bool {
	return r.Student == other.Student && r.PlayedAt.Equal(other.PlayedAt) && r.TimeZone == other.TimeZone && r.Course == other.Course &&
		r.Note == other.Note && r.Deleted() == other.Deleted() && slices.Equal(r.Shots, other.Shots)
}

// ExtendedBy reports whether next only adds shots to r, or a first note.
func (r Round) ExtendedBy(next Round) bool {
	if len(next.Shots) < len(r.Shots) || r.Note != "" && r.Note != next.Note {
		return false
	}
	next.Shots, next.Note = next.Shots[:len(r.Shots)], r.Note
	return r.Same(next)
}

// Bounds of a round: generous for a day of two rounds, finite for a machine.
const (
	maxHole     = 18
	maxShots    = 200
	maxPutts    = 9
	maxName     = 120
	maxNote     = 4000
	maxRevision = 1 << 30
	// clockSlack is how far a phone's clock may be ahead.
	clockSlack = 5 * time.Minute
)

// MaxDistance is how far from the hole a shot around the green is, at most.
const MaxDistance = 100 * domain.Metre

// Check tells everything wrong with a round as received at now.
func (r Round) Check(now time.Time) error {
	var p domain.Problems
	if r.Revision < 1 || r.Revision > maxRevision {
		p.Add("/revision", "is %d; count a round's uploads from 1, one more for each change, up to %d", r.Revision, maxRevision)
	}
	if !r.Deleted() {
		r.checkFrame(&p, now)
		r.checkShots(&p)
	}
	return p.Err("round_invalid", "The round was not saved. Keep it, correct it and send it again.")
}

func (r Round) checkFrame(p *domain.Problems, now time.Time) {
	switch {
	case r.PlayedAt.IsZero():
		p.Add("/started_at", "is missing; say when the round began")
	case r.PlayedAt.Year() < 2000:
		p.Add("/started_at", "is in the year %d; rounds are kept from 2000 on, so check the phone's clock", r.PlayedAt.Year())
	case r.PlayedAt.After(now.Add(clockSlack)):
		p.Add("/started_at", "is in the future; the phone's clock may be wrong: set it to the network's time and correct the start")
	}
	if _, err := domain.Zone(r.TimeZone); r.TimeZone == "" || err != nil {
		p.Add("/time_zone", "%q is not a time zone; use an IANA name such as Europe/Lisbon", r.TimeZone)
	}
	checkText(p, "/course", r.Course, maxName)
	checkText(p, "/note", r.Note, maxNote)
}

func checkText(p *domain.Problems, at, text string, longest int) {
	if n := len([]rune(text)); n > longest {
		p.Add(at, "has %d characters; at most %d fit", n, longest)
	}
	if strings.ContainsRune(text, 0) {
		p.Add(at, "contains a NUL character; remove it")
	}
}

func (r Round) checkShots(p *domain.Problems) {
	if len(r.Shots) > maxShots {
		p.Add("/shots", "there are %d shots; a round holds at most %d", len(r.Shots), maxShots)
		return
	}
	for i, s := range r.Shots {
		s.check(p, fmt.Sprintf("/shots/%d", i))
	}
}

func (s Shot) check(p *domain.Problems, at string) {
	if s.Hole < 0 || s.Hole > maxHole {
		p.Add(at+"/hole", "is %d; give the hole, 1 to %d, or leave it out", s.Hole, maxHole)
	}
	checkLie(p, at+"/lie", s.Lie, greenside.StruckLies(), "fairway (the fringe too), rough or sand")
	checkDistance(p, at+"/distance_m", s.Distance, "the distance to the hole, more than 0 and up to %v")
	if s.Holed {
		s.checkHoled(p, at)
		return
	}
	checkDistance(p, at+"/left_m", s.Left, "the distance left to the hole, more than 0 and up to %v, or \"holed\": true")
	checkLie(p, at+"/left_lie", s.LeftLie, greenside.Lies(), "green, fairway (the fringe too), rough or sand")
	switch {
	case s.Putts < 0 || s.Putts > maxPutts:
		p.Add(at+"/putts", "is %d; give the putts it then took, 1 to %d, or leave it out", s.Putts, maxPutts)
	case s.Putts > 0 && s.LeftLie != Green:
		p.Add(at+"/putts", "is given for a ball that is not on the green; log the next shot instead")
	}
}

// checkDistance holds a distance to more than 0 and MaxDistance; give says what to give,
// MaxDistance in it.
func checkDistance(p *domain.Problems, at string, d domain.Length, give string) {
	switch give := fmt.Sprintf(give, MaxDistance); {
	case d == 0:
		p.Add(at, "is missing or 0; give %s", give)
	case d < 0 || d > MaxDistance:
		p.Add(at, "is %v; give %s", d, give)
	}
}

// checkLie holds a lie to some; give says which to give.
func checkLie(p *domain.Problems, at string, lie Lie, of []Lie, give string) {
	switch {
	case lie == "":
		p.Add(at, "is missing; give %s", give)
	case !slices.Contains(of, lie):
		p.Add(at, "is %q; give %s", lie, give)
	}
}

func (s Shot) checkHoled(p *domain.Problems, at string) {
	if s.Left != 0 || s.LeftLie != "" || s.Putts != 0 {
		p.Add(at+"/holed", "is true, and a holed ball has no distance left; remove left_m, left_lie and putts")
	}
}

// Chance is a hole on which the student could get up and down: two shots, the
// first of them from around the green.
type Chance struct {
	// First is the shot that it began with.
	First Shot
	// Strokes is how many it took to hole out, the first counted; 0 when that is
	// not known. MoreThanTwo says that it took three or more, however many.
	Strokes     int
	MoreThanTwo bool
}

// Known reports whether it is known to have been taken or missed.
func (c Chance) Known() bool { return c.Strokes > 0 || c.MoreThanTwo }

// Saved reports whether it was got up and down, or holed at once.
func (c Chance) Saved() bool { return c.Strokes == 1 || c.Strokes == 2 }

// Chances gives the round's chances of an up and down, in order. Several shots
// at one hole are one chance, where each but the last missed the green.
func (r Round) Chances() []Chance {
	var all []Chance
	for i := 0; i < len(r.Shots); {
		n := 1
		for i+n < len(r.Shots) && r.Shots[i+n-1].leadsTo(r.Shots[i+n]) {
			n++
		}
		all = append(all, chanceOf(r.Shots[i:i+n]))
		i += n
	}
	return all
}

// leadsTo reports whether next is the shot after s at the same hole.
func (s Shot) leadsTo(next Shot) bool {
	return s.Hole > 0 && s.Hole == next.Hole && !s.Holed && s.LeftLie != Green
}

func chanceOf(shots []Shot) Chance {
	c := Chance{First: shots[0]}
	switch last := shots[len(shots)-1]; {
	case last.Holed:
		c.Strokes = len(shots)
	case last.Putts > 0:
		c.Strokes = len(shots) + last.Putts
	}
	c.MoreThanTwo = c.Strokes > 2 || c.Strokes == 0 && len(shots) > 1
	return c
}

// Tally counts the chances of an up and down of which it is known whether they
// were taken, and those that were.
type Tally struct {
	Rounds  int
	Chances int
	Saved   int
}

// TallyOf counts rounds.
func TallyOf(rounds ...Round) Tally {
	t := Tally{Rounds: len(rounds)}
	for _, r := range rounds {
		for _, c := range r.Chances() {
			if c.Known() {
				t.Chances++
			}
			if c.Saved() {
				t.Saved++
			}
		}
	}
	return t
}
