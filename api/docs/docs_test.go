package docs

import (
	"encoding/json"
	"html"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"

	"fringework/openapi"
)

var next = http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusTeapot) })

func ask(t *testing.T, h http.Handler, method, path string) *httptest.ResponseRecorder {
	t.Helper()
	return askWith(t, h, method, path, "")
}

// askWith says which version of the page is there already.
func askWith(t *testing.T, h http.Handler, method, path, tag string) *httptest.ResponseRecorder {
	t.Helper()
	w := httptest.NewRecorder()
	r := httptest.NewRequestWithContext(t.Context(), method, path, nil)
	r.Header.Set("If-None-Match", tag)
	h.ServeHTTP(w, r)
	return w
}

// links are the addresses that a page refers to.
var links = regexp.MustCompile(`(?:href|src)="([^"]+)"`)

// TestPages reads the page of every operation: it has the operation's words, its
// example and its types, and every link on it leads somewhere.
func TestPages(t *testing.T) {
	h := Handler(openapi.JSON, next)
	index := ask(t, h, "GET", "/docs").Body.String()
	var doc struct {
		Paths map[string]map[string]struct {
			OperationID, Summary string
		}
	}
	if err := json.Unmarshal(openapi.JSON, &doc); err != nil {
		t.Fatal(err)
	}
	pages := map[string]string{"/docs": index}
	for path, item := range doc.Paths {
		for method, op := range item {
			at := "/docs/" + op.OperationID
			if !strings.Contains(index, `href="`+at+`"`) {
				t.Errorf("the index has no link to %s", at)
			}
			got := ask(t, h, "GET", at)
			page := got.Body.String()
			pages[at] = page
			for _, want := range []string{html.EscapeString(op.Summary), strings.ToUpper(method) + " " + path, "Who may ask", "<h2>Answers</h2>"} {
				if got.Code != 200 || !strings.Contains(page, want) {
					t.Errorf("%s: %d without %q", at, got.Code, want)
				}
			}
		}
	}
	for at, page := range pages {
		for _, m := range links.FindAllStringSubmatch(page, -1) {
			target, fragment, _ := strings.Cut(m[1], "#")
			switch {
			case strings.HasPrefix(target, "/assets/"), target == "/openapi.json":
			case target == "" && !strings.Contains(page, `id="`+fragment+`"`):
				t.Errorf("%s: there is no #%s", at, fragment)
			case target != "" && ask(t, h, "GET", target).Code != 200:
				t.Errorf("%s: there is nothing at %s", at, target)
			case target == "/docs" && fragment != "" && !strings.Contains(index, `id="`+fragment+`"`):
				t.Errorf("%s: the index has no #%s", at, fragment)
			}
		}
	}
	if page := pages["/docs/putSession"]; !strings.Contains(page, "&#34;outcome&#34;: &#34;in&#34;") || !strings.Contains(page, `id="SessionBlock"`) {
		t.Error("the page of a session has no example with balls, or no types")
	}
}

// TestAnswers: what is served, to whom, and that it is not sent twice.
func TestAnswers(t *testing.T) {
	h := Handler(openapi.JSON, next)
	for _, c := range []struct {
		method, path string
		status       int
		media        string
	}{
		{"GET", "/docs", 200, "text/html; charset=utf-8"}, {"GET", "/docs/", 200, "text/html; charset=utf-8"}, {"HEAD", "/docs", 200, "text/html; charset=utf-8"},
		{"GET", "/docs/docs.css", 200, "text/css; charset=utf-8"},
		{"GET", "/docs/getNothing", 404, "text/html; charset=utf-8"}, {"POST", "/docs", 405, "text/plain; charset=utf-8"},
		{"GET", "/docsy", http.StatusTeapot, ""}, {"GET", "/v1/me", http.StatusTeapot, ""},
	} {
		got := ask(t, h, c.method, c.path)
		if got.Code != c.status || got.Header().Get("Content-Type") != c.media {
			t.Errorf("%s %s: %d %q; want %d %q", c.method, c.path, got.Code, got.Header().Get("Content-Type"), c.status, c.media)
		}
		if c.method == "HEAD" && got.Body.Len() > 0 {
			t.Error("HEAD has a body")
		}
	}
	tag := ask(t, h, "GET", "/docs").Header().Get("ETag")
	if w := askWith(t, h, "GET", "/docs", tag); w.Code != http.StatusNotModified || w.Body.Len() > 0 {
		t.Errorf("the same page again is %d with %d bytes; want 304", w.Code, w.Body.Len())
	}
}

