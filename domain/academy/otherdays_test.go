package academy_test

import (
	"fmt"
	"reflect"
	"slices"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/greenside"
	"fringework/domain/practice"
)

// TestOtherDays: a left-hander's own clubs are in each version and in what to bring; tasks
// are dealt for each apart, go on after a session by it, and leave the plan's as they
// were. Where there is no green there is no walk around a hole.
func TestOtherDays(t *testing.T) {
	h := open(t)
	c := domaintest.Programme(h.pitch.ID, h.chip.ID)
	for i := range c.Weeks[0].Plans[0].Blocks {
		c.Weeks[0].Plans[0].Blocks[i].Drill.Clubs = []string{"sand wedge", "pitching wedge"}[:1+i/2%2]
	}
	h.programme = must(h.curriculum.CreateProgramme(ctx, coach, c))(t).ID
	h.publish()
	as := h.assign(ada, 4)
	bags := h.mem.Bags()
	must(bags.Put(ctx, domaintest.AsAda, ada, greenside.Bag{Hand: greenside.LeftHanded, Clubs: []greenside.Club{{Name: "My 47", LoftDeg: 47}, {Name: "My 57", LoftDeg: 57}, {Name: "My 63", LoftDeg: 63}}}))(t)
	read := func() (n academy.Now, days map[string]academy.OtherDay) {
		n = must(h.reading.Now(ctx, domaintest.AsAda, ada))(t)
		days = map[string]academy.OtherDay{}
		for _, d := range n.OtherDays(n.Work[0], 1, 1) {
			days[fmt.Sprint(d.Variant, d.Surface)] = d
		}
		return n, days
	}
	n, days := read()
	if len(days) != len(curriculum.Days()) {
		t.Fatalf("%d versions of an hour, want %d", len(days), len(curriculum.Days()))
	}
	plan := n.Work[0].Weeks[0].Plans[0]
	usual := n.Deck(n.Work[0], 1, 1, 3)
	mat := days["closed_greenmat"]
	if mat.Plan.Blocks[2].Kind != curriculum.Random || len(mat.Decks[2]) == 0 || mat.Decks[0] != nil || !slices.Equal(mat.Kit.Clubs, []string{"My 57", "My 47"}) {
		t.Fatalf("on a mat: %+v", mat)
	}
	for _, stop := range mat.Decks[2] {
		if stop.Hour != 12 || stop.Walk != 0 || stop.Lie != "mat" {
			t.Errorf("a walk off the green: %+v", stop)
		}
	}
	if kit := n.Work[0].Kit(1, 1); kit.Balls != 12 || kit.Towel || !slices.Equal(kit.Clubs, []string{"My 57", "My 47"}) {
		t.Errorf("to bring for the plan: %+v", kit)
	}
	if kit := days["rain"].Kit; !kit.Towel {
		t.Errorf("to bring in rain: %+v", kit)
	}
	if got := mat.Plan.Minutes; got != plan.Minutes {
		t.Errorf("%d minutes on a mat, want %d", got, plan.Minutes)
	}

	s := practice.Session{ID: "s1", Student: ada, StartedAt: now.Add(-time.Hour), EndedAt: now, TimeZone: "UTC", Revision: 1, Assignment: as.ID, Week: 1, Plan: 1}
	s.Variant, s.Surface = mat.Variant, mat.Surface
	s.Blocks = []practice.Block{{PlanBlock: 3, Kind: curriculum.Random, Skill: h.pitch.ID, Radius: domain.Metre, Seconds: 600, Balls: make([]practice.Ball, 5)}}
	must(h.practice.Put(ctx, owner, s))(t)
	after, later := read()
	if !reflect.DeepEqual(after.Deck(after.Work[0], 1, 1, 3), usual) {
		t.Error("the plan is dealt anew after a session by its version")
	}
	for i, stop := range later["closed_greenmat"].Decks[2][:10] {
		if stop.Task != mat.Decks[2][i+5].Task {
			t.Fatalf("task %d is %+v, want %+v", i, stop, mat.Decks[2][i+5])
		}
	}
}

// TestVersionsKeepAStudentHere: what a student does by a version of their plan counts as
// one of the week's sessions, on a carpet as well, so that nobody calls them lapsed; no step
// is passed, and what was played on a carpet is in no rate.
func TestVersionsKeepAStudentHere(t *testing.T) {
	for _, carpet := range []bool{false, true} {
		h := open(t)
		as := h.assign(ada, 1)
		day := curriculum.Day{Variant: curriculum.ShortHour}
		if carpet {
			day = curriculum.Day{Variant: curriculum.ClosedGreen, Surface: curriculum.OnCarpet}
		}
		s := practice.Session{ID: "s1", Student: ada, StartedAt: now.Add(-2 * time.Hour), EndedAt: now, TimeZone: "UTC", Revision: 1, Assignment: as.ID, Week: 1, Plan: 1, Variant: day.Variant, Surface: day.Surface}
		block := testBlock(h.pitch.ID, 40)
		block.Kind, block.PlanBlock = curriculum.Warmup, 1
		s.Blocks = []practice.Block{block}
		put := must(h.practice.Put(ctx, owner, s))(t)
		if !put.Session.Counts() || len(put.Milestones) != 0 {
			t.Errorf("carpet %v: counts %v, %d steps passed", carpet, put.Session.Counts(), len(put.Milestones))
		}
		n := must(h.reading.Now(ctx, domaintest.AsAda, ada))(t)
		if n.Work[0].Done.Sessions[1] != 1 || n.Skills[0].State.Held != 0 {
			t.Errorf("carpet %v: %v done, %d steps held", carpet, n.Work[0].Done, n.Skills[0].State.Held)
		}
		if off := n.Skills[0].State.Recent.Judged == 0; off != carpet {
			t.Errorf("carpet %v: %d balls in the rate", carpet, n.Skills[0].State.Recent.Judged)
		}
		for _, row := range h.dashboard(academy.DashboardFilter{Reason: advice.Lapsed}) {
			if row.Student.ID == ada {
				t.Errorf("carpet %v: called lapsed", carpet)
			}
		}
	}
}
