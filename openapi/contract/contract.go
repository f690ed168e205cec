// Package contract holds a running service to its description, in tests: put
// around a handler or a client's transport, it checks every exchange and counts
// which operations answered how.
//
// Every response must have a documented status, media type, headers and body,
// without members that are not described. A request must be as described when
// the service took it (2xx); what it refuses may be anything.
package contract

import (
	"bytes"
	"compress/gzip"
	"io"
	"maps"
	"net/http"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"fringework/openapi"
)

// keep is how much of a body is kept for checking; longer ones are checked but
// for their content.
const keep = 8 << 20

var (
	load  = sync.OnceValues(func() (*description, error) { return read(openapi.JSON) })
	mu    sync.Mutex
	count = map[string]int{}
)

// Seen gives how often each operation answered with each status, in all
// exchanges of this process, by keys such as "createSkill 201".
func Seen() map[string]int {
	mu.Lock()
	defer mu.Unlock()
	return maps.Clone(count)
}

// Unseen lists, in order, the successes (2xx) that the description promises and
// no exchange of this process had, as "createSkill 201".
func Unseen() []string {
	d, err := load()
	if err != nil {
		return []string{err.Error()}
	}
	seen := Seen()
	return slices.DeleteFunc(d.successes(), func(key string) bool { return seen[key] > 0 })
}

// checker reports to a test what is against the description.
type checker struct {
	t    testing.TB
	d    *description
	over atomic.Bool
}

func newChecker(t testing.TB, load func() (*description, error)) *checker {
	t.Helper()
	d, err := load()
	if err != nil {
		t.Fatalf("contract: %v", err)
	}
	c := &checker{t: t, d: d}
	t.Cleanup(func() { c.over.Store(true) })
	return c
}

// judge checks one exchange and counts it.
func (c *checker) judge(x exchange) {
	if c.over.Load() {
		return // a stream that outlived its test
	}
	key, err := c.d.check(x)
	if key != "" {
		mu.Lock()
		count[key]++
		mu.Unlock()
	}
	if err != nil {
		c.t.Errorf("contract: %s %s answered %d: %v\n%s", x.request.Method, x.request.URL.Path, x.status, err, excerpt(x.body))
	}
}

func excerpt(body []byte) []byte {
	const most = 2000
	return body[:min(len(body), most)]
}

// Wrap gives a handler that answers as h does and fails t when an exchange is
// against the description.
func Wrap(t testing.TB, h http.Handler) http.Handler { return wrap(newChecker(t, load), h) }

// WrapDescribed does as Wrap does by a description of the test's own.
func WrapDescribed(t testing.TB, h http.Handler, document []byte) http.Handler {
	return wrap(newChecker(t, func() (*description, error) { return read(document) }), h)
}

func wrap(c *checker, h http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		var sent limited
		if r.Body != nil && r.Body != http.NoBody {
			r.Body = &tee{r.Body, &sent}
		}
		given := r.Clone(r.Context()) // as it came; handlers may change r
		rec := &recorder{ResponseWriter: w}
		h.ServeHTTP(rec, r)
		if rec.status == 0 {
			rec.WriteHeader(http.StatusOK)
		}
		x := exchange{request: given, status: rec.status, header: rec.sent}
		x.sent, x.sentAll = sent.kept()
		x.body, x.all = rec.body.kept()
		c.judge(x)
	})
}

// Transport gives a client's transport that does as base does (as
// http.DefaultTransport when nil) and fails t when an exchange is against the
// description.
func Transport(t testing.TB, base http.RoundTripper) http.RoundTripper {
	if base == nil {
		base = http.DefaultTransport
	}
	return &transport{newChecker(t, load), base}
}

type transport struct {
	*checker
	base http.RoundTripper
}

// RoundTrip implements http.RoundTripper. The exchange is checked when the
// response has been read to its end or closed.
func (tr *transport) RoundTrip(r *http.Request) (*http.Response, error) {
	out := r.Clone(r.Context())
	var sent limited
	if r.Body != nil {
		out.Body = &tee{r.Body, &sent}
	}
	response, err := tr.base.RoundTrip(out)
	if err != nil {
		return nil, err
	}
	body := &watched{ReadCloser: response.Body}
	body.done = sync.OnceFunc(func() {
		x := exchange{request: r, status: response.StatusCode, header: response.Header}
		x.sent, x.sentAll = sent.kept()
		x.body, x.all = body.seen.kept()
		x.all = x.all && body.ended
		tr.judge(x)
	})
	response.Body = body
	return response, nil
}

// watched keeps what is read from a response and tells when that is over.
type watched struct {
	io.ReadCloser
	seen  limited
	ended bool
	done  func()
}

func (w *watched) Read(p []byte) (int, error) {
	n, err := w.ReadCloser.Read(p)
	w.seen.Write(p[:n])
	if err == io.EOF {
		w.ended = true
		w.done()
	}
	return n, err
}

func (w *watched) Close() error {
	w.done()
	return w.ReadCloser.Close()
}

// tee keeps what is read from a request's body.
type tee struct {
	io.ReadCloser
	to *limited
}

func (t *tee) Read(p []byte) (int, error) {
	n, err := t.ReadCloser.Read(p)
	t.to.Write(p[:n])
	return n, err
}

// limited keeps at most keep bytes. A server may answer before it has read all
// of a request, which then is written and looked at at once.
type limited struct {
	mu   sync.Mutex
	text []byte
	cut  bool
}

func (l *limited) Write(p []byte) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.cut = l.cut || len(l.text)+len(p) > keep; !l.cut {
		l.text = append(l.text, p...)
	}
}

// kept gives what was kept so far, and whether that is all of it.
func (l *limited) kept() (text []byte, all bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return slices.Clip(l.text), !l.cut
}

// recorder keeps what a handler answers.
type recorder struct {
	http.ResponseWriter
	status int
	sent   http.Header
	body   limited
}

// WriteHeader implements http.ResponseWriter.
func (r *recorder) WriteHeader(status int) {
	if r.status == 0 && status >= 200 {
		r.status, r.sent = status, r.Header().Clone()
	}
	r.ResponseWriter.WriteHeader(status)
}

// Write implements http.ResponseWriter.
func (r *recorder) Write(p []byte) (int, error) {
	if r.status == 0 {
		r.WriteHeader(http.StatusOK)
	}
	r.body.Write(p)
	return r.ResponseWriter.Write(p)
}

// Unwrap lets http.ResponseController reach the writer below.
func (r *recorder) Unwrap() http.ResponseWriter { return r.ResponseWriter }

// Flush implements http.Flusher, for streams.
func (r *recorder) Flush() { _ = http.NewResponseController(r.ResponseWriter).Flush() }

// exchange is one request and its response.
type exchange struct {
	request *http.Request
	sent    []byte
	// sentAll and all say that sent and body are whole.
	sentAll bool
	status  int
	header  http.Header
	body    []byte
	all     bool
}

// plain is the response's body without its compression.
func (x exchange) plain() ([]byte, error) {
	if !strings.EqualFold(x.header.Get("Content-Encoding"), "gzip") {
		return x.body, nil
	}
	z, err := gzip.NewReader(bytes.NewReader(x.body))
	if err != nil {
		return nil, err
	}
	return io.ReadAll(z)
}
