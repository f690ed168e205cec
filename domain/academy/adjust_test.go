package academy_test

import (
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
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

func (h *fixture) adjusting() academy.AdjustService {
	return academy.AdjustService{Store: h.mem.Adjusting(), Env: h.mem.Env()}
}

// adjust gives Ada one adjustment.
func (h *fixture) adjust(x curriculum.Adjustment) academy.Given {
	h.t.Helper()
	given := must(h.adjusting().Give(ctx, coach, []academy.Adjustment{{Student: ada, Adjustment: x, Text: "Try this."}}))(h.t)
	return given[0]
}

// given is an adjustment that is not refused.
func (h *fixture) given(x curriculum.Adjustment) academy.Adjustment {
	h.t.Helper()
	g := h.adjust(x)
	if g.Err != nil {
		h.t.Fatal(g.Err)
	}
	return g.Adjustment
}

func step(run int, feet domain.Length) streak.Tier {
	return streak.Tier{Run: run, Radius: feet * domain.Foot}
}

// TestExtraStep: it is the next step until it is passed; its milestone stands
// when it is undone, and nothing else changes.
func TestExtraStep(t *testing.T) {
	h := open(t)
	as := h.assign(ada, 4)
	before := h.mem.Snapshot(hollow)
	x := h.given(curriculum.Adjustment{Kind: curriculum.ExtraStep, Skill: h.pitch.ID, Tier: step(6, 5)})
	h.wantEvent(coach, "adjustment.made", x.ID, ada, map[string]any{"kind": curriculum.ExtraStep, "skill_id": h.pitch.ID, "assignment_id": as.ID, "from": "2026-05-04", "until": "", "text": "Try this."})
	if x.Assignment != as.ID || x.From != may(4) || x.CreatedBy != coach.Member || !x.CreatedAt.Equal(now) || x.Revision != 1 {
		t.Errorf("got %+v", x)
	}
	pitch := func() academy.StudentSkill { return must(h.reading.Progress(ctx, owner, ada))(t).Skills[0] }
	if next, _ := pitch().State.Next(); next != step(6, 5) || len(pitch().State.Ladder.Tiers) != 3 {
		t.Errorf("next is %v of %v, want six in a row of three steps", next, pitch().State.Ladder)
	}
	h.mem.Pass(2 * time.Hour)
	h.practised(ada, "s1", now.Add(30*time.Minute), h.pitch.ID, 7, as.ID, 1)
	if st := pitch(); st.State.Held != 1 || len(st.Milestones) != 1 || st.Milestones[0].Tier != step(6, 5) {
		t.Errorf("got %d held, %+v", st.State.Held, st.Milestones)
	}
	wantFields(t, "an easier one", h.adjust(curriculum.Adjustment{Kind: curriculum.ExtraStep, Skill: h.pitch.ID, Tier: step(7, 5)}).Err,
		"/tier", "Ada has passed it, or a harder one, already; ask for more than that")
	undone := must(h.adjusting().Undo(ctx, coach, x.ID))(t)
	if !undone.EndedAt.Equal(h.mem.Now()) || undone.EndedBy != coach.Member || undone.Revision != 2 {
		t.Errorf("undone is %+v", undone)
	}
	h.wantEvent(coach, "adjustment.ended", x.ID, ada, map[string]any{"kind": curriculum.ExtraStep, "skill_id": h.pitch.ID, "assignment_id": as.ID, "from": "2026-05-04", "until": "", "text": "Try this."})
	if st := pitch(); st.State.Held != 0 || len(st.State.Ladder.Tiers) != 2 || len(st.Milestones) != 1 {
		t.Errorf("undone: got %d held of %v, %+v", st.State.Held, st.State.Ladder, st.Milestones)
	}
	if again := must(h.adjusting().Undo(ctx, owner, x.ID))(t); !reflect.DeepEqual(again, undone) {
		t.Errorf("undone twice is %+v", again)
	}
	if reflect.DeepEqual(before, h.mem.Snapshot(hollow)) {
		t.Error("nothing was kept")
	}
	if all := must(h.adjusting().List(ctx, domaintest.AsAda, ada))(t); len(all) != 1 || !reflect.DeepEqual(all[0], undone) {
		t.Errorf("the list has %+v", all)
	}
}

// TestAdjustedPlay: the phone, what counts as planned and what a session is kept
// against follow the adjustments of the day.
func TestAdjustedPlay(t *testing.T) {
	h := open(t)
	as := h.assign(ada, 4)
	week := func() *curriculum.Week { return must(h.reading.Now(ctx, coach, ada))(t).Work[0].Week }
	plain := *week()
	shares := []curriculum.KindShare{{Kind: curriculum.Test, Share: 45}, {Kind: curriculum.Technique, Share: 5}}
	split := h.given(curriculum.Adjustment{Kind: curriculum.OtherShares, Shares: shares})
	h.given(curriculum.Adjustment{Kind: curriculum.FewerSessions, PerWeek: 1})
	later := must(h.adjusting().Give(ctx, coach, []academy.Adjustment{
		{Student: ada, From: may(6), Until: may(7), Adjustment: curriculum.Adjustment{Kind: curriculum.OtherRadius, Skill: h.pitch.ID, Radius: domain.Metre}},
		{Student: ada, From: may(11), Adjustment: curriculum.Adjustment{Kind: curriculum.OtherWarmup, Skill: h.chip.ID}},
	}))(t)
	for _, g := range later {
		if g.Err != nil {
			t.Fatal(g.Err)
		}
	}
	if w := week(); !slices.Equal(w.Plans[0].Shares(), []int{25, 5, 25, 45}) || w.Plans[0].Times != 1 || w.Plans[0].Blocks[0].Drill.Radius != 5*domain.Foot {
		t.Errorf("today's week is %+v", w)
	}
	n := must(h.reading.Now(ctx, coach, ada))(t).Work[0]
	if len(n.Adjustments) != 4 || n.Adjustments[3].ID != split.ID {
		t.Errorf("the phone is told %+v, want the latest first", n.Adjustments)
	}
	if b := n.Weeks[1].Plans[0].Blocks[0]; b.Skill != h.chip.ID || b.Drill.Text != "Nine in a row." || b.Drill.Radius != 3*domain.Foot {
		t.Errorf("next week's warm-up is %+v, want the chip's last drill", b)
	}
	if row := must(h.reading.Progress(ctx, coach, ada))(t); row.Work[0].PerWeek != 1 || row.Week == nil || row.Week.Sessions() != 1 {
		t.Errorf("got %+v, want one session a week", row.Work[0])
	}
	h.mem.Set(now.AddDate(0, 0, 2))
	if w := week(); w.Plans[0].Blocks[1].Drill.Radius != domain.Metre {
		t.Errorf("on the 6th the circle is %v", w.Plans[0].Blocks[1].Drill.Radius)
	}
	planned := func(out practice.PutResult) (seconds []int) {
		for _, b := range out.Session.Blocks {
			seconds = append(seconds, b.Planned)
		}
		return seconds
	}
	play := func(id domain.ID, at time.Time) practice.PutResult {
		s := practice.Session{ID: id, Student: ada, StartedAt: at, EndedAt: at.Add(time.Hour), TimeZone: "Europe/Lisbon", Revision: 1, Assignment: as.ID, Week: 1, Plan: 1}
		for i, kind := range []curriculum.BlockKind{curriculum.Warmup, curriculum.Technique, curriculum.Random, curriculum.Test} {
			b := testBlock(h.pitch.ID, 2)
			b.Kind, b.PlanBlock = kind, i+1
			s.Blocks = append(s.Blocks, b)
		}
		return must(h.practice.Put(ctx, owner, s))(t)
	}
	if got := planned(play("s1", now.Add(time.Hour))); !slices.Equal(got, []int{900, 180, 900, 1620}) {
		t.Errorf("a session of the adjusted split was planned %v", got)
	}
	if got := planned(play("s0", now.Add(-time.Hour))); !slices.Equal(got, []int{900, 900, 900, 900}) {
		t.Errorf("a session from before was planned %v", got)
	}
	must(h.adjusting().Undo(ctx, coach, split.ID))(t)
	if got := planned(play("s2", now.Add(25*time.Hour))); !slices.Equal(got, []int{900, 180, 900, 1620}) {
		t.Errorf("a session that came late was planned %v, want as it was played", got)
	}
	h.mem.Set(now.AddDate(0, 0, 4))
	if w := week(); !slices.Equal(w.Plans[0].Shares(), plain.Plans[0].Shares()) || w.Plans[0].Blocks[1].Drill.Radius != 5*domain.Foot {
		t.Errorf("undone and over, the week is %+v", w)
	}
}

// TestMoveKeepsAdjustments: those that still change something stay, the others
// end; asked so, all end. An ended assignment has none.
func TestMoveKeepsAdjustments(t *testing.T) {
	h := open(t)
	as := h.assign(ada, 4)
	extra := h.given(curriculum.Adjustment{Kind: curriculum.ExtraStep, Skill: h.pitch.ID, Tier: step(6, 5)})
	circle := h.given(curriculum.Adjustment{Kind: curriculum.OtherRadius, Skill: h.chip.ID, Radius: domain.Metre})
	pace := h.given(curriculum.Adjustment{Kind: curriculum.FewerSessions, PerWeek: 1})
	// Version 2 has six in a row itself, and trains pitches alone, once a week.
	h.pitch.Ladder.Tiers = []streak.Tier{step(6, 5), step(9, 5)}
	h.pitch = must(h.curriculum.UpdateSkill(ctx, coach, h.pitch.ID, 0, h.pitch))(t)
	c := domaintest.Programme(h.pitch.ID, h.pitch.ID)
	c.Weeks[0].Plans[0].Times, c.Weeks[1].Plans[0].Times = 2, 3
	must(h.curriculum.SaveDraft(ctx, coach, h.programme, 0, c))(t)
	h.publish()
	must(h.people.Move(ctx, coach, as.ID, 0, 2, true))(t)
	stand := func() (ids []domain.ID) {
		for _, x := range must(h.adjusting().List(ctx, coach, ada))(t) {
			if x.EndedAt.IsZero() {
				ids = append(ids, x.ID)
			}
		}
		return ids
	}
	if got := stand(); !slices.Equal(got, []domain.ID{pace.ID}) {
		t.Errorf("%v stand; want the pace alone, not the step %s nor the chip's circle %s", got, extra.ID, circle.ID)
	}
	if l := must(h.reading.Progress(ctx, owner, ada))(t).Skills; l[1].State.Ladder.Tiers[0] != step(6, 5) && l[0].State.Ladder.Tiers[0] != step(6, 5) {
		t.Errorf("the version's own six in a row went with the adjustment")
	}
	seven := h.given(curriculum.Adjustment{Kind: curriculum.ExtraStep, Skill: h.pitch.ID, Tier: step(7, 5)})
	must(h.people.Move(ctx, coach, as.ID, 0, 1, true))(t)
	if got := stand(); !slices.Equal(got, []domain.ID{seven.ID, pace.ID}) {
		t.Errorf("%v stand, want the step and the pace", got)
	}
	must(h.people.Move(ctx, coach, as.ID, 0, 2, false))(t)
	if got := stand(); len(got) != 0 {
		t.Errorf("%v stand after a move that ends all", got)
	}
	eight := h.given(curriculum.Adjustment{Kind: curriculum.ExtraStep, Skill: h.pitch.ID, Tier: step(8, 5)})
	must(h.people.End(ctx, coach, as.ID, 0))(t)
	if got := stand(); len(got) != 0 {
		t.Errorf("%v stand after the assignment ended, %s among them", got, eight.ID)
	}
	wantFields(t, "no programme", h.adjust(curriculum.Adjustment{Kind: curriculum.FewerSessions, PerWeek: 1}).Err, "/assignment_id", "the student has no such programme now; assign one first")
}

// TestAdjustRefused: each refusal names the field, and one keeps no other back.
func TestAdjustRefused(t *testing.T) {
	h := open(t)
	as := h.assign(ada, 4)
	other := must(h.curriculum.CreateSkill(ctx, coach, curriculum.Skill{Name: "Lob", Kind: curriculum.Lob, Ladder: domaintest.PitchLadder()}))(t)
	pace := curriculum.Adjustment{Kind: curriculum.FewerSessions, PerWeek: 1}
	circle := curriculum.Adjustment{Kind: curriculum.OtherRadius, Skill: h.pitch.ID, Radius: domain.Metre}
	for what, c := range map[string]struct {
		x              academy.Adjustment
		pointer, words string
	}{
		"yesterday":            {academy.Adjustment{Adjustment: pace, From: may(3)}, "/from", "is 2026-05-03, which is over; give today or a later day"},
		"until yesterday":      {academy.Adjustment{Adjustment: pace, Until: may(3)}, "/until", "is 2026-05-03, which is over; give today or a later day"},
		"another assignment":   {academy.Adjustment{Adjustment: pace, Assignment: "elsewhere"}, "/assignment_id", "the student has no such programme now; assign one first"},
		"a skill not trained":  {academy.Adjustment{Adjustment: curriculum.Adjustment{Kind: curriculum.OtherRadius, Skill: other.ID, Radius: domain.Metre}}, "/skill_id", "the student's programme does not train this skill; give one that it does"},
		"a step of the ladder": {academy.Adjustment{Adjustment: curriculum.Adjustment{Kind: curriculum.ExtraStep, Skill: h.pitch.ID, Tier: step(9, 5)}}, "/tier", "is a step of the student's ladder already; ask for another"},
		"neither here nor there": {academy.Adjustment{Adjustment: curriculum.Adjustment{Kind: curriculum.ExtraStep, Skill: h.pitch.ID, Tier: step(30, 9)}}, "/tier",
			"is neither easier than a step of the ladder nor harder than its last; ask for fewer in a row or a wider circle than the next step does"},
		"no change": {academy.Adjustment{Adjustment: curriculum.Adjustment{Kind: curriculum.OtherRadius, Skill: h.pitch.ID, Radius: 5 * domain.Foot}}, "/radius_m",
			"changes nothing in the student's programme; it is planned so already, or no plan has room for it"},
	} {
		c.x.Student = ada
		before := h.mem.Snapshot(hollow)
		given := must(h.adjusting().Give(ctx, coach, []academy.Adjustment{c.x}))(t)
		wantFields(t, what, given[0].Err, c.pointer, c.words)
		if !reflect.DeepEqual(before, h.mem.Snapshot(hollow)) {
			t.Errorf("%s: something was kept", what)
		}
	}
	for what, c := range map[string]struct {
		x              academy.Adjustment
		pointer, words string
	}{
		"a long text":         {academy.Adjustment{Adjustment: pace, Text: strings.Repeat("x", 1001)}, "/items/1/text", "has 1001 characters; use at most 1000"},
		"a reason of no kind": {academy.Adjustment{Adjustment: pace, Reason: "moody"}, "/items/1/reason", `"moody" is not a reason; leave it out or name one`},
		"no kind":             {academy.Adjustment{}, "/items/1/kind", `is missing; use one of step, radius, distance, shares, earlier_skill, sessions or minutes`},
		"the wrong way round": {academy.Adjustment{Adjustment: pace, From: may(9), Until: may(8)}, "/items/1/until", "is before the first day, 2026-05-09; give that day or a later one"},
		"a step with an end":  {academy.Adjustment{Adjustment: curriculum.Adjustment{Kind: curriculum.ExtraStep, Skill: h.pitch.ID, Tier: step(6, 5)}, Until: may(9)}, "/items/1/until", "does not go with a step, which stays until it is passed or undone; leave it out"},
		"over everywhere":     {academy.Adjustment{Adjustment: pace, From: may(2)}, "/items/1/from", "is 2026-05-02, which is over; give today or a later day"},
		"over, without first": {academy.Adjustment{Adjustment: pace, Until: may(2)}, "/items/1/until", "is 2026-05-02, which is over; give today or a later day"},
		"of nobody":           {academy.Adjustment{Adjustment: pace}, "/items/1/student_id", "is missing; say whose plan is adjusted"},
		"long ago":            {academy.Adjustment{Adjustment: pace, From: domain.Date{Year: 1999, Month: 1, Day: 1}}, "/items/1/from", "is 1999-01-01; give a date in the years 2000 to 2199"},
		"in a far future":     {academy.Adjustment{Adjustment: pace, Until: domain.Date{Year: 2200, Month: 1, Day: 1}}, "/items/1/until", "is 2200-01-01; give a date in the years 2000 to 2199"},
	} {
		if what != "of nobody" {
			c.x.Student = ada
		}
		_, err := h.adjusting().Give(ctx, coach, []academy.Adjustment{{Student: ada, Adjustment: pace}, c.x})
		wantFields(t, what, err, c.pointer, c.words)
	}
	both := must(h.adjusting().Give(ctx, coach, []academy.Adjustment{
		{Student: ben, Adjustment: pace}, {Student: ada, Adjustment: circle, Assignment: as.ID, Reason: advice.Reasons()[0]}, {Student: ada, Adjustment: circle},
	}))(t)
	wantError(t, "another coach's student", both[0].Err, domain.NotFound, "not_found")
	if both[1].Err != nil || both[1].Adjustment.Reason != advice.Lapsed {
		t.Errorf("got %+v", both[1])
	}
	wantError(t, "twice", both[2].Err, domain.Conflict, "adjusted_already")
	many := make([]academy.Adjustment, academy.MaxGiven)
	for i := range many {
		many[i] = academy.Adjustment{Student: ben, Adjustment: pace} // whom the coach may not see
	}
	if given := must(h.adjusting().Give(ctx, coach, many))(t); len(given) != 200 {
		t.Errorf("got %d results of 200", len(given))
	}
	for _, n := range []int{0, academy.MaxGiven + 1} {
		wantError(t, "too few or too many", failure(h.adjusting().Give(ctx, coach, make([]academy.Adjustment, n))), domain.Invalid, "adjustment_invalid")
	}
	wantError(t, "undoing another coach's", failure(h.adjusting().Undo(ctx, domaintest.AsCoach2, both[1].Adjustment.ID)), domain.NotFound, "not_found")
	wantError(t, "undoing nothing", failure(h.adjusting().Undo(ctx, coach, "nothing")), domain.NotFound, "not_found")
	wantError(t, "listing another coach's student", failure(h.adjusting().List(ctx, coach, ben)), domain.NotFound, "not_found")
}

// TestAdjustFaults: whichever store call fails, the failure comes out and nothing
// is kept.
func TestAdjustFaults(t *testing.T) {
	h := open(t)
	as := h.assign(ada, 4)
	h.practised(ada, "s1", now.Add(-2*time.Hour), h.pitch.ID, 4, as.ID, 1)
	x := h.given(curriculum.Adjustment{Kind: curriculum.ExtraStep, Skill: h.pitch.ID, Tier: step(6, 5)})
	give := func(a curriculum.Adjustment) func() error {
		return func() error {
			given, err := h.adjusting().Give(ctx, coach, []academy.Adjustment{{Student: ada, Adjustment: a}})
			if err != nil {
				return err
			}
			return given[0].Err
		}
	}
	for what, do := range map[string]func() error{
		"a step":  give(curriculum.Adjustment{Kind: curriculum.ExtraStep, Skill: h.pitch.ID, Tier: step(7, 5)}),
		"a pace":  give(curriculum.Adjustment{Kind: curriculum.FewerSessions, PerWeek: 1}),
		"listing": func() error { return failure(h.adjusting().List(ctx, coach, ada)) },
		"moving":  func() error { return failure(h.people.Move(ctx, coach, as.ID, 0, 1, false)) },
		"undoing": func() error { return failure(h.adjusting().Undo(ctx, coach, x.ID)) },
	} {
		if err := domaintest.EveryFault(t, h.mem, hollow, do); err != nil {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// TestStepsSurviveAMove: an extra step that is kept stands in the ladder of the
// version moved to, and in that of another programme; an undone one does not.
func TestStepsSurviveAMove(t *testing.T) {
	h := open(t)
	as := h.assign(ada, 4)
	undone := h.given(curriculum.Adjustment{Kind: curriculum.ExtraStep, Skill: h.pitch.ID, Tier: step(5, 5)})
	must(h.adjusting().Undo(ctx, coach, undone.ID))(t)
	h.given(curriculum.Adjustment{Kind: curriculum.ExtraStep, Skill: h.pitch.ID, Tier: step(6, 5)})
	h.given(curriculum.Adjustment{Kind: curriculum.ExtraStep, Skill: h.chip.ID, Tier: step(4, 3)})
	h.given(curriculum.Adjustment{Kind: curriculum.OtherRadius, Skill: h.pitch.ID, Radius: domain.Metre})
	h.pitch.Ladder.Tiers = []streak.Tier{step(10, 5), step(20, 5)}
	h.pitch = must(h.curriculum.UpdateSkill(ctx, coach, h.pitch.ID, 0, h.pitch))(t)
	h.publish()
	must(h.people.Move(ctx, coach, as.ID, 0, 2, true))(t)
	ladders := func() map[domain.ID][]streak.Tier {
		all := map[domain.ID][]streak.Tier{}
		for _, s := range must(h.reading.Progress(ctx, owner, ada))(t).Skills {
			all[s.State.Skill] = s.State.Ladder.Tiers
		}
		return all
	}
	want := map[domain.ID][]streak.Tier{h.pitch.ID: {step(6, 5), step(10, 5), step(20, 5)}, h.chip.ID: {step(4, 3), step(9, 3)}}
	if got := ladders(); !reflect.DeepEqual(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

// TestPlannedWithAdjustments: weeks gone by count as they were played at their
// end, the present one as of today, those to come as of their first day.
func TestPlannedWithAdjustments(t *testing.T) {
	h := open(t)
	c := domaintest.Programme(h.pitch.ID, h.chip.ID)
	c.Weeks = append(c.Weeks, c.Weeks...)
	must(h.curriculum.SaveDraft(ctx, coach, h.programme, 0, c))(t)
	h.publish()
	must(h.people.Assign(ctx, owner, academy.AssignRequest{Programme: h.programme, Version: 2, Students: []domain.ID{ada}, Start: may(4)}))(t)
	pace := curriculum.Adjustment{Kind: curriculum.FewerSessions, PerWeek: 1}
	for _, g := range must(h.adjusting().Give(ctx, coach, []academy.Adjustment{
		{Student: ada, Adjustment: pace, From: may(10), Until: may(11)}, // the last day of week 1, the first of week 2
		{Student: ada, Adjustment: pace, From: may(25)},                 // from the first day of week 4
	}))(t) {
		if g.Err != nil {
			t.Fatal(g.Err)
		}
	}
	times := func() (all []int) {
		for _, w := range must(h.reading.Now(ctx, coach, ada))(t).Work[0].Weeks {
			all = append(all, w.Sessions())
		}
		return all
	}
	for _, x := range []struct {
		day  int
		want []int
	}{{4, []int{2, 1, 2, 1}}, {10, []int{1, 1, 2, 1}}, {11, []int{1, 1, 2, 1}}, {12, []int{1, 2, 2, 1}}, {26, []int{1, 2, 2, 1}}} {
		h.mem.Set(now.AddDate(0, 0, x.day-4))
		if got := times(); !slices.Equal(got, x.want) {
			t.Errorf("on the %d. the weeks have %v sessions, want %v", x.day, got, x.want)
		}
	}
	if planned := must(h.reading.Progress(ctx, coach, ada))(t).Work[0].Planned; planned != 1+2+2 {
		t.Errorf("planned are %d, want 5 on the second day of week 4", planned)
	}
}

// TestWarmupDrill: the last drill at the skill on one spot, or else the first
// circle of its ladder.
func TestWarmupDrill(t *testing.T) {
	h := open(t)
	c := domaintest.Programme(h.pitch.ID, h.chip.ID)
	blocks := c.Weeks[1].Plans[0].Blocks
	for i := range blocks {
		blocks[i].Drill.Text = []string{"A pitch.", "A chip.", "Chips at random.", "The last pitch."}[i]
		blocks[i].Drill.Radius = 3 * domain.Foot
	}
	blocks[3].Skill = h.pitch.ID
	blocks[1].Kind = curriculum.Warmup // in which the chip's steps can be passed
	must(h.curriculum.SaveDraft(ctx, coach, h.programme, 0, c))(t)
	h.publish()
	must(h.people.Assign(ctx, owner, academy.AssignRequest{Programme: h.programme, Version: 2, Students: []domain.ID{ada}, Start: may(4)}))(t)
	if x := h.given(curriculum.Adjustment{Kind: curriculum.OtherWarmup, Skill: h.chip.ID}); x.Drill.Text != "A chip." {
		t.Errorf("got %+v, want the chip on one spot, not those at random", x.Drill)
	}
	c.Weeks[1].Skill = h.pitch.ID
	blocks[1].Kind, blocks[1].Skill, blocks[1].Drill.Clubs = curriculum.Random, h.chip.ID, []string{"wedge", "nine"}
	must(h.curriculum.SaveDraft(ctx, coach, h.programme, 0, c))(t)
	h.publish()
	must(h.people.Assign(ctx, owner, academy.AssignRequest{Programme: h.programme, Version: 3, Students: []domain.ID{ben}, Start: may(4)}))(t)
	given := must(h.adjusting().Give(ctx, owner, []academy.Adjustment{{Student: ben, Adjustment: curriculum.Adjustment{Kind: curriculum.OtherWarmup, Skill: h.chip.ID}}}))(t)[0]
	want := curriculum.Drill{Text: "Keep Chip alive before the new work.", Radius: 3 * domain.Foot}
	if given.Err != nil || !reflect.DeepEqual(given.Adjustment.Drill, want) {
		t.Errorf("got %+v (%v), want %+v", given.Adjustment.Drill, given.Err, want)
	}
}

// TestAdjustedAlone: what one student plays changes nothing for another of the
// same version.
func TestAdjustedAlone(t *testing.T) {
	h := open(t)
	h.assign(ada, 4)
	h.assign(ben, 4)
	h.given(curriculum.Adjustment{Kind: curriculum.FewerSessions, PerWeek: 1})
	got := map[domain.ID]int{}
	for _, row := range must(h.reading.Dashboard(ctx, owner, academy.DashboardFilter{}))(t) {
		if len(row.Work) > 0 {
			got[row.Student.ID] = row.Week.Sessions()
		}
	}
	if want := map[domain.ID]int{ada: 1, ben: 2}; !reflect.DeepEqual(got, want) {
		t.Errorf("sessions a week are %v, want %v", got, want)
	}
}

// TestAdjustedThroughout: what is given without an assignment holds for every one of
// the student's, also for one made later, until the last that it changes is ended;
// undone it is gone from all. What names an assignment changes that one alone.
func TestAdjustedThroughout(t *testing.T) {
	h := open(t)
	first := h.assign(ada, 4)
	pace := h.given(curriculum.Adjustment{Kind: curriculum.FewerSessions, PerWeek: 1})
	if pace.Assignment != first.ID || !pace.Throughout {
		t.Errorf("got %+v, want the first assignment and throughout", pace)
	}
	sessions := func() (all []int) {
		for _, w := range must(h.reading.Now(ctx, coach, ada))(t).Work {
			all = append(all, w.Weeks[0].Sessions())
		}
		return all
	}
	h.programme = must(h.curriculum.CreateProgramme(ctx, coach, domaintest.Programme(h.pitch.ID, h.chip.ID)))(t).ID
	h.publish()
	second := h.assign(ada, 18)
	if got := sessions(); !slices.Equal(got, []int{1, 1}) {
		t.Errorf("the programmes have %v sessions a week, want 1 in both", got)
	}
	circle := must(h.adjusting().Give(ctx, coach, []academy.Adjustment{{
		Student: ada, Assignment: second.ID, Adjustment: curriculum.Adjustment{Kind: curriculum.OtherRadius, Skill: h.pitch.ID, Radius: domain.Metre},
	}}))(t)[0]
	if circle.Err != nil || circle.Adjustment.Throughout {
		t.Errorf("got %+v, want the second assignment alone", circle)
	}
	h.given(curriculum.Adjustment{Kind: curriculum.OtherShares, Shares: []curriculum.KindShare{{Kind: curriculum.Test, Share: 45}, {Kind: curriculum.Technique, Share: 5}}})
	h.mem.Pass(3 * time.Hour)
	played := h.practised(ada, "s1", now.Add(time.Hour), h.pitch.ID, 2, second.ID, 1).Session
	if !slices.ContainsFunc(played.Missed, func(k progress.KindTime) bool { return k.Kind == "test" && k.Planned == 1620 }) {
		t.Errorf("a session by the second programme was kept against %+v, want a test of 27 minutes", played.Missed)
	}
	must(h.people.End(ctx, coach, first.ID, 0))(t)
	if got := sessions(); !slices.Equal(got, []int{1}) {
		t.Errorf("after the first ended: %v sessions a week, want 1", got)
	}
	must(h.adjusting().Undo(ctx, coach, pace.ID))(t)
	if got := sessions(); !slices.Equal(got, []int{2}) {
		t.Errorf("undone: %v sessions a week, want 2", got)
	}
	again := h.given(curriculum.Adjustment{Kind: curriculum.FewerSessions, PerWeek: 1})
	if again.Assignment != second.ID {
		t.Errorf("got %+v, want the one that is left", again)
	}
	must(h.people.End(ctx, coach, second.ID, 0))(t)
	for _, x := range must(h.adjusting().List(ctx, coach, ada))(t) {
		if x.EndedAt.IsZero() {
			t.Errorf("%+v stands without an assignment", x)
		}
	}
}

// TestOneAtATime: a second change of a kind at a skill says which stands, unless it
// is for other days or other blocks.
func TestOneAtATime(t *testing.T) {
	h := open(t)
	h.assign(ada, 4)
	circle := func(d domain.Length, from, until int, only ...curriculum.BlockKind) error {
		return must(h.adjusting().Give(ctx, coach, []academy.Adjustment{{
			Student: ada, From: may(from), Until: may(until), Text: "Wider.",
			Adjustment: curriculum.Adjustment{Kind: curriculum.OtherRadius, Skill: h.pitch.ID, Radius: d, Only: only},
		}}))(t)[0].Err
	}
	if err := circle(2*domain.Metre, 6, 12, curriculum.Test); err != nil {
		t.Fatal(err)
	}
	for _, days := range [][2]int{{4, 6}, {12, 20}, {4, 20}, {7, 8}} {
		err := circle(domain.Metre, days[0], days[1])
		wantError(t, "on the same days", err, domain.Conflict, "adjusted_already")
		if want := "from 2026-05-06 to 2026-05-12: “Wider”. Undo it"; !strings.Contains(err.Error(), want) {
			t.Errorf("got %q, want %q in it", err, want)
		}
	}
	for _, err := range []error{circle(domain.Metre, 4, 5), circle(domain.Metre, 13, 13), circle(domain.Metre, 6, 12, curriculum.Technique)} {
		if err != nil {
			t.Error(err)
		}
	}
}

// TestAdjustedWithinLimits: a share outside the programme's limits is refused at the
// field, whichever kind of block it leaves too much or too little.
func TestAdjustedWithinLimits(t *testing.T) {
	h := open(t)
	c := domaintest.Programme(h.pitch.ID, h.chip.ID)
	c.Limits = []curriculum.Limit{{Kind: curriculum.Technique, AtMost: 40}, {Kind: curriculum.Test, AtLeast: 15, AtMost: 100}}
	must(h.curriculum.SaveDraft(ctx, coach, h.programme, 0, c))(t)
	h.publish()
	must(h.people.Assign(ctx, owner, academy.AssignRequest{Programme: h.programme, Version: 2, Students: []domain.ID{ada}, Start: may(4)}))(t)
	give := func(kind curriculum.BlockKind, share int) error {
		return h.adjust(curriculum.Adjustment{Kind: curriculum.OtherShares, Shares: []curriculum.KindShare{{Kind: kind, Share: share}}}).Err
	}
	wantFields(t, "too much technique", give(curriculum.Technique, 50), "/shares/0/share",
		"would make technique 50 % of the time in week 1; "+c.Name+" allows at most 40 %. Stay within that, or change the programme's limits")
	wantFields(t, "too little test", give(curriculum.Random, 70), "/shares",
		"would make test 10 % of the time in week 1; "+c.Name+" allows at least 15 %. Stay within that, or change the programme's limits")
	if err := give(curriculum.Technique, 40); err != nil {
		t.Error(err)
	}
}

// TestPlanOfRow: what nothing more comes on top of is what stands and is not over; of
// steps those given since the last session of their skill.
func TestPlanOfRow(t *testing.T) {
	h := open(t)
	as := h.assign(ada, 4)
	h.given(curriculum.Adjustment{Kind: curriculum.ExtraStep, Skill: h.pitch.ID, Tier: step(6, 5)})
	soon := must(h.adjusting().Give(ctx, coach, []academy.Adjustment{{Student: ada, Until: may(5), Adjustment: curriculum.Adjustment{Kind: curriculum.FewerSessions, PerWeek: 1}}}))(t)
	if soon[0].Err != nil {
		t.Fatal(soon[0].Err)
	}
	plan := func() (kinds []curriculum.AdjustmentKind) {
		p := must(h.reading.Progress(ctx, coach, ada))(t).Plan(advice.Stall{Skill: h.pitch.ID})
		if p.Student != "Ada" || p.Shot != curriculum.Pitch || p.Week == nil {
			t.Errorf("got %+v", p)
		}
		for _, a := range p.Standing {
			kinds = append(kinds, a.Kind)
		}
		return kinds
	}
	if got := plan(); !slices.Equal(got, []curriculum.AdjustmentKind{curriculum.FewerSessions, curriculum.ExtraStep}) {
		t.Errorf("before any ball %v stand", got)
	}
	h.mem.Pass(3 * time.Hour)
	h.practised(ada, "s1", now.Add(time.Hour), h.pitch.ID, 2, as.ID, 1)
	if got := plan(); !slices.Equal(got, []curriculum.AdjustmentKind{curriculum.FewerSessions}) {
		t.Errorf("after a session %v stand", got)
	}
	h.mem.Set(now.AddDate(0, 0, 2))
	if got := plan(); len(got) != 0 {
		t.Errorf("when they are over %v stand", got)
	}
}
