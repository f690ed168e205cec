package academy_test

import (
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/course"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/practice"
	"fringework/domain/streak"
)

// TestPlayedOut: by skill, by name; of a putt the places are on the green whatever the
// drill called them. A stranger sees nothing of it.
func TestPlayedOut(t *testing.T) {
	h := open(t)
	putts := must(h.curriculum.CreateSkill(ctx, coach, curriculum.Skill{Name: "A putt", Kind: curriculum.LagPutt, Ladder: domaintest.ChipLadder()}))(t)
	s := practice.Session{ID: "s1", Student: ada, StartedAt: now.Add(-time.Hour), EndedAt: now, TimeZone: "UTC", Revision: 1}
	for _, skill := range []domain.ID{h.chip.ID, putts.ID} {
		s.Blocks = append(s.Blocks, practice.Block{Kind: curriculum.Playout, Skill: skill, Radius: domain.Metre, Seconds: 600, Balls: []practice.Ball{
			{Outcome: streak.In, Strokes: 2, Lie: "rough", Distance: 9 * domain.Metre}, {Outcome: streak.Out, Strokes: 3, Lie: "uphill", Distance: 9 * domain.Metre},
		}})
	}
	must(h.practice.Put(ctx, owner, s))(t)
	r := must(h.reading.PlayedOut(ctx, domaintest.AsAda, ada))(t)
	if len(r.Skills) != 2 || r.Skills[0].Skill.ID != putts.ID || r.Skills[1].Skill.ID != h.chip.ID || r.Student.ID != ada {
		t.Fatalf("got %+v", r)
	}
	for i, lie := range []course.Lie{course.Green, course.Rough} {
		if p := r.Skills[i]; p.Outings[0].Places[0].Lie != lie || p.Places != 2 || p.Strokes != 5 || p.UpAndDown.Saved != 1 || p.First.Shots != 2 {
			t.Errorf("got %+v", p)
		}
	}
	if r := must(h.reading.PlayedOut(ctx, owner, ben))(t); len(r.Skills) != 0 {
		t.Errorf("of one who played out nothing: %+v", r.Skills)
	}
	if _, err := h.reading.PlayedOut(ctx, domaintest.AsBen, ada); domain.KindOf(err) != domain.NotFound {
		t.Errorf("another student: got %v, want not found", err)
	}
}

// TestDealsGoOn: the next session of a week is dealt what comes after the balls of the
// one before, and next week's plan from its beginning.
func TestDealsGoOn(t *testing.T) {
	h := open(t)
	as := must(h.people.Assign(ctx, owner, academy.AssignRequest{Programme: h.programme, Version: 1, Students: []domain.ID{ada}, Start: may(4)}))(t)[0]
	now0 := must(h.reading.Now(ctx, domaintest.AsAda, ada))(t)
	before := now0.Deck(now0.Work[0], 1, 1, 3)
	s := practice.Session{ID: "s1", Student: ada, StartedAt: now.Add(-time.Hour), EndedAt: now, TimeZone: "UTC", Revision: 1, Assignment: as.ID, Week: 1, Plan: 1}
	s.Blocks = []practice.Block{{PlanBlock: 3, Kind: curriculum.Random, Skill: h.pitch.ID, Radius: domain.Metre, Seconds: 600, Balls: make([]practice.Ball, 5)}}
	must(h.practice.Put(ctx, owner, s))(t)
	n := must(h.reading.Now(ctx, domaintest.AsAda, ada))(t)
	after := n.Deck(n.Work[0], 1, 1, 3)
	if len(before) != len(after) {
		t.Fatalf("%d tasks, then %d", len(before), len(after))
	}
	for i, stop := range after[:len(after)-5] {
		if stop.Task != before[i+5].Task || stop.Hour != before[i+5].Hour {
			t.Fatalf("task %d is %+v, want %+v", i, stop, before[i+5])
		}
	}
	if len(n.Deck(n.Work[0], 1, 1, 4)) != 0 {
		t.Error("a test is dealt")
	}
}
