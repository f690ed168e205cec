package academy_test

import (
	"errors"
	"reflect"
	"slices"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/greenside"
	"fringework/domain/practice"
)

// adas is a left-hander's bag.
var adas = greenside.Bag{Hand: greenside.LeftHanded, Clubs: []greenside.Club{{Name: "Set wedge", LoftDeg: 45}, {Name: "Fifty", LoftDeg: 50.5}, {Name: "Lofty", LoftDeg: 59}}}

// land is what a session says of balls that stop twice as far away as they land.
func (h *fixture) land(id domain.ID, at time.Time, g greenside.Green, club greenside.Club, lie greenside.Lie, balls int) {
	h.t.Helper()
	s := practice.Session{ID: id, Student: ada, StartedAt: at, Revision: 1, Green: g}
	for range balls {
		s.Landings = append(s.Landings, practice.Landing{Club: club.Name, LoftDeg: club.LoftDeg, Lie: lie, Carry: 9 * domain.Metre, Total: 18 * domain.Metre, Aim: 9 * domain.Metre})
	}
	must(h.practice.Put(ctx, domaintest.AsAda, s))(h.t)
}

func TestBag(t *testing.T) {
	h := open(t)
	bags := h.mem.Bags()
	own := must(bags.Of(ctx, coach, ada))(t)
	if own.Set || own.Hand != greenside.RightHanded || len(own.Clubs) != 0 || len(own.Spots) != len(greenside.UsualClubs()) {
		t.Errorf("without a bag: %+v", own)
	}
	if own = must(bags.Put(ctx, domaintest.AsAda, ada, adas))(t); !own.Set || !reflect.DeepEqual(own.Bag, adas) || len(own.Spots) != 3 {
		t.Errorf("set: %+v", own)
	}
	events := len(h.mem.Events(hollow))
	must(bags.Put(ctx, coach, ada, adas))(t)
	if n := len(h.mem.Events(hollow)); n != events {
		t.Errorf("setting the same bag again writes %d events", n-events)
	}
	if e := h.mem.Events(hollow)[events-1]; e.Kind != "bag.changed" || e.Student != ada || e.Data["hand"] != greenside.LeftHanded {
		t.Errorf("the log has %+v", e)
	}
	if _, err := bags.Put(ctx, coach, ada, greenside.Bag{}); domain.KindOf(err) != domain.Invalid {
		t.Errorf("a bag without a hand: %v", err)
	}
	if _, err := bags.Put(ctx, coach2, ada, adas); domain.KindOf(err) != domain.NotFound {
		t.Errorf("another coach sets it: %v", err)
	}
	if _, err := bags.Of(ctx, domaintest.AsBen, ada); domain.KindOf(err) == 0 && err == nil {
		t.Error("another student reads it")
	}
}

// TestBagLearns: what is told of a club is of the balls struck with it from that lie,
// on all greens, for the spot and the green of the last.
func TestBagLearns(t *testing.T) {
	h := open(t)
	bags := h.mem.Bags()
	lofty := adas.Clubs[2]
	slow, fast := greenside.Green{StimpFt: 7}, greenside.Green{StimpFt: 11, SlopeDeg: -1}
	h.land("l1", now.Add(-48*time.Hour), fast, lofty, greenside.Fairway, 1)
	h.land("l2", now.Add(-24*time.Hour), slow, greenside.Club{Name: "Old", LoftDeg: 58}, greenside.Fairway, 14)
	h.land("l3", now.Add(-23*time.Hour), slow, greenside.Club{Name: "Set", LoftDeg: 45}, greenside.Sand, 2)
	own := must(bags.Put(ctx, domaintest.AsAda, ada, adas))(t)
	var told []string
	for _, s := range own.Spots {
		told = append(told, s.Club.Name+" "+string(s.Lie)+": "+s.Text())
	}
	want := []string{
		"Set wedge fairway: ", "Set wedge sand: " + own.Spots[1].Text(), "Fifty fairway: ", "Lofty fairway: " + own.Spots[3].Text(),
	}
	if !slices.Equal(told, want) {
		t.Errorf("told %q; want %q", told, want)
	}
	s := own.Spots[3]
	if s.Learned.Run.Balls != 15 || s.Last.Green != slow || s.Last.Spot.CarryM() < 8.99 || s.Last.Spot.CarryM() > 9.01 || s.Last.Spot.RunM < 8 || s.Last.Spot.RunM > 10 {
		t.Errorf("learned %+v", s)
	}
	if text := s.Text(); text != "Land it 10 paces away; it then rolls 9 paces. From 15 balls." {
		t.Errorf("says %q", text)
	}
}

func TestClubSpotText(t *testing.T) {
	spot := func(carry, run float64, balls int) academy.ClubSpot {
		s := academy.ClubSpot{Learned: greenside.Learned{Run: greenside.Belief{Balls: balls}}}
		s.Last.Spot.Shot.CarryM, s.Last.Spot.RunM = carry, run
		return s
	}
	for want, s := range map[string]academy.ClubSpot{
		"": {},
		"Land it 6 paces away; it then rolls 1 pace. From 1 ball.":         spot(5.4, 0.9, 1),
		"Land it 20 paces away; it then comes back 2 paces. From 2 balls.": spot(18, -1.9, 2),
		"Land it 1 pace away; it then rolls 0 paces. From 3 balls.":        spot(0.8, 0, 3),
	} {
		if got := s.Text(); got != want {
			t.Errorf("says %q; want %q", got, want)
		}
	}
}