// TestSearch finds operations by words of their subject, name and address.
func TestSearch(t *testing.T) {
	h := Handler(openapi.JSON, next)
	for query, want := range map[string]string{
		"put+session": "putSession", "SKILLS+archive": "archiveSkill", "/v1/sign-in": "signIn", "calculate+odds": "calculateStreakOdds",
	} {
		page := ask(t, h, "GET", "/docs?q="+query).Body.String()
		if !strings.Contains(page, `href="/docs/`+want+`"`) || strings.Contains(page, `href="/docs/getDashboard"`) {
			t.Errorf("%s does not find %s alone", query, want)
		}
	}
	if page := ask(t, h, "GET", "/docs?q=nowhere+%22%3Eto+be+found").Body.String(); !strings.Contains(page, "No operation has these words") || !strings.Contains(page, `value="nowhere &#34;&gt;to be found"`) {
		t.Error("a search in vain does not say so, or not what for")
	}
}

// TestHostileWords: what a description says is text, never markup.
func TestHostileWords(t *testing.T) {
	const doc = `{"info": {"title": "<script>alert(1)</script>", "description": "a` + "`<b>`" + `"}, "tags": [{"name": "T"}],
		"paths": {"/x": {"get": {"operationId": "x", "tags": ["T"], "summary": "<i>", "responses": {"200": {"content": {"application/json": {
			"schema": {"$ref": "#/components/schemas/<u>"}, "example": "</pre><script>"}}}}}}},
		"components": {"schemas": {"<u>": {"properties": {"<s>": {"type": "string", "enum": ["<em>"], "description": "<tt>"}}}}}}`
	h := Handler([]byte(doc), next)
	for _, path := range []string{"/docs", "/docs/x", "/docs/%3Cb%3E"} {
		page := ask(t, h, "GET", path).Body.String()
		for _, tag := range []string{"<script>", "<b>", "<i>", "<u>", "<s>", "<em>", "<tt>"} {
			if strings.Contains(page, tag) {
				t.Errorf("%s has %s in it", path, tag)
			}
		}
	}
}

// What is deprecated says so in the list, on its page and among the fields; nothing else does.
func TestDeprecatedIsMarked(t *testing.T) {
	const mark = "<strong>deprecated</strong>"
	for _, path := range []string{"/docs", "/docs/listSkills"} {
		if page := ask(t, Handler(openapi.JSON, next), "GET", path).Body.String(); strings.Contains(page, mark) {
			t.Errorf("%s marks something as deprecated; nothing is", path)
		}
	}
	var doc map[string]any
	if err := json.Unmarshal(openapi.JSON, &doc); err != nil {
		t.Fatal(err)
	}
	of(of(of(doc, "paths"), "/v1/skills"), "get")["deprecated"] = true
	of(of(of(of(doc, "components"), "schemas"), "Skill"), "properties")["text"].(object)["deprecated"] = true
	text, err := json.Marshal(doc)
	if err != nil {
		t.Fatal(err)
	}
	h := Handler(text, next)
	for path, want := range map[string]int{"/docs": 1, "/docs/listSkills": 2, "/docs/listGroups": 0} {
		if got := strings.Count(ask(t, h, "GET", path).Body.String(), mark); got != want {
			t.Errorf("%s marks %d as deprecated; want %d", path, got, want)
		}
	}
	if index := ask(t, h, "GET", "/docs").Body.String(); !strings.Contains(index, "twelve months") {
		t.Error("the pages do not tell for how long what is deprecated goes on")
	}
}
