package integration_test

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"fringework/api"
	"fringework/domain"
)

// One mechanism serves live uploads, lost replies, offline queues and edits.
func testRevisions(t *testing.T, s *service) {
	a := s.open(t, "Revere")
	skill := a.coach.teach(a.student, "Pitch", pitchSteps())
	start := ago(50)
	send := func(student *person, id domain.ID, revision int, outcomes string) answer {
		student.Helper()
		return student.put(sessionPath(id), sessionBody(revision, start, test(skill, outcomes)))
	}

	t.Run("replay, conflict, superseded", func(t *testing.T) {
		student := a.student.in(t)
		id := newID()
		first := send(student, id, 3, in(2)).want(201)
		if at := first.header.Get("Location"); at != sessionPath(id) {
			t.Errorf("Location %q; want %s", at, sessionPath(id))
		}
		again := send(student, id, 3, in(2)).want(200)
		if string(again.body) != string(first.body) {
			t.Errorf("a replay was answered\n%s\nwant\n%s", again.body, first.body)
		}
		p := send(student, id, 3, in(3)).problem(409, "revision_conflict")
		if p.Stored.Revision != 3 || *p.Stored.Deleted || !strings.Contains(p.Detail, "send revision 4") {
			t.Errorf("told %+v; want that 3 stands, and to send 4", p)
		}
		p = send(student, id, 2, in(2)).problem(409, "revision_superseded")
		if p.Stored.Revision != 3 {
			t.Errorf("told %+v; want that 3 stands", p.Stored)
		}
		send(student, id, 7, in(3)).want(200)
		if got := read[api.SessionResult](student.caller, sessionPath(id)); got.Revision != 7 || len(got.Blocks[0].Balls) != 3 {
			t.Errorf("stands %+v; want revision 7 of three balls", got)
		}
	})
	t.Run("a deletion is a revision", func(t *testing.T) {
		student := a.student.in(t)
		id := newID()
		send(student, id, 1, in(4)).want(201)
		held := func() int { return skillOf(t, progressOf(student.caller, student.id), skill).Held }
		if held() != 1 {
			t.Fatalf("%d tiers held; want 1", held())
		}
		gone := sessionPath(id) + "?revision=2"
		student.del(sessionPath(id)+"?revision=1").problem(409, "revision_conflict")
		student.del(gone).want(204)
		student.del(gone).want(204)
		student.get(sessionPath(id)).problem(404, "not_found")
		if held() != 0 {
			t.Errorf("%d tiers held after the deletion; want 0", held())
		}
		p := send(student, id, 1, in(4)).problem(409, "revision_superseded")
		if !*p.Stored.Deleted || !strings.Contains(p.Detail, "send revision 3 to bring the session back") {
			t.Errorf("told %+v; want that it was deleted, and how to bring it back", p)
		}
		send(student, id, 3, in(4)).want(200)
		if held() != 1 {
			t.Errorf("%d tiers held after coming back; want 1", held())
		}
		student.del(sessionPath(id) + "?revision=4").want(204)
	})
	t.Run("a deletion may overtake what it deletes", func(t *testing.T) {
		student := a.student.in(t)
		id := newID()
		student.del(sessionPath(id) + "?revision=2").want(204)
		send(student, id, 1, in(4)).problem(409, "revision_superseded")
		student.get(sessionPath(id)).problem(404, "not_found")
	})
	t.Run("ball by ball while it goes on", func(t *testing.T) {
		student := a.student.in(t)
		id := newID()
		for n := 1; n <= 4; n++ {
			body := sessionBody(n, start, test(skill, in(n)))
			delete(body, "ended_at")
			got := student.store(id, body, 201-min(n-1, 1))
			if made := len(got.Milestones) == 1; made != (n == 4) {
				t.Errorf("after %d balls: milestones %+v; want one at the fourth", n, got.Milestones)
			}
		}
		student.store(id, sessionBody(5, start, test(skill, in(4))), 200) // the end
		var told []string
		for _, e := range allEvents(a.owner.in(t).caller) {
			if e.SubjectID == id {
				told = append(told, fmt.Sprint(e.Kind, " ", e.Data["revision"]))
			}
		}
		if want := []string{"session.stored 1", "session.extended 5"}; !slices.Equal(told, want) {
			t.Errorf("the log has %v; want %v", told, want)
		}
		student.del(sessionPath(id) + "?revision=20").want(204)
	})
	t.Run("whose it is", func(t *testing.T) {
		student := a.student.in(t)
		id, coach := newID(), a.coach.in(t)
		body := sessionBody(1, start, test(skill, in(3)))
		wrongAt(t, coach.put(sessionPath(id), body).problem(422, "session_invalid"), "/student_id", "say whose")
		body["student_id"] = student.id
		coach.put(sessionPath(id), body).want(201)
		if got := read[api.SessionResult](student.caller, sessionPath(id)); got.StoredBy != a.coach.id || got.StudentID != student.id {
			t.Errorf("stored %+v; want the student's, by the coach", got.Session)
		}
		second := coach.join("Second", object{"role": "student"})
		body["student_id"], body["revision"] = second.id, 2
		coach.put(sessionPath(id), body).problem(409, "other_student")
	})
}

