package telemetry

import (
	"context"
	"encoding/json"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"

	sdk "go.opentelemetry.io/otel/sdk/trace"

	"fringework/api"
	"fringework/auth"
	"fringework/cmd/fringework/clock"
	"fringework/cmd/fringework/services"
	"fringework/domain"
	"fringework/repo"
)

// discarded takes spans and sends them nowhere: what sending costs is the collector's
// and the network's.
type discarded struct{}

func (discarded) ExportSpans(context.Context, []sdk.ReadOnlySpan) error { return nil }
func (discarded) Shutdown(context.Context) error                        { return nil }

// BenchmarkRequest compares what a request costs with and without telemetry: a read of
// one small row, and a write of one. Compare the rows with "off", in one run.
func BenchmarkRequest(b *testing.B) {
	for _, c := range []struct {
		name            string
		metrics, traces bool
	}{{"off", false, false}, {"metrics", true, false}, {"traces", false, true}, {"both", true, true}} {
		var t *Telemetry
		if c.metrics || c.traces {
			t = &Telemetry{}
		}
		if c.metrics {
			t.metrics = newMetrics()
		}
		if c.traces {
			t.tracer = sdk.NewTracerProvider(sdk.WithBatcher(discarded{})).Tracer("fringework")
		}
		ask := served(b, t)
		b.Run("read/"+c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				ask(b, "GET", "/v1/academy", "", 200)
			}
		})
		n := 0
		b.Run("write/"+c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				n++
				ask(b, "POST", "/v1/skills", fmt.Sprintf(`{"name":"Pitch %d","kind":"pitch","ladder":{"tiers":[{"run":5,"radius_m":2}]}}`, n), 201)
			}
		})
	}
}

// served is the API over a database of its own, as the program serves it; ask sends it
// a request of an owner's, without a network.
func served(b *testing.B, t *Telemetry) (ask func(b *testing.B, method, path, body string, want int) []byte) {
	b.Helper()
	ok := func(err error) {
		b.Helper()
		if err != nil {
			b.Fatal(err)
		}
	}
	quiet := slog.New(slog.DiscardHandler)
	config := repo.Config{URL: "sqlite:" + filepath.Join(b.TempDir(), "academy.db"), Relaxed: true, Log: quiet}
	if t != nil {
		config.Observer = t
	}
	db, err := repo.Open(b.Context(), config)
	ok(err)
	b.Cleanup(func() { ok(db.Close()) })
	all, err := services.New(db, domain.Env{Now: clock.Clock{}.Now, NewID: clock.Clock{}.NewID})
	ok(err)
	keys, err := auth.Ephemeral()
	ok(err)
	signIn, err := all.Auth(keys, auth.CheapHashParams(), "http://localhost")
	ok(err)
	with := all.API(signIn, quiet)
	if t != nil {
		with.Observer = t
	}
	var handler http.Handler = api.New(with)
	if t != nil {
		handler = t.Handler(handler)
	}
	token := ""
	ask = func(b *testing.B, method, path, body string, want int) []byte {
		r := httptest.NewRequestWithContext(b.Context(), method, path, strings.NewReader(body))
		if body != "" {
			r.Header.Set("Content-Type", "application/json")
		}
		if token != "" {
			r.Header.Set("Authorization", "Bearer "+token)
		}
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, r)
		if w.Code != want {
			b.Fatalf("%s %s: %d %s", method, path, w.Code, w.Body)
		}
		return w.Body.Bytes()
	}
	var in api.SignedIn
	ok(json.Unmarshal(ask(b, "POST", "/v1/academies", `{"academy_name":"Bench Links","time_zone":"Europe/London","name":"Ola Bench","email":"ola@bench.example","password":"a quiet green at dusk"}`, 201), &in))
	token = in.AccessToken
	return ask
}
