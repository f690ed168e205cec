package integration_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"fringework/api"
	"fringework/domain"
	"fringework/integration/day"
)

// follow makes a session of the first week's plan, a block for each of its four,
// that took some seconds each; for the technique there is a card.
func follow(as api.Assignment, skill domain.ID, start time.Time, seconds [4]int, outcomes string) object {
	o := sessionBody(1, start)
	o["assignment_id"], o["week"], o["plan"] = as.ID, 1, 1
	var blocks []object
	for i, kind := range []string{"random", "stations", "test", "technique"} {
		b := object{"plan_block": i + 1, "kind": kind, "skill_id": skill, "radius_m": wide, "seconds": seconds[i]}
		switch kind {
		case "test":
			b["balls"] = balls(outcomes)
		case "technique":
			b["attested"] = object{"balls": 20, "inside": 9}
		}
		blocks = append(blocks, b)
	}
	o["blocks"] = blocks
	return o
}

// class is a coach with students of whom one has lapsed, one spends the time
// elsewhere, one keeps to the plan, and one is new.
type class struct {
	coach                            *person
	lapsed, lopsided, steady, newest *person
	skill, programme                 domain.ID
	assignment                       api.Assignment // steady's
}

// asPlanned are the seconds of the plan's blocks.
var asPlanned = [4]int{900, 600, 1080, 420}

func (s *service) class(t *testing.T) (c class) {
	a := s.open(t, "Classen")
	c.coach = a.coach
	c.skill = c.coach.skill("Pitch", pitchSteps()).ID
	c.programme = c.coach.publish(course("Twelve weeks", slices.Repeat([]domain.ID{c.skill}, 12)...))
	enrol := func(name string) (*person, api.Assignment) {
		p := c.coach.join(name, object{"role": "student"})
		return p, c.coach.assign(c.programme, ago(20*24), p)[0]
	}
	var as api.Assignment
	c.lapsed, as = enrol("Lapsed")
	c.lapsed.store(newID(), follow(as, c.skill, ago(15*24), asPlanned, in(3)), 201)
	c.lopsided, as = enrol("Lopsided")
	for i := range 4 {
		c.lopsided.store(newID(), follow(as, c.skill, ago(24*(i+1)), [4]int{300, 300, 300, 2100}, in(3)), 201)
	}
	c.steady, c.assignment = enrol("Steady")
	for i := range 4 {
		c.steady.store(newID(), follow(c.assignment, c.skill, ago(36*(4-i)), asPlanned, in(3)+"."), 201)
	}
	c.newest = a.student
	return c
}

