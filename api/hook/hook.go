// Package hook sends events to the addresses that an academy's owner named, signed
// by the Standard Webhooks specification 1.0, and to no address inside the
// operator's network.
package hook

import (
	"bytes"
	"context"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/netip"
	"strconv"
	"strings"
	"syscall"
	"time"

	"fringework/domain"
	"fringework/domain/webhook"
)

const secretPrefix = "whsec_"

// NewSecret makes a secret of 256 random bits, in the specification's form.
func NewSecret() string {
	var raw [32]byte
	rand.Read(raw[:]) // never fails: it ends the program instead
	return secretPrefix + base64.StdEncoding.EncodeToString(raw[:])
}

// Payload is what is sent: that something happened, and to what. Who receives it
// reads what it needs through the API, which shows only what they may see.
type Payload struct {
	// Type is the kind of event.
	Type string `json:"type" binding:"required" example:"session.stored"`
	// Timestamp is when it happened.
	Timestamp time.Time   `json:"timestamp" binding:"required" format:"date-time"`
	Data      PayloadData `json:"data" binding:"required"`
} // @name WebhookPayload

// PayloadData names what an event is about.
type PayloadData struct {
	AcademyID domain.ID `json:"academy_id" binding:"required" format:"uuid"`
	// Number is the event's number in the log; left out of a test.
	Number int64 `json:"number,omitempty" minimum:"1" example:"42"`
	// SubjectID is what changed: the first word of the type says what it is.
	SubjectID domain.ID `json:"subject_id" binding:"required" format:"uuid"`
	// StudentID is the student whose data it is, if any.
	StudentID domain.ID `json:"student_id,omitempty" format:"uuid"`
} // @name WebhookPayloadData

// errNoSecret says that a secret cannot sign.
var errNoSecret = errors.New("the webhook has no secret that can be used")

// sign gives the signature of a message by one secret.
func sign(secret, id string, at time.Time, body []byte) (string, error) {
	key, err := base64.StdEncoding.DecodeString(strings.TrimPrefix(secret, secretPrefix))
	if err != nil || len(key) == 0 {
		return "", errNoSecret
	}
	mac := hmac.New(sha256.New, key)
	fmt.Fprintf(mac, "%s.%d.", id, at.Unix())
	mac.Write(body)
	return "v1," + base64.StdEncoding.EncodeToString(mac.Sum(nil)), nil
}

// Limits of one try.
const (
	timeLimit   = 10 * time.Second
	connectTime = 5 * time.Second
	mostHeader  = 16 << 10
	// mostBody is how much of an answer is read, so that the connection can be used
	// again; what it says is not looked at.
	mostBody = 4 << 10
)

// Sender sends deliveries.
type Sender struct{ client *http.Client }

// errInside refuses an address inside the operator's network.
var errInside = errors.New("the address is not a public one")

// New makes a sender. Inside lets it reach addresses that are not public: for
// tests, and for operators whose receivers are in their own network.
//
// An address is looked at when the connection to it is made, after its name was
// resolved for the last time, so that a name that points elsewhere the second time
// it is asked for gains nothing. Redirects are not followed, and no proxy of the
// environment's is used, which would connect by itself.
func New(inside bool) *Sender {
	dialer := &net.Dialer{Timeout: connectTime, Control: func(_, address string, _ syscall.RawConn) error {
		if inside {
			return nil
		}
		return checkAddress(address)
	}}
	return &Sender{&http.Client{
		Timeout:       timeLimit,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
		Transport: &http.Transport{
			DialContext: dialer.DialContext, TLSHandshakeTimeout: connectTime, ResponseHeaderTimeout: timeLimit,
			MaxResponseHeaderBytes: mostHeader, MaxIdleConnsPerHost: 1, MaxIdleConns: 32, IdleConnTimeout: time.Minute, ForceAttemptHTTP2: true,
		},
	}}
}

// notPublic are the networks that the Internet does not reach, or reaches by a
// detour that hides where it leads (IANA's registries of special-purpose addresses,
// RFC 6890; NAT64 RFC 6052 and 8215, 6to4 RFC 3056, Teredo RFC 4380).
var notPublic = prefixes(
	"0.0.0.0/8", "10.0.0.0/8", "100.64.0.0/10", "127.0.0.0/8", "169.254.0.0/16", "172.16.0.0/12", "192.0.0.0/24", "192.0.2.0/24", "192.31.196.0/24",
	"192.52.193.0/24", "192.88.99.0/24", "192.168.0.0/16", "192.175.48.0/24", "198.18.0.0/15", "198.51.100.0/24", "203.0.113.0/24", "224.0.0.0/4", "240.0.0.0/4",
	"2001::/23", "2001:db8::/32", "2002::/16", "2620:4f:8000::/48", "3fff::/20",
)

