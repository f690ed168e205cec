package api_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"fringework/api"
	"fringework/openapi"
	"fringework/openapi/contract"
	"fringework/openapi/describe"
)

const (
	since, sunset = "2027-03-01", "2028-03-01"
	instead       = "https://practice.example.org/docs/listSkills#instead"
)

// deprecating is a fixture's service of which listing the skills is deprecated, and the
// description that follows from its table.
func deprecating(t *testing.T) (*fixture, *api.Server, []byte) {
	t.Helper()
	h := newFixture(t)
	server := api.Deprecating(h.config, http.MethodGet, "/v1/skills", since, sunset, instead)
	var doc map[string]any
	if err := json.Unmarshal(openapi.JSON, &doc); err != nil {
		t.Fatal(err)
	}
	if err := describe.Deprecate(doc, server.Routes()); err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(doc)
	if err != nil {
		t.Fatal(err)
	}
	return h, server, text
}

// asked sends a request to a service that is held to a description, and gives what was
// against it.
func asked(t *testing.T, service http.Handler, description []byte, method, path, token string) (*httptest.ResponseRecorder, []string) {
	t.Helper()
	w := &witness{TB: t}
	request := httptest.NewRequestWithContext(t.Context(), method, path, nil)
	if token != "" {
		request.Header.Set("Authorization", "Bearer "+token)
	}
	answer := httptest.NewRecorder()
	contract.WrapDescribed(w, service, description).ServeHTTP(answer, request)
	return answer, w.errors
}

// witness is a test that remembers whether it failed.
type witness struct {
	testing.TB
	errors []string
}

func (w *witness) Errorf(format string, args ...any) {
	w.errors = append(w.errors, fmt.Sprintf(format, args...))
}

// Every answer of a deprecated operation says so, in the form of the RFCs, also a refusal;
// no other answer does.
func TestDeprecatedOperationsTell(t *testing.T) {
	h, server, description := deprecating(t)
	owner := h.signUp("Ines")
	for path, c := range map[string]struct {
		status int
		token  string
		tells  bool
	}{
		"/v1/skills":       {200, owner.AccessToken, true},
		"/v1/skills?x=%zz": {400, owner.AccessToken, true},
		"/v1/skills?":      {401, "", true},
		"/v1/groups":       {200, owner.AccessToken, false},
	} {
		answer, against := asked(t, server, description, http.MethodGet, path, c.token)
		if answer.Code != c.status || len(against) > 0 {
			t.Errorf("GET %s answers %d, against the description: %v", path, answer.Code, against)
		}
		// 1 March 2027 is 1803859200 in Unix time (date -u -d 2027-03-01 +%s).
		got := fmt.Sprint(answer.Header().Get("Deprecation"), " ", answer.Header().Get("Sunset"), " ", strings.Join(answer.Header().Values("Link"), " "))
		want := "  "
		if c.tells {
			want = "@1803859200 Wed, 01 Mar 2028 00:00:00 GMT <" + instead + `>; rel="deprecation"; type="text/html" <` + instead + `>; rel="sunset"; type="text/html"`
		}
		if got != want {
			t.Errorf("GET %s tells\n%s\nwant\n%s", path, got, want)
		}
	}
}

// What is described and what is sent agree: one without the other is noticed.
func TestDeprecationIsDescribedAndSent(t *testing.T) {
	h, server, description := deprecating(t)
	owner := h.signUp("Ines")
	_, against := asked(t, server, openapi.JSON, http.MethodGet, "/v1/skills", owner.AccessToken)
	if len(against) == 0 || !strings.Contains(against[0], "Deprecation") {
		t.Errorf("of headers that are not described it says %v", against)
	}
	_, against = asked(t, api.New(h.config), description, http.MethodGet, "/v1/skills", owner.AccessToken)
	if len(against) == 0 || !strings.Contains(against[0], "Deprecation") && !strings.Contains(against[0], "Sunset") && !strings.Contains(against[0], "Link") {
		t.Errorf("of headers that are described and not sent it says %v", against)
	}
	var doc struct {
		Paths map[string]map[string]struct {
			Deprecated  bool
			Description string
		}
	}
	if err := json.Unmarshal(description, &doc); err != nil {
		t.Fatal(err)
	}
	old := doc.Paths["/v1/skills"]["get"]
	if !old.Deprecated || !strings.Contains(old.Description, "Deprecated since 1 March 2027, and served until 1 March 2028 at least. What to use instead: "+instead) || doc.Paths["/v1/skills"]["post"].Deprecated {
		t.Errorf("the operation is described as %+v", old)
	}
	if err := describe.Deprecate(map[string]any{"paths": map[string]any{}}, server.Routes()); err == nil {
		t.Error("a deprecated operation without a description is no error")
	}
}

// Nothing goes sooner than the description promises.
func TestDeprecationGivesNotice(t *testing.T) {
	h := newFixture(t)
	said := func(until string) (err error) {
		defer func() {
			if r := recover(); r != nil {
				err = errors.New(fmt.Sprint(r))
			}
		}()
		api.Deprecating(h.config, http.MethodGet, "/v1/skills", since, until, instead)
		return nil
	}
	if err := said("2028-02-29"); err == nil || !strings.Contains(err.Error(), fmt.Sprintf("for %d months at least", api.DeprecatedMonths)) {
		t.Errorf("a day too soon: %v", err)
	}
	if err := said(sunset); err != nil {
		t.Error(err)
	}
	if !strings.Contains(string(openapi.JSON), "for twelve months at least") || api.DeprecatedMonths != 12 {
		t.Errorf("the description promises another notice than %d months", api.DeprecatedMonths)
	}
}
