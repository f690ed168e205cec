package academy_test

import (
	"strings"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/advice"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/practice"
	"fringework/domain/streak"
)

// struck stores a test of a purpose, n of its 20 balls inside, of Ada.
func (h *fixture) struck(id domain.ID, at time.Time, skill domain.ID, purpose curriculum.Purpose, n, balls int) {
	h.t.Helper()
	b := practice.Block{Kind: curriculum.Test, Skill: skill, Purpose: purpose, Radius: 5 * domain.Foot, Seconds: 900}
	for i := range balls {
		outcome := streak.Out
		if i < n {
			outcome = streak.In
		}
		b.Balls = append(b.Balls, practice.Ball{Outcome: outcome})
	}
	must(h.practice.Put(ctx, owner, practice.Session{ID: id, Student: ada, StartedAt: at, EndedAt: at.Add(15 * time.Minute), TimeZone: "Europe/Lisbon", Revision: 1, Blocks: []practice.Block{b}}))(h.t)
}

func (h *fixture) due() []academy.TestDue {
	h.t.Helper()
	return must(h.reading.Now(ctx, coach, ada))(h.t).Tests
}

// TestTestsDue: all skills before the first week, then those whose week is near and that
// are new; from the last week on the end test of those that had a first one, for four
// weeks.
func TestTestsDue(t *testing.T) {
	h := open(t)
	as := h.assign(ada, 11)
	if due := h.due(); len(due) != 2 || due[0].Purpose != curriculum.FirstTest || due[0].Skill.ID != h.pitch.ID || due[0].Left != 20 || !strings.HasPrefix(due[0].Drill.Text, "Twenty balls from one spot") {
		t.Fatalf("before the first week: %+v", due)
	}
	h.struck("t1", now.Add(-2*time.Hour), h.pitch.ID, curriculum.FirstTest, 4, 12)
	if due := h.due(); due[0].Struck != 12 || due[0].Left != 8 || due[0].Tomorrow {
		t.Errorf("twelve struck: %+v", due[0])
	}
	h.struck("t2", now.Add(-time.Hour), h.pitch.ID, curriculum.FirstTest, 4, 8)
	if due := h.due(); len(due) != 1 || due[0].Skill.ID != h.chip.ID {
		t.Errorf("one is done: %+v", due)
	}
	h.mem.Set(now.AddDate(0, 0, 15)) // the last week
	due := h.due()
	if len(due) != 2 || due[0].Purpose != curriculum.EndTest || due[0].Drill.Radius != 5*domain.Foot || due[1].Purpose != curriculum.FirstTest {
		t.Fatalf("in the last week: %+v", due)
	}
	h.practised(ada, "p1", h.mem.Now().Add(-time.Hour), h.pitch.ID, 3, "", 0)
	if due := h.due(); !due[0].Tomorrow {
		t.Errorf("after other balls today: %+v", due[0])
	}
	h.mem.Set(now.AddDate(0, 0, 40))
	h.struck("t3", h.mem.Now().Add(-time.Hour), h.pitch.ID, curriculum.EndTest, 15, 20)
	if due := h.due(); len(due) != 0 {
		t.Errorf("both are done: %+v", due)
	}
	tests := must(h.reading.Tests(ctx, coach, ada))(t)
	if len(tests.Skills) != 1 || !tests.Skills[0].Changed || tests.Skills[0].End.Inside != 15 || tests.Skills[0].First.Balls != 20 {
		t.Errorf("got %+v", tests.Skills)
	}
	off := must(h.people.AskForTests(ctx, coach, as.ID, 0, false))(t)
	if off.Tests {
		t.Error("still asked for")
	}
	h.wantEvent(coach, "assignment.changed", as.ID, ada, map[string]any{"asked": false})
	if err := failure(h.reading.Tests(ctx, domaintest.AsCoach2, ada)); domain.KindOf(err) != domain.NotFound {
		t.Errorf("another's coach: %v", err)
	}
}