// What is wrong with a session is told with what would be right.
func testRefusedSessions(t *testing.T, s *service) {
	a := s.open(t, "Refuse")
	skill := a.coach.teach(a.student, "Pitch", pitchSteps())
	put := func(edit func(o object)) answer {
		o := sessionBody(1, ago(3), test(skill, in(2)))
		edit(o)
		return a.student.put(sessionPath(newID()), o)
	}
	b := func(o object) object { return o["blocks"].([]object)[0] }
	begun := func(o object, start time.Time) {
		o["started_at"] = start
		delete(o, "ended_at")
	}
	first := func(o object) object { return b(o)["balls"].([]object)[0] }
	for _, c := range []struct {
		at, say string
		edit    func(object)
	}{
		{"/started_at", "the phone's clock may be wrong", func(o object) { begun(o, clock.Now().Add(2*time.Hour)) }},
		{"/started_at", "missing", func(o object) { delete(o, "started_at") }},
		{"/ended_at", "before started_at", func(o object) { o["ended_at"] = ago(9) }},
		{"/revision", "from 1", func(o object) { o["revision"] = 0 }},
		{"/time_zone", "IANA", func(o object) { o["time_zone"] = "Mars/Olympus" }},
		{"/blocks/0/kind", "warmup", func(o object) { b(o)["kind"] = "warm-up" }},
		{"/blocks/0/radius_m", "0.1", func(o object) { b(o)["radius_m"] = 0.01 }},
		{"/blocks/0/seconds", "really spent", func(o object) { b(o)["seconds"] = -1 }},
		{"/blocks/0/skill_id", "no skill", func(o object) { b(o)["skill_id"] = newID() }},
		{"/blocks/0/balls/0/outcome", "holed", func(o object) { first(o)["outcome"] = "lost" }},
		{"/blocks/0/balls/0/distance_m", "100", func(o object) { first(o)["distance_m"] = 120 }},
		{"/blocks/0/balls/1/after_s", "order", func(o object) {
			first(o)["after_s"] = 60
			b(o)["balls"].([]object)[1]["after_s"] = 30
		}},
		{"/blocks/0/attested", "never both", func(o object) { b(o)["attested"] = object{"balls": 2, "inside": 1} }},
		{"/assignment_id", "missing", func(o object) { o["week"], o["plan"] = 1, 1 }},
	} {
		p := put(c.edit).problem(422, "session_invalid")
		wrongAt(t, p, c.at, c.say)
	}
	if o := put(func(o object) { begun(o, clock.Now().Add(4*time.Minute)) }); o.status != 201 {
		t.Errorf("a clock four minutes ahead was answered %d; want 201", o.status)
	}
	wrongAt(t, a.student.put("/v1/sessions/7b0f3ac5-6c1c-4b43-9d6d-1f7ed2e4c111", sessionBody(1, ago(3))).problem(400, "parameter_invalid"), "session_id", "version 4")
	wrongAt(t, a.student.put("/v1/sessions/today", sessionBody(1, ago(3))).problem(400, "parameter_invalid"), "session_id", "UUID of version 7")
	wrongAt(t, a.student.del(sessionPath(newID())).problem(400, "parameter_invalid"), "revision", "missing")
}

