package integration_test

import (
	"encoding/json"
	"io"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"
)

// slow is a request of which only a part was sent so far.
type slow struct {
	body *io.PipeWriter
	rest []byte
	done chan answer
}

// slowly begins to store a session. The body is sent once the service asks for
// it, so that the request is under way for sure.
func (p *person) slowly() *slow {
	p.Helper()
	text, err := json.Marshal(sessionBody(1, ago(2)))
	if err != nil {
		p.Fatal(err)
	}
	reader, writer := io.Pipe()
	r, err := http.NewRequestWithContext(p.Context(), http.MethodPut, p.service.url+sessionPath(newID()), reader)
	if err != nil {
		p.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Authorization", "Bearer "+p.token)
	r.Header.Set("Expect", "100-continue")
	client := &http.Client{Transport: &http.Transport{ExpectContinueTimeout: time.Minute, DisableKeepAlives: true}}
	s := &slow{body: writer, rest: text[10:], done: make(chan answer, 1)}
	go func() {
		response, err := client.Do(r)
		if err != nil {
			s.done <- answer{TB: p.TB, what: err.Error()}
			return
		}
		defer response.Body.Close()
		body, _ := io.ReadAll(response.Body)
		s.done <- answer{TB: p.TB, what: "the slow request", status: response.StatusCode, header: response.Header, body: body}
	}()
	if _, err := writer.Write(text[:10]); err != nil {
		p.Fatal(err)
	}
	return s
}

// finish sends the rest.
func (s *slow) finish() answer {
	_, _ = s.body.Write(s.rest) // the answer tells whether it arrived
	_ = s.body.Close()
	return <-s.done
}

// A service that is told to stop says so to load balancers, ends its streams,
// takes no more connections, and answers what is under way.
func TestStop(t *testing.T) {
	// Long enough to ask it three things on the busiest machine.
	const drain = "8s"
	onBoth(t, func(t *testing.T, e engine) {
		s := start(t, e, "--drain", drain, "--grace", "25s")
		a := s.open(t, "Stopford")
		upload := a.student.slowly()
		live := a.coach.stream("/v1/live")
		defer live.end()
		s.cancel()
		balancer := s.caller(t)
		var last answer
		for last.status == 0 || last.status == 200 { // the port closes at the latest after the drain
			last = balancer.get("/readyz")
		}
		last.problem(503, "not_ready")
		if last.header.Get("Retry-After") == "" {
			t.Error("a service that stops does not say when to try again")
		}
		balancer.get("/healthz").want(200)
		a.owner.get("/v1/academy").want(200) // until the balancer has noticed
		if _, err := io.Copy(io.Discard, live.Body); err != nil {
			t.Errorf("the stream broke off: %v", err)
		}
		for refused := false; !refused; time.Sleep(20 * time.Millisecond) {
			c, err := new(net.Dialer).DialContext(t.Context(), "tcp", strings.TrimPrefix(s.url, "http://"))
			if refused = err != nil; !refused {
				c.Close()
			}
		}
		upload.finish().want(201)
		if code := s.stop(); code != 0 {
			t.Errorf("serve ended with %d; want 0\n%s", code, s.log)
		}
	})
}

// A request that never ends does not keep a service from stopping.
func TestStopAnyway(t *testing.T) {
	t.Parallel()
	s := start(t, engines[0], "--grace", "100ms")
	s.unclean = true
	student := s.open(t, "Straggle").student
	upload := student.slowly()
	if code := s.stop(); code != 1 || !strings.Contains(s.log.String(), "did not finish within the grace period") {
		t.Errorf("serve ended with %d; want 1, and why\n%s", code, s.log)
	}
	if got := upload.finish(); got.status != 0 {
		t.Errorf("the request was answered %d; want its connection closed", got.status)
	}
}
