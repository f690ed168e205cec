package telemetry

import (
	"context"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/prometheus/client_golang/prometheus/testutil"
	"go.opentelemetry.io/otel/codes"
	sdk "go.opentelemetry.io/otel/sdk/trace"
	"go.opentelemetry.io/otel/sdk/trace/tracetest"
	"go.opentelemetry.io/otel/trace"

	"fringework/api"
	"fringework/api/mail"
	"fringework/cmd/fringework/services"
	"fringework/domain"
	"fringework/domain/advice"
	"fringework/domain/webhook"
	"fringework/repo"
)

// fixture is telemetry of both kinds over a database of its own, whose spans stay in
// memory.
type fixture struct {
	*Telemetry
	spans *tracetest.InMemoryExporter
	db    *repo.DB
}

func newFixture(t *testing.T) *fixture {
	t.Helper()
	f := &fixture{Telemetry: &Telemetry{metrics: newMetrics()}, spans: tracetest.NewInMemoryExporter()}
	provider := sdk.NewTracerProvider(sdk.WithSyncer(f.spans))
	f.tracer, f.flush = provider.Tracer("fringework"), provider.Shutdown
	var err error
	f.db, err = repo.Open(t.Context(), repo.Config{URL: "sqlite:" + filepath.Join(t.TempDir(), "academy.db"), Relaxed: true, Log: slog.New(slog.DiscardHandler), Observer: f})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = f.db.Close() })
	f.Watch(Process{
		Version: "1.2.3", Engine: "sqlite", Pools: f.db.Pools(), Streams: func() int { return 3 },
		Ready: f.db.Ready, Waiting: f.db.Waiting, Now: time.Now,
	})
	f.spans.Reset()
	return f
}

// ask sends a request to a handler and gives the status.
func ask(h http.Handler, method, path string, header ...string) int {
	r := httptest.NewRequestWithContext(context.Background(), method, path, nil)
	for i := 0; i < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w.Code
}

// span finds the one span of a name.
func (f *fixture) span(t *testing.T, name string) tracetest.SpanStub {
	t.Helper()
	all := f.spans.GetSpans()
	i := slices.IndexFunc(all, func(s tracetest.SpanStub) bool { return s.Name == name })
	if i < 0 {
		t.Fatalf("no span %q among %q", name, namesOf(all))
	}
	return all[i]
}

func namesOf(all tracetest.SpanStubs) (names []string) {
	for _, s := range all {
		names = append(names, s.Name)
	}
	return names
}

// One trace goes from the request that a client sent to the statements that it caused.
func TestTraceFromRequestToStatement(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	handler := f.Handler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		f.Routed(r.Context(), "/v1/things/:id")
		if _, err := f.db.Academies(r.Context()); err != nil {
			t.Error(err)
		}
		w.WriteHeader(http.StatusTeapot)
	}))
	ask(handler, "GET", "/v1/things/petra?email=petra", "traceparent", "00-0af7651916cd43dd8448eb211c80319c-b7ad6b7169203331-01")
	request, transaction, statement := f.span(t, "GET /v1/things/:id"), f.span(t, "transaction read"), f.span(t, "SELECT")
	if request.SpanKind != trace.SpanKindServer || request.Parent.SpanID().String() != "b7ad6b7169203331" || request.SpanContext.TraceID().String() != "0af7651916cd43dd8448eb211c80319c" {
		t.Errorf("the request's span is %+v, want it to go on with the client's trace", request)
	}
	if transaction.Parent.SpanID() != request.SpanContext.SpanID() || statement.Parent.SpanID() != transaction.SpanContext.SpanID() {
		t.Error("the spans are not one inside the other")
	}
	if statement.SpanKind != trace.SpanKindClient || statement.EndTime.Before(statement.StartTime) {
		t.Errorf("the statement's span is %+v", statement)
	}
	attributes := map[string]string{}
	for _, s := range f.spans.GetSpans() {
		for _, a := range s.Attributes {
			attributes[string(a.Key)] = a.Value.String()
			if strings.Contains(a.Value.String(), "petra") {
				t.Errorf("%s of %s is %q, and tells a person", a.Key, s.Name, a.Value.String())
			}
		}
	}
	delete(attributes, "db.query.text")
	delete(attributes, "db.operation.name")
	want := map[string]string{"http.request.method": "GET", "http.route": "/v1/things/:id", "http.response.status_code": "418", "db.system.name": "sqlite"}
	if diff := cmp.Diff(want, attributes); diff != "" {
		t.Error(diff)
	}
}