// Counts from a paper card are kept apart from recorded balls.
func testCards(t *testing.T, s *service) {
	a := s.open(t, "Carden")
	skill := a.coach.teach(a.student, "Pitch", pitchSteps())
	card := object{"kind": "test", "skill_id": skill, "radius_m": wide, "seconds": 900,
		"attested": object{"balls": 40, "inside": 30, "holed": 4, "best_run": 14}}
	got := a.student.practise(ago(3), card)
	if len(got.Milestones) != 0 {
		t.Errorf("a card made %+v; want no milestones", got.Milestones)
	}
	at := skillOf(t, progressOf(a.coach.caller, a.student.id), skill)
	want := api.AttestedTally{Balls: 40, Inside: 30, Holed: 4}
	if at.Total.Attested != want || at.Total.Balls != 0 || at.Rate != nil || at.BestRun.Length != 0 || at.Total.Seconds != 900 {
		t.Errorf("the card counts as %+v, rate %+v, best run %+v; want %+v apart and nothing else", at.Total, at.Rate, at.BestRun, want)
	}
	a.student.practise(ago(1), test(skill, "++.+"))
	at = skillOf(t, progressOf(a.coach.caller, a.student.id), skill)
	if at.Total.Balls != 4 || at.Total.Inside != 3 || at.Total.Attested != want || at.Rate == nil || at.Rate.Balls != 4 {
		t.Errorf("with four balls: %+v, rate %+v; want them counted without the card's", at.Total, at.Rate)
	}
}

// Two sessions that share time are both kept, each with a notice naming the
// other.
func testOverlaps(t *testing.T, s *service) {
	a := s.open(t, "Overton")
	skill := a.coach.teach(a.student, "Pitch", pitchSteps())
	start := ago(10)
	one := a.student.practise(start, test(skill, in(3)))
	two := a.student.practise(start.Add(30*time.Minute), test(skill, in(3)))
	three := a.student.practise(start.Add(90*time.Minute), test(skill, in(3))) // begins as two ends
	for _, c := range []struct{ of, names domain.ID }{{one.ID, two.ID}, {two.ID, one.ID}} {
		got := read[api.SessionResult](a.student.caller, sessionPath(c.of))
		if len(got.Notices) != 1 || got.Notices[0].Code != "overlaps" || got.Notices[0].SessionID != c.names {
			t.Errorf("notices %+v; want one naming %s", got.Notices, c.names)
		}
	}
	if len(three.Notices) != 0 {
		t.Errorf("notices %+v; want none between sessions that only touch", three.Notices)
	}
	if at := skillOf(t, progressOf(a.coach.caller, a.student.id), skill); at.Total.Balls != 9 {
		t.Errorf("%d balls; want all nine", at.Total.Balls)
	}
}

// The audit trail keeps what was, and everything is derived again.
func testEdits(t *testing.T, s *service) {
	a := s.open(t, "Editha")
	skill := a.coach.teach(a.student, "Pitch", pitchSteps())
	early, late := newID(), newID()
	// The later session arrives first and passes the tier; the earlier one, when
	// it comes, has passed it before.
	first := a.student.store(late, sessionBody(1, ago(24), test(skill, in(4))), 201)
	if len(first.Milestones) != 1 {
		t.Fatalf("milestones %+v; want one", first.Milestones)
	}
	holder := func() domain.ID {
		t.Helper()
		m := skillOf(t, progressOf(a.coach.caller, a.student.id), skill).Milestones
		if len(m) != 1 {
			t.Fatalf("milestones %+v; want one", m)
		}
		return m[0].SessionID
	}
	a.student.store(early, sessionBody(1, ago(48), test(skill, "."+in(4))), 201)
	if got := holder(); got != early {
		t.Errorf("the milestone was made in %s; want the earlier session, %s", got, early)
	}
	// An edit takes it back, so the later one is the first again.
	a.student.store(early, sessionBody(2, ago(48), test(skill, "."+in(3))), 200)
	if got := holder(); got != late {
		t.Errorf("after an edit the milestone is of %s; want %s", got, late)
	}
	a.student.del(sessionPath(early) + "?revision=3").want(204)

	var edited, deleted api.Event
	for _, e := range allEvents(a.owner.caller) {
		switch e.Kind {
		case "session.edited":
			edited = e
		case "session.deleted":
			deleted = e
		}
	}
	for _, c := range []struct {
		event    api.Event
		revision float64
		balls    int
	}{{edited, 1, 5}, {deleted, 2, 4}} {
		before, _ := c.event.Data["before"].(map[string]any)
		if c.event.SubjectID != early || c.event.StudentID != a.student.id || c.event.ActorID != a.student.id || before == nil {
			t.Fatalf("event %+v; want one of the student about %s that keeps what was", c.event, early)
		}
		balls := before["blocks"].([]any)[0].(map[string]any)["balls"].([]any)
		if before["revision"] != c.revision || len(balls) != c.balls || balls[0].(map[string]any)["outcome"] != "out" {
			t.Errorf("%s keeps %v; want revision %v of %d balls, the first out", c.event.Kind, before, c.revision, c.balls)
		}
	}
}

