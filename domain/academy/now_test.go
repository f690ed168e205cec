package academy_test

import (
	"reflect"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/practice"
	"fringework/domain/streak"
)

// openSkills lists the skills of a Now: name, and whether it is an earlier one.
func openSkills(n academy.Now) (all []string) {
	for _, s := range n.Skills {
		name := s.Skill.Name
		if s.Earlier {
			name += " (earlier)"
		}
		all = append(all, name)
	}
	return all
}

func TestNow(t *testing.T) {
	h := open(t)
	as := h.assign(ada, 4)
	h.practised(ada, "s1", now.Add(-2*time.Hour), h.pitch.ID, 3, as.ID, 1)
	n := must(h.reading.Now(ctx, domaintest.AsAda, ada))(t)
	if n.Student.ID != ada || n.On != may(4) || len(n.Work) != 1 {
		t.Fatalf("got %+v, want Ada's 4 May with one assignment", n)
	}
	w := n.Work[0]
	if w.Assignment.ID != as.ID || w.Position != (academy.Position{Phase: academy.Running, Week: 1, Day: 1}) || w.WeekStart != may(4) || w.Week.Title != "First" {
		t.Errorf("got %+v, want the first day of week 1", w)
	}
	if want := map[int]int{1: 1}; !reflect.DeepEqual(w.Done.Sessions, want) {
		t.Errorf("done this week: got %v, want %v", w.Done, want)
	}
	if got, want := openSkills(n), []string{"Pitch"}; !reflect.DeepEqual(got, want) {
		t.Errorf("open: got %v, want %v", got, want)
	}
	// In week 2 the pitch is warmed up; its ladder is in the present week.
	h.mem.Set(now.AddDate(0, 0, 7))
	n = must(h.reading.Now(ctx, coach, ada))(t)
	if w := n.Work[0]; w.Week.Title != "Second" || w.WeekStart != may(11) || len(w.Done.Sessions) != 0 {
		t.Errorf("a week later: got %+v, want week 2, nothing done", w)
	}
	if got, want := openSkills(n), []string{"Chip", "Pitch"}; !reflect.DeepEqual(got, want) {
		t.Errorf("open: got %v, want %v", got, want)
	}
}

// TestNowEarlierSkills: skills of weeks gone by stay until their ladder is
// finished, those of single blocks as well.
func TestNowEarlierSkills(t *testing.T) {
	h := open(t)
	lob := must(h.curriculum.CreateSkill(ctx, coach, curriculum.Skill{Name: "Lob", Kind: curriculum.Lob, Ladder: domaintest.ChipLadder()}))(t)
	bunker := must(h.curriculum.CreateSkill(ctx, coach, curriculum.Skill{Name: "Bunker", Kind: curriculum.BunkerShot, Ladder: domaintest.ChipLadder()}))(t)
	c := domaintest.Programme(h.chip.ID, lob.ID)
	c.Weeks[0].Plans[0].Blocks[2].Skill = bunker.ID
	c.Weeks[0].Plans[0].Blocks[3].Drill.Radius = 3 * domain.Foot
	c.Weeks[1].Plans[0].Blocks[0].Skill = ""
	p := must(h.curriculum.CreateProgramme(ctx, coach, c))(t)
	must(h.curriculum.Publish(ctx, coach, p.ID, 0))(t)
	must(h.people.Assign(ctx, coach, academy.AssignRequest{Programme: p.ID, Version: 1, Students: []domain.ID{ada}, Start: may(4)}))(t)
	h.mem.Set(now.AddDate(0, 0, 7))
	n := must(h.reading.Now(ctx, coach, ada))(t)
	if got, want := openSkills(n), []string{"Lob", "Chip (earlier)", "Bunker (earlier)"}; !reflect.DeepEqual(got, want) {
		t.Errorf("open in week 2: got %v, want %v", got, want)
	}
	h.practised(ada, "s1", now, h.chip.ID, 9, "", 0) // at 5 ft: says nothing of 3 ft
	if got := openSkills(must(h.reading.Now(ctx, coach, ada))(t)); len(got) != 3 {
		t.Errorf("after nine at the wrong radius: got %v, want the chip still open", got)
	}
	s := h.practised(ada, "s2", now, lob.ID, 9, "", 0).Session
	s.ID, s.Blocks[0].Skill, s.Blocks[0].Radius = "s3", h.chip.ID, 3*domain.Foot
	must(h.practice.Put(ctx, owner, s))(t)
	n = must(h.reading.Now(ctx, coach, ada))(t)
	if got, want := openSkills(n), []string{"Lob", "Bunker (earlier)"}; !reflect.DeepEqual(got, want) {
		t.Errorf("after the chip's ladder was finished: got %v, want %v", got, want)
	}
}

