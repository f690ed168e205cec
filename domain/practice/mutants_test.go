package practice_test

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// TestSessionAtItsBounds: each bound is accepted and one past it refused. The
// bounds are the programme's own choice.
func TestSessionAtItsBounds(t *testing.T) {
	long := now.Add(-16 * time.Hour)
	for _, c := range []struct {
		what   string
		change func(s *practice.Session, past int)
		want   string
	}{
		{"revision", func(s *practice.Session, past int) { s.Revision = 1<<30 + past }, "/revision"},
		{"earliest start", func(s *practice.Session, past int) {
			s.StartedAt, s.EndedAt = time.Date(2000, 1, 1, 0, 0, 0, -past, time.UTC), time.Time{}
		}, "/started_at"},
		{"latest start", func(s *practice.Session, past int) {
			s.StartedAt, s.EndedAt = now.Add(5*time.Minute+time.Duration(past)), time.Time{}
		}, "/started_at"},
		{"no length", func(s *practice.Session, past int) { s.EndedAt = s.StartedAt.Add(-time.Duration(past)) }, "/ended_at"},
		{"longest", func(s *practice.Session, past int) { s.StartedAt, s.EndedAt = long, now.Add(time.Duration(past)) }, "/ended_at"},
		{"latest end", func(s *practice.Session, past int) { s.EndedAt = now.Add(5*time.Minute + time.Duration(past)) }, "/ended_at"},
		{"note", func(s *practice.Session, past int) { s.Note = strings.Repeat("é", 4000+past) }, "/note"},
		{"club", func(s *practice.Session, past int) { s.Blocks[0].Balls[0].Club = strings.Repeat("é", 60+past) }, "/blocks/0/balls/0/club"},
		{"lie", func(s *practice.Session, past int) { s.Blocks[0].Balls[0].Lie = strings.Repeat("é", 60+past) }, "/blocks/0/balls/0/lie"},
		{"week", func(s *practice.Session, past int) { s.Assignment, s.Week, s.Plan = "as", 1-past, 1 }, "/week"},
		{"plan", func(s *practice.Session, past int) { s.Assignment, s.Week, s.Plan = "as", 1, 1-past }, "/week"},
		{"a plan alone", func(s *practice.Session, past int) { s.Plan = past }, "/assignment_id"},
		{"a week alone", func(s *practice.Session, past int) { s.Week = past }, "/assignment_id"},
		{"a version alone", func(s *practice.Session, past int) { s.Version = past }, "/assignment_id"},
		{"blocks", func(s *practice.Session, past int) { s.Blocks = slices.Repeat(s.Blocks, 24+past) }, "/blocks"},
		{"balls", func(s *practice.Session, past int) {
			s.Blocks = append(s.Blocks, s.Blocks[0])
			s.Blocks[1].Balls = slices.Repeat(balls("i"), 1998+past)
		}, "/blocks"},
		{"block of the plan", func(s *practice.Session, past int) { s.Blocks[0].PlanBlock = 24 + past }, "/blocks/0/plan_block"},
		{"no block of the plan", func(s *practice.Session, past int) { s.Blocks[0].PlanBlock = 0 - past }, "/blocks/0/plan_block"},
		{"no time", func(s *practice.Session, past int) { s.Blocks[0].Seconds = 0 - past }, "/blocks/0/seconds"},
		{"most time", func(s *practice.Session, past int) { s.Blocks[0].Seconds = 4*3600 + past }, "/blocks/0/seconds"},
		{"smallest radius", func(s *practice.Session, past int) { s.Blocks[0].Radius = domain.Metre/10 - domain.Length(past) }, "/blocks/0/radius_m"},
		{"largest radius", func(s *practice.Session, past int) { s.Blocks[0].Radius = 30*domain.Metre + domain.Length(past) }, "/blocks/0/radius_m"},
		{"no distance", func(s *practice.Session, past int) { s.Blocks[0].Balls[1].Distance = domain.Length(-past) }, "/blocks/0/balls/1/distance_m"},
		{"farthest", func(s *practice.Session, past int) {
			s.Blocks[0].Balls[1].Distance = 100*domain.Metre + domain.Length(past)
		}, "/blocks/0/balls/1/distance_m"},
		{"a ball in order", func(s *practice.Session, past int) {
			s.Blocks[0].Balls[0].After, s.Blocks[0].Balls[1].After = 9*time.Second, 9*time.Second-time.Duration(past)
		}, "/blocks/0/balls/1/after_s"},
		{"the latest ball", func(s *practice.Session, past int) {
			s.StartedAt, s.EndedAt = long, time.Time{}
			s.Blocks[0].Balls[0].After = 16*time.Hour + time.Duration(past)
		}, "/blocks/0/balls/0/after_s"},
		{"a ball of just now", func(s *practice.Session, past int) {
			s.EndedAt, s.Blocks[0].Balls[0].After = time.Time{}, 2*time.Hour+5*time.Minute+time.Duration(past)
		}, "/blocks/0/balls/0/after_s"},
		{"a ball after the end", func(s *practice.Session, past int) {
			s.Blocks[0].Balls[0].After = time.Hour + 5*time.Minute + time.Duration(past)
		}, "/blocks/0/balls/0/after_s"},
		{"balls on a card", card(func(a *progress.Attested, past int) { a.Balls = 2000 + past }), "/blocks/0/attested/balls"},
		{"none on a card", card(func(a *progress.Attested, past int) { *a = progress.Attested{Balls: -past} }), "/blocks/0/attested/balls"},
		{"none inside", card(func(a *progress.Attested, past int) { *a = progress.Attested{Balls: 20, Inside: -past} }), "/blocks/0/attested/inside"},
		{"all inside", card(func(a *progress.Attested, past int) { a.Inside = 20 + past }), "/blocks/0/attested/inside"},
		{"none holed", card(func(a *progress.Attested, past int) { a.Holed = -past }), "/blocks/0/attested/holed"},
		{"all holed", card(func(a *progress.Attested, past int) { a.Holed = 12 + past }), "/blocks/0/attested/holed"},
		{"no run", card(func(a *progress.Attested, past int) { a.BestRun = -past }), "/blocks/0/attested/best_run"},
		{"all one run", card(func(a *progress.Attested, past int) { a.BestRun = 12 + past }), "/blocks/0/attested/best_run"},
		{"a card beside balls, which are not judged", func(s *practice.Session, past int) {
			s.Blocks[0].Attested = &progress.Attested{Balls: 20}
			s.Blocks[0].Balls = make([]practice.Ball, past)
			for i := range s.Blocks[0].Balls {
				s.Blocks[0].Balls[i].Outcome = streak.Holed + 1
			}
		}, "/blocks/0/attested"},
	} {
		for past := range 2 {
			s := session("s", 1, block(curriculum.Test, "p", "oi"))
			c.change(&s, past)
			var got []string
			for _, f := range domain.FieldsOf(s.Check(now)) {
				got = append(got, f.Pointer)
			}
			if want := []string{c.want}[:past]; !slices.Equal(got, want) {
				t.Errorf("%s, %d past the bound: problems at %v, want %v", c.what, past, got, want)
			}
		}
	}
}