// Coaches comment under a session; the student and the guardian read it.
func testComments(t *testing.T, s *service) {
	a := s.open(t, "Comstock")
	id := a.student.practise(ago(3)).ID
	path := sessionPath(id) + "/comments"
	one := made[api.Comment](a.coach.caller, path, object{"text": "Well kept to the plan."})
	two := made[api.Comment](a.owner.caller, path, object{"text": "Start with the test."})
	for _, p := range []*person{a.student, a.guardian} {
		if got := read[api.CommentList](p.caller, path); !slices.Equal(got.Items, []api.Comment{one, two}) {
			t.Errorf("%s reads %+v; want both, in order", p.name, got.Items)
		}
	}
	wrongAt(t, a.coach.post(path, object{"text": "  "}).problem(422, "comment_invalid"), "/text", "empty")
	a.student.del(sessionPath(id) + "?revision=2").want(204)
	a.coach.post(path, object{"text": "Too late."}).problem(404, "not_found")
}

// upload is one revision of one session of the histories below; without blocks
// it is a deletion.
type upload struct {
	session  int
	revision int
	start    time.Time
	outcomes []string
}

// history makes the uploads of some sessions, a few of them edited, deleted or
// brought back.
func history(rng *rand.Rand, sessions int) (all []upload) {
	for i := range sessions {
		start := ago(24 * 7 * 6).Add(time.Duration(i) * 31 * time.Hour)
		for revision := 1; revision <= 1+rng.IntN(3); revision++ {
			u := upload{session: i, revision: revision, start: start}
			if revision == 1 || rng.IntN(4) > 0 {
				for range 1 + rng.IntN(3) {
					u.outcomes = append(u.outcomes, outcomesOf(rng, 25))
				}
			}
			all = append(all, u)
		}
	}
	return all
}

func outcomesOf(rng *rand.Rand, most int) string {
	var b strings.Builder
	for range rng.IntN(most) {
		b.WriteByte([]byte("+++++++o.")[rng.IntN(9)])
	}
	return b.String()
}