func TestNowPhases(t *testing.T) {
	h := open(t)
	as := h.assign(ben, 5)
	// 02:00 UTC on 5 May is still 4 May in New York.
	h.mem.Set(time.Date(2026, 5, 5, 2, 0, 0, 0, time.UTC))
	n := must(h.reading.Now(ctx, domaintest.AsBen, ben))(t)
	if w := n.Work[0]; n.On != may(4) || w.Position.Phase != academy.Upcoming || w.Week != nil || w.WeekStart != may(5) || n.Skills != nil {
		t.Errorf("before the start: got %+v", n)
	}
	h.mem.Set(time.Date(2026, 5, 5, 4, 0, 0, 0, time.UTC)) // midnight in New York
	if n = must(h.reading.Now(ctx, domaintest.AsBen, ben))(t); n.On != may(5) || n.Work[0].Position.Phase != academy.Running {
		t.Errorf("on the first day: got %+v", n)
	}
	must(h.people.Pause(ctx, owner, as.ID, 0, academy.Pause{From: may(7)}))(t)
	h.mem.Set(now.AddDate(0, 0, 20))
	if n = must(h.reading.Now(ctx, domaintest.AsBen, ben))(t); n.Work[0].Position != (academy.Position{Phase: academy.Paused, Week: 1, Day: 3}) {
		t.Errorf("paused: got %+v", n.Work[0].Position)
	}
	must(h.people.Resume(ctx, owner, as.ID, 0, may(7)))(t)
	if n = must(h.reading.Now(ctx, domaintest.AsBen, ben))(t); n.Work[0].Position.Phase != academy.Finished || n.Work[0].Week.Title != "Second" {
		t.Errorf("finished: got %+v", n.Work[0])
	}
	must(h.people.End(ctx, owner, as.ID, 0))(t)
	if n = must(h.reading.Now(ctx, domaintest.AsBen, ben))(t); len(n.Work) != 0 || len(n.Skills) != 0 {
		t.Errorf("ended: got %+v, want no work", n)
	}
}

// TestNowDealsByMisses: of two clubs and two lies the student misses the nine from
// the rough. A random block that is to deal more of what is missed does so from the
// next day on, in the present week and in the next; another deals all alike.
func TestNowDealsByMisses(t *testing.T) {
	h := open(t)
	content := domaintest.Programme(h.pitch.ID, h.chip.ID)
	missed := curriculum.Task{Lie: "rough", Club: "nine"}
	for i := range content.Weeks {
		b := &content.Weeks[i].Plans[0].Blocks[2]
		b.Drill.Lies, b.Drill.MoreOfMisses = []string{"fairway", "rough"}, true
		content.Weeks[i].Plans[0].Blocks = append(content.Weeks[i].Plans[0].Blocks[:3:3], *b, content.Weeks[i].Plans[0].Blocks[3])
		content.Weeks[i].Plans[0].Blocks[3].Drill.MoreOfMisses = false
		content.Weeks[i].Plans[0].Blocks[2].Share, content.Weeks[i].Plans[0].Blocks[3].Share = 15, 10
	}
	must(h.curriculum.SaveDraft(ctx, coach, h.programme, 0, content))(t)
	h.publish()
	as := must(h.people.Assign(ctx, owner, academy.AssignRequest{Programme: h.programme, Version: 2, Students: []domain.ID{ada}, Start: may(4)}))(t)[0]
	often := func(n academy.Now, week, block int) (times, of int) {
		t.Helper()
		deck := n.Deck(n.Work[0], week, 1, block)
		for _, task := range deck {
			if task.Task == missed {
				times++
			}
		}
		return times, len(deck)
	}
	s := practice.Session{ID: "s1", Student: ada, StartedAt: now.Add(-time.Hour), EndedAt: now, TimeZone: "UTC", Revision: 1, Assignment: as.ID, Week: 1, Plan: 1}
	random := practice.Block{Kind: curriculum.Random, Skill: h.pitch.ID, Radius: 5 * domain.Foot, Seconds: 900}
	for range 40 {
		for _, task := range curriculum.Tasks(content.Weeks[0].Plans[0].Blocks[2].Drill) {
			ball := practice.Ball{Outcome: streak.In, Lie: task.Lie, Club: task.Club, Distance: 12 * domain.Metre}
			if task == missed {
				ball.Outcome = streak.Out
			}
			random.Balls = append(random.Balls, ball)
		}
	}
	s.Blocks = []practice.Block{random}
	must(h.practice.Put(ctx, owner, s))(t)

	n := must(h.reading.Now(ctx, domaintest.AsAda, ada))(t)
	if times, of := often(n, 1, 3); 4*times < of-3 || 4*times > of+3 {
		t.Errorf("on the day itself: %d of %d, want a quarter", times, of)
	}
	h.mem.Set(now.AddDate(0, 0, 1))
	n = must(h.reading.Now(ctx, domaintest.AsAda, ada))(t)
	if times, of := often(n, 1, 3); 2*times < of-1 || 2*times > of+1 {
		t.Errorf("the next day: %d of %d, want half, which is three times a sixth", times, of)
	}
	if times, of := often(n, 1, 4); 4*times < of-3 || 4*times > of+3 {
		t.Errorf("in the block that deals all alike: %d of %d, want a quarter", times, of)
	}
	if times, of := often(n, 2, 3); 4*times < of-3 || 4*times > of+3 {
		t.Errorf("at another skill: %d of %d, want a quarter", times, of)
	}
	// Before the programme starts nothing but its first week is dealt.
	h.mem.Set(now.AddDate(0, 0, -3))
	if n = must(h.reading.Now(ctx, domaintest.AsAda, ada))(t); n.Work[0].Week != nil || len(n.Deck(n.Work[0], 1, 1, 3)) == 0 {
		t.Errorf("before the start: %+v", n.Work[0].Position)
	}
}
