package integration_test

import (
	"bufio"
	"context"
	"encoding/json"
	"net/http"
	"strings"
	"testing"
	"time"

	"fringework/api"
)

// stream is an open stream of what happens. Who opened it ends it.
type stream struct {
	*http.Response
	end func()
}

// patience is how long a stream may be without what is waited for. It says now
// and then that it is alive, so reading alone would wait for ever.
const patience = 2 * time.Minute

func (c *caller) stream(path string, changes ...change) stream {
	c.Helper()
	ctx, cancel := context.WithCancel(c.Context())
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, c.service.url+path, nil)
	if err != nil {
		c.Fatal(err)
	}
	if c.token != "" {
		r.Header.Set("Authorization", "Bearer "+c.token)
	}
	r.Header.Set("X-Forwarded-For", c.address)
	for _, f := range changes {
		f(r)
	}
	late := time.AfterFunc(patience, cancel)
	response, err := c.client.Do(r) //nolint:bodyclose // end closes it
	if !late.Stop() {
		c.Fatalf("%s: no answer within %v", path, patience)
	}
	if err != nil {
		c.Fatal(err)
	}
	return stream{response, func() {
		cancel()
		response.Body.Close()
	}}
}

// glance asks for a stream and reads what it says first, or the refusal.
func (c *caller) glance(path string) answer {
	c.Helper()
	s := c.stream(path)
	defer s.end()
	defer time.AfterFunc(patience, s.end).Stop()
	text := make([]byte, 4096)
	n, err := s.Body.Read(text)
	if n == 0 {
		c.Fatalf("%s: no first word: %v", path, err)
	}
	return answer{TB: c.TB, what: "GET " + path, status: s.StatusCode, header: s.Header, body: text[:n]}
}

// told reads a stream of server-sent events (WHATWG HTML, section 9.2) until
// some have come.
func (s stream) told(t *testing.T, n int) (all []api.LiveEvent, ids []string) {
	t.Helper()
	defer time.AfterFunc(patience, s.end).Stop()
	lines := bufio.NewScanner(s.Body)
	for len(all) < n && lines.Scan() {
		if id, ok := strings.CutPrefix(lines.Text(), "id: "); ok {
			ids = append(ids, id)
		}
		data, ok := strings.CutPrefix(lines.Text(), "data: ")
		if !ok {
			continue
		}
		var e api.LiveEvent
		if err := json.Unmarshal([]byte(data), &e); err != nil {
			t.Fatalf("%v in %s", err, data)
		}
		all = append(all, e)
	}
	if len(all) < n {
		t.Fatalf("the stream ended, or told nothing more for %v, after %d events (%v); want %d", patience, len(all), lines.Err(), n)
	}
	return all, ids
}

// A session in progress appears to the coach as it goes on, to nobody else, and
// a stream that broke goes on where it was.
func testLive(t *testing.T, s *service) {
	a := s.open(t, "Liveley")
	other := a.owner.join("Other", object{"role": "coach"})
	theirs := other.join("Theirs", object{"role": "student"})
	skill := a.coach.teach(a.student, "Pitch", pitchSteps())

	live := a.coach.stream("/v1/live")
	defer live.end()
	if media := live.Header.Get("Content-Type"); !strings.HasPrefix(media, "text/event-stream") {
		t.Errorf("the stream comes as %s; want text/event-stream", media)
	}
	id, start := newID(), ago(1)
	theirs.practise(ago(2))
	var events []api.LiveEvent
	var ids []string
	for n := 1; n <= 4; n++ {
		body := sessionBody(n, start, test(skill, in(n)))
		if n < 4 {
			delete(body, "ended_at")
		}
		a.student.store(id, body, 201-min(n-1, 1))
		// One at a time: whoever looks late is told of the log first.
		told, numbers := live.told(t, 1)
		events, ids = append(events, told...), append(ids, numbers...)
	}
	for i, e := range events {
		if e.SubjectID != id || e.StudentID != a.student.id {
			t.Errorf("told of %+v; want the session of the coach's own student", e)
		}
		if want := []string{"session.stored", "session.extended", "session.extended", "session.extended"}[i]; e.Kind != want {
			t.Errorf("event %d is %s; want %s", i+1, e.Kind, want)
		}
		// Going on is not in the log until it ends.
		if logged := i == 0 || i == 3; (e.Number > 0) != logged {
			t.Errorf("event %d has the number %d; want one in the log: %v", i+1, e.Number, logged)
		}
	}
	if len(ids) != 2 {
		t.Fatalf("told the ids %v; want two, those of the log", ids)
	}
	live.end()

	// From the first on: the end, which was told, and what came meanwhile.
	a.student.del(sessionPath(id) + "?revision=9").want(204)
	live = a.coach.stream("/v1/live", header("Last-Event-ID", ids[0]))
	defer live.end()
	again, _ := live.told(t, 3)
	if again[0].Number != events[3].Number || again[1].Kind != "milestone.made" || again[2].Kind != "session.deleted" {
		t.Errorf("after %s: %+v; want the end, the step passed and the deletion", ids[0], again)
	}
	wrongAt(t, a.coach.get("/v1/live", header("Last-Event-ID", "x")).problem(400, "parameter_invalid"), "Last-Event-ID", "id of an event")
	wrongAt(t, a.coach.get("/v1/live", header("Last-Event-ID", "99999999")).problem(400, "parameter_invalid"), "Last-Event-ID", "after the latest event")
}
