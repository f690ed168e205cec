package api_test

import (
	"encoding/json"
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"fringework/api"
	"fringework/auth"
	"fringework/domain"
	"fringework/domain/academy"
	"fringework/domain/webhook"
	"fringework/openapi"
	"fringework/openapi/contract"
)

// TestMain wants every success that the description promises of access and
// people to have been seen, when all tests ran.
func TestMain(m *testing.M) {
	code := m.Run()
	if flag.Lookup("test.run").Value.String() == "" {
		mine := ours()
		for _, key := range contract.Unseen() {
			operation, _, _ := strings.Cut(key, " ")
			if len(mine) == 0 || slices.Contains(mine, operation) {
				fmt.Fprintf(os.Stderr, "no test saw %s\n", key)
				code = 1
			}
		}
	}
	os.Exit(code)
}

// ours are the operations of access, people and the service itself; package
// integration sees to all of them.
func ours() (ids []string) {
	var doc struct {
		Paths map[string]map[string]struct {
			OperationID string
			Tags        []string
		}
	}
	if err := json.Unmarshal(openapi.JSON, &doc); err != nil {
		return nil
	}
	tags := []string{"Access", "Me", "Academy", "Invitations", "Members", "Groups", "Keys", "Events", "System"}
	for _, methods := range doc.Paths {
		for _, op := range methods {
			if slices.Contains(tags, op.Tags[0]) {
				ids = append(ids, op.OperationID)
			}
		}
	}
	return ids
}

// fill puts something for every parameter of a path.
func fill(path string) string {
	path = regexp.MustCompile(`\{\w+_id\}`).ReplaceAllString(path, nobody)
	return regexp.MustCompile(`\{\w+\}`).ReplaceAllString(path, "1")
}

// TestRoutesNeedAToken denies by default: what is not open answers 401 without
// a good token.
func TestRoutesNeedAToken(t *testing.T) {
	h := newFixture(t)
	open := []string{}
	for _, r := range h.server.Routes() {
		if r.Public {
			open = append(open, r.Method+" "+r.Path)
			continue
		}
		for _, change := range []func(*http.Request){func(*http.Request) {}, as("x"), set("Authorization", "Basic eDp5")} {
			got := h.do(r.Method, fill(r.Path), nil, change).want(401)
			if challenge := got.header.Get("WWW-Authenticate"); !strings.HasPrefix(challenge, "Bearer ") {
				t.Errorf("%s %s: WWW-Authenticate %q; want Bearer", r.Method, r.Path, challenge)
			}
		}
	}
	slices.Sort(open)
	want := []string{
		"GET /.well-known/oauth-authorization-server", "GET /calendars/{file}", "GET /healthz", "GET /openapi.json", "GET /programme.schema.json", "GET /readyz", "GET /unsubscribe/{token}", "GET /v1/sign-in/ways", "POST /unsubscribe/{token}", "POST /v1/academies", "POST /v1/academies/confirm", "POST /v1/email/confirm", "POST /v1/invitations/accept", "POST /v1/invitations/inspect", "POST /v1/oauth/introspect", "POST /v1/oauth/revoke", "POST /v1/oauth/token", "POST /v1/password/forgotten", "POST /v1/password/reset", "POST /v1/shared-reports", "POST /v1/sign-in", "POST /v1/sign-in/code", "POST /v1/sign-in/passkey", "POST /v1/sign-in/passkey/begin", "POST /v1/sign-out", "POST /v1/tokens/refresh",
	}
	if !slices.Equal(open, want) {
		t.Errorf("open to everybody: %q\nwant %q", open, want)
	}
}

// TestRoutesAskTheTable walks every route as every role and with every scope:
// who may not try is told so, who may is not.
func TestRoutesAskTheTable(t *testing.T) {
	h := newFixture(t)
	c := h.cast()
	roles := map[string]api.SignedIn{"owner": c.owner, "coach": c.coach, "student": c.student, "guardian": c.guardian}
	keys := map[auth.Scope]string{}
	for _, scope := range auth.AllScopes() {
		_, keys[scope] = h.key(c.owner.AccessToken, string(scope))
	}
	refusals := []string{"role_refused", "scope_missing", "members_only"}
	for _, r := range h.server.Routes() {
		if r.Public || r.Path == "/v1/live" {
			continue
		}
		if auth.PermissionOf(r.Action).Roles == nil {
			t.Errorf("%s %s: the table has no action %q", r.Method, r.Path, r.Action)
		}
		ask := func(who, token string, may bool) {
			// Nonsense, so that nothing happens where something could.
			got := h.do(r.Method, fill(r.Path), "{", as(token), set("Content-Type", "text/nonsense"))
			refused := got.status == 403 && slices.ContainsFunc(refusals, func(code string) bool { return strings.Contains(string(got.body), code) })
			if refused == may {
				t.Errorf("%s: %s %s answers %d %s; the table says %v", who, r.Method, r.Path, got.status, got.body, may)
			}
		}
		for role, in := range roles {
			if r.Method == http.MethodDelete && role == "owner" {
				continue // seen above to be let in by other methods; nothing to lose
			}
			ask(role, in.AccessToken, auth.May(domain.Role(in.Membership.Role), nil, r.Action))
		}
		for scope, token := range keys {
			ask("key with "+string(scope), token, auth.PermissionOf(r.Action).Scope == scope)
		}
	}
}

// TestEventKindsAreDescribed looks for the kinds of events in the source of
// the services and wants each in the description.
func TestEventKindsAreDescribed(t *testing.T) {
	kind := regexp.MustCompile(`^[a-z]+(-[a-z]+)*\.[a-z]+$`)
	found := map[string]bool{}
	for _, root := range []string{"../domain", "../auth"} {
		err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") ||
				strings.HasSuffix(path, "permissions.go") || strings.Contains(path, "test/") {
				return err
			}
			file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
			if err != nil {
				return err
			}
			ast.Inspect(file, func(n ast.Node) bool {
				if lit, ok := n.(*ast.BasicLit); ok && lit.Kind == token.STRING {
					if text, err := strconv.Unquote(lit.Value); err == nil && kind.MatchString(text) {
						found[text] = true
					}
				}
				return true
			})
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	delete(found, academy.Grown) // news of the live view, never in the log
	delete(found, webhook.Ping)  // a try of a webhook, neither
	if len(found) < 30 {
		t.Errorf("only %d kinds of events were found", len(found))
	}
	var description struct {
		Components struct {
			Schemas struct {
				Event struct {
					Properties struct{ Kind struct{ Enum []string } }
				}
			}
		}
	}
	if err := json.Unmarshal(openapi.JSON, &description); err != nil {
		t.Fatal(err)
	}
	described := description.Components.Schemas.Event.Properties.Kind.Enum
	for k := range found {
		if owner := (auth.Identity{Actor: domain.Actor{Role: domain.Owner}}); !owner.MayHear(k) {
			t.Errorf("nobody hears of %s: its first word is not in the table of auth", k)
		}
		if !slices.Contains(described, k) {
			t.Errorf("%s is not among the kinds of events in the description; if its verb is irregular, add it to kindForm in openapi/describe", k)
		}
	}
	if len(described) != len(found) {
		t.Errorf("%d kinds are described; want the %d of the services", len(described), len(found))
	}
}

func TestPathsAreURLs(t *testing.T) {
	for _, r := range api.New(api.Config{}).Routes() {
		if u, err := url.Parse(fill(r.Path)); err != nil || strings.ContainsAny(u.Path, "{:") {
			t.Errorf("%s: %v", r.Path, err)
		}
	}
}
