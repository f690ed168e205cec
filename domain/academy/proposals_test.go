package academy_test

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/estimate"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// threeOfFive lets a student practise a skill three times, the last time the day
// before now: 40 balls, of every five the first three inside.
func (h *fixture) threeOfFive(student, skill domain.ID) {
	h.t.Helper()
	for i := range 3 {
		at := now.Add(time.Duration(-50+12*i) * time.Hour)
		b := practice.Block{Kind: curriculum.Test, Skill: skill, Radius: 5 * domain.Foot, Seconds: 1800}
		for n := range 40 {
			ball := practice.Ball{Outcome: streak.Out}
			if n%5 < 3 {
				ball.Outcome = streak.In
			}
			b.Balls = append(b.Balls, ball)
		}
		s := practice.Session{
			ID: domain.ID(fmt.Sprintf("%s-%s-%d", student, skill, i)), Student: student, StartedAt: at, EndedAt: at.Add(time.Hour), TimeZone: "UTC", Revision: 1,
			Blocks: []practice.Block{b},
		}
		must(h.practice.Put(ctx, owner, s))(h.t)
	}
}

func (h *fixture) proposals(a domain.Actor, group domain.ID) academy.Proposals {
	h.t.Helper()
	return must(h.mem.Proposing().NextWeek(ctx, a, group, advice.Reader{}))(h.t)
}

func kindsOf(w academy.NextWeek) (kinds []string) {
	for _, x := range w.Items {
		kinds = append(kinds, string(x.Move)+" "+string(x.Adjustment.Kind))
	}
	return kinds
}

// TestNextWeek: the week from the next Monday on, of the programme that runs then, by
// what the academy wants.
func TestNextWeek(t *testing.T) {
	h := open(t)
	as := h.assign(ada, 11)
	h.threeOfFive(ada, h.pitch.ID)
	got := h.proposals(coach, "")
	if got.Challenge != 70 || len(got.Students) != 1 {
		t.Fatalf("got %+v, want one student's at 70 %%", got)
	}
	w := got.Students[0]
	if w.Student.ID != ada || w.Monday != may(11) {
		t.Errorf("got %s from %v", w.Student.Name, w.Monday)
	}
	ease := w.Items[0]
	if ease.Move != advice.Ease || ease.Adjustment.Kind != curriculum.ExtraStep || ease.Assignment != as.ID || ease.Skill.Name != "Pitch" || ease.Then < 0.5 {
		t.Errorf("got %+v", ease)
	}
	must(h.people.ChangeAcademy(ctx, owner, academy.SettingsChange{Challenge: new(90)}))(t)
	if got := h.proposals(coach, ""); got.Challenge != 90 || got.Students[0].Items[0].Adjustment.Tier.Run >= ease.Adjustment.Tier.Run {
		t.Errorf("90 %% wanted: got %+v", got.Students[0].Items[0].Adjustment)
	}
}

// TestNextWeekOfWhom: only for students whom the actor sees, of the group, with a
// programme that runs then, in order of name.
func TestNextWeekOfWhom(t *testing.T) {
	h := open(t)
	h.assign(ada, 17) // a Sunday: its first week begins in the week proposed
	h.assign(june, 11)
	ending := h.assign(ben, 4)
	group := must(h.people.CreateGroup(ctx, owner, "Early", []domain.ID{june}))(t)
	names := func(p academy.Proposals) (names []string) {
		for _, w := range p.Students {
			names = append(names, string(w.Student.ID))
		}
		return names
	}
	sorted := names(h.proposals(owner, ""))
	if len(sorted) != 3 || !slices.IsSortedFunc(h.proposals(owner, "").Students, func(a, b academy.NextWeek) int { return strings.Compare(a.Student.Name, b.Student.Name) }) {
		t.Errorf("an owner: got %v", sorted)
	}
	if got := names(h.proposals(owner, group.ID)); len(got) != 1 || got[0] != string(june) {
		t.Errorf("a group: got %v", got)
	}
	if got := names(h.proposals(coach2, "")); slices.Contains(got, string(ada)) {
		t.Errorf("another coach: got %v", got)
	}
	absent := func() (all []string) {
		for _, x := range h.proposals(owner, "").Absent {
			if x.Student.ID == ada || x.Student.ID == june || x.Student.ID == ben {
				all = append(all, string(x.Student.ID)+" "+string(x.Why))
			}
		}
		return all
	}
	if got := absent(); len(got) != 0 {
		t.Errorf("absent: got %v, want none of those with a programme", got)
	}
	none := h.proposals(owner, group.ID).Absent
	if len(none) != 0 {
		t.Errorf("absent of the group: got %+v", none)
	}
	h.mem.Set(now.AddDate(0, 0, 7)) // Ben's two weeks end on the Sunday
	if got := absent(); !slices.Equal(got, []string{string(ben) + " finished"}) {
		t.Errorf("absent a week later: got %v", got)
	}
	if got := names(h.proposals(owner, "")); slices.Contains(got, string(ben)) || len(got) != 2 {
		t.Errorf("a week later: got %v", got)
	}
	must(h.people.Pause(ctx, owner, ending.ID, 0, academy.Pause{From: may(10)}))(t)
	h.mem.Set(now)
	if got := names(h.proposals(owner, "")); slices.Contains(got, string(ben)) {
		t.Errorf("paused then: got %v", got)
	}
	if got := absent(); !slices.Equal(got, []string{string(ben) + " paused"}) {
		t.Errorf("absent while paused: got %v", got)
	}
	must(h.people.End(ctx, owner, ending.ID, 0))(t)
	if got := absent(); !slices.Equal(got, []string{string(ben) + " no_programme"}) {
		t.Errorf("absent without a programme: got %v", got)
	}
}