// Late, out of order and twice: the end is that of the final set of sessions.
// Three students have the same history; one's arrives in order, one's in any
// order with repeats, and one has only what stands in the end.
func testOrders(t *testing.T, s *service) {
	a := s.open(t, "Orderic")
	for seed := range uint64(3) {
		rng := rand.New(rand.NewPCG(seed, 1))
		skill := a.owner.skill("Pitch", pitchSteps()).ID
		id := a.owner.publish(course("Any order", skill))
		uploads := history(rng, 12)
		final := map[int]upload{}
		for _, u := range uploads {
			if u.revision > final[u.session].revision {
				final[u.session] = u
			}
		}
		shuffled := slices.Concat(uploads, uploads[:len(uploads)/3])
		rng.Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
		var only []upload
		for i := range len(final) {
			only = append(only, final[i])
		}
		ways := []struct {
			name    string
			uploads []upload
			ends    func() string
		}{{name: "in order", uploads: uploads}, {name: "in any order", uploads: shuffled}, {name: "only what stands", uploads: only}}
		for i, w := range ways {
			p := a.owner.join("Ordinary", object{"role": "student"})
			a.owner.assign(id, ago(24*7*5), p)
			ways[i].ends = p.arrive(t, skill, w.uploads)
		}
		// The service may learn between two of the readings from what arrived, so
		// they are read until it has; a difference that stays is one.
		ends := make([]string, len(ways))
		for deadline := time.Now().Add(time.Minute); time.Now().Before(deadline); time.Sleep(100 * time.Millisecond) {
			for i, w := range ways {
				ends[i] = w.ends()
			}
			if same := slices.Compact(slices.Clone(ends)); len(same) == 1 {
				break
			}
		}
		for i, w := range ways {
			if ends[i] != ends[0] {
				t.Errorf("seed %d, %s: progress\n%s\nwant\n%s", seed, w.name, ends[i], ends[0])
			}
		}
	}
}

// arrive sends uploads in an order and gives a reading of the progress that
// they end in, without identities.
func (p *person) arrive(t *testing.T, skill domain.ID, uploads []upload) func() string {
	t.Helper()
	ids := map[int]domain.ID{}
	for _, u := range uploads {
		if ids[u.session] == "" {
			ids[u.session] = newID()
		}
		p.upload(t, ids[u.session], skill, u)
	}
	return func() string {
		progress := progressOf(p.caller, p.id)
		progress.Student, progress.Assignments[0].AssignmentID = api.StudentBrief{}, ""
		for i := range progress.Skills[0].Milestones {
			m := &progress.Skills[0].Milestones[i]
			for n, id := range ids {
				if id == m.SessionID {
					m.SessionID = domain.ID(strings.Repeat("x", n))
				}
			}
		}
		text, err := json.Marshal(progress)
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
}

// upload sends one revision, which may be overtaken already.
func (p *person) upload(t *testing.T, id, skill domain.ID, u upload) {
	t.Helper()
	var got answer
	if u.outcomes == nil {
		got = p.del(sessionPath(id) + "?revision=" + strconv.Itoa(u.revision))
	} else {
		var blocks []object
		for _, outcomes := range u.outcomes {
			blocks = append(blocks, test(skill, outcomes))
		}
		got = p.put(sessionPath(id), sessionBody(u.revision, u.start, blocks...))
	}
	if got.status == 409 {
		got.problem(409, "revision_superseded")
	} else if got.status > 299 {
		t.Errorf("revision %d was answered %d\n%s", u.revision, got.status, got.body)
	}
}

// A list of sessions goes back in time and can be narrowed to a span.
func testSessionLists(t *testing.T, s *service) {
	a := s.open(t, "Lister")
	skill := a.coach.teach(a.student, "Pitch", pitchSteps())
	var want []domain.ID
	start := ago(200)
	for i := range 5 {
		want = append([]domain.ID{a.student.practise(start.Add(time.Duration(i)*24*time.Hour), test(skill, in(2))).ID}, want...)
	}
	got := func(query string) (ids []domain.ID) {
		for _, x := range read[api.SessionPage](a.coach.caller, "/v1/sessions?student_id="+string(a.student.id)+query).Items {
			ids = append(ids, x.ID)
			if x.Blocks[0].Balls != nil {
				t.Errorf("a list shows balls: %+v", x.Blocks)
			}
		}
		return ids
	}
	span := "&from=" + start.Add(24*time.Hour).Format(time.RFC3339) + "&until=" + start.Add(72*time.Hour).Format(time.RFC3339)
	for query, want := range map[string][]domain.ID{"": want, span: want[2:4]} {
		if ids := got(query); !reflect.DeepEqual(ids, want) {
			t.Errorf("%s: sessions %v; want %v", query, ids, want)
		}
	}
	if mine := read[api.SessionPage](a.student.caller, "/v1/sessions"); len(mine.Items) != 5 {
		t.Errorf("a student's own list has %d; want 5", len(mine.Items))
	}
	wrongAt(t, a.coach.get("/v1/sessions").problem(400, "parameter_invalid"), "student_id", "say whose")
}
