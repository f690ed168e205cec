package telemetry

import (
	"context"
	"errors"
	"strconv"
	"time"

	"go.opentelemetry.io/otel/attribute"
	semconv "go.opentelemetry.io/otel/semconv/v1.43.0"
	"go.opentelemetry.io/otel/trace"

	"fringework/domain"
	"fringework/migrations"
	"fringework/repo"
)

// The modes of transactions.
const (
	reading = "read"
	writing = "write"
)

// Transaction implements repo.Observer.
func (t *Telemetry) Transaction(ctx context.Context, writes bool) (context.Context, func(error)) {
	mode := reading
	if writes {
		mode = writing
	}
	began := time.Now()
	ctx, span := t.child(ctx, "transaction "+mode, trace.SpanKindInternal)
	return ctx, func(err error) {
		if t.metrics != nil {
			t.metrics.transactionSeconds.WithLabelValues(mode).Observe(time.Since(began).Seconds())
		}
		if span != nil {
			if domain.Failed(err) {
				failed(span, err)
			}
			span.End()
		}
	}
}

// Retried implements repo.Observer.
func (t *Telemetry) Retried(ctx context.Context) {
	if t.metrics != nil {
		t.metrics.retried.Inc()
	}
	if t.tracer != nil {
		trace.SpanFromContext(ctx).AddEvent("retried")
	}
}

// Statement implements repo.Observer.
func (t *Telemetry) Statement(ctx context.Context, s repo.Statement) {
	operation := operationOf(s.Text)
	if m := t.metrics; m != nil {
		m.statementSeconds.WithLabelValues(operation).Observe(s.Took.Seconds())
		if s.Err != nil && !errors.Is(s.Err, context.Canceled) {
			m.statementsFailed.WithLabelValues(operation).Inc()
		}
	}
	if t.tracer == nil || !trace.SpanFromContext(ctx).IsRecording() {
		return
	}
	_, span := t.tracer.Start(ctx, operation, trace.WithTimestamp(s.Began), trace.WithSpanKind(trace.SpanKindClient), trace.WithAttributes(
		systems[s.Engine], semconv.DBOperationName(operation), semconv.DBQueryText(s.Text[:min(len(s.Text), mostText)])))
	if code := codeOf(s.Err); code != "" {
		span.SetAttributes(semconv.DBResponseStatusCode(code))
	}
	failed(span, s.Err)
	span.End(trace.WithTimestamp(s.Began.Add(s.Took)))
}

// mostText is how much of a statement's text is told, in bytes.
const mostText = 2000

// systems are the engines by the names of OpenTelemetry's conventions.
var systems = map[migrations.Engine]attribute.KeyValue{
	migrations.Postgres: semconv.DBSystemNamePostgreSQL,
	migrations.SQLite:   semconv.DBSystemNameSQLite,
}

// codeOf is what the database calls an error: PostgreSQL's SQLSTATE, or SQLite's number.
func codeOf(err error) string {
	if pg, ok := errors.AsType[interface {
		error
		SQLState() string
	}](err); ok {
		return pg.SQLState()
	}
	if lite, ok := errors.AsType[interface {
		error
		Code() int
	}](err); ok {
		return strconv.Itoa(lite.Code())
	}
	return ""
}

// sessionStored is the kind of event of a session that is new.
const sessionStored = "session.stored"

// Committed implements repo.Observer.
func (t *Telemetry) Committed(kinds []string) {
	if t.metrics == nil {
		return
	}
	for _, kind := range kinds {
		t.metrics.events.WithLabelValues(kind).Inc()
		if kind == sessionStored {
			t.metrics.sessions.Inc()
		}
	}
}
