package contract_test

import (
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"

	"fringework/openapi/contract"
)

// witness is a test that remembers whether it failed.
type witness struct {
	testing.TB
	errors []string
}

func (w *witness) Errorf(format string, args ...any) {
	w.errors = append(w.errors, fmt.Sprintf(format, args...))
}

// answer is what a service could answer.
type answer struct {
	status int
	header map[string]string
	body   string
}

func (a answer) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	_, _ = io.Copy(io.Discard, r.Body)
	w.Header().Set("X-Request-Id", "request-1")
	for name, value := range a.header {
		w.Header().Set(name, value)
	}
	w.WriteHeader(a.status)
	fmt.Fprint(w, a.body)
}

type headers = map[string]string

const (
	id         = "0198c5f2-0000-7000-8000-000000000000"
	jsonMedia  = "application/json"
	problem    = `{"type":"about:blank","title":"Not Found","status":404,"code":"not_found"}`
	academy    = `{"id":"` + id + `","name":"Links End","time_zone":"Europe/Lisbon","challenge":0.65,"erase_removed_days":0,"forget_events_days":0,"created_at":"2026-05-04T08:00:00Z"}`
	created    = `{"id":"` + id + `","name":"A","student_ids":[],"revision":1,"created_at":"2026-05-04T08:00:00Z","programmes":[]}`
	wantsGroup = `{"name":"A","student_ids":[]}`
)

// exchanges are requests and answers, with what a check must say of them;
// nothing when they are as described.
var exchanges = map[string]struct {
	method, path, contentType, body string
	answer                          answer
	want                            string
}{
	"as described": {"GET", "/v1/academy", "", "",
		answer{200, headers{"Content-Type": jsonMedia, "ETag": `"a"`}, academy}, ""},
	"HEAD as described": {"HEAD", "/v1/academy", "", "",
		answer{200, headers{"Content-Type": jsonMedia, "ETag": `"a"`}, ""}, ""},
	"not modified": {"GET", "/v1/academy", "", "", answer{304, headers{"ETag": `"a"`}, ""}, ""},
	"unknown status": {"GET", "/v1/academy", "", "",
		answer{418, headers{"Content-Type": jsonMedia}, academy}, "status is not supported"},
	"unknown member": {"GET", "/v1/academy", "", "",
		answer{200, headers{"Content-Type": jsonMedia, "ETag": `"a"`}, strings.Replace(academy, "{", `{"password":"x",`, 1)}, "additional properties 'password' not allowed"},
	"missing member": {"GET", "/v1/academy", "", "",
		answer{200, headers{"Content-Type": jsonMedia, "ETag": `"a"`}, `{"id":"` + id + `"}`}, "missing properties"},
	"wrong format": {"GET", "/v1/academy", "", "",
		answer{200, headers{"Content-Type": jsonMedia, "ETag": `"a"`}, strings.Replace(academy, "T08", " 08", 1)}, "date-time"},
	"null for a list": {"POST", "/v1/groups", jsonMedia, wantsGroup,
		answer{201, headers{"Content-Type": jsonMedia, "ETag": `"1"`, "Location": "/v1/groups/" + id}, strings.Replace(created, "[]", "null", 1)}, "got null, want array"},
	"no entity tag": {"GET", "/v1/academy", "", "", answer{200, headers{"Content-Type": jsonMedia}, academy}, `header "ETag" missing`},
	"no location": {"POST", "/v1/groups", jsonMedia, wantsGroup,
		answer{201, headers{"Content-Type": jsonMedia, "ETag": `"1"`}, created}, "Location"},
	"problem as plain JSON": {"GET", "/v1/members/" + id, "", "",
		answer{404, headers{"Content-Type": jsonMedia}, problem}, "media type application/json"},
	"problem": {"GET", "/v1/members/" + id, "", "",
		answer{404, headers{"Content-Type": "application/problem+json"}, problem}, ""},
	"another success": {"DELETE", "/v1/members/" + id, "", "",
		answer{200, headers{"Content-Type": jsonMedia}, "{}"}, "status is not supported"},
	"created": {"POST", "/v1/groups", jsonMedia, wantsGroup,
		answer{201, headers{"Content-Type": jsonMedia, "ETag": `"1"`, "Location": "/v1/groups/" + id}, created}, ""},
	"took an unknown member": {"POST", "/v1/groups", jsonMedia, `{"name":"A","student_ids":[],"owner":1}`,
		answer{201, headers{"Content-Type": jsonMedia, "ETag": `"1"`, "Location": "/v1/groups/" + id}, created}, "took a body"},
	"refused an unknown member": {"POST", "/v1/groups", jsonMedia, `{"name":"A","student_ids":[],"owner":1}`,
		answer{400, headers{"Content-Type": "application/problem+json"}, problem}, ""},
	"took a bad parameter": {"GET", "/v1/members?limit=900", "", "",
		answer{200, headers{"Content-Type": jsonMedia, "ETag": `"a"`}, `{"items":[],"links":{}}`}, "took a request"},
	"took an unknown parameter": {"GET", "/v1/members?limitt=9", "", "",
		answer{200, headers{"Content-Type": jsonMedia, "ETag": `"a"`}, `{"items":[],"links":{}}`}, "limitt"},
	"took another media type": {"POST", "/v1/groups", "text/plain", wantsGroup,
		answer{201, headers{"Content-Type": jsonMedia, "ETag": `"1"`, "Location": "/v1/groups/" + id}, created}, "text/plain"},
	"form": {"POST", "/v1/oauth/token", "application/x-www-form-urlencoded", "grant_type=client_credentials",
		answer{200, headers{"Content-Type": jsonMedia}, `{"access_token":"a","token_type":"Bearer","expires_in":600,"scope":"calc:use"}`}, ""},
	"took a wrong form": {"POST", "/v1/oauth/token", "application/x-www-form-urlencoded", "grant_type=password",
		answer{200, headers{"Content-Type": jsonMedia}, `{"access_token":"a","token_type":"Bearer","expires_in":600,"scope":"calc:use"}`}, "took a body"},
	"no such operation": {"GET", "/v1/nothing", "", "", answer{200, headers{"Content-Type": jsonMedia}, "{}"}, "no such operation"},
	"no route":          {"GET", "/v1/nothing", "", "", answer{404, headers{"Content-Type": "application/problem+json"}, problem}, ""},
	"no route, no problem": {"GET", "/v1/nothing", "", "",
		answer{404, headers{"Content-Type": "text/plain"}, "not found"}, "problem document"},
	"page": {"GET", "/", "", "", answer{200, headers{"Content-Type": "text/html"}, "<p>"}, ""},
}