// global is the one part of IPv6 that is given out for the Internet (RFC 4291): all
// else is loopback, local, multicast, mapped, translated or not given out.
var global = netip.MustParsePrefix("2000::/3")

func prefixes(texts ...string) (all []netip.Prefix) {
	for _, text := range texts {
		all = append(all, netip.MustParsePrefix(text))
	}
	return all
}

// checkAddress refuses what a connection must not be made to.
func checkAddress(address string) error {
	to, err := netip.ParseAddrPort(address)
	if err != nil || to.Addr().Zone() != "" {
		return errInside
	}
	ip := to.Addr().Unmap()
	if ip.Is6() && !global.Contains(ip) {
		return errInside
	}
	for _, p := range notPublic {
		if p.Contains(ip) {
			return errInside
		}
	}
	// Below 1024 are services that speak other protocols, which a request could be
	// made to look like.
	if port := to.Port(); port < 1024 && port != 443 && port != 80 {
		return errInside
	}
	return nil
}

// Send implements webhook.Sender.
func (s *Sender) Send(ctx context.Context, academy domain.ID, e webhook.Endpoint, d webhook.Delivery, at time.Time) webhook.Result {
	request, err := newRequest(ctx, academy, e, d, at)
	if errors.Is(err, errNoSecret) {
		return webhook.Result{Failure: "The webhook's secret was lost, so nothing was sent. Make a new secret and give it to the receiver."}
	}
	if err != nil {
		return webhook.Result{Failure: "The message could not be made."}
	}
	response, err := s.client.Do(request)
	if err != nil {
		return webhook.Result{Failure: failure(err)}
	}
	defer response.Body.Close()
	_, _ = io.Copy(io.Discard, io.LimitReader(response.Body, mostBody)) // only for the connection's sake
	r := webhook.Result{Status: response.StatusCode}
	switch {
	case r.Status >= 200 && r.Status < 300:
		return r
	case r.Status >= 300 && r.Status < 400:
		r.Failure = "The address redirects, which is not followed. Enter the address that it leads to."
	default:
		r.Failure = fmt.Sprintf("The receiver answered %d.", r.Status)
	}
	if seconds, err := strconv.Atoi(response.Header.Get("Retry-After")); err == nil && seconds > 0 {
		r.RetryAfter = time.Duration(min(seconds, int((7*24*time.Hour).Seconds()))) * time.Second
	}
	return r
}

func newRequest(ctx context.Context, academy domain.ID, e webhook.Endpoint, d webhook.Delivery, at time.Time) (*http.Request, error) {
	body, err := json.Marshal(Payload{
		Type: d.Kind, Timestamp: d.At.UTC(), Data: PayloadData{AcademyID: academy, Number: d.Event, SubjectID: d.Subject, StudentID: d.Student},
	})
	if err != nil {
		return nil, err
	}
	id := MessageID(d)
	var signatures []string
	for _, secret := range e.Secrets(at) {
		signature, err := sign(secret, id, at, body)
		if err != nil {
			return nil, err
		}
		signatures = append(signatures, signature)
	}
	request, err := http.NewRequestWithContext(ctx, http.MethodPost, e.URL, bytes.NewReader(body))
	if err != nil {
		return nil, err
	}
	request.Header.Set("Content-Type", "application/json")
	request.Header.Set("User-Agent", "Fringework-Webhooks/1")
	request.Header.Set("webhook-id", id)
	request.Header.Set("webhook-timestamp", strconv.FormatInt(at.Unix(), 10))
	request.Header.Set("webhook-signature", strings.Join(signatures, " "))
	return request, nil
}

// MessageID is the webhook-id of a delivery, the same at every try.
func MessageID(d webhook.Delivery) string { return "msg_" + string(d.ID) }

// failure says in words why there was no answer: enough to mend it, and no more
// about the network than the owner knows.
func failure(err error) string {
	var dns *net.DNSError
	var certificate *tls.CertificateVerificationError
	var timeout net.Error
	switch {
	case errors.Is(err, errInside):
		return "The address is not a public one, so nothing was sent. Ask the operator whether such addresses may be allowed."
	case errors.As(err, &certificate):
		return "The receiver's certificate was not accepted."
	case errors.As(err, &dns):
		return "The receiver's name was not found."
	case errors.As(err, &timeout) && timeout.Timeout():
		return "The receiver did not answer within 10 seconds."
	}
	return "The connection failed."
}
