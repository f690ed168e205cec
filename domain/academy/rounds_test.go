package academy_test

import (
	"reflect"
	"slices"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/course"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
)

// aRound is one of a student an hour ago: an up and down from the rough, and a chance
// from the sand that was missed.
func aRound(student, id domain.ID, revision int) course.Round {
	return course.Round{
		ID: id, Student: student, PlayedAt: now.Add(-time.Hour), TimeZone: "Europe/Lisbon", Revision: revision, Shots: []course.Shot{
			{Hole: 1, Lie: course.Rough, Distance: 15 * domain.Metre, Left: domain.Metre, LeftLie: course.Green, Putts: 1},
			{Hole: 2, Lie: course.Sand, Distance: 10 * domain.Metre, Left: 4 * domain.Metre, LeftLie: course.Green, Putts: 2},
		},
	}
}

func TestPutRound(t *testing.T) {
	h := open(t)
	rounds := h.mem.Rounds()
	out := must(rounds.Put(ctx, domaintest.AsAda, aRound("", "r1", 2)))(t)
	if !out.Created || out.Round.Student != ada || out.Round.By != ada || !out.Round.ReceivedAt.Equal(now) || out.Tally != (course.Tally{Rounds: 1, Chances: 2, Saved: 1}) || out.Gained.Shots != 2 {
		t.Errorf("stored %+v", out)
	}
	h.wantEvent(domaintest.AsAda, "round.stored", "r1", ada, map[string]any{"revision": 2, "shots": 2})
	log := len(h.mem.Events(hollow))
	if again := must(rounds.Put(ctx, coach, aRound(ada, "r1", 2)))(t); again.Created || again.Round.By != ada {
		t.Errorf("a replay gave %+v", again)
	}
	other := aRound(ada, "r1", 2)
	other.Note = "Wet."
	wantError(t, "other content", failure(rounds.Put(ctx, coach, other)), domain.Conflict, "revision_conflict")
	wantError(t, "an earlier revision", failure(rounds.Put(ctx, coach, aRound(ada, "r1", 1))), domain.Conflict, "revision_superseded")
	wantError(t, "a deletion of the same revision", rounds.Delete(ctx, coach, "r1", "", 2), domain.Conflict, "revision_conflict")
	h.wantNoEvent(log)

	more := aRound(ada, "r1", 3)
	more.Shots = append(more.Shots, more.Shots[0])
	must(rounds.Put(ctx, domaintest.AsAda, more))(t)
	h.wantEvent(domaintest.AsAda, "round.extended", "r1", ada, map[string]any{"revision": 3, "shots": 3})
	less := aRound(ada, "r1", 5)
	less.Shots = []course.Shot{{Lie: course.Fairway, Distance: domain.Metre, Holed: true}}
	must(rounds.Put(ctx, coach, less))(t)
	last := h.mem.Events(hollow)[len(h.mem.Events(hollow))-1]
	before, _ := last.Data["before"].(map[string]any)
	shots, _ := before["shots"].([]map[string]any)
	if last.Kind != "round.edited" || len(shots) != 3 || before["by"] != ada || !reflect.DeepEqual(shots[1],
		map[string]any{"hole": 2, "lie": course.Sand, "distance_m": 10.0, "holed": false, "left_m": 4.0, "left_lie": course.Green, "putts": 2}) {
		t.Errorf("an edit told %+v", last)
	}

	must(0, rounds.Delete(ctx, domaintest.AsAda, "r1", "", 6))(t)
	last = h.mem.Events(hollow)[len(h.mem.Events(hollow))-1]
	if _, kept := last.Data["before"]; last.Kind != "round.deleted" || !kept {
		t.Errorf("a deletion told %+v", last)
	}
	log = len(h.mem.Events(hollow))
	must(0, rounds.Delete(ctx, domaintest.AsAda, "r1", "", 6))(t)
	h.wantNoEvent(log)
	wantError(t, "a deleted one", failure(rounds.Get(ctx, coach, "r1")), domain.NotFound, "not_found")
	must(rounds.Put(ctx, domaintest.AsAda, aRound(ada, "r1", 7)))(t)
	h.wantEvent(domaintest.AsAda, "round.restored", "r1", ada, map[string]any{"revision": 7, "shots": 2})
	must(0, rounds.Delete(ctx, coach, "r1", ada, 8))(t)
	must(0, rounds.Delete(ctx, coach, "r1", ada, 9))(t) // of a deleted one there is nothing to keep
	h.wantEvent(coach, "round.deleted", "r1", ada, map[string]any{"revision": 9, "shots": 0})
	wantError(t, "a bad one", failure(rounds.Put(ctx, coach, course.Round{ID: "r2", Student: ada, Revision: 1})), domain.Invalid, "round_invalid")
}

