package hook

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	standardwebhooks "github.com/standard-webhooks/standard-webhooks/libraries/go"

	"fringework/domain"
	"fringework/domain/webhook"
)

const academy domain.ID = "0198c5f2-0000-7000-8000-00000000aca0"

var delivery = webhook.Delivery{
	ID: "0198c5f2-0000-7000-8000-000000000001", Event: 42, Kind: "session.stored", Subject: "0198c5f2-0000-7000-8000-00000000005e",
	Student: "0198c5f2-0000-7000-8000-000000000057", At: time.Date(2026, time.May, 4, 10, 0, 0, 0, time.UTC),
}

// receiver keeps what it is sent and answers as told.
func receiver(t *testing.T, answer http.HandlerFunc) (*httptest.Server, *[]http.Header, *[]string) {
	t.Helper()
	var headers []http.Header
	var bodies []string
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		body, err := io.ReadAll(r.Body)
		if err != nil || r.Method != http.MethodPost {
			t.Errorf("%s, %v", r.Method, err)
		}
		headers, bodies = append(headers, r.Header.Clone()), append(bodies, string(body))
		answer(w, r)
	}))
	t.Cleanup(server.Close)
	return server, &headers, &bodies
}

// TestSignatures verifies what is sent with the specification's own library, by the
// present secret and, while it signs as well, by the old one.
func TestSignatures(t *testing.T) {
	server, headers, bodies := receiver(t, func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusNoContent) })
	now := time.Now() // the library compares with its own clock
	e := webhook.Endpoint{URL: server.URL, Secret: NewSecret(), OldSecret: NewSecret(), OldUntil: now.Add(time.Hour)}
	if e.Secret == e.OldSecret {
		t.Fatal("two secrets are the same")
	}
	verifies := func(secret string, i int) bool {
		wh, err := standardwebhooks.NewWebhook(secret)
		if err != nil {
			t.Fatal(err)
		}
		return wh.Verify([]byte((*bodies)[i]), (*headers)[i]) == nil
	}
	s := New(true)
	if r := s.Send(t.Context(), academy, e, delivery, now); r != (webhook.Result{Status: 204}) {
		t.Fatalf("got %+v, want it taken", r)
	}
	if !verifies(e.Secret, 0) || !verifies(e.OldSecret, 0) || verifies(NewSecret(), 0) {
		t.Error("it does not verify by both secrets, or does by another")
	}
	e.OldUntil = now
	s.Send(t.Context(), academy, e, delivery, now)
	if !verifies(e.Secret, 1) || verifies(e.OldSecret, 1) {
		t.Error("the old secret signs after its time, or the new one does not")
	}
	(*bodies)[1] += " "
	if verifies(e.Secret, 1) {
		t.Error("another body verifies")
	}
	var p Payload
	if err := json.Unmarshal([]byte((*bodies)[0]), &p); err != nil || p != (Payload{Type: "session.stored", Timestamp: delivery.At, Data: PayloadData{
		AcademyID: academy, Number: 42, SubjectID: delivery.Subject, StudentID: delivery.Student}}) {
		t.Errorf("sent %s (%v)", (*bodies)[0], err)
	}
	if id := (*headers)[0].Get("webhook-id"); id != "msg_"+string(delivery.ID) || id != (*headers)[1].Get("webhook-id") {
		t.Errorf("webhook-id %q; want the same at every try", id)
	}
}

// TestAnswers: what the receiver says counts as the specification has it.
func TestAnswers(t *testing.T) {
	redirected := false
	for name, c := range map[string]struct {
		answer http.HandlerFunc
		want   webhook.Result
	}{
		"taken": {func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusOK) }, webhook.Result{Status: 200}},
		"a long answer": {func(w http.ResponseWriter, _ *http.Request) { _, _ = io.WriteString(w, strings.Repeat("x", 1<<20)) },
			webhook.Result{Status: 200}},
		"busy": {func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Retry-After", "90")
			w.WriteHeader(http.StatusServiceUnavailable)
		}, webhook.Result{Status: 503, Failure: "The receiver answered 503.", RetryAfter: 90 * time.Second}},
		"busy for years": {func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Retry-After", "999999999999")
			w.WriteHeader(http.StatusTooManyRequests)
		}, webhook.Result{Status: 429, Failure: "The receiver answered 429.", RetryAfter: 7 * 24 * time.Hour}},
		"gone": {func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusGone) }, webhook.Result{Status: 410, Failure: "The receiver answered 410."}},
		"elsewhere": {func(w http.ResponseWriter, r *http.Request) {
			if r.URL.Path != "/" {
				redirected = true
			}
			http.Redirect(w, r, "/secret", http.StatusTemporaryRedirect)
		}, webhook.Result{Status: 307, Failure: "The address redirects, which is not followed. Enter the address that it leads to."}},
	} {
		server, _, _ := receiver(t, c.answer)
		if got := New(true).Send(t.Context(), academy, webhook.Endpoint{URL: server.URL, Secret: NewSecret()}, delivery, delivery.At); got != c.want {
			t.Errorf("%s: got %+v, want %+v", name, got, c.want)
		}
	}
	if redirected {
		t.Error("a redirect was followed")
	}
	closed := httptest.NewServer(nil)
	closed.Close()
	if got := New(true).Send(t.Context(), academy, webhook.Endpoint{URL: closed.URL, Secret: NewSecret()}, delivery, delivery.At); got.Failure != "The connection failed." || strings.Contains(got.Failure, "127.0.0.1") {
		t.Errorf("nobody there: got %+v", got)
	}
	if got := New(true).Send(t.Context(), academy, webhook.Endpoint{URL: closed.URL, Secret: "whsec_%"}, delivery, delivery.At); !strings.Contains(got.Failure, "secret was lost") {
		t.Errorf("a damaged secret: got %+v", got)
	}
	ctx, cancel := context.WithDeadline(t.Context(), time.Now().Add(-time.Second))
	defer cancel()
	if got := New(true).Send(ctx, academy, webhook.Endpoint{URL: closed.URL, Secret: NewSecret()}, delivery, delivery.At); got.Failure != "The receiver did not answer within 10 seconds." {
		t.Errorf("too late: got %+v", got)
	}
}

