package telemetry

import (
	"context"
	"net/http"
	"slices"
	"strconv"
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"fringework/api"
	"fringework/api/mail"
	"fringework/cmd/fringework/services"
	"fringework/domain/advice"
	"fringework/repo"
)

// Buckets, in seconds: of requests, of statements, and of pieces of work.
var (
	requestBuckets   = []float64{0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30}
	statementBuckets = []float64{0.0001, 0.00025, 0.0005, 0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.5, 1, 5}
	workBuckets      = append(slices.Clone(requestBuckets), 60, 120, 300)
)

// metrics are those that this process counts itself.
type metrics struct {
	registry *prometheus.Registry

	requests       *prometheus.CounterVec // route, method, class
	requestSeconds *prometheus.HistogramVec
	inFlight       prometheus.Gauge
	refused        *prometheus.CounterVec // status, code
	signIns        *prometheus.CounterVec // way, result

	statementSeconds   *prometheus.HistogramVec // operation
	statementsFailed   *prometheus.CounterVec
	transactionSeconds *prometheus.HistogramVec // mode
	retried            prometheus.Counter

	events   *prometheus.CounterVec // kind
	sessions prometheus.Counter
	reasons  *prometheus.CounterVec // reason, change

	letters        *prometheus.CounterVec   // outcome
	deliveries     *prometheus.CounterVec   // outcome
	deliverSeconds prometheus.Histogram     //
	workSeconds    *prometheus.HistogramVec // work
	workFailed     *prometheus.CounterVec
}

const namespace = "fringework"

