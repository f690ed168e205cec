package integration_test

import (
	"encoding/hex"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/prometheus/common/expfmt"
	"github.com/prometheus/common/model"
	collector "go.opentelemetry.io/proto/slim/otlp/collector/trace/v1"
	spans "go.opentelemetry.io/proto/slim/otlp/trace/v1"
	"google.golang.org/protobuf/proto"

	"fringework/api"
)

// metrics are what Prometheus would read: by name and labels, such as
// up{job="x"}. A histogram is its count.
type metrics map[string]float64

// scrape reads the metrics of a service.
func (s *service) scrape(t *testing.T) metrics {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, "http://"+s.log.said(t, "metrics")+"/metrics", nil)
	if err != nil {
		t.Fatal(err)
	}
	response, err := (&http.Client{Transport: s.transport}).Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	parser := expfmt.NewTextParser(model.LegacyValidation)
	families, err := parser.TextToMetricFamilies(response.Body)
	if err != nil || response.StatusCode != http.StatusOK {
		t.Fatalf("/metrics answered %d: %v", response.StatusCode, err)
	}
	all := metrics{}
	for name, family := range families {
		for _, m := range family.GetMetric() {
			labels := model.LabelSet{}
			for _, l := range m.GetLabel() {
				labels[model.LabelName(l.GetName())] = model.LabelValue(l.GetValue())
			}
			at := name
			if len(labels) > 0 {
				at += labels.String()
			}
			all[at] = m.GetCounter().GetValue() + m.GetGauge().GetValue() + float64(m.GetHistogram().GetSampleCount()) + m.GetUntyped().GetValue()
		}
	}
	return all
}

// said gives the address in the first line of the log with a message.
func (l *logBook) said(t *testing.T, message string) string {
	t.Helper()
	for line := range strings.Lines(l.String()) {
		var entry struct{ Msg, Address string }
		if json.Unmarshal([]byte(line), &entry) == nil && entry.Msg == message {
			return entry.Address
		}
	}
	t.Fatalf("nothing in the log says %q\n%s", message, l)
	return ""
}

// someID is an identity, which no label may have.
var someID = regexp.MustCompile(`[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-`)

// Metrics count what was asked for, on an address of their own, and name nobody.
func TestMetrics(t *testing.T) {
	t.Parallel()
	onBoth(t, func(t *testing.T, e engine) {
		s := start(t, e, "--metrics", "127.0.0.1:0", "--webhooks-inside")
		url, posts := receiver(t)
		before := s.scrape(t)
		a := s.open(t, "Meterham")
		made[api.WebhookSecret](a.owner.caller, "/v1/webhooks", object{"name": "Club", "url": url, "kinds": []string{"session.stored"}})
		skill := a.coach.teach(a.student, "Pitch", pitchSteps())
		for range 3 {
			a.student.store(newID(), sessionBody(1, ago(3), test(skill, in(2))), 201)
		}
		for range 2 {
			s.caller(t).post("/v1/sign-in", object{"email": mailbox("Nobody"), "password": "a wrong one"}).want(401)
		}
		a.student.get("/v1/skills/" + string(newID())).want(404)
		s.caller(t).get("/v1/me").want(401)
		for range 3 {
			next(t, posts)
		}
		// A delivery is counted once its answer is read, which is after it arrived.
		const delivered = `fringework_webhook_tries_total{outcome="delivered"}`
		after := s.scrape(t)
		for end := time.Now().Add(time.Minute); after[delivered]-before[delivered] < 3 && time.Now().Before(end); after = s.scrape(t) {
			time.Sleep(10 * time.Millisecond)
		}
		for name, want := range map[string]float64{
			`fringework_http_requests_total{class="2xx", method="PUT", route="/v1/sessions/:session_id"}`: 3,
			`fringework_http_request_duration_seconds{method="PUT", route="/v1/sessions/:session_id"}`:    3,
			`fringework_http_requests_total{class="4xx", method="GET", route="/v1/skills/:skill_id"}`:     1,
			`fringework_http_requests_total{class="4xx", method="GET", route="/v1/me"}`:                   1,
			`fringework_http_requests_total{class="4xx", method="POST", route="/v1/sign-in"}`:             2,
			`fringework_sign_ins_total{result="refused", way="password"}`:                                 2,
			`fringework_sessions_stored_total`:                                                            3,
			`fringework_events_total{kind="session.stored"}`:                                              3,
			delivered: 3,
			`fringework_http_requests_refused_total{code="too_many_requests", status="429"}`: 0,
			`fringework_db_statement_failures_total{operation="INSERT"}`:                     0,
			`fringework_attention_reasons_total{change="raised", reason="lapsed"}`:           0,
		} {
			if got := after[name] - before[name]; got != want {
				t.Errorf("%s grew by %v, want %v", name, got, want)
			}
		}
		for _, name := range []string{
			`fringework_db_statement_duration_seconds{operation="SELECT"}`, `fringework_db_statement_duration_seconds{operation="COMMIT"}`,
			`fringework_db_transaction_duration_seconds{mode="write"}`, `fringework_db_transaction_duration_seconds{mode="read"}`,
		} {
			if after[name] <= before[name] {
				t.Errorf("%s did not grow from %v", name, before[name])
			}
		}
		if after["fringework_ready"] != 1 || after["go_goroutines"] == 0 {
			t.Error("the service is not ready, or nothing is told of its runtime")
		}
		for name := range after {
			if someID.MatchString(name) || strings.Contains(name, "Meterham") || strings.Contains(name, "@") {
				t.Errorf("%s names an academy or a person", name)
			}
		}
		s.caller(t).get("/metrics").want(404)
		t.Run("alerts", func(t *testing.T) { checkAlerts(t, after.series()) })
	})
	refuses(t, "--metrics", "serve", "--metrics", "9090", "--database", freshFile(t))
	refuses(t, "--traces", "serve", "--traces", "collector", "--database", freshFile(t))
}