// What belongs to no request and no work is not traced, background work is by itself,
// and an error is told by its kind alone.
func TestTracesOfWork(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	if _, err := f.db.Academies(t.Context()); err != nil {
		t.Fatal(err)
	}
	if got := f.spans.GetSpans(); len(got) != 0 {
		t.Errorf("traced %q, which belongs to nothing", namesOf(got))
	}
	ctx, end := f.Begin(t.Context(), services.WorkReasons)
	if _, err := f.db.Academies(ctx); err != nil {
		t.Fatal(err)
	}
	end(errors.Join(errors.New("of petra@saltmarsh.example"), domain.Errorf(domain.Internal, "odd", "Petra")))
	work := f.span(t, "reasons")
	if work.Parent.IsValid() || f.span(t, "transaction read").Parent.SpanID() != work.SpanContext.SpanID() {
		t.Error("work is not a trace of its own, with its transaction")
	}
	if work.Status.Code != codes.Error || work.Status.Description != "" || len(work.Attributes) != 1 || work.Attributes[0].Value.String() != "odd" {
		t.Errorf("failed as %+v %v, want its code alone", work.Status, work.Attributes)
	}
	_, done := f.BeginLetter(t.Context())
	done(mail.Later, errors.New("550 petra@saltmarsh.example"))
	if l := f.span(t, "letter"); len(l.Attributes) != 1 || l.Attributes[0].Value.String() != "_OTHER" {
		t.Errorf("the letter's span has %v", l.Attributes)
	}
	if _, err := f.db.SQL().ExecContext(ctx, "DELETE FROM nowhere"); err == nil {
		t.Fatal("deleted from nowhere")
	}
	if got := testutil.ToFloat64(f.metrics.statementsFailed.WithLabelValues("DELETE")); got != 1 {
		t.Errorf("%v failed statements counted, want 1", got)
	}
}

// sent is a sender whose results are given.
type sent []webhook.Result

func (s *sent) Send(context.Context, domain.ID, webhook.Endpoint, webhook.Delivery, time.Time) webhook.Result {
	r := (*s)[0]
	*s = (*s)[1:]
	return r
}

// Each try to deliver is counted and traced, without the receiver's address.
func TestDeliveries(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	to := f.Deliveries(&sent{{Status: 204}, {Status: 500, Failure: "The receiver answered 500."}, {Failure: "The connection failed."}})
	ctx, end := f.Begin(t.Context(), services.WorkWebhooks)
	for range 3 {
		to.Send(ctx, "a", webhook.Endpoint{URL: "https://club.example/secret"}, webhook.Delivery{}, time.Now())
	}
	end(nil)
	for _, outcome := range []string{delivered, answered, unreached} {
		if got := testutil.ToFloat64(f.metrics.deliveries.WithLabelValues(outcome)); got != 1 {
			t.Errorf("%s counted %v times, want once", outcome, got)
		}
	}
	for _, s := range f.spans.GetSpans() {
		for _, a := range s.Attributes {
			if strings.Contains(a.Value.String(), "club.example") {
				t.Errorf("%s tells the address", a.Key)
			}
		}
	}
	if n := len(f.spans.GetSpans()); n != 4 {
		t.Errorf("%d spans, want one for each try and one around them", n)
	}
}

// counts reads counters by their labels, as the metrics' page writes them.
func counts(t *testing.T, f *fixture) string {
	t.Helper()
	w := httptest.NewRecorder()
	f.Metrics().ServeHTTP(w, httptest.NewRequestWithContext(t.Context(), "GET", "/metrics", nil))
	if w.Code != http.StatusOK {
		t.Fatalf("/metrics answered %d: %s", w.Code, w.Body)
	}
	return w.Body.String()
}

