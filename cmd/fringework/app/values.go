package app

import (
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"math"
	"net"
	"net/url"
	"reflect"
	"regexp"
	"strings"
	"time"

	"github.com/alecthomas/kong"
)

// duration is a flag's length of time, with its unit: a bare number, which might be
// meant in any, is refused.
type duration time.Duration

// longest is the longest that any of the flags may be.
const longest = 24 * time.Hour

// Decode implements kong.MapperValue.
func (d *duration) Decode(ctx *kong.DecodeContext) error {
	token, err := ctx.Scan.PopValue("duration")
	if err != nil {
		return err
	}
	text, ok := token.Value.(string)
	if !ok {
		text = fmt.Sprint(token.Value)
	}
	read, err := time.ParseDuration(text)
	if err != nil || !ok || read < 0 || read > longest {
		return fmt.Errorf("%q is no length of time; write one from 0s to 24h with its unit, such as 15s or 2m", text)
	}
	*d = duration(read)
	return nil
}

// whole is a flag's whole number, in words of its own when it is none.
func whole(low, high int) kong.MapperFunc {
	return func(ctx *kong.DecodeContext, target reflect.Value) error {
		token, err := ctx.Scan.PopValue("number")
		if err != nil {
			return err
		}
		text := fmt.Sprint(token.Value)
		if x, ok := token.Value.(float64); ok && x == math.Trunc(x) && math.Abs(x) < 1e15 {
			text = fmt.Sprintf("%.0f", x)
		}
		var n int
		if rest, err := fmt.Sscanf(text, "%d", &n); err != nil || rest != 1 || fmt.Sprint(n) != strings.TrimSpace(text) || n < low || n > high {
			return fmt.Errorf("%q is not a whole number from %d to %d", text, low, high)
		}
		target.SetInt(int64(n))
		return nil
	}
}

// webAddress checks the address of a web service, as scheme, host and port alone: what
// follows them would end up in the middle of every link.
func webAddress(text string) (string, error) {
	u, err := url.Parse(text)
	if err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Hostname() == "" || u.User != nil ||
		strings.Trim(u.Path, "/") != "" || u.RawQuery != "" || u.Fragment != "" || strings.HasSuffix(u.Host, ":") {
		return "", fmt.Errorf("%q is no address of a web site; write one without a path, such as https://practice.example.org", text)
	}
	return strings.ToLower(u.Scheme) + "://" + strings.ToLower(u.Host), nil
}

// Validate implements kong.Validatable: a wrong address, or a log too short for those
// who follow it, is told before anything is done.
func (f *serviceFlags) Validate() error {
	if f.KeepEvents != 0 && f.KeepEvents < leastEvents {
		return fmt.Errorf("--keep-events is %d days; keep at least %d, so that nobody who follows the log misses anything, or 0 for ever", f.KeepEvents, leastEvents)
	}
	if f.PublicURL != "" {
		public, err := webAddress(f.PublicURL)
		if err != nil {
			return fmt.Errorf("--public-url: %w", err)
		}
		f.PublicURL = public
	}
	for i, origin := range f.Origins {
		if origin == "*" {
			return errors.New("--origins: name each web site; * would let every one call the API from its visitors' browsers")
		}
		checked, err := webAddress(origin)
		if err != nil {
			return fmt.Errorf("--origins: %w", err)
		}
		f.Origins[i] = checked
	}
	return nil
}

// plainly says what is wrong with a file of JSON without naming types of the program.
func plainly(err error) error {
	if syntax, ok := errors.AsType[*json.SyntaxError](err); ok {
		if syntax.Offset == 0 {
			return errors.New("it has no JSON in it")
		}
		return fmt.Errorf("it is not JSON from byte %d on", syntax.Offset)
	}
	if shape, ok := errors.AsType[*json.UnmarshalTypeError](err); ok {
		return fmt.Errorf("it is a JSON %s", shape.Value)
	}
	return err
}

// readable writes lengths of time as people do: with their unit in a text, and in JSON
// as a number of milliseconds, which the name says.
func readable(inJSON bool) func([]string, slog.Attr) slog.Attr {
	return func(_ []string, a slog.Attr) slog.Attr {
		if a.Value.Kind() != slog.KindDuration {
			return a
		}
		d := a.Value.Duration()
		if inJSON {
			return slog.Float64(a.Key+"_ms", math.Round(float64(d)/float64(time.Microsecond))/1000)
		}
		return slog.String(a.Key, d.Round(100*time.Microsecond).String())
	}
}

// unplain are words of the parser and of Go's libraries in what is wrong with a command
// line, with plain ones instead.
var unplain = []struct {
	words *regexp.Regexp
	plain string
}{
	{regexp.MustCompile(`expected a valid \d+ bit u?int but got ("[^"]*")`), "$1 is not a whole number in range"},
	{regexp.MustCompile(`expected \w+( value)? but got "EOL" \(<EOL>\)`), "needs a value after it"},
	{regexp.MustCompile(`expected \w+( value)? but got ("[^"]*") \(short flag\)`), "needs a value after it, and $2 looks like another flag"},
	{regexp.MustCompile(`unexpected argument EOL`), "something is missing at the end"},
	{regexp.MustCompile(`\S*interface \{\}\S* -> \S+: json: .*`), `give a text, or a list of texts such as ["https://practice.example.org"]`},
	{regexp.MustCompile(`strconv\.\w+: parsing ("[^"]*"): .*`), "$1 cannot be read"},
}

// plainWords says what is wrong with a command line to somebody who knows no Go.
func plainWords(err error) string {
	text := err.Error()
	for _, u := range unplain {
		text = u.words.ReplaceAllString(text, u.plain)
	}
	return text
}

// listen takes an address to serve at.
func listen(address string) (net.Listener, error) {
	if _, _, err := net.SplitHostPort(address); err != nil {
		return nil, fmt.Errorf("%q has no port to listen on; use --listen to name an address and a port, such as 127.0.0.1:8080", address)
	}
	l, err := net.Listen("tcp", address)
	if err != nil {
		return nil, fmt.Errorf("listen on %s: %w; use --listen to name another address", address, err)
	}
	return l, nil
}
