package api_test

import (
	"net/http"
	"strings"
	"testing"
)

// If-Match is looked at by every change, or refused by it: the same words in it get the
// same answer everywhere, and never a change that they forbid.
func TestIfMatchIsTheSameOnEveryChange(t *testing.T) {
	h := newFixture(t)
	c := h.cast()
	filled := map[string]string{
		"/v1/me": "/v1/me", "/v1/academy": "/v1/academy", "/v1/members/{member_id}": "/v1/members/" + string(c.student.Membership.MemberID),
	}
	conditional := 0
	for _, r := range h.server.Routes() {
		if r.Method == http.MethodGet || r.Path == "/v1/oauth/token" {
			continue
		}
		path, known := filled[r.Path]
		known = known && r.Method == http.MethodPatch
		if !known {
			path = fill(r.Path)
		}
		ask := func(tag string) answer {
			return h.do(r.Method, path, "{}", as(c.owner.AccessToken), set("If-Match", tag))
		}
		plain := ask("3")
		code := func(a answer, status int, code string) bool {
			return a.status == status && strings.Contains(string(a.body), code)
		}
		switch {
		case code(plain, 400, "if_match_unsupported"):
			if known {
				t.Errorf("%s %s has an ETag and takes no If-Match", r.Method, r.Path)
			}
		case known && !code(plain, 400, `"if_match"`):
			t.Errorf("%s %s: a bare 3 answers %d %s; want it refused as no ETag", r.Method, r.Path, plain.status, plain.body)
		case known:
			conditional++
			if other := ask(`"other"`); !code(other, 412, "stale") {
				t.Errorf("%s %s: another's tag answers %d %s; want 412", r.Method, r.Path, other.status, other.body)
			}
		case plain.status < 400:
			t.Errorf("%s %s: %d although If-Match was not understood", r.Method, r.Path, plain.status)
		}
	}
	if conditional != len(filled) {
		t.Errorf("%d changes took If-Match, want %d", conditional, len(filled))
	}
}