// card makes a session with a card of twenty balls, twelve of them inside.
func card(change func(a *progress.Attested, past int)) func(s *practice.Session, past int) {
	return func(s *practice.Session, past int) {
		a := progress.Attested{Balls: 20, Inside: 12, Holed: 2, BestRun: 7}
		change(&a, past)
		s.Blocks[0].Balls, s.Blocks[0].Attested = nil, &a
	}
}

// TestFingerprintReadsWords: words of one length are told apart.
func TestFingerprintReadsWords(t *testing.T) {
	a, b := session("s", 1), session("s", 1)
	a.Note, b.Note = "calm", "wind"
	if a.Fingerprint() == b.Fingerprint() {
		t.Error("two notes of four letters have one fingerprint")
	}
}

// TestNoticesInOrder: the skill with the most balls unmeasured comes first;
// the first block of a plan that is not there is told.
func TestNoticesInOrder(t *testing.T) {
	h := open(t)
	narrow := func(skill domain.ID, outcomes string) practice.Block {
		b := block(curriculum.Test, skill, outcomes)
		b.Radius = 4 * domain.Metre // in at four metres says nothing about the ladders' feet
		return b
	}
	got := h.put(ada, session("s", 1, narrow(h.pitch, "ii"), narrow(h.chip, "iii")))
	var told []string
	for _, n := range got.Notices {
		told = append(told, n.Code+" "+n.Detail[:60])
	}
	want := []string{"unmeasured", "3 balls", "unmeasured", "2 balls"}
	if len(got.Notices) != 2 {
		t.Fatalf("got %v, want two notices", told)
	}
	for i, n := range got.Notices {
		if n.Code != want[2*i] || !strings.Contains(n.Detail, want[2*i+1]) {
			t.Errorf("notice %d: got %+v, want %s of %s", i, n, want[2*i], want[2*i+1])
		}
	}
	s := session("t", 1, block(curriculum.Test, h.pitch, "iiiiiiiiii"))
	s.StartedAt, s.EndedAt = s.StartedAt.Add(-24*time.Hour), s.EndedAt.Add(-24*time.Hour)
	s.Assignment, s.Week, s.Plan, s.Blocks[0].PlanBlock = h.work, 40, 1, 1
	if got := h.put(ada, s).Notices; len(got) != 1 || got[0].Code != "plan_missing" {
		t.Errorf("the first block of a plan that is not there: got %+v, want plan_missing", got)
	}
}

