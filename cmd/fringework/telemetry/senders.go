package telemetry

import (
	"context"
	"time"

	semconv "go.opentelemetry.io/otel/semconv/v1.43.0"
	"go.opentelemetry.io/otel/trace"

	"fringework/domain"
	"fringework/domain/webhook"
)

// What comes of a try to deliver to a webhook: it was taken, was answered otherwise, or
// had no answer.
const (
	delivered = "delivered"
	answered  = "answered"
	unreached = "unreached"
)

// deliveries tells of the tries that a sender makes.
type deliveries struct {
	webhook.Sender
	to *Telemetry
}

// Deliveries gives a sender whose tries are told of. Those who receive them learn
// nothing of it: no trace goes out of the installation.
func (t *Telemetry) Deliveries(s webhook.Sender) webhook.Sender { return deliveries{s, t} }

// Send implements webhook.Sender.
func (d deliveries) Send(ctx context.Context, academy domain.ID, e webhook.Endpoint, v webhook.Delivery, at time.Time) webhook.Result {
	began := time.Now()
	ctx, span := d.to.child(ctx, "POST webhook", trace.SpanKindClient)
	r := d.Sender.Send(ctx, academy, e, v, at)
	outcome := delivered
	switch {
	case r.Failure != "" && r.Status != 0:
		outcome = answered
	case r.Failure != "":
		outcome = unreached
	}
	if m := d.to.metrics; m != nil {
		m.deliveries.WithLabelValues(outcome).Inc()
		m.deliverSeconds.Observe(time.Since(began).Seconds())
	}
	if span != nil {
		if r.Status != 0 {
			span.SetAttributes(semconv.HTTPResponseStatusCode(r.Status))
		}
		if outcome != delivered {
			failedAs(span, outcome)
		}
		span.End()
	}
	return r
}
