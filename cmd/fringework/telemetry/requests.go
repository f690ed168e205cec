package telemetry

import (
	"context"
	"net/http"
	"strconv"
	"strings"
	"time"

	"go.opentelemetry.io/otel/codes"
	"go.opentelemetry.io/otel/propagation"
	semconv "go.opentelemetry.io/otel/semconv/v1.43.0"
	"go.opentelemetry.io/otel/trace"

	"fringework/api"
)

// request is one under way.
type request struct {
	route string
	// routed says that the API answers it, and not a page.
	routed bool
}

type requestKey struct{}

// Routes of what no route of the API answers: pages and their files, and addresses at
// which there is nothing.
const (
	pagesRoute = "pages"
	noRoute    = "none"
)

// Handler tells of the requests that next answers.
func (t *Telemetry) Handler(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		began := time.Now()
		q := &request{route: pagesRoute}
		ctx := context.WithValue(r.Context(), requestKey{}, q)
		method := methodOf(r.Method)
		ctx, span := t.served(ctx, r, method)
		if t.metrics != nil {
			t.metrics.inFlight.Inc()
		}
		answer := &answer{ResponseWriter: w}
		completed := false
		defer func() {
			if !completed {
				answer.status = http.StatusInternalServerError // it panicked
			}
			t.answered(q, method, answer, time.Since(began))
			endServed(span, q, method, answer)
		}()
		next.ServeHTTP(answer, r.WithContext(ctx))
		completed = true
	})
}

// answered counts a request that was answered.
func (t *Telemetry) answered(q *request, method string, a *answer, took time.Duration) {
	m := t.metrics
	if m == nil {
		return
	}
	m.inFlight.Dec()
	m.requests.WithLabelValues(q.route, method, strconv.Itoa(a.code()/100)+"xx").Inc()
	if !strings.HasPrefix(a.Header().Get("Content-Type"), "text/event-stream") {
		m.requestSeconds.WithLabelValues(q.route, method).Observe(took.Seconds())
	}
}

// served begins the span of a request, as the next one of the trace that it names.
func (t *Telemetry) served(ctx context.Context, r *http.Request, method string) (context.Context, trace.Span) {
	if t.tracer == nil {
		return ctx, nil
	}
	ctx = propagation.TraceContext{}.Extract(ctx, propagation.HeaderCarrier(r.Header))
	return t.tracer.Start(ctx, method, trace.WithSpanKind(trace.SpanKindServer), trace.WithAttributes(semconv.HTTPRequestMethodKey.String(method)))
}

// endServed ends it, named after its route.
func endServed(span trace.Span, q *request, method string, a *answer) {
	if span == nil {
		return
	}
	if q.routed && q.route != noRoute {
		span.SetName(method + " " + q.route)
		span.SetAttributes(semconv.HTTPRoute(q.route))
	}
	span.SetAttributes(semconv.HTTPResponseStatusCode(a.code()))
	if a.code() >= http.StatusInternalServerError {
		span.SetStatus(codes.Error, "")
		span.SetAttributes(semconv.ErrorTypeKey.String(strconv.Itoa(a.code())))
	}
	span.End()
}

// Trace implements api.Observer.
func (t *Telemetry) Trace(ctx context.Context) string {
	if of := trace.SpanContextFromContext(ctx); of.IsValid() {
		return of.TraceID().String()
	}
	return ""
}

// Routed implements api.Observer.
func (t *Telemetry) Routed(ctx context.Context, pattern string) {
	if q, ok := ctx.Value(requestKey{}).(*request); ok {
		q.route, q.routed = pattern, true
		if pattern == "" {
			q.route = noRoute
		}
	}
}

// Refused implements api.Observer.
func (t *Telemetry) Refused(status int, code string) {
	if t.metrics != nil {
		t.metrics.refused.WithLabelValues(strconv.Itoa(status), code).Inc()
	}
}

// SignedIn implements api.Observer.
func (t *Telemetry) SignedIn(way api.SignInWay, result api.SignInResult) {
	if t.metrics != nil {
		t.metrics.signIns.WithLabelValues(string(way), string(result)).Inc()
	}
}

// methodOf is a method that is known, or OpenTelemetry's word for any other: whoever
// asks chooses it.
func methodOf(method string) string {
	switch method {
	case http.MethodGet, http.MethodHead, http.MethodPost, http.MethodPut, http.MethodPatch, http.MethodDelete, http.MethodOptions:
		return method
	}
	return "_OTHER"
}

// answer notes the status of what is answered.
type answer struct {
	http.ResponseWriter
	status int
}

// WriteHeader implements http.ResponseWriter.
func (a *answer) WriteHeader(status int) {
	if a.status == 0 && status >= 200 {
		a.status = status
	}
	a.ResponseWriter.WriteHeader(status)
}

// Unwrap lets http.ResponseController see the connection.
func (a *answer) Unwrap() http.ResponseWriter { return a.ResponseWriter }

// Flush implements http.Flusher.
func (a *answer) Flush() { _ = http.NewResponseController(a.ResponseWriter).Flush() }

// code is the status; what says none is 200.
func (a *answer) code() int {
	if a.status == 0 {
		return http.StatusOK
	}
	return a.status
}
