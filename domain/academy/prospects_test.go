package academy_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/streak"
)

// pitched lets a student play four sessions of twenty pitches, so many inside five
// feet; of the chips none.
func (h *fixture) pitched(student domain.ID, inside int) {
	h.t.Helper()
	for i := range 4 {
		h.played(student, domain.ID(fmt.Sprintf("%s %d", student, i)), now.AddDate(0, 0, i-9), inside, 0)
	}
}

// ladderOf is some in a row inside five feet.
func ladderOf(runs ...int) streak.Ladder {
	var l streak.Ladder
	for _, run := range runs {
		l.Tiers = append(l.Tiers, streak.Tier{Run: run, Radius: 5 * domain.Foot})
	}
	return l
}

// TestProspects: Ada passed nine in a row, since her balls came in one after the
// other; Ben left six of twenty inside; of June nothing is known.
func TestProspects(t *testing.T) {
	h := open(t)
	h.assign(ada, 4)
	h.assign(ben, 4)
	h.pitched(ada, 15)
	h.pitched(ben, 6)
	steps := must(h.reading.Prospects(ctx, owner, h.pitch.ID, ladderOf(4, 9, 12), 20))(t)
	if len(steps) != 3 {
		t.Fatalf("got %+v, want a step for each tier", steps)
	}
	for i, c := range []struct{ passed, known, unknown int }{{2, 0, 1}, {1, 1, 1}, {1, 1, 1}} {
		p := steps[i]
		if p.Passed != c.passed || p.Known != c.known || p.Unknown != c.unknown {
			t.Errorf("step %d: got %+v, want %+v", i+1, p, c)
		}
	}
	for _, s := range must(h.reading.Progress(ctx, owner, ben))(t).Skills {
		if s.Skill.ID == h.pitch.ID {
			want, ok := s.State.Passing(steps[1].Tier, 20, academy.ProspectSessions)
			if !ok || steps[1].Expected != want {
				t.Errorf("nine in a row: got %v expected of Ben, want %v, %v", steps[1].Expected, want, ok)
			}
		}
	}
	// At 30 % inside, nine in a row in twenty balls come about once in 60,000
	// sessions: 0.3⁹ · (1 + 11 · 0.7) = 0.00017; what is not known of the rate
	// makes it likelier, but never likely.
	if p := steps[1].Expected; !(p > 0 && p < 0.05) {
		t.Errorf("nine in a row within four sessions: got %v, want hardly any", p)
	}
	own := must(h.reading.Prospects(ctx, coach, h.pitch.ID, ladderOf(9), 20))(t)
	if own[0].Passed != 1 || own[0].Known != 0 || own[0].Unknown != 1 {
		t.Errorf("the coach of Ada and June: got %+v, want those two alone", own[0])
	}
	chips := must(h.reading.Prospects(ctx, owner, h.chip.ID, ladderOf(2), 20))(t)
	if chips[0].Known != 2 || math.Abs(chips[0].Expected) > 1 {
		t.Errorf("chips in a wider circle than they were judged in: got %+v, want both known", chips[0])
	}
}

