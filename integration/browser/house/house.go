// Package house runs the service in this process, behind a wire that can be
// cut, slowed, and made to lose replies.
package house

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"regexp"
	"strings"
	"sync"
	"time"

	"fringework/cmd/fringework/app"
)

// House is a running service. URL is its address, behind the wire.
type House struct {
	URL  string
	Wire *Wire

	database string
	front    *httptest.Server
	inside   *service
}

// Open starts the service on the embedded database in a file.
func Open(ctx context.Context, database string) (*House, error) {
	h := &House{database: database, Wire: &Wire{}}
	inside, err := serve(ctx, database, "127.0.0.1:0")
	if err != nil {
		return nil, err
	}
	h.inside = inside
	h.Wire.to(inside.url)
	h.front = httptest.NewServer(h.Wire)
	// localhost, since cookies marked Secure are kept there without TLS.
	h.URL = strings.Replace(h.front.URL, "127.0.0.1", "localhost", 1)
	return h, nil
}

// Restart stops the service and starts it again on the same database and port.
func (h *House) Restart(ctx context.Context) error {
	if err := h.inside.stop(); err != nil {
		return err
	}
	inside, err := serve(ctx, h.database, strings.TrimPrefix(h.inside.url, "http://"))
	if err != nil {
		return err
	}
	h.inside = inside
	h.Wire.to(inside.url)
	return nil
}

// Close stops everything.
func (h *House) Close() error {
	h.front.CloseClientConnections()
	h.front.Close()
	return h.inside.stop()
}

// service is the command serve, running.
type service struct {
	url  string
	stop func() error
}

var served = regexp.MustCompile(`msg=serving address=(\S+)`)

func serve(ctx context.Context, database, listen string) (*service, error) {
	ctx, cancel := context.WithCancel(ctx)
	lines := &logLines{found: make(chan string, 1)}
	done := make(chan int, 1)
	go func() {
		args := []string{"serve", "--database", "sqlite:" + database, "--listen", listen, "--cheap-passwords", "--grace", "1s"}
		done <- app.Run(ctx, args, app.Streams{In: strings.NewReader(""), Out: io.Discard, Err: lines})
	}()
	stop := func() error {
		cancel()
		if code := <-done; code != 0 {
			return fmt.Errorf("the service ended with code %d: %s", code, lines)
		}
		return nil
	}
	select {
	case address := <-lines.found:
		return &service{url: "http://" + address, stop: stop}, nil
	case code := <-done:
		cancel()
		return nil, fmt.Errorf("the service did not start, code %d: %s", code, lines)
	case <-time.After(60 * time.Second):
		return nil, fmt.Errorf("the service did not start: %s (%w)", lines, stop())
	}
}

// logLines keeps what the service logs, and finds the address it serves at.
type logLines struct {
	mu    sync.Mutex
	all   bytes.Buffer
	told  bool
	found chan string
}

func (l *logLines) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.all.Write(p)
	if m := served.FindSubmatch(l.all.Bytes()); m != nil && !l.told {
		l.told = true
		l.found <- string(m[1])
	}
	return len(p), nil
}

func (l *logLines) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.all.String()
}

// Wire is what lies between a phone and the service. Its zero value carries
// everything.
type Wire struct {
	mu     sync.Mutex
	proxy  http.Handler
	cut    bool
	delay  time.Duration
	lose   int // replies still to be lost
	status int // answered instead of asking, when not 0
	newer  bool
	puts   int
}

func (w *Wire) to(address string) {
	target, err := url.Parse(address)
	if err != nil {
		panic(err) // made by the service
	}
	proxy := httputil.NewSingleHostReverseProxy(target)
	proxy.ErrorHandler = func(http.ResponseWriter, *http.Request, error) { panic(http.ErrAbortHandler) }
	proxy.FlushInterval = -1 // event streams
	w.mu.Lock()
	defer w.mu.Unlock()
	w.proxy = proxy
}

// Cut takes the network away, from service workers as well.
func (w *Wire) Cut() { w.set(func() { w.cut = true }) }

// Mend gives it back.
func (w *Wire) Mend() { w.set(func() { w.cut = false }) }

// Slow lets every answer wait.
func (w *Wire) Slow(by time.Duration) { w.set(func() { w.delay = by }) }

// LoseReplies loses the replies to the next uploads, which the service gets.
func (w *Wire) LoseReplies(n int) { w.set(func() { w.lose = n }) }

// Answer answers all of the API with a status instead of asking the service; 0
// asks again.
func (w *Wire) Answer(status int) { w.set(func() { w.status = status }) }

// Renew makes the service worker a newer one, as an upgrade of the service does.
func (w *Wire) Renew() { w.set(func() { w.newer = true }) }

// Uploads counts the uploads of sessions that came through.
func (w *Wire) Uploads() (n int) {
	w.set(func() { n = w.puts })
	return n
}

func (w *Wire) set(fn func()) {
	w.mu.Lock()
	defer w.mu.Unlock()
	fn()
}

// ServeHTTP implements http.Handler.
func (w *Wire) ServeHTTP(rw http.ResponseWriter, r *http.Request) {
	upload := r.Method == http.MethodPut && strings.HasPrefix(r.URL.Path, "/v1/sessions/")
	w.mu.Lock()
	proxy, cut, delay, status, lost := w.proxy, w.cut, w.delay, w.status, false
	newer := w.newer && r.URL.Path == "/sw.js"
	if upload && !cut {
		w.puts++
		if w.lose > 0 {
			w.lose--
			lost = true
		}
	}
	w.mu.Unlock()
	if cut {
		panic(http.ErrAbortHandler) // closes the connection without a word
	}
	time.Sleep(delay)
	if status != 0 && strings.HasPrefix(r.URL.Path, "/v1/") {
		rw.WriteHeader(status)
		return
	}
	if newer {
		r.Header.Del("If-None-Match")
		r.Header.Set("Accept-Encoding", "identity")
		defer func() { _, _ = rw.Write([]byte("\n// newer\n")) }()
		rw = chunked{rw}
	}
	if lost {
		proxy.ServeHTTP(httptest.NewRecorder(), r)
		panic(http.ErrAbortHandler)
	}
	proxy.ServeHTTP(rw, r)
}

// chunked leaves out a Content-Length, so that more can be said.
type chunked struct{ http.ResponseWriter }

func (c chunked) WriteHeader(status int) {
	c.Header().Del("Content-Length")
	c.ResponseWriter.WriteHeader(status)
}