// around checks exchanges in two ways: around the handler, and around the
// client's transport.
var around = map[string]func(t testing.TB, h http.Handler) (http.Handler, http.RoundTripper){
	"handler": func(t testing.TB, h http.Handler) (http.Handler, http.RoundTripper) {
		return contract.Wrap(t, h), http.DefaultTransport
	},
	"transport": func(t testing.TB, h http.Handler) (http.Handler, http.RoundTripper) {
		return h, contract.Transport(t, nil)
	},
}

func TestExchanges(t *testing.T) {
	for way, wrap := range around {
		for name, x := range exchanges {
			t.Run(way+"/"+name, func(t *testing.T) {
				w := &witness{TB: t}
				h, transport := wrap(w, x.answer)
				server := httptest.NewServer(h)
				defer server.Close()
				r, err := http.NewRequestWithContext(t.Context(), x.method, server.URL+x.path, strings.NewReader(x.body))
				if err != nil {
					t.Fatal(err)
				}
				if x.contentType != "" {
					r.Header.Set("Content-Type", x.contentType)
				}
				response, err := (&http.Client{Transport: transport}).Do(r)
				if err != nil {
					t.Fatal(err)
				}
				if _, err := io.Copy(io.Discard, response.Body); err != nil {
					t.Error(err)
				}
				response.Body.Close()
				server.Close() // the handler has ended
				switch got := strings.Join(w.errors, "\n"); {
				case x.want == "" && got != "":
					t.Errorf("got %s; want nothing against it", got)
				case !strings.Contains(got, x.want):
					t.Errorf("got %q; want it to say %q", got, x.want)
				}
			})
		}
	}
}

func TestCounts(t *testing.T) {
	before := contract.Seen()["getAcademy 200"]
	h := contract.Wrap(t, exchanges["as described"].answer)
	for range 2 {
		h.ServeHTTP(httptest.NewRecorder(), httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/v1/academy", nil))
	}
	if got := contract.Seen()["getAcademy 200"] - before; got != 2 {
		t.Errorf("getAcademy 200 was counted %d times; want 2", got)
	}
	unseen := contract.Unseen()
	if slices.Contains(unseen, "getAcademy 200") {
		t.Error("getAcademy 200 was seen, yet it is among the unseen")
	}
	if !slices.Contains(unseen, "patchAcademy 200") {
		t.Errorf("patchAcademy 200 was not seen, yet it is not among the unseen: %q", unseen)
	}
}
