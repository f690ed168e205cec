package api_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"fringework/api"
)

// practised lets Mira play five sessions of twenty balls inside 2.5 m, five of
// them inside, by the programme.
func (s *students) practised() {
	s.Helper()
	s.assign(s.mira)
	s.later(10 * 24 * time.Hour)
	for i := range 5 {
		s.put(50+i, s.mira.AccessToken, s.test(1, fmt.Sprintf("2026-05-%02dT17:30:00+01:00", 5+i), strings.Repeat("iooo", 5))).want(201)
	}
}

// TestLadderPreview: of the coach's three students one is known, at a quarter of
// the balls inside, and two are not.
func TestLadderPreview(t *testing.T) {
	s := newStudents(t)
	s.practised()
	path := "/v1/skills/" + string(s.skill.ID) + "/ladder/preview"
	body := object{"balls": 30, "tiers": []object{{"run": 1, "radius_m": 2.5}, {"run": 2, "radius_m": 2.5}, {"run": 12, "radius_m": 2.5}}}
	var got api.LadderPreview
	s.do("POST", path, body, as(s.coach.AccessToken)).want(200).read(&got)
	if got.Students != 3 || got.Sessions != 4 || len(got.Tiers) != 3 {
		t.Fatalf("got %+v, want three students and three steps, within four sessions", got)
	}
	// One ball is done. Two in a row in 30 balls at 25 % are as good as certain in
	// four sessions: 1/4² · (1 + 28 · 3/4) > 1. Twelve in a row come once in a million.
	for i, c := range []struct {
		passed, known int
		least, most   float64
	}{{1, 0, 0, 0}, {0, 1, 0.95, 1}, {0, 1, 0, 0.001}} {
		x := got.Tiers[i]
		if x.Passed != c.passed || x.Known != c.known || x.Unknown != 2 || !(x.Expected >= c.least && x.Expected <= c.most) {
			t.Errorf("step %d: got %+v, want %+v", i+1, x, c)
		}
	}
	at(t, s.do("POST", path, object{"balls": 0, "tiers": body["tiers"]}, as(s.coach.AccessToken)).problem(422, "ladder_invalid"), "/balls")
	at(t, s.do("POST", path, object{"balls": 9, "tiers": []object{{"run": 2, "radius_m": 1e9}}}, as(s.coach.AccessToken)).problem(422, "ladder_invalid"), "/tiers/0/radius_m")
	s.do("POST", path, object{"balls": 9, "tiers": []object{}}, as(s.coach.AccessToken)).problem(422, "ladder_invalid")
	s.do("POST", path, body, as(s.mira.AccessToken)).problem(403, "role_refused")
	s.do("POST", "/v1/skills/"+sessionID(1)+"/ladder/preview", body, as(s.coach.AccessToken)).problem(404, "not_found")
	s.do("POST", "/v1/skills/pitch/ladder/preview", body, as(s.coach.AccessToken)).problem(404, "not_found")
	s.do("POST", path, object{"ball": 9}, as(s.coach.AccessToken)).problem(400, "body_invalid")
}