func TestProspectsRefused(t *testing.T) {
	h := open(t)
	_, err := h.reading.Prospects(ctx, owner, h.pitch.ID, ladderOf(), 0)
	wantFields(t, "nothing asked", err, "/tiers", "a ladder has at least one step", "/balls", "is 0; give 1 to 500 balls a session")
	_, err = h.reading.Prospects(ctx, owner, h.pitch.ID, ladderOf(3), 501)
	wantFields(t, "too many balls", err, "/balls", "is 501; give 1 to 500 balls a session")
	must(h.reading.Prospects(ctx, owner, h.pitch.ID, ladderOf(3), 500))(t)
	must(h.reading.Prospects(ctx, owner, h.pitch.ID, ladderOf(3), 1))(t)
	_, err = h.reading.Prospects(ctx, owner, "nothing", ladderOf(3), 20)
	wantError(t, "an unknown skill", err, domain.NotFound, "not_found")
	_, err = h.reading.Prospects(ctx, domaintest.AsOther, h.pitch.ID, ladderOf(3), 20)
	wantError(t, "next door", err, domain.NotFound, "not_found")
	draft := h.draft()
	for what, do := range map[string]func() error{
		"Prospects":  func() error { return failure(h.reading.Prospects(ctx, coach, h.pitch.ID, ladderOf(3), 20)) },
		"OutOfReach": func() error { return failure(h.reading.OutOfReach(ctx, coach, draft, domain.Length.String)) },
	} {
		if err := domaintest.EveryFault(t, h.mem, hollow, do); err != nil {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// draft reads the fixture's programme.
func (h *fixture) draft() curriculum.Programme {
	h.t.Helper()
	p, _, err := h.curriculum.Programme(ctx, coach, h.programme, domain.Length.String)
	if err != nil {
		h.t.Fatal(err)
	}
	return p
}

// TestOutOfReach: a ladder is told to be out of reach when it is for more than half
// of those whose balls tell, and followers count before all others.
func TestOutOfReach(t *testing.T) {
	h := open(t)
	followed := h.assign(ben, 4)
	h.assign(ada, 4)
	warned := func(a domain.Actor) string {
		t.Helper()
		var all []string
		for _, f := range must(h.reading.OutOfReach(ctx, a, h.draft(), domain.Length.String))(t) {
			all = append(all, f.Pointer+": "+f.Detail)
		}
		return strings.Join(all, "\n")
	}
	if got := warned(owner); got != "" {
		t.Errorf("without a ball: got %s", got)
	}
	// At 30 % inside, four in a row come in 0.3⁴ · (1 + 26 · 0.7) = 16 % of sessions
	// of 30 balls, about every other time in four sessions; five in 4.5 %. None of
	// twenty chips came to rest inside three feet.
	h.pitched(ben, 6)
	const pitch = "/weeks/0/skill_id: week 1: the next step of Pitch is unlikely within 30 sessions for the one student with enough balls to tell (step 1: 9 in a row inside 5 ft (1.52 m)). Put 3 in a row before it, or widen the circle"
	const chip = "/weeks/1/skill_id: week 2: the next step of Chip is unlikely within 30 sessions for the one student with enough balls to tell (step 1: 9 in a row inside 3 ft (0.91 m)). Widen the circle"
	if got, want := warned(owner), pitch+"\n"+chip; got != want {
		t.Errorf("Ben alone:\ngot  %s\nwant %s", got, want)
	}
	if got := warned(key); got != "" {
		t.Errorf("software is told of students: %s", got)
	}
	if got := warned(coach); got != "" {
		t.Errorf("who does not see Ben is told of him: %s", got)
	}
	// Half of two is not most of them: Ada has step 2 to pass, 18 with one holed.
	h.pitched(ada, 20)
	if got := warned(owner); strings.Contains(got, "Pitch") {
		t.Errorf("one of two: got %s", got)
	}
	// Once only Ben follows it, he is all that counts.
	for _, as := range must(h.people.Assignments(ctx, owner, academy.AssignmentFilter{Student: ada, Current: true}, domain.Page{Limit: 9}))(t) {
		must(h.people.End(ctx, owner, as.ID, 0))(t)
	}
	if got := warned(owner); !strings.Contains(got, "the next step of Pitch is unlikely within 30 sessions for the one student") {
		t.Errorf("Ben follows it alone: got %s", got)
	}
	// When nobody follows it, all count.
	must(h.people.End(ctx, owner, followed.ID, 0))(t)
	if got := warned(owner); strings.Contains(got, "Pitch") {
		t.Errorf("nobody follows it: got %s", got)
	}
}

// TestOutOfReachLooksAtWeeks: a skill that is only warmed up, one that no block
// tests, and students who finished the ladder are nothing to warn of.
func TestOutOfReachLooksAtWeeks(t *testing.T) {
	h := open(t)
	h.assign(ben, 4)
	h.pitched(ben, 6)
	for why, change := range map[string]func(c *curriculum.Content){
		"only warmed up": func(c *curriculum.Content) { c.Weeks[0].Skill, c.Weeks[1].Skill = h.chip.ID, h.chip.ID },
		"never tested": func(c *curriculum.Content) {
			for i := range c.Weeks {
				for j := range c.Weeks[i].Plans[0].Blocks {
					c.Weeks[i].Plans[0].Blocks[j].Kind = curriculum.Random
				}
			}
		},
	} {
		p := h.draft()
		change(&p.Draft)
		for _, f := range must(h.reading.OutOfReach(ctx, owner, p, domain.Length.String))(t) {
			if f.Pointer == "/weeks/0/skill_id" && why == "never tested" || strings.Contains(f.Detail, "Pitch") {
				t.Errorf("%s: got %s", why, f.Detail)
			}
		}
	}
	must(h.curriculum.UpdateSkill(ctx, coach, h.pitch.ID, 0, curriculum.Skill{Name: "Pitch", Kind: curriculum.Pitch, Ladder: ladderOf(3)}))(t)
	for _, f := range must(h.reading.OutOfReach(ctx, owner, h.draft(), domain.Length.String))(t) {
		if strings.Contains(f.Detail, "Pitch") {
			t.Errorf("six in a row of a ladder of three: got %s", f.Detail)
		}
	}
}

// TestOutOfReachForMany: how many of how many, and at which step most of them are.
// Ann and Bea leave six of twenty inside. Dee passed the first step, and of the 26
// balls of a test 25 in a row are too many at 80 %; Eve misses none.
func TestOutOfReachForMany(t *testing.T) {
	h := open(t)
	ladder := streak.Ladder{Tiers: append(ladderOf(9, 25).Tiers, streak.Tier{Run: 26, Radius: domain.Foot / 2})}
	must(h.curriculum.UpdateSkill(ctx, coach, h.pitch.ID, 0, curriculum.Skill{Name: "Pitch", Kind: curriculum.Pitch, Ladder: ladder}))(t)
	h.publish()
	told := func() string {
		t.Helper()
		for _, f := range must(h.reading.OutOfReach(ctx, owner, h.draft(), domain.Length.String))(t) {
			if f.Pointer == "/weeks/0/skill_id" {
				told, _, _ := strings.Cut(f.Detail, ". P")
				return told
			}
		}
		return ""
	}
	for i, c := range []struct {
		name   string
		inside int
		want   string
	}{
		{"Ann", 6, "week 1: the next step of Pitch is unlikely within 30 sessions for the one student with enough balls to tell (step 1: 9 in a row inside 5 ft (1.52 m))"},
		{"Bea", 6, "week 1: the next step of Pitch is unlikely within 30 sessions for both students with enough balls to tell (step 1: 9 in a row inside 5 ft (1.52 m))"},
		{"Dee", 16, "week 1: the next step of Pitch is unlikely within 30 sessions for all 3 students with enough balls to tell (mostly step 1: 9 in a row inside 5 ft (1.52 m))"},
		{"Eve", 20, "week 1: the next step of Pitch is unlikely within 30 sessions for 3 of the 4 students with enough balls to tell (mostly step 1: 9 in a row inside 5 ft (1.52 m))"},
	} {
		id := domain.ID(fmt.Sprintf("m-more-%d", i))
		h.mem.AddMember(hollow, academy.Member{ID: id, Account: "acc-" + id, Role: domain.Student, Name: c.name, TimeZone: "UTC", Units: academy.InMetres, Revision: 1, JoinedAt: now})
		must(h.people.Assign(ctx, owner, academy.AssignRequest{Programme: h.programme, Version: 2, Students: []domain.ID{id}, Start: may(4)}))(t)
		h.pitched(id, c.inside)
		if got := told(); got != c.want {
			t.Errorf("with %s:\ngot  %s\nwant %s", c.name, got, c.want)
		}
	}
}

// TestOutgrownCircles: a test at five feet is no test for whoever has passed all
// that is asked there, and it is told once that is most of those who follow the
// programme. Ada passed nine in a row; Ben did not.
func TestOutgrownCircles(t *testing.T) {
	h := open(t)
	ladder := streak.Ladder{Tiers: append(ladderOf(9).Tiers, streak.Tier{Run: 9, Radius: 4 * domain.Foot})}
	must(h.curriculum.UpdateSkill(ctx, coach, h.pitch.ID, 0, curriculum.Skill{Name: "Pitch", Kind: curriculum.Pitch, Ladder: ladder}))(t)
	h.publish()
	told := func() (all []string) {
		t.Helper()
		for _, f := range must(h.reading.OutOfReach(ctx, owner, h.draft(), domain.Length.String))(t) {
			if strings.HasSuffix(f.Pointer, "radius_m") {
				all = append(all, f.Pointer+": "+f.Detail)
			}
		}
		return all
	}
	follow := func(student domain.ID) {
		t.Helper()
		must(h.people.Assign(ctx, owner, academy.AssignRequest{Programme: h.programme, Version: 2, Students: []domain.ID{student}, Start: may(4)}))(t)
	}
	h.pitched(ada, 15)
	if got := told(); got != nil {
		t.Errorf("nobody follows it: got %q", got)
	}
	follow(ada)
	want := "/weeks/0/plans/0/blocks/3/drill/radius_m: week 1, plan 1 (Hour), block 4 (test): for the one student on this programme the next step of Pitch needs a circle smaller than 5 ft (1.52 m), so no step can be passed here. Use a smaller circle or give them another version"
	if got := told(); len(got) != 1 || got[0] != want {
		t.Errorf("Ada alone:\ngot  %q\nwant %q", got, want)
	}
	follow(ben)
	if got := told(); got != nil {
		t.Errorf("half of them: got %q", got)
	}
}
