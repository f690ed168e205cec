package academy

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/greenside"
	"fringework/domain/progress"
)

// Bagging reads a student's own clubs, and what their balls did on the green.
type Bagging interface {
	// Bag gives a student's bag, which is zero where none was set.
	Bag(ctx context.Context, student domain.ID) (greenside.Bag, error)
	// Landed gives the balls of which a student said where they landed, from so many
	// of the latest sessions that have such, the latest session first.
	Landed(ctx context.Context, student domain.ID, sessions int) ([]greenside.Landed, error)
}

// BagStore keeps bags, one for each student.
type BagStore interface {
	domain.EventLog
	Viewing
	Bagging
	SaveBag(ctx context.Context, student domain.ID, b greenside.Bag) error
}

// BagService is what can be done with a student's own clubs.
type BagService struct {
	Store domain.Transactor[BagStore]
	Env   domain.Env
}

// OwnBag is a student's clubs with what was learned of each.
type OwnBag struct {
	// Bag is as it was set; its Clubs are empty where none were.
	greenside.Bag
	// Set says whether it was.
	Set bool
	// Spots are of the clubs of the bag, or of the usual ones.
	Spots []ClubSpot
}

// ClubSpot is what is known of a student's balls with a club from a lie.
type ClubSpot struct {
	Club greenside.Club
	Lie  greenside.Lie
	// Learned is nothing until balls were logged.
	Learned greenside.Learned
	// Last is where the last such ball was to land, and on which green; its Spot is
	// what is now expected of the next one there. It is zero without a logged ball.
	Last Lately
}

// Lately is the landing spot that a student practised last.
type Lately struct {
	Green greenside.Green
	Spot  greenside.Spot
}

// learnSessions is from how many sessions a spot is learned (our choice: a season of
// two sessions a week, in which a swing may change).
const learnSessions = 40

// sameLoftDeg is within how many degrees two clubs count as one whose balls are learned
// from together.
const sameLoftDeg = 1.0

// Of reads the clubs of a student whom the actor may see, with what was learned of
// those from each lie that balls were logged from, and from the fairway.
func (s BagService) Of(ctx context.Context, a domain.Actor, student domain.ID) (own OwnBag, err error) {
	err = s.Store.Read(ctx, a.Academy, func(tx BagStore) (err error) {
		own, err = readBag(ctx, tx, a, student)
		return err
	})
	return own, err
}

func readBag(ctx context.Context, tx BagStore, a domain.Actor, student domain.ID) (own OwnBag, err error) {
	if _, err = Student(ctx, tx, a, student); err != nil {
		return own, err
	}
	if own.Bag, err = tx.Bag(ctx, student); err != nil {
		return own, err
	}
	landed, err := tx.Landed(ctx, student, learnSessions)
	own.Set = own.Hand != ""
	for _, c := range own.Played() {
		for _, lie := range greenside.StruckLies() {
			if spot := spotOf(c, lie, landed); lie == greenside.Fairway || spot.Learned.Run.Balls > 0 {
				own.Spots = append(own.Spots, spot)
			}
		}
	}
	own.Hand = cmp.Or(own.Hand, greenside.RightHanded)
	return own, err
}

// spotOf learns a club's spot from the balls that were struck with it from a lie, the
// latest first.
func spotOf(c greenside.Club, lie greenside.Lie, landed []greenside.Landed) ClubSpot {
	var balls []greenside.Landed
	for _, b := range landed {
		if b.Lie == lie && math.Abs(b.LoftDeg-c.LoftDeg) <= sameLoftDeg {
			balls = append(balls, b)
		}
	}
	spot := ClubSpot{Club: c, Lie: lie, Learned: greenside.LearnFrom(balls)}
	if spot.Learned.Run.Balls == 0 {
		return spot
	}
	last := balls[0]
	at := last.AimM
	if at == 0 {
		at = last.CarryM
	}
	expected, err := greenside.Carrying(greenside.Setup{LoftDeg: c.LoftDeg, Lie: lie, Green: last.Green, Own: spot.Learned}, at)
	if err == nil {
		spot.Last = Lately{Green: last.Green, Spot: expected}
	}
	return spot
}

// Put sets a student's clubs, whole.
func (s BagService) Put(ctx context.Context, a domain.Actor, student domain.ID, b greenside.Bag) (own OwnBag, err error) {
	var p domain.Problems
	b.Check(&p)
	if err := p.Err("bag_invalid", "The clubs were not saved."); err != nil {
		return OwnBag{}, err
	}
	err = s.Store.Write(ctx, a.Academy, func(tx BagStore) error {
		before, err := readBag(ctx, tx, a, student)
		if err != nil {
			return err
		}
		if before.Set && before.Hand == b.Hand && slices.Equal(before.Clubs, b.Clubs) {
			own = before
			return nil
		}
		if err := tx.SaveBag(ctx, student, b); err != nil {
			return err
		}
		e := a.Event(s.Env.Now(), "bag.changed", student, student, map[string]any{"hand": b.Hand, "clubs": bagRecord(b)})
		if err := tx.Record(ctx, e); err != nil {
			return err
		}
		own, err = readBag(ctx, tx, a, student)
		return err
	})
	return own, err
}