// TestRenew: whatever was kept, from then on it is what the log implies; a
// store that fails stops it.
func TestRenew(t *testing.T) {
	h := open(t)
	h.put(ada, session("s", 1, block(curriculum.Test, h.pitch, "oii")))
	good := h.kept(adaID)
	r := practice.Rebuilder{Store: h.mem.Rebuilding(), Env: h.mem.Env()}
	spoil := func() {
		t.Helper()
		err := h.mem.Doctor(hollow, func(tx practice.RebuildStore) error {
			return tx.ReplaceKept(ctx, adaID, practice.Kept{Habit: progress.Habit{Student: adaID, Sessions: 5}})
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	spoil()
	// Ada, Ben, June and Gil, who left.
	if n, err := r.Renew(ctx, hollow); n != 4 || err != nil {
		t.Errorf("renewed %d students, %v, want 4", n, err)
	}
	if got := h.kept(adaID); !reflect.DeepEqual(got, good) {
		t.Errorf("renewed to %+v\nwant %+v", got, good)
	}
	if n, err := r.Renew(ctx, "nowhere"); n != 0 || domain.KindOf(err) != domain.NotFound {
		t.Errorf("an academy that is not there: got %d, %v", n, err)
	}
	err := domaintest.EveryFault(t, h.mem, hollow, func() error {
		n, err := r.Renew(ctx, hollow)
		if err != nil && n != 0 {
			t.Errorf("%d students renewed besides %v", n, err)
		}
		return err
	})
	if err != nil {
		t.Error(err)
	}
}

// TestRecomputeOfAnyOrder: sessions come in any order and stay in it; what is
// kept is in its own.
func TestRecomputeOfAnyOrder(t *testing.T) {
	card := block(curriculum.Technique, "pitch", "")
	card.Attested = &progress.Attested{Balls: 12}
	late, early := session("a", 1, card), session("b", 1, card)
	early.StartedAt = early.StartedAt.Add(-time.Hour)
	late.Assignment, early.Assignment = "first", "second"
	given := []practice.Session{late, early}
	for range 20 { // what is counted comes out of a map
		k := practice.Recompute(adaID, given, nil)
		want := []practice.AssignmentCount{{Assignment: "first", Sessions: 1}, {Assignment: "second", Sessions: 1}}
		if !slices.Equal(k.Counts, want) {
			t.Fatalf("got counts %+v, want %+v", k.Counts, want)
		}
	}
	if given[0].ID != "a" || given[1].ID != "b" {
		t.Error("the sessions given were put in another order")
	}
}

// TestPutStandsAgain: a session that is sent stands, whatever it says of having
// been deleted.
func TestPutStandsAgain(t *testing.T) {
	h := open(t)
	s := session("s", 1, block(curriculum.Test, h.pitch, "i"))
	s.DeletedAt = now
	if got := h.put(ada, s).Session; got.Deleted() {
		t.Errorf("got %+v, want it stored", got)
	}
}

// TestFarBack: what a change needs of sessions that are no longer at hand is
// read: after each, what is kept is what the log implies.
func TestFarBack(t *testing.T) {
	h := openWith(t, streak.Ladder{Tiers: []streak.Tier{{Run: 4, Radius: ft5}, {Run: 6, Radius: ft5}}})
	agree := func(what string) {
		t.Helper()
		if _, found := h.rebuild(false); found != nil {
			t.Errorf("%s: %v", what, found)
		}
	}
	id := func(i int) domain.ID { return domain.ID(fmt.Sprintf("s-%02d", i)) }
	for i := range 40 { // one every three days, four months in all
		outcomes := "oiioi"
		if i == 3 || i == 30 {
			outcomes = "oiiiihiio"
		}
		s := session(id(i), 1, block(curriculum.Test, h.pitch, outcomes))
		s.StartedAt = s.StartedAt.AddDate(0, 0, 3*(i-39))
		s.EndedAt = s.StartedAt.Add(time.Hour)
		got := h.put(ada, s).Milestones
		switch i {
		case 3: // four in a row at the fifth ball, six at the seventh
			if len(got) != 2 || got[0].Ball != 5 || got[1].Ball != 7 {
				t.Errorf("got milestones %+v, want two, at the balls 5 and 7", got)
			}
		default:
			if len(got) != 0 {
				t.Errorf("session %d: got milestones %+v, want none", i, got)
			}
		}
	}
	agree("forty sessions")
	for _, i := range []int{3, 38, 30, 0, 39} {
		if err := h.s.Delete(ctx, ada, id(i), "", 2); err != nil {
			t.Fatal(err)
		}
		agree(fmt.Sprintf("without session %d", i))
	}
	s := session(id(38), 3, block(curriculum.Test, h.pitch, "iiiiii"))
	s.StartedAt = s.StartedAt.AddDate(0, 0, -3)
	s.EndedAt = s.StartedAt.Add(time.Hour)
	h.put(ada, s)
	agree("with session 38 again")
	if k := h.kept(adaID); k.Habit.Sessions != 36 {
		t.Errorf("%d sessions are kept, want 36", k.Habit.Sessions)
	}
}
