package api_test

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"

	"fringework/api"
	"fringework/auth"
	"fringework/domain"
)

// TestBadBodies sends what breaks careless services; none may be taken, and
// none may be the service's own failure.
func TestBadBodies(t *testing.T) {
	h := newFixture(t)
	owner := h.signUp("Ines").AccessToken
	for name, x := range map[string]struct {
		body, code, pointer string
	}{
		"nothing":          {"", "body_missing", ""},
		"unknown member":   {`{"name":"A","student_ids":[],"owner_id":"x"}`, "body_invalid", "/owner_id"},
		"repeated name":    {`{"name":"A","name":"B","student_ids":[]}`, "body_malformed", "/name"},
		"wrong type":       {`{"name":["A"],"student_ids":[]}`, "body_invalid", "/name"},
		"wrong inside":     {`{"name":"A","student_ids":[1]}`, "body_invalid", "/student_ids/0"},
		"trailing garbage": {`{"name":"A","student_ids":[]}]`, "body_malformed", ""},
		"deep":             {`{"name":"A","student_ids":` + strings.Repeat("[", 100_000), "body_malformed", "/student_ids/0/0"},
		"NUL":              {`{"name":"A\u0000","student_ids":[]}`, "body_invalid", "/name"},
		"lone surrogate":   {`{"name":"\ud800","student_ids":[]}`, "body_malformed", "/name"},
		"1e999":            {`{"name":1e999,"student_ids":[]}`, "body_invalid", "/name"},
		"not UTF-8":        {"{\"name\":\"\xff\",\"student_ids\":[]}", "body_malformed", "/name"},
	} {
		t.Run(name, func(t *testing.T) {
			p := h.do("POST", "/v1/groups", x.body, as(owner)).problem(400, x.code)
			if name == "nothing" {
				return
			}
			if name == "deep" && len(p.Errors) == 1 && strings.HasPrefix(p.Errors[0].Pointer, x.pointer) && len(p.Errors[0].Pointer) <= 500 {
				return // a part that contains it is near enough
			}
			if len(p.Errors) != 1 || p.Errors[0].Pointer != x.pointer {
				t.Errorf("errors %+v; want one at %q", p.Errors, x.pointer)
			}
		})
	}
	t.Run("radius of 1e999", func(t *testing.T) {
		body := `{"name":"A","kind":"pitch","ladder":{"tiers":[{"run":9,"radius_m":1e999}]}}`
		at(t, h.do("POST", "/v1/skills", body, as(owner)).problem(400, "body_invalid"), "/ladder/tiers/0/radius_m")
	})
}

func TestMediaTypes(t *testing.T) {
	h := newFixture(t)
	owner := h.signUp("Ines").AccessToken
	const body = `{"name":"A","student_ids":[]}`
	for _, media := range []string{"", "text/plain", "application/x-www-form-urlencoded", "application/jsonx", "nonsense/", "application/merge-patch+json"} {
		h.do("POST", "/v1/groups", body, as(owner), set("Content-Type", media)).problem(415, "media_type")
	}
	h.do("POST", "/v1/groups", body, as(owner), set("Content-Encoding", "gzip")).problem(415, "content_encoding")
	h.do("POST", "/v1/groups", body, as(owner), set("Content-Type", "Application/JSON; charset=utf-8")).want(201)
	h.do("POST", "/v1/groups", body, as(owner), set("Content-Encoding", "identity")).want(201)
}

func TestBodyLimit(t *testing.T) {
	h := newFixture(t, func(c *api.Config) { c.BodyLimit = 1000 })
	owner := h.signUp("Ines").AccessToken
	large := `{"name":"` + strings.Repeat("x", 1000) + `","student_ids":[]}`
	h.do("POST", "/v1/groups", large, as(owner)).problem(413, "body_too_large")
	// A body of unknown length is cut off at the limit.
	chunked := func(r *http.Request) { r.ContentLength, r.Body = -1, io.NopCloser(strings.NewReader(large)) }
	h.do("POST", "/v1/groups", large, as(owner), chunked).problem(413, "body_too_large")
	h.do("POST", "/v1/oauth/token", "grant_type="+strings.Repeat("x", 1000), set("Content-Type", "application/x-www-form-urlencoded")).problem(413, "body_too_large")
	h.do("POST", "/v1/groups", `{"name":"`+strings.Repeat("x", 100)+`","student_ids":[]}`, as(owner)).want(201)
}