func newMetrics() *metrics {
	m := &metrics{registry: prometheus.NewRegistry()}
	counter := func(name, help string, labels ...string) *prometheus.CounterVec {
		c := prometheus.NewCounterVec(prometheus.CounterOpts{Namespace: namespace, Name: name, Help: help}, labels)
		m.registry.MustRegister(c)
		return c
	}
	histogram := func(name, help string, buckets []float64, labels ...string) *prometheus.HistogramVec {
		h := prometheus.NewHistogramVec(prometheus.HistogramOpts{Namespace: namespace, Name: name, Help: help, Buckets: buckets}, labels)
		m.registry.MustRegister(h)
		return h
	}
	m.requests = counter("http_requests_total", "Requests answered, by the pattern of their route, method and class of status.", "route", "method", "class")
	m.requestSeconds = histogram("http_request_duration_seconds", "Time to answer a request; live streams are left out.", requestBuckets, "route", "method")
	m.inFlight = prometheus.NewGauge(prometheus.GaugeOpts{Namespace: namespace, Name: "http_requests_in_flight", Help: "Requests under way, live streams included."})
	m.refused = counter("http_requests_refused_total", "Requests that were asked to come again later (429 or 503), by the code of the problem.", "status", "code")
	m.signIns = counter("sign_ins_total", "Tries to sign in, by what with and what came of it.", "way", "result")
	m.statementSeconds = histogram("db_statement_duration_seconds", "Time until the last row of a statement was read.", statementBuckets, "operation")
	m.statementsFailed = counter("db_statement_failures_total", "Statements that failed.", "operation")
	m.transactionSeconds = histogram("db_transaction_duration_seconds", "Time of a transaction, its repetitions included.", requestBuckets, "mode")
	m.retried = counter("db_transaction_retries_total", "Transactions tried again because another met them.").WithLabelValues()
	m.events = counter("events_total", "Events written to the academies' logs, by their kind.", "kind")
	m.sessions = counter("sessions_stored_total", "Sessions of practice stored for the first time.").WithLabelValues()
	m.reasons = counter("attention_reasons_total", "Reasons to look at a student that were raised or cleared.", "reason", "change")
	m.letters = counter("letters_total", "Letters handled, by what came of it.", "outcome")
	m.deliveries = counter("webhook_tries_total", "Tries to deliver to a webhook, by what came of it.", "outcome")
	m.deliverSeconds = histogram("webhook_try_duration_seconds", "Time of a try to deliver to a webhook.", requestBuckets).WithLabelValues().(prometheus.Histogram)
	m.workSeconds = histogram("work_duration_seconds", "Time of a piece of background work, for one academy where it is done for each.", workBuckets, "work")
	m.workFailed = counter("work_failures_total", "Pieces of background work that failed and are tried again.", "work")
	m.registry.MustRegister(m.inFlight, collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	m.begin()
	return m
}

// begin makes the counters whose labels are known, at 0, so that the first of a kind
// counts as one more.
func (m *metrics) begin() {
	for _, way := range api.WaysToSignIn() {
		for _, result := range api.SignInResults() {
			m.signIns.WithLabelValues(string(way), string(result))
		}
	}
	for _, o := range operations {
		m.statementSeconds.WithLabelValues(o)
		m.statementsFailed.WithLabelValues(o)
	}
	for _, mode := range []string{reading, writing} {
		m.transactionSeconds.WithLabelValues(mode)
	}
	for _, r := range advice.Reasons() {
		m.reasons.WithLabelValues(string(r), "raised")
		m.reasons.WithLabelValues(string(r), "cleared")
	}
	for _, o := range mail.Outcomes() {
		m.letters.WithLabelValues(string(o))
	}
	for _, o := range []string{delivered, answered, unreached} {
		m.deliveries.WithLabelValues(o)
	}
	for _, w := range services.Works() {
		m.workSeconds.WithLabelValues(string(w))
		m.workFailed.WithLabelValues(string(w))
	}
	for status, code := range map[int]string{http.StatusTooManyRequests: "too_many_requests", http.StatusServiceUnavailable: "unavailable"} {
		m.refused.WithLabelValues(strconv.Itoa(status), code)
	}
}

// Process is what of a running service is read when metrics are asked for.
type Process struct {
	Version string
	// Engine is the kind of database.
	Engine string
	Pools  []repo.Pool
	// Streams is how many live streams are open.
	Streams func() int
	// Ready says whether the service can take requests, and Waiting what is queued at
	// an instant of Now.
	Ready   func(context.Context) error
	Waiting func(context.Context, time.Time) (repo.Waiting, error)
	Now     func() time.Time
}

// Watch adds what is read of a service to the metrics; it may be called once.
func (t *Telemetry) Watch(p Process) {
	if t.metrics == nil {
		return
	}
	r := t.metrics.registry
	for _, pool := range p.Pools {
		r.MustRegister(collectors.NewDBStatsCollector(pool.DB, pool.Name))
	}
	build := prometheus.NewGauge(prometheus.GaugeOpts{Namespace: namespace, Name: "build_info", Help: "1, with the release and the kind of database.", ConstLabels: prometheus.Labels{"version": p.Version, "engine": p.Engine}})
	build.Set(1)
	r.MustRegister(build, &queues{process: p}, prometheus.NewGaugeFunc(
		prometheus.GaugeOpts{Namespace: namespace, Name: "live_streams", Help: "Live streams that are open."},
		func() float64 { return float64(p.Streams()) }))
}

// queues reads what waits in the database when metrics are asked for.
type queues struct {
	process Process

	mu   sync.Mutex
	last []prometheus.Metric
	at   time.Time
}

// How old what was read may be, so that several who ask cost no more than one, and how
// long reading may take.
const (
	readEvery = 5 * time.Second
	readTime  = 3 * time.Second
)

func described(name, help string, labels ...string) *prometheus.Desc {
	return prometheus.NewDesc(namespace+"_"+name, help, labels, nil)
}

// What is read.
var (
	readyDesc      = described("ready", "1 if the service can take requests, 0 if its database is away or full.")
	lettersDesc    = described("letters_waiting", "Letters that wait to be sent, in the whole installation.")
	letterAgeDesc  = described("letters_oldest_age_seconds", "How long ago the oldest letter that waits was written; 0 if none does.")
	deliveriesDesc = described("webhook_deliveries", "Deliveries to webhooks, in the whole installation: waiting, due (those of them that could be sent now), and failed (given up within 30 days).", "state")
	deliverAgeDesc = described("webhook_deliveries_oldest_age_seconds", "How long ago the oldest event happened that waits to be delivered; 0 if none does.")
	offDesc        = described("webhooks_switched_off", "Webhooks that were switched off because they failed, in the whole installation.")
)

// Describe implements prometheus.Collector.
func (q *queues) Describe(to chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{readyDesc, lettersDesc, letterAgeDesc, deliveriesDesc, deliverAgeDesc, offDesc} {
		to <- d
	}
}

// Collect implements prometheus.Collector. What cannot be read is left out; that the
// service is not ready tells why.
func (q *queues) Collect(to chan<- prometheus.Metric) {
	q.mu.Lock()
	defer q.mu.Unlock()
	if q.last == nil || time.Since(q.at) > readEvery {
		q.last, q.at = q.read(), time.Now()
	}
	for _, m := range q.last {
		to <- m
	}
}

func (q *queues) read() []prometheus.Metric {
	gauge := func(d *prometheus.Desc, v float64, labels ...string) prometheus.Metric {
		return prometheus.MustNewConstMetric(d, prometheus.GaugeValue, v, labels...)
	}
	ctx, cancel := context.WithTimeout(context.Background(), readTime)
	defer cancel()
	if q.process.Ready(ctx) != nil {
		return []prometheus.Metric{gauge(readyDesc, 0)}
	}
	now := q.process.Now()
	w, err := q.process.Waiting(ctx, now)
	if err != nil {
		return []prometheus.Metric{gauge(readyDesc, 0)}
	}
	age := func(since time.Time) float64 {
		if since.IsZero() {
			return 0
		}
		return max(0, now.Sub(since).Seconds())
	}
	return []prometheus.Metric{
		gauge(readyDesc, 1),
		gauge(lettersDesc, float64(w.Letters)), gauge(letterAgeDesc, age(w.OldestLetter)),
		gauge(deliveriesDesc, float64(w.Deliveries), "waiting"), gauge(deliveriesDesc, float64(w.Due), "due"), gauge(deliveriesDesc, float64(w.Failed), "failed"),
		gauge(deliverAgeDesc, age(w.OldestDelivery)), gauge(offDesc, float64(w.WebhooksOff)),
	}
}

// Metrics answers /metrics, and nothing else. It is for an address of its own, which
// only the operator reaches.
func (t *Telemetry) Metrics() http.Handler {
	mux := http.NewServeMux()
	mux.Handle("GET /metrics", promhttp.HandlerFor(t.metrics.registry, promhttp.HandlerOpts{MaxRequestsInFlight: 4, Timeout: 10 * time.Second}))
	return mux
}