// stations plays a block of stations with named wedges and a putter.
func (h *fixture) stations() {
	h.t.Helper()
	c := domaintest.Programme(h.pitch.ID, h.chip.ID)
	for w := range c.Weeks {
		b := &c.Weeks[w].Plans[0].Blocks[1]
		b.Kind = curriculum.Stations
		b.Drill = curriculum.Drill{Text: "Left foot forward.", Lies: []string{"light rough", "fringe", "fairway"}, Clubs: []string{"low wedge", "high wedge", "putter", "60°"}, Radius: domain.Metre}
		c.Weeks[w].Plans[0].Blocks[2].Drill.Clubs = []string{"46° wedge", "nine"}
	}
	p := must(h.curriculum.CreateProgramme(ctx, coach, c))(h.t)
	must(h.curriculum.Publish(ctx, coach, p.ID, 0))(h.t)
	must(h.people.Assign(ctx, coach, academy.AssignRequest{Programme: p.ID, Version: 1, Students: []domain.ID{ada}, Start: may(4)}))(h.t)
}

func TestNowWithOwnClubs(t *testing.T) {
	h := open(t)
	h.stations()
	n := must(h.reading.Now(ctx, domaintest.AsAda, ada))(t)
	if n.Hand != greenside.RightHanded || len(n.Stations) != 6 || n.Stations[0].Club != (greenside.Club{Name: "low wedge", LoftDeg: 48}) {
		t.Errorf("without a bag: %s, %d stations, %+v", n.Hand, len(n.Stations), n.Stations)
	}
	if d := n.Work[0].Week.Plans[0].Blocks[1].Drill; d.Clubs[0] != "low wedge" || d.Text != "Left foot forward." {
		t.Errorf("without a bag: %+v", d)
	}
	must(h.mem.Bags().Put(ctx, coach, ada, adas))(t)
	h.land("l1", now.Add(-24*time.Hour), greenside.Green{StimpFt: 9}, adas.Clubs[0], greenside.Rough, 3)
	n = must(h.reading.Now(ctx, domaintest.AsAda, ada))(t)
	d := n.Work[0].Week.Plans[0].Blocks[1].Drill
	if !slices.Equal(d.Clubs, []string{"Set wedge", "Lofty", "putter"}) || d.Text != "Right foot forward." || n.Hand != greenside.LeftHanded {
		t.Errorf("with a bag: %s, %+v", n.Hand, d)
	}
	var got []string
	for _, s := range n.Stations {
		got = append(got, s.Club.Name+" "+string(s.Lie))
		if len(s.Table.CarryM) < 5 || (s.Learned.Run.Balls == 3) != (s.Club == adas.Clubs[0] && s.Lie == greenside.Rough) {
			t.Errorf("%s from %s: learned %+v, a table of %v", s.Club.Name, s.Lie, s.Learned, s.Table.CarryM)
		}
	}
	if want := []string{"Set wedge rough", "Lofty rough", "Set wedge fairway", "Lofty fairway"}; !slices.Equal(got, want) {
		t.Errorf("stations %q; want %q", got, want)
	}
	w := n.Work[0]
	deck := n.Deck(w, 1, 1, 3)
	if len(deck) == 0 || slices.ContainsFunc(deck, func(t curriculum.Stop) bool { return t.Club != "Set wedge" && t.Club != "nine" }) {
		t.Errorf("dealt %+v", deck)
	}
	// What is published stays as it is written.
	if d := w.Version.Content.Weeks[0].Plans[0].Blocks[1].Drill; d.Clubs[0] != "low wedge" {
		t.Errorf("the version says %+v", d)
	}
}

func TestBagFaults(t *testing.T) {
	h := open(t)
	h.stations()
	bags := h.mem.Bags()
	other := greenside.Bag{Hand: greenside.RightHanded}
	for what, do := range map[string]func() error{
		"Of":  func() error { return failure(bags.Of(ctx, coach, ada)) },
		"Put": func() error { return failure(bags.Put(ctx, coach, ada, other)) },
		"Now": func() error { return failure(h.reading.Now(ctx, coach, ada)) },
	} {
		must(bags.Put(ctx, coach, ada, adas))(t)
		failed := 0
		for n := 1; ; n++ {
			h.mem.FailAt(n)
			err := do()
			calls := h.mem.Calls()
			h.mem.FailAt(0)
			if n > calls {
				break
			}
			if failed++; !errors.Is(err, domaintest.ErrFault) {
				t.Errorf("%s: call %d of %d failed and gave %v", what, n, calls, err)
			}
		}
		if failed < 3 {
			t.Errorf("%s made %d calls", what, failed)
		}
	}
}