func TestEntityTags(t *testing.T) {
	h := newFixture(t)
	c := h.cast()
	path := "/v1/members/" + string(c.student.Membership.MemberID)
	first := h.do("GET", path, nil, as(c.owner.AccessToken)).want(200)
	tag := first.header.Get("ETag")
	if again := h.do("GET", path, nil, as(c.owner.AccessToken)).header.Get("ETag"); again != tag || tag == "" {
		t.Errorf("ETag %q, then %q", tag, again)
	}
	for header, want := range map[string]int{tag: 304, "W/" + tag: 304, `"x", ` + tag: 304, "*": 304, `"x"`: 200, "": 200} {
		got := h.do("GET", path, nil, as(c.owner.AccessToken), set("If-None-Match", header)).want(want)
		if want == 304 && (len(got.body) > 0 || got.header.Get("ETag") != tag) {
			t.Errorf("304 with ETag %q and body %q", got.header.Get("ETag"), got.body)
		}
	}
	changed := h.do("PATCH", path, `{"units":"metres"}`, as(c.owner.AccessToken), set("If-Match", tag)).want(200)
	stale := h.do("PATCH", path, `{"units":"feet"}`, as(c.owner.AccessToken), set("If-Match", tag)).problem(412, "stale")
	if stale.Stored == nil || stale.Stored.Revision != 2 {
		t.Errorf("stored %v; want revision 2", stale.Stored)
	}
	if now := h.do("GET", path, nil, as(c.owner.AccessToken)).header.Get("ETag"); now != changed.header.Get("ETag") || now == tag {
		t.Errorf("ETag %q after a change that answered %q", now, changed.header.Get("ETag"))
	}
	h.do("PATCH", path, `{}`, as(c.owner.AccessToken), set("If-Match", `"1"`)).problem(412, "stale")
	h.do("PATCH", path, `{"units":"feet"}`, as(c.owner.AccessToken), set("If-Match", `"2"`)).want(200)
	h.do("PATCH", path, `{"units":"feet"}`, as(c.owner.AccessToken), set("If-Match", `2`)).problem(400, "if_match")
	h.do("PATCH", path, `{"units":"feet"}`, as(c.owner.AccessToken), set("If-Match", `*`)).want(200)

	for path, patch := range map[string]string{"/v1/me": `{"units":"metres"}`, "/v1/academy": `{"name":"Dunes"}`} {
		tag := h.do("GET", path, nil, as(c.owner.AccessToken)).header.Get("ETag")
		h.do("PATCH", path, patch, as(c.owner.AccessToken), set("If-Match", `"x"`)).problem(412, "stale")
		h.do("PATCH", path, patch, as(c.owner.AccessToken), set("If-Match", tag)).want(200)
		h.do("PATCH", path, patch, as(c.owner.AccessToken), set("If-Match", tag)).problem(412, "stale")
	}
}

func TestMethods(t *testing.T) {
	h := newFixture(t)
	owner := h.signUp("Ines").AccessToken
	get := h.do("GET", "/v1/academy", nil, as(owner)).want(200)
	head := h.do("HEAD", "/v1/academy", nil, as(owner)).want(200)
	if head.header.Get("ETag") != get.header.Get("ETag") {
		t.Errorf("HEAD has ETag %q; GET %q", head.header.Get("ETag"), get.header.Get("ETag"))
	}
	for path, want := range map[string]string{
		"/v1/academy":                         "GET, HEAD, OPTIONS, PATCH",
		"/v1/groups":                          "GET, HEAD, OPTIONS, POST",
		"/v1/sign-in":                         "OPTIONS, POST",
		"/v1/me/password":                     "OPTIONS, PUT",
		"/v1/groups/" + nobody:                "DELETE, GET, HEAD, OPTIONS, PUT",
		"/v1/students/" + nobody + "/coaches": "GET, HEAD, OPTIONS",
	} {
		options := h.do("OPTIONS", path, nil).want(204)
		refused := h.do("TRACE", path, nil)
		refused.problem(405, "method_not_allowed")
		for _, got := range []answer{options, refused} {
			methods := strings.Split(got.header.Get("Allow"), ", ")
			slices.Sort(methods)
			if sorted := strings.Join(methods, ", "); sorted != want {
				t.Errorf("%s: Allow %q; want %q", path, sorted, want)
			}
		}
	}
	h.do("GET", "/v1/nothing", nil, as(owner)).problem(404, "no_route")
	h.do("GET", "/v1/groups/"+nobody+"/nothing", nil).problem(404, "no_route")
	h.do("HEAD", "/v1/sign-in", nil).want(405)
}