// TestAddresses: only public addresses are connected to, and of their ports those
// of the web and of nobody in particular.
func TestAddresses(t *testing.T) {
	for _, address := range []string{
		"127.0.0.1:443", "127.8.8.8:443", "0.0.0.0:443", "0.1.2.3:443", "10.1.2.3:443", "172.16.0.1:443", "172.31.255.255:443", "192.168.1.1:443", "100.64.0.1:443",
		"169.254.169.254:80", "192.0.0.8:443", "192.0.2.1:443", "198.18.0.1:443", "198.51.100.1:443", "203.0.113.9:443", "224.0.0.1:443", "255.255.255.255:443", "240.0.0.1:443",
		"[::]:443", "[::1]:443", "[::ffff:127.0.0.1]:443", "[::ffff:10.0.0.1]:443", "[::ffff:169.254.169.254]:443", "[::127.0.0.1]:443", "[64:ff9b::a00:1]:443", "[64:ff9b::7f00:1]:443",
		"[64:ff9b:1::a00:1]:443", "[100::1]:443", "[2001::1]:443", "[2001:db8::1]:443", "[2002:7f00:1::]:443", "[2002:a00:1::]:443", "[fc00::1]:443", "[fd12::1]:443", "[fe80::1]:443",
		"[fe80::1%eth0]:443", "[2606:4700::1111%eth0]:443", "[fec0::1]:443", "[ff02::1]:443", "[3fff::1]:443", "[4000::1]:443",
		"93.184.216.34:22", "93.184.216.34:25", "[2606:4700::1111]:53", "localhost:443", "93.184.216.34", "",
	} {
		if err := checkAddress(address); !errors.Is(err, errInside) {
			t.Errorf("%s may be connected to", address)
		}
	}
	for _, address := range []string{"93.184.216.34:443", "93.184.216.34:80", "93.184.216.34:8443", "172.15.0.1:443", "172.32.0.1:443", "100.63.255.255:443", "[2606:4700::1111]:443", "[::ffff:93.184.216.34]:443"} {
		if err := checkAddress(address); err != nil {
			t.Errorf("%s is refused: %v", address, err)
		}
	}
}

// TestInside: a name that leads inside, be it only the second time it is asked for,
// is refused when the connection is made; nothing is sent.
func TestInside(t *testing.T) {
	server, headers, _ := receiver(t, func(http.ResponseWriter, *http.Request) {})
	_, port, err := net.SplitHostPort(server.Listener.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	const refused = "The address is not a public one, so nothing was sent. Ask the operator whether such addresses may be allowed."
	for _, url := range []string{
		server.URL, "http://localhost:" + port, "http://127.1:" + port, "http://[::1]:" + port, "http://[::ffff:127.0.0.1]:" + port, "http://0.0.0.0:" + port, "http://2130706433:" + port,
	} {
		got := New(false).Send(t.Context(), academy, webhook.Endpoint{URL: url, Secret: NewSecret()}, delivery, delivery.At)
		if got.Failure != refused && got.Failure != "The receiver's name was not found." {
			t.Errorf("%s: got %+v, want it refused", url, got)
		}
	}
	if got := New(false).Send(t.Context(), academy, webhook.Endpoint{URL: server.URL, Secret: NewSecret()}, delivery, delivery.At); got.Failure != refused {
		t.Errorf("got %+v, want it refused", got)
	}
	// Rebinding: the resolver says a public address to whoever looks first and a
	// local one to whoever connects. Only what is connected to counts.
	s := New(false)
	looks := 0
	transport := s.client.Transport.(*http.Transport)
	dial := transport.DialContext
	transport.DialContext = func(ctx context.Context, network, address string) (net.Conn, error) {
		looks++
		if err := checkAddress("93.184.216.34:443"); err != nil {
			return nil, err
		}
		return dial(ctx, network, net.JoinHostPort("127.0.0.1", port))
	}
	if got := s.Send(t.Context(), academy, webhook.Endpoint{URL: "http://club.example", Secret: NewSecret()}, delivery, delivery.At); got.Failure != refused || looks != 1 {
		t.Errorf("rebound: got %+v after %d looks, want it refused", got, looks)
	}
	if len(*headers) != 0 {
		t.Errorf("%d requests came through", len(*headers))
	}
	if transport.Proxy != nil {
		t.Error("a proxy would connect by itself")
	}
}

// A secret that was lost signs nothing, and the owner is told.
func TestLostSecret(t *testing.T) {
	server, headers, _ := receiver(t, func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusNoContent) })
	for _, secret := range []string{"", secretPrefix, "whsec_no base64"} {
		r := New(true).Send(t.Context(), academy, webhook.Endpoint{URL: server.URL, Secret: secret}, delivery, delivery.At)
		if r.Status != 0 || !strings.Contains(r.Failure, "secret was lost") || len(*headers) > 0 {
			t.Errorf("%q: %+v after %d requests; want none, and why", secret, r, len(*headers))
		}
	}
}