// TestNextWeekAsPlayed: what stands is part of the week, so it is not proposed again;
// the second week keeps the first week's skill alive already.
func TestNextWeekAsPlayed(t *testing.T) {
	h := open(t)
	h.assign(ada, 11)
	h.threeOfFive(ada, h.pitch.ID)
	before := h.proposals(coach, "").Students[0]
	var wanted []academy.Adjustment
	for _, x := range before.Items {
		if x.Adjustment.Kind == "" {
			continue
		}
		wanted = append(wanted, academy.Adjustment{Student: ada, Assignment: x.Assignment, Adjustment: x.Adjustment, From: before.Monday, Until: x.Until})
	}
	for _, g := range must(h.adjusting().Give(ctx, coach, wanted))(t) {
		if g.Err != nil {
			t.Errorf("%s: %v", g.Adjustment.Kind, g.Err)
		}
	}
	after := h.proposals(coach, "").Students[0]
	if len(kindsOf(before)) < 2 || !slices.Equal(kindsOf(after), []string{"hold "}) {
		t.Errorf("before: %v, after: %v, want nothing more", kindsOf(before), kindsOf(after))
	}
	if len(before.Given) != 0 || len(after.Given) != len(wanted) || after.Given[0].Kind != wanted[0].Adjustment.Kind {
		t.Errorf("given: %+v, want the %d that were accepted, in their order", after.Given, len(wanted))
	}
	passed := after.Given[0].Tier
	h.mem.Set(now.Add(2 * time.Hour))
	h.practised(ada, "passed", now.Add(time.Minute), h.pitch.ID, passed.Run, "", 0)
	if left := h.proposals(coach, "").Students[0].Given; slices.ContainsFunc(left, func(a academy.Adjustment) bool { return a.Tier == passed }) {
		t.Errorf("given: %+v, want no step that was passed", left)
	}
}

// TestRefuse: what is refused is not proposed for two weeks, unless its chance
// changes much, and is again at once when the coach says so.
func TestRefuse(t *testing.T) {
	h := open(t)
	h.assign(ada, 11)
	h.threeOfFive(ada, h.pitch.ID)
	s := h.mem.Proposing()
	item := func() (academy.Proposed, bool) {
		for _, x := range h.proposals(coach, "").Students[0].Items {
			if x.Adjustment.Kind == curriculum.ExtraStep {
				return x, true
			}
		}
		return academy.Proposed{}, false
	}
	x, stands := item()
	if !stands {
		t.Fatal("no step is proposed")
	}
	step := academy.RefusalKey{Student: ada, Skill: h.pitch.ID, Kind: curriculum.ExtraStep}
	log := len(h.mem.Events(hollow))
	for _, c := range []struct {
		why  string
		keys []academy.RefusalKey
		want []string
	}{
		{"nothing", nil, []string{"/items", "is missing or empty; give 1 to 400 proposals"}},
		{"too many", make([]academy.RefusalKey, 401), []string{"/items", "has 401 proposals; give at most 400"}},
		{"a stranger", []academy.RefusalKey{step, {Student: ben, Skill: h.pitch.ID, Kind: curriculum.ExtraStep}}, []string{"/items/1/student_id", `you have no student "` + string(ben) + `"; check the ID`}},
		{"what is not proposed", []academy.RefusalKey{{Student: ada, Skill: h.chip.ID, Kind: curriculum.ExtraStep}}, []string{"/items/0", "is not proposed for Ada; read the proposals anew"}},
	} {
		_, err := s.Refuse(ctx, coach, c.keys, false)
		wantFields(t, c.why, err, c.want...)
	}
	h.wantNoEvent(log)
	done := must(s.Refuse(ctx, coach, []academy.RefusalKey{step}, false))(t)
	until := domain.Date{Year: 2026, Month: time.May, Day: 17}
	want := academy.Refusal{RefusalKey: step, Until: until, Now: x.Now, Then: x.Then, By: coach.Member, At: h.mem.Now()}
	if len(done) != 1 || !reflect.DeepEqual(done[0], want) {
		t.Errorf("got %+v, want %+v", done, want)
	}
	h.wantEvent(coach, "proposal.refused", ada, ada, map[string]any{"kind": curriculum.ExtraStep, "skill_id": h.pitch.ID, "until": "2026-05-17"})
	if _, stands := item(); stands {
		t.Error("it is proposed again at once")
	}
	done = must(s.Refuse(ctx, coach, []academy.RefusalKey{step}, true))(t)
	if _, stands := item(); !stands || done[0].Until != (domain.Date{}) {
		t.Errorf("it is not proposed again: %+v", done)
	}
	h.wantEvent(coach, "proposal.restored", ada, ada, map[string]any{"kind": curriculum.ExtraStep, "skill_id": h.pitch.ID, "until": ""})
	for _, again := range []bool{true, false} {
		if err := domaintest.EveryFault(t, h.mem, hollow, func() error { return failure(s.Refuse(ctx, coach, []academy.RefusalKey{step}, again)) }); err != nil {
			t.Error(err)
		}
	}
}