// The coach's dashboard: everybody in one answer, those who need attention
// first, with reasons.
func testDashboard(t *testing.T, s *service) {
	c := s.class(t)
	rows := func(query string) []api.DashboardRow {
		t.Helper()
		return read[api.Dashboard](c.coach.caller, "/v1/dashboard"+query).Items
	}
	order := func(query string, want ...*person) {
		t.Helper()
		var got, names []string
		for _, r := range rows(query) {
			got = append(got, r.Student.Name)
		}
		for _, p := range want {
			names = append(names, p.name)
		}
		if !slices.Equal(got, names) {
			t.Errorf("dashboard%s: %q; want %q", query, got, names)
		}
	}
	order("", c.lapsed, c.newest, c.lopsided, c.steady)
	for i, reason := range []string{"lapsed", "unplanned", "lopsided", ""} {
		r := rows("")[i]
		if reason == "" {
			if len(r.Attention) != 0 {
				t.Errorf("%s needs attention for %+v; want none", r.Student.Name, r.Attention)
			}
			continue
		}
		if len(r.Attention) != 1 || r.Attention[0].Reason != reason || r.Attention[0].Evidence == "" || r.Attention[0].Advice == "" {
			t.Errorf("%s needs attention for %+v; want %s, with evidence and advice", r.Student.Name, r.Attention, reason)
		}
	}
	if e := rows("")[0].Attention[0].Evidence; !strings.Contains(e, "no session for 15 days") {
		t.Errorf("evidence %q; want the 15 days in it", e)
	}
	if e := rows("")[2].Attention[0].Evidence; !strings.Contains(e, "70 % of the time went to technique (planned 14 %)") {
		t.Errorf("evidence %q; want 2100 of 3000 seconds against 14 %%", e)
	}
	// Twenty days of three sessions a week: two weeks in full and six sevenths
	// of the third, rounded down.
	if a := rows("?reason=lapsed")[0].Assignments[0]; a.Done != 1 || a.Planned != 3+3+3 || a.Position.Week != 3 {
		t.Errorf("adherence %+v; want 1 of 9 in week 3", a)
	}

	group := made[api.Group](c.coach.caller, "/v1/groups", object{"name": "Two", "student_ids": []domain.ID{c.steady.id, c.lapsed.id}})
	order("?group_id="+string(group.ID), c.lapsed, c.steady)
	order("?programme_id="+string(c.programme), c.lapsed, c.lopsided, c.steady)
	order("?reason=lopsided", c.lopsided)
	order("?reason=slipping")
	wrongAt(t, c.coach.get("/v1/dashboard?reason=tired").problem(400, "parameter_invalid"), "reason", "lapsed")

	// An acknowledged reason is silent for some days, and stays readable.
	path := "/v1/students/" + string(c.lapsed.id) + "/acknowledgements"
	c.coach.put(path, object{"reason": "lapsed", "days": 7, "note": "On holiday."}).want(200)
	order("", c.newest, c.lopsided, c.lapsed, c.steady)
	silenced := rows("?reason=lapsed")[0].Attention[0].Silenced
	if silenced == nil || silenced.Note != "On holiday." || silenced.By != c.coach.id || silenced.Until != today(t, day.Zone(), 6) {
		t.Errorf("silenced %+v; want by the coach for seven days, today the first", silenced)
	}
	c.coach.put(path, object{"reason": "lapsed", "days": 0}).want(200)
	order("", c.lapsed, c.newest, c.lopsided, c.steady)
	wrongAt(t, c.coach.put(path, object{"reason": "lapsed", "days": 91}).problem(422, "acknowledgement_invalid"), "/days", "90")
	// Without days nobody is left to believe that the reason is silent.
	wrongAt(t, c.coach.put(path, object{"reason": "lapsed"}).problem(422, "acknowledgement_invalid"), "/days", "is missing")
	wrongAt(t, c.coach.put(path, object{"reason": "bored", "days": 1}).problem(422, "acknowledgement_invalid"), "/reason", "lapsed")

	// Many at once: what is refused keeps none of the others back.
	seen := func(student domain.ID, reason string, days int) object {
		return object{"student_id": student, "reason": reason, "days": days}
	}
	var many api.AcknowledgementResults
	c.coach.post("/v1/acknowledgements", object{"items": []object{
		seen(c.lapsed.id, "lapsed", 14), seen(newID(), "lapsed", 14), seen(c.lopsided.id, "lopsided", 14),
		{"student_id": c.steady.id, "reason": "flat", "skill_id": newID(), "days": 1},
	}}).want(200).into(&many)
	for i, code := range []string{"", "not_found", "", "acknowledgement_invalid"} {
		r := many.Results[i]
		if (r.Acknowledgement != nil) != (code == "") || r.Problem != nil && r.Problem.Code != code {
			t.Errorf("result %d is %+v; want the code %q", i, r, code)
		}
	}
	for _, r := range rows("")[2:] {
		if len(r.Attention) > 0 && r.Attention[0].Silenced == nil {
			t.Errorf("%s still needs attention for %+v", r.Student.Name, r.Attention)
		}
	}
	wrongAt(t, c.coach.post("/v1/acknowledgements", object{"items": []object{}}).problem(422, "acknowledgement_invalid"), "/items", "1000")
}

