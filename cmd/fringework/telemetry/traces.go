package telemetry

import (
	"context"
	"errors"
	"fmt"

	"go.opentelemetry.io/otel/attribute"
	"go.opentelemetry.io/otel/codes"
	"go.opentelemetry.io/otel/sdk/resource"
	sdk "go.opentelemetry.io/otel/sdk/trace"
	semconv "go.opentelemetry.io/otel/semconv/v1.43.0"
	"go.opentelemetry.io/otel/trace"

	"fringework/domain"
)

// tracing makes spans go to an exporter, in batches. Which requests are traced, and how
// large batches are, is set by OpenTelemetry's own variables of the environment
// (OTEL_TRACES_SAMPLER, OTEL_BSP_…, OTEL_RESOURCE_ATTRIBUTES, OTEL_SERVICE_NAME).
func (t *Telemetry) tracing(ctx context.Context, version string, to sdk.SpanExporter) error {
	about, err := resource.New(ctx, resource.WithTelemetrySDK(),
		resource.WithAttributes(semconv.ServiceName("fringework"), semconv.ServiceVersion(version)), resource.WithFromEnv())
	if err != nil {
		return fmt.Errorf("OTEL_RESOURCE_ATTRIBUTES: %w", err)
	}
	provider := sdk.NewTracerProvider(sdk.WithResource(about), sdk.WithBatcher(to))
	t.tracer, t.flush = provider.Tracer("fringework"), provider.Shutdown
	return nil
}

// root begins a trace of background work; the span is nil where there are no traces.
func (t *Telemetry) root(ctx context.Context, name string) (context.Context, trace.Span) {
	if t.tracer == nil {
		return ctx, nil
	}
	return t.tracer.Start(ctx, name, trace.WithNewRoot())
}

// child begins a span of a trace that there is. Nothing is traced by itself that
// belongs to no request and to no piece of work, such as looking every second whether
// there is a letter: the span is nil then, and where there are no traces.
func (t *Telemetry) child(ctx context.Context, name string, kind trace.SpanKind) (context.Context, trace.Span) {
	if t.tracer == nil || !trace.SpanFromContext(ctx).IsRecording() {
		return ctx, nil
	}
	return t.tracer.Start(ctx, name, trace.WithSpanKind(kind))
}

// failed notes an error by its kind alone: its text may tell whose data it was.
func failed(span trace.Span, err error) {
	if span == nil || err == nil || errors.Is(err, context.Canceled) {
		return
	}
	kind := codeOf(err)
	if refusal, ok := errors.AsType[*domain.Error](err); ok {
		kind = refusal.Code
	}
	if kind == "" {
		kind = "_OTHER"
	}
	failedAs(span, kind)
}

func failedAs(span trace.Span, kind string) {
	span.SetStatus(codes.Error, "")
	span.SetAttributes(attribute.KeyValue{Key: semconv.ErrorTypeKey, Value: attribute.StringValue(kind)})
}
