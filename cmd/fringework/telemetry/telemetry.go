// Package telemetry measures and traces what the service does: metrics in Prometheus'
// form on an address of their own, and spans by OTLP over HTTP. Both are off unless
// the operator asks for them; then nothing of this package runs while requests are
// answered.
//
// No label and no attribute tells a person, an academy, an address or a value of a
// statement.
package telemetry

import (
	"context"
	"errors"
	"log/slog"
	"strings"
	"time"

	"go.opentelemetry.io/otel/trace"

	"fringework/api"
	"fringework/api/mail"
	"fringework/cmd/fringework/services"
	"fringework/domain/advice"
	"fringework/repo"
)

// Telemetry is what a process tells of itself: metrics, traces or both.
type Telemetry struct {
	metrics *metrics     // nil for none
	tracer  trace.Tracer // nil for none
	flush   func(context.Context) error
}

// What it is told by others.
var (
	_ repo.Observer = (*Telemetry)(nil)
	_ api.Observer  = (*Telemetry)(nil)
)

// Begin implements what services.Services calls for background work.
func (t *Telemetry) Begin(ctx context.Context, work services.Work) (context.Context, func(error)) {
	began := time.Now()
	ctx, span := t.root(ctx, string(work))
	return ctx, func(err error) {
		failed(span, err)
		if span != nil {
			span.End()
		}
		if m := t.metrics; m != nil {
			m.workSeconds.WithLabelValues(string(work)).Observe(time.Since(began).Seconds())
			if err != nil && !errors.Is(err, context.Canceled) {
				m.workFailed.WithLabelValues(string(work)).Inc()
			}
		}
	}
}

// BeginLetter implements what mail.Courier calls for a letter.
func (t *Telemetry) BeginLetter(ctx context.Context) (context.Context, func(mail.Outcome, error)) {
	ctx, span := t.root(ctx, "letter")
	return ctx, func(o mail.Outcome, err error) {
		failed(span, err)
		if span != nil {
			span.End()
		}
		if t.metrics != nil {
			t.metrics.letters.WithLabelValues(string(o)).Inc()
		}
	}
}

// Reason implements what academy.WatchService calls for a reason that was raised or
// cleared.
func (t *Telemetry) Reason(r advice.Reason, raised bool) {
	if t.metrics == nil {
		return
	}
	change := "cleared"
	if raised {
		change = "raised"
	}
	t.metrics.reasons.WithLabelValues(string(r), change).Inc()
}

// operations are the first words of statements that are told apart.
var operations = []string{"SELECT", "INSERT", "UPDATE", "DELETE", "BEGIN", "COMMIT", "ROLLBACK", otherOperation}

const otherOperation = "OTHER"

// operationOf is what a statement does: its first word, or, after WITH, the first one
// outside parentheses that is an operation.
func operationOf(text string) string {
	depth := 0
	for word := range strings.FieldsFuncSeq(text, func(r rune) bool { return r == ' ' || r == '\n' || r == '\t' || r == ';' || r == ',' }) {
		if depth == 0 {
			upper := strings.ToUpper(word)
			for _, o := range operations {
				if upper == o {
					return o
				}
			}
			if upper != "WITH" && !strings.HasPrefix(strings.ToUpper(strings.TrimSpace(text)), "WITH") {
				return otherOperation
			}
		}
		depth += strings.Count(word, "(") - strings.Count(word, ")")
	}
	return otherOperation
}

// Config says what is told.
type Config struct {
	// Metrics says that they are counted.
	Metrics bool
	// Traces is where spans go; nil for nowhere.
	Traces  *Target
	Version string
	Log     *slog.Logger
}

// New makes what a process tells; nil when that is nothing.
func New(ctx context.Context, c Config) (*Telemetry, error) {
	if !c.Metrics && c.Traces == nil {
		return nil, nil //nolint:nilnil // to tell nothing is not an error
	}
	t := &Telemetry{}
	if c.Metrics {
		t.metrics = newMetrics()
	}
	if c.Traces == nil {
		return t, nil
	}
	return t, t.tracing(ctx, c.Version, newExporter(*c.Traces, c.Log))
}

// Close sends the spans that were not sent yet, as far as the context lets it.
func (t *Telemetry) Close(ctx context.Context) error {
	if t == nil || t.flush == nil {
		return nil
	}
	return t.flush(ctx)
}