// As of a session: see TestReplayAfterConsentIsWithdrawnIsAcknowledged there.
func TestReplayOfARoundAfterConsentIsWithdrawn(t *testing.T) {
	h := open(t)
	rounds := h.mem.Rounds()
	asJune := domain.Actor{Academy: hollow, Member: june, Role: domain.Student}
	wantError(t, "without consent", failure(rounds.Put(ctx, asJune, aRound("", "r1", 1))), domain.Conflict, "consent_missing")
	must(0, h.consent(true))(t)
	must(rounds.Put(ctx, asJune, aRound("", "r1", 2)))(t)
	must(0, h.consent(false))(t)
	if again := must(rounds.Put(ctx, asJune, aRound("", "r1", 2)))(t); again.Created || again.Round.Revision != 2 {
		t.Errorf("a replay gave %+v, want what was acknowledged", again)
	}
	wantError(t, "more", failure(rounds.Put(ctx, asJune, aRound("", "r1", 3))), domain.Conflict, "consent_withdrawn")
	wantError(t, "an earlier revision", failure(rounds.Put(ctx, asJune, aRound("", "r1", 1))), domain.Conflict, "consent_withdrawn")
	must(0, rounds.Delete(ctx, asJune, "r1", "", 3))(t)
}

// Any order and any repetition of the same uploads ends in the same state.
func TestRoundOrders(t *testing.T) {
	uploads := []func(academy.RoundService) error{
		func(s academy.RoundService) error { return failure(s.Put(ctx, coach, aRound(ada, "r1", 1))) },
		func(s academy.RoundService) error { return failure(s.Put(ctx, coach, aRound(ada, "r1", 3))) },
		func(s academy.RoundService) error { return s.Delete(ctx, coach, "r1", ada, 2) },
		func(s academy.RoundService) error { return failure(s.Put(ctx, coach, aRound(ada, "r2", 1))) },
		func(s academy.RoundService) error { return s.Delete(ctx, coach, "r2", ada, 4) },
	}
	for _, order := range [][]int{{0, 2, 1, 3, 4}, {4, 3, 1, 2, 0}, {2, 4, 0, 1, 3, 3, 0, 1}} {
		h := open(t)
		for _, i := range order {
			if err := uploads[i](h.mem.Rounds()); err != nil && domain.KindOf(err) != domain.Conflict {
				t.Fatal(err)
			}
		}
		all := must(h.mem.Rounds().List(ctx, coach, academy.RoundFilter{Student: ada, Limit: 9}))(t)
		if len(all) != 1 || all[0].Round.ID != "r1" || all[0].Round.Revision != 3 {
			t.Errorf("in order %v: %+v", order, all)
		}
	}
}

func TestWhoseRound(t *testing.T) {
	h := open(t)
	rounds := h.mem.Rounds()
	must(rounds.Put(ctx, domaintest.AsAda, aRound(ada, "r1", 1)))(t)
	wantFields(t, "nobody's", failure(rounds.Put(ctx, coach, aRound("", "r9", 1))), "/student_id", "is missing; say whose round this is")
	wantFields(t, "nobody's to delete", rounds.Delete(ctx, coach, "r9", "", 1), "/student_id", "is missing; there is no such round yet, so say whose it would be")
	wantFields(t, "one that is hidden, to delete", rounds.Delete(ctx, coach2, "r1", "", 2), "/student_id", "is missing; there is no such round yet, so say whose it would be")
	wantError(t, "another coach's student", failure(rounds.Put(ctx, coach2, aRound(ada, "r2", 1))), domain.NotFound, "not_found")
	wantError(t, "another student's ID", failure(rounds.Put(ctx, domaintest.AsBen, aRound(ben, "r1", 2))), domain.Conflict, "id_taken")
	wantError(t, "another student's to delete", rounds.Delete(ctx, domaintest.AsBen, "r1", "", 2), domain.NotFound, "not_found")
	wantError(t, "a round changes hands", failure(rounds.Put(ctx, owner, aRound(ben, "r1", 2))), domain.Conflict, "other_student")
	wantError(t, "a junior without consent", failure(rounds.Put(ctx, coach, aRound(june, "r3", 1))), domain.Conflict, "consent_missing")
	must(0, rounds.Delete(ctx, coach, "r3", june, 1))(t)
	must(rounds.Put(ctx, coach, aRound("", "r1", 2)))(t) // as the round says
	must(0, rounds.Delete(ctx, key, "r1", "", 3))(t)
	must(rounds.Put(ctx, coach, aRound(ada, "r1", 4)))(t)

	for why, a := range map[string]domain.Actor{"another coach": coach2, "another student": domaintest.AsBen, "a guardian of nobody here": guardian} {
		wantError(t, why, failure(rounds.Get(ctx, a, "r1")), domain.NotFound, "not_found")
		wantError(t, why, failure(rounds.List(ctx, a, academy.RoundFilter{Student: ada, Limit: 9})), domain.NotFound, "not_found")
		wantError(t, why, failure(rounds.Course(ctx, a, ada)), domain.NotFound, "not_found")
	}
	wantError(t, "another academy", failure(rounds.Get(ctx, domaintest.AsOther, "r1")), domain.NotFound, "not_found")
	wantError(t, "an absent one", failure(rounds.Get(ctx, owner, "r9")), domain.NotFound, "not_found")
	for _, a := range []domain.Actor{owner, coach, key, domaintest.AsAda} {
		if got := must(rounds.Get(ctx, a, "r1"))(t); got.Round.ID != "r1" {
			t.Errorf("%+v reads %+v", a, got)
		}
	}
}

