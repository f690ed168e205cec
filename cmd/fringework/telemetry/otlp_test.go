package telemetry

import (
	"bytes"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"go.opentelemetry.io/otel/attribute"
	"go.opentelemetry.io/otel/codes"
	sdk "go.opentelemetry.io/otel/sdk/trace"
	"go.opentelemetry.io/otel/trace"
	collector "go.opentelemetry.io/proto/slim/otlp/collector/trace/v1"
	spans "go.opentelemetry.io/proto/slim/otlp/trace/v1"
	"google.golang.org/protobuf/proto"
)

func TestTargetOf(t *testing.T) {
	t.Parallel()
	type env = map[string]string
	at := func(url string) *Target { return &Target{URL: url, Timeout: 10 * time.Second} }
	for name, c := range map[string]struct {
		flag    string
		env     env
		want    *Target
		refused string
	}{
		"nothing asks":              {},
		"the flag":                  {flag: "http://collector:4318", want: at("http://collector:4318/v1/traces")},
		"with a slash":              {flag: "https://collector/otlp/", want: at("https://collector/otlp/v1/traces")},
		"the environment":           {env: env{"OTEL_EXPORTER_OTLP_ENDPOINT": "http://c:4318"}, want: at("http://c:4318/v1/traces")},
		"of traces alone, as it is": {env: env{"OTEL_EXPORTER_OTLP_ENDPOINT": "http://c:4318", "OTEL_EXPORTER_OTLP_TRACES_ENDPOINT": "http://d/in"}, want: at("http://d/in")},
		"the flag wins":             {flag: "http://e", env: env{"OTEL_EXPORTER_OTLP_ENDPOINT": "http://c:4318", "OTEL_TRACES_EXPORTER": "none"}, want: at("http://e/v1/traces")},
		"the usual place":           {env: env{"OTEL_TRACES_EXPORTER": "otlp"}, want: at("http://localhost:4318/v1/traces")},
		"none":                      {env: env{"OTEL_EXPORTER_OTLP_ENDPOINT": "http://c:4318", "OTEL_TRACES_EXPORTER": "none"}},
		"disabled":                  {flag: "http://e", env: env{"OTEL_SDK_DISABLED": "True"}},
		"headers and time": {
			env:  env{"OTEL_EXPORTER_OTLP_ENDPOINT": "http://c", "OTEL_EXPORTER_OTLP_HEADERS": "api-key=a%20b, x = y", "OTEL_EXPORTER_OTLP_TIMEOUT": "250", "OTEL_EXPORTER_OTLP_TRACES_TIMEOUT": "500"},
			want: &Target{URL: "http://c/v1/traces", Timeout: 500 * time.Millisecond, Headers: map[string]string{"api-key": "a b", "x": "y"}},
		},
		"no address":       {flag: "collector:4318", refused: "http://localhost:4318"},
		"a password":       {flag: "http://me:secret@c", refused: "http://localhost:4318"},
		"another protocol": {env: env{"OTEL_EXPORTER_OTLP_ENDPOINT": "http://c:4317", "OTEL_EXPORTER_OTLP_PROTOCOL": "grpc"}, refused: "http/protobuf"},
		"another exporter": {env: env{"OTEL_TRACES_EXPORTER": "zipkin"}, refused: "otlp or none"},
		"another sampler":  {flag: "http://c", env: env{"OTEL_TRACES_SAMPLER": "always"}, refused: "always_on"},
		"no time":          {flag: "http://c", env: env{"OTEL_EXPORTER_OTLP_TIMEOUT": "10s"}, refused: "milliseconds"},
		"no header":        {flag: "http://c", env: env{"OTEL_EXPORTER_OTLP_HEADERS": "secret"}, refused: "name=value"},
		"a certificate":    {flag: "http://c", env: env{"OTEL_EXPORTER_OTLP_CERTIFICATE": "a.pem"}, refused: "SSL_CERT_FILE"},
	} {
		got, err := TargetOf(c.flag, func(name string) string { return c.env[name] })
		switch {
		case c.refused != "":
			if err == nil || !strings.Contains(err.Error(), c.refused) || strings.Contains(err.Error(), "secret") {
				t.Errorf("%s: %v, want it refused with %q and no secret", name, err, c.refused)
			}
		case err != nil:
			t.Errorf("%s: %v", name, err)
		default:
			if diff := cmp.Diff(c.want, got); diff != "" {
				t.Errorf("%s: %s", name, diff)
			}
		}
	}
}

// taker is a collector that answers as it is told, and then takes what comes.
type taker struct {
	mu      sync.Mutex
	answers []int
	took    []*collector.ExportTraceServiceRequest
	headers []http.Header
	t       *testing.T
}

func (c *taker) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.headers = append(c.headers, r.Header)
	body, err := io.ReadAll(r.Body)
	if err != nil || r.URL.Path != tracesPath || r.Method != http.MethodPost {
		c.t.Errorf("%s %s: %v", r.Method, r.URL.Path, err)
	}
	if len(c.answers) > 0 {
		w.WriteHeader(c.answers[0])
		c.answers = c.answers[1:]
		return
	}
	var request collector.ExportTraceServiceRequest
	if err := proto.Unmarshal(body, &request); err != nil {
		c.t.Error(err)
	}
	c.took = append(c.took, &request)
}

