package app

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"time"

	"fringework/cmd/fringework/telemetry"
	"fringework/repo"
)

// telemetryFlags say what the service tells its operator of itself. Without them it
// tells nothing.
type telemetryFlags struct {
	Metrics string `help:"Address at which Prometheus reads metrics (/metrics), such as 127.0.0.1:9090; let nobody else reach it. Without it there are none." env:"FRINGEWORK_METRICS" placeholder:"ADDRESS"`
	Traces  string `help:"Address of an OpenTelemetry collector that takes traces by OTLP over HTTP, such as http://localhost:4318. The variables OTEL_… are read too, and switch traces on by themselves." env:"FRINGEWORK_TRACES" placeholder:"URL"`
}

// validate refuses addresses that cannot be meant, before anything is done.
func (f telemetryFlags) validate() error {
	if f.Metrics != "" {
		if _, _, err := net.SplitHostPort(f.Metrics); err != nil {
			return fmt.Errorf("--metrics: %q has no port to listen on; name an address and a port, such as 127.0.0.1:9090", f.Metrics)
		}
	}
	if _, err := telemetry.TargetOf(f.Traces, os.Getenv); err != nil {
		return fmt.Errorf("--traces: %w", err)
	}
	return nil
}

// open takes the address for metrics, nil for none, and makes what is told, nil for
// nothing.
func (f telemetryFlags) open(ctx context.Context, log *slog.Logger) (net.Listener, *telemetry.Telemetry, error) {
	target, err := telemetry.TargetOf(f.Traces, os.Getenv)
	if err != nil {
		return nil, nil, err
	}
	var l net.Listener
	if f.Metrics != "" {
		if l, err = net.Listen("tcp", f.Metrics); err != nil {
			return nil, nil, fmt.Errorf("listen on %s for metrics: %w; use --metrics to name another address", f.Metrics, err)
		}
		log.Info("metrics", "address", l.Addr().String())
	}
	t, err := telemetry.New(ctx, telemetry.Config{Metrics: l != nil, Traces: target, Version: version(), Log: log})
	if err != nil && l != nil {
		err = errors.Join(err, l.Close())
	}
	return l, t, err
}

// observer is what a database tells; nil where nothing is told.
func observer(t *telemetry.Telemetry) repo.Observer {
	if t == nil {
		return nil
	}
	return t
}

// watch makes a server tell what it does, before it serves.
func (s *server) watch(t *telemetry.Telemetry, db *repo.DB) {
	if t == nil {
		return
	}
	s.telemetry = t
	s.sender = t.Deliveries(s.sender)
	t.Watch(telemetry.Process{
		Version: version(), Engine: string(db.Engine()), Pools: db.Pools(), Streams: s.api.Streams,
		Ready: db.Ready, Waiting: db.Waiting, Now: s.clock.Now,
	})
}

// serveMetrics answers on a listener until ctx ends.
func (s *server) serveMetrics(ctx context.Context, l net.Listener, log *slog.Logger) {
	if l == nil {
		return
	}
	web := &http.Server{Handler: s.telemetry.Metrics(), ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 10 * time.Second, WriteTimeout: 30 * time.Second, IdleTimeout: 2 * time.Minute}
	go func() {
		<-ctx.Done()
		_ = web.Close()
	}()
	if err := web.Serve(l); !errors.Is(err, http.ErrServerClosed) {
		log.Warn("metrics are not served any more", "error", err)
	}
}

// closeMetrics sends what was not sent yet, and gives the address back.
func closeMetrics(l net.Listener, t *telemetry.Telemetry, log *slog.Logger) {
	ctx, cancel := context.WithTimeout(context.Background(), flushTime)
	defer cancel()
	if err := t.Close(ctx); err != nil {
		log.Warn("the last traces were not sent", "error", err)
	}
	if l != nil {
		_ = l.Close() // the server may have closed it
	}
}

// flushTime is how long the last traces may take when the service stops.
const flushTime = 5 * time.Second