// Requests are counted by what is bounded: never by what the client wrote.
func TestRequestsCounted(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	handler := f.Handler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		switch path, _ := strings.CutPrefix(r.URL.Path, "/petra"); path {
		case "/page":
			_, _ = io.WriteString(w, "a page")
		case "/nothing":
			f.Routed(r.Context(), "")
			http.NotFound(w, r)
		case "/live":
			f.Routed(r.Context(), "/v1/live")
			w.Header().Set("Content-Type", "text/event-stream")
			if err := http.NewResponseController(w).Flush(); err != nil {
				t.Error(err)
			}
		case "/panic":
			f.Routed(r.Context(), "/v1/odd")
			panic(http.ErrAbortHandler)
		}
	}))
	ask(handler, "GET", "/petra/page")
	ask(handler, "PETRA", "/petra/nothing")
	ask(handler, "GET", "/petra/live")
	func() {
		defer func() { _ = recover() }()
		ask(handler, "POST", "/petra/panic")
	}()
	f.Refused(503, "busy")
	f.SignedIn(api.ByPassword, api.SignInRefused)
	f.Reason(advice.Reasons()[0], true)
	f.Committed([]string{"session.stored", "session.edited", "session.stored"})
	text := counts(t, f)
	for _, line := range []string{
		`fringework_http_requests_total{class="2xx",method="GET",route="pages"} 1`,
		`fringework_http_requests_total{class="4xx",method="_OTHER",route="none"} 1`,
		`fringework_http_requests_total{class="2xx",method="GET",route="/v1/live"} 1`,
		`fringework_http_requests_total{class="5xx",method="POST",route="/v1/odd"} 1`,
		`fringework_http_request_duration_seconds_count{method="GET",route="pages"} 1`,
		`fringework_http_requests_in_flight 0`,
		`fringework_http_requests_refused_total{code="busy",status="503"} 1`,
		`fringework_sign_ins_total{result="refused",way="password"} 1`,
		`fringework_attention_reasons_total{change="raised",reason="` + string(advice.Reasons()[0]) + `"} 1`,
		`fringework_events_total{kind="session.edited"} 1`,
		`fringework_sessions_stored_total 2`,
		`fringework_live_streams 3`,
		`fringework_ready 1`,
		`fringework_build_info{engine="sqlite",version="1.2.3"} 1`,
	} {
		if !strings.Contains(text, line+"\n") {
			t.Errorf("no line %s", line)
		}
	}
	if strings.Contains(strings.ToLower(text), "petra") || strings.Contains(text, `duration_seconds_count{method="GET",route="/v1/live"}`) {
		t.Error("what a client wrote, or how long a stream lasted, is among the metrics")
	}
	if code := ask(f.Metrics(), "GET", "/"); code != http.StatusNotFound {
		t.Errorf("beside /metrics there is something, which answers %d", code)
	}
}

// Names, units and help are as Prometheus has them.
func TestMetricsLint(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	ask(f.Handler(http.NotFoundHandler()), "GET", "/")
	f.Committed([]string{"session.stored"})
	problems, err := testutil.GatherAndLint(f.metrics.registry)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range problems {
		t.Errorf("%s: %s", p.Metric, p.Text)
	}
}

// While the database is away the service is not ready, and what waits is unknown.
func TestNotReady(t *testing.T) {
	t.Parallel()
	f := newFixture(t)
	if err := f.db.Close(); err != nil {
		t.Fatal(err)
	}
	if text := counts(t, f); !strings.Contains(text, "fringework_ready 0\n") || strings.Contains(text, "fringework_letters_waiting 0") {
		t.Error("a service without its database is ready, or knows what waits in it")
	}
}

func TestOperationOf(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"SELECT 1": "SELECT", "select * FROM `letters`": "SELECT", "  INSERT INTO a VALUES (?)": "INSERT", "COMMIT": "COMMIT",
		"BEGIN ISOLATION LEVEL READ COMMITTED": "BEGIN", "SAVEPOINT part": "OTHER", "": "OTHER", "VACUUM; SELECT 1": "OTHER",
		"WITH a AS (SELECT 1), b AS (DELETE FROM c RETURNING id) INSERT INTO d SELECT * FROM a": "INSERT",
		"WITH x(id) AS (INSERT INTO y VALUES ($1) RETURNING id)\nSELECT id FROM x":              "SELECT",
	} {
		if got := operationOf(text); got != want {
			t.Errorf("%q is %s, want %s", text, got, want)
		}
	}
}