// TestHeadHasNoBody goes over the wire, where net/http leaves the body out.
func TestHeadHasNoBody(t *testing.T) {
	h := newFixture(t)
	server := httptest.NewServer(h.handler)
	defer server.Close()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodHead, server.URL+"/openapi.json", nil)
	if err != nil {
		t.Fatal(err)
	}
	response, err := server.Client().Do(r)
	if err != nil {
		t.Fatal(err)
	}
	body, _ := io.ReadAll(response.Body)
	response.Body.Close()
	if response.StatusCode != http.StatusOK || len(body) > 0 {
		t.Errorf("status %d with %d bytes; want 200 with none", response.StatusCode, len(body))
	}
}

func TestRequestID(t *testing.T) {
	h := newFixture(t)
	given := h.do("GET", "/v1/me", nil, set("X-Request-Id", "trace-me_0123"))
	if got := given.header.Get("X-Request-Id"); got != "trace-me_0123" || given.problem(401, "token_missing").RequestID != got {
		t.Errorf("request ID %q; want the one given, in the problem as well", got)
	}
	for _, odd := range []string{"short", strings.Repeat("x", 65), "line\nbreak-0123", `quote"d-0123`, "sp ace-0123"} {
		got := h.do("GET", "/v1/me", nil, set("X-Request-Id", odd)).header.Get("X-Request-Id")
		if got == odd || len(got) != 36 {
			t.Errorf("request ID %q for %q; want a fresh one", got, odd)
		}
	}
	h.do("GET", "/v1/me", nil, set("Traceparent", "00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01"))
	if !strings.Contains(h.log.String(), `"trace":"4bf92f3577b34da6a3ce929d0e0e4736"`) {
		t.Error("the trace of a W3C traceparent is not in the log")
	}
}

func TestGzip(t *testing.T) {
	h := newFixture(t)
	plain := h.do("GET", "/openapi.json", nil).want(200)
	packed := h.do("GET", "/openapi.json", nil, set("Accept-Encoding", "gzip")).want(200)
	if got := packed.header.Get("Content-Encoding"); got != "gzip" {
		t.Fatalf("Content-Encoding %q; want gzip", got)
	}
	z, err := gzip.NewReader(bytes.NewReader(packed.body))
	if err != nil {
		t.Fatal(err)
	}
	body, err := io.ReadAll(z)
	if err != nil || !bytes.Equal(body, plain.body) {
		t.Errorf("unpacked %d bytes, %v; want the %d plain ones", len(body), err, len(plain.body))
	}
	for _, got := range []answer{plain, packed} {
		if !slices.Contains(got.header.Values("Vary"), "Accept-Encoding") {
			t.Errorf("Vary %q; want Accept-Encoding in it", got.header.Values("Vary"))
		}
	}
	// An error and a small answer are told apart from noise as well.
	h.do("GET", "/v1/me", nil, set("Accept-Encoding", "gzip")).want(401)
}

func TestHeaders(t *testing.T) {
	h := newFixture(t)
	owner := h.signUp("Ines").AccessToken
	for path, cache := range map[string]string{"/v1/academy": "private, no-cache", "/openapi.json": "public, max-age=300", "/v1/nothing": "no-store"} {
		got := h.do("GET", path, nil, as(owner))
		if got.header.Get("Cache-Control") != cache {
			t.Errorf("%s: Cache-Control %q; want %q", path, got.header.Get("Cache-Control"), cache)
		}
		if got.header.Get("X-Content-Type-Options") != "nosniff" || !strings.Contains(got.header.Get("Content-Security-Policy"), "frame-ancestors 'none'") {
			t.Errorf("%s: headers %v", path, got.header)
		}
	}
}

func TestCORS(t *testing.T) {
	h := newFixture(t, func(c *api.Config) { c.Origins = []string{"https://club.example"} })
	preflight := func(origin string) answer {
		return h.do("OPTIONS", "/v1/me", nil, set("Origin", origin), set("Access-Control-Request-Method", "PATCH"))
	}
	got := preflight("https://club.example").want(204)
	if got.header.Get("Access-Control-Allow-Origin") != "https://club.example" || got.header.Get("Access-Control-Max-Age") == "" {
		t.Errorf("headers %v; want the origin let in", got.header)
	}
	if got.header.Get("Access-Control-Allow-Credentials") != "" {
		t.Error("credentials are let in")
	}
	if got := preflight("https://evil.example").header.Get("Access-Control-Allow-Origin"); got != "" {
		t.Errorf("another origin is let in: %q", got)
	}
}