// TestRefusalEnds: on the last day it is silent, the day after not, and a chance that
// changed much is not silent at all.
func TestRefusalEnds(t *testing.T) {
	on := may(20)
	r := academy.Refusal{Until: on, Now: 0.2, Then: 0.7}
	for _, c := range []struct {
		why  string
		on   domain.Date
		p    advice.Proposal
		want bool
	}{
		{"the last day", on, advice.Proposal{Now: 0.2, Then: 0.7}, true},
		{"the day after", on.AddDays(1), advice.Proposal{Now: 0.2, Then: 0.7}, false},
		{"a little nearer", on, advice.Proposal{Now: 0.40, Then: 0.7}, true}, // logit 0.2 is -1.386, of 0.40 -0.405
		{"much nearer", on, advice.Proposal{Now: 0.41, Then: 0.7}, false},
		{"much farther", on, advice.Proposal{Now: 0.08, Then: 0.7}, false},
		{"much more promising", on, advice.Proposal{Now: 0.2, Then: 0.87}, false},
		{"sure", on, advice.Proposal{Now: 0.2, Then: 1}, false},
	} {
		if got := r.Silences(c.p, c.on); got != c.want {
			t.Errorf("%s: got %v", c.why, got)
		}
	}
	none := academy.Refusal{Until: on}
	if !none.Silences(advice.Proposal{Now: 0.0005}, on) {
		t.Error("of what has no chance nothing has changed")
	}
}

// TestFadesAreTheAcademys: a warm-up's reason tells what the academy's students lose.
func TestFadesAreTheAcademys(t *testing.T) {
	h := open(t)
	content := domaintest.Programme(h.pitch.ID, h.chip.ID)
	content.Weeks[1].Plans[0].Blocks[0].Skill = "" // the week's own
	p := must(h.curriculum.CreateProgramme(ctx, coach, content))(t)
	must(h.curriculum.Publish(ctx, coach, p.ID, 0))(t)
	must(h.people.Assign(ctx, owner, academy.AssignRequest{Programme: p.ID, Version: 1, Students: []domain.ID{ada}, Start: may(4)}))(t)
	h.threeOfFive(ada, h.pitch.ID)
	after := estimate.FadeAfter{Days: 28, Logits: 0.9}
	insight := progress.Insight{Skill: h.pitch.ID, Fade: estimate.Fade{Breaks: 9, Students: 9, UsualGap: 2, FourWeeks: after}}
	if err := h.mem.Insights().Write(ctx, hollow, func(tx academy.InsightStore) error {
		return tx.SaveInsights(ctx, 1, now, []progress.Insight{insight})
	}); err != nil {
		t.Fatal(err)
	}
	w := h.proposals(coach, "").Students[0]
	at := slices.IndexFunc(w.Items, func(x academy.Proposed) bool { return x.Move == advice.KeepAlive })
	if at < 0 || w.Items[at].Skill.ID != h.pitch.ID || !strings.Contains(w.Items[at].Reason(advice.Reader{}), "your students lose about") {
		t.Errorf("got %v", kindsOf(w))
	}
}