// TestWarnings: what cannot be passed keeps a draft from being published; what is
// only unwise is told with the draft and with the version.
func TestWarnings(t *testing.T) {
	s := newStudents(t)
	s.practised()
	coach := s.coach.AccessToken
	const radius, detail = "/weeks/0/plans/0/blocks/1/drill/radius_m", "week 1, plan 1 (Evening), block 2 (test): "
	judged := func(metres float64) object {
		body := draft("Pitching again", s.skill.ID, 50)
		body["weeks"].([]object)[0]["plans"].([]object)[0]["blocks"].([]object)[1]["drill"] = object{"text": "One spot.", "radius_m": metres}
		return body
	}
	p := s.programme(coach, judged(4))
	path := "/v1/programmes/" + string(p.ID)
	refused := s.do("POST", path+"/versions", nil, as(coach)).problem(422, "programme_unpublishable")
	for where, got := range map[string][]api.ProblemField{"draft": p.Problems, "refusal": refused.Errors} {
		if len(got) != 1 || got[0].Pointer != radius || !strings.HasPrefix(got[0].Detail, detail+"this circle is "+map[string]string{"draft": "13.1 ft", "refusal": "4 m (13.1 ft)"}[where]+", and every step of Pitch needs") {
			t.Errorf("too wide, %s: got %+v", where, got)
		}
	}
	s.do("PUT", path, judged(2), as(coach)).want(200).read(&p)
	var v api.PublishedVersion
	s.do("POST", path+"/versions", nil, as(coach)).want(201).read(&v)
	for where, got := range map[string][]api.ProblemField{"draft": p.Warnings, "version": v.Warnings} {
		if len(got) != 2 || got[0].Pointer != radius || !strings.HasPrefix(got[0].Detail, detail+"no step of Pitch has a circle of 6.6 ft,") {
			t.Errorf("too close, %s: got %+v", where, got)
			continue
		}
		// Eight in a row of forty balls at a quarter inside: once in two thousand.
		if hopeless := got[1]; hopeless.Pointer != "/weeks/0/skill_id" || !strings.HasPrefix(hopeless.Detail, "week 1: the next step of Pitch is unlikely within 30 sessions for the one student") {
			t.Errorf("out of reach, %s: got %+v", where, hopeless)
		}
	}
	if len(p.Problems) != 0 || v.Number != 1 {
		t.Errorf("got %+v, version %d, want nothing to correct", p.Problems, v.Number)
	}
}

// TestNoProgrammeIsTold: why a session without a programme moved nothing is told
// to the student and, with the student's progress, to the coach.
func TestNoProgrammeIsTold(t *testing.T) {
	s := newStudents(t)
	s.later(12 * time.Hour)
	var out api.SessionResult
	s.put(1, s.noel.AccessToken, s.test(1, "2026-05-04T17:30:00+01:00", "iii")).want(201).read(&out)
	again := read[api.SessionResult](s.fixture, "/v1/sessions/"+sessionID(1), s.coach.AccessToken)
	for who, got := range map[string][]api.Notice{"student": out.Notices, "coach": again.Notices} {
		if len(got) != 1 || got[0].Code != "no_programme" || !strings.Contains(got[0].Detail, "no step to pass") {
			t.Errorf("%s: got %+v, want why it moved nothing", who, got)
		}
	}
	var progress api.Progress
	path := "/v1/students/" + string(s.noel.Membership.MemberID) + "/progress"
	s.do("GET", path, nil, as(s.coach.AccessToken)).want(200).read(&progress)
	if got := progress.Skills[0].Uncounted; !strings.Contains(got, "No programme with this skill is assigned") {
		t.Errorf("progress: got %q, want why the balls count for nothing", got)
	}
	s.assign(s.noel)
	var after api.Progress
	s.do("GET", path, nil, as(s.coach.AccessToken)).want(200).read(&after)
	if got := after.Skills[0].Uncounted; got != "" {
		t.Errorf("once assigned: got %q, want nothing", got)
	}
}

// TestDifferencesForTheReader: lengths in the asker's units, in both for software.
func TestDifferencesForTheReader(t *testing.T) {
	s := newStudents(t)
	coach := s.coach.AccessToken
	p := s.programme(coach, draft("Pitching", s.skill.ID, 50))
	path := "/v1/programmes/" + string(p.ID)
	s.publish(coach, p)
	changed := draft("Pitching", s.skill.ID, 50)
	changed["weeks"].([]object)[0]["plans"].([]object)[0]["blocks"].([]object)[0]["drill"] = object{"text": "One spot.", "radius_m": 1.524}
	s.do("PUT", path, changed, as(coach)).want(200)
	s.do("POST", path+"/versions", nil, as(coach)).want(201)
	want := func(who, token, before, after string) {
		t.Helper()
		items := read[api.Differences](s.fixture, path+"/differences?from=1&to=2", token).Items
		if len(items) != 1 || items[0].Before != before || items[0].After != after || items[0].Week != 1 {
			t.Errorf("%s: got %+v, want %s and %s in week 1", who, items, before, after)
		}
	}
	want("in feet", coach, "8.2 ft", "5 ft")
	s.do("PATCH", "/v1/me", object{"units": "metres"}, as(coach)).want(200)
	want("in metres", coach, "2.5 m", "1.52 m")
	_, software := s.key(s.owner.AccessToken, "programmes:read")
	want("software", software, "2.5 m (8.2 ft)", "5 ft (1.52 m)")
}