// TestBegin: the student takes what is proposed, and it is undone like any adjustment;
// whoever begins later has the steps before it again.
func TestBegin(t *testing.T) {
	h := open(t)
	h.assign(ada, 11)
	propose := h.mem.Proposing()
	begin := func() ([]academy.Given, error) {
		return academy.StartService{Propose: propose, Adjust: h.adjusting()}.Begin(ctx, domaintest.AsAda, ada, h.pitch.ID, advice.Reader{})
	}
	_, err := begin()
	wantError(t, "without a test", err, domain.Conflict, "nothing_proposed")
	h.struck("t1", now.Add(-time.Hour), h.pitch.ID, curriculum.FirstTest, 20, 20)
	items := must(propose.Starts(ctx, coach, ada, "", advice.Reader{}))(t)
	if len(items) == 0 || items[0].Move != advice.Start || items[0].Skill.ID != h.pitch.ID {
		t.Fatalf("proposed: %+v", items)
	}
	ladder := func() streak.Ladder {
		return must(h.reading.Progress(ctx, owner, ada))(t).Skills[0].State.Ladder
	}
	whole := ladder()
	last := whole.Tiers[len(whole.Tiers)-1]
	x := h.given(curriculum.Adjustment{Kind: curriculum.ExtraStep, Skill: h.pitch.ID, Tier: last, Begins: true})
	if got := ladder(); len(got.Tiers) != 1 || got.Tiers[0] != last {
		t.Errorf("begins with %+v", got)
	}
	if again := h.adjust(curriculum.Adjustment{Kind: curriculum.ExtraStep, Skill: h.pitch.ID, Tier: last, Begins: true}).Err; domain.KindOf(again) != domain.Conflict {
		t.Errorf("twice: %v", again)
	}
	must(h.adjusting().Undo(ctx, coach, x.ID))(t)
	if got := ladder(); !got.Equal(whole) {
		t.Errorf("undone it is %+v, want %+v", got, whole)
	}
	wantFields(t, "the first", h.adjust(curriculum.Adjustment{Kind: curriculum.ExtraStep, Skill: h.pitch.ID, Tier: whole.Tiers[0], Begins: true}).Err,
		"/tier", "is the first step of the student's ladder already; begin with a later one")
	h.mem.Pass(24 * time.Hour)
	technique := practice.Block{Kind: curriculum.Technique, Skill: h.pitch.ID, Radius: 5 * domain.Foot, Seconds: 60, Balls: []practice.Ball{{Outcome: streak.In}}}
	must(h.practice.Put(ctx, owner, practice.Session{
		ID: "p0", Student: ada, StartedAt: h.mem.Now().Add(-2 * time.Hour), EndedAt: h.mem.Now().Add(-90 * time.Minute), TimeZone: "Europe/Lisbon", Revision: 1, Blocks: []practice.Block{technique},
	}))(t)
	if left := must(propose.Starts(ctx, coach, ada, "", advice.Reader{}))(t); len(left) == 0 {
		t.Error("a ball that counts for nothing takes the proposals away")
	}
	h.practised(ada, "p1", h.mem.Now().Add(-time.Hour), h.pitch.ID, 2, "", 0)
	if left := must(propose.Starts(ctx, coach, ada, "", advice.Reader{}))(t); len(left) != 0 {
		t.Errorf("once practice has begun next week's proposals are made: %+v", left)
	}
}

// TestBeginEasier: an easier start is given as it was proposed.
func TestBeginEasier(t *testing.T) {
	h := open(t)
	h.assign(ada, 11)
	h.struck("t1", now.Add(-time.Hour), h.pitch.ID, curriculum.FirstTest, 6, 20)
	propose := h.mem.Proposing()
	week := must(propose.NextWeek(ctx, coach, "", advice.Reader{}))(t)
	if len(week.Students) != 1 || len(week.Students[0].Items) == 0 {
		t.Fatalf("proposed to the coach: %+v", week)
	}
	given, err := academy.StartService{Propose: propose, Adjust: h.adjusting()}.Begin(ctx, domaintest.AsAda, ada, h.pitch.ID, advice.Reader{})
	if err != nil || len(given) == 0 {
		t.Fatalf("got %+v, %v", given, err)
	}
	for _, g := range given {
		if g.Err != nil || g.Adjustment.CreatedBy != ada || g.Adjustment.Text == "" {
			t.Errorf("got %+v, %v", g.Adjustment, g.Err)
		}
	}
	for _, left := range must(propose.Starts(ctx, coach, ada, h.pitch.ID, advice.Reader{}))(t) {
		if left.Adjustment.Kind != "" {
			t.Errorf("still proposed: %+v", left.Adjustment)
		}
	}
}
