package api

import (
	"context"
	"encoding/json"
	"net/http/httptest"
	"net/url"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"
	"github.com/labstack/echo/v4"
	"pgregory.net/rapid"

	"fringework/domain"
	"fringework/domain/curriculum"
	"fringework/domain/greenside"
	"fringework/domain/practice"
	"fringework/domain/progress"
	"fringework/domain/streak"
)

// asked makes the context of a GET of an address.
func asked(path, target string) echo.Context {
	c := echo.New().NewContext(httptest.NewRequestWithContext(context.Background(), get, target, nil), httptest.NewRecorder())
	c.SetPath(path)
	return c
}

func TestClientID(t *testing.T) {
	for _, test := range []struct{ id, want, says string }{
		// The example of RFC 9562, appendix A.6.
		{"017F22E2-79B0-7CC3-98C4-DC0C0C07398F", "017f22e2-79b0-7cc3-98c4-dc0c0c07398f", ""},
		// The example of RFC 9562, appendix A.3.
		{"919108f7-52d1-4320-9bac-f847db4148a8", "", "is a UUID of version 4; make one UUID of version 7"},
		{"00000000-0000-0000-0000-000000000000", "", "is a UUID of version 0"},
		{"monday", "", "is not a UUID"},
		{"{017F22E2-79B0-7CC3-98C4-DC0C0C07398F}", "", "is not a UUID"},
		{"017F22E279B07CC398C4DC0C0C07398F", "", "is not a UUID"},
	} {
		c := asked(sessionPath, "/")
		c.SetParamNames("session_id")
		c.SetParamValues(test.id)
		got, err := clientID(c, "session")
		if string(got) != test.want || (err == nil) != (test.says == "") {
			t.Errorf("clientID(%q) = %q, %v; want %q", test.id, got, err, test.want)
			continue
		}
		if err == nil {
			continue
		}
		p := ProblemOf(err)
		if p.Status != 400 || p.Errors[0].Parameter != "session_id" || !strings.HasPrefix(p.Errors[0].Detail, test.says) {
			t.Errorf("clientID(%q): got %s, want %q", test.id, errorText(err), test.says)
		}
	}
}

// received reads a session as PUT does.
func received(body string) (practice.Session, error) {
	var r SessionRequest
	if err := decodeBytes([]byte(body), &r); err != nil {
		return practice.Session{}, err
	}
	return r.read("0198c5f2-0000-7000-8000-000000000001")
}

