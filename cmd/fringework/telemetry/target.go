package telemetry

import (
	"errors"
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"
)

// samplers are what OpenTelemetry's library knows of those that its specification names.
var samplers = []string{"always_on", "always_off", "traceidratio", "parentbased_always_on", "parentbased_always_off", "parentbased_traceidratio"}

// Target is where spans are sent, by OTLP over HTTP with protobuf.
type Target struct {
	URL     string
	Headers map[string]string
	// Timeout bounds one try to send.
	Timeout time.Duration
}

const (
	tracesPath    = "/v1/traces"
	defaultTarget = "http://localhost:4318"
	defaultTime   = 10 * time.Second
)

// TargetOf reads where spans are sent: to the address of a flag, or else where the
// variables of the environment say that the OTLP exporter's specification names. It is
// nil where nothing asks for traces. get reads a variable, empty when it is not set.
//
// Source: OpenTelemetry, "OTLP Exporter Configuration" and "Environment Variable
// Specification", 1.50.
func TargetOf(flag string, get func(name string) string) (*Target, error) {
	if strings.EqualFold(get("OTEL_SDK_DISABLED"), "true") {
		return nil, nil //nolint:nilnil // no traces is not an error
	}
	t := &Target{Timeout: defaultTime}
	if sampler := get("OTEL_TRACES_SAMPLER"); sampler != "" && !slices.Contains(samplers, sampler) {
		return nil, fmt.Errorf("OTEL_TRACES_SAMPLER is %q; use one of %s", sampler, strings.Join(samplers, ", "))
	}
	exporter := get("OTEL_TRACES_EXPORTER")
	switch own, shared := get("OTEL_EXPORTER_OTLP_TRACES_ENDPOINT"), get("OTEL_EXPORTER_OTLP_ENDPOINT"); {
	case flag != "":
		t.URL = strings.TrimRight(flag, "/") + tracesPath
	case exporter == "none":
		return nil, nil //nolint:nilnil // as above
	case own != "":
		t.URL = own
	case shared != "":
		t.URL = strings.TrimRight(shared, "/") + tracesPath
	case exporter == "otlp":
		t.URL = defaultTarget + tracesPath
	case exporter == "":
		return nil, nil //nolint:nilnil // as above
	}
	if exporter != "" && exporter != "otlp" && exporter != "none" {
		return nil, fmt.Errorf("OTEL_TRACES_EXPORTER is %q; use otlp or none", exporter)
	}
	return t, t.complete(get)
}

// complete reads the rest of the environment, and checks all.
func (t *Target) complete(get func(string) string) error {
	either := func(name string) string {
		if own := get("OTEL_EXPORTER_OTLP_TRACES_" + name); own != "" {
			return own
		}
		return get("OTEL_EXPORTER_OTLP_" + name)
	}
	u, err := url.Parse(t.URL)
	if err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Hostname() == "" || u.RawQuery != "" || u.Fragment != "" || u.User != nil {
		return errors.New("traces go to an address such as http://localhost:4318, which takes OTLP over HTTP")
	}
	if p := either("PROTOCOL"); p != "" && p != "http/protobuf" {
		return fmt.Errorf("OTEL_EXPORTER_OTLP_PROTOCOL is %q; traces are sent by http/protobuf alone", p)
	}
	if either("CERTIFICATE") != "" || either("CLIENT_CERTIFICATE") != "" {
		return errors.New("OTEL_EXPORTER_OTLP_CERTIFICATE is not read; name the certificates that are trusted in SSL_CERT_FILE, or send to a collector on this machine")
	}
	if text := either("TIMEOUT"); text != "" {
		ms, err := strconv.Atoi(text)
		if err != nil || ms <= 0 || time.Duration(ms)*time.Millisecond > time.Hour {
			return fmt.Errorf("OTEL_EXPORTER_OTLP_TIMEOUT is %q; write milliseconds, such as 10000", text)
		}
		t.Timeout = time.Duration(ms) * time.Millisecond
	}
	return t.readHeaders(either("HEADERS"))
}

// readHeaders reads name=value pairs, separated by commas and percent-encoded.
func (t *Target) readHeaders(text string) error {
	if text == "" {
		return nil
	}
	t.Headers = map[string]string{}
	for pair := range strings.SplitSeq(text, ",") {
		name, value, ok := strings.Cut(pair, "=")
		value, err := url.PathUnescape(strings.TrimSpace(value))
		if name = strings.TrimSpace(name); !ok || err != nil || name == "" {
			// What it says may be a secret.
			return errors.New("OTEL_EXPORTER_OTLP_HEADERS cannot be read; write name=value, with commas between several")
		}
		t.Headers[name] = value
	}
	return nil
}