func bagRecord(b greenside.Bag) []map[string]any {
	clubs := make([]map[string]any, len(b.Clubs))
	for i, c := range b.Clubs {
		clubs[i] = map[string]any{"name": c.Name, "loft_deg": c.LoftDeg}
	}
	return clubs
}

// ownWeeks gives weeks as a student plays them, with their own clubs and the words for
// their hand.
func ownWeeks(b greenside.Bag, weeks []curriculum.Week) []curriculum.Week {
	if b.Hand == "" {
		return weeks
	}
	weeks = slices.Clone(weeks)
	for i := range weeks {
		w := &weeks[i]
		w.Text, w.Plans = b.Words(w.Text), slices.Clone(w.Plans)
		for j := range w.Plans {
			w.Plans[j].Blocks = slices.Clone(w.Plans[j].Blocks)
			for k := range w.Plans[j].Blocks {
				d := &w.Plans[j].Blocks[k].Drill
				*d = ownDrill(b, *d)
			}
		}
	}
	return weeks
}

// ownDrill names the student's own clubs, and a left-hander's hands and feet.
func ownDrill(b greenside.Bag, d curriculum.Drill) curriculum.Drill {
	if b.Hand != "" {
		d.Text, d.Clubs = b.Words(d.Text), b.Names(d.Clubs)
	}
	return d
}

// carry has the student play with their own clubs.
func (n *Now) carry(ctx context.Context, tx ReadStore, states []progress.State) error {
	b, err := tx.Bag(ctx, n.Student.ID)
	if err != nil {
		return err
	}
	var landed []greenside.Landed
	if len(n.near(curriculum.Stations)) > 0 {
		if landed, err = tx.Landed(ctx, n.Student.ID, learnSessions); err != nil {
			return err
		}
	}
	if n.Stations, err = n.stations(b, landed); err != nil {
		return err
	}
	n.Hand = cmp.Or(b.Hand, greenside.RightHanded)
	n.Tests = n.testsDue(states, b)
	for i := range n.Work {
		w := &n.Work[i]
		w.Weeks = ownWeeks(b, w.Weeks)
		if w.Week != nil {
			w.Week = &w.Weeks[w.Position.Week-1]
		}
	}
	return nil
}

// Station is a club that a block of stations is played with from a lie, for a page
// without a network.
type Station struct {
	ClubSpot
	Table greenside.Table
}

// stations lists what blocks of stations in the present week and the next are played
// with, each once: the student's clubs that have a loft, from each lie.
func (n Now) stations(b greenside.Bag, landed []greenside.Landed) (all []Station, err error) {
	for _, block := range n.near(curriculum.Stations) {
		for _, lie := range liesOf(block.Drill) {
			for _, c := range b.Owned(block.Drill.Clubs) {
				if c.LoftDeg == 0 || slices.ContainsFunc(all, func(s Station) bool { return s.Club == c && s.Lie == lie }) {
					continue
				}
				s := Station{ClubSpot: spotOf(c, lie, landed)}
				if s.Table, err = greenside.TableOf(c.LoftDeg, lie); err != nil {
					return nil, err
				}
				all = append(all, s)
			}
		}
	}
	return all, nil
}

// liesOf lists the sorts of lie that a drill has, each once; fairway where it has none.
func liesOf(d curriculum.Drill) []greenside.Lie {
	if len(d.Lies) == 0 {
		return []greenside.Lie{greenside.Fairway}
	}
	var lies []greenside.Lie
	for _, words := range d.Lies {
		if lie := greenside.LieOf(words); !slices.Contains(lies, lie) {
			lies = append(lies, lie)
		}
	}
	return lies
}

// near lists the blocks of a kind in the present week and in the next.
func (n Now) near(kind curriculum.BlockKind) (blocks []curriculum.Block) {
	for _, w := range n.Work {
		for _, week := range w.Weeks[max(0, w.Position.Week-1):min(len(w.Weeks), w.Position.Week+1)] {
			for _, p := range week.Plans {
				for _, b := range p.Blocks {
					if b.Kind == kind {
						blocks = append(blocks, b)
					}
				}
			}
		}
	}
	return blocks
}

// Text tells in paces where the student's next ball is to land, and what it then does;
// empty before a ball was logged.
func (s ClubSpot) Text() string {
	at := s.Last.Spot
	if at.CarryM() == 0 {
		return ""
	}
	then := "it then rolls " + paces(at.RunM)
	if at.RunM < 0 {
		then = "it then comes back " + paces(-at.RunM)
	}
	balls := "1 ball"
	if n := s.Learned.Run.Balls; n != 1 {
		balls = fmt.Sprintf("%d balls", n)
	}
	return fmt.Sprintf("Land it %s away; %s. From %s.", paces(at.CarryM()), then, balls)
}

func paces(metres float64) string {
	if n := math.Round(metres / greenside.PaceM); n != 1 {
		return fmt.Sprintf("%.0f paces", n)
	}
	return "1 pace"
}