// exporting gives a tracer that sends each span at once to a collector, and what the
// exporter logs.
func exporting(t *testing.T, answers ...int) (trace.Tracer, *taker, *bytes.Buffer) {
	t.Helper()
	c := &taker{answers: answers, t: t}
	server := httptest.NewServer(c)
	t.Cleanup(server.Close)
	var log bytes.Buffer
	e := newExporter(Target{URL: server.URL + tracesPath, Timeout: 10 * time.Second, Headers: map[string]string{"api-key": "a b"}}, slog.New(slog.NewTextHandler(&log, nil)))
	e.wait = time.Millisecond
	return sdk.NewTracerProvider(sdk.WithSyncer(e)).Tracer("fringework"), c, &log
}

// A span reaches a collector with all that it has.
func TestExport(t *testing.T) {
	t.Parallel()
	tracer, c, log := exporting(t)
	began := time.Date(2026, 5, 4, 12, 0, 0, 5, time.UTC)
	remote := trace.NewSpanContext(trace.SpanContextConfig{TraceID: trace.TraceID{1, 2, 3}, SpanID: trace.SpanID{4, 5}, TraceFlags: trace.FlagsSampled, Remote: true})
	_, span := tracer.Start(trace.ContextWithRemoteSpanContext(t.Context(), remote), "SELECT", trace.WithTimestamp(began), trace.WithSpanKind(trace.SpanKindClient),
		trace.WithAttributes(attribute.String("a", "b"), attribute.Int("n", -3), attribute.Bool("yes", true), attribute.Float64("x", 0.5), attribute.StringSlice("all", []string{"p", "q"})))
	span.AddEvent("retried", trace.WithTimestamp(began.Add(time.Microsecond)))
	span.SetStatus(codes.Error, "")
	span.End(trace.WithTimestamp(began.Add(time.Millisecond)))
	if len(c.took) != 1 || log.Len() != 0 {
		t.Fatalf("the collector took %d batches, and the log says %s", len(c.took), log)
	}
	if h := c.headers[0]; h.Get("Content-Type") != "application/x-protobuf" || h.Get("Api-Key") != "a b" {
		t.Errorf("sent with %v", h)
	}
	scope := c.took[0].ResourceSpans[0].ScopeSpans[0]
	if scope.Scope.Name != "fringework" || len(scope.Spans) != 1 {
		t.Fatalf("sent %v", scope)
	}
	s := scope.Spans[0]
	own := span.SpanContext()
	id, traceID := own.SpanID(), own.TraceID()
	if !bytes.Equal(s.SpanId, id[:]) || !bytes.Equal(s.TraceId, traceID[:]) || !bytes.Equal(s.ParentSpanId, []byte{4, 5, 0, 0, 0, 0, 0, 0}) || s.TraceId[0] != 1 {
		t.Errorf("identities of %v", s)
	}
	if s.Name != "SELECT" || s.Kind != spans.Span_SPAN_KIND_CLIENT || s.Status.Code != spans.Status_STATUS_CODE_ERROR || s.Flags != 0x301 {
		t.Errorf("sent %v", s)
	}
	if s.StartTimeUnixNano != 1777896000000000005 || s.EndTimeUnixNano != 1777896000001000005 || len(s.Events) != 1 || s.Events[0].Name != "retried" || s.Events[0].TimeUnixNano != 1777896000000001005 {
		t.Errorf("sent times %v to %v and events %v", s.StartTimeUnixNano, s.EndTimeUnixNano, s.Events)
	}
	got := map[string]any{}
	for _, a := range s.Attributes {
		got[a.Key] = a.Value.GetValue()
		switch a.Key {
		case "a", "all":
			got[a.Key] = a.Value.GetStringValue()
		case "n":
			got[a.Key] = a.Value.GetIntValue()
		case "yes":
			got[a.Key] = a.Value.GetBoolValue()
		case "x":
			got[a.Key] = a.Value.GetDoubleValue()
		}
	}
	if diff := cmp.Diff(map[string]any{"a": "b", "n": int64(-3), "yes": true, "x": 0.5, "all": `["p","q"]`}, got); diff != "" {
		t.Error(diff)
	}
}

// A collector that asks for patience is asked again, a few times; one that refuses is
// not, and the log tells what was lost.
func TestExportAgain(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		answers []int
		asked   int
		lost    bool
	}{
		{[]int{503, 429}, 3, false}, {[]int{502, 504, 503}, 4, false}, {[]int{503, 503, 503, 503}, 4, true}, {[]int{400}, 1, true}, {[]int{302}, 1, true}, {nil, 1, false},
	} {
		tracer, to, log := exporting(t, c.answers...)
		_, span := tracer.Start(t.Context(), "x")
		span.End()
		if len(to.headers) != c.asked || strings.Contains(log.String(), "traces were not taken") != c.lost || (len(to.took) == 0) != c.lost {
			t.Errorf("a collector that answers %v was asked %d times, and the log says %q", c.answers, len(to.headers), log)
		}
	}
}
