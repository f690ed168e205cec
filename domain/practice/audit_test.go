package practice_test

import (
	"encoding/json"
	"reflect"
	"testing"
	"time"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/domaintest"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// TestEventOfChange: an upload that only adds is told when the session ends or
// pauses, in brief; any other change keeps what was, whole.
func TestEventOfChange(t *testing.T) {
	base := func(h *fixture) practice.Session {
		s := session("s", 1, block(curriculum.Test, h.pitch, "oi"), practice.Block{Kind: curriculum.Warmup, Skill: h.pitch, Radius: ft5, Attested: &progress.Attested{Balls: 9}})
		s.EndedAt = time.Time{}
		s.Student = adaID
		return s
	}
	for _, c := range []struct {
		why    string
		change func(h *fixture, s *practice.Session)
		want   string
	}{
		{"nothing but the revision", func(*fixture, *practice.Session) {}, ""},
		{"more balls", func(_ *fixture, s *practice.Session) { s.Blocks[0].Balls = append(s.Blocks[0].Balls, balls("h")...) }, ""},
		{"more balls, time, a block, an end, a note", func(h *fixture, s *practice.Session) {
			s.Blocks[0].Balls = append(s.Blocks[0].Balls, balls("h")...)
			s.Blocks[0].Seconds++
			s.Blocks = append(s.Blocks, block(curriculum.Test, h.pitch, ""))
			s.EndedAt, s.Note = now, "windy"
		}, "session.extended"},
		{"a green and where balls landed", func(_ *fixture, s *practice.Session) {
			*s = onGreen(*s, 2)
			s.EndedAt = now
		}, "session.extended"},
		{"another outcome", func(_ *fixture, s *practice.Session) { s.Blocks[0].Balls[0].Outcome = streak.Holed }, "session.edited"},
		{"a ball less", func(_ *fixture, s *practice.Session) { s.Blocks[0].Balls = s.Blocks[0].Balls[:1] }, "session.edited"},
		{"a block less", func(_ *fixture, s *practice.Session) { s.Blocks = s.Blocks[:1] }, "session.edited"},
		{"less time", func(_ *fixture, s *practice.Session) { s.Blocks[0].Seconds-- }, "session.edited"},
		{"another kind", func(_ *fixture, s *practice.Session) { s.Blocks[0].Kind = curriculum.Warmup }, "session.edited"},
		{"another skill", func(h *fixture, s *practice.Session) { s.Blocks[0].Skill = h.chip }, "session.edited"},
		{"another radius", func(_ *fixture, s *practice.Session) { s.Blocks[0].Radius = ft3 }, "session.edited"},
		{"another block of the plan", func(_ *fixture, s *practice.Session) { s.Blocks[0].PlanBlock = 1 }, "session.edited"},
		{"another count on the card", func(_ *fixture, s *practice.Session) { s.Blocks[1].Attested = &progress.Attested{Balls: 10} }, "session.edited"},
		{"balls instead of the card", func(_ *fixture, s *practice.Session) { s.Blocks[1].Attested = nil }, "session.edited"},
		{"another start", func(_ *fixture, s *practice.Session) { s.StartedAt = s.StartedAt.Add(time.Second) }, "session.edited"},
		{"another zone", func(_ *fixture, s *practice.Session) { s.TimeZone = "Pacific/Auckland" }, "session.edited"},
		{"an assignment", func(h *fixture, s *practice.Session) { s.Assignment, s.Week, s.Plan = h.work, 1, 1 }, "session.edited"},
	} {
		h := open(t)
		h.put(coach, base(h))
		s := base(h)
		s.Revision = 2
		c.change(h, &s)
		h.put(coach, s)
		if c.want == "" {
			h.wantToldOnce(c.why, len(s.Blocks[0].Balls))
			continue
		}
		e := h.sessionEvents()[1]
		_, keeps := e.Data["before"]
		if e.Kind != c.want || keeps != (c.want == "session.edited") || e.Data["revision"] != 2 {
			t.Errorf("%s: got %+v, want %s", c.why, e, c.want)
		}
	}
}

// wantToldOnce holds a session that grew to one event once it pauses.
func (h *fixture) wantToldOnce(why string, balls int) {
	h.t.Helper()
	if got := h.events(); len(got) != 1 {
		h.t.Errorf("%s: got %v while the session goes on, want the first upload alone", why, got)
	}
	for range 2 {
		if err := h.mem.Pauses().Tell(ctx, hollow, "s"); err != nil {
			h.t.Fatal(err)
		}
	}
	events := h.sessionEvents()
	if len(events) != 2 || events[1].Kind != "session.extended" || events[1].Data["balls"] != balls || events[1].Data["revision"] != 2 ||
		events[1].Student != adaID || events[1].Actor != coach.Member {
		h.t.Errorf("%s: got %+v after the pause, want one event of %d balls", why, events, balls)
	}
}

// TestEventOfEditEnd: an end or a note that was there cannot change unseen.
func TestEventOfEditEnd(t *testing.T) {
	for why, change := range map[string]func(*practice.Session){
		"another end":  func(s *practice.Session) { s.EndedAt = s.EndedAt.Add(time.Second) },
		"no end":       func(s *practice.Session) { s.EndedAt = time.Time{} },
		"another note": func(s *practice.Session) { s.Note = "calm" },
	} {
		h := open(t)
		s := session("s", 1)
		s.Note = "windy"
		h.put(ada, s)
		s.Revision = 2
		change(&s)
		h.put(ada, s)
		if got := h.events()[1]; got != "session.edited" {
			t.Errorf("%s: got %s, want session.edited", why, got)
		}
	}
}

// TestEventKeepsEveryFieldOfABall also holds for one that is added tomorrow.
func TestEventKeepsEveryFieldOfABall(t *testing.T) {
	full := practice.Ball{Outcome: streak.In, Contact: practice.ContactThin, Measured: true, Leave: ft5, Club: "wedge", Lie: "fringe", Distance: 9 * domain.Metre, After: time.Second}
	full.Strokes = 3
	fields := reflect.ValueOf(&full).Elem()
	for _, f := range fields.Fields() {
		if f.IsZero() && f.Type() != reflect.TypeFor[practice.Miss]() { // a ball that is in has none
			switch f.Kind() {
			case reflect.Bool:
				f.SetBool(true)
			case reflect.String:
				f.SetString("x")
			default:
				f.SetInt(1)
			}
		}
	}
	kept := func(b practice.Ball) map[string]any {
		h := open(t)
		s := session("s", 1, block(curriculum.Playout, h.pitch, "i"))
		s.Blocks[0].Balls[0] = b
		h.put(ada, s)
		h.put(ada, session("s", 2))
		before := h.sessionEvents()[1].Data["before"].(map[string]any)
		return before["blocks"].([]map[string]any)[0]["balls"].([]map[string]any)[0]
	}
	want := kept(full)
	if missed := kept(practice.Ball{Outcome: streak.Out, Miss: practice.MissShort}); missed["miss"] != practice.MissShort {
		t.Errorf("an edit leaves no trace of the miss in the log: %v", missed)
	}
	for i := range fields.NumField() {
		if fields.Type().Field(i).Name == "Miss" {
			continue
		}
		without := full
		reflect.ValueOf(&without).Elem().Field(i).SetZero()
		if got := kept(without); reflect.DeepEqual(got, want) {
			t.Errorf("%s: an edit leaves no trace of it in the log: %v", fields.Type().Field(i).Name, got)
		}
	}
}

// TestEventKeepsWhatWas: the log can tell a session as it was, to the ball.
func TestEventKeepsWhatWas(t *testing.T) {
	h := open(t)
	s := session("s", 1, block(curriculum.Test, h.pitch, "o2h"), practice.Block{Kind: curriculum.Warmup, Skill: h.chip, Radius: ft3, Seconds: 60, Attested: &progress.Attested{Balls: 9, Inside: 8, Holed: 2, BestRun: 5}})
	s.Assignment, s.Week, s.Plan, s.Note, s.Blocks[0].PlanBlock = h.work, 1, 1, "windy", 4
	s.Blocks[0].Balls[0] = practice.Ball{Club: "wedge", Lie: "fringe", Distance: 50_000, After: 1500 * time.Millisecond}
	h.put(ada, s)
	was := map[string]any{
		"revision": 1, "started_at": s.StartedAt, "ended_at": s.EndedAt, "time_zone": "UTC", "note": "windy", "by": adaID,
		"assignment_id": h.work, "week": 1, "plan": 1, "version": 1,
		"blocks": []map[string]any{
			{"kind": curriculum.Test, "skill_id": h.pitch, "radius_m": 1.524, "seconds": 900, "plan_block": 4, "balls": []map[string]any{
				{"outcome": "out", "club": "wedge", "lie": "fringe", "distance_m": 5.0, "after_s": 1.5},
				{"outcome": "in", "leave_m": 0.6096},
				{"outcome": "holed"},
			}},
			{"kind": curriculum.Warmup, "skill_id": h.chip, "radius_m": 0.9144, "seconds": 60, "plan_block": 0,
				"attested": map[string]int{"balls": 9, "inside": 8, "holed": 2, "best_run": 5}},
		},
	}
	h.put(coach, with(session("s", 2, block(curriculum.Test, h.pitch, "i")), adaID))
	if got := h.sessionEvents()[1]; got.Actor != coach.Member || !reflect.DeepEqual(got.Data["before"], was) {
		t.Errorf("after an edit the log keeps\n%+v\nwant\n%+v", got.Data["before"], was)
	}
	if err := h.s.Delete(ctx, owner, "s", "", 3); err != nil {
		t.Fatal(err)
	}
	e := h.sessionEvents()[2]
	before, _ := e.Data["before"].(map[string]any)
	if e.Kind != "session.deleted" || e.Actor != domaintest.OwnerID || before["revision"] != 2 || before["by"] != coach.Member || e.Data["balls"] != 0 {
		t.Errorf("after a deletion the log keeps %+v", e)
	}
	if _, err := json.Marshal(h.sessionEvents()); err != nil {
		t.Errorf("the events cannot be encoded: %v", err)
	}
}