func TestPanic(t *testing.T) {
	h := newFixture(t, func(c *api.Config) {
		c.Ready = func(context.Context) error { panic("the password is hunter2") }
	})
	h.handler = h.server // a panic is not in the description
	got := h.do("GET", "/readyz", nil)
	p := got.problem(500, "internal")
	if strings.Contains(string(got.body), "hunter2") || strings.Contains(string(got.body), ".go") {
		t.Errorf("the panic is shown: %s", got.body)
	}
	if log := h.log.String(); !strings.Contains(log, p.RequestID) || !strings.Contains(log, "http_test.go") {
		t.Errorf("the log does not have the request's ID and the stack: %s", log)
	}
	h.do("GET", "/healthz", nil).want(200)
}

// TestUnknownParameters sends a misspelt parameter to every route.
func TestUnknownParameters(t *testing.T) {
	h := newFixture(t)
	owner := h.signUp("Ines").AccessToken
	for _, r := range h.server.Routes() {
		if !strings.HasPrefix(r.Path, "/v1/") || r.Action != "" && !auth.May(domain.Owner, nil, r.Action) {
			continue
		}
		got := h.do(r.Method, fill(r.Path)+"?limitt=5", nil, as(owner))
		// What does not exist may be told first.
		if got.status == http.StatusNotFound && strings.Contains(r.Path, "{") && r.Method == http.MethodGet {
			continue
		}
		got.problem(400, "parameter_invalid")
	}
	h.do("GET", "/v1/groups?limit=%zz", nil, as(owner)).problem(400, "query_malformed")
	h.do("GET", "/v1/groups?limit=5;cursor=x", nil, as(owner)).problem(400, "query_malformed")
}

// TestLogHasNoSecrets looks for every secret of a busy day in the log.
func TestLogHasNoSecrets(t *testing.T) {
	h := newFixture(t)
	c := h.cast()
	k, access := h.key(c.owner.AccessToken, "members:read")
	i := h.invite(c.owner.AccessToken, object{"role": "coach"})
	var next api.SignedIn
	h.do("POST", "/v1/tokens/refresh", object{"refresh_token": c.owner.RefreshToken}).want(200).read(&next)
	h.do("GET", "/v1/members?nonsense="+i.Code, nil, as(access)).want(400)
	h.do("POST", "/v1/invitations/inspect?code="+i.Code, nil).want(400)
	h.do("POST", "/v1/sign-in", object{"email": "ines@example.org", "password": "a wrong guess"}).want(401)
	h.do("GET", "/v1/me", nil, as(access+"x")).want(401)
	log := h.log.String()
	if strings.Count(log, "\n") < 14 {
		t.Fatalf("the log is too short to tell anything: %s", log)
	}
	for what, secret := range map[string]string{
		"password": password, "wrong password": "a wrong guess", "access token": c.owner.AccessToken, "refresh token": c.owner.RefreshToken,
		"next refresh token": next.RefreshToken, "client secret": k.ClientSecret, "software's token": access,
		"invitation code": i.Code, "e-mail": "ines@example.org", "name": "Tomas",
	} {
		if strings.Contains(log, secret) {
			t.Errorf("the log holds the %s", what)
		}
	}
}

func TestSystem(t *testing.T) {
	broken := false
	h := newFixture(t, func(c *api.Config) {
		c.Ready = func(context.Context) error {
			if broken {
				return io.ErrUnexpectedEOF
			}
			return nil
		}
	})
	h.do("GET", "/healthz", nil).want(200)
	h.do("GET", "/readyz", nil).want(200)
	broken = true
	h.do("GET", "/healthz", nil).want(200)
	down := h.do("GET", "/readyz", nil)
	down.problem(503, "not_ready")
	if down.header.Get("Retry-After") == "" || strings.Contains(string(down.body), "EOF") {
		t.Errorf("headers %v, body %s", down.header, down.body)
	}
	for _, path := range []string{"/openapi.json", "/programme.schema.json"} {
		var doc object
		h.do("GET", path, nil).want(200).read(&doc)
		if len(doc) == 0 {
			t.Errorf("%s is empty", path)
		}
	}
	if raw := h.do("GET", "/openapi.json", nil).body; !json.Valid(raw) {
		t.Error("the description is not JSON")
	}
}