// One student in full.
func testProgress(t *testing.T, s *service) {
	c := s.class(t)
	p := progressOf(c.coach.caller, c.steady.id)
	if p.Sessions != 4 || p.LastAt == nil || len(p.Assignments) != 1 || p.Assignments[0].Done != 4 {
		t.Errorf("progress %+v; want four sessions, all for the assignment", p)
	}
	if p.Time.Sessions != 4 || len(p.Time.Kinds) != 4 {
		t.Fatalf("time kept %+v; want that of four sessions in four kinds", p.Time)
	}
	for _, k := range p.Time.Kinds {
		percent := map[string]float64{"random": 30, "stations": 20, "test": 36, "technique": 14}[k.Kind]
		// Four sessions of 3,000 s.
		if k.PlannedSeconds != int(120*percent) || k.SpentSeconds != int(120*percent) || k.PlannedPercent != percent || k.SpentPercent != percent {
			t.Errorf("time kept %+v; want %v %% of four sessions, planned and spent", k, percent)
		}
	}
	sk := skillOf(t, p, c.skill)
	if sk.Held != 0 || sk.NextTier == nil || sk.NextTier.Run != 4 || sk.BestRun.Length != 3 || sk.Near == nil || sk.Near.Text != "reached 3 of 4, 4 times" {
		t.Errorf("skill %+v; want four in a row ahead, three reached four times", sk.SkillBrief)
	}
	if sk.Total.Balls != 16 || sk.Total.Inside != 12 || sk.Total.Seconds != 4*3000 || sk.Total.Sessions != 4 {
		t.Errorf("in all %+v; want 12 of 16 balls in 12,000 s", sk.Total)
	}
	week := time.Duration(0)
	for i := range 4 {
		if sameWeek(t, p.Student.TimeZone, ago(36*(4-i))) {
			week++
		}
	}
	if sk.Week.Sessions != int(week) || sk.Week.Balls != 4*int(week) {
		t.Errorf("this week %+v; want the %d sessions since Monday", sk.Week, week)
	}
	r := sk.Rate
	if r == nil || r.Balls != 16 || r.Inside != 12 || r.Sessions != 4 || r.RadiusM != wide {
		t.Fatalf("rate %+v; want what 12 of 16 say at two metres", r)
	}
	inside := func(a, b api.Interval) bool { return a.Low >= b.Low && a.High <= b.High }
	if r.Mean <= r.Interval80.Low || r.Mean >= r.Interval80.High || !inside(r.Interval80, r.Interval95) || r.Interval95.Low < 0 || r.Interval95.High > 1 {
		t.Errorf("rate %+v; want the mean inside the intervals, the wider around the narrower", r)
	}
	// The Clopper-Pearson 95 % interval for 12 of 16 is 0.476 to 0.927 (value
	// from memory, Clopper & Pearson 1934); any sensible estimate lies in it.
	if r.Mean < 0.476 || r.Mean > 0.927 {
		t.Errorf("mean %.3f of 12 of 16; want it within 0.476 to 0.927", r.Mean)
	}
	h := read[api.SkillHistory](c.coach.caller, "/v1/students/"+string(c.steady.id)+"/skills/"+string(c.skill)+"/history")
	if len(h.Points) != 4 || h.Points[0].Judged != 4 || h.Points[0].Inside != 3 || !h.Points[0].StartedAt.Before(h.Points[3].StartedAt) {
		t.Errorf("history %+v; want four points of 3 of 4, oldest first", h.Points)
	}
	total := 0
	for _, w := range h.Weeks {
		total += w.Balls
	}
	if total != 16 {
		t.Errorf("the weeks have %d balls; want 16", total)
	}
}

// sameWeek reports whether an instant is in the present ISO week of a zone.
func sameWeek(t *testing.T, zone string, at time.Time) bool {
	t.Helper()
	where, err := time.LoadLocation(zone)
	if err != nil {
		t.Fatal(err)
	}
	year, week := clock.Now().In(where).ISOWeek()
	y, w := at.In(where).ISOWeek()
	return y == year && w == week
}