// What the rounds of a student tell, beside practice and the programme.
func TestCourse(t *testing.T) {
	h := open(t)
	rounds := h.mem.Rounds()
	if c := must(rounds.Course(ctx, coach, ada))(t); len(c.Rounds) != 0 || c.Programmes != nil || c.Skills != nil {
		t.Errorf("without rounds: %+v", c)
	}
	putt := must(h.curriculum.CreateSkill(ctx, coach, curriculum.Skill{Name: "Putt", Kind: curriculum.ShortPutt, Ladder: domaintest.ChipLadder()}))(t)
	sand := must(h.curriculum.CreateSkill(ctx, coach, curriculum.Skill{Name: "Sand", Kind: curriculum.BunkerShot, Ladder: domaintest.PitchLadder()}))(t)
	for i := range 12 {
		day := now.AddDate(0, 0, 3*i-40)
		for _, skill := range []domain.ID{h.pitch.ID, putt.ID, sand.ID} {
			h.practised(ada, domain.ID("s"+string(rune('a'+i)))+skill, day, skill, 3+i, "", 0)
		}
		r := aRound(ada, domain.ID("r"+string(rune('a'+i))), 1)
		r.PlayedAt = day.Add(3 * time.Hour)
		if i == 0 {
			r.PlayedAt = day.Add(-time.Hour) // before any practice
		}
		must(rounds.Put(ctx, coach, r))(t)
	}
	h.assign(ada, 1)
	h.programme = must(h.curriculum.CreateProgramme(ctx, coach, domaintest.Programme(sand.ID, h.chip.ID)))(t).ID
	h.publish()
	h.assign(ada, 1) // what is in no programme has no ladder, and no rate at a circle
	c := must(rounds.Course(ctx, coach, ada))(t)
	if len(c.Rounds) != 12 || c.UpAndDown.Chances != 24 || c.UpAndDown.Saved != 12 || len(c.Proximity) != 2 || c.Gained.Shots != 24 ||
		c.Recent.After.Rounds != 5 || c.Recent.Before.Rounds != 7 || c.Baseline.Name == "" {
		t.Errorf("got %+v", c)
	}
	var names []string
	for _, s := range c.Skills {
		names = append(names, s.Skill.Name)
		if s.Rounds != 11 || s.Shots != 11 {
			t.Errorf("%s: %+v", s.Skill.Name, s)
		}
	}
	slices.Sort(names)
	if !slices.Equal(names, []string{"Pitch", "Sand"}) {
		t.Errorf("beside the course are %v", names)
	}
	row := must(h.reading.Dashboard(ctx, coach, academy.DashboardFilter{}))(t)
	if i := slices.IndexFunc(row, func(r academy.StudentRow) bool { return r.Student.ID == ada }); row[i].Course != (course.Tally{Rounds: 12, Chances: 24, Saved: 12}) {
		t.Errorf("the dashboard has %+v", row[i].Course)
	}
	must(h.mem.Reports().Share(ctx, coach, ada, 14, "", aToken))(t)
	if r := must(h.mem.Reports().Shared(ctx, hollow, aToken))(t); r.Course.UpAndDown.Chances != 24 || r.Course.Skills != nil {
		t.Errorf("the report has %+v", r.Course)
	}
}

// The course before a programme began and since.
func TestCourseBesideProgramme(t *testing.T) {
	h := open(t)
	rounds := h.mem.Rounds()
	h.assign(ada, 1)
	for i, day := range []int{-9, -5, -4, -2, -1} {
		r := aRound(ada, domain.ID("r"+string(rune('a'+i))), 1)
		r.PlayedAt = now.AddDate(0, 0, day)
		must(rounds.Put(ctx, coach, r))(t)
	}
	c := must(rounds.Course(ctx, coach, ada))(t)
	if len(c.Programmes) != 1 {
		t.Fatalf("got %+v", c.Programmes)
	}
	p := c.Programmes[0]
	if p.Before.Rounds != 3 || p.Since.Rounds != 2 || p.Start != may(1) || p.Name == "" || p.Told || p.Verdict != course.CannotTell {
		t.Errorf("got %+v", p)
	}
}