// traced is a collector of traces.
type traced struct {
	mu  sync.Mutex
	all []*spans.Span
}

func (c *traced) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	body, err := io.ReadAll(r.Body)
	var batch collector.ExportTraceServiceRequest
	if err != nil || r.URL.Path != "/v1/traces" || proto.Unmarshal(body, &batch) != nil {
		w.WriteHeader(http.StatusBadRequest)
		return
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, of := range batch.GetResourceSpans() {
		for _, scope := range of.GetScopeSpans() {
			c.all = append(c.all, scope.GetSpans()...)
		}
	}
}

// A request gives one trace down to its statements, which goes on with the client's;
// webhooks are traced too and carry none of it out. No span tells a person.
func TestTraces(t *testing.T) {
	t.Parallel()
	onBoth(t, func(t *testing.T, e engine) {
		to := &traced{}
		server := httptest.NewServer(to)
		t.Cleanup(server.Close)
		s := start(t, e, "--traces", server.URL, "--webhooks-inside")
		a := s.open(t, "Tracey Links")
		url, posts := receiver(t)
		made[api.WebhookSecret](a.owner.caller, "/v1/webhooks", object{"name": "Club website", "url": url, "kinds": []string{"session.stored"}})
		skill := a.coach.teach(a.student, "Pitch", pitchSteps())
		const client, parent = "4bf92f3577b34da6a3ce929d0e0e4736", "00f067aa0ba902b7"
		id := newID()
		a.student.put(sessionPath(id), sessionBody(1, ago(3), test(skill, in(2))), header("traceparent", "00-"+client+"-"+parent+"-01")).want(201)
		if post := next(t, posts); post.header.Get("Traceparent") != "" || post.header.Get("Tracestate") != "" {
			t.Errorf("a webhook was sent with %v", post.header)
		}
		// The round in which the next one is sent begins after the first has ended.
		a.student.store(newID(), sessionBody(1, ago(3), test(skill, in(2))), 201)
		next(t, posts)
		if code := s.stop(); code != 0 { // which sends the rest
			t.Fatalf("serve ended with %d\n%s", code, s.log)
		}
		checkTrace(t, to.all, client, parent)
		names := map[string]bool{}
		for _, span := range to.all {
			names[span.GetName()] = true
			texts := []string{span.GetName(), span.GetStatus().GetMessage()}
			for _, a := range span.GetAttributes() {
				texts = append(texts, a.String())
			}
			for _, text := range texts {
				if someID.MatchString(text) || strings.ContainsAny(text, "@") || strings.Contains(text, "Tracey") || strings.Contains(text, url) || strings.Contains(text, a.student.address) {
					t.Errorf("a span tells whom it is about: %s", text)
				}
			}
		}
		for _, want := range []string{"POST /v1/academies", "transaction write", "webhooks", "POST webhook"} {
			if !names[want] {
				t.Errorf("no span %q", want)
			}
		}
	})
}

// checkTrace wants the spans of a request that came with a trace to be one tree, from
// the request to its statements.
func checkTrace(t *testing.T, all []*spans.Span, client, parent string) {
	t.Helper()
	byID := map[string]*spans.Span{}
	for _, s := range all {
		if hexOf(s.GetTraceId()) == client {
			byID[hexOf(s.GetSpanId())] = s
		}
	}
	statements := 0
	for _, s := range byID {
		up := byID[hexOf(s.GetParentSpanId())]
		switch {
		case s.GetKind() == spans.Span_SPAN_KIND_SERVER:
			if s.GetName() != "PUT /v1/sessions/:session_id" || hexOf(s.GetParentSpanId()) != parent {
				t.Errorf("the request is %v; want it to go on with the client's trace", s)
			}
		case up == nil:
			t.Errorf("%s belongs to nothing", s.GetName())
		case s.GetKind() == spans.Span_SPAN_KIND_CLIENT:
			statements++
			if s.GetStartTimeUnixNano() < up.GetStartTimeUnixNano() || !attributed(s, "db.query.text") || !attributed(s, "db.system.name") {
				t.Errorf("a statement is told as %v", s)
			}
		}
	}
	if statements < 3 {
		t.Errorf("%d statements in the trace of an upload; want its reads, its writes and its commit", statements)
	}
}

func attributed(s *spans.Span, key string) bool {
	for _, a := range s.GetAttributes() {
		if a.GetKey() == key && a.GetValue().GetStringValue() != "" {
			return true
		}
	}
	return false
}

func hexOf(id []byte) string { return hex.EncodeToString(id) }