func TestReadSession(t *testing.T) {
	got, err := received(`{"student_id": "0198C5F2-0000-7000-8000-00000000000A", "started_at": "2026-05-04T17:30:00.1234567+02:00", "revision": 3,
		"blocks": [{"kind": "test", "skill_id": "0198c5f2-0000-7000-8000-00000000000b", "radius_m": 2.4384, "seconds": 900, "planned_seconds": 7, "balls": [
			{"outcome": "out"}, {"outcome": "in", "leave_m": 0, "after_s": 1.0005}, {"outcome": "holed", "club": "56", "lie": "fringe", "distance_m": 9.144}]}]}`)
	if err != nil {
		t.Fatal(errorText(err))
	}
	want := practice.Session{
		ID: "0198c5f2-0000-7000-8000-000000000001", Student: "0198c5f2-0000-7000-8000-00000000000a",
		StartedAt: time.Date(2026, 5, 4, 15, 30, 0, 123e6, time.UTC), Revision: 3,
		Blocks: []practice.Block{{Kind: curriculum.Test, Skill: "0198c5f2-0000-7000-8000-00000000000b", Radius: 8 * domain.Foot, Seconds: 900, Balls: []practice.Ball{
			{Outcome: streak.Out},
			{Outcome: streak.In, Measured: true, After: 1001 * time.Millisecond},
			{Outcome: streak.Holed, Club: "56", Lie: "fringe", Distance: 30 * domain.Foot},
		}}},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
}

func TestReadSessionRefusals(t *testing.T) {
	const block = `"kind": "test", "skill_id": "0198c5f2-0000-7000-8000-00000000000b", "radius_m": 2.4384`
	for _, test := range []struct {
		body    string
		status  int
		pointer string
		says    string
	}{
		{`{"revision": 1, "started_at": "yesterday"}`, 400, "/started_at", "is not an RFC 3339 time"},
		{`{"revision": 1, "started_at": "2026-05-04T17:30:00"}`, 400, "/started_at", "is not an RFC 3339 time"},
		{`{"revision": 1}`, 422, "/started_at", "is missing"},
		{`{"revision": 1, "started_at": "2026-05-04T17:30:00Z", "student_id": "anna"}`, 422, "/student_id", "is not a UUID"},
		{`{"revision": 1, "started_at": "2026-05-04T17:30:00Z", "blocks": [{"kind": "test", "skill_id": "0198c5f2-0000-7000-8000-00000000000b", "radius_m": 2000}]}`, 422, "/blocks/0/radius_m", "is 2000 m; give a length of at most 1000 m"},
		{`{"revision": 1, "started_at": "2026-05-04T17:30:00Z", "blocks": [{` + block + `, "plan_block": -1}]}`, 422, "/blocks/0/plan_block", "is -1"},
		{`{"revision": 1, "started_at": "2026-05-04T17:30:00Z", "blocks": [{` + block + `, "balls": [{"outcome": "near"}]}]}`, 422, "/blocks/0/balls/0/outcome", "unknown outcome"},
		{`{"revision": 1, "started_at": "2026-05-04T17:30:00Z", "blocks": [{` + block + `, "balls": [{}]}]}`, 422, "/blocks/0/balls/0/outcome", "unknown outcome"},
		{`{"revision": 1, "started_at": "2026-05-04T17:30:00Z", "blocks": [{` + block + `, "balls": [{"outcome": "in", "after_s": 1e300}]}]}`, 422, "/blocks/0/balls/0/after_s", "is 1e+300 s"},
		{`{"revision": 1, "started_at": "2026-05-04T17:30:00Z", "blocks": [{` + block + `, "balls": [{"outcome": "in", "leave_m": 1e9}]}]}`, 422, "/blocks/0/balls/0/leave_m", "is 1000000000 m"},
		{`{"revision": 1, "started_at": "2026-05-04T17:30:00Z", "blocks": [{` + block + `, "balls": ["in"]}]}`, 400, "/blocks/0/balls/0", "is a string; an object is expected"},
		{`{"revision": 1, "started_at": "2026-05-04T17:30:00Z", "blocks": [{` + block + `, "ball": []}]}`, 400, "/blocks/0/ball", "is not a field here; did you mean balls?"},
	} {
		s, err := received(test.body)
		if err == nil {
			err = s.Check(time.Date(2026, 5, 4, 20, 0, 0, 0, time.UTC))
		}
		if err == nil {
			t.Errorf("%s was accepted", test.body)
			continue
		}
		p := ProblemOf(err)
		if p.Status != test.status || p.Errors[0].Pointer != test.pointer || !strings.Contains(p.Errors[0].Detail, test.says) {
			t.Errorf("%s: got %s, want %d with %q at %s", test.body, errorText(err), test.status, test.says, test.pointer)
		}
	}
}

// ballOf draws every field of a ball, also one that is added tomorrow.
func ballOf() *rapid.Generator[practice.Ball] {
	balls := rapid.MakeCustom[practice.Ball](rapid.MakeConfig{Types: map[reflect.Type]*rapid.Generator[any]{
		reflect.TypeFor[practice.Miss]():    rapid.SampledFrom(append(practice.Misses(), "")).AsAny(),
		reflect.TypeFor[practice.Contact](): rapid.SampledFrom(append(practice.Contacts(), "")).AsAny(),
		reflect.TypeFor[streak.Outcome]():   rapid.SampledFrom(streak.Outcomes()).AsAny(),
		reflect.TypeFor[string]():           rapid.SampledFrom([]string{"", "56", "fringe", `"`, "é"}).AsAny(),
		reflect.TypeFor[int]():              rapid.IntRange(0, 15).AsAny(),
		reflect.TypeFor[domain.Length]():    lengthOf(0, 100*domain.Metre).AsAny(),
		reflect.TypeFor[time.Duration]():    rapid.Map(rapid.IntRange(0, 57_600_000), func(ms int) time.Duration { return time.Duration(ms) * time.Millisecond }).AsAny(),
	}})
	return rapid.Map(balls, func(b practice.Ball) practice.Ball {
		if !b.Measured {
			b.Leave = 0
		}
		return b
	})
}

// landingOf draws every field of a landing, also one that is added tomorrow.
func landingOf() *rapid.Generator[practice.Landing] {
	return rapid.MakeCustom[practice.Landing](rapid.MakeConfig{Types: map[reflect.Type]*rapid.Generator[any]{
		reflect.TypeFor[string]():        rapid.SampledFrom([]string{"", "56", "é"}).AsAny(),
		reflect.TypeFor[greenside.Lie](): rapid.SampledFrom(greenside.StruckLies()).AsAny(),
		reflect.TypeFor[float64]():       rapid.Float64Range(24, 70).AsAny(),
		reflect.TypeFor[domain.Length](): lengthOf(domain.Metre/2, 50*domain.Metre).AsAny(),
	}})
}

// What a client reads of a session can be sent back and says the same.
func TestSessionRoundTrip(t *testing.T) {
	block := rapid.Custom(func(t *rapid.T) practice.Block {
		b := practice.Block{
			Purpose: rapid.SampledFrom(append(curriculum.Purposes(), "")).Draw(t, "purpose"), Quiet: rapid.Bool().Draw(t, "quiet"),
			PlanBlock: rapid.IntRange(0, 12).Draw(t, "plan block"), Kind: kindOf().Draw(t, "kind"), Skill: "0198c5f2-0000-7000-8000-00000000000b",
			Radius: lengthOf(domain.Metre/10, 30*domain.Metre).Draw(t, "radius"), Seconds: rapid.IntRange(0, 14400).Draw(t, "seconds"), Planned: rapid.IntRange(0, 14400).Draw(t, "planned"),
		}
		if rapid.Bool().Draw(t, "attested") {
			b.Attested = &progress.Attested{Balls: rapid.IntRange(0, 99).Draw(t, "balls"), Inside: rapid.IntRange(0, 99).Draw(t, "inside"), Holed: rapid.IntRange(0, 99).Draw(t, "holed"), BestRun: rapid.IntRange(0, 99).Draw(t, "run")}
			return b
		}
		b.Balls = rapid.SliceOfN(ballOf(), 0, 12).Draw(t, "balls")
		return b
	})
	rapid.Check(t, func(t *rapid.T) {
		start := time.UnixMilli(rapid.Int64Range(946_684_800_000, 4_102_444_800_000).Draw(t, "start")).UTC()
		want := practice.Session{
			ID: "0198c5f2-0000-7000-8000-000000000001", Student: "0198c5f2-0000-7000-8000-00000000000a", TimeZone: "Europe/Lisbon", StartedAt: start,
			Note: rapid.SampledFrom(trickyTexts).Draw(t, "note"), Revision: rapid.IntRange(1, 1<<30).Draw(t, "revision"), Blocks: rapid.SliceOfN(block, 0, 4).Draw(t, "blocks"),
		}
		if rapid.Bool().Draw(t, "another day") {
			want.Surface, want.Variant, want.Match = curriculum.OnMat, rapid.SampledFrom(append(curriculum.Variants(), "")).Draw(t, "variant"), "0198c5f2-0000-7000-8000-00000000000d"
		}
		if rapid.Bool().Draw(t, "a green") {
			want.Green = greenside.Green{StimpFt: rapid.Float64Range(4, 16).Draw(t, "stimp"), SlopeDeg: rapid.Float64Range(-2, 2).Draw(t, "slope")}
			want.Landings = rapid.SliceOfN(landingOf(), 0, 3).Draw(t, "landings")
		}
		if rapid.Bool().Draw(t, "assigned") {
			want.Assignment, want.Week, want.Plan = "0198c5f2-0000-7000-8000-00000000000c", rapid.IntRange(1, 104).Draw(t, "week"), rapid.IntRange(1, 14).Draw(t, "plan")
		}
		if rapid.Bool().Draw(t, "ended") {
			want.EndedAt = start.Add(time.Duration(rapid.IntRange(1, 57_600_000).Draw(t, "length")) * time.Millisecond)
		}
		for i := range want.Blocks {
			want.Blocks[i].Counts = practice.CountBalls(want.Blocks[i].Balls)
		}
		text, err := json.Marshal(encodeSession(want))
		if err != nil {
			t.Fatal(err)
		}
		var members map[string]any
		if err := json.Unmarshal(text, &members); err != nil {
			t.Fatal(err)
		}
		for _, filledIn := range []string{"id", "missed", "counts", "stored_by", "received_at"} {
			delete(members, filledIn)
		}
		if text, err = json.Marshal(members); err != nil {
			t.Fatal(err)
		}
		got, err := received(string(text))
		if err != nil {
			t.Fatal(errorText(err))
		}
		if got.Fingerprint() != want.Fingerprint() {
			t.Fatalf("what was read says something else (-want +got):\n%s\n%s", cmp.Diff(want, got), text)
		}
	})
}

func TestNearText(t *testing.T) {
	short, long := streak.Tier{Run: 6, Radius: domain.Metre}, streak.Tier{Run: 10, Radius: domain.Metre, Holed: 2}
	for _, test := range []struct {
		near streak.Near
		tier streak.Tier
		want string
	}{
		{streak.Near{Runs: 3, Length: 4, Times: 2}, short, "reached 4 of 6, twice"},
		{streak.Near{Runs: 1, Length: 5, Times: 1}, short, "reached 5 of 6, once"},
		{streak.Near{Runs: 5, Length: 5, Times: 3}, short, "reached 5 of 6, 3 times"},
		{streak.Near{Runs: 1, Length: 12, Times: 1, Holed: 1}, long, "reached 12 in a row with 1 of 2 holed, once"},
	} {
		if got := encodeNear(test.near, test.tier); got.Text != test.want {
			t.Errorf("got %q, want %q", got.Text, test.want)
		}
	}
	if got := encodeNear(streak.Near{}, short); got != nil {
		t.Errorf("without a near run: got %+v, want nothing", got)
	}
}

func TestEncodeOutcome(t *testing.T) {
	at := time.Date(2026, 5, 4, 17, 40, 0, 0, time.FixedZone("", 7200))
	hit := progress.Hit{Session: "s", Block: 2, Ball: 18, At: at}
	tier := streak.Tier{Run: 7, Radius: 8 * domain.Foot}
	out := encodeOutcome(practice.PutResult{
		Session: practice.Session{ID: "s", StartedAt: at, TimeZone: "UTC", Blocks: []practice.Block{
			{Kind: curriculum.Test, Skill: "second", Radius: domain.Foot}, {Kind: curriculum.Test, Skill: "first", Radius: domain.Foot},
		}},
		Milestones: []progress.Milestone{{Skill: "first", Tier: tier, Hit: hit}},
		Results:    map[domain.ID][]progress.TierResult{"first": {{Tier: tier, Judged: 18, Inside: 17, Passed: &hit}}, "second": {{Tier: tier}}},
		Notices:    []practice.Notice{{Code: "overlaps", Detail: "shares time", Session: "other"}},
	})
	if len(out.Results) != 2 || out.Results[0].SkillID != "second" || out.Results[1].Passed.Ball != 18 {
		t.Errorf("got results %+v, want those of the session's skills in order of first use", out.Results)
	}
	if got, want := out.Milestones[0].At, at.UTC(); got != want || got.Location() != time.UTC {
		t.Errorf("got a milestone at %v, want %v", got, want)
	}
	text, err := json.Marshal(encodeOutcome(practice.PutResult{}))
	if err != nil {
		t.Fatal(err)
	}
	for _, member := range []string{`"blocks":[]`, `"milestones":[]`, `"results":[]`, `"notices":[]`} {
		if !strings.Contains(string(text), member) {
			t.Errorf("an empty session lacks %s: %s", member, text)
		}
	}
}

func TestSessionQuery(t *testing.T) {
	student := domain.Actor{Role: domain.Student, Member: "0198c5f2-0000-7000-8000-00000000000a"}
	q := newQuery(asked("/v1/sessions", "/v1/sessions"))
	if got := q.studentOr(student); got != student.Member || q.done() != nil {
		t.Errorf("a student without student_id: got %q, %v; want their own", got, q.done())
	}
	q = newQuery(asked("/v1/sessions", "/v1/sessions"))
	if q.studentOr(domain.Actor{Role: domain.Coach}); q.done() == nil {
		t.Error("a coach without student_id was not refused")
	}
	q = newQuery(asked("/v1/sessions", "/v1/sessions?from=2026-05-04T17:30:00%2B02:00"))
	if got, want := q.instant("from"), time.Date(2026, 5, 4, 15, 30, 0, 0, time.UTC); !got.Equal(want) || q.done() != nil {
		t.Errorf("from: got %v, %v; want %v", got, q.done(), want)
	}
	for _, bad := range []string{"2026-05-04", "2026-05-04T17:30:00 02:00", "now"} {
		q = newQuery(asked("/v1/sessions", "/v1/sessions?from="+url.QueryEscape(bad)))
		if q.instant("from"); q.done() == nil {
			t.Errorf("from=%s was accepted", bad)
		}
	}
}

// A cursor leads back to the position that it was made of, in this list alone.
func TestSessionCursor(t *testing.T) {
	at, id := time.Date(2026, 5, 4, 15, 30, 0, 123456000, time.UTC), uuid.NewString()
	link := next(asked("/v1/sessions", "/v1/sessions?limit=2"), at.Format(time.RFC3339Nano), id).Next
	q := newQuery(asked("/v1/sessions", link))
	gotAt, gotID := q.timeCursor()
	if q.number("limit", 1, 200, 50) != 2 || q.done() != nil || !gotAt.Equal(at) || string(gotID) != id {
		t.Errorf("got %v, %v, %v; want %v, %v", gotAt, gotID, q.done(), at, id)
	}
	q = newQuery(asked("/v1/skills", link))
	if q.timeCursor(); q.err == nil {
		t.Error("a cursor of another list was accepted")
	}
	link = next(asked("/v1/sessions", "/v1/sessions"), "yesterday", id).Next
	q = newQuery(asked("/v1/sessions", link))
	if q.timeCursor(); q.err == nil {
		t.Error("a cursor without a time was accepted")
	}
}
